//! Compositions: read from what people write, checked, and refused where no answer would be honest.

use super::coefficients::coefficients;
use super::record::TEMPERED;
use crate::error::{Error, Result};

/// The elements that the model knows, iron apart.
pub(super) const ELEMENTS: [&str; 17] =
    ["C", "Mn", "P", "S", "Si", "Ni", "Cr", "Mo", "V", "Al", "Cu", "W", "Co", "Nb", "Ti", "B", "N"];

/// Where an element stands in [`ELEMENTS`].
pub(super) fn place(symbol: &str) -> Option<usize> {
    ELEMENTS.iter().position(|known| *known == symbol)
}

/// Weight per cent of every element the model knows; what was not given is zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Amounts([f64; ELEMENTS.len()]);

/// Sum of a composition in fractions of one, with what rounding leaves.
const FRACTIONS: std::ops::RangeInclusive<f64> = 0.97..=1.03;

/// Sum of a composition with its iron, in per cent, with what rounding leaves.
const PERCENT: std::ops::RangeInclusive<f64> = 98.5..=101.5;

/// Less carbon than this hardens nothing: a slip of the unit, mostly.
const SLIP_BELOW: f64 = 0.02;

impl Amounts {
    /// Reads symbols with weight per cent. Iron may be left out.
    ///
    /// # Errors
    /// [`Error::UnknownName`] for an element the model does not know; [`Error::InvalidValue`] for amounts that are
    /// negative, not finite, fractions instead of per cent, or add up to more than there is; [`Error::MissingArgument`]
    /// without carbon; [`Error::Refused`] for steels that do not harden by quenching.
    pub fn read(given: &[(&str, f64)]) -> Result<Self> {
        let mut amounts = Self([0.0; ELEMENTS.len()]);
        let mut iron: Option<f64> = None;
        for &(symbol, percent) in given {
            if !percent.is_finite() {
                return Err(invalid(symbol, percent, "is not a finite number", "Leave out what was not analysed"));
            }
            if !(0.0..=100.0).contains(&percent) {
                let why = if percent < 0.0 { "is negative" } else { "is more than there is" };
                return Err(invalid(symbol, percent, why, "Give weight per cent: {\"C\": 0.95, \"Mn\": 0.4}"));
            }
            if symbol == "Fe" {
                iron = Some(percent);
            } else {
                let slot = place(symbol).and_then(|place| amounts.0.get_mut(place));
                *slot.ok_or_else(|| unknown(symbol))? = percent;
            }
        }
        amounts.refuse_sums(iron)?;
        amounts.refuse_families()?;
        amounts.refuse_carbon()?;
        Ok(amounts)
    }

    /// The amount at a place of [`ELEMENTS`].
    pub(super) fn at(&self, place: usize) -> f64 {
        self.0.get(place).copied().unwrap_or(0.0)
    }

    /// The amount of an element; zero for one that is not known.
    #[must_use]
    pub fn of(&self, symbol: &str) -> f64 {
        place(symbol).map_or(0.0, |place| self.at(place))
    }

    /// What is there, element and weight per cent.
    pub fn present(&self) -> impl Iterator<Item = (&'static str, f64)> + '_ {
        ELEMENTS.into_iter().zip(self.0).filter(|(_, percent)| *percent > 0.0)
    }

    /// The amounts by place, for comparing two compositions bit by bit.
    #[must_use]
    pub const fn by_place(&self) -> &[f64] {
        &self.0
    }

    fn refuse_sums(&self, iron: Option<f64>) -> Result<()> {
        let alloying: f64 = self.0.iter().sum();
        let total = alloying + iron.unwrap_or(0.0);
        if iron.is_some() && FRACTIONS.contains(&total) {
            return Err(invalid("sum", total, "is a composition in fractions of one", "Multiply every number by 100"));
        }
        if total > *PERCENT.end() {
            let hint = "Weight per cent add up to 100 with the iron; check the decimal points";
            return Err(invalid("sum", total, "is more than there is", hint));
        }
        if iron.is_some() && !PERCENT.contains(&total) {
            let hint =
                "With iron given, everything must add up to 100 within 1.5; leave the iron out if it is not known";
            return Err(invalid("sum", total, "does not make a whole steel", hint));
        }
        if alloying > 50.0 {
            return Err(refused(
                format!("an alloy with {alloying:.0} % of other elements"),
                "it is no steel",
                "Give the composition of a steel in weight per cent",
            ));
        }
        Ok(())
    }

    /// Steels that do not harden by quenching, and those whose tempering the data do not show.
    fn refuse_families(&self) -> Result<()> {
        let [c, ni, cr, mn, mo, w] = ["C", "Ni", "Cr", "Mn", "Mo", "W"].map(|symbol| self.of(symbol));
        let limits = &coefficients()?.refuse;
        if ni >= 12.0 && c < 0.1 {
            return Err(refused(
                format!("a maraging steel (Ni {ni} %, C {c} %)"),
                "it hardens by ageing, not by quenching and tempering; nothing here describes that",
                "Follow the maker's ageing sheet",
            ));
        }
        if cr >= 15.0 && ni >= 6.0 || mn >= 10.0 || ni >= 20.0 {
            return Err(refused(
                format!("an austenitic steel (Cr {cr} %, Ni {ni} %, Mn {mn} %)"),
                "it does not harden by quenching, so there is nothing to temper",
                "Check the composition",
            ));
        }
        if cr >= limits.stainless_cr {
            return Err(refused(
                format!("a stainless steel (Cr {cr} %)"),
                "the measured steels end at 1.57 % Cr and none has secondary hardening",
                "Give the maker's own table as your own TemperingCurve(temperature_c, hrc, time_h)",
            ));
        }
        if mo + 0.5 * w >= limits.high_speed_mo_eq {
            return Err(refused(
                format!("a high-speed or hot-work steel (Mo {mo} %, W {w} %)"),
                "secondary hardening is in none of the measured steels",
                "Give the maker's own table as your own TemperingCurve(temperature_c, hrc, time_h)",
            ));
        }
        Ok(())
    }

    fn refuse_carbon(&self) -> Result<()> {
        let carbon = self.at(0);
        if carbon == 0.0 {
            return Err(Error::MissingArgument {
                function: TEMPERED.id.into(),
                argument: "composition[\"C\"]".into(),
                why: "without carbon nothing hardens, and nothing can be said".into(),
                hint: "Give the carbon in weight per cent: {\"C\": 0.95, \"Mn\": 0.4}".into(),
            });
        }
        if carbon < SLIP_BELOW {
            let why = format!("is too little to harden; in fractions of one it would be {:.3} %", 100.0 * carbon);
            return Err(invalid("C", carbon, &why, "Give weight per cent: {\"C\": 0.95}, not {\"C\": 0.0095}"));
        }
        let read = coefficients()?;
        let limits = ELEMENTS.into_iter().zip(self.0).zip(read.most);
        for ((symbol, amount), most) in limits {
            let least = if symbol == "C" { read.refuse.min_c } else { 0.0 };
            if amount < least || amount > most {
                return Err(Error::outside(
                    TEMPERED.id,
                    format!("composition[\"{symbol}\"]"),
                    (amount, "%"),
                    (least, most),
                    "how far the model is let go beyond the measured steels (judgement)",
                    "Use a table of that steel, or your own coupons as a TemperingCurve",
                ));
            }
        }
        Ok(())
    }
}

fn invalid(symbol: &str, value: f64, why: &str, hint: &str) -> Error {
    let argument =
        if symbol == "sum" { "the sum of the composition".to_owned() } else { format!("composition[\"{symbol}\"]") };
    Error::invalid(TEMPERED.id, argument, (value, "%"), why.to_owned(), hint.to_owned())
}

fn refused(what: String, why: &'static str, instead: &'static str) -> Error {
    Error::Refused {
        what: format!("the hardness of {what} from its composition").into(),
        why: why.into(),
        instead: instead.into(),
    }
}

fn unknown(symbol: &str) -> Error {
    let words = [("carbon", "C"), ("manganese", "Mn"), ("silicon", "Si"), ("nickel", "Ni"), ("chromium", "Cr")];
    let close = ELEMENTS
        .into_iter()
        .find(|known| known.eq_ignore_ascii_case(symbol))
        .or_else(|| words.into_iter().find(|(word, _)| word.eq_ignore_ascii_case(symbol)).map(|(_, known)| known));
    Error::UnknownName {
        kind: "element in this model".into(),
        name: symbol.to_owned(),
        close: close.map(str::to_owned).into_iter().collect(),
        hint: format!("It knows {}, and Fe; leave out an element only if it is a trace", ELEMENTS.join(", ")).into(),
    }
}

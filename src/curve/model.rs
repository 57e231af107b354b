//! The trait of anything that gives hardness after a temper.

use super::spread::{TemperSpread, Widened};
use crate::error::{Error, Result, Text};
use crate::estimate::Estimate;
use crate::quantity::{HoldTime, SteelConstant, Temperature};
use crate::record::{ModelRecord, Origin, Scatter, Source, check_finite};
use crate::temper::{ConstantBelief, equivalent_temperature};

/// Which part of a curve an answer lies on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Softer with temperature, below any secondary hardening.
    Falling,
    /// Harder with temperature: on the way up to a secondary peak.
    Rising,
    /// Softer with temperature, above the secondary peak.
    OverAgeing,
}

impl Side {
    /// The side as Python spells it.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Falling => "falling",
            Self::Rising => "rising",
            Self::OverAgeing => "over-ageing",
        }
    }
}

/// A temperature that gives a wanted hardness, and the side of the curve it lies on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Root {
    /// The temperature.
    pub temperature: Temperature,
    /// The side.
    pub side: Side,
}

/// The record of how an as-quenched reading conditions the answer.
pub static AS_QUENCHED_CONDITIONING: ModelRecord = ModelRecord {
    id: "curve.as_quenched",
    gives: "shift of the hardness after a temper by the as-quenched reading",
    unit: "HRC",
    formula: "shift = s (H_aq - H_aq,expected) exp(-(H_aq,expected - H) / 10 HRC), s = u_e^2 / (u_e^2 + u_r^2) with u_e = u_r = 0.5 HRC",
    ranges: &[],
    scatter: Scatter::NotStated,
    sources: &[Source {
        cite: "common practice: an as-quenched reading is a check that hardening worked; its deviation fades as the temper proceeds",
        at: "the form of the fading is an assumption",
        origin: Origin::CommonPractice,
    }],
    errata: &[],
    not_for: "parts whose hardening failed: no tempering curve applies to them",
};

/// Standard uncertainty of the expected as-quenched hardness of a batch; HRC.
const U_EXPECTED: f64 = 0.5;

/// Standard uncertainty of an as-quenched reading; HRC.
const U_READING: f64 = 0.5;

/// The softening over which a deviation of the as-quenched hardness fades to 1/e; HRC.
const FADE_HRC: f64 = 10.0;

/// How far below the expectation a reading may lie before hardening is taken to have failed; HRC. Twice the combined
/// uncertainty of a batch's expectation (0.7), a reading (0.5) and a tester (0.25).
const HARDENING_FAILED_BELOW: f64 = 1.8;

/// Anything that gives hardness after a temper: a table, a fitted curve, a model of composition.
pub trait HardnessAfterTemper: Send + Sync {
    /// What it is called.
    fn name(&self) -> &str;

    /// Where it comes from.
    fn source(&self) -> &str;

    /// The hold its data were measured at; there C drops out.
    fn reference_hold(&self) -> HoldTime;

    /// What is believed of the steel's C.
    fn constant(&self) -> ConstantBelief;

    /// Whether that belief is the steel's own, rather than the range for a steel of which nothing is known.
    fn constant_is_own(&self) -> bool;

    /// Standard uncertainty of the curve itself, HRC.
    fn u_level(&self) -> f64;

    /// Standard uncertainty from one batch of the steel to the next, HRC.
    fn u_batch(&self) -> f64;

    /// The as-quenched hardness its data started from, HRC.
    fn expected_as_quenched(&self) -> Option<f64>;

    /// The temperature of a secondary peak at the reference hold, if the curve has one.
    fn secondary_peak(&self) -> Option<Temperature>;

    /// The covered temperatures at the reference hold.
    fn covered(&self) -> (Temperature, Temperature);

    /// HRC at the reference hold; NaN outside the covered temperatures.
    fn at_reference(&self, temperature: Temperature) -> f64;

    /// Every temperature with this hardness at the reference hold.
    fn roots_at_reference(&self, hrc: f64) -> Vec<f64>;

    /// Sentences that every answer from it must carry.
    fn assumptions(&self) -> Vec<Text> {
        Vec::new()
    }

    /// The temperature at the reference hold that is equivalent to a hold, by C.
    ///
    /// # Errors
    /// As [`equivalent_temperature`].
    fn at_reference_hold(&self, temperature: Temperature, time: HoldTime, c: SteelConstant) -> Result<Temperature> {
        if time == self.reference_hold() {
            crate::temper::temper_parameter(temperature, time, c)?;
            return Ok(temperature);
        }
        equivalent_temperature(temperature, time, self.reference_hold(), c)
    }

    /// HRC after a hold, for a C.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] where the equivalent temperature lies outside the curve, naming the covered temperatures
    /// for this time; errors of the temper room for impossible holds.
    fn hardness_with(&self, temperature: Temperature, time: HoldTime, c: SteelConstant) -> Result<f64> {
        let equivalent = self.at_reference_hold(temperature, time, c)?;
        let hrc = self.at_reference(equivalent);
        if hrc.is_nan() && !equivalent.celsius().is_nan() {
            return Err(self.outside(temperature, time, c));
        }
        Ok(hrc)
    }

    /// The error for a hold outside the curve.
    fn outside(&self, temperature: Temperature, time: HoldTime, c: SteelConstant) -> Error {
        let (low, high) = self.covered();
        let there = |end: Temperature| {
            let same = if time == self.reference_hold() {
                Ok(end)
            } else {
                equivalent_temperature(end, self.reference_hold(), time, c)
            };
            same.map_or(f64::NAN, Temperature::celsius)
        };
        let (low, high) = (there(low), there(high));
        let nearest = if temperature.celsius() < low { low } else { high };
        Error::OutOfRange {
            model: format!("curve of {}", self.name()).into(),
            argument: "temperature_c".into(),
            value: temperature.celsius(),
            unit: "°C".into(),
            low,
            high,
            stated_by: format!("the table ({}) for {} h", self.source(), time.hours()).into(),
            failed: 1,
            of: 1,
            hint: format!(
                "The nearest covered temperature is {nearest:.0} °C; nothing is known outside. Ask for \
                 out_of_range=\"nan\", or for \"extrapolate\" on the _estimate twin"
            )
            .into(),
        }
    }

    /// HRC after a hold, by the curve's own C; at the reference hold none is needed.
    ///
    /// # Errors
    /// [`Error::MissingArgument`] away from the reference hold where the curve has no C of its own; otherwise as
    /// [`Self::hardness_with`].
    fn hardness(&self, temperature: Temperature, time: HoldTime) -> Result<f64> {
        self.hardness_with(temperature, time, self.plain_constant(time)?)
    }

    /// The C that a plain call uses.
    ///
    /// # Errors
    /// [`Error::MissingArgument`] away from the reference hold where the curve has no C of its own.
    fn plain_constant(&self, time: HoldTime) -> Result<SteelConstant> {
        if self.constant_is_own() || time == self.reference_hold() || time.hours().is_nan() {
            return Ok(SteelConstant::for_hours(self.constant().middle()));
        }
        Err(Error::MissingArgument {
            function: format!("curve of {}", self.name()).into(),
            argument: "c".into(),
            why: format!(
                "the table holds for {} h and {} h is asked, which needs the steel's C",
                self.reference_hold().hours(),
                time.hours()
            )
            .into(),
            hint: "Make the curve with c=, or call the _estimate twin, which takes C = 15 to 20 and says what that is worth"
                .into(),
        })
    }

    /// Whether a trade of time for temperature would go through a secondary peak, where the parameter does not hold.
    fn trade_is_doubtful(&self, temperature: Temperature, time: HoldTime) -> bool {
        let Some(peak) = self.secondary_peak() else { return false };
        if time == self.reference_hold() {
            return false;
        }
        let c = SteelConstant::for_hours(self.constant().middle());
        let equivalent = self.at_reference_hold(temperature, time, c);
        temperature <= peak || equivalent.is_ok_and(|equivalent| equivalent <= peak)
    }

    /// The shift that an as-quenched reading gives a hardness on the curve.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] below the expected band: the hardening failed and no curve applies;
    /// [`Error::NotDetermined`] where the curve does not say what it started from.
    fn as_quenched_shift(&self, hrc: f64, as_quenched_hrc: f64) -> Result<f64> {
        check_finite(AS_QUENCHED_CONDITIONING.id, "as_quenched_hrc", "HRC", as_quenched_hrc)?;
        let Some(expected) = self.expected_as_quenched() else {
            return Err(Error::NotDetermined {
                what: "what the as-quenched reading says".into(),
                why: format!("{} states no as-quenched hardness to compare with", self.name()).into(),
                would_determine: "a curve made with as_quenched_hrc=".into(),
            });
        };
        let lowest = expected - HARDENING_FAILED_BELOW;
        if as_quenched_hrc < lowest {
            return Err(Error::OutOfRange {
                model: AS_QUENCHED_CONDITIONING.id.into(),
                argument: "as_quenched_hrc".into(),
                value: as_quenched_hrc,
                unit: "HRC".into(),
                low: lowest,
                high: expected + 3.0,
                stated_by: format!("what {} starts from, {expected} HRC", self.name()).into(),
                failed: 1,
                of: 1,
                hint: "Hardening first: it failed (too cold, too short, too slow a quench, or a soft skin), and no \
                       tempering curve applies. Check with a file or after grinding 0.3 mm"
                    .into(),
            });
        }
        let trust = U_EXPECTED * U_EXPECTED / (U_EXPECTED * U_EXPECTED + U_READING * U_READING);
        Ok(trust * (as_quenched_hrc - expected) * (-(expected - hrc).max(0.0) / FADE_HRC).exp())
    }

    /// HRC after a hold with everything that makes it uncertain.
    ///
    /// # Errors
    /// As [`Self::hardness_with`]; with `widened` set, the curve is continued in a straight line instead and the
    /// estimate is marked.
    fn estimate(
        &self,
        temperature: Temperature,
        time: HoldTime,
        belief: ConstantBelief,
        spread: &TemperSpread,
        widened: Widened,
    ) -> Result<Estimate> {
        let c = SteelConstant::for_hours(belief.middle());
        let equivalent = self.at_reference_hold(temperature, time, c)?;
        let (low, high) = self.covered();
        let inside = equivalent.celsius().clamp(low.celsius(), high.celsius());
        let beyond = equivalent.celsius() - inside;
        if beyond != 0.0 && widened == Widened::No {
            return Err(self.outside(temperature, time, c));
        }
        let (value, slope) = self.value_and_slope(inside);
        let u_c = self.half_change_over_constant(temperature, time, belief)? * slope;
        let longer = HoldTime::from_hours(time.hours() + spread.time_half_min() / 60.0);
        let by_time = self.at_reference_hold(temperature, longer, c)?.celsius() - equivalent.celsius();
        let mut made = Estimate::new(value + slope * beyond, "HRC")
            .with("curve", self.u_level())
            .with("batch", self.u_batch())
            .with("temperature", spread.u_temperature_delta_c() * slope)
            .with("time", by_time * slope / 3f64.sqrt())
            .with("c", u_c);
        if beyond != 0.0 {
            made = made.with("extrapolation", slope * beyond).marked_extrapolated().assuming(format!(
                "outside the table by {:.0} °C: continued in a straight line, and the whole change counted as its \
                 uncertainty",
                beyond.abs()
            ));
        }
        made = if time == self.reference_hold() {
            made.assuming(format!("at the table's own {} h the constant C drops out", time.hours()))
        } else {
            made.assuming(belief.text())
        };
        if self.trade_is_doubtful(temperature, time) {
            made = made.assuming(THROUGH_THE_PEAK);
        }
        made = made.assuming(spread.text()).assuming(format!("curve: {}", self.source()));
        Ok(self.assumptions().into_iter().fold(made, Estimate::assuming))
    }

    /// Value and slope at a covered temperature of the reference hold.
    fn value_and_slope(&self, celsius: f64) -> (f64, f64) {
        let (low, high) = self.covered();
        let at = |celsius: f64| self.at_reference(Temperature::from_celsius(celsius));
        let (a, b) = ((celsius - 1.0).max(low.celsius()), (celsius + 1.0).min(high.celsius()));
        (at(celsius), if b > a { (at(b) - at(a)) / (b - a) } else { 0.0 })
    }

    /// One standard uncertainty of the equivalent temperature from a belief about C, in °C.
    ///
    /// # Errors
    /// As [`equivalent_temperature`].
    fn half_change_over_constant(
        &self,
        temperature: Temperature,
        time: HoldTime,
        belief: ConstantBelief,
    ) -> Result<f64> {
        let (low, high) = belief.ends();
        let at = |c: f64| self.at_reference_hold(temperature, time, SteelConstant::for_hours(c));
        let half = 0.5 * (at(high)?.celsius() - at(low)?.celsius());
        Ok(match belief {
            ConstantBelief::Fixed(_) => 0.0,
            ConstantBelief::Normal { .. } => 0.5 * half,
            ConstantBelief::Flat { .. } => half / 3f64.sqrt(),
        })
    }

    /// Every temperature that gives a hardness after a hold, rising, each with its side.
    ///
    /// # Errors
    /// [`Error::NoAnswer`] where there is none, saying what the curve spans.
    fn roots(&self, hrc: f64, time: HoldTime, c: SteelConstant) -> Result<Vec<Root>> {
        check_finite(format!("curve of {}", self.name()), "hrc", "HRC", hrc)?;
        let peak = self.secondary_peak().map(Temperature::celsius);
        let mut made = Vec::new();
        for celsius in self.roots_at_reference(hrc) {
            let there = Temperature::from_celsius(celsius);
            let temperature = if time == self.reference_hold() {
                there
            } else {
                equivalent_temperature(there, self.reference_hold(), time, c)?
            };
            let side = match peak {
                Some(peak) if celsius >= peak => Side::OverAgeing,
                _ if self.value_and_slope(celsius).1 > 0.0 => Side::Rising,
                _ => Side::Falling,
            };
            made.push(Root { temperature, side });
        }
        if made.is_empty() {
            let (low, high) = self.covered();
            let (hardest, softest) = self.span();
            return Err(Error::NoAnswer {
                model: format!("curve of {}", self.name()).into(),
                asked: format!("{hrc} HRC").into(),
                why: format!(
                    "the curve gives {softest:.1} to {hardest:.1} HRC between {:.0} and {:.0} °C",
                    low.celsius(),
                    high.celsius()
                )
                .into(),
                hint: "Ask for a hardness the steel reaches after a temper, or measure coupons further out".into(),
            });
        }
        Ok(made)
    }

    /// Hardest and softest value of the covered range.
    fn span(&self) -> (f64, f64) {
        let (low, high) = self.covered();
        let steps = 200;
        let values = (0..=steps).map(|i| {
            let celsius = low.celsius() + (high.celsius() - low.celsius()) * f64::from(i) / f64::from(steps);
            self.at_reference(Temperature::from_celsius(celsius))
        });
        values.fold((f64::NEG_INFINITY, f64::INFINITY), |(hard, soft), value| (hard.max(value), soft.min(value)))
    }
}

/// What must be said when time is traded through a secondary peak.
pub const THROUGH_THE_PEAK: &str = "time was traded for temperature through a secondary-hardening peak, where the \
                                    tempering parameter does not hold: it is for the over-ageing side only, with own data";

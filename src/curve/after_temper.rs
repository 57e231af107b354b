//! The trait of everything that gives hardness after a temper, and the questions all of them answer.

use std::sync::Arc;

use super::as_quenched::{AsQuenched, AsQuenchedReading, Conditioning};
use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, Text};
use crate::quantity::{HoldTime, Temperature};
use crate::temper::ConstantBelief;

/// Where the Rockwell C scale begins, HRC: the lowest row of the conversion tables for steel.
pub const SCALE_FROM_HRC: f64 = 20.0;

/// What must be said of a hardness below it.
pub const BELOW_THE_SCALE: &str = "below 20 HRC: outside the Rockwell C scale's range";

/// On which stretch of a curve a temperature lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Side {
    /// The first fall, before any secondary hardening.
    Falling,
    /// Hardness grows with temperature on the way to a secondary peak.
    Rising,
    /// Falling again after a secondary peak.
    OverAgeing,
}

impl Side {
    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Falling => "falling",
            Self::Rising => "rising",
            Self::OverAgeing => "over-ageing",
        }
    }

    /// The side of that name.
    ///
    /// # Errors
    /// [`Error::UnknownName`].
    pub fn named(name: &str) -> Result<Self> {
        [Self::Falling, Self::Rising, Self::OverAgeing].into_iter().find(|side| side.name() == name).ok_or_else(|| {
            Error::UnknownName {
                kind: "branch".into(),
                name: name.to_owned(),
                close: Vec::new(),
                hint: "Branches are \"falling\", \"rising\" and \"over-ageing\"".into(),
            }
        })
    }

    /// What to know before going there.
    #[must_use]
    pub const fn caution(self) -> Option<&'static str> {
        match self {
            Self::Falling => None,
            Self::Rising => Some(
                "rising branch of a secondary peak: usually avoided (retained austenite not conditioned, toughness low \
                 below the peak, slope steep)",
            ),
            Self::OverAgeing => Some("over-ageing side of a secondary peak: two or three tempers are usual"),
        }
    }
}

/// One temperature that gives a wanted hardness.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Root {
    /// The temperature.
    pub temperature: Temperature,
    /// The stretch of the curve it lies on.
    pub side: Side,
}

/// Anything that gives Rockwell C hardness after a temper: a table, a fit to coupons, a model.
///
/// What must be implemented is the bare curve; conditioning on the as-quenched hardness, choosing C and the checks on
/// branches are the same for all and provided here.
pub trait HardnessAfterTemper: std::fmt::Debug + Send + Sync {
    /// What it is called, for messages.
    fn name(&self) -> &str;

    /// Hardness after one hold with this C (for hours).
    ///
    /// # Errors
    /// [`Error::OutOfRange`] outside what the curve covers, [`Error::InvalidValue`] for values no policy accepts.
    fn hardness_with(&self, temperature: Temperature, time: HoldTime, c: f64) -> Result<f64>;

    /// Derivative of the hardness by temperature, HRC/°C.
    ///
    /// # Errors
    /// As [`Self::hardness_with`].
    fn slope_with(&self, temperature: Temperature, time: HoldTime, c: f64) -> Result<f64>;

    /// Hardness a little outside the range, and how many degrees outside it is (0 inside): the end continued straight.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] too far outside even for that.
    fn extrapolated_with(&self, temperature: Temperature, time: HoldTime, c: f64) -> Result<(f64, f64)>;

    /// Every temperature at which `time` gives `hrc`, coolest first; empty where the curve never does.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] for values no policy accepts.
    fn roots_with(&self, hrc: f64, time: HoldTime, c: f64) -> Result<Vec<Root>>;

    /// The coolest and the hottest temperature covered for this hold.
    fn range_with(&self, time: HoldTime, c: f64) -> (Temperature, Temperature);

    /// The lowest and the highest hardness it gives.
    fn hardness_range(&self) -> (f64, f64);

    /// The hold at which it was measured, where C drops out.
    fn reference_hold(&self) -> HoldTime;

    /// Whether the hold was printed with the data; if not, [`Self::reference_hold`] is an assumption.
    fn hold_is_stated(&self) -> bool;

    /// What is believed of C; `None` where nothing is, so that only estimates (15 to 20) may leave the reference hold.
    fn constant(&self) -> Option<ConstantBelief>;

    /// One standard uncertainty of the curve's level, HRC.
    fn u_level(&self) -> f64;

    /// One standard uncertainty of the level at this hold, HRC: for curves that know some tempers better than others.
    fn u_level_at(&self, _temperature: Temperature, _time: HoldTime, _c: f64) -> f64 {
        self.u_level()
    }

    /// One standard uncertainty of the slope, HRC/°C, for curves that know it: what two temperatures of one part differ by
    /// is off by it. Zero where it is not told apart from the level.
    fn u_slope(&self) -> f64 {
        0.0
    }

    /// What the stated uncertainty of an as-quenched reading leaves open at this hold, HRC: for a model that has the reading
    /// as an input. It isn't in [`Self::u_level_at`].
    fn u_as_quenched_at(&self, _temperature: Temperature, _time: HoldTime, _c: f64) -> f64 {
        0.0
    }

    /// How [`Self::u_level`] was found.
    fn u_level_found(&self) -> &str;

    /// One standard uncertainty between batches of one steel, HRC.
    fn u_batch(&self) -> f64;

    /// The as-quenched hardness that belongs to the curve, where known.
    fn as_quenched(&self) -> Option<AsQuenched>;

    /// What full hardening of the steel gives, by which a reading says whether a part hardened; where nothing more is
    /// known, the as-quenched hardness that belongs to the curve.
    fn hardened(&self) -> Option<AsQuenched> {
        self.as_quenched()
    }

    /// Whether [`Self::u_level`] has in it what batches of one steel differ by.
    fn has_batch_in_level(&self) -> bool {
        false
    }

    /// What to say of C at the curve's own hold.
    fn without_constant(&self) -> Text {
        format!("C drops out: {} h is the table's own hold", self.reference_hold().hours()).into()
    }

    /// Whether hardness comes back on the way up, by half a point at least.
    fn has_secondary_hardening(&self) -> bool;

    /// Whether carrying this hold to the curve's own one goes through a secondary hump, where the parameter does not
    /// hold.
    fn carried_through_hump(&self, _temperature: Temperature, _time: HoldTime, _c: f64) -> bool {
        false
    }

    /// What to know about a hold on this curve, as sentences.
    fn cautions(&self, temperature: Temperature, time: HoldTime, c: f64) -> Vec<Text>;

    /// Where the curve comes from.
    fn sources(&self) -> &[String];

    /// Whether C matters for a hold: it drops out at the curve's own.
    fn needs_constant(&self, time: HoldTime) -> bool {
        time.hours() != self.reference_hold().hours()
    }

    /// The C for a plain call: the one given, else the curve's own; any will do at the curve's own hold.
    ///
    /// # Errors
    /// [`Error::MissingArgument`] where C matters and is not known as a number.
    fn chosen_constant(&self, time: HoldTime, given: Option<f64>) -> Result<f64> {
        match (given, self.constant()) {
            (Some(c), _) => Ok(c),
            (None, Some(ConstantBelief::Fixed(c) | ConstantBelief::Normal { c, .. })) => Ok(c),
            (None, belief) if !self.needs_constant(time) || time.hours().is_nan() => {
                Ok(belief.unwrap_or(crate::temper::UNKNOWN_STEEL).middle())
            }
            (None, _) => Err(Error::MissingArgument {
                function: self.name().to_owned().into(),
                argument: "c".into(),
                why: format!(
                    "{} h is not the curve's own hold of {} h, and its C is not known as a number",
                    time.hours(),
                    self.reference_hold().hours()
                )
                .into(),
                hint:
                    "Give c= (21.3 - 5.8 %C for plain carbon steels, or a number of your own), ask for the curve's own \
                       hold, or call the _estimate twin, which carries C = 15 to 20"
                        .into(),
            }),
        }
    }

    /// How an as-quenched reading moves this curve; `None` reading moves nothing.
    ///
    /// # Errors
    /// [`Error::NoAnswer`] for a reading below the expected band: the hardening failed and no curve applies.
    fn conditioning(&self, as_quenched: Option<AsQuenchedReading>) -> Result<Conditioning> {
        let Some(reading) = as_quenched else { return Ok(Conditioning::NONE) };
        if let Some(band) = self.hardened() {
            return Conditioning::for_curve(self.name(), self.as_quenched(), band, reading);
        }
        let hold = self.reference_hold();
        let c = self.constant().unwrap_or(crate::temper::UNKNOWN_STEEL).middle();
        let mildest = self.hardness_with(self.range_with(hold, c).0, hold, c)?;
        let known = AsQuenched { hrc: mildest, u: self.u_level().hypot(self.u_batch()) };
        Conditioning::unexpected(self.name(), known, reading)
    }

    /// The curve of a part with this as-quenched reading, for a model that takes it as an input; `None` for all that shift
    /// by the common rule of [`Self::conditioning`].
    ///
    /// # Errors
    /// [`Error::NoAnswer`] for a reading that says the hardening failed.
    fn for_as_quenched(&self, _reading: AsQuenchedReading) -> Result<Option<Arc<dyn HardnessAfterTemper>>> {
        Ok(None)
    }

    /// Hardness after a hold, a plain number.
    ///
    /// # Errors
    /// As [`Self::hardness_with`], [`Self::chosen_constant`] and [`Self::conditioning`].
    fn hardness_after(
        &self,
        temperature: Temperature,
        time: HoldTime,
        c: Option<f64>,
        as_quenched_hrc: Option<f64>,
    ) -> Result<f64> {
        let conditioning = self.conditioning(as_quenched_hrc.map(Into::into))?;
        let c = self.chosen_constant(time, c)?;
        Ok(conditioning.applied(self.hardness_with(temperature, time, c)?))
    }

    /// Every temperature that gives `hrc` after `time`, coolest first.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] for a hardness the curve never gives; and as [`Self::hardness_after`].
    fn temperatures_for(
        &self,
        hrc: f64,
        time: HoldTime,
        c: Option<f64>,
        as_quenched_hrc: Option<f64>,
    ) -> Result<Vec<Root>> {
        let conditioning = self.conditioning(as_quenched_hrc.map(Into::into))?;
        let c = self.chosen_constant(time, c)?;
        let roots = self.roots_with(conditioning.undone(hrc), time, c)?;
        if !roots.is_empty() || hrc.is_nan() {
            return Ok(roots);
        }
        let (low, high) = self.hardness_range();
        Err(Error::outside(
            self.name().to_owned(),
            "hrc",
            (hrc, "HRC"),
            (conditioning.applied(low), conditioning.applied(high)),
            self.sources().first().cloned().unwrap_or_else(|| "the points of the curve".to_owned()),
            "No temper within the table gives it; a part softer than wanted can't be hardened by tempering on a \
                   curve that only falls",
        ))
    }

    /// The one temperature that gives `hrc` after `time`, on the branch asked for.
    ///
    /// # Errors
    /// [`Error::SeveralAnswers`] with all of them where no branch is named; [`Error::NoAnswer`] where the named branch
    /// does not give it; and as [`Self::temperatures_for`].
    fn temperature_for(
        &self,
        hrc: f64,
        time: HoldTime,
        c: Option<f64>,
        as_quenched_hrc: Option<f64>,
        branch: Option<Side>,
    ) -> Result<Temperature> {
        if hrc.is_nan() || time.hours().is_nan() {
            return Ok(Temperature::from_celsius(f64::NAN));
        }
        let all = self.temperatures_for(hrc, time, c, as_quenched_hrc)?;
        let kept: Vec<Root> = all.iter().copied().filter(|root| branch.is_none_or(|side| root.side == side)).collect();
        let described = |roots: &[Root]| {
            roots
                .iter()
                .map(|root| format!("{:.0} °C ({})", root.temperature.celsius(), root.side.name()))
                .collect::<Vec<_>>()
                .join(", ")
        };
        let asked = || Text::Owned(format!("the temperature for {hrc} HRC after {} h", time.hours()));
        match kept.as_slice() {
            [root] => Ok(root.temperature),
            [] => Err(Error::NoAnswer {
                model: self.name().to_owned().into(),
                asked: asked(),
                why: format!("the branch asked for does not give it; found {}", described(&all)).into(),
                hint: "Name another branch".into(),
            }),
            several => Err(Error::SeveralAnswers {
                model: self.name().to_owned().into(),
                asked: asked(),
                answers: several.iter().map(|root| root.temperature.celsius()).collect(),
                unit: "°C".into(),
                hint: format!(
                    "They lie at {}. Name the branch you mean, or ask temperatures_for for all of them; the rising \
                     branch is usually avoided",
                    described(several)
                )
                .into(),
            }),
        }
    }
}

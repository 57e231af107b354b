//! A tabulated tempering curve: hardness against temperature at one hold.

use serde::{Deserialize, Serialize};

use super::interpolate::MonotoneCubic;
use super::model::HardnessAfterTemper;
use crate::error::{Error, Result, Text};
use crate::quantity::{HoldTime, Temperature};
use crate::temper::{ConstantBelief, UNKNOWN_STEEL};

/// Standard uncertainty of a printed curve where nothing better is known, HRC: ±1 at k = 2 (assumption, no source).
pub const U_PRINTED_CURVE: f64 = 0.5;

/// Standard uncertainty from batch to batch where nothing better is known, HRC (assumption, no source).
pub const U_BATCH: f64 = 0.5;

/// How much higher than the valley before it a peak must be to count as secondary hardening, HRC: printed curves are
/// rounded to half a point.
const PEAK_PROMINENCE: f64 = 0.75;

/// Hardness against temperature at one hold time, with what is known of the steel.
///
/// ```
/// use afterquench::curve::{HardnessAfterTemper, TemperingCurve};
/// use afterquench::{HoldTime, Temperature};
/// let curve = TemperingCurve::new("invented", vec![150.0, 200.0, 250.0], vec![62.6, 60.4, 57.8], HoldTime::from_hours(2.0)).unwrap();
/// let hrc = curve.hardness(Temperature::from_celsius(200.0), HoldTime::from_hours(2.0)).unwrap();
/// assert!((hrc - 60.4).abs() < 1e-12);
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TemperingCurve {
    name: Text,
    source: Text,
    table: MonotoneCubic,
    hold: HoldTime,
    constant: Option<ConstantBelief>,
    as_quenched_hrc: Option<f64>,
    u_level: f64,
    u_batch: f64,
    peak: Option<f64>,
    notes: Vec<Text>,
}

impl TemperingCurve {
    /// A table of temperatures (°C) and hardness (HRC) at one hold.
    ///
    /// # Errors
    /// [`Error::Refused`] for a table that can't be interpolated, [`Error::InvalidValue`] for a hold that is no time.
    pub fn new(name: impl Into<Text>, temperature_c: Vec<f64>, hrc: Vec<f64>, hold: HoldTime) -> Result<Self> {
        if !(hold.hours() > 0.0 && hold.hours().is_finite()) {
            return Err(Error::InvalidValue {
                model: "curve.table".into(),
                argument: "time_h".into(),
                value: hold.hours(),
                unit: "h".into(),
                why: "is not a positive time".into(),
                failed: 1,
                of: 1,
                hint: "Give the hold time of the table in hours".into(),
            });
        }
        let table = MonotoneCubic::through(temperature_c, hrc)?;
        let peak = secondary_peak(table.x(), table.y());
        Ok(Self {
            name: name.into(),
            source: "the caller's own table".into(),
            table,
            hold,
            constant: None,
            as_quenched_hrc: None,
            u_level: U_PRINTED_CURVE,
            u_batch: U_BATCH,
            peak,
            notes: Vec::new(),
        })
    }

    /// With a belief about C of its own.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] for a belief whose numbers make no sense.
    pub fn with_constant(mut self, belief: ConstantBelief) -> Result<Self> {
        self.constant = Some(belief.checked()?);
        Ok(self)
    }

    /// With the as-quenched hardness it starts from.
    #[must_use]
    pub const fn from_as_quenched(mut self, hrc: f64) -> Self {
        self.as_quenched_hrc = Some(hrc);
        self
    }

    /// With its own standard uncertainties: of the curve, and from batch to batch.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] for one that is negative or not finite.
    pub fn with_scatter(mut self, u_level: f64, u_batch: f64) -> Result<Self> {
        for (argument, value) in [("u_curve_hrc", u_level), ("u_batch_hrc", u_batch)] {
            if !(value.is_finite() && value >= 0.0) {
                return Err(Error::InvalidValue {
                    model: "curve.table".into(),
                    argument: argument.into(),
                    value,
                    unit: "HRC".into(),
                    why: "is not a standard uncertainty".into(),
                    failed: 1,
                    of: 1,
                    hint: "Give one standard uncertainty, from 0 up".into(),
                });
            }
        }
        (self.u_level, self.u_batch) = (u_level, u_batch);
        Ok(self)
    }

    /// With its source.
    #[must_use]
    pub fn from_source(mut self, source: impl Into<Text>) -> Self {
        self.source = source.into();
        self
    }

    /// With a sentence that every answer from it must carry.
    #[must_use]
    pub fn with_note(mut self, note: impl Into<Text>) -> Self {
        self.notes.push(note.into());
        self
    }

    /// The table's temperatures, °C.
    #[must_use]
    pub fn temperatures_c(&self) -> &[f64] {
        self.table.x()
    }

    /// The table's hardness values, HRC.
    #[must_use]
    pub fn hrc(&self) -> &[f64] {
        self.table.y()
    }

    /// Slope at the table's own hold, HRC per °C; NaN outside.
    #[must_use]
    pub fn slope(&self, temperature: Temperature) -> f64 {
        self.table.slope_at(temperature.celsius())
    }

    /// The curve's own belief about C, if it has one.
    #[must_use]
    pub const fn own_constant(&self) -> Option<ConstantBelief> {
        self.constant
    }

    /// The sentences that every answer from it carries.
    #[must_use]
    pub fn notes(&self) -> &[Text] {
        &self.notes
    }
}

impl HardnessAfterTemper for TemperingCurve {
    fn name(&self) -> &str {
        &self.name
    }

    fn source(&self) -> &str {
        &self.source
    }

    fn reference_hold(&self) -> HoldTime {
        self.hold
    }

    fn constant(&self) -> ConstantBelief {
        self.constant.unwrap_or(UNKNOWN_STEEL)
    }

    fn constant_is_own(&self) -> bool {
        self.constant.is_some()
    }

    fn u_level(&self) -> f64 {
        self.u_level
    }

    fn u_batch(&self) -> f64 {
        self.u_batch
    }

    fn expected_as_quenched(&self) -> Option<f64> {
        self.as_quenched_hrc
    }

    fn secondary_peak(&self) -> Option<Temperature> {
        self.peak.map(Temperature::from_celsius)
    }

    fn covered(&self) -> (Temperature, Temperature) {
        let (low, high) = self.table.ends();
        (Temperature::from_celsius(low), Temperature::from_celsius(high))
    }

    fn at_reference(&self, temperature: Temperature) -> f64 {
        self.table.at(temperature.celsius())
    }

    fn roots_at_reference(&self, hrc: f64) -> Vec<f64> {
        self.table.solve(hrc)
    }

    fn assumptions(&self) -> Vec<Text> {
        self.notes.clone()
    }
}

/// The temperature of the highest point that rises clearly out of a valley before it.
fn secondary_peak(x: &[f64], y: &[f64]) -> Option<f64> {
    let mut valley = f64::INFINITY;
    let mut peak: Option<(f64, f64)> = None;
    for (&x, &y) in x.iter().zip(y) {
        if y - valley >= PEAK_PROMINENCE && peak.is_none_or(|(_, top)| y >= top) {
            peak = Some((x, y));
        }
        valley = valley.min(y);
    }
    peak.map(|(x, _)| x)
}

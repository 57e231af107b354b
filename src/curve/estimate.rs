//! Hardness after a temper with its uncertainty by what it comes from.

use super::after_temper::HardnessAfterTemper;
use super::as_quenched::AsQuenchedReading;
use crate::error::{Error, Result};
use crate::estimate::{Estimate, root_sum_of_squares};
use crate::quantity::{HoldTime, Temperature};
use crate::record::{ModelRecord, Origin, Scatter, Source};
use crate::temper::{ConstantBelief, UNKNOWN_STEEL};

/// The record of the uncertainty rules.
pub static HARDNESS_ESTIMATE: ModelRecord = ModelRecord {
    id: "curve.hardness_estimate",
    gives: "standard uncertainty of a hardness after a temper, by component",
    unit: "HRC",
    formula: "u² = curve² + batch² + Σ (change of the hardness for one u of temperature, time, C)²; a flat ±a has \
              u = a/√3; extrapolation by d °C adds the whole change along the end's straight line and 0.01 HRC/°C; a hold \
              that was not printed adds half the change from half to twice the hold",
    ranges: &[],
    scatter: Scatter::NotStated,
    sources: &[
        Source {
            cite: "JCGM 100:2008, Guide to the expression of uncertainty in measurement",
            at: "5.1.2, 5.1.3 note 2; 4.3.7 for flat distributions",
            origin: Origin::FromMemory,
        },
        Source {
            cite: "assumption: position ±5 °C, sensor ±1.5 °C, controller ±1 °C, time ±3 min, all flat",
            at: "no source",
            origin: Origin::CommonPractice,
        },
    ],
    errata: &[],
    not_for: "readings: a tester adds its own uncertainty",
};

/// How well a hold is known: half widths of flat distributions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HoldSpread {
    /// Evenness of the oven: where the part lay, ±°C.
    pub position_delta_c: f64,
    /// Sensor and display, ±°C.
    pub sensor_delta_c: f64,
    /// What the controller leaves, ±°C.
    pub controller_delta_c: f64,
    /// Time, ±h.
    pub time_h: f64,
}

impl Default for HoldSpread {
    fn default() -> Self {
        Self { position_delta_c: 5.0, sensor_delta_c: 1.5, controller_delta_c: 1.0, time_h: 0.05 }
    }
}

impl HoldSpread {
    /// One standard uncertainty of the temperature, °C.
    #[must_use]
    pub fn u_temperature(&self) -> f64 {
        root_sum_of_squares([self.position_delta_c, self.sensor_delta_c, self.controller_delta_c]) / 3f64.sqrt()
    }

    /// One standard uncertainty of the time, h.
    #[must_use]
    pub fn u_time(&self) -> f64 {
        self.time_h / 3f64.sqrt()
    }

    /// The widths one by one, for a record of what an answer was made from.
    #[must_use]
    pub fn inputs(&self) -> [(String, String); 4] {
        let minutes = (60.0 * self.time_h * 1e6).round() / 1e6;
        [
            ("place in the oven".to_owned(), format!("±{} °C", self.position_delta_c)),
            ("sensor".to_owned(), format!("±{} °C", self.sensor_delta_c)),
            ("controller".to_owned(), format!("±{} °C", self.controller_delta_c)),
            ("timer".to_owned(), format!("±{minutes} min a cycle")),
        ]
    }

    /// Checks that all are finite and not negative.
    ///
    /// # Errors
    /// [`Error::InvalidValue`].
    pub fn checked(self) -> Result<Self> {
        for (argument, unit, value) in [
            ("position_delta_c", "°C", self.position_delta_c),
            ("sensor_delta_c", "°C", self.sensor_delta_c),
            ("controller_delta_c", "°C", self.controller_delta_c),
            ("time_delta_min", "min", 60.0 * self.time_h),
        ] {
            if !(value.is_finite() && value >= 0.0) {
                return Err(Error::invalid(
                    HARDNESS_ESTIMATE.id,
                    argument,
                    (value, unit),
                    "is not a half width",
                    "Give the half width of a flat distribution: finite, not negative",
                ));
            }
        }
        Ok(self)
    }
}

/// What is asked of [`hardness_after_estimate`] beside curve and hold.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct EstimateOptions {
    /// One standard uncertainty of the temperature, °C; `None` takes the spread's.
    pub u_temperature: Option<f64>,
    /// One standard uncertainty of the time, h; `None` takes the spread's.
    pub u_time: Option<f64>,
    /// How well the hold is known.
    pub spread: HoldSpread,
    /// What is believed of C; `None` takes the curve's own, or 15 to 20.
    pub constant: Option<ConstantBelief>,
    /// One standard uncertainty of the level, HRC; `None` takes the curve's own.
    pub u_level: Option<f64>,
    /// One standard uncertainty between batches, HRC; `None` takes the curve's own.
    pub u_batch: Option<f64>,
    /// The as-quenched reading, with its uncertainty where one is stated.
    pub as_quenched: Option<AsQuenchedReading>,
    /// Whether to go beyond the table.
    pub extrapolate: bool,
}

/// HRC/°C that extrapolation adds beside the change along the end's line.
const PER_DEGREE_OUTSIDE: f64 = 0.01;

/// Hardness after a hold with its uncertainty: components "curve", "batch", "temperature", "time", "c" and, where they
/// apply, "as-quenched" (what that reading's stated uncertainty leaves open), "hold" (not printed with the table) and
/// "extrapolation".
///
/// # Errors
/// As [`HardnessAfterTemper::hardness_after`]; [`Error::NoAnswer`] for NaN arguments: an estimate needs values.
pub fn hardness_after_estimate(
    curve: &dyn HardnessAfterTemper,
    temperature: Temperature,
    time: HoldTime,
    options: &EstimateOptions,
) -> Result<Estimate> {
    if let Some(part) = options.as_quenched.map(|reading| curve.for_as_quenched(reading)).transpose()?.flatten() {
        return hardness_after_estimate(part.as_ref(), temperature, time, options);
    }
    let spread = options.spread.checked()?;
    let belief = options.constant.or(curve.constant()).unwrap_or(UNKNOWN_STEEL).checked()?;
    let conditioning = curve.conditioning(options.as_quenched)?;
    let c = belief.middle();
    let (bare, outside) = if options.extrapolate {
        curve.extrapolated_with(temperature, time, c)?
    } else {
        (curve.hardness_with(temperature, time, c)?, 0.0)
    };
    if bare.is_nan() {
        return Err(Error::NoAnswer {
            model: curve.name().to_owned().into(),
            asked: "an estimate".into(),
            why: "temperature or time is NaN".into(),
            hint: "Leave missing values out of estimates".into(),
        });
    }
    let hardness = |celsius: f64, hours: f64, c: f64| {
        curve
            .extrapolated_with(Temperature::from_celsius(celsius), HoldTime::from_hours(hours), c)
            .map_or(f64::NAN, |(hrc, _)| hrc)
    };
    // Root mean square of the two changes, so that a flat peak is not taken for certainty.
    let change = |there: [f64; 2]| {
        let squares: Vec<f64> =
            there.iter().map(|hrc| (hrc - bare).powi(2)).filter(|square| square.is_finite()).collect();
        (squares.iter().sum::<f64>() / squares.len().max(1) as f64).sqrt()
    };
    let (celsius, hours) = (temperature.celsius(), time.hours());
    let u_temperature = options.u_temperature.unwrap_or_else(|| spread.u_temperature());
    let u_time = options.u_time.unwrap_or_else(|| spread.u_time()).min(0.5 * hours);
    let mut made = Estimate::new(conditioning.applied(bare), "HRC")
        .with("curve", options.u_level.unwrap_or_else(|| curve.u_level_at(temperature, time, c)))
        .with("batch", options.u_batch.unwrap_or_else(|| curve.u_batch()))
        .with("temperature", change([-1.0, 1.0].map(|way| hardness(celsius + way * u_temperature, hours, c))))
        .with("time", change([-1.0, 1.0].map(|way| hardness(celsius, hours + way * u_time, c))));
    let u_as_quenched = curve.u_as_quenched_at(temperature, time, c).hypot(conditioning.u_at(bare));
    if u_as_quenched > 0.0 {
        made = made.with("as-quenched", u_as_quenched);
    }
    let own_hold = curve.reference_hold();
    made = if curve.needs_constant(time) {
        let (low, high) = (belief.at(0.5 - 0.341_344_746), belief.at(0.5 + 0.341_344_746));
        made.with("c", change([low, high].map(|c| hardness(celsius, hours, c)))).assuming(belief.text())
    } else {
        made.with("c", 0.0).assuming(curve.without_constant())
    };
    if !curve.hold_is_stated() {
        let u = 0.5 * (hardness(celsius, 0.5 * hours, c) - hardness(celsius, 2.0 * hours, c)).abs();
        made = made.with("hold", if u.is_finite() { u } else { 0.5 }).assuming(format!(
            "the table's hold was not printed; {} h is assumed, within a factor of two",
            own_hold.hours()
        ));
    }
    if outside > 0.0 {
        let line = (curve.slope_with(nearest(curve, temperature, time, c), time, c)?).abs() * outside;
        made = made
            .with("extrapolation", line + PER_DEGREE_OUTSIDE * outside)
            .marked_extrapolated()
            .assuming(format!("extrapolated {outside:.0} °C beyond the table, straight on from its end"));
    }
    made = made.assuming(format!("curve {}: {}", curve.name(), curve.u_level_found()));
    if options.u_batch.unwrap_or_else(|| curve.u_batch()) > 0.0 {
        made = made.assuming("between batches 0.5 HRC unless own coupons say otherwise (assumption)");
    }
    if options.u_temperature.is_none() {
        made = made.assuming(format!(
            "temperature: position ±{} °C, sensor ±{} °C, controller ±{} °C, flat",
            spread.position_delta_c, spread.sensor_delta_c, spread.controller_delta_c
        ));
    }
    if options.u_time.is_none() {
        made = made.assuming(format!("time ±{:.0} min, flat", spread.time_h * 60.0));
    }
    if let Some(sentence) = conditioning.sentence() {
        made = made.assuming(sentence.clone());
    }
    let cautions = conditioning.caution().cloned().into_iter().chain(curve.cautions(temperature, time, c));
    Ok(cautions.fold(made, Estimate::assuming))
}

/// The end of the range that a temperature outside lies beyond.
fn nearest(curve: &dyn HardnessAfterTemper, temperature: Temperature, time: HoldTime, c: f64) -> Temperature {
    let (low, high) = curve.range_with(time, c);
    // A hair inside: the way there and back through the parameter may round to just outside.
    let inside = |end: Temperature, way: f64| Temperature::from_celsius(end.celsius() + way * 1e-6);
    if temperature < low { inside(low, 1.0) } else { inside(high, -1.0) }
}

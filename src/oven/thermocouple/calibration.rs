//! The user's calibration points: what to add to a sensor's reading, between them and nowhere else.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result};
use crate::estimate::Estimate;
use crate::kernel::{ArrayModel, Lane};
use crate::record::{ModelRecord, Origin, Scatter, Source, check_finite};

/// The record of [`SensorCalibration`].
pub static SENSOR_CORRECTION: ModelRecord = ModelRecord {
    id: "oven.sensor_correction",
    gives: "what to add to the reading of a calibrated sensor",
    unit: "°C",
    formula: "reference - shown at the calibration points, straight lines between them",
    ranges: &[],
    scatter: Scatter::NotStated,
    sources: &[Source {
        cite: "definition of a correction (JCGM 200:2012, 2.53)",
        at: "to be added algebraically to the indication",
        origin: Origin::Definition,
    }],
    errata: &[],
    not_for: "readings beyond the points by more than within_delta_c: a calibration says nothing there",
};

/// Calibration points of one sensor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SensorCalibration {
    shown_c: Vec<f64>,
    correction_delta_c: Vec<f64>,
    u_delta_c: Vec<f64>,
    within_delta_c: f64,
}

/// Where a reading lies: two points and the weight of the second.
struct Place {
    below: usize,
    above: usize,
    weight: f64,
}

impl SensorCalibration {
    /// From what the sensor showed and what the reference was, in any order; `u_delta_c` is one standard uncertainty a
    /// point, and the end points hold for `within_delta_c` beyond them.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] for no points, uneven columns, two points at one reading, or numbers that can't be.
    ///
    /// ```
    /// use afterquench::oven::SensorCalibration;
    /// let points = SensorCalibration::new(&[100.0, 200.0], &[100.5, 201.5], &[0.3, 0.3], 0.0).unwrap();
    /// assert_eq!(points.at(150.0).unwrap(), 1.0);
    /// assert!(points.at(220.0).is_err());
    /// ```
    pub fn new(shown_c: &[f64], reference_c: &[f64], u_delta_c: &[f64], within_delta_c: f64) -> Result<Self> {
        let bad = |argument: &'static str, value: f64, why: String| {
            Error::invalid(
                SENSOR_CORRECTION.id,
                argument,
                (value, "°C"),
                why,
                "Give one reading of the sensor and one of the reference a point, as shown_c and reference_c",
            )
        };
        if shown_c.is_empty() || shown_c.len() != reference_c.len() || shown_c.len() != u_delta_c.len() {
            let why = format!("readings stand beside {} of the reference", reference_c.len());
            return Err(bad("shown_c", shown_c.len() as f64, why));
        }
        for (argument, values) in [("shown_c", shown_c), ("reference_c", reference_c), ("u_delta_c", u_delta_c)] {
            if let Some(&value) = values.iter().find(|value| !value.is_finite()) {
                return Err(bad(argument, value, "is no number".to_owned()));
            }
        }
        if let Some(&u) = u_delta_c.iter().chain([&within_delta_c]).find(|u| !(**u >= 0.0 && u.is_finite())) {
            let argument = if u_delta_c.contains(&u) { "u_delta_c" } else { "within_delta_c" };
            return Err(bad(argument, u, "is negative or no number".to_owned()));
        }
        let mut order: Vec<(f64, f64, f64)> =
            shown_c.iter().zip(reference_c).zip(u_delta_c).map(|((s, r), u)| (*s, r - s, *u)).collect();
        order.sort_by(|a, b| a.0.total_cmp(&b.0));
        if let Some(pair) = order.windows(2).find(|pair| pair.first().map(|p| p.0) == pair.last().map(|p| p.0)) {
            let at = pair.first().map_or(f64::NAN, |point| point.0);
            return Err(bad("shown_c", at, "stands there twice: average the points of one reading first".to_owned()));
        }
        Ok(Self {
            shown_c: order.iter().map(|point| point.0).collect(),
            correction_delta_c: order.iter().map(|point| point.1).collect(),
            u_delta_c: order.iter().map(|point| point.2).collect(),
            within_delta_c,
        })
    }

    fn range(&self) -> (f64, f64) {
        let low = self.shown_c.first().copied().unwrap_or(f64::NAN);
        let high = self.shown_c.last().copied().unwrap_or(f64::NAN);
        (low - self.within_delta_c, high + self.within_delta_c)
    }

    fn place(&self, reading_c: f64) -> Option<Place> {
        let (low, high) = self.range();
        if !(low <= reading_c && reading_c <= high) {
            return None;
        }
        let last = self.shown_c.len().saturating_sub(1);
        let above = self.shown_c.partition_point(|&shown| shown < reading_c).min(last);
        let below = above.saturating_sub(1);
        let (a, b) = (self.shown_c.get(below)?, self.shown_c.get(above)?);
        let weight = if b > a { ((reading_c - a) / (b - a)).clamp(0.0, 1.0) } else { 0.0 };
        Some(Place { below, above, weight })
    }

    fn mix(values: &[f64], place: &Place) -> f64 {
        let of = |index: usize| values.get(index).copied().unwrap_or(f64::NAN);
        of(place.below) * (1.0 - place.weight) + of(place.above) * place.weight
    }

    /// What to add to a reading, in °C.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] beyond the points.
    pub fn at(&self, reading_c: f64) -> Result<f64> {
        check_finite(SENSOR_CORRECTION.id, "reading_c", "°C", reading_c)?;
        if reading_c.is_nan() {
            return Ok(f64::NAN);
        }
        self.place(reading_c).map(|place| Self::mix(&self.correction_delta_c, &place)).ok_or_else(|| {
            let (low, high) = self.range();
            Error::outside(
                SENSOR_CORRECTION.id,
                "reading_c",
                (reading_c, "°C"),
                (low, high),
                "the calibration points",
                "Add a calibration point, or say by within_delta_c= how far the end points hold",
            )
        })
    }

    /// The same with its uncertainty: that of the points by their weights, and between points a part of their
    /// disagreement, which is zero at a point and largest in the middle.
    ///
    /// # Errors
    /// As [`SensorCalibration::at`]; NaN is refused as no reading.
    pub fn estimate(&self, reading_c: f64) -> Result<Estimate> {
        let value = self.at(reading_c)?;
        let Some(place) = self.place(reading_c) else {
            return Err(Error::invalid(
                SENSOR_CORRECTION.id,
                "reading_c",
                (reading_c, "°C"),
                "is no reading",
                "Leave missing readings out",
            ));
        };
        let of = |values: &[f64], index: usize| values.get(index).copied().unwrap_or(f64::NAN);
        let points = ((1.0 - place.weight) * of(&self.u_delta_c, place.below))
            .hypot(place.weight * of(&self.u_delta_c, place.above));
        let apart = of(&self.correction_delta_c, place.above) - of(&self.correction_delta_c, place.below);
        // Half the disagreement as the half width of a flat range in the middle, fading as a parabola.
        let bend = 0.5 * apart.abs() / 3f64.sqrt() * 4.0 * place.weight * (1.0 - place.weight);
        let made = Estimate::new(value, "°C").with("calibration", points).with("between the points", bend);
        let beyond = self.shown_c.first().is_some_and(|&low| reading_c < low)
            || self.shown_c.last().is_some_and(|&high| reading_c > high);
        let made =
            if beyond { made.assuming("the end point holds beyond itself, as within_delta_c said") } else { made };
        Ok(made.assuming("no drift since the calibration"))
    }
}

impl ArrayModel for SensorCalibration {
    fn arguments(&self) -> &[&'static str] {
        &["reading_c"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        let lane = arguments.first().copied().unwrap_or(Lane::One(f64::NAN));
        for (index, out) in out.iter_mut().enumerate() {
            *out = self.place(lane.at(index)).map_or(f64::NAN, |place| Self::mix(&self.correction_delta_c, &place));
        }
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        arguments.first().map_or(Ok(()), |&reading| self.at(reading).map(|_| ()))
    }
}

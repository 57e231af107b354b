//! What is not known when a temper is planned, carried into hardness: product quadrature instead of draws.
//!
//! The flat inputs (places in the oven, sensor, controller, timer, C) go through the curve node by node; the normal
//! ones (curve, batch, reading) are added in closed form. The answer is the limit a Monte Carlo run tends to, the
//! same to the last bit on every machine, and needs no seed.

use crate::curve::{HardnessAfterTemper, HoldSpread};
use crate::error::{Error, Result, Text};
use crate::estimate::{Estimate, Shape, legendre, normal_cdf, normal_quantile, root_sum_of_squares};
use crate::quantity::HoldTime;
use crate::record::{ModelRecord, Origin, Scatter, Source, ValidRange};
use crate::temper::{ConstantBelief, UNKNOWN_STEEL};

/// The record of the spread of a planned temper.
pub static PLAN_SPREAD: ModelRecord = ModelRecord {
    id: "plan.spread",
    gives: "distribution of the hardness that a planned temper gives",
    unit: "HRC",
    formula: "H = curve(T + position + sensor + controller, t + timer, C) + level + batch; position ±5 °C, sensor \
              ±1.5 °C, controller ±1 °C and timer ±3 min a cycle flat, C by belief, level and batch normal",
    ranges: &[ValidRange {
        argument: "time_h",
        unit: "h",
        low: 0.1,
        high: 100.0,
        stated_by: "common practice, no source: no part is held shorter, and no data reach longer",
    }],
    scatter: Scatter::NotStated,
    sources: &[
        Source {
            cite: "the widths of the inputs are assumptions that can each be changed in the call",
            at: "no source",
            origin: Origin::CommonPractice,
        },
        Source {
            cite: "JCGM 101:2008, propagation of distributions",
            at: "by Gauss-Legendre quadrature over the flat inputs and the closed form over the normal ones",
            origin: Origin::Definition,
        },
    ],
    errata: &[],
    not_for: "retained austenite, decarburised skin, parts whose hardening failed: none of them is in this number",
};

/// What is not known about curve, batch, oven and timer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unknowns {
    /// Standard uncertainty of the curve's level; HRC.
    pub u_curve_hrc: f64,
    /// Standard deviation between batches of the steel; HRC.
    pub u_batch_hrc: f64,
    /// Whether the curve's uncertainty has that between batches in it.
    pub batch_in_curve: bool,
    /// How well temperature and time of one cycle are known.
    pub hold: HoldSpread,
}

impl Unknowns {
    /// A curve's own uncertainties, and the usual assumptions about oven and timer.
    #[must_use]
    pub fn of(curve: &dyn HardnessAfterTemper) -> Self {
        Self {
            u_curve_hrc: curve.u_level(),
            u_batch_hrc: curve.u_batch(),
            batch_in_curve: curve.has_batch_in_level(),
            hold: HoldSpread::default(),
        }
    }

    /// The same for a curve that knows some tempers better than others: its uncertainty where it gives this hardness.
    #[must_use]
    pub fn near(curve: &dyn HardnessAfterTemper, hrc: f64, time: HoldTime) -> Self {
        let c = curve.constant().unwrap_or(UNKNOWN_STEEL).middle();
        let there = curve.roots_with(hrc, time, c).ok().and_then(|roots| roots.first().map(|root| root.temperature));
        let u = there.map_or_else(|| curve.u_level(), |temperature| curve.u_level_at(temperature, time, c));
        Self { u_curve_hrc: u, ..Self::of(curve) }
    }

    /// Refuses negative, infinite or missing widths.
    ///
    /// # Errors
    /// [`Error::InvalidValue`].
    pub fn checked(self) -> Result<Self> {
        // Plans call the timer's width otherwise than a curve does.
        if !(self.hold.time_h.is_finite() && self.hold.time_h >= 0.0) {
            return Err(Error::invalid(
                PLAN_SPREAD.id,
                "time_spread_min",
                (60.0 * self.hold.time_h, "min"),
                "is not a half width",
                "Give the half width of a flat distribution: finite, not negative",
            ));
        }
        self.hold.checked()?;
        for (argument, value) in [("u_curve", self.u_curve_hrc), ("u_batch", self.u_batch_hrc)] {
            if !(value >= 0.0 && value.is_finite()) {
                return Err(Error::invalid(
                    PLAN_SPREAD.id,
                    argument,
                    (value, "HRC"),
                    "is not a standard uncertainty",
                    "Give one standard uncertainty in HRC: finite, not negative",
                ));
            }
        }
        Ok(self)
    }

    /// The farthest the steel's temperature can be from the set one.
    #[must_use]
    pub fn reach_delta_c(&self) -> f64 {
        self.hold.position_delta_c + self.hold.sensor_delta_c + self.hold.controller_delta_c
    }

    /// The uncertainties one by one, for the record.
    pub(super) fn inputs(&self) -> Vec<(String, String)> {
        let batch = if self.batch_in_curve {
            "inside the curve's".to_owned()
        } else {
            format!("u = {:.2} HRC", self.u_batch_hrc)
        };
        let mut made =
            vec![("curve".to_owned(), format!("u = {:.2} HRC", self.u_curve_hrc)), ("batches".to_owned(), batch)];
        made.extend(self.hold.inputs());
        made
    }

    /// The widths as a sentence.
    #[must_use]
    pub fn text(&self) -> String {
        let batch = if self.batch_in_curve {
            "batches inside it".to_owned()
        } else {
            format!("batch u = {:.2} HRC", self.u_batch_hrc)
        };
        format!(
            "curve u = {:.2} HRC, {batch}, place in the oven ±{} °C, sensor ±{} °C, controller ±{} °C, \
             time ±{:.0} min a cycle (the ± are flat); assumptions unless you gave them",
            self.u_curve_hrc,
            self.hold.position_delta_c,
            self.hold.sensor_delta_c,
            self.hold.controller_delta_c,
            self.hold.time_h * 60.0
        )
    }
}

/// A flat distribution of this half width, as nodes around zero; one node when it has no width.
fn flat(half_width: f64, count: usize) -> Vec<(f64, f64)> {
    if half_width == 0.0 {
        return vec![(0.0, 1.0)];
    }
    legendre(count).into_iter().map(|(x, weight)| (half_width * x, weight)).collect()
}

/// No temper before, or one that is known: a single node.
pub(super) static KNOWN: [(f64, f64); 1] = [(0.0, 1.0)];

/// A flat distribution of this standard deviation, as five nodes.
pub(super) fn flat_nodes(u: f64) -> Vec<(f64, f64)> {
    flat(u * 3f64.sqrt(), 5)
}

/// A normal distribution of this standard deviation, as seven nodes over its probabilities.
pub(super) fn normal_nodes(u: f64) -> Vec<(f64, f64)> {
    if u == 0.0 {
        return KNOWN.to_vec();
    }
    legendre(7).into_iter().map(|(x, weight)| (u * normal_quantile(0.5 * (1.0 + x)), weight)).collect()
}

/// A belief about C as nodes.
fn constants(c: ConstantBelief, count: usize) -> Vec<(f64, f64)> {
    if c.u() == 0.0 {
        return vec![(c.middle(), 1.0)];
    }
    legendre(count).into_iter().map(|(x, weight)| (c.at(0.5 * (1.0 + x)), weight)).collect()
}

/// How many nodes each input gets.
#[derive(Debug, Clone, Copy)]
pub(super) enum Fineness {
    /// For answers.
    Answer,
    /// For comparing many candidates with one another.
    Search,
}

/// What a temper gives: hardness at nominal inputs, its distribution, and what that is made of.
#[derive(Debug, Clone)]
pub(super) struct Outcome {
    nominal: f64,
    bins: Vec<(f64, f64)>,
    normal_u: f64,
    components: Vec<(&'static str, f64)>,
    skewed: bool,
}

/// How many points the part of the distribution that came through the curve is kept at.
const BINS: usize = 48;

/// Carries the unknowns through `hardness(T in °C, total hours, C, how far the earlier temper was off in °C)`. The
/// normal parts are `(name, u)`.
pub(super) fn outcome(
    hardness: &dyn Fn(f64, f64, f64, f64) -> Result<f64>,
    (temperature_c, time_h, cycles): (f64, f64, u32),
    unknowns: &Unknowns,
    (c, earlier): (ConstantBelief, &[(f64, f64)]),
    normal: &[(&'static str, f64)],
    fineness: Fineness,
) -> Result<Outcome> {
    let total_h = time_h * f64::from(cycles);
    let (places, fine, times, cs) = match fineness {
        Fineness::Answer => (7, 3, 3, 5),
        Fineness::Search => (5, 1, 1, 1),
    };
    let mut offsets = Vec::new();
    for (position, w1) in flat(unknowns.hold.position_delta_c, places) {
        for (sensor, w2) in flat(unknowns.hold.sensor_delta_c, fine) {
            for (controller, w3) in flat(unknowns.hold.controller_delta_c, fine) {
                offsets.push((position + sensor + controller, w1 * w2 * w3));
            }
        }
    }
    // Timer errors of separate cycles are independent, so their sum grows with the root of the count; it stays below the
    // hold, since the error of one cycle does.
    let time_half_h = unknowns.hold.time_h * f64::from(cycles).sqrt();
    let times = flat(time_half_h, times);
    let cs = constants(c, cs);
    let nominal = hardness(temperature_c, total_h, c.middle(), 0.0)?;

    let mut nodes = Vec::with_capacity(offsets.len() * times.len() * cs.len() * earlier.len());
    for &(before, w4) in earlier {
        for &(constant, w3) in &cs {
            for &(late, w2) in &times {
                for &(offset, w1) in &offsets {
                    let made = hardness(temperature_c + offset, total_h + late, constant, before)?;
                    nodes.push((made, w1 * w2 * w3 * w4));
                }
            }
        }
    }
    let alone = |values: Result<Vec<(f64, f64)>>| values.map(|values| deviation(&values));
    let at = hardness;
    let mut components = vec![
        (
            "temperature",
            alone(offsets.iter().map(|&(o, w)| Ok((at(temperature_c + o, total_h, c.middle(), 0.0)?, w))).collect())?,
        ),
        (
            "time",
            alone(times.iter().map(|&(l, w)| Ok((at(temperature_c, total_h + l, c.middle(), 0.0)?, w))).collect())?,
        ),
        ("c", alone(cs.iter().map(|&(k, w)| Ok((at(temperature_c, total_h, k, 0.0)?, w))).collect())?),
        (
            "earlier temper",
            alone(earlier.iter().map(|&(b, w)| Ok((at(temperature_c, total_h, c.middle(), b)?, w))).collect())?,
        ),
    ];
    components.extend_from_slice(normal);
    let normal_u = root_sum_of_squares(normal.iter().map(|(_, u)| *u));
    Ok(Outcome { nominal, bins: binned(&nodes), normal_u, components, skewed: nodes.len() > 1 })
}

/// Values at 200 evenly spaced probabilities, by a table of values and the probabilities to lie below them.
pub(super) fn at_even_probabilities(table: &[(f64, f64)]) -> Vec<f64> {
    const POINTS: usize = 200;
    (0..POINTS)
        .filter_map(|i| {
            let wanted = (i as f64 + 0.5) / POINTS as f64;
            let above = table.partition_point(|&(_, p)| p < wanted);
            match (above.checked_sub(1).and_then(|i| table.get(i)), table.get(above)) {
                (Some(a), Some(b)) if b.1 > a.1 => Some(a.0 + (b.0 - a.0) * (wanted - a.1) / (b.1 - a.1)),
                (_, Some(end)) | (Some(end), None) => Some(end.0),
                (None, None) => None,
            }
        })
        .collect()
}

/// The standard deviation of weighted values.
fn deviation(values: &[(f64, f64)]) -> f64 {
    let mean: f64 = values.iter().map(|(x, w)| x * w).sum();
    values.iter().map(|(x, w)| w * (x - mean) * (x - mean)).sum::<f64>().max(0.0).sqrt()
}

/// The same distribution on evenly spaced points; each weight is split between its two neighbours, which keeps the mean.
fn binned(nodes: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let low = nodes.iter().map(|(x, _)| *x).fold(f64::INFINITY, f64::min);
    let high = nodes.iter().map(|(x, _)| *x).fold(f64::NEG_INFINITY, f64::max);
    if nodes.len() <= BINS || high - low < 1e-9 {
        return nodes.to_vec();
    }
    let step = (high - low) / (BINS - 1) as f64;
    let mut bins: Vec<(f64, f64)> = (0..BINS).map(|i| (low + step * i as f64, 0.0)).collect();
    for &(x, weight) in nodes {
        let place = ((x - low) / step).min((BINS - 1) as f64);
        let below = (place as usize).min(BINS - 2);
        let above = place - below as f64;
        for (index, part) in [(below, 1.0 - above), (below + 1, above)] {
            if let Some(bin) = bins.get_mut(index) {
                bin.1 += weight * part;
            }
        }
    }
    bins
}

impl Outcome {
    /// Hardness at the nominal inputs.
    pub(super) const fn nominal(&self) -> f64 {
        self.nominal
    }

    /// The same without one of the normal parts.
    pub(super) fn without(&self, name: &str) -> Self {
        let part = self.components.iter().find(|(known, _)| *known == name).map_or(0.0, |(_, u)| *u);
        let normal_u = (self.normal_u * self.normal_u - part * part).max(0.0).sqrt();
        let components = self.components.iter().copied().filter(|(known, _)| *known != name).collect();
        Self { normal_u, components, bins: self.bins.clone(), ..*self }
    }

    /// The probability that the hardness is not above `x`.
    pub(super) fn below(&self, x: f64) -> f64 {
        let share = |value: f64| {
            if self.normal_u > 0.0 {
                normal_cdf((x - value) / self.normal_u)
            } else if value <= x {
                1.0
            } else {
                0.0
            }
        };
        self.bins.iter().map(|&(value, weight)| weight * share(value)).sum()
    }

    /// The probability of lying between the limits.
    pub(super) fn inside(&self, low: f64, high: f64) -> f64 {
        (self.below(high) - self.below(low)).clamp(0.0, 1.0)
    }

    /// The hardness as an estimate with its distribution.
    pub(super) fn estimate(&self, unit: impl Into<Text>) -> Estimate {
        let made = Estimate::new(self.nominal, unit);
        let made = self.components.iter().filter(|(_, u)| *u > 0.0).fold(made, |made, (name, u)| made.with(*name, *u));
        if self.skewed { made.shaped(Shape::Quantiles(self.quantiles())) } else { made }
    }

    /// Values at evenly spaced probabilities, by inverting the distribution function on a grid.
    fn quantiles(&self) -> Vec<f64> {
        const GRID: usize = 240;
        let ends =
            self.bins.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &(x, _)| (low.min(x), high.max(x)));
        let (low, high) = (ends.0 - 4.5 * self.normal_u - 1e-9, ends.1 + 4.5 * self.normal_u + 1e-9);
        let step = (high - low) / GRID as f64;
        let table: Vec<(f64, f64)> = (0..=GRID).map(|i| low + step * i as f64).map(|x| (x, self.below(x))).collect();
        at_even_probabilities(&table)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A straight line: every part is known in closed form (half width / √3, slope times it).
    #[test]
    fn straight_line_in_closed_form() {
        let line = |t: f64, _: f64, _: f64, _: f64| Ok(70.0 - 0.05 * t);
        let unknowns =
            Unknowns { u_curve_hrc: 0.5, u_batch_hrc: 0.5, batch_in_curve: false, hold: HoldSpread::default() };
        let normal = [("curve", 0.5), ("batch", 0.5)];
        let c = (ConstantBelief::Fixed(20.0), &KNOWN[..]);
        let made = outcome(&line, (200.0, 2.0, 1), &unknowns, c, &normal, Fineness::Answer).unwrap();
        let temperature = 0.05 * ((25.0 + 2.25 + 1.0) / 3.0f64).sqrt();
        assert!((made.components[0].1 - temperature).abs() < 1e-12);
        assert!((made.estimate("HRC").u() - (0.5f64 + temperature * temperature).sqrt()).abs() < 1e-12);
        assert!((made.below(60.0) - 0.5).abs() < 1e-9);
    }
}

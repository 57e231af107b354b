//! Which temperature would really give a hardness: what is not known of the hardness, seen along the curve.

use super::spread::{at_even_probabilities, normal_nodes};
use crate::error::Result;
use crate::estimate::{Estimate, Shape};

/// Half the step over which the slope is taken, °C: wide enough that a table's corner does not decide it.
const HALF_STEP_DELTA_C: f64 = 5.0;

/// How far the curve is followed to either side, in such steps; beyond it goes on straight.
const STEPS: u32 = 12;

/// A curve flatter than this names no temperature, HRC/°C.
const FLAT: f64 = 1e-3;

/// Nor does one whose slope is known no better than this share of it.
const LEAST_KNOWN: f64 = 0.4;

/// What is not known of a curve's slope, and the stretch of it that the hardness rests on.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct SlopeDoubt {
    /// One standard uncertainty, HRC/°C.
    pub(super) u: f64,
    /// From where the part is known to where it goes, °C.
    pub(super) stretch_delta_c: f64,
}

/// The set temperature that would really give the hardness that `hardness` gives at `temperature_c` as far as is known:
/// the hardness's distribution seen along the curve, bend and all. A part that comes out harder needs a hotter oven on a falling
/// curve. `spread` is the hardness without what the slope leaves open, `whole` with it.
pub(super) fn needed_temperature(
    (spread, whole): (&Estimate, &Estimate),
    temperature_c: f64,
    hardness: &dyn Fn(f64) -> Result<f64>,
    doubt: SlopeDoubt,
) -> Option<Estimate> {
    let here = hardness(temperature_c).ok()?;
    let beside = |by: f64| hardness(temperature_c + by).ok().map(|there| (there - here) / by);
    // At an end of the curve there is one side only.
    let slope = match (beside(-HALF_STEP_DELTA_C), beside(HALF_STEP_DELTA_C)) {
        (Some(below), Some(above)) => 0.5 * (below + above),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => return None,
    };
    if slope.is_nan() || slope.abs() < FLAT || doubt.u > LEAST_KNOWN * slope.abs() {
        return None;
    }
    let made = whole
        .components()
        .iter()
        .fold(Estimate::new(temperature_c, "°C"), |made, part| made.with(part.name.clone(), part.u / slope.abs()))
        .assuming_all(whole)
        .assuming(format!("the hardness interval seen along the curve, {slope:.3} HRC/°C there"));
    let deviations: Vec<f64> = match spread.shape() {
        Shape::Quantiles(values) => values.iter().map(|value| value - spread.value()).collect(),
        _ => normal_nodes(spread.u()).into_iter().map(|(deviation, _)| deviation).collect(),
    };
    let curve = Along::of(&|by| hardness(temperature_c + by).map(|there| there - here), slope);
    let mut places = Vec::new();
    for (off, weight) in normal_nodes(doubt.u) {
        let along = off * doubt.stretch_delta_c;
        places
            .extend(deviations.iter().map(|other| (temperature_c + curve.to_change_by(-(other + along), off), weight)));
    }
    Some(made.shaped(Shape::Quantiles(quantiles(places))))
}

/// A curve from a temperature on, to either side, as far as it keeps falling or rising.
struct Along {
    slope: f64,
    /// Degrees and change of hardness, from the temperature outwards: where the hardness falls, where it rises.
    falling: Vec<(f64, f64)>,
    rising: Vec<(f64, f64)>,
}

impl Along {
    fn of(change: &dyn Fn(f64) -> Result<f64>, slope: f64) -> Self {
        let side = |sign: f64| {
            let way = sign * slope.signum();
            let mut found = vec![(0.0, 0.0)];
            for step in 1..=STEPS {
                let by = sign * HALF_STEP_DELTA_C * f64::from(step);
                match (change(by), found.last()) {
                    (Ok(there), Some(&(_, before))) if way * (there - before) > 0.0 => found.push((by, there)),
                    _ => break,
                }
            }
            found
        };
        Self { slope, falling: side(-slope.signum()), rising: side(slope.signum()) }
    }

    /// Degrees that change the hardness by so much, were the slope off by `off` all along.
    fn to_change_by(&self, hrc: f64, off: f64) -> f64 {
        let side = if hrc < 0.0 { &self.falling } else { &self.rising };
        let mut pieces = side.iter().zip(side.iter().skip(1)).map(|(&begin, &end)| Piece::between(begin, end, off));
        let last = pieces.clone().next_back();
        match pieces.find(|piece| piece.end.abs() >= hrc.abs()).or(last) {
            // The last piece goes on straight. One so flat, with the slope off, that it leads nowhere is passed over.
            Some(piece) if piece.slope * self.slope > 0.0 => piece.by + (hrc - piece.begin) / piece.slope,
            _ => hrc / (self.slope + off),
        }
    }
}

/// A straight piece of a curve: degrees where it begins, changes of hardness where it begins and ends, and its slope.
struct Piece {
    by: f64,
    begin: f64,
    end: f64,
    slope: f64,
}

impl Piece {
    fn between((by, begin): (f64, f64), (until, end): (f64, f64), off: f64) -> Self {
        Self { by, begin: begin + off * by, end: end + off * until, slope: (end - begin) / (until - by) + off }
    }
}

/// Values at evenly spaced probabilities of weighted places.
fn quantiles(mut places: Vec<(f64, f64)>) -> Vec<f64> {
    places.sort_by(|a, b| a.0.total_cmp(&b.0));
    let whole: f64 = places.iter().map(|(_, weight)| weight).sum();
    // Each place stands for the middle of its weight.
    let mut below = 0.0;
    for (_, weight) in &mut places {
        let own = *weight / whole;
        below += own;
        *weight = below - 0.5 * own;
    }
    at_even_probabilities(&places)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn evenly(u: f64) -> Estimate {
        let values = (0..200).map(|i| 60.0 + u * crate::estimate::normal_quantile((f64::from(i) + 0.5) / 200.0));
        Estimate::new(60.0, "HRC").with("curve", u).shaped(Shape::Quantiles(values.collect()))
    }

    /// By hand: 0.5 HRC on a line of −0.05 HRC/°C are 10 °C.
    #[test]
    fn a_straight_line() {
        let hrc = evenly(0.5);
        let line = |t: f64| Ok(70.0 - 0.05 * t);
        let made = needed_temperature((&hrc, &hrc), 200.0, &line, SlopeDoubt::default()).unwrap();
        assert!((made.u() - 10.0).abs() < 1e-9);
        let (low, high) = made.interval(0.95).unwrap();
        assert!((low - (200.0 - 19.6)).abs() < 0.1 && (high - (200.0 + 19.6)).abs() < 0.1, "{low} {high}");
        assert!(needed_temperature((&hrc, &hrc), 200.0, &|_| Ok(60.0), SlopeDoubt::default()).is_none());
    }

    /// By hand: −0.05 HRC/°C that flattens by 0.0005 a degree, x° on: −0.05 x + 0.00025 x² is −0.98 at 22.0 and 0.98 at −18.0.
    #[test]
    fn a_curve_that_bends() {
        let hrc = evenly(0.5);
        let bent = |t: f64| Ok(60.0 - 0.05 * (t - 200.0) + 0.000_25 * (t - 200.0) * (t - 200.0));
        let made = needed_temperature((&hrc, &hrc), 200.0, &bent, SlopeDoubt::default()).unwrap();
        let (low, high) = made.interval(0.95).unwrap();
        assert!((low - 182.0).abs() < 0.3 && (high - 222.0).abs() < 0.3, "{low} {high}");
    }

    /// By hand: nothing but the slope is in doubt, −0.05 ± 0.01 HRC/°C over 20 °C: at two standard uncertainties the line
    /// of −0.03 needs 0.4/0.03 = 13.3 °C more, that of −0.07 takes 0.4/0.07 = 5.7 °C less.
    #[test]
    fn a_doubtful_slope_is_skewed() {
        let (exact, whole) = (evenly(1e-9), evenly(0.2));
        let line = |t: f64| Ok(70.0 - 0.05 * t);
        let doubt = SlopeDoubt { u: 0.01, stretch_delta_c: 20.0 };
        let made = needed_temperature((&exact, &whole), 200.0, &line, doubt).unwrap();
        let (low, high) = made.interval(0.954_5).unwrap();
        assert!((high - 213.3).abs() < 1.5 && (low - 194.3).abs() < 1.0, "{low} {high}");
        let unknown = SlopeDoubt { u: 0.03, stretch_delta_c: 20.0 };
        assert!(needed_temperature((&exact, &whole), 200.0, &line, unknown).is_none());
    }
}

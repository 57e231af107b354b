//! A master curve for a steel measured at several holds: one curve over the parameter, and what the rows say of C.

use super::after_temper::HardnessAfterTemper;
use super::tempering::TemperingCurve;
use crate::error::{Error, Result};
use crate::estimate::student_quantile;
use crate::quantity::{HoldTime, Temperature, ZERO_CELSIUS_K};
use crate::record::{ModelRecord, Origin, Scatter, Source, ValidRange};
use crate::temper::{ConstantBelief, TEMPER_PARAMETER, TWO_HOURS};

/// The record of the fit.
pub static MASTER_CURVE: ModelRecord = ModelRecord {
    id: "curve.master",
    gives: "one tempering curve through tempers of several holds, and the range of C that they allow",
    unit: "HRC",
    formula: "H = f(T (C + log10 t)), f monotone: least squares on knots, pooled where they rise; C by least residual over \
              10 to 25, its interval where the residual sum grows by less than t²(0.95)/dof; below 20 HRC rows shape f only",
    ranges: &[ValidRange {
        argument: "hrc",
        unit: "HRC",
        low: 20.0,
        high: 70.0,
        stated_by: "the lower end of the Rockwell C scale",
    }],
    scatter: Scatter::Known {
        u: 1.2,
        unit: "HRC",
        found: "residual standard deviations of the measured steels shipped here lie around this; each curve states its own",
    },
    sources: &[
        TEMPER_PARAMETER.sources[0],
        Source {
            cite: "least squares with a profile interval: textbook statistics; pooling of neighbours that violate the order",
            at: "no single source",
            origin: Origin::FromData,
        },
    ],
    errata: &[],
    not_for: "steels with secondary hardening: f only falls",
};

/// One measured temper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeasuredTemper {
    /// Temperature of the hold.
    pub temperature: Temperature,
    /// Time of the hold.
    pub time: HoldTime,
    /// Hardness after it.
    pub hrc: f64,
}

/// A master curve and what was found on the way.
#[derive(Debug, Clone, PartialEq)]
pub struct MasterFit {
    /// The curve, at two hours where the rows straddle that.
    pub curve: TemperingCurve,
    /// The best C of the rows and the 95 % interval of it; `None` where they do not determine it.
    pub constant: Option<(f64, (f64, f64))>,
    /// Residual standard deviation of the rows from 20 HRC up.
    pub scatter: f64,
    /// Degrees of freedom of that.
    pub degrees_of_freedom: f64,
    /// Rows scored: those from 20 HRC up.
    pub scored: usize,
}

/// Softest hardness that is scored, HRC.
const SCORED_FROM: f64 = 20.0;

/// The values of C that are tried.
const TRIED: (f64, f64) = (10.0, 25.0);

/// Widest interval of C that still counts as determined: the range for an unknown steel is 5 wide.
const WIDEST: f64 = 8.0;

/// Fits rows of several holds; where they do not determine C, `prior` is used.
///
/// # Errors
/// [`Error::NotDetermined`] for rows of a single hold or fewer than eight of them; errors of [`TemperingCurve::new`].
pub fn fit_master(name: &str, rows: &[MeasuredTemper], prior: ConstantBelief) -> Result<MasterFit> {
    let scored = rows.iter().filter(|row| row.hrc >= SCORED_FROM).count();
    let (shortest, longest) = rows
        .iter()
        .map(|row| row.time.hours())
        .fold((f64::INFINITY, 0.0f64), |(low, high), t| (low.min(t), high.max(t)));
    if scored < 8 || longest < 1.5 * shortest {
        return Err(Error::NotDetermined {
            what: format!("a master curve of {name}").into(),
            why: format!("{scored} rows from {SCORED_FROM} HRC up, holds from {shortest:.2} to {longest:.2} h").into(),
            would_determine: "eight tempers or more with holds that differ by more than half".into(),
        });
    }
    let sum = |c: f64| Shape::fitted(rows, c).map_or(f64::INFINITY, |shape| shape.residual_sum(rows, c));
    let steps = 150;
    let tried: Vec<(f64, f64)> = (0..=steps)
        .map(|step| TRIED.0 + (TRIED.1 - TRIED.0) * f64::from(step) / f64::from(steps))
        .map(|c| (c, sum(c)))
        .collect();
    let (best, least) =
        tried.iter().copied().fold((f64::NAN, f64::INFINITY), |least, new| if new.1 < least.1 { new } else { least });
    let knots = knot_count(rows);
    let degrees_of_freedom = (scored as f64 - knots as f64 - 1.0).max(1.0);
    let t = student_quantile(0.975, degrees_of_freedom);
    let allowed = least * (1.0 + t * t / degrees_of_freedom);
    let inside: Vec<f64> = tried.iter().filter(|(_, sum)| *sum <= allowed).map(|(c, _)| *c).collect();
    let interval = (inside.first().copied().unwrap_or(best), inside.last().copied().unwrap_or(best));
    let determined = interval.0 > TRIED.0 && interval.1 < TRIED.1 && interval.1 - interval.0 <= WIDEST;
    let belief = if determined {
        ConstantBelief::Normal { c: best, u: (0.25 * (interval.1 - interval.0)).max(0.1) }
    } else {
        prior
    };
    let hold = if shortest <= TWO_HOURS.hours() && TWO_HOURS.hours() <= longest {
        TWO_HOURS
    } else {
        HoldTime::from_hours((shortest * longest).sqrt())
    };
    let c = belief.middle();
    let bare = Shape::fitted(rows, c).and_then(|shape| shape.curve(rows, name, hold, c)).ok_or_else(|| {
        Error::NotDetermined {
            what: format!("a master curve of {name}").into(),
            why: "the rows leave no falling curve".into(),
            would_determine: "tempers over a wider range of temperature".into(),
        }
    })?;
    let residuals: Vec<f64> = rows
        .iter()
        .filter(|row| row.hrc >= SCORED_FROM)
        .filter_map(|row| Some(row.hrc - bare.hardness_with(row.temperature, row.time, c).ok()?))
        .collect();
    let squares: f64 = residuals.iter().map(|residual| residual * residual).sum();
    let scatter = (squares / degrees_of_freedom).sqrt();
    let found = format!(
        "residual standard deviation of {} measured rows about their own curve, {degrees_of_freedom:.0} degrees of freedom",
        residuals.len()
    );
    let curve = bare.with_u_level(scatter.max(0.3), found)?.with_constant(belief)?;
    Ok(MasterFit { curve, constant: determined.then_some((best, interval)), scatter, degrees_of_freedom, scored })
}

fn knot_count(rows: &[MeasuredTemper]) -> usize {
    (rows.len() / 5).clamp(3, 8)
}

fn parameter(row: &MeasuredTemper, c: f64) -> f64 {
    row.temperature.kelvin() * (c + row.time.hours().log10())
}

/// A falling broken line over the parameter.
struct Shape {
    knots: Vec<f64>,
    values: Vec<f64>,
}

impl Shape {
    fn fitted(rows: &[MeasuredTemper], c: f64) -> Option<Self> {
        let mut sorted: Vec<(f64, f64)> = rows.iter().map(|row| (parameter(row, c), row.hrc)).collect();
        sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut distinct: Vec<f64> = sorted.iter().map(|(m, _)| *m).collect();
        distinct.dedup();
        let count = knot_count(rows).min(distinct.len());
        // Knots lie on rows, spread evenly among them: every hat function then has a row of its own.
        let knots: Vec<f64> =
            (0..count).filter_map(|k| distinct.get(k * (distinct.len() - 1) / (count - 1).max(1)).copied()).collect();
        let mut system = Tridiagonal::new(count);
        for &(m, hrc) in &sorted {
            let (index, share) = place(&knots, m)?;
            system.add(index, share, hrc);
        }
        let values = falling(&system.solve()?, &system.weights);
        Some(Self { knots, values })
    }

    fn at(&self, m: f64) -> f64 {
        let Some((index, share)) = place(&self.knots, m) else { return f64::NAN };
        match (self.values.get(index), self.values.get(index + 1)) {
            (Some(a), Some(b)) => a + share * (b - a),
            _ => f64::NAN,
        }
    }

    fn residual_sum(&self, rows: &[MeasuredTemper], c: f64) -> f64 {
        rows.iter().filter(|row| row.hrc >= SCORED_FROM).map(|row| (row.hrc - self.at(parameter(row, c))).powi(2)).sum()
    }

    /// The shape as a table at a hold; not beyond the hottest temperature measured, where the steel would transform.
    fn curve(&self, rows: &[MeasuredTemper], name: &str, hold: HoldTime, c: f64) -> Option<TemperingCurve> {
        let hottest = rows.iter().map(|row| row.temperature.celsius()).fold(f64::NEG_INFINITY, f64::max);
        let celsius = |m: f64| m / (c + hold.hours().log10()) - ZERO_CELSIUS_K;
        let last = (hottest + ZERO_CELSIUS_K) * (c + hold.hours().log10());
        let mut points: Vec<(f64, f64)> = self
            .knots
            .iter()
            .zip(&self.values)
            .map(|(m, hrc)| (celsius(*m), *hrc))
            .filter(|(celsius, _)| *celsius < hottest - 1.0)
            .collect();
        if self.knots.last().is_some_and(|knot| *knot >= last) {
            points.push((hottest, self.at(last)));
        }
        let (x, y): (Vec<f64>, Vec<f64>) = points.into_iter().map(|(x, y)| (x, y.clamp(0.0, 70.0))).unzip();
        TemperingCurve::new(&x, &y).ok()?.named(name).held(hold).ok()
    }
}

/// The interval of a value between knots, and how far along it lies.
fn place(knots: &[f64], m: f64) -> Option<(usize, f64)> {
    let above = knots.partition_point(|&knot| knot <= m).clamp(1, knots.len().checked_sub(1)?);
    let (low, high) = (*knots.get(above - 1)?, *knots.get(above)?);
    Some((above - 1, ((m - low) / (high - low)).clamp(0.0, 1.0)))
}

/// Normal equations of hat functions.
struct Tridiagonal {
    diagonal: Vec<f64>,
    beside: Vec<f64>,
    right: Vec<f64>,
    weights: Vec<f64>,
}

impl Tridiagonal {
    fn new(count: usize) -> Self {
        // A trace on the diagonal: a knot with nothing but its own row stays solvable.
        Self {
            diagonal: vec![1e-9; count],
            beside: vec![0.0; count],
            right: vec![0.0; count],
            weights: vec![0.0; count],
        }
    }

    fn add(&mut self, index: usize, share: f64, value: f64) {
        for (at, part) in [(index, 1.0 - share), (index + 1, share)] {
            for (list, amount) in
                [(&mut self.diagonal, part * part), (&mut self.right, part * value), (&mut self.weights, part)]
            {
                if let Some(entry) = list.get_mut(at) {
                    *entry += amount;
                }
            }
        }
        if let Some(entry) = self.beside.get_mut(index) {
            *entry += share * (1.0 - share);
        }
    }

    /// Elimination and back substitution for a symmetric tridiagonal system.
    fn solve(&self) -> Option<Vec<f64>> {
        let count = self.diagonal.len();
        let (mut pivots, mut sides) = (Vec::with_capacity(count), Vec::with_capacity(count));
        for index in 0..count {
            let above = index.checked_sub(1);
            let factor = above.map_or(0.0, |i| self.beside[i] / pivots[i]);
            let (pivot, side): (f64, f64) = (
                self.diagonal.get(index)? - above.map_or(0.0, |i| factor * self.beside[i]),
                self.right.get(index)? - above.map_or(0.0, |i| factor * sides[i]),
            );
            pivots.push(pivot);
            sides.push(side);
        }
        let mut values = vec![0.0; count];
        for index in (0..count).rev() {
            let after = values.get(index + 1).copied().unwrap_or(0.0);
            let value = (sides.get(index)? - self.beside.get(index)? * after) / pivots.get(index)?;
            *values.get_mut(index)? = value;
        }
        values.iter().all(|value| value.is_finite()).then_some(values)
    }
}

/// The nearest falling sequence: neighbours that rise are pooled into their weighted mean.
fn falling(values: &[f64], weights: &[f64]) -> Vec<f64> {
    let mut pools: Vec<(f64, f64, usize)> = Vec::new();
    for (&value, &weight) in values.iter().zip(weights) {
        pools.push((value, weight.max(1e-9), 1));
        while let [.., before, last] = pools.as_slice() {
            if last.0 <= before.0 {
                break;
            }
            let weight = before.1 + last.1;
            let pooled = ((before.0 * before.1 + last.0 * last.1) / weight, weight, before.2 + last.2);
            pools.truncate(pools.len() - 2);
            pools.push(pooled);
        }
    }
    pools.into_iter().flat_map(|(value, _, count)| std::iter::repeat_n(value, count)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows made with C = 18 and a straight line give that back.
    #[test]
    fn finds_the_constant_behind_made_up_rows() {
        let rows: Vec<MeasuredTemper> = [0.25, 1.0, 4.0, 24.0]
            .iter()
            .flat_map(|&hours| (0..9).map(move |i| (hours, 200.0 + 50.0 * f64::from(i))))
            .map(|(hours, celsius)| {
                let m = (celsius + ZERO_CELSIUS_K) * (18.0 + f64::log10(hours));
                let wobble = 0.05 * (celsius * 7.3 + hours).sin();
                MeasuredTemper {
                    temperature: Temperature::from_celsius(celsius),
                    time: HoldTime::from_hours(hours),
                    hrc: 60.0 - 0.004 * (m - 8600.0) + wobble,
                }
            })
            .collect();
        let fit = fit_master("made up", &rows, crate::temper::UNKNOWN_STEEL).unwrap();
        let (c, (low, high)) = fit.constant.unwrap();
        assert!((c - 18.0).abs() < 0.3 && low <= 18.0 && 18.0 <= high, "{c} {low} {high}");
        assert!(fit.scatter < 0.2, "{}", fit.scatter);
    }

    #[test]
    fn one_hold_says_nothing() {
        let row = MeasuredTemper { temperature: Temperature::from_celsius(300.0), time: TWO_HOURS, hrc: 55.0 };
        assert!(matches!(
            fit_master("one hold", &[row; 12], crate::temper::UNKNOWN_STEEL).unwrap_err(),
            Error::NotDetermined { .. }
        ));
    }
}

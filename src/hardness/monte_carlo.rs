//! Readings carried through by draws (JCGM 101): Student's t for what was repeated, flat and normal for the rest, the
//! conversion as the table has it and not as its slope.

use std::sync::OnceLock;

use super::conversion::{Bracketed, Conversion};
use super::readings::{READINGS, Readings};
use super::scale::ScaleName;
use super::spread::{Drawn, Spread};
use crate::error::{Error, Result};
use crate::estimate::{Draws, Estimate, Shape, normal_cdf, normal_quantile, student_cdf};
use crate::kernel::in_parts;

/// Cells of a table of quantiles; a draw has three bits more, which go along the cell.
const CELLS: usize = 1 << 13;

/// Bins the draws are counted in, over this many standard uncertainties on either side.
const BINS: usize = 1 << 13;
const REACH: f64 = 12.0;

/// Values at evenly spaced probabilities, kept of the result.
const KEPT: usize = 1000;

/// Values at evenly spaced probabilities; the outermost stand for half a cell.
type Quantiles = Vec<f64>;

fn probability(index: usize) -> f64 {
    (index as f64).clamp(0.5, CELLS as f64 - 0.5) / CELLS as f64
}

/// The standard normal distribution, made once.
fn normal() -> &'static Quantiles {
    static TABLE: OnceLock<Quantiles> = OnceLock::new();
    TABLE.get_or_init(|| (0..=CELLS).map(|index| normal_quantile(probability(index))).collect())
}

impl Drawn {
    fn table(self) -> Quantiles {
        match self {
            Self::Normal { u } => scaled(normal(), u),
            Self::Flat { half_width } => flat(half_width),
            Self::Student { dof, by } => student(dof, by),
            Self::Bounded { ratios, by } => {
                let below =
                    |t: f64| ratios.iter().map(|ratio| normal_cdf(t * ratio)).sum::<f64>() / ratios.len() as f64;
                inverted(below, by)
            }
        }
    }
}

fn scaled(table: &Quantiles, by: f64) -> Quantiles {
    table.iter().map(|z| z * by).collect()
}

fn flat(half_width: f64) -> Quantiles {
    (0..=CELLS).map(|index| half_width * (2.0 * index as f64 / CELLS as f64 - 1.0)).collect()
}

/// Student's distribution times `by`.
fn student(dof: f64, by: f64) -> Quantiles {
    inverted(|t| student_cdf(t, dof), by)
}

/// A distribution that is even about zero, times `by`, by inverting it on a grid that opens towards the tails. Between
/// grid points t is read against the normal value of the same probability, where it is nearly straight.
fn inverted(below: impl Fn(f64) -> f64, by: f64) -> Quantiles {
    const GRID: u32 = 400;
    let grid: Vec<(f64, f64)> = (0..=GRID)
        .map(|step| -(9.5 * f64::from(step) / f64::from(GRID)).sinh())
        .map(|t| (normal_quantile(below(t)), t))
        .take_while(|(z, _)| *z > -6.0)
        .collect();
    let below = |z: f64| {
        let after = grid.partition_point(|&(known, _)| known > z).clamp(1, grid.len() - 1);
        let (a, b) = (grid[after - 1], grid[after]);
        a.1 + (b.1 - a.1) * (z - a.0) / (b.0 - a.0)
    };
    normal().iter().map(|&z| by * if z < 0.0 { below(z) } else { -below(-z) }).collect()
}

/// What each draw adds: a quantile table for each part.
struct Parts {
    how: String,
    before: Vec<Quantiles>,
    after: Option<(Vec<f64>, f64, f64, Quantiles)>,
}

impl Readings {
    /// The hardness of the part by draws, as [`Readings::estimate`] gives it by the law of propagation: the same parts,
    /// with the distribution that they make together.
    ///
    /// # Errors
    /// As [`Readings::estimate`]; [`Error::InvalidValue`] for fewer than a thousand draws or more than a billion.
    pub fn monte_carlo(
        &self,
        scale: Option<&str>,
        table: &str,
        u_conversion: Option<f64>,
        draws: usize,
        seed: u64,
    ) -> Result<Estimate> {
        if !(1_000..=1_000_000_000).contains(&draws) {
            return Err(Error::invalid(
                READINGS.id,
                "draws",
                (draws as f64, ""),
                "is no number of draws",
                "A million settle a chance to 0.001",
            ));
        }
        let own = self.estimate(None, table, None)?;
        let made = self.estimate(scale, table, u_conversion)?;
        let parts = self.parts(&own, scale, table, u_conversion)?;
        let (low, width) = (made.value() - REACH * made.u(), 2.0 * REACH * made.u() / BINS as f64);
        let first = Draws::new(seed, 0);
        let second = Draws::new(seed, 1);
        let counted = in_parts(draws, 1 << 12, |range| {
            let mut bins = vec![0u32; BINS];
            for index in range {
                let mut value = own.value();
                let bits = first.bits(index as u64);
                for (place, quantiles) in parts.before.iter().enumerate() {
                    value += drawn(quantiles, bits >> (16 * place));
                }
                if let Some((knots, start, step, spread)) = &parts.after {
                    value = read(knots, (value - start) / step) + drawn(spread, second.bits(index as u64));
                }
                let bin = (((value - low) / width).max(0.0) as usize).min(BINS - 1);
                bins[bin] += 1;
            }
            bins
        });
        let mut bins = vec![0u64; BINS];
        for part in counted {
            bins.iter_mut().zip(part).for_each(|(all, one)| *all += u64::from(one));
        }
        Ok(made
            .shaped(Shape::Quantiles(quantiles(&bins, draws, low, width)))
            .assuming(parts.how)
            .assuming(format!("by {draws} draws after JCGM 101, seed {seed}")))
    }

    /// The distributions behind the components of the readings' own estimate.
    fn parts(&self, own: &Estimate, scale: Option<&str>, table: &str, u_conversion: Option<f64>) -> Result<Parts> {
        let component = |name: &str| own.components().iter().find(|part| part.name == name).map_or(0.0, |part| part.u);
        let Spread { repeated, tester, how } = self.spread(own)?;
        let (repeated, tester) = (repeated.table(), tester.table());
        let normal_u = match self.tester() {
            Some(known) if known.between.is_none() => {
                component("curvature").hypot(0.5 * known.block_expanded_uncertainty_k2)
            }
            _ => component("curvature"),
        };
        let resolution = flat(component("resolution") * 3f64.sqrt());
        let before = vec![repeated, tester, scaled(normal(), normal_u), resolution];
        let from = ScaleName::parse(self.scale())?;
        let after = match scale {
            Some(to) if ScaleName::parse(to)?.scale != from.scale => {
                let link = Conversion::new(self.scale(), to, table, Bracketed::Use)?;
                let through = link.estimate(&Estimate::new(own.value(), own.unit().to_owned()), u_conversion)?;
                let (knots, start, step) = knots(&link, own)?;
                Some((knots, start, step, scaled(normal(), through.u())))
            }
            _ => None,
        };
        Ok(Parts { before, after, how })
    }
}

/// The table's conversion at even steps around a value; past the table's end straight on.
fn knots(link: &Conversion, own: &Estimate) -> Result<(Vec<f64>, f64, f64)> {
    const STEPS: usize = 256;
    let start = own.value() - REACH * own.u();
    let step = 2.0 * REACH * own.u() / STEPS as f64;
    let middle = link.convert(own.value())?;
    let slope = link.slope(own.value());
    let at = |index: usize| {
        let value = start + step * index as f64;
        link.convert(value).unwrap_or(middle + slope * (value - own.value()))
    };
    Ok(((0..=STEPS).map(at).collect(), start, step))
}

/// A straight line between values at whole places; the ends go on.
fn read(knots: &[f64], place: f64) -> f64 {
    let below = (place.max(0.0) as usize).min(knots.len() - 2);
    knots[below] + (knots[below + 1] - knots[below]) * (place - below as f64)
}

/// The value at 16 bits of probability.
fn drawn(quantiles: &[f64], bits: u64) -> f64 {
    let cell = (bits >> 3) as usize & (CELLS - 1);
    let along = ((bits & 7) as f64 + 0.5) / 8.0;
    quantiles[cell] + (quantiles[cell + 1] - quantiles[cell]) * along
}

/// Values at evenly spaced probabilities of what was counted.
fn quantiles(bins: &[u64], draws: usize, low: f64, width: f64) -> Vec<f64> {
    let mut made = Vec::with_capacity(KEPT);
    let (mut bin, mut before) = (0, 0);
    for index in 0..KEPT {
        let wanted = (index as f64 + 0.5) / KEPT as f64 * draws as f64;
        while bin + 1 < bins.len() && ((before + bins[bin]) as f64) < wanted {
            before += bins[bin];
            bin += 1;
        }
        let along = (wanted - before as f64) / (bins[bin].max(1) as f64);
        made.push(low + width * (bin as f64 + along));
    }
    made
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::estimate::student_quantile;

    /// The tables against the exact distribution, tails included.
    #[test]
    fn tables_are_the_distributions() {
        for dof in [1.0, 2.0, 4.0, 9.0, 100.0] {
            let table = student(dof, 1.0);
            for index in [1, 4, 80, 1000, 4096, 7000, 8191] {
                let exact = student_quantile(probability(index), dof);
                assert!(
                    (table[index] - exact).abs() < 2e-3 * (1.0 + exact.abs()),
                    "{dof} {index}: {} {exact}",
                    table[index]
                );
            }
        }
    }
}

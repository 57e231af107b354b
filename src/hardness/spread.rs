//! How wide readings scatter, as far as they and what is known of their tester say, for draws.
//!
//! A few readings alone say next to nothing of their scatter: Student's t with one degree of freedom is thirteen standard
//! deviations wide, wider than the answer of a single reading, whose scatter is taken from the standard. What is known of
//! the tester is known with two readings too.

use super::readings::Readings;
use super::scale::ScaleName;
use super::tester::{Tester, mean_and_sd, spread_without_readings};
use crate::error::Result;
use crate::estimate::{Estimate, chi_square_cdf, chi_square_quantile, fisher_cdf};

/// One part of what a draw adds.
pub(super) enum Drawn {
    Normal {
        u: f64,
    },
    Flat {
        half_width: f64,
    },
    Student {
        dof: f64,
        by: f64,
    },
    /// Normal with each of these ratios of `by` to its standard deviation, all equally likely.
    Bounded {
        ratios: Vec<f64>,
        by: f64,
    },
}

/// What the readings and their tester scatter, and how that is known.
pub(super) struct Spread {
    pub(super) repeated: Drawn,
    pub(super) tester: Drawn,
    pub(super) how: String,
}

/// Standard deviations of a bounded scatter.
const COUNT: usize = 64;

/// A part that scatters more than its block does, this seldom by chance, is uneven itself: the block says nothing of it.
const UNEVEN_AT: f64 = 0.01;

impl Readings {
    /// The scatter behind the components "repeatability" and "tester" of the readings' own estimate.
    pub(super) fn spread(&self, own: &Estimate) -> Result<Spread> {
        let component = |name: &str| own.components().iter().find(|part| part.name == name).map_or(0.0, |part| part.u);
        let believed = self.believed();
        let (n, (mean, sd)) = (believed.len() as f64, mean_and_sd(&believed));
        // A block that was read once says nothing of the scatter either.
        let Some((known, block_dof)) = self.tester().and_then(|known| Some((known, dof_of(known)?))) else {
            let scale = ScaleName::parse(self.scale())?.scale;
            let (repeated, how) = bounded(n, sd, spread_without_readings(scale, mean));
            let tester = self.tester().map_or_else(
                || Drawn::Flat { half_width: component("tester") * 3f64.sqrt() },
                |known| Drawn::Normal { u: without_block(known) },
            );
            let repeated = repeated.unwrap_or(Drawn::Normal { u: component("repeatability") });
            return Ok(Spread { repeated, tester, how });
        };
        let of_block = known.readings as f64;
        let uneven = sd > 0.0 && fisher_cdf((sd / known.repeatability).powi(2), n - 1.0, block_dof) > 1.0 - UNEVEN_AT;
        if uneven {
            let tester = if known.between.is_some() {
                Drawn::Normal { u: known.bias.u() }
            } else {
                Drawn::Student { dof: block_dof, by: known.repeatability / of_block.sqrt() }
            };
            let how = "the part scatters more than the block: how much, its own readings say alone".to_owned();
            return Ok(Spread { repeated: Drawn::Student { dof: n - 1.0, by: sd / n.sqrt() }, tester, how });
        }
        // Readings that show no spread of their own have none to pool.
        let (dof, squares) = if sd > 0.0 {
            (n - 1.0 + block_dof, (n - 1.0) * sd * sd + block_dof * known.repeatability.powi(2))
        } else {
            (block_dof, block_dof * known.repeatability.powi(2))
        };
        let pooled = (squares / dof).sqrt();
        let how = format!("scatter of one reading {pooled:.2}, pooled over part and block, {dof} degrees of freedom");
        if known.between.is_some() {
            let repeated = Drawn::Student { dof, by: pooled / n.sqrt() };
            return Ok(Spread { repeated, tester: Drawn::Normal { u: known.bias.u() }, how });
        }
        // One tester: what is not known of its scatter widens the mean on the part and that on the block together.
        let repeated = Drawn::Student { dof, by: pooled * (1.0 / n + 1.0 / of_block).sqrt() };
        Ok(Spread { repeated, tester: Drawn::Normal { u: 0.0 }, how })
    }
}

/// Degrees of freedom of a tester's repeatability, where it has one.
fn dof_of(known: &Tester) -> Option<f64> {
    let blocks = if known.between.is_some() { 2.0 } else { 1.0 };
    let dof = known.readings as f64 - blocks;
    (known.repeatability > 0.0 && dof > 0.0).then_some(dof)
}

/// What a bias has beside its block's uncertainty.
fn without_block(known: &Tester) -> f64 {
    if known.between.is_some() {
        return known.bias.u();
    }
    let block = 0.5 * known.block_expanded_uncertainty_k2;
    (known.bias.u().powi(2) - block * block).max(0.0).sqrt()
}

/// The mean of readings on a tester that is taken to scatter no more than the standard permits: what the readings say of
/// their scatter, cut off there. Nothing where they show none.
fn bounded(n: f64, sd: f64, (limit, whose): (f64, String)) -> (Option<Drawn>, String) {
    if sd.is_nan() || sd <= 0.0 {
        return (None, whose);
    }
    let (dof, by) = (n - 1.0, sd / n.sqrt());
    if sd >= limit {
        let how = "the readings scatter more than the standard permits a tester: by themselves alone".to_owned();
        return (Some(Drawn::Student { dof, by }), how);
    }
    // dof s²/σ² is chi-square; σ below the limit is chi-square above a bound.
    let below = chi_square_cdf(dof * (sd / limit).powi(2), dof);
    let ratio = |index: usize| {
        let share = (index as f64 + 0.5) / COUNT as f64;
        (chi_square_quantile(below + (1.0 - below) * share, dof) / dof).sqrt()
    };
    let how = format!("scatter of one reading taken below {limit:.2}, as no block says more: {whose}");
    (Some(Drawn::Bounded { ratios: (0..COUNT).map(ratio).collect(), by }), how)
}

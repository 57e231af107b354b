//! The joint distribution of what is uncertain about a two-hour equivalent.

use crate::estimate::{Draws, Estimate, Shape, normal_quantile};

/// Draws for the distribution, and the quantiles kept of it.
const DRAWS: u64 = 4000;
const QUANTILES: usize = 200;

/// One source of uncertainty of the two-hour equivalent, as what it adds to the nominal value.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Source {
    /// Along a curve of evenly spaced shares, none preferred.
    Curve { name: &'static str, points: Vec<f64> },
    /// Between two values, none preferred (JCGM 100:2008, 4.3.7: only bounds are known).
    Between { name: &'static str, low: f64, high: f64 },
    /// Normal.
    Normal { name: &'static str, u: f64 },
}

impl Source {
    const fn name(&self) -> &'static str {
        match self {
            Self::Curve { name, .. } | Self::Between { name, .. } | Self::Normal { name, .. } => name,
        }
    }

    /// What it adds at a probability.
    fn at(&self, probability: f64) -> f64 {
        match self {
            Self::Curve { points, .. } => {
                let place = probability * (points.len().saturating_sub(1)) as f64;
                let below = (place as usize).min(points.len().saturating_sub(2));
                match (points.get(below), points.get(below + 1)) {
                    (Some(a), Some(b)) => a + (b - a) * (place - below as f64),
                    _ => 0.0,
                }
            }
            Self::Between { low, high, .. } => low + probability * (high - low),
            Self::Normal { u, .. } => u * normal_quantile(probability),
        }
    }

    /// Its standard deviation.
    fn u(&self) -> f64 {
        let n = 200;
        let values: Vec<f64> = (0..n).map(|i| self.at((f64::from(i) + 0.5) / f64::from(n))).collect();
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        match self {
            Self::Normal { u, .. } => *u,
            _ => (values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / values.len() as f64).sqrt(),
        }
    }
}

/// The parts' joint distribution about the nominal value, by draws that depend on nothing but their number.
pub(super) fn distributed(mut estimate: Estimate, parts: &[Source]) -> Estimate {
    let nominal = estimate.value();
    for part in parts {
        estimate = estimate.with(part.name(), part.u());
    }
    let streams: Vec<Draws> = (0..parts.len() as u64).map(|stream| Draws::new(2, stream)).collect();
    let mut values: Vec<f64> = (0..DRAWS)
        .map(|index| parts.iter().zip(&streams).fold(nominal, |sum, (part, draws)| sum + part.at(draws.uniform(index))))
        .collect();
    values.sort_by(f64::total_cmp);
    let stride = DRAWS as usize / QUANTILES;
    let kept: Vec<f64> = values.chunks(stride).map(|chunk| chunk.iter().sum::<f64>() / chunk.len() as f64).collect();
    if parts.is_empty() { estimate } else { estimate.shaped(Shape::Quantiles(kept)) }
}

//! Printed rows joined by straight lines, with holes where a column is blank.

use crate::error::Result;
use crate::kernel::{Lane, PiecewiseLinear};

/// Rows as knots; NaN outside, and NaN strictly between rows that are not joined.
#[derive(Debug, Clone)]
pub(super) struct JoinedRows {
    knots: Vec<(f64, f64)>,
    joined: Vec<bool>,
    lines: PiecewiseLinear,
}

impl JoinedRows {
    /// From knots with strictly rising x; `joined[i]` says whether knots i and i + 1 have a line between them.
    pub fn new(knots: Vec<(f64, f64)>, joined: Vec<bool>) -> Result<Self> {
        let pieces = knots
            .windows(2)
            .zip(&joined)
            .map(|(pair, joined)| {
                let slope = (pair[1].1 - pair[0].1) / (pair[1].0 - pair[0].0);
                [pair[0].1, if *joined { slope } else { f64::NAN }]
            })
            .collect();
        let lines = PiecewiseLinear::new(knots.iter().map(|knot| knot.0).collect(), pieces)?;
        Ok(Self { knots, joined, lines })
    }

    /// Evaluates one element.
    pub fn at(&self, x: f64) -> f64 {
        let value = self.lines.at(x);
        if value.is_nan() { self.row_at(x) } else { value }
    }

    /// A row that no line reaches is still a printed value.
    #[cold]
    fn row_at(&self, x: f64) -> f64 {
        self.knots.iter().find(|knot| knot.0 == x).map_or(f64::NAN, |knot| knot.1)
    }

    /// Evaluates a slice.
    pub fn fill(&self, x: &[f64], out: &mut [f64]) {
        self.lines.fill(Lane::Each(x), out);
        if self.joined.iter().all(|joined| *joined) {
            return;
        }
        for (out, x) in out.iter_mut().zip(x) {
            if out.is_nan() {
                *out = self.row_at(*x);
            }
        }
    }

    /// The slope at x: the line's own, or at a row the mean of its two sides.
    pub fn slope(&self, x: f64) -> f64 {
        let found: Vec<f64> = self
            .knots
            .windows(2)
            .zip(&self.joined)
            .filter(|(pair, joined)| **joined && pair[0].0 <= x && x <= pair[1].0)
            .map(|(pair, _)| (pair[1].1 - pair[0].1) / (pair[1].0 - pair[0].0))
            .collect();
        if found.is_empty() { f64::NAN } else { found.iter().sum::<f64>() / found.len() as f64 }
    }

    /// Smallest and largest x.
    pub fn range(&self) -> (f64, f64) {
        let end = |knot: Option<&(f64, f64)>| knot.map_or(f64::NAN, |knot| knot.0);
        (end(self.knots.first()), end(self.knots.last()))
    }

    /// The rows around x that have no line between them, if x lies in such a hole.
    pub fn hole(&self, x: f64) -> Option<(f64, f64)> {
        self.knots
            .windows(2)
            .zip(&self.joined)
            .find(|(pair, joined)| !**joined && pair[0].0 < x && x < pair[1].0)
            .map(|(pair, _)| (pair[0].0, pair[1].0))
    }
}

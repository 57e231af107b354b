//! Straight lines between knots, found through a table of cells instead of a search.
//!
//! Cells are narrower than the closest pair of knots, so each has at most one knot; it stores that knot (or the last
//! one before it) with the slopes to its left and right. An element then costs one look-up, one comparison and one
//! multiply-add, and every knot is met exactly.

use std::collections::BTreeMap;

/// What a cell knows.
#[derive(Debug, Clone, Copy)]
#[repr(align(32))]
struct Hinge {
    x: f64,
    y: f64,
    left: f64,
    right: f64,
}

/// A function given by knots; NaN outside, and NaN strictly between knots that are not joined.
#[derive(Debug, Clone)]
pub struct JoinedLines {
    knots: Vec<(f64, f64)>,
    joined: Vec<bool>,
    hinges: Vec<Hinge>,
    start: f64,
    end: f64,
    per_unit: f64,
}

impl JoinedLines {
    /// From knots with strictly rising x; `joined[i]` says whether knots i and i + 1 have a line between them.
    #[must_use]
    pub fn new(knots: Vec<(f64, f64)>, joined: Vec<bool>) -> Self {
        let start = knots.first().map_or(f64::NAN, |knot| knot.0);
        let end = knots.last().map_or(f64::NAN, |knot| knot.0);
        let closest = knots.windows(2).map(|pair| pair[1].0 - pair[0].0).fold(f64::INFINITY, f64::min);
        let per_unit = if closest.is_finite() && closest > 0.0 { 1.0 / (0.99 * closest) } else { 1.0 };
        let slope = |i: usize| match (knots.get(i), knots.get(i + 1), joined.get(i)) {
            (Some(a), Some(b), Some(true)) => (b.1 - a.1) / (b.0 - a.0),
            _ => f64::NAN,
        };
        let cell = |x: f64| ((x - start) * per_unit) as usize;
        let owners: BTreeMap<usize, usize> = knots.iter().enumerate().map(|(i, knot)| (cell(knot.0), i)).collect();
        let mut hinges = Vec::new();
        let mut last = 0;
        for index in 0..=cell(end) {
            let own = owners.get(&index);
            last = own.copied().unwrap_or(last);
            let Some(knot) = knots.get(last) else { break };
            let right = slope(last);
            let left = if own.is_some() { last.checked_sub(1).map_or(f64::NAN, slope) } else { right };
            // At a knot where a line begins nothing may come from the left but the knot itself: 0 · NaN would be NaN.
            let left = if left.is_nan() && last == 0 { 0.0 } else { left };
            hinges.push(Hinge { x: knot.0, y: knot.1, left, right });
        }
        Self { knots, joined, hinges, start, end, per_unit }
    }

    /// Evaluates one element.
    #[must_use]
    pub fn at(&self, x: f64) -> f64 {
        let value = self.quick(x);
        if value.is_nan() { self.exactly(x) } else { value }
    }

    #[inline(always)]
    fn quick(&self, x: f64) -> f64 {
        // NaN and everything outside become cell 0 or the last one; the final selection makes NaN of them.
        let cell = (((x - self.start) * self.per_unit) as i32 as usize).min(self.hinges.len() - 1);
        let hinge = &self.hinges[cell];
        let away = x - hinge.x;
        let value = hinge.y + away * if away <= 0.0 { hinge.left } else { hinge.right };
        if x >= self.start && x <= self.end { value } else { f64::NAN }
    }

    /// A knot that no line reaches is still a printed value.
    #[cold]
    fn exactly(&self, x: f64) -> f64 {
        self.knots.iter().find(|knot| knot.0 == x).map_or(f64::NAN, |knot| knot.1)
    }

    /// Evaluates a slice.
    pub fn fill(&self, x: &[f64], out: &mut [f64]) {
        if self.hinges.is_empty() {
            return out.fill(f64::NAN);
        }
        for (out, x) in out.iter_mut().zip(x) {
            *out = self.quick(*x);
        }
        for (out, x) in out.iter_mut().zip(x) {
            if out.is_nan() {
                *out = self.exactly(*x);
            }
        }
    }

    /// The slope at x: the line's own, or at a knot the mean of its two sides.
    #[must_use]
    pub fn slope(&self, x: f64) -> f64 {
        let of = |i: usize| match (self.knots.get(i), self.knots.get(i + 1), self.joined.get(i)) {
            (Some(a), Some(b), Some(true)) if a.0 <= x && x <= b.0 => Some((b.1 - a.1) / (b.0 - a.0)),
            _ => None,
        };
        let found: Vec<f64> = (0..self.knots.len()).filter_map(of).collect();
        if found.is_empty() { f64::NAN } else { found.iter().sum::<f64>() / found.len() as f64 }
    }

    /// Smallest and largest x.
    #[must_use]
    pub const fn range(&self) -> (f64, f64) {
        (self.start, self.end)
    }

    /// The knots around x that have no line between them, if x lies in such a hole.
    #[must_use]
    pub fn hole(&self, x: f64) -> Option<(f64, f64)> {
        self.knots
            .windows(2)
            .zip(&self.joined)
            .find(|(pair, joined)| !**joined && pair[0].0 < x && x < pair[1].0)
            .map(|(pair, _)| (pair[0].0, pair[1].0))
    }
}

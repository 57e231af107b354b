//! What coupons say of C: the profile of the residual sum, which is skewed, and never a symmetric ±.

use super::model::{Fitted, Line, Row};
use crate::estimate::student_quantile;

/// The signed root of the growth of the residual sum, in standard deviations, over C.
pub(super) struct Profile {
    /// C and its signed root, rising.
    points: Vec<(f64, f64)>,
    /// Ends of the 95 % interval; 0 and infinity where it stays open.
    pub(super) low: f64,
    pub(super) high: f64,
}

/// What stays fixed along a profile.
pub(super) struct Ground<'a> {
    pub(super) line: &'a Line<'a>,
    pub(super) rows: &'a [Row],
    pub(super) coupon_variance: f64,
    /// Residual variance in units of the weights.
    pub(super) scale: f64,
    /// Degrees of freedom; infinite where the scatter was given.
    pub(super) dof: f64,
}

impl Ground<'_> {
    pub(super) fn quantile(&self, probability: f64) -> f64 {
        if self.dof.is_finite() {
            student_quantile(probability, self.dof)
        } else {
            crate::estimate::normal_quantile(probability)
        }
    }

    fn root(&self, best: &Fitted, c: f64) -> f64 {
        let sum = self.line.held(self.rows, c, self.coupon_variance).map_or(f64::INFINITY, |fitted| fitted.sum);
        ((sum - best.sum).max(0.0) / self.scale).sqrt().copysign(c - best.c)
    }

    /// The profile around the best fit.
    pub(super) fn profile(&self, best: &Fitted) -> Profile {
        let t = -self.quantile(0.025);
        let mut points: Vec<(f64, f64)> = self
            .line
            .constants(self.rows)
            .map(|c| (c, self.root(best, c)))
            .filter(|(_, root)| root.is_finite())
            .collect();
        points.push((best.c, 0.0));
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        let above = points.iter().copied().find(|&(c, root)| c > best.c && root >= t);
        let below = points.iter().rev().copied().find(|&(c, root)| c < best.c && root <= -t);
        let high = above.map(|(c, _)| self.crossing(best, c, t));
        let low = below.map(|(c, _)| self.crossing(best, c, -t));
        points.extend(low.map(|c| (c, -t)));
        points.extend(high.map(|c| (c, t)));
        let (from, to) = (low.unwrap_or(best.c), high.unwrap_or(best.c));
        const BETWEEN: usize = 24;
        points.extend((1..BETWEEN).map(|i| {
            let c = from + (to - from) * i as f64 / BETWEEN as f64;
            (c, self.root(best, c))
        }));
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        Profile { points, low: low.unwrap_or(0.0), high: high.unwrap_or(f64::INFINITY) }
    }

    /// Where the root is `t` between the best C and one beyond.
    fn crossing(&self, best: &Fitted, beyond: f64, t: f64) -> f64 {
        let (mut inside, mut outside) = (best.c, beyond);
        for _ in 0..60 {
            let middle = 0.5 * (inside + outside);
            if (outside - inside).abs() < 1e-9 {
                break;
            }
            if self.root(best, middle).abs() < t.abs() { inside = middle } else { outside = middle }
        }
        0.5 * (inside + outside)
    }

    /// Values of C at `(i + 0.5)/100`: the 95 % interval lies on two of them.
    pub(super) fn quantiles(&self, profile: &Profile) -> Vec<f64> {
        const COUNT: usize = 100;
        let half: Vec<f64> = (0..COUNT / 2).map(|i| self.quantile((i as f64 + 0.5) / COUNT as f64)).collect();
        let roots = half.iter().copied().chain(half.iter().rev().map(|root| -root));
        let mut made: Vec<f64> = roots.map(|root| profile.at(root)).collect();
        made.sort_by(f64::total_cmp);
        made
    }
}

impl Profile {
    /// The C of a signed root, straight between points.
    fn at(&self, root: f64) -> f64 {
        let above = self.points.partition_point(|point| point.1 < root);
        match (above.checked_sub(1).and_then(|i| self.points.get(i)), self.points.get(above)) {
            (Some(a), Some(b)) if b.1 > a.1 => a.0 + (b.0 - a.0) * (root - a.1) / (b.1 - a.1),
            (_, Some(b)) => b.0,
            (Some(a), None) => a.0,
            (None, None) => f64::NAN,
        }
    }
}

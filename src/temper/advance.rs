//! One step of dM/dt = (T / ln 10)·10^(C − M/T), exact at constant temperature and to 1e-11 along a straight line.
//!
//! With any fixed temperature R, E = 2^(m/R − c) is the time at R that does the same, and
//! dE/dt = (T/R)·2^(m(1/R − 1/T)). Held at T = R this is dE/dt = 1: the step is exact. Along a line cut into pieces
//! with R at each piece's middle, the right side is nearly constant and depends on E only weakly, so that three-point
//! Gauss collocation (order 6) converges in a few rounds of substitution. Its error in ln E for one piece is
//! ε⁶/2·10⁶ with ε the piece's move of m/T (as ln), and below 10⁻¹² for the growth of E: both stay under
//! [`LARGEST_MOVE`].

use std::f64::consts::{LN_2, LOG2_10, LOG2_E, LOG10_2};

use serde::{Deserialize, Serialize};

use crate::kernel::{exp2, log2};

/// The state for one constant, in base 2: `m` = T(c + log2 t), `c` = C·log2 10.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(super) struct State {
    c_hours: f64,
    c: f64,
    /// −∞ before anything happened.
    m: f64,
}

/// A piece of a ramp may move ln of the equivalent time by this much, and make it grow by this share.
const LARGEST_MOVE: f64 = 0.125;

/// Additions below this share of what is in are lost in rounding.
const LOST: f64 = 1e-19;

/// From an empty state the first piece of a ramp, this share of it, is held at its first temperature.
const FIRST_SHARE: f64 = 1.0 / (1 << 28) as f64;

impl State {
    pub(super) fn new(c_hours: f64) -> Self {
        Self { c_hours, c: c_hours * LOG2_10, m: f64::NEG_INFINITY }
    }

    /// The state that a parameter in K (log10 of hours) describes.
    pub(super) fn restored(c_hours: f64, parameter: f64) -> Self {
        Self { m: parameter * LOG2_10, ..Self::new(c_hours) }
    }

    /// C for hours, log10.
    pub(super) fn constant(&self) -> f64 {
        self.c_hours
    }

    /// M in kelvin, log10 of hours.
    pub(super) fn parameter(&self) -> f64 {
        self.m * LOG10_2
    }

    /// The flat temperature in kelvin that does the same in `hours`.
    pub(super) fn kelvin_for(&self, hours: f64) -> f64 {
        self.m / (self.c + hours.log2())
    }

    /// log2 of the hours at `kelvin` that do the same.
    pub(super) fn log2_hours(&self, kelvin: f64) -> f64 {
        self.m / kelvin - self.c
    }

    /// M in base 2: T(c + log2 t).
    pub(super) fn log2_parameter(&self) -> f64 {
        self.m
    }

    /// Lets the equivalent time at a temperature grow by a share of itself.
    pub(super) fn grow(&mut self, kelvin: f64, share: f64) {
        self.m += kelvin * log2_1p(share);
    }

    /// Holds a temperature.
    fn hold(&mut self, kelvin: f64, hours: f64) {
        let added = log2(hours);
        let grown = exp2(added - self.log2_hours(kelvin));
        if grown.is_infinite() {
            self.m = kelvin * (self.c + added);
        } else if grown > LOST {
            self.grow(kelvin, grown);
        }
    }

    /// Goes straight from one temperature to another, in kelvin; no time does nothing.
    pub(super) fn ramp(&mut self, from: f64, to: f64, hours: f64) {
        if hours <= 0.0 {
            return;
        }
        if from == to {
            return self.hold(from, hours);
        }
        let mut done = 0.0;
        if self.m == f64::NEG_INFINITY {
            self.hold(from, hours * FIRST_SHARE);
            done = FIRST_SHARE;
        }
        while done < 1.0 {
            let kelvin = from + (to - from) * done;
            let growth = exp2(log2(hours) - self.log2_hours(kelvin));
            if to < from && growth < LOST {
                break;
            }
            let slope = LN_2 * (self.m / kelvin).abs().max(1.0) * (to - from).abs() / kelvin;
            let piece = (LARGEST_MOVE / slope.max(growth)).min(1.0 - done).max(1e-12);
            // The last piece ends where the ramp does, whatever the sum of the pieces rounds to.
            let next = if done + piece >= 1.0 - 1e-12 { 1.0 } else { done + piece };
            self.piece(kelvin, from + (to - from) * next, hours * (next - done));
            done = next;
        }
    }

    /// One piece of a ramp.
    fn piece(&mut self, from: f64, to: f64, hours: f64) {
        const R15: f64 = 3.872_983_346_207_417;
        const NODES: [f64; 3] = [-R15 / 10.0, 0.0, R15 / 10.0];
        const STAGES: [[f64; 3]; 3] = [
            [5.0 / 36.0, 2.0 / 9.0 - R15 / 15.0, 5.0 / 36.0 - R15 / 30.0],
            [5.0 / 36.0 + R15 / 24.0, 2.0 / 9.0, 5.0 / 36.0 - R15 / 24.0],
            [5.0 / 36.0 + R15 / 30.0, 2.0 / 9.0 + R15 / 15.0, 5.0 / 36.0],
        ];
        const WEIGHTS: [f64; 3] = [5.0 / 18.0, 4.0 / 9.0, 5.0 / 18.0];
        let middle = 0.5 * (from + to);
        let unit = exp2(log2(hours) - self.log2_hours(middle));
        let nodes = NODES.map(|node| middle + (to - from) * node);
        let (ratio, gap) = (nodes.map(|kelvin| kelvin / middle), nodes.map(|kelvin| 1.0 / middle - 1.0 / kelvin));
        let dot = |row: &[f64; 3], rate: &[f64; 3]| row[0] * rate[0] + row[1] * rate[1] + row[2] * rate[2];
        let mut rate = [1.0; 3];
        for _ in 0..8 {
            let before = rate;
            for i in 0..3 {
                let m = self.m + middle * log2_1p(unit * dot(&STAGES[i], &before));
                rate[i] = ratio[i] * exp2(m * gap[i]);
            }
            if rate.iter().zip(&before).all(|(now, then)| (now - then).abs() <= 1e-14 * now) {
                break;
            }
        }
        self.grow(middle, unit * dot(&WEIGHTS, &rate));
    }
}

/// log2(1 + x) for x ≥ 0, exact to rounding for small x.
fn log2_1p(x: f64) -> f64 {
    let sum = 1.0 + x;
    log2(sum) + (x - (sum - 1.0)) / sum * LOG2_E
}

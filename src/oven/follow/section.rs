//! A section that follows its air: lags side by side.

use super::{BLOCK, Linear};
use crate::kernel::dispatched;

/// Four lags of a section: where each is times its share, and what a step and the air at its ends add to that.
#[derive(Debug, Clone, Copy)]
struct Four {
    at: [f64; 4],
    fade: [f64; 4],
    from: [f64; 4],
    to: [f64; 4],
    share: [f64; 4],
    linear: [Linear; 4],
}

/// Lags side by side: the part is the sum of their shares.
#[derive(Debug, Clone)]
pub(super) struct Modes(Vec<Four>);

impl Modes {
    pub(super) fn new(lags: &[(f64, f64)], start_c: f64) -> Self {
        let four = |lags: &[(f64, f64)]| {
            // A lag that is not there has no share; any length serves.
            let lag = |index: usize| lags.get(index).copied().unwrap_or((0.0, 1.0));
            let share = [0, 1, 2, 3].map(|index| lag(index).0);
            Four {
                at: share.map(|share| share * start_c),
                fade: [1.0; 4],
                from: [0.0; 4],
                to: [0.0; 4],
                share,
                linear: [0, 1, 2, 3].map(|index| Linear::new(lag(index).1)),
            }
        };
        Self(lags.chunks(4).map(four).collect())
    }

    pub(super) fn of(&mut self, seconds: f64) {
        for four in &mut self.0 {
            for (index, linear) in four.linear.iter_mut().enumerate() {
                linear.of(seconds);
                four.fade[index] = linear.fade;
                four.from[index] = four.share[index] * (linear.trail - linear.fade);
                four.to[index] = four.share[index] * (1.0 - linear.trail);
            }
        }
    }

    pub(super) fn advance(&mut self, from: f64, to: f64) -> f64 {
        let mut sums = [0.0; 4];
        self.0.iter_mut().for_each(|four| four.advance(from, to, &mut sums));
        (sums[0] + sums[1]) + (sums[2] + sums[3])
    }
}

impl Four {
    /// Moves the lags and adds them to the sums.
    #[inline(always)]
    fn advance(&mut self, from: f64, to: f64, sums: &mut [f64; 4]) {
        for (i, sum) in sums.iter_mut().enumerate() {
            self.at[i] = self.at[i] * self.fade[i] + (to * self.to[i] + from * self.from[i]);
            *sum += self.at[i];
        }
    }
}

/// Equal steps of as many fours as fit into registers.
#[inline(always)]
fn some_side_by_side<const N: usize>(fours: &mut [Four; N], from: f64, air: &[f64; BLOCK], made: &mut [f64; BLOCK]) {
    let (mut own, mut before) = (*fours, from);
    for (&to, made) in air.iter().zip(made) {
        let mut sums = [0.0; 4];
        for four in &mut own {
            four.advance(before, to, &mut sums);
        }
        *made = (sums[0] + sums[1]) + (sums[2] + sums[3]);
        before = to;
    }
    for (four, own) in fours.iter_mut().zip(own) {
        four.at = own.at;
    }
}

dispatched! {
    /// Equal steps of a section's lags.
    pub(super) fn side_by_side(modes: &mut Modes, from: f64, air: &[f64; BLOCK], made: &mut [f64; BLOCK]) {
        if let Ok(three) = <&mut [Four; 3]>::try_from(modes.0.as_mut_slice()) {
            return some_side_by_side(three, from, air, made);
        }
        let mut part = [0.0; BLOCK];
        made.fill(0.0);
        for four in &mut modes.0 {
            some_side_by_side(std::array::from_mut(four), from, air, &mut part);
            for (made, part) in made.iter_mut().zip(&part) {
                *made += part;
            }
        }
    }
}

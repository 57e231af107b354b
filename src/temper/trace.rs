//! Many samples at once: blocks of a log in which the equivalent time hardly grows, done as vector code.
//!
//! With R a temperature of the block, p the equivalent time at R over that at the block's start, h the length of a
//! segment, T its middle, d its rise and m the state: p grows by u·h·S·(T/R)·2^(m(1/R − 1/T)), with u the inverse of
//! the equivalent time at the start and S = 1 + (κη)²/24 + (κ⁴/24 − κ³/3 + κ²/2)η⁴/80 + gη/12 the mean of the rate
//! over the segment against that at its middle (κ = m/T as ln, η = d/T, g the growth of p over the segment). The state
//! on the right is that of the segment's middle: it is taken from the sums of the round before, and each round gains
//! a factor of (growth over the block)·(largest |T − R|/T), some thousands in a log.

use std::f64::consts::LN_2;

use super::advance::State;
use crate::kernel::{dispatched, exp2};
use crate::quantity::ZERO_CELSIUS_K;

/// Segments of a block.
const BLOCK: usize = 64;

/// The most that the equivalent time may grow over a block.
const MOST_GROWTH: f64 = 0.1;

/// A segment may move ln of the equivalent time by this much: the first term left out of S is below 10⁻¹³ then.
const MOST_MOVE: f64 = 0.06;

/// The largest (T − R)/T·growth for which the correction of the state stays a short series.
const MOST_CORRECTION: f64 = 0.004;

/// Rounds stop when the next one would change less than this.
const ENOUGH: f64 = 1e-13;

/// What a block is made of: seconds, °C, one more than there are segments.
#[derive(Clone, Copy)]
struct Samples<'a> {
    seconds: &'a [f64],
    celsius: &'a [f64],
}

impl State {
    /// Goes along the straight lines between samples; the times do not fall.
    pub(super) fn trace(&mut self, seconds: &[f64], celsius: &[f64]) {
        let segments = seconds.len().min(celsius.len()).saturating_sub(1);
        let mut done = 0;
        // After a block that grew too much the next few segments go one by one before blocks are tried again.
        let mut one_by_one = 0;
        let mut work = Work::default();
        while done < segments {
            let length = BLOCK.min(segments - done);
            if length == BLOCK && one_by_one == 0 {
                let samples =
                    Samples { seconds: &seconds[done..=done + length], celsius: &celsius[done..=done + length] };
                if let Some(growth) = self.block(samples, &mut work) {
                    self.grow(celsius[done + length / 2] + ZERO_CELSIUS_K, growth);
                    done += length;
                    continue;
                }
                one_by_one = BLOCK / 4;
            }
            one_by_one = one_by_one.saturating_sub(1);
            let hours = (seconds[done + 1] - seconds[done]) / 3600.0;
            self.ramp(celsius[done] + ZERO_CELSIUS_K, celsius[done + 1] + ZERO_CELSIUS_K, hours);
            done += 1;
        }
    }

    /// By how much the equivalent time grows over a block, at its middle temperature; none if a segment or the whole
    /// asks for the careful way.
    fn block(&self, samples: Samples<'_>, work: &mut Work) -> Option<f64> {
        let reference = samples.celsius.get(BLOCK / 2)? + ZERO_CELSIUS_K;
        let log2_hours = self.log2_hours(reference);
        if !(log2_hours > -1000.0 && log2_hours < 1000.0) {
            return None;
        }
        first_round(work, samples, reference, log2_hours, self.log2_parameter());
        if work.largest_move > MOST_MOVE {
            return None;
        }
        let growth = work.sum();
        if !(growth <= MOST_GROWTH && growth * work.largest_gap <= MOST_CORRECTION) {
            return None;
        }
        let mut left = growth * work.largest_gap;
        loop {
            next_round(work);
            let growth = work.sum();
            left *= growth * work.largest_gap;
            if left * growth <= ENOUGH {
                return Some(growth);
            }
        }
    }
}

/// The numbers of a block, one a segment.
struct Work {
    /// Growth of p by the state at the block's start.
    alone: [f64; BLOCK],
    /// Growth of p by the best state so far.
    grown: [f64; BLOCK],
    /// (T − R)/T: how the rate answers to ln p.
    gap: [f64; BLOCK],
    /// κη: ln of the equivalent time moves by this over the segment.
    moved: [f64; BLOCK],
    /// η.
    rise: [f64; BLOCK],
    /// ln p at the middle of each segment.
    log: [f64; BLOCK],
    largest_move: f64,
    largest_gap: f64,
}

impl Default for Work {
    fn default() -> Self {
        let zero = [0.0; BLOCK];
        Self {
            alone: zero,
            grown: zero,
            gap: zero,
            moved: zero,
            rise: zero,
            log: zero,
            largest_move: 0.0,
            largest_gap: 0.0,
        }
    }
}

impl Work {
    /// Adds the growths up, leaving p − 1 at each segment's middle in `log`.
    fn sum(&mut self) -> f64 {
        let mut p = 0.0;
        let parts = self.log.chunks_exact_mut(4).zip(self.grown.chunks_exact(4)).zip(self.moved.chunks_exact(4));
        for ((log, grown), moved) in parts {
            let (&mut [ref mut log0, ref mut log1, ref mut log2, ref mut log3], &[a, b, c, d], moved) =
                (log, grown, moved)
            else {
                continue;
            };
            // Four at a time, so that the sum waits for one addition in four.
            let (ab, cd) = (a + b, c + d);
            let half = |index: usize| 0.5 - 0.125 * moved[index];
            *log0 = p + a * half(0);
            *log1 = p + (a + b * half(1));
            *log2 = p + (ab + c * half(2));
            *log3 = p + ((ab + c) + d * half(3));
            p += ab + cd;
        }
        p
    }
}

/// The largest absolute value, in eight strands that a vector unit can take side by side.
#[inline(always)]
fn largest(values: &[f64; BLOCK]) -> f64 {
    let mut most = [0.0f64; 8];
    for chunk in values.chunks_exact(8) {
        for (most, value) in most.iter_mut().zip(chunk) {
            *most = if value.abs() > *most { value.abs() } else { *most };
        }
    }
    most.into_iter().fold(0.0, f64::max)
}

dispatched! {
    fn first_round(work: &mut Work, samples: Samples<'_>, reference: f64, log2_hours: f64, m: f64) {
        let unit = exp2(-log2_hours) / 3600.0;
        let (seconds, celsius) = (&samples.seconds[..=BLOCK], &samples.celsius[..=BLOCK]);
        let inverse = 1.0 / reference;
        for i in 0..BLOCK {
            let (from, to) = (celsius[i] + ZERO_CELSIUS_K, celsius[i + 1] + ZERO_CELSIUS_K);
            let middle = 0.5 * (from + to);
            let per_middle = 1.0 / middle;
            let gap = (middle - reference) * per_middle;
            let rise = (to - from) * per_middle;
            let kappa = LN_2 * m * per_middle;
            let moved = kappa * rise;
            let square = moved * moved;
            // (κ⁴/24 − κ³/3 + κ²/2)η⁴ with κη taken out.
            let fourth = square * (square * (1.0 / 24.0) - moved * rise * (1.0 / 3.0) + rise * rise * 0.5);
            let mean = 1.0 + square * (1.0 / 24.0) + fourth * (1.0 / 80.0);
            let hold = unit * (seconds[i + 1] - seconds[i]) * middle * inverse;
            let alone = hold * exp2(m * (gap * inverse));
            let mean = mean + alone * rise * (1.0 / 12.0);
            work.alone[i] = alone * mean;
            work.grown[i] = alone * mean;
            work.gap[i] = gap;
            work.moved[i] = moved;
            work.rise[i] = rise;
        }
        work.largest_move = largest(&work.moved);
        work.largest_gap = largest(&work.gap);
    }
}

dispatched! {
    fn next_round(work: &mut Work) {
        for i in 0..BLOCK {
            // ln p = 2 artanh((p − 1)/(p + 1)), for p − 1 below MOST_GROWTH.
            let s = work.log[i] / (2.0 + work.log[i]);
            let z = s * s;
            let log = 2.0 * s * (1.0 + z * (1.0 / 3.0 + z * (0.2 + z * (1.0 / 7.0 + z * (1.0 / 9.0)))));
            let x = work.gap[i] * log;
            let power = 1.0 + x * (1.0 + x * (0.5 + x * (1.0 / 6.0 + x * (1.0 / 24.0))));
            // S with κ of the middle instead of the block's start, and g against p there.
            let mean = 1.0 + work.rise[i] * (work.moved[i] * log - work.alone[i] * work.log[i]) * (1.0 / 12.0);
            work.grown[i] = work.alone[i] * (power * mean);
        }
    }
}

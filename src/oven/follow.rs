//! Going along a part that follows its air, block by block.
//!
//! Logs are sampled evenly, so a step's exponentials serve again and again: one lag is a recurrence whose own chain is
//! cut to one multiplication and addition in four samples, a section's lags are side by side in a vector, and a lag that
//! goes with temperature takes its exponentials from short polynomials that are good for a few degrees.

use super::material::{HEAT_CAPACITY_J_M3K, HeatCapacity};
use super::response::{Response, Trace};
use crate::kernel::dispatched;

/// A step of the air longer than this share of the (longest) lag is divided, so that straight lines between the points
/// made still follow the curve.
const LONGEST_STEP: f64 = 0.1;

/// Steps that differ by less than this share are one step: so much rounding does to decimal seconds.
const SAME: f64 = 4e-9;

/// Steps that are taken at once where they are equal.
const BLOCK: usize = 64;

/// A part behind air that comes in blocks.
#[derive(Debug, Clone)]
pub(super) struct Follower {
    by: By,
    longest: f64,
    part: f64,
    before: Option<(f64, f64)>,
}

/// How the part follows.
#[derive(Debug, Clone)]
enum By {
    Lag(Linear),
    Rising(Growing),
    Lags(Modes),
}

impl Follower {
    pub(super) fn new(response: &Response, start_c: f64) -> Self {
        let (by, slowest) = match response {
            Response::Lag(lag) => (By::Lag(Linear::new(*lag)), *lag),
            Response::Rising(lag) => (By::Rising(Growing::new(*lag)), *lag),
            Response::Lags(lags) => {
                let slowest = lags.iter().map(|(_, lag)| *lag).fold(0.0, f64::max);
                (By::Lags(Modes::new(lags, start_c)), slowest)
            }
        };
        Self { by, longest: LONGEST_STEP * slowest, part: start_c, before: None }
    }

    /// Appends the part's temperature behind the next samples of the air.
    pub(super) fn follow(&mut self, seconds: &[f64], air: &[f64], made: &mut Trace) {
        let count = seconds.len().min(air.len());
        made.seconds.reserve(count);
        made.celsius.reserve(count);
        let mut done = 0;
        if let (None, Some(&time), Some(&value)) = (self.before, seconds.first(), air.first()) {
            made.seconds.push(time);
            made.celsius.push(self.part);
            self.before = Some((time, value));
            done = 1;
        }
        while done < count {
            done += self.even(seconds, air, done, made);
            let (Some(&time), Some(&value)) = (seconds.get(done), air.get(done)) else { break };
            self.one(time, value, made);
            done += 1;
        }
    }

    /// Takes blocks of equal steps; how many samples that were.
    fn even(&mut self, seconds: &[f64], air: &[f64], from: usize, made: &mut Trace) -> usize {
        let mut done = from;
        while let (Some(before), Some(times), Some(values)) =
            (self.before, seconds.get(done..done + BLOCK), air.get(done..done + BLOCK))
        {
            let (Ok(times), Ok(values)) = (<&[f64; BLOCK]>::try_from(times), <&[f64; BLOCK]>::try_from(values)) else {
                break;
            };
            let step = times[0] - before.0;
            if !(step > 0.0 && step <= self.longest && evenly(before.0, times, step)) {
                break;
            }
            let mut part = [0.0; BLOCK];
            match &mut self.by {
                By::Lag(linear) => {
                    linear.of(step);
                    recurrence(linear, self.part, before.1, values, &mut part);
                }
                By::Rising(growing) => growing.along(self.part, before.1, values, step, &mut part),
                By::Lags(modes) => {
                    modes.of(step);
                    side_by_side(modes, before.1, values, &mut part);
                }
            }
            made.seconds.extend_from_slice(times);
            made.celsius.extend_from_slice(&part);
            self.part = part[BLOCK - 1];
            self.before = Some((times[BLOCK - 1], values[BLOCK - 1]));
            done += BLOCK;
        }
        done - from
    }

    /// Takes one sample, whose step may be long.
    fn one(&mut self, time: f64, value: f64, made: &mut Trace) {
        let (then, from) = self.before.unwrap_or((time, value));
        let step = time - then;
        if step > self.longest {
            // A step of days is followed by ever longer pieces; the part is where the air is long before its end.
            let pieces = (step / self.longest).ceil().min(1e4);
            let (dt, rise) = (step / pieces, (value - from) / pieces);
            for piece in 0..pieces as u64 {
                let at = from + rise * piece as f64;
                self.part = self.by.advance(self.part, at, at + rise, dt);
                made.seconds.push(then + dt * (piece + 1) as f64);
                made.celsius.push(self.part);
            }
            if let Some(last) = made.seconds.last_mut() {
                *last = time;
            }
        } else {
            if step > 0.0 {
                self.part = self.by.advance(self.part, from, value, step);
            }
            made.seconds.push(time);
            made.celsius.push(self.part);
        }
        self.before = Some((time, value));
    }
}

impl By {
    /// The part's next temperature when the air goes straight from one value to another.
    fn advance(&mut self, part: f64, from: f64, to: f64, seconds: f64) -> f64 {
        match self {
            Self::Lag(linear) => {
                linear.of(seconds);
                linear.advance(part, from, to)
            }
            Self::Rising(growing) => growing.careful(part, from, to, seconds),
            Self::Lags(modes) => {
                modes.of(seconds);
                modes.advance(from, to)
            }
        }
    }
}

/// Whether samples follow one another by the same step.
fn evenly(before: f64, times: &[f64; BLOCK], step: f64) -> bool {
    let most = SAME * step;
    let mut even = (times[0] - before - step).abs() <= most;
    for (then, now) in times.iter().zip(&times[1..]) {
        even &= (now - then - step).abs() <= most;
    }
    even
}

/// One lag and what a step does to it.
#[derive(Debug, Clone, Copy)]
struct Linear {
    lag: f64,
    seconds: f64,
    fade: f64,
    /// (1 − fade)·lag/seconds: how far the part trails a ramp.
    trail: f64,
}

impl Linear {
    const fn new(lag: f64) -> Self {
        Self { lag, seconds: 0.0, fade: 1.0, trail: 1.0 }
    }

    /// Makes it ready for a step, if the last one was another.
    #[inline]
    fn of(&mut self, seconds: f64) {
        if (seconds - self.seconds).abs() > SAME * seconds {
            self.seconds = seconds;
            let gone = -(-seconds / self.lag).exp_m1();
            self.fade = 1.0 - gone;
            self.trail = gone * self.lag / seconds;
        }
    }

    #[inline]
    fn advance(&self, part: f64, from: f64, to: f64) -> f64 {
        to + (part - from) * self.fade - (to - from) * self.trail
    }
}

dispatched! {
    /// Equal steps of one lag, four at a time: what the air adds to each of four does not wait for the part.
    fn recurrence(linear: &Linear, part: f64, from: f64, air: &[f64; BLOCK], made: &mut [f64; BLOCK]) {
        let (fade, trail) = (linear.fade, linear.trail);
        let mut added = [0.0; BLOCK];
        added[0] = air[0] - from * fade - (air[0] - from) * trail;
        for i in 1..BLOCK {
            added[i] = air[i] - air[i - 1] * fade - (air[i] - air[i - 1]) * trail;
        }
        let fade2 = fade * fade;
        let (fade3, fade4) = (fade2 * fade, fade2 * fade2);
        let mut part = part;
        for (added, made) in added.chunks_exact(4).zip(made.chunks_exact_mut(4)) {
            let one = added[0];
            let two = added[1] + fade * one;
            let three = added[2] + fade * two;
            let four = added[3] + fade * three;
            made[0] = one + fade * part;
            made[1] = two + fade2 * part;
            made[2] = three + fade3 * part;
            part = four + fade4 * part;
            made[3] = part;
        }
    }
}

/// Four lags of a section.
#[derive(Debug, Clone, Copy)]
struct Four {
    share: [f64; 4],
    at: [f64; 4],
    fade: [f64; 4],
    trail: [f64; 4],
    linear: [Linear; 4],
}

/// Lags side by side: the part is the sum of their shares.
#[derive(Debug, Clone)]
struct Modes(Vec<Four>);

impl Modes {
    fn new(lags: &[(f64, f64)], start_c: f64) -> Self {
        let four = |lags: &[(f64, f64)]| {
            // A lag that is not there has no share; any length serves.
            let lag = |index: usize| lags.get(index).copied().unwrap_or((0.0, 1.0));
            Four {
                share: [0, 1, 2, 3].map(|index| lag(index).0),
                at: [start_c; 4],
                fade: [1.0; 4],
                trail: [1.0; 4],
                linear: [0, 1, 2, 3].map(|index| Linear::new(lag(index).1)),
            }
        };
        Self(lags.chunks(4).map(four).collect())
    }

    fn of(&mut self, seconds: f64) {
        for four in &mut self.0 {
            four.linear.iter_mut().for_each(|linear| linear.of(seconds));
            four.fade = four.linear.map(|linear| linear.fade);
            four.trail = four.linear.map(|linear| linear.trail);
        }
    }

    fn advance(&mut self, from: f64, to: f64) -> f64 {
        self.0.iter_mut().map(|four| four.advance(from, to).iter().sum::<f64>()).sum()
    }
}

impl Four {
    /// Moves the lags; what each contributes to the part.
    #[inline(always)]
    fn advance(&mut self, from: f64, to: f64) -> [f64; 4] {
        let mut gives = [0.0; 4];
        for (i, gives) in gives.iter_mut().enumerate() {
            self.at[i] = self.at[i] * self.fade[i] + (to - from * self.fade[i] - (to - from) * self.trail[i]);
            *gives = self.share[i] * self.at[i];
        }
        gives
    }
}

dispatched! {
    /// Equal steps of a section's lags.
    fn side_by_side(modes: &mut Modes, from: f64, air: &[f64; BLOCK], made: &mut [f64; BLOCK]) {
        let mut before = from;
        for (&to, made) in air.iter().zip(made) {
            let mut sums = [0.0; 4];
            for four in &mut modes.0 {
                let gives = four.advance(before, to);
                for i in 0..4 {
                    sums[i] += gives[i];
                }
            }
            *made = (sums[0] + sums[1]) + (sums[2] + sums[3]);
            before = to;
        }
    }
}

/// A lag that goes with the part's temperature: the middle of the step rules it.
#[derive(Debug, Clone)]
struct Growing {
    lag: f64,
    seconds: f64,
    /// By degrees over [`CELL_C`], from [`COLDEST_C`] on; made as they are asked for, for one step.
    cells: Vec<Option<Cell>>,
}

/// Degrees of a cell; in its polynomials a step may go as far from the cell's middle.
const CELL_C: f64 = 4.0;

/// Cells are made between these temperatures: below the first break of the heat capacity, at 600 °C.
const COLDEST_C: f64 = -100.0;
const HOTTEST_C: f64 = 592.0;

/// What half a step and a whole one do to a part whose lag is that of a temperature, as cubics of the degrees from the
/// middle of the cell. Interpolated in Chebyshev points, with an error below 10⁻¹¹.
#[derive(Debug, Clone, Copy)]
struct Cell {
    middle: f64,
    half: [[f64; 4]; 2],
    whole: [[f64; 4]; 2],
}

impl Growing {
    const fn new(lag: f64) -> Self {
        Self { lag, seconds: 0.0, cells: Vec::new() }
    }

    /// The lag of a part at a temperature, and what a step does to it.
    fn at(&self, celsius: f64, seconds: f64) -> Linear {
        let mut made = Linear::new(self.lag * HeatCapacity::En1993.volumetric(celsius) / HEAT_CAPACITY_J_M3K);
        made.of(seconds);
        made
    }

    /// A step with its own exponentials.
    fn careful(&self, part: f64, from: f64, to: f64, seconds: f64) -> f64 {
        let half = self.at(part, 0.5 * seconds).advance(part, from, 0.5 * (from + to));
        self.at(half, seconds).advance(part, from, to)
    }

    /// Equal steps.
    fn along(&mut self, mut part: f64, mut from: f64, air: &[f64; BLOCK], seconds: f64, made: &mut [f64; BLOCK]) {
        if (seconds - self.seconds).abs() > SAME * seconds {
            self.seconds = seconds;
            self.cells.clear();
        }
        let mut done = 0;
        while let (Some(next), Some(room)) = (air.get(done..), made.get_mut(done..)) {
            let Some(&to) = next.first() else { break };
            let steps = self.cell(part).map_or(0, |cell| within(&cell, part, from, next, room));
            if let (0, Some(first)) = (steps, room.first_mut()) {
                // It leads too far from the cell, or there is none.
                *first = self.careful(part, from, to, seconds);
            }
            let last = done + steps.max(1) - 1;
            (part, from) = (made[last], air[last]);
            done = last + 1;
        }
    }

    /// The cell of a temperature.
    fn cell(&mut self, celsius: f64) -> Option<Cell> {
        if !(COLDEST_C..HOTTEST_C).contains(&celsius) {
            return None;
        }
        let index = ((celsius - COLDEST_C) / CELL_C).floor();
        if self.cells.is_empty() {
            self.cells.resize(((HOTTEST_C - COLDEST_C) / CELL_C) as usize, None);
        }
        if let Some(Some(known)) = self.cells.get(index as usize) {
            return Some(*known);
        }
        let made = self.make(COLDEST_C + CELL_C * (index + 0.5));
        if let Some(slot) = self.cells.get_mut(index as usize) {
            *slot = Some(made);
        }
        Some(made)
    }

    fn make(&self, middle: f64) -> Cell {
        let points: [f64; 4] = [1.0, 3.0, 5.0, 7.0].map(|odd: f64| CELL_C * (odd * std::f64::consts::PI / 8.0).cos());
        let of = |seconds: f64| {
            let steps = points.map(|point| self.at(middle + point, seconds));
            [cubic(points, steps.map(|step| step.fade)), cubic(points, steps.map(|step| step.trail))]
        };
        Cell { middle, half: of(0.5 * self.seconds), whole: of(self.seconds) }
    }
}

dispatched! {
    /// Steps whose part, and the half of each, stay near the middle of a cell; how many that are.
    ///
    /// The part is counted from the middle, and what the air does is put into the coefficients, so that one step waits for
    /// the one before only through two short polynomials.
    fn within(cell: &Cell, part: f64, from: f64, air: &[f64], made: &mut [f64]) -> usize {
        let Cell { middle, half: [fade, trail], whole: [fade2, trail2] } = *cell;
        let (mut off, mut from, mut done) = (part - middle, from, 0);
        for (&to, made) in air.iter().zip(made) {
            if off.abs() > 0.5 * CELL_C {
                break;
            }
            // (off + below)·fade(off) − rise·trail(off), for half a step.
            let (below, mean) = (middle - from, 0.5 * (from + to));
            let rise = mean - from;
            let first = (below * fade[0] - rise * trail[0]) + (mean - middle);
            let second = fade[0] + (below * fade[1] - rise * trail[1]);
            let third = fade[1] + (below * fade[2] - rise * trail[2]);
            let fourth = fade[2] + (below * fade[3] - rise * trail[3]);
            let square = off * off;
            let half = (first + second * off) + square * ((third + fourth * off) + fade[3] * square);
            if half.abs() > CELL_C {
                break;
            }
            let (behind, rise) = (off + below, to - from);
            let mut whole = [0.0; 4];
            for i in 0..4 {
                whole[i] = behind * fade2[i] - rise * trail2[i];
            }
            off = ((whole[0] + (to - middle)) + whole[1] * half) + (half * half) * (whole[2] + whole[3] * half);
            *made = middle + off;
            from = to;
            done += 1;
        }
        done
    }
}

/// The cubic through four points, by Newton's divided differences.
fn cubic(x: [f64; 4], y: [f64; 4]) -> [f64; 4] {
    let first = [0, 1, 2].map(|i| (y[i + 1] - y[i]) / (x[i + 1] - x[i]));
    let second = [0, 1].map(|i| (first[i + 1] - first[i]) / (x[i + 2] - x[i]));
    let d = (second[1] - second[0]) / (x[3] - x[0]);
    let c = second[0] - d * (x[0] + x[1] + x[2]);
    let b = first[0] - second[0] * (x[0] + x[1]) + d * (x[0] * x[1] + x[0] * x[2] + x[1] * x[2]);
    let a = y[0] - x[0] * (first[0] - x[1] * (second[0] - x[2] * d));
    [a, b, c, d]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The same equations, a step at a time with exponentials of its own (numerical identity, not a regression guard).
    fn plainly(response: &Response, seconds: &[f64], air: &[f64], start_c: f64) -> Vec<f64> {
        let step = |lag: f64, part: f64, from: f64, to: f64, dt: f64| {
            let gone = 1.0 - (-dt / lag).exp();
            to + (part - from) * (1.0 - gone) - (to - from) * gone * lag / dt
        };
        let mut at = match response {
            Response::Lags(lags) => vec![start_c; lags.len()],
            _ => vec![start_c],
        };
        let mut made = vec![start_c];
        for (times, values) in seconds.windows(2).zip(air.windows(2)) {
            let (dt, from, to) = (times[1] - times[0], values[0], values[1]);
            match response {
                Response::Lag(lag) => at[0] = step(*lag, at[0], from, to, dt),
                Response::Rising(lag) => {
                    let lag = |celsius: f64| lag * HeatCapacity::En1993.volumetric(celsius) / HEAT_CAPACITY_J_M3K;
                    let half = step(lag(at[0]), at[0], from, 0.5 * (from + to), 0.5 * dt);
                    at[0] = step(lag(half), at[0], from, to, dt);
                }
                Response::Lags(lags) => {
                    at.iter_mut().zip(lags).for_each(|(at, (_, lag))| *at = step(*lag, *at, from, to, dt));
                }
            }
            made.push(match response {
                Response::Lags(lags) => at.iter().zip(lags).map(|(at, (share, _))| at * share).sum(),
                _ => at[0],
            });
        }
        made
    }

    #[test]
    fn blocks_do_what_single_steps_do() {
        let lags: Vec<(f64, f64)> = (1..=6).map(|i| (1.0 / 6.0, 900.0 / f64::from(i * i))).collect();
        for response in [Response::Lag(300.0), Response::Rising(300.0), Response::Lags(lags)] {
            for (step, jitter) in [(10.0, 0.0), (0.1, 0.0), (7.0, 3.0)] {
                let seconds: Vec<f64> =
                    (0..3000).map(|i| step * f64::from(i) + jitter * f64::from(i * 7 % 11) / 11.0).collect();
                // Heating through the break of the heat capacity, a door, a hold that swings.
                let air: Vec<f64> = (0..3000)
                    .map(|i| {
                        let hot = if i < 1500 { 700.0 } else { 200.0 };
                        let door = if (2000..2010).contains(&i) { -60.0 } else { 0.0 };
                        (20.0 + f64::from(i)).min(hot) + door + 2.0 * (0.05 * f64::from(i)).sin()
                    })
                    .collect();
                let want = plainly(&response, &seconds, &air, 20.0);
                let mut made = Trace::default();
                let mut follower = Follower::new(&response, 20.0);
                for (seconds, air) in seconds.chunks(777).zip(air.chunks(777)) {
                    follower.follow(seconds, air, &mut made);
                }
                assert_eq!(made.seconds, seconds);
                for (index, (got, want)) in made.celsius.iter().zip(&want).enumerate() {
                    assert!((got - want).abs() < 1e-7, "{response:?}, {step}: {index}: {got}, not {want}");
                }
            }
        }
    }
}

//! Going along a part that follows its air, block by block.
//!
//! Logs are sampled evenly, so a step's exponentials serve again and again: one lag is a recurrence whose own chain is
//! cut to one multiplication and addition in four samples, a section's lags are side by side in a vector, and a lag that
//! goes with temperature takes its exponentials from short polynomials that are good for a few degrees.

mod rising;
mod section;

use self::rising::Growing;
use self::section::{Modes, side_by_side};
use crate::kernel::dispatched;
use crate::oven::response::{Response, Trace};

/// A step of the air longer than this share of the (longest) lag is divided, so that straight lines between the points
/// made still follow the curve.
const LONGEST_STEP: f64 = 0.1;

/// A step is divided into so many pieces at most, so that a lag which is tiny beside the rows' distance can't fill the
/// memory: a row makes 16 kB at the worst.
///
/// It is reached by steps of more than a hundred lags. The pieces' ends stay exact, whatever their length; between them a
/// straight line stands for a curve that is over within a few lags, so that the part seems late by at most one piece, a
/// thousandth of the step.
const MOST_PIECES: f64 = 1e3;

/// Steps that differ by less than this share are one step: so much rounding does to decimal seconds.
const SAME: f64 = 4e-9;

/// Steps that are taken at once where they are equal.
const BLOCK: usize = 64;

/// A part behind air that comes in blocks.
#[derive(Debug, Clone)]
pub(in crate::oven) struct Follower {
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
    pub(in crate::oven) fn new(response: &Response, start_c: f64) -> Self {
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
    pub(in crate::oven) fn follow(&mut self, seconds: &[f64], air: &[f64], made: &mut Trace) {
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
            let pieces = (step / self.longest).ceil().min(MOST_PIECES);
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::oven::material::{HEAT_CAPACITY_J_M3K, HeatCapacity};

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

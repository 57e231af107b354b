//! A reading that stands still to the last digit where it can't.
//!
//! A controlled oven recorded to whole degrees repeats itself rightly, so a run of one reading is no fault by its length.
//! It is one where the other channel says that this one must have moved, where the channel's own noise is coarser than
//! what the record resolves, or where it ends in a leap.

use super::{Fault, ROOM_C, at, other};
use crate::estimate::normal_cdf;
use crate::oven::clean::{median, resolution};
use crate::oven::log::OvenLog;
use crate::oven::response::{Response, Trace};
use crate::oven::role::Role;

/// The shortest run that is looked at.
const LEAST_ROWS: usize = 10;
const LEAST_S: f64 = 120.0;
/// How far the reading must have been bound to move, °C and in steps of the record.
const MOVED_DELTA_C: f64 = 10.0;
const MOVED_STEPS: f64 = 6.0;
/// How improbable a run must be by the channel's own noise.
const IMPROBABLE: f64 = 1e-9;
/// Rows on each side from which that noise is taken, how many of them are needed, and how near the level they lie.
const BESIDE: usize = 300;
const LEAST_BESIDE: usize = 50;
const BESIDE_DELTA_C: f64 = 10.0;
/// From this share of a step on, noise shows itself wherever the level lies between two steps.
const NOISE_STEPS: f64 = 0.6;
/// What the part follows the air by where nothing of its lag shows, s; and how much slower than fitted it may be.
const UNKNOWN_LAG_S: f64 = 600.0;
const SLOWER: f64 = 2.0;
/// No oven's reading leaps up by more than this between two rows, °C and °C/s.
const LEAP_DELTA_C: f64 = 15.0;
const LEAP_C_S: f64 = 0.5;

impl OvenLog {
    pub(super) fn stuck(&self, role: Role, lag_s: Option<f64>) -> Vec<Fault> {
        let Some(values) = self.read(role) else { return Vec::new() };
        let step = resolution(values).unwrap_or(f64::NAN);
        let judged = |&(from, until): &(usize, usize)| {
            let lasts = at(&self.seconds, until) - at(&self.seconds, from);
            until - from + 1 >= LEAST_ROWS
                && lasts >= LEAST_S
                && at(values, from).is_finite()
                && at(values, from) > ROOM_C
                && at(&self.seconds, from) >= self.loaded_s()
        };
        let mut found = Vec::new();
        for (from, until) in runs(values).into_iter().filter(judged) {
            let level = at(values, from);
            let (start, end) = (at(&self.seconds, from), at(&self.seconds, until));
            let moved = self.bound_to_move(role, (from, until), level, lag_s);
            let leap = at(values, until + 1) - level;
            let within = at(&self.seconds, until + 1) - end;
            let (why, size) = if moved > MOVED_DELTA_C.max(MOVED_STEPS * step) {
                (format!("while {} says that it moved by {moved:.0} °C", other(role).name()), Some(moved))
            } else if let Some(noise) = noisier(values, (from, until), level, step) {
                (format!("though it is unsteady by {noise:.2} °C before and behind"), None)
            } else if leap > LEAP_DELTA_C + LEAP_C_S * within {
                (format!("and then leaps up by {leap:.0} °C within {within:.0} s"), Some(leap))
            } else {
                continue;
            };
            found.push(Fault {
                kind: "stuck sensor".to_owned(),
                channel: Some(role),
                rows: (from..=until).collect(),
                seconds: Some((start, end)),
                size_delta_c: size,
                why: format!("the reading stands at {level:.1} °C for {:.0} s, {why}", end - start),
            });
        }
        found
    }

    /// How far the other channel says that a reading which stands still must have moved meanwhile.
    fn bound_to_move(&self, role: Role, (from, until): (usize, usize), level: f64, lag_s: Option<f64>) -> f64 {
        let Some(other) = self.read(other(role)) else { return 0.0 };
        let rows = (from..=until).filter(|&row| at(other, row).is_finite());
        let (seconds, celsius): (Vec<f64>, Vec<f64>) = rows.map(|row| (at(&self.seconds, row), at(other, row))).unzip();
        if celsius.len() < 3 {
            return 0.0;
        }
        if role == Role::PartSide {
            // The part may follow slowly; that far it must have come.
            let lag = Response::Lag(SLOWER * lag_s.unwrap_or(UNKNOWN_LAG_S));
            let part = lag.follow(&Trace { seconds, celsius }, level);
            return part.celsius.iter().map(|celsius| (celsius - level).abs()).fold(0.0, f64::max);
        }
        // A part comes nearer to air that stands still. One that goes away from it has other air.
        let (mut nearest, mut away) = (f64::INFINITY, 0.0_f64);
        for celsius in celsius {
            let distance = (celsius - level).abs();
            nearest = nearest.min(distance);
            away = away.max(distance - nearest);
        }
        away
    }
}

/// The channel's noise beside a run that it makes too improbable; nothing where the record is too coarse to tell.
fn noisier(values: &[f64], (from, until): (usize, usize), level: f64, step: f64) -> Option<f64> {
    let before = values.get(from.saturating_sub(BESIDE)..from).unwrap_or_default();
    let behind = values.get(until + 1..(until + 1 + BESIDE).min(values.len())).unwrap_or_default();
    let changes: Vec<f64> = [before, behind]
        .iter()
        .flat_map(|side| side.windows(2))
        .filter_map(|pair| match pair {
            [a, b] if (a - level).abs() < BESIDE_DELTA_C && b.is_finite() => Some(b - a),
            _ => None,
        })
        .collect();
    if changes.len() < LEAST_BESIDE || step.is_nan() {
        return None;
    }
    let count = changes.len() as f64;
    let middle = median(changes.clone());
    let spread = 1.482_6 * median(changes.iter().map(|change| (change - middle).abs()).collect());
    let mean = changes.iter().sum::<f64>() / count;
    let sd = (changes.iter().map(|change| (change - mean).powi(2)).sum::<f64>() / count).sqrt();
    let noise = spread.min(sd) / std::f64::consts::SQRT_2;
    if noise <= NOISE_STEPS * step {
        return None;
    }
    // How probably the next reading is the same: at most that of a level in the middle of a step, or what was seen.
    let same = changes.iter().filter(|&&change| change == 0.0).count() as f64;
    let again = (2.0 * normal_cdf(0.5 * step / noise) - 1.0).max((same + 1.0) / (count + 2.0));
    ((until - from) as f64 * again.ln() < IMPROBABLE.ln()).then_some(noise)
}

/// First and last index of each run of one and the same reading.
fn runs(values: &[f64]) -> Vec<(usize, usize)> {
    let mut found = Vec::new();
    let mut from = 0;
    for row in 1..=values.len() {
        if row == values.len() || values.get(row) != values.get(from) {
            if row - from > 1 {
                found.push((from, row - 1));
            }
            from = row;
        }
    }
    found
}

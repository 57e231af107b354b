//! Stretches where a channel jumps to and fro as nothing in an oven does: a loose clamp, plug or weld.

use super::{Fault, at, other};
use crate::oven::clean::{median, resolution};
use crate::oven::log::OvenLog;
use crate::oven::role::Role;

/// Rows that are judged together, how many of them must be rough, how many jump there and back, and at most how many may
/// be rough in the other channel too.
const WINDOW: usize = 12;
const LEAST_ROUGH: usize = 6;
const LEAST_TURNS: usize = 3;
const MOST_SHARED: usize = 3;
/// How much rougher than usual a row must be, and the least that counts, °C.
const TIMES: f64 = 8.0;
const LEAST_DELTA_C: f64 = 2.0;
/// How much rougher the stretch must be than the rough rows outside: an oven that is switched on and off, sampled now
/// and then, jumps all along.
const TIMES_OUTSIDE: f64 = 4.0;
const LEAST_OUTSIDE: usize = 30;
/// The same for the other channel, which then has seen it as well.
const SHARED_TIMES: f64 = 3.0;
const SHARED_DELTA_C: f64 = 1.0;
/// Unrest that fills more of the hot rows than this is the oven's own.
const LARGEST_SHARE: f64 = 1.0 / 3.0;

impl OvenLog {
    pub(super) fn contact_lost(&self, role: Role) -> Vec<Fault> {
        let Some(values) = self.read(role).filter(|values| values.len() > WINDOW) else { return Vec::new() };
        let bends = bends(values);
        let usual = usual(&bends, values);
        let least = (TIMES * usual).max(LEAST_DELTA_C);
        let shared: Vec<bool> = self.read(other(role)).map_or_else(Vec::new, |values| {
            let bends = self::bends(values);
            let least = (SHARED_TIMES * self::usual(&bends, values)).max(SHARED_DELTA_C);
            bends.iter().map(|&bend| bend > least).collect()
        });
        let is_shared = |row: usize| shared.get(row).copied().unwrap_or(false);
        let rough = |row: usize| at(&bends, row) > least && !is_shared(row);
        let turns = |row: usize| {
            let before = row.checked_sub(1).map_or(f64::NAN, |before| at(values, row) - at(values, before));
            let behind = at(values, row + 1) - at(values, row);
            before * behind < 0.0 && before.abs().min(behind.abs()) > least
        };
        let mut marked = vec![false; values.len()];
        let mut count = [0_usize; 3];
        for row in 0..values.len() {
            let kinds = |row: usize| [rough(row), turns(row), is_shared(row)];
            for (count, is) in count.iter_mut().zip(kinds(row)) {
                *count += usize::from(is);
            }
            if let Some(gone) = row.checked_sub(WINDOW) {
                for (count, was) in count.iter_mut().zip(kinds(gone)) {
                    *count -= usize::from(was);
                }
            }
            let [roughs, turned, both] = count;
            if row + 1 >= WINDOW && roughs >= LEAST_ROUGH && turned >= LEAST_TURNS && both <= MOST_SHARED {
                marked.iter_mut().take(row + 1).skip(row + 1 - WINDOW).for_each(|mark| *mark = true);
            }
        }
        let outside: Vec<f64> = bends
            .iter()
            .zip(&marked)
            .filter(|(bend, mark)| !**mark && bend.is_finite())
            .map(|(bend, _)| *bend)
            .collect();
        if outside.len() < LEAST_OUTSIDE {
            return Vec::new();
        }
        let unrest = TIMES_OUTSIDE * percentile_90(outside);
        let most = LARGEST_SHARE * hot_rows(values) as f64;
        let mut found = Vec::new();
        for (first, last) in stretches(&marked) {
            // From the first rough row to the last: the window reaches beyond them.
            let rows: Vec<usize> = (first..=last).filter(|&row| rough(row)).collect();
            let (Some(&from), Some(&until)) = (rows.first(), rows.last()) else { continue };
            let size = median(rows.iter().map(|&row| at(&bends, row)).collect());
            let before_loading = role == Role::PartSide && at(&self.seconds, from) < self.loaded_s();
            if size < unrest || (until - from) as f64 > most || before_loading {
                continue;
            }
            found.push(Fault {
                kind: "contact lost".to_owned(),
                channel: Some(role),
                rows: (from..=until).collect(),
                seconds: Some((at(&self.seconds, from), at(&self.seconds, until))),
                size_delta_c: Some(size),
                why: format!(
                    "it jumps to and fro by {size:.1} °C from row to row, {:.0} times its usual unrest, and no other \
                     channel does: look at clamp, plug and weld",
                    size / usual
                ),
            });
        }
        found
    }
}

/// How far each sample stands off the middle of its neighbours; NaN where one is missing.
fn bends(values: &[f64]) -> Vec<f64> {
    let bend = |row: usize| match row.checked_sub(1) {
        Some(before) => (at(values, row) - 0.5 * (at(values, before) + at(values, row + 1))).abs(),
        None => f64::NAN,
    };
    (0..values.len()).map(bend).collect()
}

/// The usual bend; not less than half of what the record resolves.
fn usual(bends: &[f64], values: &[f64]) -> f64 {
    let middle = median(bends.iter().copied().filter(|bend| bend.is_finite()).collect());
    middle.max(0.05).max(0.5 * resolution(values).unwrap_or(0.0))
}

fn percentile_90(mut values: Vec<f64>) -> f64 {
    let place = values.len() * 9 / 10;
    if place >= values.len() {
        return f64::NAN;
    }
    *values.select_nth_unstable_by(place, f64::total_cmp).1
}

/// How many rows lie in the upper half of what was read.
fn hot_rows(values: &[f64]) -> usize {
    let finite = || values.iter().copied().filter(|value| value.is_finite());
    let (low, high) = (finite().fold(f64::INFINITY, f64::min), finite().fold(f64::NEG_INFINITY, f64::max));
    finite().filter(|&value| value > 0.5 * (low + high)).count()
}

/// First and last index of each stretch of marks.
fn stretches(marked: &[bool]) -> Vec<(usize, usize)> {
    let mut found: Vec<(usize, usize)> = Vec::new();
    for row in (0..marked.len()).filter(|&row| marked.get(row) == Some(&true)) {
        match found.last_mut() {
            Some(last) if last.1 + 1 == row => last.1 = row,
            _ => found.push((row, row)),
        }
    }
    found
}

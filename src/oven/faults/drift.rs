//! Channels that walk apart while the oven stands still.
//!
//! The part side less the air moves for good reasons as well: the part is late, and an overshoot's tail keeps it so. So
//! only steady parts count, after the part had three of its lags to settle; the line through the blocks must be steeper
//! than their own scatter allows, and its second half must go on as its first did: what is late dies away, a drift does
//! not.

use super::{Fault, at, line};
use crate::estimate::student_quantile;
use crate::oven::clean::{interval, median};
use crate::oven::log::OvenLog;
use crate::oven::role::Role;

/// A block's length, s and in rows; how many blocks make a line.
const BLOCK_S: f64 = 300.0;
const BLOCK_ROWS: f64 = 6.0;
const LEAST_IN_BLOCK: usize = 4;
const LEAST_BLOCKS: usize = 6;
/// How long the air must have stood still before a block: in the part's lags, and at least, s.
const SETTLED_LAGS: f64 = 3.0;
const SETTLED_S: f64 = 900.0;
/// The lag where nothing of it shows, s.
const UNKNOWN_LAG_S: f64 = 450.0;
/// What the blocks' means of the air may differ meanwhile, what it may swing inside a block, and how near the hold the
/// part is, °C.
const STILL_DELTA_C: f64 = 3.0;
const SWING_DELTA_C: f64 = 20.0;
const HOLD_DELTA_C: f64 = 15.0;
/// The least drift that is told, °C over the steady part; and how much of the first half's slope the second must have.
const LEAST_DELTA_C: f64 = 1.5;
const GOES_ON: f64 = 0.5;

struct Block {
    seconds: f64,
    air_c: f64,
    swing_c: f64,
    apart_c: f64,
    part_c: f64,
}

impl OvenLog {
    pub(super) fn drift(&self, lag_s: Option<f64>) -> Option<Fault> {
        let blocks = self.blocks()?;
        let steady = self.steady(&blocks, lag_s.unwrap_or(UNKNOWN_LAG_S))?;
        let points: Vec<(f64, f64)> = steady.iter().map(|block| (block.seconds, block.apart_c)).collect();
        let half = points.len() / 2;
        let (slope, u) = line(&points)?;
        let (first, _) = line(points.get(..=half)?)?;
        let (second, _) = line(points.get(half..)?)?;
        let (from, until) = (points.first()?.0, points.last()?.0);
        let wide = -student_quantile(0.005, (points.len() - 2) as f64) * u;
        let total = slope * (until - from);
        if total.abs() < LEAST_DELTA_C || slope.abs() < wide || second * slope.signum() < GOES_ON * first.abs() {
            return None;
        }
        let inside = |row: &usize| (from..=until).contains(&at(&self.seconds, *row));
        Some(Fault {
            kind: "drift".to_owned(),
            channel: None,
            rows: (0..self.seconds.len()).filter(inside).collect(),
            seconds: Some((from, until)),
            size_delta_c: Some(total),
            why: format!(
                "part_side less air changes by {:+.1} ± {:.1} °C an hour (99 %) while the oven stands still, \
                 {total:+.1} °C in all: one of the two drifts, and the record alone can't say which",
                slope * 3600.0,
                wide * 3600.0
            ),
        })
    }

    fn blocks(&self) -> Option<Vec<Block>> {
        let (air, part) = (self.read(Role::Air)?, self.read(Role::PartSide)?);
        let length = BLOCK_S.max(BLOCK_ROWS * interval(&self.seconds));
        let start = self.loaded_s();
        let rows: Vec<usize> = (0..self.seconds.len())
            .filter(|&row| at(&self.seconds, row) >= start && at(air, row).is_finite() && at(part, row).is_finite())
            .collect();
        let number = |row: usize| ((at(&self.seconds, row) - start) / length).floor();
        let blocks = rows.chunk_by(|&a, &b| number(a) == number(b)).filter(|rows| rows.len() >= LEAST_IN_BLOCK);
        let made = blocks.map(|rows| {
            let mean = |of: &dyn Fn(usize) -> f64| rows.iter().map(|&row| of(row)).sum::<f64>() / rows.len() as f64;
            let (low, high) = rows
                .iter()
                .map(|&row| at(air, row))
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)));
            Block {
                seconds: mean(&|row| at(&self.seconds, row)),
                air_c: mean(&|row| at(air, row)),
                swing_c: high - low,
                apart_c: mean(&|row| at(part, row) - at(air, row)),
                part_c: mean(&|row| at(part, row)),
            }
        });
        Some(made.collect())
    }

    /// The longest row of blocks in which the oven stands still.
    fn steady<'a>(&self, blocks: &'a [Block], lag_s: f64) -> Option<&'a [Block]> {
        let part: Vec<f64> = blocks.iter().map(|block| block.part_c).collect();
        let (low, high) =
            part.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &v| (low.min(v), high.max(v)));
        let hold = median(part.iter().copied().filter(|&value| value > 0.5 * (low + high)).collect());
        let look = (SETTLED_LAGS * lag_s).max(SETTLED_S);
        let first = blocks.first()?.seconds;
        let is_steady = |index: usize| {
            let Some(block) = blocks.get(index) else { return false };
            let since = block.seconds - look;
            let before: Vec<&Block> =
                blocks.iter().take(index + 1).rev().take_while(|block| block.seconds >= since).collect();
            let (low, high) = before
                .iter()
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), b| (low.min(b.air_c), high.max(b.air_c)));
            since >= first - BLOCK_S
                && high - low < STILL_DELTA_C
                && (block.part_c - hold).abs() < HOLD_DELTA_C
                && before.iter().all(|block| block.swing_c < SWING_DELTA_C)
        };
        let (mut begin, mut longest) = (0, 0..0);
        for index in 0..blocks.len() {
            if !is_steady(index) {
                begin = index + 1;
            } else if index + 1 - begin > longest.len() {
                longest = begin..index + 1;
            }
        }
        blocks.get(longest).filter(|steady| steady.len() >= LEAST_BLOCKS)
    }
}

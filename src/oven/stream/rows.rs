//! Rows that come in pieces, put in the order of time.

use super::passes::{Window, disordered, tally};
use crate::error::Result;
use crate::oven::assemble::picked;
use crate::oven::clock::DAY_S;
use crate::oven::extent::steps_extent;
use crate::oven::order::{Clock, MIDNIGHT_FALL_S, Rows, Timeline, same_time};
use crate::oven::repair::Repair;
use crate::oven::role::Role;

/// Rows that are put in order at once, and rows that wait for later ones.
pub(super) const WINDOW: usize = 1 << 16;
pub(super) const WAITING: usize = 512;

/// Puts rows in order that come in pieces.
#[derive(Default)]
pub(super) struct Order {
    pub clock: Option<Clock>,
    base: f64,
    before: f64,
    shift: f64,
    last_given: Option<f64>,
    pub held: Window,
}

impl Order {
    pub(super) fn take(
        &mut self,
        mut time: Vec<f64>,
        clock: Clock,
        mut channels: Vec<(Role, Vec<f64>)>,
        repairs: &mut Vec<Repair>,
    ) -> Result<()> {
        if clock.whole_minutes {
            return Err(disordered("its clock shows no seconds"));
        }
        if !time.iter().fold(true, |all, time| all & time.is_finite()) {
            let good: Vec<bool> = time.iter().map(|time| time.is_finite()).collect();
            let kept = |values: &mut Vec<f64>| {
                let mut good = good.iter();
                values.retain(|_| good.next() == Some(&true));
            };
            tally(repairs, "no time", None, good.iter().filter(|good| !**good).count());
            kept(&mut time);
            channels.iter_mut().for_each(|(_, values)| kept(values));
        }
        if self.clock.is_none() {
            self.clock = Some(clock);
            self.before = time.first().copied().unwrap_or(0.0);
            self.base = if clock.is_clock { self.before } else { 0.0 };
        }
        if clock.is_clock {
            for time in &mut time {
                let step = *time - self.before;
                self.before = *time;
                if step < -MIDNIGHT_FALL_S {
                    self.shift += DAY_S * (-step / DAY_S).ceil();
                    repairs.push(Repair::of_file(
                        "midnight",
                        format!("the clock falls back by {:.0} s without a new date: taken as midnight", -step),
                    ));
                } else if self.shift > 0.0 && (step - DAY_S).abs() < MIDNIGHT_FALL_S {
                    self.shift -= DAY_S;
                }
                *time += self.shift - self.base;
            }
        }
        self.held.seconds.extend_from_slice(&time);
        if self.held.channels.is_empty() {
            self.held.channels = channels;
        } else {
            for ((_, held), (_, values)) in self.held.channels.iter_mut().zip(channels) {
                held.extend_from_slice(&values);
            }
        }
        Ok(())
    }

    /// Rows in order, each time once, but for the last few, which may have late ones yet.
    pub(super) fn give(&mut self, waiting: usize, repairs: &mut Vec<Repair>) -> Result<Window> {
        let Window { mut seconds, mut channels } = std::mem::take(&mut self.held);
        if steps_extent(&seconds).0 < 0.0 {
            let mut order: Vec<usize> = (0..seconds.len()).collect();
            let picked = |values: &Vec<f64>, order: &[usize]| -> Vec<f64> {
                order.iter().filter_map(|&at| values.get(at).copied()).collect()
            };
            order.sort_by(|&a, &b| seconds.get(a).unwrap_or(&0.0).total_cmp(seconds.get(b).unwrap_or(&0.0)));
            let late = order.iter().enumerate().filter(|(place, from)| place.abs_diff(**from) > WAITING).count();
            if late > 0 {
                return Err(disordered(format!("its rows are out of order by more than {WAITING} rows")));
            }
            repairs.push(Repair::of_file(
                "out of order",
                "rows were written after later ones; they were put in their place in time",
            ));
            seconds = picked(&seconds, &order);
            channels.iter_mut().for_each(|(_, values)| *values = picked(values, &order));
        }
        if self.last_given.zip(seconds.first().copied()).is_some_and(|(last, first)| first <= last) {
            return Err(disordered("time falls back from one part of it to the next"));
        }
        let mut cut = seconds.len().saturating_sub(waiting);
        while cut > 0 && cut < seconds.len() && seconds.get(cut) == seconds.get(cut - 1) {
            cut -= 1;
        }
        self.held = Window {
            seconds: seconds.split_off(cut),
            channels: channels.iter_mut().map(|(role, values)| (*role, values.split_off(cut))).collect(),
        };
        let line = Timeline { seconds, rows: Rows::default() };
        let keep = same_time(&line, &mut channels, repairs);
        let seconds = picked(line.seconds, keep.as_ref());
        channels.iter_mut().for_each(|(_, values)| *values = picked(std::mem::take(values), keep.as_ref()));
        self.last_given = seconds.last().copied().or(self.last_given);
        Ok(Window { seconds, channels })
    }
}

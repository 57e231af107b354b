//! Readings cleaned window by window, and the holes and falls among them.

use super::passes::{Survey, Window, disordered};
use super::rows::{WAITING, WINDOW};
use super::still::Still;
use super::walkers::Walkers;
use crate::error::Result;
use crate::oven::cell::TemperatureUnit;
use crate::oven::clean;
use crate::oven::loading::{Fall, LOOK_S, falls};
use crate::oven::order::Rows;
use crate::oven::repair::{Gap, Repair};
use crate::oven::role::Role;
use crate::oven::spike::{spikes, usual_bend};
use crate::oven::switched::{SAMPLES, switch};

/// Rows that are done and stay for their neighbours' sake.
const CONTEXT: usize = 8192;

/// The most falls that are kept.
const KEPT_FALLS: usize = 1000;

/// The most holes that are kept.
const MOST_GAPS: usize = 100_000;

/// Where readings are cleaned: rows that are done and stay for their neighbours' sake, then rows that are new.
pub(super) struct Bench<'a> {
    pub survey: &'a mut Survey,
    walkers: &'a mut Walkers,
    context: usize,
    held: Window,
    pub seen: Finder,
}

/// Holes and loadings, found as rows go by.
#[derive(Default)]
pub(super) struct Finder {
    last_row: Option<f64>,
    last_good: Vec<(Role, f64)>,
    pub all: Vec<Gap>,
    pub own: Vec<Gap>,
    pub repairs: Vec<Repair>,
    /// Falls that a part may have made, and how many were looked at.
    pub pending: Vec<Fall>,
    pub looked: usize,
    /// Where a channel seems to change its unit: elapsed second, °C before and behind.
    pub switch: Option<(Role, (f64, f64, f64))>,
    /// The longest stretch of one value in each channel.
    pub still: Vec<Still>,
}

impl<'a> Bench<'a> {
    pub(super) fn new(survey: &'a mut Survey, walkers: &'a mut Walkers) -> Self {
        Self { survey, walkers, context: 0, held: Window::default(), seen: Finder::default() }
    }

    pub(super) fn take(&mut self, window: Window) -> Result<()> {
        self.held.seconds.extend_from_slice(&window.seconds);
        if self.held.channels.is_empty() {
            self.held.channels = window.channels;
        } else {
            for ((_, held), (_, values)) in self.held.channels.iter_mut().zip(window.channels) {
                held.extend_from_slice(&values);
            }
        }
        if self.held.seconds.len() >= self.context + WINDOW { self.work(false) } else { Ok(()) }
    }

    /// Cleans the rows that are new, all but those whose neighbours are still to come.
    pub(super) fn work(&mut self, last: bool) -> Result<()> {
        let seconds = &self.held.seconds;
        let end_s = seconds.last().copied().unwrap_or(0.0);
        let known = seconds.partition_point(|&time| time < end_s - LOOK_S).min(seconds.len().saturating_sub(WAITING));
        // Very densely sampled records can't wait so long.
        let known = if seconds.len() > 8 * WINDOW { seconds.len() - WAITING } else { known };
        let until = if last { seconds.len() } else { known };
        let from = self.context;
        if until <= from {
            return Ok(());
        }
        let mut cleaned: Vec<(Role, Vec<f64>)> = Vec::new();
        for (role, values) in &self.held.channels {
            let Some(known) = self.survey.channels.iter_mut().find(|known| known.role == *role) else { continue };
            if !matches!(role, Role::Air | Role::PartSide) {
                continue;
            }
            let mut values = values.clone();
            if known.unit != TemperatureUnit::Celsius {
                values.iter_mut().skip(from).for_each(|value| *value = known.unit.to_celsius(*value));
            }
            let mut made = Vec::new();
            clean::faults((*role, known.unit), seconds, &Rows::default(), &mut values, known.typical, &mut made);
            let bend = *known.bend.get_or_insert_with(|| usual_bend(&values));
            spikes(*role, seconds, &Rows::default(), &mut values, bend, &mut made);
            for mut repair in made {
                repair.rows.retain(|row| (from..until).contains(row));
                if let (Some(first), Some(last)) = (repair.rows.first(), repair.rows.last()) {
                    let at = |row: &usize| seconds.get(*row).copied().unwrap_or(f64::NAN);
                    repair.seconds = Some((at(first), at(last)));
                    repair.why = format!("{} in a stretch of the file: {}", repair.rows.len(), repair.why);
                    repair.rows.clear();
                    self.seen.repairs.push(repair);
                }
            }
            if self.seen.switch.is_none() {
                let from = from.saturating_sub(2 * SAMPLES);
                let (seconds, values) =
                    (seconds.get(from..until).unwrap_or_default(), values.get(from..until).unwrap_or_default());
                self.seen.switch = switch(seconds, values).map(|(index, before, behind)| {
                    (*role, (seconds.get(index).copied().unwrap_or(f64::NAN), before, behind))
                });
            }
            cleaned.push((*role, values));
        }
        let of = |role: Role| cleaned.iter().find(|(known, _)| *known == role).map(|(_, values)| values.as_slice());
        if let Some(part) = of(Role::PartSide) {
            self.seen.falls(seconds, part, of(Role::Air), from, until);
        }
        self.seen.gaps(seconds, &cleaned, from, until, self.survey.longest)?;
        self.seen.still(seconds, &cleaned, from, until);
        if let Some(values) = of(self.walkers.role) {
            let (seconds, values) =
                (seconds.get(from..until).unwrap_or_default(), values.get(from..until).unwrap_or_default());
            self.walkers.walk(seconds, values)?;
        }
        // Rows that are done stay as they now are; the others as they came.
        let drop = until.saturating_sub(CONTEXT);
        for (role, values) in &mut self.held.channels {
            if let Some((_, cleaned)) = cleaned.iter().find(|(known, _)| known == role) {
                if let (Some(raw), Some(done)) = (values.get_mut(..until), cleaned.get(..until)) {
                    raw.copy_from_slice(done);
                }
            }
            values.drain(..drop.min(values.len()));
        }
        self.held.seconds.drain(..drop);
        self.context = until - drop;
        Ok(())
    }
}

impl Finder {
    fn falls(&mut self, seconds: &[f64], part: &[f64], air: Option<&[f64]>, from: usize, until: usize) {
        for (_, fall) in falls(seconds, part, air).into_iter().filter(|(index, _)| (from..until).contains(index)) {
            self.looked += 1;
            if self.looked <= KEPT_FALLS {
                self.pending.extend(fall);
            }
        }
        let new = part.get(..until).unwrap_or_default();
        self.pending.iter_mut().for_each(|fall| fall.watch(seconds, new));
    }

    fn still(&mut self, seconds: &[f64], channels: &[(Role, Vec<f64>)], from: usize, until: usize) {
        let air = channels.iter().find(|(role, _)| *role == Role::Air).and_then(|(_, values)| values.get(from..until));
        for (role, values) in channels {
            let at = self.still.iter().position(|still| still.role == *role).unwrap_or_else(|| {
                self.still.push(Still::of(*role));
                self.still.len() - 1
            });
            if let (Some(still), Some(seconds), Some(values)) =
                (self.still.get_mut(at), seconds.get(from..until), values.get(from..until))
            {
                still.watch(seconds, values, air);
            }
        }
    }

    fn gaps(
        &mut self,
        seconds: &[f64],
        channels: &[(Role, Vec<f64>)],
        from: usize,
        until: usize,
        longest: f64,
    ) -> Result<()> {
        for index in from..until {
            let Some(&time) = seconds.get(index) else { continue };
            let before = self.last_row.replace(time);
            if let Some(start_s) = before.filter(|before| time - before > longest) {
                self.all.push(Gap { channel: None, start_s, end_s: time });
            }
            for (role, values) in channels {
                if !values.get(index).is_some_and(|value| value.is_finite()) {
                    continue;
                }
                let last = match self.last_good.iter_mut().find(|(known, _)| known == role) {
                    Some((_, last)) => Some(std::mem::replace(last, time)),
                    None => {
                        self.last_good.push((*role, time));
                        None
                    }
                };
                if let Some(start_s) = last.filter(|&last| time - last > longest && before != Some(last)) {
                    self.own.push(Gap { channel: Some(*role), start_s, end_s: time });
                }
            }
        }
        if self.all.len() + self.own.len() > MOST_GAPS {
            return Err(disordered(format!("it has more than {MOST_GAPS} holes")));
        }
        Ok(())
    }
}

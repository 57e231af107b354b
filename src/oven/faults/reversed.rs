//! A thermocouple whose leads are the wrong way round: it falls, to below its terminals' temperature, as it heats.

use super::{CHANNELS, Fault, at, line, other};
use crate::oven::log::OvenLog;
use crate::oven::role::Role;

/// How far the other must rise, how steeply against it this one must fall, and how cold it must then show: an oven is
/// nowhere colder than its room.
const RISE_DELTA_C: f64 = 20.0;
const SLOPE: f64 = -0.3;
const COLD_C: f64 = 10.0;
/// A lone channel must fall this far below freezing.
const ALONE_C: f64 = -20.0;
const LEAST_ROWS: usize = 5;

impl OvenLog {
    pub(super) fn reversed(&self) -> Vec<Fault> {
        let (Some(air), Some(part)) = (self.read(Role::Air), self.read(Role::PartSide)) else {
            return self.reversed_alone();
        };
        [(Role::Air, air, part), (Role::PartSide, part, air)]
            .into_iter()
            .filter_map(|(role, mine, other)| self.reversed_beside(role, mine, other))
            .collect()
    }

    fn reversed_beside(&self, role: Role, mine: &[f64], theirs: &[f64]) -> Option<Fault> {
        // Up to the other's highest reading: a part that still warms while the air cools is no fault.
        let top = (0..theirs.len())
            .filter(|&row| at(theirs, row).is_finite())
            .max_by(|&a, &b| at(theirs, a).total_cmp(&at(theirs, b)))?;
        let rows: Vec<usize> =
            (0..=top).filter(|&row| at(mine, row).is_finite() && at(theirs, row).is_finite()).collect();
        let pairs: Vec<(f64, f64)> = rows.iter().map(|&row| (at(theirs, row), at(mine, row))).collect();
        let (slope, _) = line(&pairs)?;
        let (low, high) = pairs
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), pair| (low.min(pair.0), high.max(pair.0)));
        let coldest = pairs.iter().map(|pair| pair.1).fold(f64::INFINITY, f64::min);
        if high - low < RISE_DELTA_C || slope > SLOPE || coldest > COLD_C || rows.len() < LEAST_ROWS {
            return None;
        }
        let seconds = rows.first().zip(rows.last()).map(|(&a, &b)| (at(&self.seconds, a), at(&self.seconds, b)));
        Some(Fault {
            kind: "reversed thermocouple".to_owned(),
            channel: Some(role),
            rows,
            seconds,
            size_delta_c: Some((high - low) * (1.0 - slope)),
            why: format!(
                "it falls by {:.2} °C for each degree that {} rises, to {coldest:.0} °C: its leads are the wrong way \
                 round, and a controller on it would heat without end",
                -slope,
                other(role).name()
            ),
        })
    }

    /// A lone channel that only falls, to below freezing, from a start at room temperature.
    fn reversed_alone(&self) -> Vec<Fault> {
        let Some(role) = CHANNELS.into_iter().find(|&role| self.channel(role).is_some()) else { return Vec::new() };
        let values = self.read(role).unwrap_or_default();
        let good: Vec<usize> = (0..values.len()).filter(|&row| at(values, row).is_finite()).collect();
        let (Some(&first), Some(&last)) = (good.first(), good.last()) else { return Vec::new() };
        let (lowest, highest) = good
            .iter()
            .map(|&row| at(values, row))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)));
        let start = at(values, first);
        if !((0.0..50.0).contains(&start) && lowest < ALONE_C && highest < start + 10.0) {
            return Vec::new();
        }
        vec![Fault {
            kind: "reversed thermocouple".to_owned(),
            channel: Some(role),
            rows: good,
            seconds: Some((at(&self.seconds, first), at(&self.seconds, last))),
            size_delta_c: Some(2.0 * (start - lowest)),
            why: format!(
                "from {start:.0} °C it only falls, to {lowest:.0} °C: an oven that heats does not; its leads are the \
                 wrong way round"
            ),
        }]
    }
}

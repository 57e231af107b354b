//! Which part of the record did how much: heat-up, overshoot, hold, doors, cool-down.

use super::doors::DoorEvent;
use super::extent::extent;
use crate::error::Result;
use crate::temper::History;

/// What is farther from the hold's level than this belongs to heat-up, overshoot or cool-down, °C.
const HOLD_BAND_C: f64 = 5.0;

/// A part of the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Phase {
    HeatUp,
    Overshoot,
    Hold,
    Door,
    CoolDown,
}

impl Phase {
    const fn name(self) -> &'static str {
        match self {
            Self::HeatUp => "heat-up",
            Self::Overshoot => "overshoot",
            Self::Hold => "hold",
            Self::Door => "door",
            Self::CoolDown => "cool-down",
        }
    }
}

/// A history whose samples come in blocks, with a mark wherever one phase ends.
///
/// Whether a part that leaves the hold's level cools down for good shows only at the end: the way out is marked, and the
/// mark is taken back when it returns.
pub(super) struct Phases<'a> {
    history: History,
    hold_c: f64,
    /// Door openings that are not over yet.
    doors: &'a [DoorEvent],
    running: Phase,
    been_there: bool,
    away: Option<Away>,
}

/// A way out of the hold's level.
#[derive(Debug, Clone, Copy)]
struct Away {
    /// Marks up to the last sample that was there.
    marks: usize,
    /// Whether the last of them is there for its sake only.
    only: bool,
}

impl<'a> Phases<'a> {
    pub(super) fn new(mut history: History, hold_c: f64, doors: &'a [DoorEvent], before_s: f64) -> Self {
        if before_s > 0.0 {
            history.mark_apart("before loading", before_s);
        }
        Self { history, hold_c, doors, running: Phase::HeatUp, been_there: false, away: None }
    }

    /// Takes the next samples.
    pub(super) fn extend(&mut self, seconds: &[f64], celsius: &[f64]) -> Result<()> {
        if self.holds_on(seconds, celsius) {
            return self.history.extend(seconds, celsius);
        }
        let mut from = 0;
        for (index, (&time, &value)) in seconds.iter().zip(celsius).enumerate() {
            let (phase, there) = (self.phase(time, value), value >= self.hold_c - HOLD_BAND_C);
            let ends = phase != self.running;
            let leaves = self.been_there && self.away.is_none() && !there;
            if ends || leaves {
                if let (Some(seconds), Some(celsius)) = (seconds.get(from..index), celsius.get(from..index)) {
                    self.history.extend(seconds, celsius)?;
                }
                self.history.mark(self.running.name());
                from = index;
            }
            if leaves {
                self.away = Some(Away { marks: self.history.marks(), only: !ends });
            } else if there {
                if let Some(Away { marks, .. }) = self.away.take().filter(|away| away.only) {
                    self.history.join_mark(marks - 1);
                }
            }
            self.been_there |= there;
            self.running = phase;
        }
        match (seconds.get(from..), celsius.get(from..)) {
            (Some(seconds), Some(celsius)) => self.history.extend(seconds, celsius),
            _ => Ok(()),
        }
    }

    /// Ends the last phase.
    pub(super) fn finish(mut self) -> History {
        if let Some(away) = self.away {
            self.history.keep_marks(away.marks);
            self.running = Phase::CoolDown;
        }
        self.history.mark(self.running.name());
        self.history
    }

    /// Whether a block goes on in the hold throughout.
    fn holds_on(&self, seconds: &[f64], celsius: &[f64]) -> bool {
        let Some(&end_s) = seconds.last() else { return true };
        let (low, high) = extent(celsius);
        self.running == Phase::Hold
            && self.away.is_none()
            && low >= self.hold_c - HOLD_BAND_C
            && high <= self.hold_c + HOLD_BAND_C
            && self.doors.first().is_none_or(|door| door.start_s >= end_s)
    }

    /// The phase of a sample, a cool-down apart.
    fn phase(&mut self, time: f64, celsius: f64) -> Phase {
        while self.doors.first().is_some_and(|door| door.recovered_s < time) {
            self.doors = self.doors.get(1..).unwrap_or_default();
        }
        if !self.been_there {
            Phase::HeatUp
        } else if self.doors.first().is_some_and(|door| door.start_s < time) {
            Phase::Door
        } else if celsius > self.hold_c + HOLD_BAND_C {
            Phase::Overshoot
        } else {
            Phase::Hold
        }
    }
}

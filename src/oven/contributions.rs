//! Which part of the record did how much: heat-up, overshoot, hold, doors, cool-down.

use super::doors::DoorEvent;
use super::response::Trace;
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

/// The history of a trace with a mark wherever one phase ends.
pub(super) fn marked(
    mut history: History,
    trace: &Trace,
    hold_c: f64,
    doors: &[DoorEvent],
    before_s: f64,
) -> Result<History> {
    if before_s > 0.0 {
        history.mark_apart("before loading", before_s);
    }
    let there = |celsius: f64| celsius >= hold_c - HOLD_BAND_C;
    let first = trace.celsius.iter().position(|&celsius| there(celsius)).unwrap_or(trace.celsius.len());
    let last = trace.celsius.iter().rposition(|&celsius| there(celsius)).unwrap_or(trace.celsius.len());
    let phase = |index: usize| {
        let time = trace.seconds.get(index).copied().unwrap_or(f64::NAN);
        let celsius = trace.celsius.get(index).copied().unwrap_or(f64::NAN);
        if index <= first {
            Phase::HeatUp
        } else if index > last {
            Phase::CoolDown
        } else if doors.iter().any(|door| door.start_s < time && time <= door.recovered_s) {
            Phase::Door
        } else if celsius > hold_c + HOLD_BAND_C {
            Phase::Overshoot
        } else {
            Phase::Hold
        }
    };
    let mut from = 0;
    let mut running = phase(0);
    for index in 1..=trace.seconds.len() {
        let next = (index < trace.seconds.len()).then(|| phase(index));
        if next != Some(running) {
            let (seconds, celsius) = (trace.seconds.get(from..index), trace.celsius.get(from..index));
            if let (Some(seconds), Some(celsius)) = (seconds, celsius) {
                history.extend(seconds, celsius)?;
                history.mark(running.name());
            }
            from = index;
            running = next.unwrap_or(running);
        }
    }
    Ok(history)
}

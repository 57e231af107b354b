//! What a part has had before: a measured history, flat holds after it, or nothing that was said.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result};
use crate::estimate::root_sum_of_squares;
use crate::quantity::{HoldTime, Temperature, ZERO_CELSIUS_K};
use crate::temper::{ConstantBelief, History};

/// The tempers a part has had. Empty: not said, so that a curve has to say from the reading.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Earlier {
    /// What a log left, with the standard uncertainty of its two-hour equivalent beside C's; °C.
    pub history: Option<(History, f64)>,
    /// Flat holds, in order, after that.
    pub holds: Vec<(Temperature, HoldTime)>,
}

/// The parameter after a further hold at one temperature: exact, the equivalent times add.
pub(super) fn held(m: f64, kelvin: f64, hours: f64, c: f64) -> f64 {
    kelvin * (c + (10f64.powf(m / kelvin - c) + hours).log10())
}

impl Earlier {
    /// Flat holds alone.
    #[must_use]
    pub const fn holds(holds: Vec<(Temperature, HoldTime)>) -> Self {
        Self { history: None, holds }
    }

    /// Whether nothing was said.
    #[must_use]
    pub fn is_unknown(&self) -> bool {
        self.history.is_none() && self.holds.is_empty()
    }

    /// Refuses holds that make no sense, and a C for which the history was not made.
    pub(super) fn checked(&self, c: ConstantBelief) -> Result<()> {
        super::part::state(&self.holds, c.middle())?;
        let Some((history, _)) = &self.history else { return Ok(()) };
        let constants = history.constants();
        let low = constants.iter().copied().fold(f64::INFINITY, f64::min);
        let high = constants.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let (least, most) = c.ends();
        if low == high || (low - 1e-9 <= least && most <= high + 1e-9) {
            return Ok(());
        }
        Err(Error::Refused {
            what: format!("a History made for C = {low} to {high} with {}", c.text()).into(),
            why: "what a log leaves depends on C".into(),
            instead: "Make it with log.history(c=...) for the C you mean, or leave c= out".into(),
        })
    }

    /// The parameter of the part for one C, the first temper and every further one hotter by `off_delta_c`.
    pub(super) fn parameter(&self, c: f64, off_delta_c: f64) -> f64 {
        let start = self.history.as_ref().map_or(f64::NEG_INFINITY, |(history, _)| {
            (history.at_constant(c) + off_delta_c + ZERO_CELSIUS_K) * (c + 2f64.log10())
        });
        self.holds.iter().fold(start, |m, (at, time)| held(m, at.kelvin() + off_delta_c, time.hours(), c))
    }

    /// One standard uncertainty of the earlier temperature, for an oven whose own is `u_oven_delta_c`.
    pub(super) fn u_delta_c(&self, u_oven_delta_c: f64) -> f64 {
        let log = self.history.as_ref().map_or(0.0, |(_, u)| *u);
        if self.holds.is_empty() { log } else { root_sum_of_squares([log, u_oven_delta_c]) }
    }

    /// The last temperature, for "by time alone".
    pub(super) fn last(&self, c: f64) -> Option<Temperature> {
        let log = || self.history.as_ref().map(|(history, _)| Temperature::from_celsius(history.at_constant(c)));
        self.holds.last().map(|(at, _)| *at).or_else(log)
    }

    /// In words.
    #[must_use]
    pub fn text(&self) -> String {
        let log = self
            .history
            .as_ref()
            .map(|(history, _)| format!("a history worth {:.1} °C for two hours", history.estimate().value()));
        let holds = self.holds.iter().map(|(at, time)| format!("{:.1} °C {} h", at.celsius(), time.hours()));
        let all: Vec<String> = log.into_iter().chain(holds).collect();
        if all.is_empty() { "not said: taken from the reading".to_owned() } else { all.join(", then ") }
    }
}

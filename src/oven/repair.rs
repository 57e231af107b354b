//! What was changed or found on the way from a file to a trace: every repair is a note, none is silent.

use serde::{Deserialize, Serialize};

use std::fmt;

use super::role::Role;
use crate::error::Text;

/// One repair, or one thing that must be known about the record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Repair {
    /// The trap's name: "spike", "gap", "duplicate", "nan", "fault code", "jitter", "midnight", "unit" …
    pub kind: Text,
    /// The channel, or nothing where the row as a whole is meant.
    pub channel: Option<Role>,
    /// Data rows touched, counted from 0 in the order of the file; none where the whole file is meant.
    pub rows: Vec<usize>,
    /// First and last elapsed second touched, where that has a meaning.
    pub seconds: Option<(f64, f64)>,
    /// What was done and why.
    pub why: String,
}

impl Repair {
    /// A note about the whole file.
    pub(super) fn of_file(kind: impl Into<Text>, why: impl Into<String>) -> Self {
        Self { kind: kind.into(), channel: None, rows: Vec::new(), seconds: None, why: why.into() }
    }
}

/// Writes what was found, on which channel, when and why.
pub(super) fn told(
    to: &mut fmt::Formatter<'_>,
    kind: &str,
    (channel, seconds): (Option<Role>, Option<(f64, f64)>),
    why: &str,
) -> fmt::Result {
    write!(to, "{kind}")?;
    if let Some(channel) = channel {
        write!(to, " on {}", channel.name())?;
    }
    match seconds {
        Some((from, until)) if from == until => write!(to, " at {from:.0} s")?,
        Some((from, until)) => write!(to, " from {from:.0} to {until:.0} s")?,
        None => {}
    }
    write!(to, ": {why}")
}

impl fmt::Display for Repair {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        told(to, &self.kind, (self.channel, self.seconds), &self.why)
    }
}

/// A hole in the record.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Gap {
    /// The channel it is in, or nothing where all rows are missing.
    pub channel: Option<Role>,
    /// Last good sample before it, in elapsed seconds.
    pub start_s: f64,
    /// First good sample behind it.
    pub end_s: f64,
}

impl Gap {
    /// That nothing was filled in, where holes up to `longest` s are bridged.
    pub(super) fn noted(self, longest: f64) -> Repair {
        Repair {
            kind: "gap".into(),
            channel: self.channel,
            rows: Vec::new(),
            seconds: Some((self.start_s, self.end_s)),
            why: format!(
                "no reading for {:.0} s, longer than {longest:.0} s; nothing was filled in, and what follows carries bounds",
                self.end_s - self.start_s
            ),
        }
    }
}

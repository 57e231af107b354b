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

impl fmt::Display for Repair {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(to, "{}", self.kind)?;
        if let Some(channel) = self.channel {
            write!(to, " on {}", channel.name())?;
        }
        match self.seconds {
            Some((from, until)) if from == until => write!(to, " at {from:.0} s")?,
            Some((from, until)) => write!(to, " from {from:.0} to {until:.0} s")?,
            None => {}
        }
        write!(to, ": {}", self.why)
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

//! "Not determined" as an answer: why, and what would settle it.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Text};
use crate::estimate::Estimate;

/// A quantity that the data do not settle.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct NotDetermined {
    /// The quantity.
    pub what: Text,
    /// Why the data do not give it.
    pub why: Text,
    /// What would.
    pub would_determine: Text,
    /// The 95 % range that the data leave, where there is one; 0 and infinity where it is open.
    pub range: Option<(f64, f64)>,
}

impl NotDetermined {
    /// The same as an error, for who needs the number.
    #[must_use]
    pub fn error(&self) -> Error {
        Error::NotDetermined {
            what: self.what.clone(),
            why: self.why.clone(),
            would_determine: self.would_determine.clone(),
        }
    }
}

/// A quantity that the data settle, or not.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Determined {
    /// They do.
    Is(Estimate),
    /// They do not.
    Not(NotDetermined),
}

impl Determined {
    /// The estimate, if there is one.
    #[must_use]
    pub const fn estimate(&self) -> Option<&Estimate> {
        match self {
            Self::Is(estimate) => Some(estimate),
            Self::Not(_) => None,
        }
    }
}

//! Which temperatures give a hardness window: every stretch of the curve that passes through it.

use serde::{Deserialize, Serialize};

use super::forward::Forward;
use crate::error::Result;

/// A stretch of temperatures whose nominal hardness lies in the window; °C.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Window {
    /// Lower end.
    pub low_c: f64,
    /// Upper end.
    pub high_c: f64,
}

impl Window {
    /// The middle.
    #[must_use]
    pub const fn middle_c(self) -> f64 {
        0.5 * (self.low_c + self.high_c)
    }
}

/// Every window for a hardness between the limits (which may be equal), coolest first.
pub(super) fn windows(forward: &Forward<'_>, (low, high): (f64, f64), hours: f64, c: f64) -> Result<Vec<Window>> {
    let (coolest, hottest) = forward.range(hours, c);
    let mut breaks = vec![coolest, hottest];
    let crossings = [forward.roots(low, hours, c)?, forward.roots(high, hours, c)?].concat();
    breaks.extend(&crossings);
    breaks.sort_by(f64::total_cmp);
    let mut made: Vec<Window> = Vec::new();
    for (&low_c, &high_c) in breaks.iter().zip(breaks.iter().skip(1)) {
        let hardness = forward.hardness(0.5 * (low_c + high_c), hours, c)?;
        if high_c <= low_c || hardness < low || hardness > high {
            continue;
        }
        match made.last_mut() {
            Some(before) if before.high_c >= low_c - 1e-9 => before.high_c = high_c,
            _ => made.push(Window { low_c, high_c }),
        }
    }
    if made.is_empty() {
        // A window of no width still has its single points.
        made = crossings.iter().map(|&at| Window { low_c: at, high_c: at }).collect();
        made.sort_by(|a, b| a.low_c.total_cmp(&b.low_c));
        made.dedup_by(|a, b| (a.low_c - b.low_c).abs() < 1e-6);
    }
    Ok(made)
}

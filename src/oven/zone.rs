//! Time zones: a local clock as seconds that run evenly.

use std::sync::Arc;

/// The offset of a local clock from UTC in seconds, for a local time in seconds since 1970; the flag asks for the
/// second passage where the clock shows an hour twice.
pub type UtcOffset = dyn Fn(f64, bool) -> f64 + Send + Sync;

/// A time zone.
#[derive(Clone)]
pub struct Zone(pub Arc<UtcOffset>);

impl std::fmt::Debug for Zone {
    fn fmt(&self, to: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        to.write_str("Zone")
    }
}

impl Zone {
    /// Local clock readings as seconds that run evenly.
    pub(super) fn even(&self, local: &mut [f64]) {
        // Offsets change on quarter hours; asking once for each saves most calls.
        let (mut quarter, mut offsets) = (f64::NAN, (0.0, 0.0));
        let mut before = f64::NEG_INFINITY;
        for time in local.iter_mut().filter(|time| time.is_finite()) {
            let now = (*time / 900.0).floor();
            if now != quarter {
                quarter = now;
                offsets = ((self.0)(*time, false), (self.0)(*time, true));
            }
            let first = *time - offsets.0;
            *time = if first < before { *time - offsets.1 } else { first };
            before = *time;
        }
    }
}

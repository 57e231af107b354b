//! Readings that do not move: what display and tester leave open where the coupons show nothing of it.

use crate::hardness::{Scale, spread_without_readings};

/// Standard deviation that the display's step leaves in a reading: flat over the step (JCGM 100:2008, F.2.2.1).
pub(super) fn display_sd() -> f64 {
    Scale::Hrc.record().resolution / 12f64.sqrt()
}

/// What one reading is taken to scatter where readings show nothing, and where that comes from.
pub(super) fn assumed_sd(hrc: f64) -> (f64, String) {
    spread_without_readings(Scale::Hrc, hrc)
}

/// The same as a sentence: who reads the answer must know that its width is no finding.
pub(super) fn said(what: &str, how: &str) -> String {
    format!(
        "{what} no more than the display's step can show: {how}. Read a block to see whether the tester moves at all"
    )
}

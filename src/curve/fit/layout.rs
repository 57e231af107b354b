//! How the coupons of a fit lie: the hold at which C drops out, and how many unknowns they can bear.

use super::coupons::{CouponOptions, LineShape};
use super::model::{Line, Row};
use crate::curve::after_temper::HardnessAfterTemper;
use crate::curve::tempering::TemperingCurve;
use crate::error::{Error, Result};
use crate::temper::TWO_HOURS;

/// Temperatures closer than this are one, °C.
pub(super) const SAME_DELTA_C: f64 = 1.0;

/// The hold at which C drops out: the base's; else the one all share, or two hours where they lie on both sides of it.
pub(super) fn own_hold(rows: &[Row], base: Option<&TemperingCurve>) -> f64 {
    if let Some(base) = base {
        return base.reference_hold().hours();
    }
    let low = rows.iter().map(|row| row.hours).fold(f64::INFINITY, f64::min);
    let high = rows.iter().map(|row| row.hours).fold(0.0, f64::max);
    let two = TWO_HOURS.hours();
    if low <= two && two <= high { two } else { (low * high).sqrt() }
}

/// How many values are farther apart than `same`.
fn distinct(values: impl Iterator<Item = f64>, same: f64) -> usize {
    let mut sorted: Vec<f64> = values.collect();
    sorted.sort_by(f64::total_cmp);
    let mut count = 0;
    let mut last = f64::NEG_INFINITY;
    for value in sorted {
        if value - last > same {
            count += 1;
            last = value;
        }
    }
    count
}

pub(super) fn temperatures(rows: &[Row]) -> usize {
    distinct(rows.iter().map(|row| row.celsius), SAME_DELTA_C)
}

pub(super) fn has_several_holds(rows: &[Row]) -> bool {
    distinct(rows.iter().map(|row| row.hours.log10()), 1e-9) > 1
}

/// The highest degree the coupons can bear.
pub(super) fn highest_degree(rows: &[Row], options: &CouponOptions, line: &Line<'_>, c: f64) -> Result<usize> {
    let (count, warm) = (rows.len(), temperatures(rows));
    if options.base.is_some() {
        return Ok(usize::from(warm >= 3));
    }
    let places = distinct(rows.iter().map(|row| line.equivalent(row.celsius, row.hours, c)), SAME_DELTA_C);
    let with_c = usize::from(warm > 1 && has_several_holds(rows));
    match (options.shape, places) {
        (LineShape::Parabola, _) if warm < 3 || count < 4 + with_c => Err(Error::NotDetermined {
            what: "a parabola".into(),
            why: format!("there are {count} coupons at {warm} temperatures").into(),
            would_determine: "five coupons or more at three temperatures or more".into(),
        }),
        (LineShape::Parabola, _) => Ok(2),
        (_, 0 | 1) => Ok(0),
        (LineShape::Automatic, _) if warm >= 4 && count >= 5 + with_c => Ok(2),
        _ => Ok(1),
    }
}

/// Whether the coupons can say anything of C: two temperatures, two holds, and a coupon to spare.
pub(super) fn may_determine_c(rows: &[Row], degree: usize) -> bool {
    temperatures(rows) > 1 && has_several_holds(rows) && rows.len() > degree + 2
}

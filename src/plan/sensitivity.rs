//! What a change of temperature, time or knowledge is worth.

use serde::{Deserialize, Serialize};

use super::equivalents::time_at;
use super::spread::{Fineness, Unknowns, outcome};
use crate::error::Result;
use crate::quantity::{HoldTime, Temperature};
use crate::temper::ConstantBelief;

/// One change and what it does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sensitivity {
    /// The change, in words.
    pub change: String,
    /// How far it moves the hardness; HRC.
    pub hardness_delta_hrc: f64,
    /// The chance of landing inside the window with it.
    pub p_inside: f64,
    /// What it is the same as.
    pub same_as: String,
}

/// A schedule as the numbers that a change is applied to.
#[derive(Debug, Clone, Copy)]
pub(super) struct Base<'a> {
    pub(super) temperature_c: f64,
    pub(super) time_h: f64,
    pub(super) cycles: u32,
    pub(super) target: (f64, f64),
    pub(super) unknowns: Unknowns,
    pub(super) c: ConstantBelief,
    pub(super) u_reading_hrc: f64,
    /// How far the earlier temper may be off, °C with weights.
    pub(super) earlier: &'a [(f64, f64)],
}

/// Hardness after `(temperature in °C, total hours, C, how far the earlier temper was off in °C)`.
pub(super) type Hardness<'a> = &'a dyn Fn(f64, f64, f64, f64) -> Result<f64>;

/// What u of curve and batch together is taken for after three own coupons of the same bar and hardening.
const OWN_COUPONS_U_HRC: f64 = 0.3;

/// The table of changes around a schedule.
pub(super) fn sensitivity(hardness: Hardness<'_>, base: Base<'_>) -> Result<Vec<Sensitivity>> {
    let mut rows = Vec::new();
    for by in [10.0, -10.0] {
        let hold = HoldTime::from_hours(base.time_h);
        let moved = Temperature::from_celsius(base.temperature_c + by);
        let factor = time_at((moved, hold), Temperature::from_celsius(base.temperature_c), base.c)?;
        let (low, high) = factor.interval(0.95)?;
        let (low, high) = (low / base.time_h, high / base.time_h);
        let factor = if high - low < 0.005 { format!("{low:.2}") } else { format!("{low:.2} to {high:.2}") };
        let row = Base { temperature_c: base.temperature_c + by, ..base };
        rows.push(changed(hardness, base, row, format!("{by:+} °C"), format!("{factor} times the time"))?);
    }
    let total_h = base.time_h * f64::from(base.cycles);
    let near = |by: f64| hardness(base.temperature_c + by, total_h, base.c.middle(), 0.0);
    let slope = 0.5 * (near(1.0)? - near(-1.0)?);
    for percent in [10.0, -10.0] {
        let row = Base { time_h: base.time_h * (1.0 + percent / 100.0), ..base };
        let mut made = changed(hardness, base, row, format!("{percent:+} % time"), String::new())?;
        if slope != 0.0 {
            made.same_as = format!("{:+.1} °C", made.hardness_delta_hrc / slope);
        }
        rows.push(made);
    }
    let again = Base { cycles: base.cycles + 1, ..base };
    rows.push(changed(
        hardness,
        base,
        again,
        format!("one more cycle of {} h", base.time_h),
        "by the parameter alone: says nothing about retained austenite".to_owned(),
    )?);
    let mut steady = base.unknowns;
    steady.hold.position_delta_c = steady.hold.position_delta_c.min(1.0);
    rows.push(changed(
        hardness,
        base,
        Base { unknowns: steady, ..base },
        "an oven even to ±1 °C".to_owned(),
        "what a better oven buys".to_owned(),
    )?);
    let coupons = Unknowns { u_curve_hrc: OWN_COUPONS_U_HRC, u_batch_hrc: 0.0, batch_in_curve: false, ..base.unknowns };
    let known = base.unknowns.u_curve_hrc.hypot(base.unknowns.u_batch_hrc);
    if known > OWN_COUPONS_U_HRC {
        rows.push(changed(
            hardness,
            base,
            Base { unknowns: coupons, ..base },
            format!("three own coupons (u = {OWN_COUPONS_U_HRC} HRC for curve and batch)"),
            "only for parts of the same bar and hardening as the coupons".to_owned(),
        )?);
    }
    Ok(rows)
}

fn changed(
    hardness: Hardness<'_>,
    base: Base<'_>,
    row: Base<'_>,
    change: String,
    same_as: String,
) -> Result<Sensitivity> {
    let before = hardness(base.temperature_c, base.time_h * f64::from(base.cycles), base.c.middle(), 0.0)?;
    let normal =
        [("curve", row.unknowns.u_curve_hrc), ("batch", row.unknowns.u_batch_hrc), ("reading", row.u_reading_hrc)];
    let hold = (row.temperature_c, row.time_h, row.cycles);
    let made = outcome(hardness, hold, &row.unknowns, (row.c, row.earlier), &normal, Fineness::Answer)?;
    Ok(Sensitivity {
        change,
        hardness_delta_hrc: made.nominal() - before,
        p_inside: made.inside(row.target.0, row.target.1),
        same_as,
    })
}

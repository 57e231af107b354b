//! What is asked of a plan, and what can't be asked.

use super::cautions::Band;
use super::spread::{PLAN_SPREAD, Unknowns};
use crate::curve::{AsQuenchedReading, HardnessAfterTemper};
use crate::error::{Error, Result};
use crate::oven::Surroundings;
use crate::quantity::{HoldTime, Length, Temperature};
use crate::temper::{ConstantBelief, UNKNOWN_STEEL};

pub(super) const ID: &str = PLAN_SPREAD.id;

/// What is asked of a plan.
#[derive(Debug, Clone)]
pub struct Request {
    /// Hardness window, lower and upper limit; HRC.
    pub target: (f64, f64),
    /// Time of one cycle.
    pub time: HoldTime,
    /// Number of cycles.
    pub cycles: u32,
    /// The hottest the oven can do.
    pub oven_limit: Option<Temperature>,
    /// The part's hardness before the temper, where it was measured, with its uncertainty where one is stated.
    pub as_quenched: Option<AsQuenchedReading>,
    /// The part's thickness, where it is known.
    pub thickness: Option<Length>,
    /// What is around the part in the oven.
    pub surroundings: Surroundings,
    /// What is not known about oven, timer, curve and batch.
    pub unknowns: Unknowns,
    /// What is believed of C.
    pub c: ConstantBelief,
    /// Bands of temperature that sources warn of for this steel.
    pub bands: Vec<Band>,
}

pub(super) fn invalid(argument: &'static str, value: f64, unit: &'static str, why: &str, hint: &str) -> Error {
    Error::invalid(ID, argument, (value, unit), why.to_owned(), hint.to_owned())
}

/// A number of HRC units, hours or millimetres that must be finite and positive.
pub(super) fn positive(argument: &'static str, value: f64, unit: &'static str) -> Result<()> {
    if value.is_finite() && value > 0.0 {
        return Ok(());
    }
    Err(invalid(argument, value, unit, "is not a positive number", "Check the number and its unit"))
}

/// A hold of one cycle that somebody could mean, known better than it is long.
pub(super) fn hold_is_one(time: HoldTime, unknowns: &Unknowns) -> Result<()> {
    positive("time_h", time.hours(), "h")?;
    PLAN_SPREAD.check("time_h", time.hours())?;
    let spread_min = 60.0 * unknowns.hold.time_h;
    if spread_min >= 60.0 * time.hours() {
        let why = format!("is as long as the hold of {} min itself", 60.0 * time.hours());
        let hint = "It is the half width of a timer's error: a few minutes";
        return Err(invalid("time_spread_min", spread_min, "min", &why, hint));
    }
    Ok(())
}

impl Request {
    /// A request with the usual assumptions for a curve: two hours, one cycle, the curve's own scatter and C.
    #[must_use]
    pub fn new(curve: &dyn HardnessAfterTemper, target: (f64, f64)) -> Self {
        Self {
            target,
            time: HoldTime::from_hours(2.0),
            cycles: 1,
            oven_limit: None,
            as_quenched: None,
            thickness: None,
            surroundings: Surroundings::FanAir,
            unknowns: Unknowns::of(curve),
            c: curve.constant().unwrap_or(UNKNOWN_STEEL),
            bands: super::cautions::general_bands(),
        }
    }

    pub(super) fn checked(&self) -> Result<()> {
        let (low, high) = self.target;
        for (argument, value) in [("target_hrc (lower)", low), ("target_hrc (upper)", high)] {
            positive(argument, value, "HRC")?;
        }
        if low >= high {
            return Err(invalid(
                "target_hrc",
                low,
                "HRC",
                &format!("is not below the upper limit {high}"),
                "Give (lower, upper), as in (58, 60)",
            ));
        }
        hold_is_one(self.time, &self.unknowns)?;
        if !(1..=10).contains(&self.cycles) {
            let cycles = f64::from(self.cycles);
            return Err(invalid("cycles", cycles, "", "is not a number of cycles", "Give 1, 2 or 3"));
        }
        if let Some(thickness) = self.thickness {
            positive("thickness_mm", thickness.mm(), "mm")?;
        }
        if let Some(limit) = self.oven_limit {
            positive("oven_limit_c", limit.celsius(), "°C")?;
        }
        self.unknowns.checked()?;
        self.c.checked()?;
        Ok(())
    }

    /// What was put in, for the record.
    pub(super) fn inputs(&self) -> Vec<(String, String)> {
        let (low, high) = self.target;
        let mut made = vec![
            ("hardness wanted".to_owned(), format!("{low} to {high} HRC")),
            ("time of one cycle".to_owned(), format!("{} h", self.time.hours())),
            ("cycles".to_owned(), self.cycles.to_string()),
        ];
        let optional = [
            ("as-quenched hardness", self.as_quenched.map(AsQuenchedReading::text)),
            ("oven's limit", self.oven_limit.map(|limit| format!("{} °C", limit.celsius()))),
            ("thickness", self.thickness.map(|thickness| format!("{} mm", thickness.mm()))),
            // Without a thickness nothing is heated through, and they count for nothing.
            ("surroundings", self.thickness.map(|_| self.surroundings.name().to_owned())),
        ];
        made.extend(optional.into_iter().filter_map(|(name, value)| value.map(|value| (name.to_owned(), value))));
        made.push(("steel's constant".to_owned(), self.c.text()));
        made.extend(self.unknowns.inputs());
        made
    }
}

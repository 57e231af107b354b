//! Readings of one's own: what they are, and which are none.

use serde::{Deserialize, Serialize};

use super::range::check_hold;
use super::record::TEMPERED;
use crate::error::{Error, Result};
use crate::quantity::{HoldTime, Temperature};

/// More readings than this are a table, and a table has a curve.
pub(super) const MOST_READINGS: usize = 500;

/// A hardness measured after a temper: the mean of a place's indentations.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct OwnReading {
    /// The temper's temperature.
    pub temperature: Temperature,
    /// Its hold.
    pub time: HoldTime,
    /// The reading, HRC.
    pub hrc: f64,
    /// One standard uncertainty of the reading; `None` takes the scatter of the measured rows.
    pub u: Option<f64>,
}

impl OwnReading {
    /// In words.
    pub(super) fn text(&self) -> String {
        let (celsius, hours) = (self.temperature.celsius(), self.time.hours());
        format!("the reading {} HRC after {celsius} °C for {hours} h", (100.0 * self.hrc).round() / 100.0)
    }
}

/// Refuses a reading that is none.
pub(super) fn checked(reading: &OwnReading) -> Result<()> {
    check_hold(reading.temperature, reading.time)?;
    let numbers = [
        ("readings: temperature_c", reading.temperature.celsius(), true),
        ("readings: time_h", reading.time.hours(), true),
        ("readings: hrc", reading.hrc, true),
        ("readings: u", reading.u.unwrap_or(1.0), reading.u.is_none_or(|u| u > 0.0)),
    ];
    for (argument, value, fits) in numbers {
        if !value.is_finite() || !fits {
            return Err(Error::invalid(
                TEMPERED.id,
                argument,
                (value, ""),
                "is no reading",
                "A reading is (temperature_c, time_h, hrc) or with its standard uncertainty behind; leave out what \
                       was not measured",
            ));
        }
    }
    // As of coupons: a reading off the scale is no reading, whatever its error.
    match TEMPERED.range("as_quenched_hrc") {
        Some(scale) if !scale.contains(reading.hrc) => Err(Error::outside(
            TEMPERED.id,
            "readings: hrc",
            (reading.hrc, "HRC"),
            (scale.low, scale.high),
            scale.stated_by,
            "Below 20 HRC read HRB or HV: a converted HRC is no reading either; above 70 check the scale. Leave it out",
        )),
        _ => Ok(()),
    }
}

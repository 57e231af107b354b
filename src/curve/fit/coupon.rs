//! Coupons as a shop writes them down: a table with a row each, read into numbers with every slip named.

use serde::{Deserialize, Serialize};

use super::table::{TEMPERATURE, TIME, Table, TextColumn, columns_of};
use crate::error::{Error, Result};
use crate::hardness::Scale;
use crate::quantity::{HoldTime, SteelConstant, Temperature};
use crate::temper::{TWO_HOURS, equivalent_temperature};

/// One tempered test piece and what was read on it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Coupon {
    /// What it is called.
    pub name: String,
    /// The bar or heat it was cut from, where the table says so.
    pub batch: Option<String>,
    /// Temperature of its hold.
    pub temperature: Temperature,
    /// Time of its hold; for cycles their sum.
    pub time: HoldTime,
    /// Hardness readings, HRC.
    pub readings: Vec<f64>,
    /// One standard uncertainty of the temperature, °C.
    pub u_temperature: f64,
    /// One standard uncertainty of the time, h.
    pub u_time: f64,
    /// Hardness before the temper, HRC.
    pub as_quenched_hrc: Option<f64>,
    /// What was noted about it.
    pub remark: String,
}

/// Reads coupons from the text of a table: fields between commas, semicolons, tabs or bars, decimals with a point or a
/// comma; lines that begin with `#` are skipped.
///
/// # Errors
/// [`Error::DataFile`] as [`read_coupons`], with the line, and for a text that is no table.
pub fn read_coupon_file(bytes: &[u8], file: &str) -> Result<Vec<Coupon>> {
    let (columns, lines) = columns_of(bytes, file)?;
    coupons(&Table { columns: &columns, file, lines: &lines })
}

/// Reads coupons from columns of text; `file` is what messages call the table.
///
/// # Errors
/// [`Error::DataFile`] naming row and column for a cell that is no number or a coupon without a reading,
/// [`Error::OutOfRange`] for a reading off the Rockwell C scale, [`Error::InvalidValue`] for impossible holds,
/// [`Error::Refused`] for another scale.
pub fn read_coupons(columns: &[TextColumn], file: &str) -> Result<Vec<Coupon>> {
    coupons(&Table { columns, file, lines: &[] })
}

fn coupons(table: &Table<'_>) -> Result<Vec<Coupon>> {
    let rows = table.rows();
    let temperature = table.needed(TEMPERATURE)?;
    let time = table.needed(TIME)?;
    let readings = table.readings()?;
    let optional = |names: &[&str]| table.find(names);
    let (name, batch, cycles, scale) = (
        optional(&["coupon", "name", "id"]),
        optional(&["batch", "heat", "bar"]),
        optional(&["cycles"]),
        optional(&["scale"]),
    );
    let (u_temperature, u_time) = (
        optional(&["u_temperature_c", "u_temperature_delta_c", "u_temper_delta_c"]),
        optional(&["u_time_h", "u_hold_h"]),
    );
    let (as_quenched, remark) = (optional(&["as_quenched_hrc"]), optional(&["remark", "note"]));
    if rows == 0 {
        return Err(table.refusal(None, None, "it has no coupon"));
    }
    let mut made = Vec::with_capacity(rows);
    for row in 0..rows {
        if let Some(scale) = table.text(scale, row) {
            if !scale.eq_ignore_ascii_case("HRC") {
                return Err(Error::Refused {
                    what: format!("coupons in {scale} ({}, row {})", table.file, row + 1).into(),
                    why: "a curve is fitted in HRC, and conversion adds an error of its own that all coupons share"
                        .into(),
                    instead: "Read coupons on HRC, or convert with convert_hardness_estimate and give the column hrc"
                        .into(),
                });
            }
        }
        let cycles = cycles.map_or(Ok(None), |column| table.number(column, row))?.unwrap_or(1.0);
        let hold = table.present(time, row)?;
        let coupon = Coupon {
            name: table.text(name, row).map_or_else(|| format!("row {}", row + 1), str::to_owned),
            batch: table.text(batch, row).map(str::to_owned),
            temperature: Temperature::from_celsius(table.present(temperature, row)?),
            time: HoldTime::from_hours(hold * cycles),
            readings: readings
                .iter()
                .filter_map(|column| table.number(column, row).transpose())
                .collect::<Result<Vec<f64>>>()?,
            u_temperature: u_temperature.map_or(Ok(None), |column| table.number(column, row))?.unwrap_or(0.0),
            u_time: u_time.map_or(Ok(None), |column| table.number(column, row))?.unwrap_or(0.0),
            as_quenched_hrc: as_quenched.map_or(Ok(None), |column| table.number(column, row))?,
            remark: table.text(remark, row).unwrap_or("").to_owned(),
        };
        if coupon.readings.is_empty() {
            return Err(table.refusal(Some(row), None, format!("coupon {} has no reading", coupon.name)));
        }
        made.push(coupon.checked()?);
    }
    Ok(made)
}

/// A slip of the pen lies beyond these: kelvin or °F for °C, minutes or seconds for hours.
const TEMPERATURES_C: (f64, f64) = (20.0, 750.0);
const HOLDS_H: (f64, f64) = (1e-3, 1e3);

impl Coupon {
    /// Checks its numbers.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] for a reading off the scale, [`Error::InvalidValue`] for a hold or an uncertainty that
    /// can't be.
    pub fn checked(self) -> Result<Self> {
        let model = || format!("coupon {}", self.name);
        let (celsius, hours) = (self.temperature.celsius(), self.time.hours());
        let ranges = [
            ("temperature_c", "°C", celsius, TEMPERATURES_C, "Give °C; kelvin and °F are other columns' business"),
            ("time_h", "h", hours, HOLDS_H, "Give hours"),
        ];
        for (argument, unit, value, (low, high), hint) in ranges {
            if value.is_finite() && value > 0.0 && !(low..=high).contains(&value) {
                return Err(Error::outside(
                    model(),
                    argument,
                    (value, unit),
                    (low, high),
                    "this library: no temper of a coupon lies beyond it",
                    hint,
                ));
            }
        }
        equivalent_temperature(self.temperature, self.time, TWO_HOURS, SteelConstant::for_hours(20.0))?;
        if self.temperature.celsius().is_nan() || self.time.hours().is_nan() {
            return Err(invalid(model(), "temperature or time", f64::NAN, "", "is not a number"));
        }
        for (argument, unit, u) in [("u_temperature_c", "°C", self.u_temperature), ("u_time_h", "h", self.u_time)] {
            if !(u.is_finite() && u >= 0.0) {
                return Err(invalid(model(), argument, u, unit, "is not a standard uncertainty"));
            }
        }
        let scale = Scale::Hrc.record();
        let (low, high) = (scale.low, scale.high);
        if let Some(&value) = self.readings.iter().find(|value| !(low..=high).contains(*value)) {
            return Err(Error::OutOfRange {
                model: model().into(),
                argument: "reading".into(),
                value,
                unit: "HRC".into(),
                low,
                high,
                stated_by: "the range of the Rockwell C scale for steel".into(),
                failed: 1,
                of: self.readings.len(),
                hint: "Leave out a reading that is a slip, and check the scale".into(),
            });
        }
        Ok(self)
    }

    /// Mean of its readings, HRC.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.readings.iter().sum::<f64>() / self.readings.len() as f64
    }
}

fn invalid(model: String, argument: &'static str, value: f64, unit: &'static str, why: &'static str) -> Error {
    Error::invalid(model, argument, (value, unit), why, "Check the row")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blanks_are_left_out_and_text_is_named() {
        let file = "# note\ncoupon,temper_degc,hold_h,cycles,r1,r2\nA,200,2,2,60.1,nan\n";
        let made = read_coupon_file(file.as_bytes(), "c.csv").unwrap();
        assert_eq!((made[0].readings.as_slice(), made[0].time.hours()), (&[60.1][..], 4.0));
        let error = read_coupon_file(b"coupon,temper_degc,hold_h,r1\nA,200,2,soft\n", "c.csv").unwrap_err();
        assert!(error.to_string().contains("c.csv, line 2, column r1: row 1: 'soft' is no number"), "{error}");
    }
}

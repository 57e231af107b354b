//! Coupons as a shop writes them down: a table with a row each, read into numbers with every slip named.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result};
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

/// A column of a table: its name and a text for each row; an empty text is a cell left blank.
pub type TextColumn = (String, Vec<String>);

/// What a table of coupons needs, for messages.
const COLUMNS: &str = "Give columns coupon, temper_degc (or temperature_c), hold_h (or time_h) and r1, r2 … (or hrc); \
                       batch, cycles, scale, u_temperature_c, u_time_h, as_quenched_hrc and remark are read where given";

/// Softest hardness that is a Rockwell C reading.
const HRC_RANGE: (f64, f64) = (20.0, 70.0);

/// Reads coupons from the text of a CSV file; lines that begin with `#` are skipped.
///
/// # Errors
/// [`Error::DataFile`] as [`read_coupons`], and for a text that is no table.
pub fn read_coupon_file(bytes: &[u8], file: &str) -> Result<Vec<Coupon>> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).trim(csv::Trim::All).from_reader(bytes);
    let broken = |error: csv::Error| refusal(file, None, None, error.to_string());
    let mut columns: Vec<TextColumn> =
        reader.headers().map_err(broken)?.iter().map(|name| (name.to_owned(), Vec::new())).collect();
    for row in reader.records() {
        for ((_, cells), cell) in columns.iter_mut().zip(&row.map_err(broken)?) {
            cells.push(cell.to_owned());
        }
    }
    read_coupons(&columns, file)
}

/// Reads coupons from columns of text; `file` is what messages call the table.
///
/// # Errors
/// [`Error::DataFile`] naming row and column for a cell that is no number or a coupon without a reading,
/// [`Error::OutOfRange`] for a reading off the Rockwell C scale, [`Error::InvalidValue`] for impossible holds,
/// [`Error::Refused`] for another scale.
pub fn read_coupons(columns: &[TextColumn], file: &str) -> Result<Vec<Coupon>> {
    let table = Table { columns, file };
    let rows = columns.iter().map(|(_, cells)| cells.len()).max().unwrap_or(0);
    let temperature = table.needed(&["temper_degc", "temperature_c", "temper_c", "temperature_degc"])?;
    let time = table.needed(&["hold_h", "time_h", "soak_h"])?;
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
        return Err(refusal(file, None, None, "it has no coupon".to_owned()));
    }
    let mut made = Vec::with_capacity(rows);
    for row in 0..rows {
        if let Some(scale) = scale.map(|column| table.cell(column, row)).filter(|text| !text.is_empty()) {
            if !scale.eq_ignore_ascii_case("HRC") {
                return Err(Error::Refused {
                    what: format!("coupons in {scale} ({file}, row {})", row + 1).into(),
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
            return Err(refusal(file, Some(row), None, format!("coupon {} has no reading", coupon.name)));
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
        let (low, high) = HRC_RANGE;
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

fn refusal(file: &str, row: Option<usize>, column: Option<&str>, why: String) -> Error {
    let why = row.map_or_else(|| why.clone(), |row| format!("row {}: {why}", row + 1));
    Error::DataFile {
        file: file.to_owned(),
        line: None,
        column: column.map(str::to_owned),
        why: why.into(),
        hint: COLUMNS.into(),
    }
}

/// Columns by their names.
struct Table<'a> {
    columns: &'a [TextColumn],
    file: &'a str,
}

impl<'a> Table<'a> {
    fn find(&self, names: &[&str]) -> Option<&'a TextColumn> {
        self.columns.iter().find(|(name, _)| names.iter().any(|known| name.trim().eq_ignore_ascii_case(known)))
    }

    fn needed(&self, names: &[&str]) -> Result<&'a TextColumn> {
        self.find(names).ok_or_else(|| {
            let found: Vec<&str> = self.columns.iter().take(12).map(|(name, _)| name.as_str()).collect();
            let first = names.first().copied().unwrap_or_default();
            refusal(self.file, None, Some(first), format!("there is no such column among {}", found.join(", ")))
        })
    }

    /// The columns r1, r2 …, or the one of mean hardness.
    fn readings(&self) -> Result<Vec<&'a TextColumn>> {
        let numbered = |name: &str| {
            let name = name.trim();
            name.strip_prefix(['r', 'R'])
                .is_some_and(|rest| !rest.is_empty() && rest.chars().all(|c| c.is_ascii_digit()))
        };
        let found: Vec<_> = self.columns.iter().filter(|(name, _)| numbered(name)).collect();
        if found.is_empty() { Ok(vec![self.needed(&["hrc", "hardness_hrc", "mean_hrc"])?]) } else { Ok(found) }
    }

    fn cell(&self, (_, cells): &'a TextColumn, row: usize) -> &'a str {
        cells.get(row).map_or("", |text| text.trim())
    }

    fn text(&self, column: Option<&'a TextColumn>, row: usize) -> Option<&'a str> {
        column.map(|column| self.cell(column, row)).filter(|text| !text.is_empty())
    }

    /// A number, or nothing for a blank; not-a-number is how tables write a blank.
    fn number(&self, column: &'a TextColumn, row: usize) -> Result<Option<f64>> {
        let text = self.cell(column, row);
        if text.is_empty()
            || ["nan", "na", "<na>", "none", "null", "-"].iter().any(|blank| text.eq_ignore_ascii_case(blank))
        {
            return Ok(None);
        }
        text.parse()
            .map(Some)
            .map_err(|_| refusal(self.file, Some(row), Some(&column.0), format!("'{text}' is no number")))
    }

    fn present(&self, column: &'a TextColumn, row: usize) -> Result<f64> {
        self.number(column, row)?
            .ok_or_else(|| refusal(self.file, Some(row), Some(&column.0), "it is blank".to_owned()))
    }
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
        assert!(error.to_string().contains("row 1: 'soft' is no number"), "{error}");
    }
}

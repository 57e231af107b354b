//! How far a new thermocouple may be off, by standard and class.

use std::sync::OnceLock;

use serde::Deserialize;

use super::models::TOLERANCE;
use crate::error::{Error, Result};
use crate::kernel::{ArrayModel, Lane};
use crate::oven::shipped;
use crate::record::check_finite;

/// A standard that states tolerances.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ToleranceStandard {
    /// IEC 60584-1: classes 1, 2 and 3.
    Iec60584,
    /// ASTM E230: standard and special.
    AstmE230,
}

impl ToleranceStandard {
    const ALL: [Self; 2] = [Self::Iec60584, Self::AstmE230];

    /// Its name here.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Iec60584 => "iec-60584-1",
            Self::AstmE230 => "astm-e230",
        }
    }

    /// The standard of a name.
    ///
    /// # Errors
    /// [`Error::UnknownName`].
    pub fn named(name: &str) -> Result<Self> {
        Self::ALL.into_iter().find(|known| known.name().eq_ignore_ascii_case(name.trim())).ok_or_else(|| {
            Error::UnknownName {
                kind: "tolerance standard".into(),
                name: name.to_owned(),
                close: Self::ALL.iter().map(|known| known.name().to_owned()).collect(),
                hint: "IEC classes are 1, 2 and 3; ASTM's are \"standard\" and \"special\"".into(),
            }
        })
    }
}

#[derive(Debug, Clone, Deserialize)]
struct Row {
    standard: String,
    r#type: String,
    class: String,
    low_c: f64,
    high_c: f64,
    fixed_delta_c: f64,
    fraction: f64,
    above_c: f64,
    how: String,
}

impl Row {
    fn at(&self, celsius: f64) -> f64 {
        let share = self.fraction * (celsius - self.above_c).abs();
        if self.how == "sum" { self.fixed_delta_c + share } else { self.fixed_delta_c.max(share) }
    }
}

fn rows() -> Result<&'static [Row]> {
    static ROWS: OnceLock<Result<Vec<Row>>> = OnceLock::new();
    ROWS.get_or_init(|| {
        shipped::rows("thermocouple_tolerance_2013.csv", include_str!("../../data/thermocouple_tolerance_2013.csv"))
    })
    .as_ref()
    .map(Vec::as_slice)
    .map_err(Clone::clone)
}

/// One class of one type in one standard: a tolerance over temperature.
#[derive(Debug, Clone)]
pub struct ToleranceClass {
    rows: Vec<Row>,
    name: String,
}

impl ToleranceClass {
    /// The class of a type, as "1" or "special".
    ///
    /// # Errors
    /// [`Error::UnknownName`] for a type or a class that the standard does not have, with those that it has.
    ///
    /// ```
    /// use afterquench::oven::{ToleranceClass, ToleranceStandard};
    /// let class = ToleranceClass::named("K", "1", ToleranceStandard::Iec60584).unwrap();
    /// assert_eq!(class.at(400.0).unwrap(), 1.6);
    /// ```
    pub fn named(letter: &str, class: &str, standard: ToleranceStandard) -> Result<Self> {
        let of_standard = rows()?.iter().filter(|row| row.standard == standard.name());
        let of_type: Vec<&Row> =
            of_standard.clone().filter(|row| row.r#type.eq_ignore_ascii_case(letter.trim())).collect();
        let listed = |names: Vec<&str>| {
            let mut seen: Vec<String> = Vec::new();
            for name in names {
                if !seen.iter().any(|known| known == name) {
                    seen.push(name.to_owned());
                }
            }
            seen
        };
        if of_type.is_empty() {
            return Err(Error::UnknownName {
                kind: "thermocouple type".into(),
                name: letter.to_owned(),
                close: listed(of_standard.map(|row| row.r#type.as_str()).collect()),
                hint: format!("{} has no other tolerances here", standard.name()).into(),
            });
        }
        let mine: Vec<Row> = of_type
            .iter()
            .filter(|row| row.class.eq_ignore_ascii_case(class.trim()))
            .map(|row| (*row).clone())
            .collect();
        if mine.is_empty() {
            return Err(Error::UnknownName {
                kind: "tolerance class".into(),
                name: class.to_owned(),
                close: listed(of_type.iter().map(|row| row.class.as_str()).collect()),
                hint: format!("{} has no other class for type {letter}", standard.name()).into(),
            });
        }
        let name = format!("{}, type {}, class {}", standard.name(), letter.trim().to_ascii_uppercase(), class.trim());
        Ok(Self { rows: mine, name })
    }

    fn row(&self, celsius: f64) -> Option<&Row> {
        self.rows.iter().find(|row| row.low_c <= celsius && celsius <= row.high_c)
    }

    /// The tolerance in °C, plus and minus, at a temperature.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] where the class is not defined.
    pub fn at(&self, celsius: f64) -> Result<f64> {
        check_finite(TOLERANCE.id, "temperature_c", "°C", celsius)?;
        if celsius.is_nan() {
            return Ok(f64::NAN);
        }
        self.row(celsius).map(|row| row.at(celsius)).ok_or_else(|| {
            Error::outside(
                TOLERANCE.id,
                "temperature_c",
                (celsius, "°C"),
                (
                    self.rows.iter().map(|row| row.low_c).fold(f64::INFINITY, f64::min),
                    self.rows.iter().map(|row| row.high_c).fold(f64::NEG_INFINITY, f64::max),
                ),
                self.name.clone(),
                "Outside its range the class does not apply; check the unit, or ask for out_of_range=\"nan\"",
            )
        })
    }
}

impl ArrayModel for ToleranceClass {
    fn arguments(&self) -> &[&'static str] {
        &["temperature_c"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        let lane = arguments.first().copied().unwrap_or(Lane::One(f64::NAN));
        for (index, out) in out.iter_mut().enumerate() {
            let celsius = lane.at(index);
            *out = self.row(celsius).map_or(f64::NAN, |row| row.at(celsius));
        }
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        arguments.first().map_or(Ok(()), |&celsius| self.at(celsius).map(|_| ()))
    }
}

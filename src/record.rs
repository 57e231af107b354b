//! What a model says of itself: formula, range, scatter, source. Checks, docs, plots and tests read it from here.

use crate::error::{Error, Result, Text};

/// Where something comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Source {
    /// Authors, title, year; or the standard with its edition.
    pub cite: &'static str,
    /// Equation, table or page.
    pub at: &'static str,
    /// How the digits came here.
    pub origin: Origin,
}

/// How far a number can be traced.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// Read in print.
    Printed,
    /// From memory, not found in print.
    FromMemory,
    /// What the trade does, without a source.
    CommonPractice,
    /// Follows from a definition.
    Definition,
    /// Worked out from data shipped here.
    FromData,
}

impl Origin {
    /// The origin as a phrase.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Printed => "printed",
            Self::FromMemory => "from memory",
            Self::CommonPractice => "common practice, no source",
            Self::Definition => "by definition",
            Self::FromData => "worked out from the data shipped here",
        }
    }
}

/// The range of one argument.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ValidRange {
    /// Argument name as in Python.
    pub argument: &'static str,
    /// Its unit.
    pub unit: &'static str,
    /// Smallest value accepted.
    pub low: f64,
    /// Largest value accepted.
    pub high: f64,
    /// Who says so.
    pub stated_by: &'static str,
}

/// The scatter of a model: one standard deviation, or the fact that none is stated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scatter {
    /// Follows from a definition or exact arithmetic.
    Exact,
    /// The source states none.
    NotStated,
    /// One standard deviation in `unit`, and how it was found.
    Known {
        /// One standard deviation.
        u: f64,
        /// Its unit.
        unit: &'static str,
        /// How it was found.
        found: &'static str,
    },
}

/// Everything a model says of itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModelRecord {
    /// Dotted identifier, `room.model`.
    pub id: &'static str,
    /// What it gives, in one phrase.
    pub gives: &'static str,
    /// Unit of the result.
    pub unit: &'static str,
    /// The formula in words and symbols.
    pub formula: &'static str,
    /// One range an argument; an argument without one accepts all finite values.
    pub ranges: &'static [ValidRange],
    /// Scatter of the result.
    pub scatter: Scatter,
    /// Where it comes from; the first is the formula's.
    pub sources: &'static [Source],
    /// Misprints and quarrels met on the way.
    pub errata: &'static [&'static str],
    /// What it may not be used for.
    pub not_for: &'static str,
}

/// What an array call does with a value outside a model's range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum OutOfRange {
    /// Refuse the call.
    #[default]
    Raise,
    /// Give NaN for that element.
    Nan,
}

impl ModelRecord {
    /// The range of an argument, if the record states one.
    #[must_use]
    pub fn range(&self, argument: &str) -> Option<&'static ValidRange> {
        self.ranges.iter().find(|range| range.argument == argument)
    }

    /// Checks one value against the record: NaN passes, infinity is invalid, the rest must lie in the range.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] for an infinite value, [`Error::OutOfRange`] outside the range.
    pub fn check(&self, argument: &'static str, value: f64) -> Result<()> {
        let Some(range) = self.range(argument) else {
            return check_finite(self.id, argument, "", value);
        };
        check_finite(self.id, argument, range.unit, value)?;
        if value.is_nan() || (range.low <= value && value <= range.high) {
            return Ok(());
        }
        Err(range.refuse(self.id, value))
    }
}

impl ValidRange {
    /// Whether a value lies inside; NaN does not.
    #[must_use]
    pub fn contains(&self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }

    /// The error for a value outside.
    #[must_use]
    pub fn refuse(&self, model: &'static str, value: f64) -> Error {
        Error::outside(
            Text::Borrowed(model),
            Text::Borrowed(self.argument),
            (value, Text::Borrowed(self.unit)),
            (self.low, self.high),
            Text::Borrowed(self.stated_by),
            Text::Borrowed("Check the unit, or ask for out_of_range=\"nan\""),
        )
    }
}

/// Refuses ±infinity; NaN passes.
///
/// # Errors
/// [`Error::InvalidValue`].
pub fn check_finite(
    model: impl Into<Text>,
    argument: impl Into<Text>,
    unit: impl Into<Text>,
    value: f64,
) -> Result<()> {
    if value.is_infinite() {
        return Err(Error::invalid(
            model,
            argument,
            (value, unit),
            "is infinite",
            "Give a finite number; NaN marks a missing one",
        ));
    }
    Ok(())
}

/// Refuses whatever is no number, where a missing one has no meaning.
///
/// # Errors
/// [`Error::InvalidValue`].
pub fn check_number(
    model: impl Into<Text>,
    argument: impl Into<Text>,
    unit: impl Into<Text>,
    value: f64,
) -> Result<()> {
    if value.is_finite() {
        return Ok(());
    }
    Err(Error::invalid(model, argument, (value, unit), "is no number", "Give a finite number"))
}

/// Every public model's record, in the order a user meets them.
#[must_use]
pub fn records() -> Vec<&'static ModelRecord> {
    let rooms: [&[&ModelRecord]; 8] = [
        crate::temper::RECORDS,
        crate::curve::RECORDS,
        crate::steel::RECORDS,
        crate::hardness::RECORDS,
        crate::oven::RECORDS,
        crate::plan::RECORDS,
        crate::drift::RECORDS,
        crate::estimate::RECORDS,
    ];
    rooms.concat()
}

//! A composition steel with one thing more that was measured.

use std::sync::Arc;

use super::readings::{MOST_READINGS, OwnReading, checked};
use super::record::TEMPERED;
use super::steel::CompositionSteel;
use super::table::Table;
use crate::curve::{AsQuenchedReading, HardnessAfterTemper, TemperingCurve};
use crate::error::{Error, Result};

impl CompositionSteel {
    /// Everything but composition and readings as another has it.
    fn known_as(self, other: &Self) -> Self {
        let mut named = self.named(other.name.clone());
        named.hardened = other.hardened;
        match &other.remark {
            Some(remark) => named.remarking(remark.clone()),
            None => named,
        }
    }

    /// The same steel with what was measured on the part before the temper: an input of the model. A stated uncertainty of it
    /// is carried into every prediction, as far as the reading moves it: what it deviates by fades as the temper proceeds.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] off the scale; [`Error::NoAnswer`] below what the carbon can explain: the hardening failed.
    pub fn with_as_quenched(&self, reading: impl Into<AsQuenchedReading>) -> Result<Self> {
        let reading = reading.into();
        self.check_as_quenched(reading)?;
        Ok(Self::of(self.amounts, Some(reading), self.table.clone(), self.readings.clone())?.known_as(self))
    }

    /// The same steel after more readings of it: the exact posterior, whatever the order. Readings that disagree with one
    /// another or with the prediction made before them, by chi-square's 95 % point, widen it by Birge's ratio.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] for a temper or a reading out of range, [`Error::InvalidValue`] for one that is no number,
    /// [`Error::Refused`] for more than 500, and for readings that no bar of this steel would give.
    pub fn given(&self, readings: &[OwnReading]) -> Result<Self> {
        for reading in readings {
            checked(reading)?;
        }
        let mut all = self.readings.clone();
        all.extend_from_slice(readings);
        if all.len() > MOST_READINGS {
            return Err(Error::Refused {
                what: format!("conditioning on {} readings", all.len()).into(),
                why: format!("more than {MOST_READINGS} are a table").into(),
                instead: "Make a TemperingCurve of them, or fit_coupons".into(),
            });
        }
        Ok(Self::of(self.amounts, self.as_quenched, self.table.clone(), all)?.known_as(self))
    }

    /// The same steel with a table of its grade. Its points are readings that share the error of the table's level, and of
    /// another heat: what two heats differ by stays open. A hold that was not printed makes every point count for less.
    ///
    /// # Errors
    /// [`Error::Refused`] for a curve with secondary hardening, or for a second table.
    pub fn given_table(&self, table: &TemperingCurve) -> Result<Self> {
        let refuse = |why: &'static str, instead: &'static str| Error::Refused {
            what: format!("conditioning on {}", table.name()).into(),
            why: why.into(),
            instead: instead.into(),
        };
        if table.has_secondary_hardening() {
            return Err(refuse(
                "it has secondary hardening, which the composition model does not",
                "Use the curve itself",
            ));
        }
        if self.table.is_some() {
            return Err(refuse(
                "a table was given before, and what two tables share is not known",
                "Give one table, or readings",
            ));
        }
        let table = Arc::new(Table::of(table));
        Ok(Self::of(self.amounts, self.as_quenched, Some(table), self.readings.clone())?.known_as(self))
    }

    fn check_as_quenched(&self, reading: AsQuenchedReading) -> Result<()> {
        let hrc = reading.hrc;
        TEMPERED.check("as_quenched_hrc", hrc)?;
        if hrc.is_nan() {
            return Err(Error::invalid(
                TEMPERED.id,
                "as_quenched_hrc",
                (hrc, "HRC"),
                "is missing",
                "Leave it out where no reading was taken",
            ));
        }
        self.band().refuse_failed(&self.name, reading.checked(TEMPERED.id)?)
    }
}

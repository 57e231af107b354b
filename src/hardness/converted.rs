//! A hardness with its uncertainty on another scale.

use super::conversion::{CONVERSION_U_HRC, Conversion};
use super::scale::{Scale, ScaleName};
use crate::error::{Error, Result};
use crate::estimate::Estimate;

/// One standard uncertainty of a conversion where a table prints no HRC but HRB, as a difference in HRB.
const CONVERSION_U_HRB: f64 = 1.0;

/// Tensile strength is the least reliable conversion (ISO 18265, scope): tables differ by about 5 % at one HV.
const CONVERSION_U_RM: f64 = 0.025;

impl Conversion {
    /// One standard uncertainty of the conversion itself at a value, on the scale it leads to, and how it was found.
    ///
    /// # Errors
    /// [`Error::MissingArgument`] where the table prints neither HRC nor HRB to express it by.
    pub fn assumed_u(&self, value: f64) -> Result<(f64, String)> {
        if self.identity {
            return Ok((0.0, format!("already in {}: nothing was converted", self.to.text)));
        }
        let from = self.from.scale;
        for (by, u) in [(Scale::Hrc, CONVERSION_U_HRC), (Scale::Hrb, CONVERSION_U_HRB)] {
            // du(to) = u · |d to / d by| = u · |d to / d from| / |d by / d from|.
            let slope = if from == by {
                Some(1.0)
            } else {
                Self::new(from.name(), by.name(), &self.table.id, self.bracketed_policy)
                    .ok()
                    .map(|link| link.slope(value))
            };
            let Some(slope) = slope.filter(|slope| slope.is_finite() && *slope != 0.0) else { continue };
            let mut found = u * (self.slope(value) / slope).abs();
            let mut text = format!("conversion ±{} {} (k=2): an assumption, no source", 2.0 * u, by.name());
            if self.to.scale == Scale::Rm {
                found = found.max(CONVERSION_U_RM * self.convert(value)?);
                text = "conversion to tensile strength ±5 % (k=2): printed tables differ by that much".to_owned();
            }
            if found.is_finite() {
                return Ok((found, text));
            }
        }
        Err(Error::MissingArgument {
            function: "convert_hardness_estimate".into(),
            argument: "u_conversion".into(),
            why: format!("{} prints neither HRC nor HRB there, by which the usual spread is stated", self.table.id)
                .into(),
            hint: "Give one standard uncertainty of the conversion on the scale you convert to".into(),
        })
    }

    /// Converts an estimate: its uncertainty through the slope, the conversion's own beside it. One that is on the scale
    /// already stays what it is.
    ///
    /// # Errors
    /// As [`Self::convert`]; [`Error::Refused`] for an estimate that already went through a table, or is on another
    /// scale.
    pub fn estimate(&self, value: &Estimate, u_conversion: Option<f64>) -> Result<Estimate> {
        if self.identity {
            return self.unconverted(value);
        }
        if let Some(first) = value.tables().first() {
            return Err(Error::Refused {
                what: format!("a second conversion, {} to {}", self.from.text, self.to.text).into(),
                why: if *first == self.table.id {
                    format!(
                        "the value already went through {first}; the way back is the same line, and a round trip that \
                         closes proves nothing about accuracy"
                    )
                    .into()
                } else {
                    format!("the value already went through {first}; each table adds its own error").into()
                },
                instead: "Convert the measured value itself, by one table that prints both scales".into(),
            });
        }
        self.check_unit(value)?;
        let converted = self.convert(value.value())?;
        let (own, text) = match u_conversion {
            Some(u) if u >= 0.0 && u.is_finite() => (u, format!("conversion u = {u} {}, as given", self.to.text)),
            Some(u) => {
                return Err(Error::InvalidValue {
                    model: self.model().into(),
                    argument: "u_conversion".into(),
                    value: u,
                    unit: self.to.text.clone().into(),
                    why: "is not an uncertainty".into(),
                    failed: 1,
                    of: 1,
                    hint: "Give one standard uncertainty, zero or more".into(),
                });
            }
            None => self.assumed_u(value.value())?,
        };
        let slope = self.slope(value.value());
        let mut made = Estimate::new(converted, self.to.text.clone());
        if value.u() > 0.0 {
            if !slope.is_finite() {
                return Err(Error::NoAnswer {
                    model: self.model().into(),
                    asked: format!("the uncertainty of {} {} as {}", self.from.text, value.value(), self.to.text)
                        .into(),
                    why: "the printed value stands alone between blanks, so it has no slope".into(),
                    hint: "Choose another table or scale".into(),
                });
            }
            made =
                value.components().iter().fold(made, |made, part| made.with(part.name.clone(), part.u * slope.abs()));
        }
        let written = if value.unit().is_empty() { self.from.text.as_str() } else { value.unit() };
        made = made.with("conversion", own).assuming_all(value).through_table(self.table.id.clone());
        made = made.assuming(format!("converted from {written} through {}", self.table.id)).assuming(text);
        let said = [self.caution(value.value()), self.magnified(value.value(), 2.0 * value.u())];
        Ok(said.into_iter().flatten().fold(made, Estimate::assuming))
    }

    /// The estimate itself; one without a unit gets the scale that was said.
    fn unconverted(&self, value: &Estimate) -> Result<Estimate> {
        self.check_unit(value)?;
        self.check(value.value())?;
        if !value.unit().is_empty() {
            return Ok(value.clone());
        }
        let made = Estimate::new(value.value(), self.from.text.clone()).assuming_all(value);
        let made = value.components().iter().fold(made, |made, part| made.with(part.name.clone(), part.u));
        Ok(made.shaped(value.shape().clone()))
    }

    /// Refuses an estimate on another scale.
    fn check_unit(&self, value: &Estimate) -> Result<()> {
        if !value.unit().is_empty() && ScaleName::parse(value.unit())?.scale != self.from.scale {
            return Err(Error::Refused {
                what: format!("reading an estimate in {} as {}", value.unit(), self.from.text).into(),
                why: "the scales differ".into(),
                instead: "Give the scale the estimate is on".into(),
            });
        }
        Ok(())
    }
}

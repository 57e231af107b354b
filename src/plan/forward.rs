//! The curve as a plan asks it: conditioned on the as-quenched reading, continued over its ends, and that noted.

use std::cell::Cell;

use crate::curve::{AsQuenchedReading, Conditioning, HardnessAfterTemper, Root, Side};
use crate::error::Result;
use crate::quantity::{HoldTime, Temperature};

/// A curve with what is known of the part.
pub(super) struct Forward<'a> {
    curve: &'a dyn HardnessAfterTemper,
    conditioning: Conditioning,
    continued: Cell<bool>,
}

impl<'a> Forward<'a> {
    pub(super) fn new(curve: &'a dyn HardnessAfterTemper, as_quenched: Option<AsQuenchedReading>) -> Result<Self> {
        Ok(Self { curve, conditioning: curve.conditioning(as_quenched)?, continued: Cell::new(false) })
    }

    /// Hardness after a hold; past the ends of the table straight on from the end.
    ///
    /// The nominal temperature of a plan always lies inside the table: only the spread of the oven reaches past it.
    pub(super) fn hardness(&self, temperature_c: f64, hours: f64, c: f64) -> Result<f64> {
        let (bare, outside) =
            self.curve.extrapolated_with(Temperature::from_celsius(temperature_c), HoldTime::from_hours(hours), c)?;
        // The way to another hold and back may round to a hair outside.
        if outside > 1e-6 {
            self.continued.set(true);
        }
        Ok(self.conditioning.applied(bare))
    }

    /// The temperatures the curve covers for a total time, in °C.
    pub(super) fn range(&self, hours: f64, c: f64) -> (f64, f64) {
        let (low, high) = self.curve.range_with(HoldTime::from_hours(hours), c);
        (low.celsius(), high.celsius())
    }

    /// Every temperature that gives this hardness, coolest first.
    pub(super) fn roots(&self, hrc: f64, hours: f64, c: f64) -> Result<Vec<f64>> {
        let roots = self.curve.roots_with(self.conditioning.undone(hrc), HoldTime::from_hours(hours), c)?;
        Ok(roots.into_iter().map(|root| root.temperature.celsius()).collect())
    }

    /// On which side of a hump a temperature lies.
    pub(super) fn side(&self, temperature_c: f64, hours: f64, c: f64) -> Result<Side> {
        let bare = self.conditioning.undone(self.hardness(temperature_c, hours, c)?);
        let away = |root: &Root| (root.temperature.celsius() - temperature_c).abs();
        let roots = self.curve.roots_with(bare, HoldTime::from_hours(hours), c)?;
        Ok(roots.iter().min_by(|a, b| away(a).total_cmp(&away(b))).map_or(Side::Falling, |root| root.side))
    }

    /// What a hold that was not printed with the curve adds: half the change from half to twice the hold.
    pub(super) fn u_hold(&self, temperature_c: f64, hours: f64, c: f64) -> Result<f64> {
        if self.curve.hold_is_stated() {
            return Ok(0.0);
        }
        let change = self.hardness(temperature_c, 0.5 * hours, c)? - self.hardness(temperature_c, 2.0 * hours, c)?;
        Ok(0.5 * change.abs())
    }

    /// What the stated uncertainty of the as-quenched reading leaves open at a hold, HRC.
    pub(super) fn u_as_quenched(&self, temperature_c: f64, hours: f64, c: f64) -> Result<f64> {
        let (at, time) = (Temperature::from_celsius(temperature_c), HoldTime::from_hours(hours));
        let (bare, _) = self.curve.extrapolated_with(at, time, c)?;
        Ok(self.curve.u_as_quenched_at(at, time, c).hypot(self.conditioning.u_at(bare)))
    }

    /// What the curve has to say about a hold, as sentences.
    pub(super) fn cautions(&self, temperature_c: f64, hours: f64, c: f64) -> Vec<String> {
        let said = self.curve.cautions(Temperature::from_celsius(temperature_c), HoldTime::from_hours(hours), c);
        self.conditioning.caution().cloned().into_iter().chain(said).map(Into::into).collect()
    }

    /// What was assumed on the way.
    pub(super) fn assumptions(&self) -> Vec<String> {
        let mut made: Vec<String> = self.conditioning.sentence().map(ToString::to_string).into_iter().collect();
        if self.continued.get() {
            made.push("the oven's spread reaches past the end of the curve: straight on from its end there".to_owned());
        }
        if !self.curve.hold_is_stated() {
            let hours = self.curve.reference_hold().hours();
            made.push(format!("the curve's hold was not printed; {hours} h is assumed, within a factor of two"));
        }
        made
    }
}

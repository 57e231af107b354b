//! The composition model as a curve like any other: roots, slopes, ends, what to say.

use std::sync::Arc;

use super::hump::HUMP;
use super::range::{check_hold, ends_c};
use super::record::TEMPERED;
use super::steel::CompositionSteel;
use crate::curve::{
    AsQuenched, AsQuenchedReading, BELOW_THE_SCALE, Conditioning, HardnessAfterTemper, Root, SCALE_FROM_HRC, Side,
};
use crate::error::{Error, Result, Text};
use crate::quantity::{HoldTime, Temperature};
use crate::record::check_finite;
use crate::temper::{CONSTANT_FROM_CARBON, ConstantBelief, TWO_HOURS};

/// Steps in which roots are looked for, °C.
const STEP_C: f64 = 5.0;

/// How far the ends are continued when extrapolation is asked for, °C.
const FARTHEST: f64 = 100.0;

impl CompositionSteel {
    /// The temperature at which the model's own C does what `temperature` does with another. The two agree at two hours,
    /// where C drops out.
    fn by_own_constant(&self, temperature: Temperature, time: HoldTime, c: f64) -> Result<f64> {
        check_finite(TEMPERED.id, "c", "", c)?;
        if c == self.c() || time == TWO_HOURS {
            return Ok(temperature.celsius());
        }
        let (there, here) = (time.hours().log10(), TWO_HOURS.hours().log10());
        let factor = (c + there) / (c + here) * (self.c() + here) / (self.c() + there);
        Ok(Temperature::from_celsius(temperature.kelvin() * factor - 273.15).celsius())
    }

    /// Mean hardness at steps from the coolest to the hottest temperature.
    fn scan(&self, hours: f64) -> Vec<(f64, f64)> {
        let (low, high) = ends_c();
        let steps = ((high - low) / STEP_C).round() as usize;
        (0..=steps)
            .map(|step| low + (high - low) * step as f64 / steps as f64)
            .map(|celsius| (celsius, self.mean(celsius, hours)))
            .collect()
    }
}

impl HardnessAfterTemper for CompositionSteel {
    fn name(&self) -> &str {
        &self.name
    }

    fn hardness_with(&self, temperature: Temperature, time: HoldTime, c: f64) -> Result<f64> {
        check_hold(temperature, time)?;
        Ok(self.mean(self.by_own_constant(temperature, time, c)?, time.hours()))
    }

    fn slope_with(&self, temperature: Temperature, time: HoldTime, c: f64) -> Result<f64> {
        const HALF_C: f64 = 0.5;
        check_hold(temperature, time)?;
        let at = |away: f64| -> Result<f64> {
            let there = Temperature::from_celsius(temperature.celsius() + away);
            Ok(self.mean(self.by_own_constant(there, time, c)?, time.hours()))
        };
        Ok((at(HALF_C)? - at(-HALF_C)?) / (2.0 * HALF_C))
    }

    fn extrapolated_with(&self, temperature: Temperature, time: HoldTime, c: f64) -> Result<(f64, f64)> {
        let (low, high) = ends_c();
        let celsius = temperature.celsius();
        let nearest = Temperature::from_celsius(if celsius.is_nan() { celsius } else { celsius.clamp(low, high) });
        let outside = celsius - nearest.celsius();
        if outside.abs() > FARTHEST || temperature.kelvin() <= 0.0 {
            check_hold(temperature, time)?;
        }
        let end = self.hardness_with(nearest, time, c)?;
        if outside == 0.0 || end.is_nan() {
            return Ok((end, 0.0));
        }
        Ok((end + self.slope_with(nearest, time, c)? * outside, outside.abs()))
    }

    fn roots_with(&self, hrc: f64, time: HoldTime, c: f64) -> Result<Vec<Root>> {
        check_finite(TEMPERED.id, "hrc", "HRC", hrc)?;
        check_hold(Temperature::from_celsius(ends_c().0), time)?;
        let hours = time.hours();
        let mut lowest = f64::INFINITY;
        let mut come_back = false;
        let mut roots = Vec::new();
        let scanned = self.scan(hours);
        for pair in scanned.windows(2) {
            let &[(from, above), (to, below)] = pair else { continue };
            lowest = lowest.min(above);
            come_back |= above - lowest >= HUMP;
            if (above - hrc) * (below - hrc) > 0.0 || above == below || below == hrc && to < ends_c().1 {
                continue;
            }
            let own = bisect(|celsius| self.mean(celsius, hours) - hrc, from, to);
            let side = match (above > below, come_back) {
                (false, _) => Side::Rising,
                (true, true) => Side::OverAgeing,
                (true, false) => Side::Falling,
            };
            // The way back from the model's own C to the one asked with: one step suffices, the factor hardly moves.
            let factor = Temperature::from_celsius(self.by_own_constant(Temperature::from_celsius(own), time, c)?)
                .kelvin()
                / Temperature::from_celsius(own).kelvin();
            let celsius = Temperature::from_celsius(own).kelvin() / factor - 273.15;
            roots.push(Root { temperature: Temperature::from_celsius(celsius), side });
        }
        Ok(roots)
    }

    fn range_with(&self, _: HoldTime, _: f64) -> (Temperature, Temperature) {
        let (low, high) = ends_c();
        (Temperature::from_celsius(low), Temperature::from_celsius(high))
    }

    fn hardness_range(&self) -> (f64, f64) {
        self.ends_hrc
    }

    fn reference_hold(&self) -> HoldTime {
        TWO_HOURS
    }

    fn hold_is_stated(&self) -> bool {
        true
    }

    fn constant(&self) -> Option<ConstantBelief> {
        let u = match CONSTANT_FROM_CARBON.scatter {
            crate::record::Scatter::Known { u, .. } => u,
            _ => 0.0,
        };
        Some(ConstantBelief::Normal { c: self.c(), u })
    }

    fn u_level(&self) -> f64 {
        self.u_usual
    }

    fn u_level_at(&self, temperature: Temperature, time: HoldTime, _: f64) -> f64 {
        let made = self.at(temperature.celsius(), time.hours()).u_steel;
        if made.is_finite() { made } else { self.u_usual }
    }

    fn u_as_quenched_at(&self, temperature: Temperature, time: HoldTime, _: f64) -> f64 {
        let made = self.at(temperature.celsius(), time.hours()).u_as_quenched;
        if made.is_finite() { made } else { 0.0 }
    }

    fn u_level_found(&self) -> &str {
        if self.is_unmeasured() {
            "predicted from composition: what steels left out of the fit missed by"
        } else {
            "predicted from composition and conditioned on the readings given"
        }
    }

    fn u_batch(&self) -> f64 {
        // How heats of one composition differ is part of the level: the measured steels were one heat each.
        0.0
    }

    fn as_quenched(&self) -> Option<AsQuenched> {
        Some(self.expected_as_quenched())
    }

    fn hardened(&self) -> Option<AsQuenched> {
        Some(self.band())
    }

    fn has_batch_in_level(&self) -> bool {
        true
    }

    fn without_constant(&self) -> Text {
        "C is inside the model: it was fitted to holds of seconds to a day".into()
    }

    fn has_secondary_hardening(&self) -> bool {
        false
    }

    fn cautions(&self, temperature: Temperature, time: HoldTime, _: f64) -> Vec<Text> {
        let mut said: Vec<Text> = self.notes().to_vec();
        let at = self.at(temperature.celsius(), time.hours());
        if self.is_unmeasured() {
            // The sentence for the usual temper gives way to the one for this.
            said.pop();
            said.extend(self.worth_of_coupons(temperature, time));
        }
        if at.hrc < SCALE_FROM_HRC {
            said.push(BELOW_THE_SCALE.into());
        }
        said
    }

    fn sources(&self) -> &[String] {
        &self.sources
    }

    fn conditioning(&self, as_quenched: Option<AsQuenchedReading>) -> Result<Conditioning> {
        let band = self.band();
        match (as_quenched, self.as_quenched) {
            (None, _) => Ok(Conditioning::NONE),
            (Some(given), Some(known)) if is_same(given, known) => {
                let sentence = format!("as-quenched {} is an input of the composition model", known.text());
                Ok(Conditioning::without_shift(sentence).cautioning(band.undecided(known)))
            }
            (Some(given), _) => Conditioning::for_curve(&self.name, self.as_quenched(), band, given),
        }
    }

    fn for_as_quenched(&self, reading: AsQuenchedReading) -> Result<Option<Arc<dyn HardnessAfterTemper>>> {
        if self.as_quenched.is_some_and(|known| is_same(reading, known)) {
            return Ok(None);
        }
        Ok(Some(Arc::new(self.with_as_quenched(reading)?)))
    }

    fn hardness_after(
        &self,
        temperature: Temperature,
        time: HoldTime,
        c: Option<f64>,
        as_quenched_hrc: Option<f64>,
    ) -> Result<f64> {
        match as_quenched_hrc.map(|hrc| self.for_as_quenched(hrc.into())).transpose()?.flatten() {
            Some(part) => part.hardness_after(temperature, time, c, as_quenched_hrc),
            None => self.hardness_with(temperature, time, c.unwrap_or_else(|| self.c())),
        }
    }

    fn temperatures_for(
        &self,
        hrc: f64,
        time: HoldTime,
        c: Option<f64>,
        as_quenched_hrc: Option<f64>,
    ) -> Result<Vec<Root>> {
        if let Some(part) = as_quenched_hrc.map(|hrc| self.for_as_quenched(hrc.into())).transpose()?.flatten() {
            return part.temperatures_for(hrc, time, c, as_quenched_hrc);
        }
        let roots = self.roots_with(hrc, time, c.unwrap_or_else(|| self.c()))?;
        if !roots.is_empty() || hrc.is_nan() {
            return Ok(roots);
        }
        let (low, high) = self.hardness_range();
        Err(Error::outside(
            self.name.clone(),
            "hrc",
            (hrc, "HRC"),
            (low, high),
            "this steel tempered two hours from 705 to 100 °C, as predicted",
            "No temper of this steel is expected to give it",
        ))
    }
}

/// Whether a reading is the one that is known already; one given as a plain number says nothing against the known one's u.
fn is_same(given: AsQuenchedReading, known: AsQuenchedReading) -> bool {
    given.hrc == known.hrc && (given.u.is_none() || given.u == known.u)
}

/// A zero between two ends of which one is at or above it and the other at or below.
fn bisect(f: impl Fn(f64) -> f64, mut from: f64, mut to: f64) -> f64 {
    let falling = f(from) > f(to);
    for _ in 0..60 {
        let middle = 0.5 * (from + to);
        let value = f(middle);
        if value == 0.0 {
            return middle;
        }
        if (value > 0.0) == falling { from = middle } else { to = middle }
    }
    0.5 * (from + to)
}

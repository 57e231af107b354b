//! A steel known by its composition, perhaps with an as-quenched reading and readings of its own.

use std::sync::Arc;

use super::agreement::{Open, agreement};
use super::basis::Functions;
use super::coefficients::{Interval, coefficients};
use super::composition::Amounts;
use super::hump::hump;
use super::posterior::Posterior;
use super::range::{check_hold, ends_c};
use super::readings::OwnReading;
use super::said::{beyond, worse_than_none};
use super::table::Table;
use super::weights::dot;
use crate::curve::{AsQuenched, AsQuenchedReading, BELOW_THE_SCALE, SCALE_FROM_HRC};
use crate::error::{Result, Text};
use crate::quantity::{HoldTime, Temperature};
use crate::temper::TWO_HOURS;

/// Spread of quenched steels about the as-quenched hardness of their carbon, HRC: root mean square of the measured
/// steels that give one, without the one that was plainly not hardened through.
pub(super) const U_AS_QUENCHED: f64 = 1.5;

/// What the model says of one temper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prediction {
    /// Hardness, HRC.
    pub hrc: f64,
    /// One standard uncertainty of one further reading of this steel.
    pub u: f64,
    /// One standard uncertainty of the steel's hardness, without a reading's own error.
    pub u_steel: f64,
    /// What the stated uncertainty of the as-quenched reading leaves open of it; zero where none is stated.
    pub u_as_quenched: f64,
}

/// Hardness after a temper from composition; a curve like any other.
///
/// ```
/// use afterquench::steel::CompositionSteel;
/// use afterquench::{HoldTime, Temperature};
/// let steel = CompositionSteel::new(&[("C", 0.95), ("Mn", 0.4), ("Si", 0.2)]).unwrap();
/// let made = steel.predict(Temperature::from_celsius(200.0), HoldTime::from_hours(2.0)).unwrap();
/// assert!((57.0..63.0).contains(&made.hrc) && made.u > 1.0);
/// ```
#[derive(Debug, Clone)]
pub struct CompositionSteel {
    pub(super) name: String,
    pub(super) amounts: Amounts,
    pub(super) as_quenched: Option<AsQuenchedReading>,
    /// What one stated standard uncertainty of that reading is worth: its product with the functions of a temper.
    by_as_quenched: Option<Box<Functions>>,
    pub(super) readings: Vec<OwnReading>,
    pub(super) table: Option<Arc<Table>>,
    posterior: Posterior,
    /// Variance in HV² of elements beyond what was measured.
    beyond_hv2: f64,
    distance: f64,
    /// What the variance is multiplied by far from every measured steel.
    widening: f64,
    /// What every standard uncertainty is multiplied by, for own readings that do not agree.
    birge: f64,
    pub(super) notes: Vec<Text>,
    /// Notes and assumptions of an estimate, written once: writing them takes longer than the answer.
    said: Vec<Text>,
    pub(super) sources: Vec<String>,
    /// Why it answers where a curve could, if that must be said.
    pub(super) remark: Option<Text>,
    /// What full hardening gives, where more than the carbon is known of the steel.
    pub(super) hardened: Option<AsQuenched>,
    pub(super) u_usual: f64,
    pub(super) ends_hrc: (f64, f64),
}

impl CompositionSteel {
    /// A steel of this composition, element and weight per cent; iron may be left out.
    ///
    /// # Errors
    /// As [`Amounts::read`].
    pub fn new(composition: &[(&str, f64)]) -> Result<Self> {
        Self::from_amounts(Amounts::read(composition)?)
    }

    /// A steel of amounts that were read before.
    ///
    /// # Errors
    /// If the crate's coefficients can't be read.
    pub fn from_amounts(amounts: Amounts) -> Result<Self> {
        Self::of(amounts, None, None, Vec::new())
    }

    pub(super) fn of(
        amounts: Amounts,
        as_quenched: Option<AsQuenchedReading>,
        table: Option<Arc<Table>>,
        readings: Vec<OwnReading>,
    ) -> Result<Self> {
        let read = coefficients()?;
        let (beyond_hv2, mut notes) = beyond(read, &amounts);
        let worse = as_quenched.and_then(|reading| reading.u).and_then(worse_than_none);
        let as_quenched = as_quenched.filter(|_| worse.is_none());
        notes.extend(worse);
        let of_grade = |as_quenched_hrc: Option<f64>| {
            let made = Posterior::of_composition(read, &amounts, as_quenched_hrc);
            match &table {
                Some(table) => made.after_table(table),
                None => Ok(made),
            }
        };
        let mut posterior = of_grade(as_quenched.map(|reading| reading.hrc))?;
        // The same with the as-quenched reading softer and harder by its stated uncertainty.
        let mut around = match as_quenched {
            Some(AsQuenchedReading { hrc, u: Some(u) }) if u > 0.0 => {
                Some((of_grade(Some(hrc - u))?, of_grade(Some(hrc + u))?))
            }
            _ => None,
        };
        let mut sources = vec![format!("{}; {}", read.provenance.source, read.provenance.at)];
        let distance = read.neighbours.distance(&amounts);
        let free = read.widen_distance.free;
        let far = distance > free && table.is_none();
        let mut widening = if far { 1.0 + read.widen_distance.rate * (distance - free).powi(2) } else { 1.0 };
        if far && readings.is_empty() {
            notes.push(
                format!(
                    "the nearest measured steel is {distance:.1} away, where {free} is near: the interval is widened by \
                     judgement"
                )
                .into(),
            );
        }
        if let Some(table) = &table {
            sources.extend(table.sources.iter().cloned());
            if !table.hold_is_stated {
                notes.push("the hold of its table was not printed: the points count for less".into());
            }
            if table.points.iter().any(|&(_, hrc)| hrc < SCALE_FROM_HRC) {
                notes.push(format!("points of its table lie {BELOW_THE_SCALE}: they count for less").into());
            }
        }
        let mut birge = 1.0;
        if !readings.is_empty() {
            let by_as_quenched = around.as_ref().map(|(softer, harder)| harder.half_above(softer));
            let open = Open { beyond_hv2, widening, by_as_quenched: by_as_quenched.as_ref() };
            let agreed = agreement(&posterior, &readings, &open)?;
            notes.extend(agreed.said);
            birge = agreed.factor;
            // Near or far counts only as long as nothing was measured.
            widening = 1.0;
            posterior = posterior.after(&readings)?;
            around = around
                .map(|(softer, harder)| -> Result<_> { Ok((softer.after(&readings)?, harder.after(&readings)?)) })
                .transpose()?;
        }
        let mut made = Self {
            name: "steel of this composition".to_owned(),
            amounts,
            as_quenched,
            by_as_quenched: around.map(|(softer, harder)| Box::new(harder.half_above(&softer))),
            readings,
            table,
            posterior,
            beyond_hv2,
            distance,
            widening,
            birge,
            notes,
            said: Vec::new(),
            sources,
            remark: None,
            hardened: None,
            u_usual: 0.0,
            ends_hrc: (f64::NAN, f64::NAN),
        };
        if made.is_unmeasured() {
            made.notes.extend(made.worth_of_coupons(Temperature::from_celsius(200.0), TWO_HOURS));
        } else {
            let composition = Posterior::of_composition(read, &made.amounts, as_quenched.map(|reading| reading.hrc));
            made.notes.extend(hump(&composition, &made.posterior, &made.readings));
            made.notes.push(made.what_it_knows());
        }
        made.notes.extend(made.harder_than_quenched());
        made.said = made.assumptions();
        made.u_usual = made.at(200.0, 2.0).u_steel;
        let (coolest, hottest) = ends_c();
        made.ends_hrc = (made.posterior.mean(hottest, 2.0), made.posterior.mean(coolest, 2.0));
        Ok(made)
    }

    /// Names it.
    #[must_use]
    pub fn named(mut self, name: impl Into<String>) -> Self {
        self.name = name.into();
        self
    }

    /// Says one thing more with every answer.
    #[must_use]
    pub fn remarking(mut self, remark: impl Into<Text>) -> Self {
        let remark = remark.into();
        self.notes.insert(0, remark.clone());
        self.said.push(remark.clone());
        self.remark = Some(remark);
        self
    }

    /// By what full hardening of the steel gives a reading says whether a part hardened.
    #[must_use]
    pub const fn with_hardened(mut self, band: AsQuenched) -> Self {
        self.hardened = Some(band);
        self
    }

    /// What full hardening gives: as known of the steel, else as its carbon lets expect.
    pub(super) fn band(&self) -> AsQuenched {
        self.hardened.unwrap_or_else(|| self.expected_as_quenched())
    }

    /// Whether nothing but composition and as-quenched hardness is known.
    #[must_use]
    pub fn is_unmeasured(&self) -> bool {
        self.readings.is_empty() && self.table.is_none()
    }

    /// Composition, weight per cent.
    #[must_use]
    pub const fn amounts(&self) -> &Amounts {
        &self.amounts
    }

    /// The as-quenched reading it was given.
    #[must_use]
    pub const fn as_quenched_reading(&self) -> Option<AsQuenchedReading> {
        self.as_quenched
    }

    /// The table it was given.
    pub(super) fn table(&self) -> Option<&Table> {
        self.table.as_deref()
    }

    /// The readings it was given.
    #[must_use]
    pub fn readings(&self) -> &[OwnReading] {
        &self.readings
    }

    /// Distance to the nearest measured steel; within 2 the interval is as calibrated.
    #[must_use]
    pub const fn distance(&self) -> f64 {
        self.distance
    }

    /// C for hours that the model takes for this carbon.
    #[must_use]
    pub const fn c(&self) -> f64 {
        self.posterior.prepared.c
    }

    /// The factors of u that gave 68 % and 95 % of the rows of steels left out, for one that has an as-quenched reading
    /// or has none.
    #[must_use]
    pub const fn interval_factors(&self) -> Interval {
        self.posterior.read.interval.when(self.as_quenched.is_some())
    }

    /// What every estimate assumes.
    pub(super) fn said(&self) -> &[Text] {
        &self.said
    }

    /// What must be said with every answer.
    #[must_use]
    pub fn notes(&self) -> &[Text] {
        &self.notes
    }

    /// The as-quenched hardness that the carbon lets expect.
    #[must_use]
    pub const fn expected_as_quenched(&self) -> AsQuenched {
        AsQuenched { hrc: self.posterior.prepared.as_quenched, u: U_AS_QUENCHED }
    }

    /// Hardness after one hold, with its uncertainty.
    ///
    /// # Errors
    /// Outside 100 to 705 °C or 10 min to 32 h, and for values no policy accepts, as [`TEMPERED`](super::TEMPERED) states.
    pub fn predict(&self, temperature: Temperature, time: HoldTime) -> Result<Prediction> {
        check_hold(temperature, time)?;
        Ok(self.at(temperature.celsius(), time.hours()))
    }

    /// The same for a hold that was checked; NaN in gives NaN out.
    #[inline]
    pub(super) fn at(&self, celsius: f64, hours: f64) -> Prediction {
        let (prior, functions) = self.posterior.functions(celsius, hours);
        let hrc = prior + self.posterior.weights.mean(&functions);
        let per_hv = 1.0 / self.posterior.read.slope.at(hrc);
        let variance = self.posterior.weights.variance(&functions) + self.beyond_hv2 * per_hv * per_hv;
        let variance = variance * self.widening * self.birge * self.birge;
        let u_as_quenched = self.by_as_quenched.as_ref().map_or(0.0, |by| dot(by.as_slice(), &functions).abs());
        let all = variance + u_as_quenched * u_as_quenched + self.noise(hrc).powi(2);
        Prediction { hrc, u: all.sqrt(), u_steel: variance.sqrt(), u_as_quenched }
    }

    #[inline]
    pub(super) fn mean(&self, celsius: f64, hours: f64) -> f64 {
        self.posterior.mean(celsius, hours)
    }

    /// The error of one reading: larger below the scale's range, and where own readings do not agree.
    #[inline]
    pub(super) fn noise(&self, hrc: f64) -> f64 {
        self.posterior.noise(hrc) * self.birge
    }

    /// The one-hour equivalent of a hold by the model's own C, °C.
    #[must_use]
    pub fn one_hour_equivalent(&self, temperature: Temperature, time: HoldTime) -> Temperature {
        let made = self.posterior.prepared.one_hour_equivalent(temperature.celsius(), time.hours().log10());
        Temperature::from_celsius(made)
    }

    /// What two coupons of the bar would leave of the uncertainty of a hold: one 25 °C below it, one 25 °C above.
    ///
    /// # Errors
    /// As [`Self::predict`].
    pub fn u_with_two_coupons(&self, temperature: Temperature, time: HoldTime) -> Result<f64> {
        check_hold(temperature, time)?;
        let (low, high) = ends_c();
        let rows = [-25.0, 25.0].map(|away| {
            let celsius = (temperature.celsius() + away).clamp(low, high);
            let hrc = self.posterior.mean(celsius, time.hours());
            self.posterior.row(&OwnReading { temperature: Temperature::from_celsius(celsius), time, hrc, u: None })
        });
        let (_, functions) = self.posterior.functions(temperature.celsius(), time.hours());
        let per_hv = 1.0 / self.posterior.read.slope.at(self.posterior.mean(temperature.celsius(), time.hours()));
        // Near or far counts only as long as nothing was measured.
        let variance = self.posterior.weights.variance_given_two(&functions, &rows) + self.beyond_hv2 * per_hv * per_hv;
        Ok(self.birge * variance.sqrt())
    }
}

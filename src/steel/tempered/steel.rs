//! A steel known by its composition, perhaps with an as-quenched reading and readings of its own.

use std::sync::Arc;

use super::basis::{Functions, Prepared};
use super::coefficients::{Coefficients, Interval, coefficients};
use super::composition::{Amounts, ELEMENTS};
use super::record::TEMPERED;
use super::weights::{Row, Weights};
use crate::curve::{AsQuenched, HardnessAfterTemper, TemperingCurve};
use crate::error::{Error, Result, Text};
use crate::quantity::{HoldTime, Temperature};
use crate::record::check_finite;

/// Spread of quenched steels about the as-quenched hardness of their carbon, HRC: root mean square of the measured
/// steels that give one, without the one that was plainly not hardened through.
const U_AS_QUENCHED: f64 = 1.5;

/// More readings than this are a table, and a table has a curve.
const MOST_READINGS: usize = 500;

/// Standard deviations from which a reading is called surprising.
const SURPRISING: f64 = 3.0;

/// A hardness measured after a temper: the mean of a place's indentations.
#[derive(Debug, Clone, Copy, PartialEq)]
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

/// What the model says of one temper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prediction {
    /// Hardness, HRC.
    pub hrc: f64,
    /// One standard uncertainty of one further reading of this steel.
    pub u: f64,
    /// One standard uncertainty of the steel's hardness, without a reading's own error.
    pub u_steel: f64,
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
    amounts: Amounts,
    as_quenched_hrc: Option<f64>,
    readings: Vec<OwnReading>,
    /// One standard uncertainty that all readings have in common: they may be of another heat.
    u_shared: f64,
    table: Option<String>,
    prepared: Prepared,
    population: Arc<Weights>,
    weights: Arc<Weights>,
    /// Variance in HV² of elements beyond what was measured.
    beyond_hv2: f64,
    distance: f64,
    /// What the variance is multiplied by far from every measured steel.
    widening: f64,
    pub(super) notes: Vec<Text>,
    read: &'static Coefficients,
    pub(super) sources: Vec<String>,
    pub(super) u_usual: f64,
    pub(super) ends_hrc: (f64, f64),
}

impl CompositionSteel {
    /// A steel of this composition, element and weight per cent; iron may be left out.
    ///
    /// # Errors
    /// As [`Amounts::read`]; [`Error::OutOfRange`] for amounts far from all measured steels.
    pub fn new(composition: &[(&str, f64)]) -> Result<Self> {
        Self::of(Amounts::read(composition)?, None, Vec::new(), 0.0)
    }

    pub(super) fn of(
        amounts: Amounts,
        as_quenched_hrc: Option<f64>,
        readings: Vec<OwnReading>,
        u_shared: f64,
    ) -> Result<Self> {
        let read = coefficients()?;
        let prepared = Prepared::new(read, &amounts, as_quenched_hrc);
        let (mean, covariance) = prepared.weights(read);
        let population = Arc::new(Weights::new(mean, covariance));
        let distance = read.distance(&amounts);
        let (beyond_hv2, mut notes) = beyond(read, &amounts);
        let free = read.widen_distance.free;
        let far = distance > free && readings.is_empty();
        let widening = if far { 1.0 + read.widen_distance.rate * (distance - free).powi(2) } else { 1.0 };
        if far {
            notes.push(
                format!(
                    "the nearest measured steel is {distance:.1} away, where {free} is near: the interval is widened by \
                     judgement"
                )
                .into(),
            );
        }
        let mut made = Self {
            name: "steel of this composition".to_owned(),
            amounts,
            as_quenched_hrc,
            readings: Vec::new(),
            u_shared,
            table: None,
            prepared,
            weights: Arc::clone(&population),
            population,
            beyond_hv2,
            distance,
            widening,
            notes,
            read,
            sources: vec![format!("{}; {}", read.provenance.source, read.provenance.at)],
            u_usual: 0.0,
            ends_hrc: (f64::NAN, f64::NAN),
        };
        made.condition(readings)?;
        let usual = made.at(200.0, 2.0);
        made.u_usual = usual.u_steel;
        let (coolest, hottest) = ends_c();
        made.ends_hrc = (made.mean(hottest, 2.0), made.mean(coolest, 2.0));
        Ok(made)
    }

    /// Names it.
    #[must_use]
    pub fn named(mut self, name: impl Into<String>) -> Self {
        self.name = name.into();
        self
    }

    /// The same steel with what was measured on the part before the temper: an input of the model.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] off the scale; [`Error::NoAnswer`] below what the carbon can explain: the hardening failed.
    pub fn with_as_quenched(&self, hrc: f64) -> Result<Self> {
        self.check_as_quenched(hrc)?;
        let mut made = Self::of(self.amounts, Some(hrc), self.readings.clone(), self.u_shared)?;
        made.name.clone_from(&self.name);
        made.table.clone_from(&self.table);
        made.sources.clone_from(&self.sources);
        Ok(made)
    }

    /// The same steel after more readings of it: the exact posterior, whatever the order.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] for a temper or a reading out of range, [`Error::InvalidValue`] for one that is no number,
    /// [`Error::Refused`] for more than 500.
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
        let mut made = Self::of(self.amounts, self.as_quenched_hrc, all, self.u_shared)?;
        made.name.clone_from(&self.name);
        made.table.clone_from(&self.table);
        made.sources.clone_from(&self.sources);
        Ok(made)
    }

    /// The same steel with a table of its grade: each point a reading, all of them sharing the error of the table's
    /// level, since it is of another heat. A hold that was not printed widens every point.
    ///
    /// # Errors
    /// [`Error::Refused`] for a curve with secondary hardening, or for a steel that has readings already.
    pub fn given_table(&self, table: &TemperingCurve) -> Result<Self> {
        if table.has_secondary_hardening() {
            return Err(Error::Refused {
                what: format!("conditioning on {}", table.name()).into(),
                why: "it has secondary hardening, which the composition model does not".into(),
                instead: "Use the curve itself".into(),
            });
        }
        if !self.readings.is_empty() {
            return Err(Error::Refused {
                what: format!("conditioning on {}", table.name()).into(),
                why: "a table has an error that readings do not share, and readings were given before".into(),
                instead: "Give the table first, or the readings alone".into(),
            });
        }
        let time = table.reference_hold();
        let (coolest, hottest) = ends_c();
        let inside = |celsius: f64| (coolest..=hottest).contains(&celsius);
        let points = table.points().filter(|(celsius, _)| inside(*celsius));
        let readings: Vec<OwnReading> = points
            .map(|(celsius, hrc)| {
                let doubt = |hours: f64| self.mean(celsius, hours);
                let u_hold = if table.hold_is_stated() {
                    0.0
                } else {
                    0.5 * (doubt(0.5 * time.hours()) - doubt(2.0 * time.hours())).abs()
                };
                let u = self.noise(hrc).hypot(u_hold);
                OwnReading { temperature: Temperature::from_celsius(celsius), time, hrc, u: Some(u) }
            })
            .collect();
        let shared = table.u_level().hypot(table.u_batch());
        let mut made = Self::of(self.amounts, self.as_quenched_hrc, readings, shared)?;
        made.name = format!("{} with {}", self.name, table.name());
        made.table = Some(table.name().to_owned());
        made.sources.extend(table.sources().iter().cloned());
        if !table.hold_is_stated() {
            made.notes.push("the table's hold was not printed: its points count for less".into());
        }
        Ok(made)
    }

    fn condition(&mut self, readings: Vec<OwnReading>) -> Result<()> {
        if readings.is_empty() {
            return Ok(());
        }
        let rows: Vec<Row> = readings
            .iter()
            .map(|reading| {
                let (prior, functions) = self.functions(reading.temperature.celsius(), reading.time.hours());
                let u = reading.u.unwrap_or_else(|| self.noise(reading.hrc));
                Row { functions, above: reading.hrc - prior, variance: u * u }
            })
            .collect();
        let (weights, surprise) = self.population.given(&rows, self.u_shared * self.u_shared)?;
        for (reading, away) in readings.iter().zip(surprise) {
            if away.abs() > SURPRISING {
                self.notes.push(
                    format!(
                        "the reading {} HRC after {} °C for {} h lies {:.1} standard deviations {} what such a steel was \
                         expected to read: check it, the composition and the hardening",
                        reading.hrc,
                        reading.temperature.celsius(),
                        reading.time.hours(),
                        away.abs(),
                        if away > 0.0 { "above" } else { "below" }
                    )
                    .into(),
                );
            }
        }
        self.weights = Arc::new(weights);
        self.readings = readings;
        Ok(())
    }

    /// Composition, weight per cent.
    #[must_use]
    pub const fn amounts(&self) -> &Amounts {
        &self.amounts
    }

    /// The as-quenched reading it was given.
    #[must_use]
    pub const fn as_quenched_hrc(&self) -> Option<f64> {
        self.as_quenched_hrc
    }

    /// The readings it was given; of a table, its points.
    #[must_use]
    pub fn readings(&self) -> &[OwnReading] {
        &self.readings
    }

    /// The standard uncertainty that its readings have in common, HRC.
    #[must_use]
    pub const fn u_shared(&self) -> f64 {
        self.u_shared
    }

    /// Distance to the nearest measured steel; within 2 the interval is as calibrated.
    #[must_use]
    pub const fn distance(&self) -> f64 {
        self.distance
    }

    /// C for hours that the model takes for this carbon.
    #[must_use]
    pub const fn c(&self) -> f64 {
        self.prepared.c
    }

    /// The factors of u that gave 68 % and 95 % of the rows of steels left out.
    #[must_use]
    pub const fn interval_factors(&self) -> Interval {
        self.read.interval
    }

    /// What must be said with every answer.
    #[must_use]
    pub fn notes(&self) -> &[Text] {
        &self.notes
    }

    /// The as-quenched hardness that the carbon lets expect.
    #[must_use]
    pub const fn expected_as_quenched(&self) -> AsQuenched {
        AsQuenched { hrc: self.prepared.as_quenched, u: U_AS_QUENCHED }
    }

    /// Hardness after one hold, with its uncertainty.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] outside 100 to 705 °C or 10 min to 32 h; [`Error::InvalidValue`] for values no policy
    /// accepts.
    pub fn predict(&self, temperature: Temperature, time: HoldTime) -> Result<Prediction> {
        check_hold(temperature, time)?;
        Ok(self.at(temperature.celsius(), time.hours()))
    }

    /// The same for a hold that was checked; NaN in gives NaN out.
    #[inline]
    pub(super) fn at(&self, celsius: f64, hours: f64) -> Prediction {
        let (prior, functions) = self.functions(celsius, hours);
        let hrc = prior + self.weights.mean(&functions);
        let per_hv = 1.0 / self.read.slope.at(hrc);
        let variance = (self.weights.variance(&functions) + self.beyond_hv2 * per_hv * per_hv) * self.widening;
        Prediction { hrc, u: (variance + self.noise(hrc).powi(2)).sqrt(), u_steel: variance.sqrt() }
    }

    #[inline]
    pub(super) fn mean(&self, celsius: f64, hours: f64) -> f64 {
        let (prior, functions) = self.functions(celsius, hours);
        prior + self.weights.mean(&functions)
    }

    #[inline]
    fn functions(&self, celsius: f64, hours: f64) -> (f64, Functions) {
        self.prepared.functions(self.read, celsius, hours)
    }

    /// The error of one reading: larger below the scale's range.
    #[inline]
    pub(super) fn noise(&self, hrc: f64) -> f64 {
        let noise = &self.read.noise;
        let low = (noise.low_factor * noise.low_factor - 1.0) / (1.0 + (hrc - 20.0).min(700.0).exp());
        noise.reading * (1.0 + low).sqrt()
    }

    /// The one-hour equivalent of a hold by the model's own C, °C.
    #[must_use]
    pub fn one_hour_equivalent(&self, temperature: Temperature, time: HoldTime) -> Temperature {
        let made = self.prepared.one_hour_equivalent(temperature.celsius(), time.hours().log10());
        Temperature::from_celsius(made)
    }

    /// What two coupons of the bar would leave of the uncertainty of a hold: one 25 °C below it, one 25 °C above.
    ///
    /// # Errors
    /// As [`Self::predict`].
    pub fn u_with_two_coupons(&self, temperature: Temperature, time: HoldTime) -> Result<f64> {
        check_hold(temperature, time)?;
        let (low, high) = ends_c();
        let coupons = [-25.0, 25.0].map(|away| {
            let celsius = (temperature.celsius() + away).clamp(low, high);
            let hrc = self.mean(celsius, time.hours());
            OwnReading { temperature: Temperature::from_celsius(celsius), time, hrc, u: Some(self.noise(hrc)) }
        });
        Ok(self.given(&coupons)?.at(temperature.celsius(), time.hours()).u_steel)
    }

    pub(super) fn check_as_quenched(&self, hrc: f64) -> Result<()> {
        TEMPERED.check("as_quenched_hrc", hrc)?;
        let expected = self.expected_as_quenched();
        if hrc.is_nan() {
            return Err(Error::InvalidValue {
                model: TEMPERED.id.into(),
                argument: "as_quenched_hrc".into(),
                value: hrc,
                unit: "HRC".into(),
                why: "is missing".into(),
                failed: 1,
                of: 1,
                hint: "Leave it out where no reading was taken".into(),
            });
        }
        if hrc < expected.lowest() {
            return Err(Error::NoAnswer {
                model: TEMPERED.id.into(),
                asked: format!("the hardness after a temper of a part with {hrc} HRC as quenched").into(),
                why: format!(
                    "{} % C lets expect {:.1} HRC, and {:.1} is the lowest that still says so: the hardening failed, and \
                     no tempering curve applies",
                    self.amounts.of("C"),
                    expected.hrc,
                    expected.lowest()
                )
                .into(),
                hint: "Look at the hardening first: too cold, too short, quenched too slowly, a decarburised skin, or \
                       much retained austenite; judge_hardening says more"
                    .into(),
            });
        }
        Ok(())
    }
}

impl PartialEq for CompositionSteel {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
            && self.amounts == other.amounts
            && self.as_quenched_hrc == other.as_quenched_hrc
            && self.readings == other.readings
            && self.u_shared == other.u_shared
            && self.table == other.table
    }
}

/// The coolest and the hottest temper measured, °C.
pub(super) fn ends_c() -> (f64, f64) {
    TEMPERED.range("temperature_c").map_or((f64::NAN, f64::NAN), |range| (range.low, range.high))
}

/// Refuses a hold out of range; NaN passes.
pub(super) fn check_hold(temperature: Temperature, time: HoldTime) -> Result<()> {
    let (celsius, hours) = (temperature.celsius(), time.hours());
    check_finite(TEMPERED.id, "temperature_c", "°C", celsius)?;
    check_finite(TEMPERED.id, "time_h", "h", hours)?;
    let impossible = |argument: &'static str, value: f64, unit: &'static str, why: &'static str| Error::InvalidValue {
        model: TEMPERED.id.into(),
        argument: argument.into(),
        value,
        unit: unit.into(),
        why: why.into(),
        failed: 1,
        of: 1,
        hint: "Check the unit".into(),
    };
    if temperature.kelvin() <= 0.0 {
        return Err(impossible("temperature_c", celsius, "°C", "is at or below absolute zero"));
    }
    if hours <= 0.0 {
        return Err(impossible("time_h", hours, "h", "is not a positive time"));
    }
    TEMPERED.check("temperature_c", celsius)?;
    TEMPERED.check("time_h", hours)
}

fn checked(reading: &OwnReading) -> Result<()> {
    check_hold(reading.temperature, reading.time)?;
    let numbers = [
        ("readings: temperature_c", reading.temperature.celsius(), true),
        ("readings: time_h", reading.time.hours(), true),
        ("readings: hrc", reading.hrc, (0.0..=70.0).contains(&reading.hrc)),
        ("readings: u", reading.u.unwrap_or(1.0), reading.u.is_none_or(|u| u > 0.0)),
    ];
    for (argument, value, fits) in numbers {
        if !value.is_finite() || !fits {
            return Err(Error::InvalidValue {
                model: TEMPERED.id.into(),
                argument: argument.into(),
                value,
                unit: "".into(),
                why: "is no reading".into(),
                failed: 1,
                of: 1,
                hint:
                    "A reading is (temperature_c, time_h, hrc) or with its standard uncertainty behind; leave out what \
                       was not measured"
                        .into(),
            });
        }
    }
    Ok(())
}

/// What elements beyond the measured steels add to the variance, HV², and what is to be said of them.
fn beyond(read: &Coefficients, amounts: &Amounts) -> (f64, Vec<Text>) {
    let mut squares = 0.0;
    let mut notes: Vec<Text> = Vec::new();
    for &(place, [low, high]) in &read.measured {
        let amount = amounts.at(place);
        if amount > high {
            squares += (read.widen[place] * (amount - high)).powi(2);
        }
        if amount > high || place == 0 && amount < low {
            let symbol = ELEMENTS[place];
            notes.push(format!("{symbol} {amount} % lies outside the measured {low} to {high} %").into());
        }
    }
    for (place, per) in read.widen_unmeasured.iter().enumerate() {
        let amount = amounts.at(place);
        if amount > 0.0 && *per > 0.0 {
            squares += (per * amount).powi(2);
            notes.push(
                format!("{} was in none of the measured steels: the interval is widened", ELEMENTS[place]).into(),
            );
        }
    }
    (squares, notes)
}

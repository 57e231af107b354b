//! A steel known by its composition, perhaps with an as-quenched reading and readings of its own.

use std::sync::Arc;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::basis::{Functions, Prepared};
use super::coefficients::{Coefficients, Interval, coefficients};
use super::composition::{Amounts, ELEMENTS};
use super::record::TEMPERED;
use super::weights::{Row, Weights};
use crate::curve::{AsQuenched, HardnessAfterTemper, TemperingCurve};
use crate::error::{Error, Result, Text};
use crate::quantity::{HoldTime, Temperature};
use crate::record::check_finite;
use crate::temper::TWO_HOURS;

/// Spread of quenched steels about the as-quenched hardness of their carbon, HRC: root mean square of the measured
/// steels that give one, without the one that was plainly not hardened through.
const U_AS_QUENCHED: f64 = 1.5;

/// More readings than this are a table, and a table has a curve.
const MOST_READINGS: usize = 500;

/// Standard deviations from which a reading is called surprising.
const SURPRISING: f64 = 3.0;

/// A hardness measured after a temper: the mean of a place's indentations.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
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

/// A table of the grade as the model takes it in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Table {
    pub name: String,
    points: Vec<(f64, f64)>,
    time: HoldTime,
    hold_is_stated: bool,
    u_level: f64,
    u_batch: f64,
    sources: Vec<String>,
}

impl Table {
    fn of(curve: &TemperingCurve) -> Self {
        Self {
            name: curve.name().to_owned(),
            points: curve.points().collect(),
            time: curve.reference_hold(),
            hold_is_stated: curve.hold_is_stated(),
            u_level: curve.u_level(),
            u_batch: curve.u_batch(),
            sources: curve.sources().to_vec(),
        }
    }
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
    table: Option<Arc<Table>>,
    prepared: Prepared,
    weights: Weights,
    /// Variance in HV² of elements beyond what was measured.
    beyond_hv2: f64,
    distance: f64,
    /// What the variance is multiplied by far from every measured steel.
    widening: f64,
    pub(super) notes: Vec<Text>,
    /// Notes and assumptions of an estimate, written once: writing them takes longer than the answer.
    said: Vec<Text>,
    read: &'static Coefficients,
    pub(super) sources: Vec<String>,
    /// Why it answers where a curve could, if that must be said.
    remark: Option<Text>,
    /// What full hardening gives, where more than the carbon is known of the steel.
    hardened: Option<AsQuenched>,
    pub(super) u_usual: f64,
    pub(super) ends_hrc: (f64, f64),
}

impl CompositionSteel {
    /// A steel of this composition, element and weight per cent; iron may be left out.
    ///
    /// # Errors
    /// As [`Amounts::read`]; [`Error::OutOfRange`] for amounts far from all measured steels.
    pub fn new(composition: &[(&str, f64)]) -> Result<Self> {
        Self::from_amounts(Amounts::read(composition)?)
    }

    /// A steel of amounts that were read before.
    ///
    /// # Errors
    /// [`Error::DataFile`] if the crate's coefficients can't be read.
    pub fn from_amounts(amounts: Amounts) -> Result<Self> {
        Self::of(amounts, None, None, Vec::new())
    }

    pub(super) fn of(
        amounts: Amounts,
        as_quenched_hrc: Option<f64>,
        table: Option<Arc<Table>>,
        readings: Vec<OwnReading>,
    ) -> Result<Self> {
        let read = coefficients()?;
        let prepared = Prepared::new(read, &amounts, as_quenched_hrc);
        let (mean, covariance) = prepared.weights(read);
        let distance = read.distance(&amounts);
        let (beyond_hv2, mut notes) = beyond(read, &amounts);
        let free = read.widen_distance.free;
        let far = distance > free && readings.is_empty() && table.is_none();
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
            table: None,
            prepared,
            weights: Weights::new(mean, covariance),
            beyond_hv2,
            distance,
            widening,
            notes,
            said: Vec::new(),
            read,
            sources: vec![format!("{}; {}", read.provenance.source, read.provenance.at)],
            remark: None,
            hardened: None,
            u_usual: 0.0,
            ends_hrc: (f64::NAN, f64::NAN),
        };
        if let Some(table) = table {
            made.take_table(table)?;
        }
        made.take(readings)?;
        if made.is_unmeasured() {
            made.notes.extend(made.worth_of_coupons(Temperature::from_celsius(200.0), TWO_HOURS));
        } else {
            made.notes.push(made.what_it_knows());
        }
        made.said = made.assumptions();
        made.u_usual = made.at(200.0, 2.0).u_steel;
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

    /// Everything but composition and readings as another has it.
    fn known_as(self, other: &Self) -> Self {
        let named = Self { hardened: other.hardened, ..self.named(other.name.clone()) };
        match &other.remark {
            Some(remark) => named.remarking(remark.clone()),
            None => named,
        }
    }

    /// The same steel with what was measured on the part before the temper: an input of the model.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] off the scale; [`Error::NoAnswer`] below what the carbon can explain: the hardening failed.
    pub fn with_as_quenched(&self, hrc: f64) -> Result<Self> {
        self.check_as_quenched(hrc)?;
        Ok(Self::of(self.amounts, Some(hrc), self.table.clone(), self.readings.clone())?.known_as(self))
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
        Ok(Self::of(self.amounts, self.as_quenched_hrc, self.table.clone(), all)?.known_as(self))
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
        Ok(Self::of(self.amounts, self.as_quenched_hrc, Some(table), self.readings.clone())?.known_as(self))
    }

    fn row(&self, reading: &OwnReading) -> Row {
        let (prior, functions) = self.functions(reading.temperature.celsius(), reading.time.hours());
        let u = reading.u.unwrap_or_else(|| self.noise(reading.hrc));
        Row { functions, above: reading.hrc - prior, variance: u * u }
    }

    fn take_table(&mut self, table: Arc<Table>) -> Result<()> {
        let rows: Vec<Row> = table
            .points
            .iter()
            .filter(|(celsius, _)| check_hold(Temperature::from_celsius(*celsius), table.time).is_ok())
            .map(|&(celsius, hrc)| {
                let hours = table.time.hours();
                let u_hold = if table.hold_is_stated {
                    0.0
                } else {
                    0.5 * (self.mean(celsius, 0.5 * hours) - self.mean(celsius, 2.0 * hours)).abs()
                };
                let u = self.noise(hrc).hypot(u_hold);
                self.row(&OwnReading {
                    temperature: Temperature::from_celsius(celsius),
                    time: table.time,
                    hrc,
                    u: Some(u),
                })
            })
            .collect();
        let (weights, _) = self.weights.given(&rows, table.u_level * table.u_level)?;
        self.weights = weights.with_another_heat(table.u_batch * table.u_batch);
        self.sources.extend(table.sources.iter().cloned());
        if !table.hold_is_stated {
            self.notes.push("the hold of its table was not printed: the points count for less".into());
        }
        self.table = Some(table);
        Ok(())
    }

    fn take(&mut self, readings: Vec<OwnReading>) -> Result<()> {
        if readings.is_empty() {
            return Ok(());
        }
        let rows: Vec<Row> = readings.iter().map(|reading| self.row(reading)).collect();
        let (weights, surprise) = self.weights.given(&rows, 0.0)?;
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
        self.weights = weights;
        self.readings = readings;
        Ok(())
    }

    fn assumptions(&self) -> Vec<Text> {
        let composition: Vec<String> = self.amounts.present().map(|(symbol, p)| format!("{symbol} {p}")).collect();
        let Interval { k68, k95 } = self.interval_factors();
        let mut made: Vec<Text> = vec![
            format!("composition {} (weight per cent)", composition.join(", ")).into(),
            "the hold is the metal's own, known exactly; hardened through, little retained austenite".into(),
            format!("95 % of the rows of steels left out of the fit lay within {k95} u, 68 % within {k68:.2} u").into(),
        ];
        if let Some(reading) = self.as_quenched_hrc {
            made.push(format!("as-quenched {reading} HRC is an input of the model").into());
        }
        made.extend(self.notes.iter().cloned());
        made
    }

    fn what_it_knows(&self) -> Text {
        let table = self.table.as_ref().map(|table| format!(", the table {}", table.name)).unwrap_or_default();
        let own = match self.readings.len() {
            0 => String::new(),
            1 => ", one reading of its own".to_owned(),
            count => format!(", {count} readings of its own"),
        };
        format!("predicted from composition{table}{own}").into()
    }

    /// What two coupons of the bar would be worth, as a sentence.
    pub(super) fn worth_of_coupons(&self, temperature: Temperature, time: HoldTime) -> Option<Text> {
        let factor = self.interval_factors().k95;
        let after = self.u_with_two_coupons(temperature, time).ok()?;
        let now = self.at(temperature.celsius(), time.hours()).u_steel;
        Some(
            format!(
                "predicted from composition alone: ±{:.1} HRC (95 %) at {:.0} °C for {} h; two coupons of the bar, \
                 tempered 25 °C either side, would bring it to ±{:.1}",
                factor * now,
                temperature.celsius(),
                time.hours(),
                factor * after
            )
            .into(),
        )
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
    pub const fn as_quenched_hrc(&self) -> Option<f64> {
        self.as_quenched_hrc
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
        self.prepared.c
    }

    /// The factors of u that gave 68 % and 95 % of the rows of steels left out, for one that has an as-quenched reading
    /// or has none.
    #[must_use]
    pub const fn interval_factors(&self) -> Interval {
        self.read.interval.when(self.as_quenched_hrc.is_some())
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
        let rows = [-25.0, 25.0].map(|away| {
            let celsius = (temperature.celsius() + away).clamp(low, high);
            let hrc = self.mean(celsius, time.hours());
            self.row(&OwnReading { temperature: Temperature::from_celsius(celsius), time, hrc, u: None })
        });
        let (_, functions) = self.functions(temperature.celsius(), time.hours());
        let per_hv = 1.0 / self.read.slope.at(self.mean(temperature.celsius(), time.hours()));
        // Near or far counts only as long as nothing was measured.
        Ok((self.weights.variance_given_two(&functions, &rows) + self.beyond_hv2 * per_hv * per_hv).sqrt())
    }

    pub(super) fn check_as_quenched(&self, hrc: f64) -> Result<()> {
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
        self.band().refuse_failed(&self.name, hrc)
    }
}

/// What a steel is made of: everything else follows.
#[derive(Serialize, Deserialize)]
struct Ingredients {
    name: String,
    remark: Option<String>,
    hardened: Option<AsQuenched>,
    composition: Vec<(String, f64)>,
    as_quenched_hrc: Option<f64>,
    table: Option<Table>,
    readings: Vec<OwnReading>,
}

impl Serialize for CompositionSteel {
    fn serialize<S: Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        Ingredients {
            name: self.name.clone(),
            remark: self.remark.as_ref().map(ToString::to_string),
            hardened: self.hardened,
            composition: self.amounts.present().map(|(symbol, percent)| (symbol.to_owned(), percent)).collect(),
            as_quenched_hrc: self.as_quenched_hrc,
            table: self.table().cloned(),
            readings: self.readings.clone(),
        }
        .serialize(serializer)
    }
}

impl<'de> Deserialize<'de> for CompositionSteel {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> std::result::Result<Self, D::Error> {
        let from = Ingredients::deserialize(deserializer)?;
        let composition: Vec<(&str, f64)> = from.composition.iter().map(|(symbol, p)| (symbol.as_str(), *p)).collect();
        let made = Amounts::read(&composition)
            .and_then(|amounts| Self::of(amounts, from.as_quenched_hrc, from.table.map(Arc::new), from.readings));
        let made = Self { hardened: from.hardened, ..made.map_err(serde::de::Error::custom)?.named(from.name) };
        Ok(match from.remark {
            Some(remark) => made.remarking(remark),
            None => made,
        })
    }
}

impl PartialEq for CompositionSteel {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
            && self.amounts == other.amounts
            && self.as_quenched_hrc == other.as_quenched_hrc
            && self.readings == other.readings
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
    let impossible = |argument: &'static str, value: f64, unit: &'static str, why: &'static str| {
        Error::invalid(TEMPERED.id, argument, (value, unit), why, "Check the unit")
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
            return Err(Error::invalid(
                TEMPERED.id,
                argument,
                (value, ""),
                "is no reading",
                "A reading is (temperature_c, time_h, hrc) or with its standard uncertainty behind; leave out what \
                       was not measured",
            ));
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

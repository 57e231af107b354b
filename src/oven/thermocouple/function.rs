//! The ITS-90 reference functions and their inverse.

use std::sync::OnceLock;

use serde::{Deserialize, Serialize};

use super::models::THERMOCOUPLES;
use crate::error::{Error, Result};
use crate::kernel::exp2;
use crate::oven::shipped;
use crate::quantity::Temperature;
use crate::record::{ModelRecord, check_finite};

/// A type of thermocouple whose reference function is known here.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Thermocouple {
    /// Nickel-chromium against nickel-aluminium.
    K,
    /// Iron against copper-nickel.
    J,
    /// Nickel-chromium-silicon against nickel-silicon.
    N,
    /// Copper against copper-nickel.
    T,
    /// Platinum-10 % rhodium against platinum.
    S,
}

impl Thermocouple {
    /// All of them, the commonest first.
    pub const ALL: [Self; 5] = [Self::K, Self::J, Self::N, Self::T, Self::S];

    /// Its letter.
    #[must_use]
    pub const fn letter(self) -> &'static str {
        match self {
            Self::K => "K",
            Self::J => "J",
            Self::N => "N",
            Self::T => "T",
            Self::S => "S",
        }
    }

    /// Its place in [`Thermocouple::ALL`].
    #[must_use]
    pub const fn index(self) -> usize {
        self as usize
    }

    /// The type of a letter, in either case.
    ///
    /// # Errors
    /// [`Error::UnknownName`] for a type without a reference function here.
    pub fn named(letter: &str) -> Result<Self> {
        let wanted = letter.trim();
        Self::ALL.into_iter().find(|kind| kind.letter().eq_ignore_ascii_case(wanted)).ok_or_else(|| {
            Error::UnknownName {
                kind: "thermocouple type".into(),
                name: letter.to_owned(),
                close: Self::ALL.iter().map(|kind| kind.letter().to_owned()).collect(),
                hint: "Only types with a source that can be named are here".into(),
            }
        })
    }

    /// Its record: range and source.
    #[must_use]
    pub const fn record(self) -> &'static ModelRecord {
        THERMOCOUPLES[self as usize]
    }

    /// Its reference function.
    ///
    /// # Errors
    /// [`Error::DataFile`] if the table in the crate can't be read.
    pub fn function(self) -> Result<&'static ReferenceFunction> {
        static FUNCTIONS: OnceLock<Result<Vec<ReferenceFunction>>> = OnceLock::new();
        let all = FUNCTIONS.get_or_init(read).as_ref().map_err(Clone::clone)?;
        all.get(self.index()).ok_or_else(|| Error::UnknownName {
            kind: "thermocouple type".into(),
            name: self.letter().to_owned(),
            close: Vec::new(),
            hint: "Its function is missing in the table".into(),
        })
    }

    /// The emf in mV between the hot junction and a reference junction.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] outside the range of the type, [`Error::InvalidValue`] for infinite values.
    ///
    /// ```
    /// use afterquench::{Temperature, oven::Thermocouple};
    /// let celsius = Temperature::from_celsius;
    /// let emf = Thermocouple::K.emf_mv(celsius(240.0), celsius(0.0)).unwrap();
    /// assert!((emf - 9.747152).abs() < 1e-6);
    /// ```
    pub fn emf_mv(self, hot: Temperature, reference: Temperature) -> Result<f64> {
        let record = self.record();
        record.check("temperature_c", hot.celsius())?;
        record.check("reference_junction_c", reference.celsius())?;
        let function = self.function()?;
        Ok(function.emf_mv(hot.celsius()) - function.emf_mv(reference.celsius()))
    }

    /// The temperature of the hot junction from the emf measured at terminals of temperature `reference`.
    ///
    /// The emf of the reference junction is added, not its degrees.
    ///
    /// # Errors
    /// As [`Thermocouple::emf_mv`].
    ///
    /// ```
    /// use afterquench::{Temperature, oven::Thermocouple};
    /// // 240 °C with terminals at 25 °C; adding 25 °C after inversion gives 245.5.
    /// let hot = Thermocouple::N.temperature(6.596408, Temperature::from_celsius(25.0)).unwrap();
    /// assert!((hot.celsius() - 240.0).abs() < 1e-4);
    /// ```
    pub fn temperature(self, emf_mv: f64, reference: Temperature) -> Result<Temperature> {
        let record = self.record();
        check_finite(record.id, "mv", "mV", emf_mv)?;
        record.check("reference_junction_c", reference.celsius())?;
        let function = self.function()?;
        let from_zero = emf_mv + function.emf_mv(reference.celsius());
        let (low, high) = function.range_mv();
        if from_zero < low || from_zero > high {
            let shift = function.emf_mv(reference.celsius());
            return Err(Error::outside(
                record.id,
                "mv",
                (emf_mv, "mV"),
                (low - shift, high - shift),
                "ITS-90, by the ends of the type's range",
                "Check the type, the sign (a reversed couple) and that it is mV, not µV",
            ));
        }
        Ok(Temperature::from_celsius(function.celsius(from_zero)))
    }

    /// The Seebeck coefficient in µV/°C: what a degree is worth.
    ///
    /// # Errors
    /// As [`Thermocouple::emf_mv`].
    pub fn seebeck_uv_per_c(self, temperature: Temperature) -> Result<f64> {
        self.record().check("temperature_c", temperature.celsius())?;
        Ok(1000.0 * self.function()?.slope_mv_per_c(temperature.celsius()))
    }
}

/// A polynomial with its range, and for type K an exponential on top.
#[derive(Debug, Clone, PartialEq)]
struct Segment {
    low_c: f64,
    high_c: f64,
    low_mv: f64,
    high_mv: f64,
    coefficients: Vec<f64>,
    exponential: Option<[f64; 3]>,
}

impl Segment {
    /// Value and slope at once.
    fn at(&self, celsius: f64) -> (f64, f64) {
        let (mut value, mut slope) = polynomial(&self.coefficients, celsius);
        if let Some([height, width, centre]) = self.exponential {
            let off = celsius - centre;
            let bump = height * exp2(width * off * off * std::f64::consts::LOG2_E);
            value += bump;
            slope += 2.0 * width * off * bump;
        }
        (value, slope)
    }

    /// Newton on the forward function, held inside a bracket that shrinks.
    fn solve(&self, emf_mv: f64, start_c: f64) -> f64 {
        /// Newton from the published inverse needs two; bisection from nowhere needs these.
        const MOST_STEPS: usize = 80;
        let (mut low, mut high) = (self.low_c, self.high_c);
        if emf_mv <= self.low_mv {
            return low;
        }
        if emf_mv >= self.high_mv {
            return high;
        }
        let mut celsius = start_c.clamp(low, high);
        for _ in 0..MOST_STEPS {
            let (value, slope) = self.at(celsius);
            let off = value - emf_mv;
            if off > 0.0 {
                high = celsius;
            } else {
                low = celsius;
            }
            let step = off / slope;
            let next = celsius - step;
            if step.abs() <= 1e-12 * celsius.abs().max(1.0) {
                return next.clamp(self.low_c, self.high_c);
            }
            celsius = if next > low && next < high { next } else { 0.5 * (low + high) };
        }
        celsius
    }
}

/// A polynomial and its derivative.
fn polynomial(coefficients: &[f64], x: f64) -> (f64, f64) {
    coefficients.iter().rev().fold((0.0, 0.0), |(value, slope), c| (value * x + c, slope * x + value))
}

/// A published approximate inverse: the start of Newton, and what is shown beside it.
#[derive(Debug, Clone, PartialEq)]
pub struct PublishedInverse {
    /// Lower end of its range in °C.
    pub low_c: f64,
    /// Upper end of its range in °C.
    pub high_c: f64,
    /// Its error as its publisher states it, lowest and highest, in °C.
    pub stated_error_delta_c: (f64, f64),
    low_mv: f64,
    high_mv: f64,
    coefficients: Vec<f64>,
}

impl PublishedInverse {
    /// What it gives, without any check of its range.
    #[must_use]
    pub fn celsius(&self, emf_mv: f64) -> f64 {
        polynomial(&self.coefficients, emf_mv).0
    }
}

/// The reference function of one type: emf against a junction at 0 °C.
#[derive(Debug, Clone, PartialEq)]
pub struct ReferenceFunction {
    segments: Vec<Segment>,
    inverses: Vec<PublishedInverse>,
}

impl ReferenceFunction {
    /// The segment of a temperature; where two meet, the lower, so that 0 °C gives exactly 0 mV.
    fn segment(&self, celsius: f64) -> Option<&Segment> {
        let found = self.segments.iter().find(|segment| celsius <= segment.high_c)?;
        (celsius >= found.low_c).then_some(found)
    }

    /// emf in mV against a junction at 0 °C; NaN outside the range.
    #[must_use]
    pub fn emf_mv(&self, celsius: f64) -> f64 {
        self.segment(celsius).map_or(f64::NAN, |segment| segment.at(celsius).0)
    }

    /// Its slope in mV/°C; NaN outside the range.
    #[must_use]
    pub fn slope_mv_per_c(&self, celsius: f64) -> f64 {
        self.segment(celsius).map_or(f64::NAN, |segment| segment.at(celsius).1)
    }

    /// The temperature of an emf against a junction at 0 °C; NaN outside the range.
    #[must_use]
    pub fn celsius(&self, emf_mv: f64) -> f64 {
        let Some(segment) = self.segments.iter().find(|segment| emf_mv <= segment.high_mv) else { return f64::NAN };
        if emf_mv < self.range_mv().0 {
            return f64::NAN;
        }
        let start = self
            .inverses
            .iter()
            .find(|inverse| (inverse.low_mv..=inverse.high_mv).contains(&emf_mv))
            .map_or(0.5 * (segment.low_c + segment.high_c), |inverse| inverse.celsius(emf_mv));
        segment.solve(emf_mv, start)
    }

    /// The lowest and highest emf in mV.
    #[must_use]
    pub fn range_mv(&self) -> (f64, f64) {
        let low = self.segments.first().map_or(f64::NAN, |segment| segment.low_mv);
        (low, self.segments.last().map_or(f64::NAN, |segment| segment.high_mv))
    }

    /// The lowest and highest temperature in °C.
    #[must_use]
    pub fn range_c(&self) -> (f64, f64) {
        let low = self.segments.first().map_or(f64::NAN, |segment| segment.low_c);
        (low, self.segments.last().map_or(f64::NAN, |segment| segment.high_c))
    }

    /// The published approximate inverses.
    #[must_use]
    pub fn published_inverses(&self) -> &[PublishedInverse] {
        &self.inverses
    }
}

#[derive(Deserialize)]
struct Row {
    function: String,
    r#type: String,
    low_c: f64,
    high_c: f64,
    index: usize,
    value: f64,
}

/// The functions of all types, in the order of [`Thermocouple::ALL`].
fn read() -> Result<Vec<ReferenceFunction>> {
    const FILE: &str = "thermocouple_its90_1993.csv";
    let rows: Vec<Row> = shipped::rows(FILE, include_str!("../../data/thermocouple_its90_1993.csv"))?;
    Ok(Thermocouple::ALL
        .into_iter()
        .map(|kind| {
            let of = |function: &str| {
                let mine = rows.iter().filter(|row| row.function == function && row.r#type == kind.letter());
                let mut parts: Vec<(f64, f64, Vec<f64>)> = Vec::new();
                for row in mine {
                    match parts.last_mut() {
                        Some(part) if row.index > 0 => part.2.push(row.value),
                        _ => parts.push((row.low_c, row.high_c, vec![row.value])),
                    }
                }
                parts
            };
            let exponentials = of("exponential");
            let segments: Vec<Segment> = of("forward")
                .into_iter()
                .map(|(low_c, high_c, coefficients)| {
                    let bump = exponentials.iter().find(|part| part.0 == low_c && part.1 == high_c);
                    let exponential = bump.and_then(|part| <[f64; 3]>::try_from(part.2.as_slice()).ok());
                    let mut made = Segment { low_c, high_c, low_mv: 0.0, high_mv: 0.0, coefficients, exponential };
                    (made.low_mv, made.high_mv) = (made.at(low_c).0, made.at(high_c).0);
                    made
                })
                .collect();
            let forward = ReferenceFunction { segments, inverses: Vec::new() };
            let inverses = of("inverse")
                .into_iter()
                .zip(of("inverse_error"))
                .map(|((low_c, high_c, coefficients), (_, _, stated))| PublishedInverse {
                    low_c,
                    high_c,
                    stated_error_delta_c: (
                        stated.first().copied().unwrap_or(f64::NAN),
                        stated.get(1).copied().unwrap_or(f64::NAN),
                    ),
                    low_mv: forward.emf_mv(low_c),
                    high_mv: forward.emf_mv(high_c),
                    coefficients,
                })
                .collect();
            ReferenceFunction { inverses, ..forward }
        })
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_of_the_records_are_those_of_the_table() {
        for kind in Thermocouple::ALL {
            let (low, high) = kind.function().unwrap().range_c();
            let ranges = kind.record().ranges;
            assert!(ranges.iter().all(|range| (range.low, range.high) == (low, high)), "{kind:?}");
        }
    }

    #[test]
    fn segments_meet() {
        for kind in Thermocouple::ALL {
            for pair in kind.function().unwrap().segments.windows(2) {
                assert_eq!(pair[0].high_c, pair[1].low_c);
                assert!((pair[0].high_mv - pair[1].low_mv).abs() < 1e-7, "{kind:?} {pair:?}");
            }
        }
    }
}

//! Platinum resistance thermometers after IEC 60751.

use std::sync::OnceLock;

use serde::Deserialize;

use crate::error::{Error, Result};
use crate::kernel::{ArrayModel, Lane};
use crate::oven::formula::Formula;
use crate::oven::shipped;
use crate::quantity::Temperature;
use crate::record::{ModelRecord, Origin, Scatter, Source, ValidRange, check_finite};

const IEC: Source = Source {
    cite: "IEC 60751:2008",
    at: "Callendar-Van Dusen equation, in transcriptions; the standard was not read",
    origin: Origin::Printed,
};

/// The record of [`pt100_resistance_ohm`] and its inverse.
pub static PT100: ModelRecord = ModelRecord {
    id: "oven.pt100",
    gives: "resistance of a platinum thermometer, and its temperature",
    unit: "ohm",
    formula: "R0 (1 + A t + B t^2), below 0 °C + R0 C (t - 100) t^3; inverse: the root above, Newton below",
    ranges: &[ValidRange {
        argument: "temperature_c",
        unit: "°C",
        low: -200.0,
        high: 850.0,
        stated_by: "IEC 60751:2008",
    }],
    scatter: Scatter::Exact,
    sources: &[IEC],
    errata: &["a maker's table prints 35.34 ohm at -160 °C: it is 35.54"],
    not_for: "how far a real thermometer is from it: see pt100_tolerance; a two-wire lead adds 2.7 °C an ohm at 200 °C",
};

/// The record of [`Pt100Class`].
pub static PT100_TOLERANCE: ModelRecord = ModelRecord {
    id: "oven.pt100_tolerance",
    gives: "how far a new platinum thermometer of a class may be off",
    unit: "°C",
    formula: "AA 0.1 + 0.0017 |t|, A 0.15 + 0.002 |t|, B 0.3 + 0.005 |t|, C 0.6 + 0.01 |t|",
    ranges: &[],
    scatter: Scatter::Exact,
    sources: &[
        IEC,
        Source {
            cite: "IEC 60751:2008",
            at: "temperature ranges of the classes by construction, and class C",
            origin: Origin::FromMemory,
        },
    ],
    errata: &["1/3 B and 1/10 B are makers' grades, no classes of the standard: 1/3 B is about AA at 0 °C only"],
    not_for: "outside the range of the class, where it does not apply",
};

#[derive(Debug, Clone, Deserialize)]
struct Row {
    record: String,
    name: String,
    value: f64,
    slope: Option<f64>,
    wire_low_c: Option<f64>,
    wire_high_c: Option<f64>,
    film_low_c: Option<f64>,
    film_high_c: Option<f64>,
}

fn rows() -> Result<&'static [Row]> {
    static ROWS: OnceLock<Result<Vec<Row>>> = OnceLock::new();
    ROWS.get_or_init(|| {
        shipped::rows("resistance_iec_60751_2008.csv", include_str!("../../data/resistance_iec_60751_2008.csv"))
    })
    .as_ref()
    .map(Vec::as_slice)
    .map_err(Clone::clone)
}

/// A, B and C.
fn coefficients() -> Result<[f64; 3]> {
    static HELD: OnceLock<Result<[f64; 3]>> = OnceLock::new();
    HELD.get_or_init(|| {
        let rows = rows()?;
        let of = |name: &str| {
            rows.iter().find(|row| row.record == "coefficient" && row.name == name).map_or(f64::NAN, |row| row.value)
        };
        Ok([of("A"), of("B"), of("C")])
    })
    .clone()
}

/// R/R0 and its slope.
fn ratio([a, b, c]: [f64; 3], t: f64) -> (f64, f64) {
    let (cubic, slope) =
        if t < 0.0 { (c * (t - 100.0) * t * t * t, c * t * t * (4.0 * t - 300.0)) } else { (0.0, 0.0) };
    (1.0 + t * (a + t * b) + cubic, a + 2.0 * b * t + slope)
}

fn nominal(r0_ohm: f64) -> Result<()> {
    check_finite(PT100.id, "nominal_ohm", "ohm", r0_ohm)?;
    if r0_ohm <= 0.0 {
        return Err(Error::invalid(
            PT100.id,
            "nominal_ohm",
            (r0_ohm, "ohm"),
            "is no resistance at 0 °C",
            "100 for a Pt100, 1000 for a Pt1000",
        ));
    }
    Ok(())
}

/// Resistance in ohm at a temperature, of a thermometer with `nominal_ohm` at 0 °C.
///
/// # Errors
/// [`Error::OutOfRange`] outside -200 to 850 °C, [`Error::InvalidValue`] for a nominal that is not positive.
///
/// ```
/// use afterquench::{Temperature, oven::pt100_resistance_ohm};
/// let ohm = pt100_resistance_ohm(Temperature::from_celsius(200.0), 100.0).unwrap();
/// assert!((ohm - 175.856).abs() < 1e-9);
/// ```
pub fn pt100_resistance_ohm(temperature: Temperature, nominal_ohm: f64) -> Result<f64> {
    PT100.check("temperature_c", temperature.celsius())?;
    nominal(nominal_ohm)?;
    Ok(nominal_ohm * ratio(coefficients()?, temperature.celsius()).0)
}

/// Temperature from a resistance in ohm.
///
/// # Errors
/// As [`pt100_resistance_ohm`], the range in ohm.
pub fn pt100_temperature(ohm: f64, nominal_ohm: f64) -> Result<Temperature> {
    check_finite(PT100.id, "ohm", "ohm", ohm)?;
    nominal(nominal_ohm)?;
    let [a, b, c] = coefficients()?;
    let bounds = PT100.ranges.first().map_or((f64::NAN, f64::NAN), |range| (range.low, range.high));
    let (low, high) = (ratio([a, b, c], bounds.0).0, ratio([a, b, c], bounds.1).0);
    let wanted = ohm / nominal_ohm;
    if wanted.is_nan() {
        return Ok(Temperature::from_celsius(f64::NAN));
    }
    // The resistance of the very end of the range belongs to it, whatever the last rounding did.
    if wanted < low * (1.0 - 1e-15) || wanted > high * (1.0 + 1e-15) {
        return Err(Error::outside(
            PT100.id,
            "ohm",
            (ohm, "ohm"),
            (low * nominal_ohm, high * nominal_ohm),
            "IEC 60751:2008, by the ends of its range",
            "Check nominal_ohm (100 or 1000) and the resistance of the leads",
        ));
    }
    let root = |ratio: f64| (-a + (a * a - 4.0 * b * (1.0 - ratio)).sqrt()) / (2.0 * b);
    if wanted >= 1.0 {
        return Ok(Temperature::from_celsius(root(wanted).min(bounds.1)));
    }
    /// From the root without C, which is off by 2.4 °C at the end, Newton gains two digits and more a step.
    const STEPS: usize = 6;
    let mut celsius = root(wanted);
    for _ in 0..STEPS {
        let (value, slope) = ratio([a, b, c], celsius);
        celsius -= (value - wanted) / slope;
    }
    Ok(Temperature::from_celsius(celsius.max(bounds.0)))
}

/// [`pt100_resistance_ohm`] over arrays.
pub const RESISTANCE_OVER: Formula<2> = Formula {
    names: ["temperature_c", "nominal_ohm"],
    function: |[celsius, r0]| pt100_resistance_ohm(Temperature::from_celsius(celsius), r0),
};
/// [`pt100_temperature`] over arrays.
pub const RESISTANCE_TEMPERATURE_OVER: Formula<2> = Formula {
    names: ["ohm", "nominal_ohm"],
    function: |[ohm, r0]| pt100_temperature(ohm, r0).map(Temperature::celsius),
};

/// How a thermometer is built, which decides over what range a class holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Construction {
    /// A wound wire.
    WireWound,
    /// A film on ceramic.
    Film,
}

impl Construction {
    /// The construction of a name.
    ///
    /// # Errors
    /// [`Error::UnknownName`].
    pub fn named(name: &str) -> Result<Self> {
        match name.trim() {
            "wire-wound" => Ok(Self::WireWound),
            "film" => Ok(Self::Film),
            other => Err(Error::UnknownName {
                kind: "construction".into(),
                name: other.to_owned(),
                close: vec!["wire-wound".into(), "film".into()],
                hint: "It decides the temperatures over which a class holds".into(),
            }),
        }
    }
}

/// A class of IEC 60751 for one construction.
#[derive(Debug, Clone, PartialEq)]
pub struct Pt100Class {
    name: String,
    fixed_delta_c: f64,
    fraction: f64,
    low_c: f64,
    high_c: f64,
}

impl Pt100Class {
    /// "AA", "A", "B" or "C".
    ///
    /// # Errors
    /// [`Error::UnknownName`].
    pub fn named(class: &str, construction: Construction) -> Result<Self> {
        let classes: Vec<&Row> = rows()?.iter().filter(|row| row.record == "class").collect();
        let Some(row) = classes.iter().find(|row| row.name.eq_ignore_ascii_case(class.trim())) else {
            return Err(Error::UnknownName {
                kind: "class of IEC 60751".into(),
                name: class.to_owned(),
                close: classes.iter().map(|row| row.name.clone()).collect(),
                hint: "1/3 B and 1/10 B are makers' grades, no classes of the standard".into(),
            });
        };
        let (low, high, built) = match construction {
            Construction::WireWound => (row.wire_low_c, row.wire_high_c, "wire-wound"),
            Construction::Film => (row.film_low_c, row.film_high_c, "film"),
        };
        Ok(Self {
            name: format!("IEC 60751:2008 class {}, {built} (range from memory)", row.name),
            fixed_delta_c: row.value,
            fraction: row.slope.unwrap_or(f64::NAN),
            low_c: low.unwrap_or(f64::NAN),
            high_c: high.unwrap_or(f64::NAN),
        })
    }

    fn value(&self, celsius: f64) -> f64 {
        self.fixed_delta_c + self.fraction * celsius.abs()
    }

    /// The tolerance in °C, plus and minus, at a temperature.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] where the class does not apply.
    pub fn at(&self, celsius: f64) -> Result<f64> {
        check_finite(PT100_TOLERANCE.id, "temperature_c", "°C", celsius)?;
        if celsius < self.low_c || celsius > self.high_c {
            return Err(Error::outside(
                PT100_TOLERANCE.id,
                "temperature_c",
                (celsius, "°C"),
                (self.low_c, self.high_c),
                self.name.clone(),
                "Outside its range the class does not apply: take a wider class, or ask for out_of_range=\"nan\"",
            ));
        }
        Ok(self.value(celsius))
    }
}

impl ArrayModel for Pt100Class {
    fn arguments(&self) -> &[&'static str] {
        &["temperature_c"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        let lane = arguments.first().copied().unwrap_or(Lane::One(f64::NAN));
        for (index, out) in out.iter_mut().enumerate() {
            let celsius = lane.at(index);
            *out = if self.low_c <= celsius && celsius <= self.high_c { self.value(celsius) } else { f64::NAN };
        }
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        arguments.first().map_or(Ok(()), |&celsius| self.at(celsius).map(|_| ()))
    }
}

//! Where martensite starts, by linear formulas of composition.

use crate::error::{Error, Result};
use crate::record::{ModelRecord, Origin, Scatter, Source, ValidRange, check_finite};

/// A formula for the martensite start temperature.
#[derive(Debug, Clone, Copy)]
pub struct StartFormula {
    /// Its record.
    pub record: &'static ModelRecord,
    /// Constant term, °C.
    constant: f64,
    /// Weight of each element, °C per weight per cent.
    weights: &'static [(&'static str, f64)],
}

const fn limit(argument: &'static str, low: f64, high: f64, stated_by: &'static str) -> ValidRange {
    ValidRange { argument, unit: "%", low, high, stated_by }
}

const SCATTER: Scatter =
    Scatter::Known { u: 15.0, unit: "°C", found: "from memory: ±25 to 30 °C for 90 % of steels is quoted" };

/// Andrews (1965), the linear formula.
pub static ANDREWS_LINEAR: ModelRecord = ModelRecord {
    id: "steel.martensite_start.andrews-linear",
    gives: "martensite start temperature",
    unit: "°C",
    formula: "Ms = 539 - 423 C - 30.4 Mn - 17.7 Ni - 12.1 Cr - 7.5 Mo",
    ranges: &[
        limit("C", 0.0, 0.6, "Andrews (1965)"),
        limit("Mn", 0.0, 4.9, "Andrews (1965)"),
        limit("Ni", 0.0, 5.0, "Andrews (1965)"),
        limit("Cr", 0.0, 5.0, "Andrews (1965)"),
        limit("Mo", 0.0, 5.4, "Andrews (1965)"),
    ],
    scatter: SCATTER,
    sources: &[Source { cite: "K. W. Andrews, JISI 203 (1965) 721", at: "linear formula", origin: Origin::FromMemory }],
    errata: &[],
    not_for: "high-carbon and tool steels: carbides hold carbon back from the austenite",
};

/// Steven and Haynes (1956).
pub static STEVEN_HAYNES: ModelRecord = ModelRecord {
    id: "steel.martensite_start.steven-haynes",
    gives: "martensite start temperature",
    unit: "°C",
    formula: "Ms = 561 - 474 C - 33 Mn - 17 Cr - 17 Ni - 21 Mo",
    ranges: &[
        limit("C", 0.1, 0.55, "Steven and Haynes (1956)"),
        limit("Mn", 0.2, 1.7, "Steven and Haynes (1956)"),
        limit("Cr", 0.0, 3.5, "Steven and Haynes (1956)"),
        limit("Ni", 0.0, 5.0, "Steven and Haynes (1956)"),
        limit("Mo", 0.0, 1.0, "Steven and Haynes (1956)"),
    ],
    scatter: SCATTER,
    sources: &[Source {
        cite: "W. Steven and A. G. Haynes, JISI 183 (1956) 349",
        at: "formula for Ms",
        origin: Origin::FromMemory,
    }],
    errata: &["476 in place of 474 for carbon is printed in places: 0.8 °C at 0.4 % C"],
    not_for: "high-carbon and tool steels",
};

/// Capdevila, Caballero and García de Andrés (2002), given in kelvin.
pub static CAPDEVILA: ModelRecord = ModelRecord {
    id: "steel.martensite_start.capdevila",
    gives: "martensite start temperature",
    unit: "°C",
    formula: "Ms[K] = 764.2 - 302.6 C - 30.6 Mn - 16.6 Ni - 8.9 Cr + 2.4 Mo - 11.3 Cu + 8.58 Co + 7.4 W - 14.5 Si",
    ranges: &[limit("C", 0.001, 1.65, "Capdevila et al. (2002)")],
    scatter: SCATTER,
    sources: &[Source {
        cite: "C. Capdevila, F. G. Caballero and C. García de Andrés, ISIJ Int. 42 (2002) 894",
        at: "formula for Ms",
        origin: Origin::FromMemory,
    }],
    errata: &["the constant is in kelvin: forgetting 273.15 is the common error"],
    not_for: "steels whose carbides do not dissolve at the hardening temperature",
};

/// The formulas, by the name after the last dot of their record.
pub const FORMULAS: &[StartFormula] = &[
    StartFormula {
        record: &ANDREWS_LINEAR,
        constant: 539.0,
        weights: &[("C", -423.0), ("Mn", -30.4), ("Ni", -17.7), ("Cr", -12.1), ("Mo", -7.5)],
    },
    StartFormula {
        record: &STEVEN_HAYNES,
        constant: 561.0,
        weights: &[("C", -474.0), ("Mn", -33.0), ("Cr", -17.0), ("Ni", -17.0), ("Mo", -21.0)],
    },
    StartFormula {
        record: &CAPDEVILA,
        constant: 764.2 - crate::quantity::ZERO_CELSIUS_K,
        weights: &[
            ("C", -302.6),
            ("Mn", -30.6),
            ("Ni", -16.6),
            ("Cr", -8.9),
            ("Mo", 2.4),
            ("Cu", -11.3),
            ("Co", 8.58),
            ("W", 7.4),
            ("Si", -14.5),
        ],
    },
];

/// Martensite start in °C by a named formula; elements that are not given are not there.
///
/// # Errors
/// [`Error::UnknownName`] for a formula or an element that is not known; [`Error::OutOfRange`] outside the formula's
/// composition; [`Error::InvalidValue`] for a content that is negative or infinite; [`Error::MissingArgument`] without carbon.
///
/// ```
/// use afterquench::steel::martensite_start;
/// let ms = martensite_start(&[("C", 0.40), ("Mn", 0.70), ("Ni", 1.80), ("Cr", 0.80), ("Mo", 0.25)], "andrews-linear");
/// assert!((ms.unwrap() - 305.1).abs() < 0.1);
/// ```
pub fn martensite_start(composition: &[(&str, f64)], source: &str) -> Result<f64> {
    let name = |formula: &StartFormula| formula.record.id.rsplit('.').next().unwrap_or_default();
    let formula = FORMULAS.iter().find(|formula| name(formula) == source).ok_or_else(|| Error::UnknownName {
        kind: "formula for martensite start".into(),
        name: source.to_owned(),
        close: Vec::new(),
        hint: format!("Formulas are {}", FORMULAS.iter().map(name).collect::<Vec<_>>().join(", ")).into(),
    })?;
    let known = ["C", "Si", "Mn", "P", "S", "Cr", "Mo", "V", "W", "Ni", "Cu", "Co", "Al", "Ti", "Nb", "B", "N"];
    for &(element, value) in composition {
        if !known.contains(&element) {
            return Err(Error::UnknownName {
                kind: "element".into(),
                name: element.to_owned(),
                close: known
                    .iter()
                    .filter(|name| name.eq_ignore_ascii_case(element))
                    .map(|name| (*name).to_owned())
                    .collect(),
                hint: "Elements go by their symbols, in weight per cent".into(),
            });
        }
        check_finite(formula.record.id, element.to_owned(), "%", value)?;
        if value < 0.0 {
            return Err(Error::invalid(
                formula.record.id,
                element.to_owned(),
                (value, "%"),
                "is negative",
                "Give weight per cent",
            ));
        }
    }
    let content = |element: &str| composition.iter().find(|(name, _)| *name == element).map(|(_, value)| *value);
    if content("C").is_none() {
        return Err(Error::MissingArgument {
            function: "martensite_start".into(),
            argument: "C".into(),
            why: "carbon decides where martensite starts".into(),
            hint: "Give the composition with \"C\"".into(),
        });
    }
    for range in formula.record.ranges {
        let value = content(range.argument).unwrap_or(0.0_f64.max(range.low));
        formula.record.check(range.argument, value).map_err(|error| {
            let reach = FORMULAS
                .iter()
                .filter(|other| other.record.range(range.argument).is_none_or(|range| range.contains(value)));
            let others: Vec<&str> = reach.map(name).collect();
            error.advising(if others.is_empty() {
                "No formula here reaches so far: a dilatometer, or the maker's sheet, would tell".to_owned()
            } else {
                format!("Formulas that go so far: source=\"{}\"", others.join("\" or \""))
            })
        })?;
    }
    Ok(formula.constant
        + formula.weights.iter().map(|(element, weight)| weight * content(element).unwrap_or(0.0)).sum::<f64>())
}

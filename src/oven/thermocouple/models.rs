//! What the reference functions and the tolerances say of themselves.

use crate::record::{ModelRecord, Origin, Scatter, Source, ValidRange};

const WHOSE: &str = "ITS-90, NIST Monograph 175";

const MONOGRAPH: Source = Source {
    cite: "NIST ITS-90 Thermocouple Database, SRD 60 (NIST Monograph 175, 1993); as IEC 60584-1:2013",
    at: "reference functions, coefficients of degree 4 to 14",
    origin: Origin::Printed,
};

macro_rules! thermocouple {
    ($name:ident, $id:literal, $gives:literal, $formula:literal, $low:literal, $high:literal, $errata:expr) => {
        static $name: ModelRecord = ModelRecord {
            id: $id,
            gives: $gives,
            unit: "mV",
            formula: $formula,
            ranges: &[
                ValidRange { argument: "temperature_c", unit: "°C", low: $low, high: $high, stated_by: WHOSE },
                ValidRange { argument: "reference_junction_c", unit: "°C", low: $low, high: $high, stated_by: WHOSE },
            ],
            scatter: Scatter::Exact,
            sources: &[MONOGRAPH],
            errata: $errata,
            not_for: "how far a real couple is from it: see thermocouple_tolerance, which holds for new wire only",
        };
    };
}

thermocouple!(
    TYPE_K,
    "oven.thermocouple.k",
    "emf of a type K thermocouple",
    "E = sum c_i t^i, above 0 °C + a0 exp(a1 (t - a2)^2); inverse by Newton on it",
    -270.0,
    1372.0,
    &[
        "a database page prints a0 as 0.118597600000*100: the exponent is lost, it is 0.1185976 mV",
        "the part above 0 °C gives 1.97e-9 mV at 0 °C; 0 °C is taken from the part below, which gives 0"
    ]
);
thermocouple!(
    TYPE_J,
    "oven.thermocouple.j",
    "emf of a type J thermocouple",
    "E = sum c_i t^i in two parts; inverse by Newton on it",
    -210.0,
    1200.0,
    &[]
);
thermocouple!(
    TYPE_N,
    "oven.thermocouple.n",
    "emf of a type N thermocouple",
    "E = sum c_i t^i in two parts; inverse by Newton on it",
    -270.0,
    1300.0,
    &[]
);
thermocouple!(
    TYPE_T,
    "oven.thermocouple.t",
    "emf of a type T thermocouple",
    "E = sum c_i t^i in two parts; inverse by Newton on it",
    -270.0,
    400.0,
    &[]
);
thermocouple!(
    TYPE_S,
    "oven.thermocouple.s",
    "emf of a type S thermocouple",
    "E = sum c_i t^i in three parts; inverse by Newton on it",
    -50.0,
    1768.1,
    &[]
);

/// The records of the types, in the order of [`super::Thermocouple::ALL`].
pub const THERMOCOUPLES: [&ModelRecord; 5] = [&TYPE_K, &TYPE_J, &TYPE_N, &TYPE_T, &TYPE_S];

/// The record of [`super::ToleranceClass`].
pub static TOLERANCE: ModelRecord = ModelRecord {
    id: "oven.thermocouple_tolerance",
    gives: "how far a new thermocouple of a class may be off",
    unit: "°C",
    formula: "the greater of a fixed part and a fraction of |t| in °C, by standard, type and class",
    ranges: &[],
    scatter: Scatter::Exact,
    sources: &[
        Source {
            cite: "IEC 60584-1:2013",
            at: "table of tolerances, in transcriptions; the standard was not read",
            origin: Origin::Printed,
        },
        Source {
            cite: "ASTM E230/E230M-12",
            at: "table of tolerances, in transcriptions; the standard was not read",
            origin: Origin::Printed,
        },
    ],
    errata: &[
        "type S class 1 above 1100 °C is from memory",
        "type K below 0 °C in ASTM E230 is left out: transcriptions disagree, 1 % and 2 %",
        "printed tables round the crossing of the two parts: 375, 333, 133 °C",
    ],
    not_for: "wire that has been used: drift (type K at 250 to 550 °C) is on top",
};

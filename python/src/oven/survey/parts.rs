//! What a survey hands out: a place, a published limit, what a hardness window asks of the oven.

use afterquench::oven::{OvenNeeded as CoreNeeded, PublishedLimit as CoreLimit, SurveyPlace as CorePlace};
use pyo3::prelude::*;

use crate::pickle::{Reduced, reduce};

/// One place of a survey over the steady time, corrected.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> frame = {"elapsed_s": [0, 600, 1200], "s1_degc": [199, 200, 201], "s2_degc": [203, 204, 205]}
/// >>> aq.survey(frame, 200, from_s=0).hottest
/// s2: 204.0 °C [203.0 .. 205.0]
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct SurveyPlace {
    pub(super) core: CorePlace,
}

/// Getters of numbers and texts that the core's structure holds under the same name.
macro_rules! fields {
    ($class:ident, $rebuild:literal, { $($doc:literal $field:ident: $kind:ty),* $(,)? }, $text:expr) => {
        #[pymethods]
        impl $class {
            $(
                #[doc = $doc]
                #[getter]
                fn $field(&self) -> $kind {
                    self.core.$field.clone()
                }
            )*

            fn __repr__(&self) -> String {
                let text: fn(&_) -> String = $text;
                text(&self.core)
            }

            fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
                reduce(py, $rebuild, &self.core)
            }
        }
    };
}

fields!(
    SurveyPlace,
    "_restore_survey_place",
    {
        "The sensor's name."
        name: String,
        "Mean in °C."
        mean_c: f64,
        "Mean less set point, °C."
        offset_delta_c: f64,
        "Lowest sample, °C."
        low_c: f64,
        "Highest sample, °C."
        high_c: f64,
        "Highest less lowest sample in time, °C."
        stability_delta_c: f64,
        "What was added to the readings, °C."
        correction_delta_c: f64,
        "One standard uncertainty of that, °C."
        u_delta_c: f64,
        "Readings used."
        readings: usize,
    },
    |core: &CorePlace| format!("{}: {:.1} °C [{:.1} .. {:.1}]", core.name, core.mean_c, core.low_c, core.high_c)
);

/// A published limit beside the largest deviation that a survey found.
///
/// Never a verdict: a class needs the standard's own procedure.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> frame = {"elapsed_s": [0, 600, 1200], "s1_degc": [199, 200, 201], "s2_degc": [203, 204, 205]}
/// >>> aq.survey(frame, 200, from_s=0).limits[6]
/// API 6A 20th ed Annex M, tempering and stress relieving: ±8.0 °C (printed), the deviation found is 3.0 °C inside it
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct PublishedLimit {
    pub(super) core: CoreLimit,
}

fields!(
    PublishedLimit,
    "_restore_published_limit",
    {
        "Whose limit."
        source: String,
        "Which of its classes, types or uses."
        item: String,
        "The limit about the set point, plus and minus, °C."
        delta_c: f64,
        "The same as its table in °F prints it; None where there is none."
        delta_f: Option<f64>,
        "The limit less the largest deviation found, °C; negative where that lies outside."
        margin_delta_c: f64,
        "\"printed\" or \"from memory\"."
        origin: String,
        "What has to be known."
        note: String,
    },
    |core: &CoreLimit| format!(
        "{}, {}: ±{:.1} °C ({}), the deviation found is {:.1} °C {}",
        core.source,
        core.item,
        core.delta_c,
        core.origin,
        core.margin_delta_c.abs(),
        if core.margin_delta_c < 0.0 { "beyond it" } else { "inside it" },
    )
);

/// What a hardness window asks of the oven, beside what a survey found.
///
/// Made by `Survey.needed`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> frame = {"elapsed_s": [0, 600, 1200], "s1_degc": [199, 200, 201], "s2_degc": [213, 214, 215]}
/// >>> curve = aq.TemperingCurve([150, 200, 250, 300], [62.5, 60, 57.5, 55])
/// >>> aq.survey(frame, 200, from_s=0).needed(curve, (59.5, 60.5))
/// OvenNeeded: 190 to 210 °C keeps the window, ±10.0 °C; found ±8.0 °C; inside: s1
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct OvenNeeded {
    pub(super) core: CoreNeeded,
}

fields!(
    OvenNeeded,
    "_restore_oven_needed",
    {
        "Coolest temperature that keeps the window, °C."
        low_c: f64,
        "Hottest temperature that keeps the window, °C."
        high_c: f64,
        "What the oven may be off its middle, plus and minus, if nothing else were uncertain; °C."
        allowed_delta_c: f64,
        "Half of what the survey found between its coldest and hottest moment, °C."
        found_delta_c: f64,
        "What the spread of the places' means takes of the window."
        share: f64,
        "What to add to the setting so that the middle of the means falls on the middle of the window, °C."
        setting_change_delta_c: f64,
        "Places whose mean stays inside as the oven is set now, the best first."
        places: Vec<String>,
        "Places that would stay inside after the change of setting."
        places_after: Vec<String>,
        "What was assumed."
        assumptions: Vec<String>,
    },
    |core: &CoreNeeded| format!(
        "OvenNeeded: {:.0} to {:.0} °C keeps the window, ±{:.1} °C; found ±{:.1} °C; inside: {}",
        core.low_c,
        core.high_c,
        core.allowed_delta_c,
        core.found_delta_c,
        if core.places.is_empty() { "no place".to_owned() } else { core.places.join(", ") },
    )
);

//! `survey`: how even an oven is.

use afterquench::HoldTime;
use afterquench::oven::{
    Correction, Extreme, OvenNeeded as CoreNeeded, PublishedLimit as CoreLimit, Survey as Core, SurveyColumn,
    SurveyOptions, SurveyPlace as CorePlace, read_named_corrections, survey as analysed, survey_columns,
};
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyTuple};

use super::source::{content, table_text};
use crate::arguments::{argument_type, belief, column, data_frame};
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::pickle::{Reduced, reduce, restore};
use crate::plan::known;

type Any<'py> = Bound<'py, PyAny>;

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
    core: CorePlace,
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
    core: CoreLimit,
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
    core: CoreNeeded,
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

/// A number of a place.
type OfPlace = fn(&CorePlace) -> f64;

/// How even an oven is: extremes in place and time, hot and cold spots, the control sensor's offset.
///
/// Made by `survey`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> frame = {"elapsed_s": [0, 600, 1200], "s1_degc": [199, 200, 201], "s2_degc": [203, 204, 205]}
/// >>> aq.survey(frame, 200, from_s=0)
/// Survey: set 200 °C, 2 places over 20 min: +5.0 / -1.0 °C in place and time; means 200.0 (s1) to 204.0 (s2) °C
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Survey {
    core: Core,
}

fn extreme(found: &Extreme) -> (String, f64, f64) {
    (found.place.clone(), found.at_s, found.delta_c)
}

fn place(core: &CorePlace) -> SurveyPlace {
    SurveyPlace { core: core.clone() }
}

#[pymethods]
impl Survey {
    /// The set point in °C.
    #[getter]
    fn setpoint_c(&self) -> f64 {
        self.core.setpoint_c
    }

    /// First and last elapsed second of the steady time.
    #[getter]
    fn steady_s(&self) -> (f64, f64) {
        (self.core.from_s, self.core.until_s)
    }

    /// The places in the order of the columns: a tuple of SurveyPlace.
    #[getter]
    fn places<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, self.core.places.iter().map(place))
    }

    /// Mean of the places' means.
    #[getter]
    fn mean_c(&self) -> Estimate {
        self.core.mean.clone().into()
    }

    /// The place with the lowest mean.
    #[getter]
    fn coldest(&self) -> SurveyPlace {
        place(self.core.coldest())
    }

    /// The place with the highest mean.
    #[getter]
    fn hottest(&self) -> SurveyPlace {
        place(self.core.hottest())
    }

    /// Highest mean less lowest mean in °C.
    #[getter]
    fn spread_of_means_delta_c(&self) -> Estimate {
        self.core.spread_of_means_delta_c().into()
    }

    /// The largest excursion above the set point in place and time, °C: what "plus and minus" statements are about.
    #[getter]
    fn above_delta_c(&self) -> f64 {
        self.core.above.delta_c
    }

    /// The largest excursion below the set point in place and time, °C, negative.
    #[getter]
    fn below_delta_c(&self) -> f64 {
        self.core.below.delta_c
    }

    /// The highest sample of the steady time: place, elapsed second, °C from the set point.
    #[getter]
    fn highest(&self) -> (String, f64, f64) {
        extreme(&self.core.above)
    }

    /// The lowest sample of the steady time: place, elapsed second, °C from the set point.
    #[getter]
    fn lowest(&self) -> (String, f64, f64) {
        extreme(&self.core.below)
    }

    /// The highest sample of the whole record, heating up included: place, elapsed second, °C from the set point.
    #[getter]
    fn highest_ever(&self) -> (String, f64, f64) {
        extreme(&self.core.highest_ever)
    }

    /// The largest difference between places at one instant, °C.
    #[getter]
    fn spread_at_once_delta_c(&self) -> f64 {
        self.core.spread_at_once_delta_c
    }

    /// The largest swing of one place in time, highest less lowest, °C.
    #[getter]
    fn stability_delta_c(&self) -> f64 {
        self.core.places.iter().map(|place| place.stability_delta_c).fold(0.0, f64::max)
    }

    /// The control sensor's mean less the mean of the places, °C; None where the record has no control sensor.
    #[getter]
    fn control_offset_delta_c(&self) -> Option<f64> {
        self.core.control_offset_delta_c
    }

    /// What to add to the setting so that coldest and hottest lie evenly about the set point, °C.
    #[getter]
    fn setting_change_delta_c(&self) -> f64 {
        self.core.setting_change_delta_c()
    }

    /// Names of the places, nearest to the set point first: where to put the part.
    #[getter]
    fn best_places(&self) -> Vec<String> {
        self.core.best_places().into_iter().map(str::to_owned).collect()
    }

    /// Published limits beside the largest deviation found: a tuple of PublishedLimit, never a verdict.
    #[getter]
    fn limits<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, self.core.limits.iter().map(|core| PublishedLimit { core: core.clone() }))
    }

    /// Whose limits those are, each source once, with how its digits came here.
    #[getter]
    fn sources(&self) -> Vec<String> {
        let mut made: Vec<String> = Vec::new();
        for limit in &self.core.limits {
            let cited = format!("{} ({})", limit.source, limit.origin);
            if !made.contains(&cited) {
                made.push(cited);
            }
        }
        made
    }

    /// What must be known: short records, missing sensors or corrections.
    #[getter]
    fn notes<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, &self.core.notes)
    }

    /// The two-hour equivalent temperature of each place, if what it showed goes on for a hold.
    ///
    /// Parameters
    /// ----------
    /// time_h : float
    ///     The hold in h.
    /// c : float, Estimate or (low, high), optional
    ///     The steel's C for hours; the range 15 to 20 without it.
    ///
    /// Returns
    /// -------
    /// dict of str to Estimate
    #[pyo3(signature = (time_h=2.0, *, c=None))]
    fn two_hour_equivalents<'py>(
        &self,
        py: Python<'py>,
        time_h: f64,
        c: Option<&Any<'_>>,
    ) -> PyResult<Bound<'py, PyDict>> {
        let c = belief("two_hour_equivalents", c)?;
        let found = self.core.two_hour_equivalents(HoldTime::from_hours(time_h), c).or_raise(py)?;
        let made = PyDict::new(py);
        for (place, estimate) in self.core.places.iter().zip(found) {
            made.set_item(&place.name, Estimate::from(estimate).into_pyobject(py)?)?;
        }
        Ok(made)
    }

    /// Hardness at each place after a hold.
    ///
    /// Parameters
    /// ----------
    /// steel : str, Steel or TemperingCurve
    ///     A steel's name, the steel, or a curve of your own.
    /// time_h : float
    ///     The hold in h.
    /// as_quenched_hrc : float, optional
    ///     Hardness before the temper, HRC.
    /// c : float, Estimate or (low, high), optional
    ///     The steel's C for hours; the range 15 to 20 without it.
    ///
    /// Returns
    /// -------
    /// dict of str to float
    ///     HRC.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError
    ///     Where a place lies outside the curve.
    #[pyo3(signature = (steel, time_h=2.0, *, as_quenched_hrc=None, c=None))]
    fn hardness<'py>(
        &self,
        py: Python<'py>,
        steel: &Any<'py>,
        time_h: f64,
        as_quenched_hrc: Option<f64>,
        c: Option<&Any<'_>>,
    ) -> PyResult<Bound<'py, PyDict>> {
        let (curve, _) = known("hardness", steel)?;
        let c = belief("hardness", c)?;
        let hold = HoldTime::from_hours(time_h);
        let found = self.core.hardness(curve.as_ref(), hold, c, as_quenched_hrc).or_raise(py)?;
        let made = PyDict::new(py);
        for (place, hrc) in self.core.places.iter().zip(found) {
            made.set_item(&place.name, hrc)?;
        }
        Ok(made)
    }

    /// How good the oven must be for a hardness window, beside what it is, and which places keep it.
    ///
    /// Parameters
    /// ----------
    /// steel : str, Steel or TemperingCurve
    ///     A steel's name, the steel, or a curve of your own.
    /// target_hrc : (float, float)
    ///     Lower and upper limit in HRC.
    /// time_h : float
    ///     The hold in h.
    /// as_quenched_hrc : float, optional
    ///     Hardness before the temper, HRC.
    /// c : float, Estimate or (low, high), optional
    ///     The steel's C for hours; the range 15 to 20 without it.
    ///
    /// Returns
    /// -------
    /// OvenNeeded
    ///
    /// Raises
    /// ------
    /// OutOfRangeError, NoAnswerError
    ///     For a window that the curve does not give on one of its branches.
    /// InvalidValueError
    ///     For a window that is none.
    #[pyo3(signature = (steel, target_hrc, time_h=2.0, *, as_quenched_hrc=None, c=None))]
    fn needed(
        &self,
        py: Python<'_>,
        steel: &Any<'_>,
        target_hrc: (f64, f64),
        time_h: f64,
        as_quenched_hrc: Option<f64>,
        c: Option<&Any<'_>>,
    ) -> PyResult<OvenNeeded> {
        let (curve, _) = known("needed", steel)?;
        let c = belief("needed", c)?;
        let hold = HoldTime::from_hours(time_h);
        let core = self.core.needed(curve.as_ref(), target_hrc, hold, c, as_quenched_hrc).or_raise(py)?;
        Ok(OvenNeeded { core })
    }

    /// The places as a pandas DataFrame, one row each.
    fn to_frame<'py>(&self, py: Python<'py>) -> PyResult<Any<'py>> {
        let columns = PyDict::new(py);
        let names: Vec<&str> = self.core.places.iter().map(|place| place.name.as_str()).collect();
        columns.set_item("place", names)?;
        let numbers: [(&str, OfPlace); 7] = [
            ("mean_c", |place| place.mean_c),
            ("offset_delta_c", |place| place.offset_delta_c),
            ("low_c", |place| place.low_c),
            ("high_c", |place| place.high_c),
            ("stability_delta_c", |place| place.stability_delta_c),
            ("correction_delta_c", |place| place.correction_delta_c),
            ("u_delta_c", |place| place.u_delta_c),
        ];
        for (name, of) in numbers {
            columns.set_item(name, PyArray1::from_iter(py, self.core.places.iter().map(of)))?;
        }
        data_frame(py, &columns)
    }

    fn __repr__(&self) -> String {
        let (cold, hot) = (self.core.coldest(), self.core.hottest());
        format!(
            "Survey: set {} °C, {} places over {:.0} min: {:+.1} / {:+.1} °C in place and time; means {:.1} ({}) to {:.1} ({}) °C",
            self.core.setpoint_c,
            self.core.places.len(),
            (self.core.until_s - self.core.from_s) / 60.0,
            self.core.above.delta_c,
            self.core.below.delta_c,
            cold.mean_c,
            cold.name,
            hot.mean_c,
            hot.name,
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_survey", &self.core)
    }
}

/// The columns of a frame, a mapping, or a plain CSV file.
fn columns_of(frame: &Any<'_>) -> PyResult<Vec<SurveyColumn>> {
    let py = frame.py();
    let names = if frame.hasattr("columns")? {
        frame.getattr("columns")?
    } else if frame.hasattr("keys")? {
        frame.call_method0("keys")?
    } else {
        let (bytes, name) = content(frame)?.loaded(frame.py())?;
        return survey_columns(&bytes, &name).or_raise(py);
    };
    names
        .try_iter()?
        .map(|name| {
            let name = name?;
            let given = frame.get_item(&name)?;
            let length = given.len()?;
            // A column of text is no sensor; the core notes that it was not used.
            let values = column("survey", &name.str()?.to_cow()?, &given).unwrap_or_else(|_| vec![f64::NAN; length]);
            Ok(SurveyColumn { name: name.str()?.to_string(), values })
        })
        .collect()
}

/// Corrections by the sensor's name.
fn corrections_of(given: &Any<'_>) -> PyResult<Vec<(String, Correction)>> {
    let py = given.py();
    if let Ok(table) = given.cast::<PyDict>() {
        return table
            .iter()
            .map(|(name, correction)| {
                let (value_delta_c, u_delta_c) = correction
                    .extract::<(f64, f64)>()
                    .or_else(|_| correction.extract::<f64>().map(|value| (value, 0.0)))
                    .map_err(|_| {
                        let why = "a correction is a number or a pair of numbers".to_owned();
                        let hint = "Write {\"s1\": (value_delta_c, u_delta_c)}".to_owned();
                        argument_type(py, "survey", "corrections", why, hint)
                    })?;
                Ok((name.str()?.to_string(), Correction { value_delta_c, u_delta_c }))
            })
            .collect();
    }
    let (bytes, name) = if given.hasattr("columns")? {
        (table_text(given)?, "corrections".into())
    } else {
        content(given)?.loaded(given.py())?
    };
    read_named_corrections(&bytes, &name).or_raise(py)
}

/// How even an oven is, from a survey with several sensors.
///
/// Parameters
/// ----------
/// frame : DataFrame, mapping of columns, or path
///     Columns elapsed_s (or _min, _h), one a sensor (s1_degc, s2_degc ...; _degf is converted), and the control sensor
///     where the record has it (control_degc).
/// setpoint_c : float
///     The set point in °C.
/// corrections : dict, DataFrame or path, optional
///     What to add to each sensor's readings: {"s1": (value_delta_c, u_delta_c)}, or a table with the columns sensor,
///     correction_to_add_degc and expanded_uncertainty_k2_degc, which is halved.
/// from_s, until_s : float, optional
///     The steady time in elapsed seconds; without it the last 30 minutes of the record, of one under 45 minutes the
///     second half, which a note says.
/// control : str, optional
///     The control sensor's column, where its heading does not say so.
/// room_c : float, optional
///     Room temperature, for limits that are a share of the rise above it; 20 °C without it.
///
/// Returns
/// -------
/// Survey
///
/// Raises
/// ------
/// DataFileError
///     For columns that are no survey, or leave the unit open.
/// UnknownNameError
///     For corrections of sensors that there are not.
/// InvalidValueError
///     For a set point or a steady time that can't be.
///
/// Notes
/// -----
/// Limits stand beside the numbers found and are never a verdict of a standard's class: that needs the standard's own
/// procedure. Excursions are about the set point, so a constant offset counts (AMS2750G, definition 2.2.76).
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> frame = {"elapsed_s": [0, 600, 1200, 1800], "s1_degc": [198.2, 201, 200, 199], "s2_degc": [203.1, 205.6, 204, 204]}
/// >>> found = aq.survey(frame, 200, {"s1": (0.0, 0.3), "s2": (0.0, 0.3)}, from_s=0)
/// >>> round(found.above_delta_c, 1), round(found.below_delta_c, 1), found.hottest.name
/// (5.6, -1.8, 's2')
#[pyfunction]
#[pyo3(signature = (frame, setpoint_c, corrections=None, *, from_s=None, until_s=None, control=None, room_c=None))]
fn survey(
    py: Python<'_>,
    frame: &Any<'_>,
    setpoint_c: f64,
    corrections: Option<&Any<'_>>,
    from_s: Option<f64>,
    until_s: Option<f64>,
    control: Option<String>,
    room_c: Option<f64>,
) -> PyResult<Survey> {
    let corrections = corrections.map(corrections_of).transpose()?.unwrap_or_default();
    let options = SurveyOptions { corrections, from_s, until_s, control, room_c };
    Ok(Survey { core: analysed(&columns_of(frame)?, setpoint_c, &options).or_raise(py)? })
}

/// Declares the function that rebuilds a pickled object.
macro_rules! restored {
    ($name:ident, $class:ident) => {
        #[pyfunction]
        fn $name(state: &[u8]) -> PyResult<$class> {
            Ok($class { core: restore(state)? })
        }
    };
}

restored!(_restore_survey, Survey);
restored!(_restore_survey_place, SurveyPlace);
restored!(_restore_published_limit, PublishedLimit);
restored!(_restore_oven_needed, OvenNeeded);

/// Adds the classes and the function to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Survey>()?;
    module.add_class::<SurveyPlace>()?;
    module.add_class::<PublishedLimit>()?;
    module.add_class::<OvenNeeded>()?;
    module.add_function(wrap_pyfunction!(_restore_survey, module)?)?;
    module.add_function(wrap_pyfunction!(_restore_survey_place, module)?)?;
    module.add_function(wrap_pyfunction!(_restore_published_limit, module)?)?;
    module.add_function(wrap_pyfunction!(_restore_oven_needed, module)?)?;
    module.add_function(wrap_pyfunction!(survey, module)?)
}

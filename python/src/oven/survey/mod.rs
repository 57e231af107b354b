//! `survey`: how even an oven is.

mod asked;
mod parts;

use afterquench::HoldTime;
use afterquench::oven::{Extreme, Survey as Core, SurveyPlace as CorePlace};
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyTuple};

use self::parts::{OvenNeeded, PublishedLimit, SurveyPlace};
use crate::arguments::{belief, data_frame};
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::pickle::{Reduced, reduce, restore};
use crate::plan::known;

type Any<'py> = Bound<'py, PyAny>;

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
    module.add_function(wrap_pyfunction!(asked::survey, module)?)
}

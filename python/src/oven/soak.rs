//! `Soak`: a part in the logged air.

use afterquench::Error;
use afterquench::oven::{HeatCapacity, Part, Soak as Core, SoakOptions, Surroundings};
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::log::{OvenLog, gap_policy, history_of, is_single};
use super::within::{Through, place_named};
use crate::arguments::{argument_type, belief, data_frame};
use crate::errors::{OrRaise, raised};
use crate::estimate::Estimate;
use crate::history::History;
use crate::pickle::{Reduced, reduce, restore};

type Any<'py> = Bound<'py, PyAny>;

/// A part in the air of a log: how late it is, when its hold began, what it got.
///
/// Made by `OvenLog.soak`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> rows = "".join(f"{second},200\n" for second in range(0, 7201, 10))
/// >>> aq.read_log(("elapsed_s,air_degc\n" + rows).encode(), load_s=0).soak(3)
/// Soak: 3 mm plate in fan air, time constant 168 s [98 .. 294], hold from 610 s [355 .. 1060]
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Soak {
    core: Core,
    gaps: String,
}

/// The part's shape from one of two sizes.
pub fn part(
    py: Python<'_>,
    function: &'static str,
    thickness_mm: Option<f64>,
    diameter_mm: Option<f64>,
) -> PyResult<Part> {
    for (argument, size) in [("thickness_mm", thickness_mm), ("diameter_mm", diameter_mm)] {
        if let Some(value) = size.filter(|size| !(*size > 0.0 && size.is_finite())) {
            return Err(raised(
                py,
                &Error::invalid(
                    function,
                    argument,
                    (value, "mm"),
                    "is no size of a part",
                    "Give a positive number of millimetres",
                ),
            ));
        }
    }
    match (thickness_mm, diameter_mm) {
        (Some(thickness), None) => Ok(Part::Plate(thickness)),
        (None, Some(diameter)) => Ok(Part::Round(diameter)),
        _ => Err(raised(
            py,
            &Error::MissingArgument {
                function: function.into(),
                argument: "thickness_mm or diameter_mm".into(),
                why: "one of them, and only one, says how late the part is".into(),
                hint: "Give thickness_mm of a flat part, or diameter_mm of a round one".into(),
            },
        )),
    }
}

/// A heat transfer coefficient of the caller's: one number, or low, likely and high.
pub fn coefficient(py: Python<'_>, function: &str, given: Option<&Any<'_>>) -> PyResult<Option<(f64, f64, f64)>> {
    let Some(given) = given else { return Ok(None) };
    if let Ok(h) = given.extract::<f64>() {
        return Ok(Some((h, h, h)));
    }
    given.extract().map(Some).map_err(|_| {
        let why = "it is no number and no triple".to_owned();
        argument_type(py, function, "h_w_m2k", why, "Give W/m2K, or (low, likely, high)".into())
    })
}

impl Soak {
    /// A part in a log's air.
    pub fn of(
        py: Python<'_>,
        log: &OvenLog,
        thickness_mm: Option<f64>,
        surroundings: &str,
        diameter_mm: Option<f64>,
        h_w_m2k: Option<&Any<'_>>,
        heat_capacity: &str,
        element: Option<(f64, f64, f64)>,
    ) -> PyResult<Self> {
        let part = part(py, "soak", thickness_mm, diameter_mm)?;
        let surroundings = Surroundings::named(surroundings).or_raise(py)?;
        let fit = h_w_m2k.is_some_and(|given| given.extract::<&str>().is_ok_and(|text| text == "fit"));
        let h_w_m2k = if fit { None } else { coefficient(py, "soak", h_w_m2k)? };
        let capacity = heat_capacity_named(py, heat_capacity)?;
        let options = SoakOptions { surroundings, h_w_m2k, fit, capacity, element };
        let core = py.detach(|| log.core.soak(part, options)).or_raise(py)?;
        Ok(Self { core, gaps: log.gaps.clone() })
    }
}

/// A heat capacity from its name.
pub fn heat_capacity_named(py: Python<'_>, name: &str) -> PyResult<HeatCapacity> {
    match name {
        "constant" => Ok(HeatCapacity::Constant),
        "en-1993-1-2" => Ok(HeatCapacity::En1993),
        other => Err(raised(
            py,
            &Error::UnknownName {
                kind: "heat capacity".into(),
                name: other.to_owned(),
                close: vec!["constant".into(), "en-1993-1-2".into()],
                hint: "\"constant\" is the default".into(),
            },
        )),
    }
}

#[pymethods]
impl Soak {
    /// Elapsed seconds at which the part is within 5 °C of the hold's level, with the range the lag gives it.
    ///
    /// Raises
    /// ------
    /// NoAnswerError
    ///     Where the part never gets there: `through` says how far it got, and `history` what it got.
    #[getter]
    fn start_of_hold(&self, py: Python<'_>) -> PyResult<Estimate> {
        self.core.start_of_hold().cloned().map(Into::into).or_raise(py)
    }

    /// Minutes between the air being there and the part being there.
    ///
    /// Raises
    /// ------
    /// NoAnswerError
    ///     Where the part never gets there.
    #[getter]
    fn minutes_lost(&self, py: Python<'_>) -> PyResult<Estimate> {
        self.core.minutes_lost().cloned().map(Into::into).or_raise(py)
    }

    /// Time constant in s: shortest, likely, longest.
    #[getter]
    fn time_constant_s(&self) -> (f64, f64, f64) {
        (self.core.lag.low_s, self.core.lag.likely_s, self.core.lag.high_s)
    }

    /// Heat transfer coefficient in W/m2K: low, likely, high.
    #[getter]
    fn h_w_m2k(&self) -> (f64, f64, f64) {
        self.core.section.h_w_m2k
    }

    /// The coefficient fitted to the part side in W/m2K, where h_w_m2k="fit" asked for it; else None.
    #[getter]
    fn fitted_h_w_m2k(&self) -> Option<Estimate> {
        self.core.fitted.clone().map(Into::into)
    }

    /// How much hotter than its air the part may get by the element it sees, °C; 0 where none was named.
    #[getter]
    fn radiation_delta_c(&self) -> f64 {
        self.core.section.radiation_c
    }

    /// Biot number: below 0.1 the part is at one temperature.
    #[getter]
    fn biot(&self) -> f64 {
        self.core.biot
    }

    /// The level of the hold in °C: the setpoint, or what the log shows.
    #[getter]
    fn hold_c(&self) -> f64 {
        self.core.hold_c
    }

    /// Whether the core gets within some degrees of the hold's level, and how far it got.
    ///
    /// Parameters
    /// ----------
    /// at_s : float, optional
    ///     Elapsed seconds of the log; without it, the moment at which the core is hottest.
    /// within_delta_c : float
    ///     How near in °C is near enough.
    ///
    /// Returns
    /// -------
    /// Through
    ///     Its seconds are counted from when the part went in. A part that never gets there is not through.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError
    ///     For a time outside the log.
    /// InvalidValueError
    ///     For degrees that are not positive.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> rows = "".join(f"{60 * i},200\n" for i in range(60))
    /// >>> aq.read_log(("elapsed_s,air_degc\n" + rows).encode(), load_s=0).soak(50).through()
    /// Through: no; core 149 °C [113 .. 179], not there within the log
    #[pyo3(signature = (at_s=None, within_delta_c=5.0))]
    fn through(&self, py: Python<'_>, at_s: Option<f64>, within_delta_c: f64) -> PyResult<Through> {
        let core = py.detach(|| self.core.through(at_s, within_delta_c)).or_raise(py)?;
        Ok(Through { core })
    }

    /// The verdict of `through` alone.
    ///
    /// Parameters
    /// ----------
    /// at_s : float, optional
    ///     Elapsed seconds of the log; without it, the moment at which the core is hottest.
    /// within_delta_c : float
    ///     How near in °C is near enough.
    ///
    /// Returns
    /// -------
    /// {"yes", "no", "not decided"}
    ///     "not decided" where the heat transfer coefficient decides.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError
    ///     For a time outside the log.
    /// InvalidValueError
    ///     For degrees that are not positive.
    #[pyo3(signature = (at_s=None, within_delta_c=5.0))]
    fn is_through(&self, py: Python<'_>, at_s: Option<f64>, within_delta_c: f64) -> PyResult<&'static str> {
        Ok(self.through(py, at_s, within_delta_c)?.verdict())
    }

    /// What the part got.
    ///
    /// Parameters
    /// ----------
    /// c : float, Estimate or (low, high), optional
    ///     The steel's C for hours; the range 15 to 20 without it.
    /// gaps : {"bound", "line", "refuse"}, optional
    ///     What to do with holes; as said at `read_log` without it.
    /// place : {"core", "surface"}
    ///     Where in the part; the same for a part at one temperature.
    ///
    /// Returns
    /// -------
    /// History
    #[pyo3(signature = (c=None, *, gaps=None, place="core"))]
    fn history(&self, py: Python<'_>, c: Option<&Any<'_>>, gaps: Option<&str>, place: &str) -> PyResult<History> {
        let belief = belief("history", c)?;
        let policy = gap_policy(gaps.unwrap_or(&self.gaps)).or_raise(py)?;
        let place = place_named(py, place)?;
        let received = py.detach(|| self.core.received(belief, policy, place)).or_raise(py)?;
        Ok(history_of(received, is_single(c)))
    }

    /// The part's temperature with the likely coefficient: a pandas DataFrame with elapsed_s and part.
    ///
    /// A part that is not at one temperature has its core in `part`, and its skin in `surface`.
    fn to_frame<'py>(&self, py: Python<'py>) -> PyResult<Any<'py>> {
        let columns = PyDict::new(py);
        columns.set_item("elapsed_s", PyArray1::from_slice(py, &self.core.core.seconds))?;
        columns.set_item("part", PyArray1::from_slice(py, &self.core.core.celsius))?;
        if !self.core.section.lumped {
            columns.set_item("surface", PyArray1::from_slice(py, &self.core.surface.celsius))?;
        }
        data_frame(py, &columns)
    }

    fn __repr__(&self) -> String {
        let range = |estimate: &afterquench::Estimate| {
            let (low, high) = estimate.interval(0.95).unwrap_or((f64::NAN, f64::NAN));
            format!("[{low:.0} .. {high:.0}]")
        };
        let hold = match &self.core.hold {
            Some(hold) => format!("hold from {:.0} s {}", hold.start.value(), range(&hold.start)),
            None => format!(
                "never at its hold of {:.0} °C: core up to {:.0} °C {}",
                self.core.hold_c,
                self.core.furthest.value(),
                range(&self.core.furthest)
            ),
        };
        format!(
            "Soak: {} in {}, time constant {:.0} s [{:.0} .. {:.0}], {hold}",
            self.core.section.part.text(),
            self.core.surroundings,
            self.core.lag.likely_s,
            self.core.lag.low_s,
            self.core.lag.high_s,
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_soak", &(&self.core, &self.gaps))
    }
}

/// Rebuilds a pickled soak.
#[pyfunction]
fn _restore_soak(state: &[u8]) -> PyResult<Soak> {
    let (core, gaps) = restore(state)?;
    Ok(Soak { core, gaps })
}

/// Adds the class to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Soak>()?;
    module.add_function(wrap_pyfunction!(_restore_soak, module)?)
}

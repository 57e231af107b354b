//! Pass, fail or not decided, for one part or for arrays of them.

use afterquench::hardness::{self, Bracketed, Conversion, GuardBand, ScaleName, Tolerance, Verdict};
use afterquench::{Error, Estimate as CoreEstimate};
use numpy::{PyArray1, PyReadonlyArray1};
use pyo3::prelude::*;
use pyo3::types::PyString;

use super::readings::Readings;
use crate::errors::{OrRaise, raised};
use crate::estimate::Estimate;
use crate::given;
use crate::pickle::{Reduced, reduce, restore};

type Any<'py> = Bound<'py, PyAny>;

/// A verdict on one part: .verdict, .p_inside, .guard_band, .accept_lower, .accept_upper, .why, .estimate.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.decide(aq.Estimate(59.7, 0.4, "HRC"), 58, 60).verdict
/// 'not decided'
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Decision {
    core: hardness::Decision,
}

#[pymethods]
impl Decision {
    /// "pass", "fail" or "not decided".
    #[getter]
    fn verdict(&self) -> &'static str {
        self.core.verdict.text()
    }

    /// The chance that the true value lies inside the tolerance.
    #[getter]
    fn p_inside(&self) -> f64 {
        self.core.p_inside
    }

    /// Width of the guard band at each limit.
    #[getter]
    fn guard_band(&self) -> f64 {
        self.core.guard_band
    }

    /// Lower end of the acceptance zone; None without a lower limit.
    #[getter]
    fn accept_lower(&self) -> Option<f64> {
        self.core.accept_lower
    }

    /// Upper end of the acceptance zone; None without an upper limit. Below accept_lower nothing can pass.
    #[getter]
    fn accept_upper(&self) -> Option<f64> {
        self.core.accept_upper
    }

    /// Why, in words.
    #[getter]
    fn why(&self) -> &str {
        &self.core.why
    }

    /// What was decided about.
    #[getter]
    fn estimate(&self) -> Estimate {
        self.core.estimate.clone().into()
    }

    fn __repr__(&self) -> String {
        format!("{}: {}", self.core.verdict.text(), self.core.why)
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_decision", &self.core)
    }
}

#[pyfunction]
fn _restore_decision(state: &[u8]) -> PyResult<Decision> {
    Ok(Decision { core: restore(state)? })
}

/// Verdicts on many parts: arrays .verdict, .p_inside, .guard_band, .accept_lower, .accept_upper; Series for a Series.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.decide([59.0, 59.7, 57.0], 58, 60, u=0.4).verdict
/// array(['pass', 'not decided', 'fail'], dtype='<U11')
#[pyclass(module = "afterquench._native", frozen)]
pub struct Decisions {
    /// Verdicts as text.
    #[pyo3(get)]
    verdict: Py<PyAny>,
    /// Chances to be inside.
    #[pyo3(get)]
    p_inside: Py<PyAny>,
    /// Guard bands.
    #[pyo3(get)]
    guard_band: Py<PyAny>,
    /// Lower ends of the acceptance zones; None without a lower limit.
    #[pyo3(get)]
    accept_lower: Py<PyAny>,
    /// Upper ends of the acceptance zones; None without an upper limit.
    #[pyo3(get)]
    accept_upper: Py<PyAny>,
}

#[pymethods]
impl Decisions {
    fn __len__(&self, py: Python<'_>) -> PyResult<usize> {
        self.verdict.bind(py).len()
    }

    fn __repr__(&self, py: Python<'_>) -> PyResult<String> {
        let verdicts = self.verdict.bind(py);
        let count = |text: &str| -> PyResult<usize> {
            verdicts.call_method1("__eq__", (text,))?.call_method0("sum")?.extract()
        };
        Ok(format!("{} pass, {} fail, {} not decided", count("pass")?, count("fail")?, count("not decided")?))
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<(Any<'py>, (Vec<Py<PyAny>>,))> {
        let parts = [&self.verdict, &self.p_inside, &self.guard_band, &self.accept_lower, &self.accept_upper];
        let parts = parts.into_iter().map(|part| part.clone_ref(py)).collect();
        Ok((py.import("afterquench._native")?.getattr("_restore_decisions")?, (parts,)))
    }
}

type Parts = (Py<PyAny>, Py<PyAny>, Py<PyAny>, Py<PyAny>, Py<PyAny>);

#[pyfunction]
fn _restore_decisions(py: Python<'_>, parts: Vec<Py<PyAny>>) -> PyResult<Decisions> {
    let (verdict, p_inside, guard_band, accept_lower, accept_upper): Parts =
        pyo3::types::PyTuple::new(py, parts)?.extract()?;
    Ok(Decisions { verdict, p_inside, guard_band, accept_lower, accept_upper })
}

fn guard(function: &str, py: Python<'_>, given: Option<&Any<'_>>) -> PyResult<GuardBand> {
    let Some(given) = given else { return Ok(GuardBand::Times(2.0)) };
    if let Ok(text) = given.extract::<String>() {
        return GuardBand::parse(&text).or_raise(py);
    }
    let width = crate::arguments::number(function, "guard_band", given)?;
    if width.is_finite() && width >= 0.0 {
        return Ok(GuardBand::Width(width));
    }
    Err(invalid(py, "guard_band", width, "is no width", 1, 1))
}

fn invalid(py: Python<'_>, argument: &'static str, value: f64, why: &'static str, failed: usize, of: usize) -> PyErr {
    raised(
        py,
        &Error::InvalidValue {
            model: hardness::DECISION.id.into(),
            argument: argument.into(),
            value,
            unit: "".into(),
            why: why.into(),
            failed,
            of,
            hint: "Give finite numbers, zero or more".into(),
        },
    )
}

/// Pass, fail or not decided.
///
/// Parameters
/// ----------
/// readings_or_estimate : Readings, Estimate or array_like
///     What was measured; arrays of best values, or a plain number, need `u`.
/// lower, upper : float, optional
///     The limits, on `scale`; at least one.
/// scale : str
///     The scale of the limits. Readings or an Estimate on another are converted by `table`, with its uncertainty.
/// guard_band : {"2u", "1.64u", "none"} or float
///     How far inside a limit a value must lie to pass, and how far outside to fail.
/// u : array_like, optional
///     Standard uncertainty of each value.
/// table, u_conversion
///     As of `convert_hardness_estimate`.
///
/// Returns
/// -------
/// Decision
///     For one part; `Decisions` with arrays for arrays, Series with its index for a Series. NaN values come out "not
///     decided" with p_inside NaN.
///
/// Raises
/// ------
/// MissingArgumentError
///     Without a limit, or arrays without `u`.
/// InvalidValueError
///     For limits that cross, or negative uncertainties.
/// RefusedError
///     When no reading is valid.
///
/// Notes
/// -----
/// After JCGM 106:2012. Values are compared unrounded. A tolerance of no more than two guard bands can't be proven:
/// `acceptance_zone` says so before measuring.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.decide(aq.Estimate(59.0, 0.4, "HRC"), 58, 60)
/// pass: 59.00 HRC with u = 0.40 against 58.00 to 60.00: pass with a guard band of 0.80; 99 % chance to be inside
/// >>> aq.decide(aq.Estimate(690, 7.5, "HV10"), 58, 60).verdict
/// 'not decided'
#[pyfunction]
#[pyo3(signature = (readings_or_estimate, lower=None, upper=None, scale="HRC", guard_band=None, *, u=None, table="astm-e140-1", u_conversion=None))]
#[allow(clippy::too_many_arguments)]
fn decide<'py>(
    py: Python<'py>,
    readings_or_estimate: &Any<'py>,
    #[pyo3(from_py_with = given::decide::lower)] lower: Option<f64>,
    #[pyo3(from_py_with = given::decide::upper)] upper: Option<f64>,
    #[pyo3(from_py_with = given::decide::scale)] scale: &str,
    guard_band: Option<&Any<'py>>,
    u: Option<&Any<'py>>,
    #[pyo3(from_py_with = given::decide::table)] table: &str,
    #[pyo3(from_py_with = given::decide::u_conversion)] u_conversion: Option<f64>,
) -> PyResult<Any<'py>> {
    let tolerance = Tolerance::new(lower, upper).or_raise(py)?;
    let band = guard("decide", py, guard_band)?;
    let name = ScaleName::parse(scale).or_raise(py)?;
    let one = |estimate: &CoreEstimate| -> PyResult<Any<'py>> {
        let core = hardness::decide(estimate, tolerance, band).or_raise(py)?;
        Ok(Bound::new(py, Decision { core })?.into_any())
    };
    let carries_its_own =
        readings_or_estimate.is_instance_of::<Readings>() || readings_or_estimate.is_instance_of::<Estimate>();
    if let (Some(_), true) = (u, carries_its_own) {
        return Err(raised(
            py,
            &Error::Refused {
                what: "u= of decide".into(),
                why: "Readings and Estimates carry their own uncertainty".into(),
                instead: "Leave u= out, or give plain numbers with it".into(),
            },
        ));
    }
    if let Ok(readings) = readings_or_estimate.cast::<Readings>() {
        return one(&readings.get().core.estimate(Some(scale), table, u_conversion).or_raise(py)?);
    }
    if let Ok(estimate) = readings_or_estimate.cast::<Estimate>() {
        let core = &estimate.get().core;
        crate::arguments::refuse_extrapolated(py, "decide", "readings_or_estimate", core, false)?;
        let same = core.unit().is_empty() || ScaleName::parse(core.unit()).or_raise(py)?.scale == name.scale;
        if same {
            return one(core);
        }
        let link = Conversion::new(core.unit(), scale, table, Bracketed::Use).or_raise(py)?;
        return one(&link.estimate(core, u_conversion).or_raise(py)?);
    }
    if readings_or_estimate.is_none() || readings_or_estimate.is_instance_of::<PyString>() {
        return Err(crate::arguments::not_a_number(py, "decide", "readings_or_estimate", readings_or_estimate));
    }
    let Some(u) = u else {
        return Err(raised(
            py,
            &Error::MissingArgument {
                function: "decide".into(),
                argument: "u".into(),
                why: "numbers alone carry no uncertainty".into(),
                hint: "Give u=, one standard uncertainty for all or for each, or Readings or an Estimate".into(),
            },
        ));
    };
    if let (Ok(value), Ok(u)) = (readings_or_estimate.extract::<f64>(), u.extract::<f64>()) {
        if !(u >= 0.0 && u.is_finite()) {
            return Err(invalid(py, "u", u, "is no standard uncertainty", 1, 1));
        }
        return one(&CoreEstimate::new(value, name.text).with("given", u));
    }
    many(py, readings_or_estimate, u, tolerance, band)
}

fn many<'py>(
    py: Python<'py>,
    values: &Any<'py>,
    u: &Any<'py>,
    tolerance: Tolerance,
    band: GuardBand,
) -> PyResult<Any<'py>> {
    let numpy = py.import("numpy")?;
    // What the arrays were, Series or masked arrays, is kept by Python's side.
    let together = py.import("afterquench._arrays")?.getattr("together")?;
    let (values, u, like): (Any<'py>, Any<'py>, Any<'py>) =
        together.call1(("decide", ("readings_or_estimate", "u"), values, u))?.extract()?;
    let (values, u): (PyReadonlyArray1<'py, f64>, PyReadonlyArray1<'py, f64>) = (values.extract()?, u.extract()?);
    let (values, u) = (values.as_slice()?, u.as_slice()?);
    let bad = |x: &f64| *x < 0.0 || x.is_infinite();
    let failed = u.iter().filter(|x| bad(x)).count();
    if let Some(first) = u.iter().find(|x| bad(x)) {
        return Err(invalid(py, "u", *first, "is no standard uncertainty", failed, u.len()));
    }
    let n = values.len();
    let (mut codes, mut chance) = (Vec::with_capacity(n), Vec::with_capacity(n));
    let (mut guards, mut low, mut high) = (Vec::with_capacity(n), Vec::with_capacity(n), Vec::with_capacity(n));
    for (value, u) in values.iter().zip(u) {
        let width = band.width(*u);
        let known = !value.is_nan() && !u.is_nan();
        codes.push(match tolerance.verdict(*value, width) {
            Verdict::Pass if known => 1i64,
            Verdict::Fail if known => 2,
            _ => 0,
        });
        chance.push(if known { tolerance.probability(*value, *u) } else { f64::NAN });
        guards.push(width);
        let (accept_low, accept_high) = tolerance.acceptance(width);
        low.push(accept_low.unwrap_or(f64::NAN));
        high.push(accept_high.unwrap_or(f64::NAN));
    }
    let shaped = |array: Any<'py>| -> PyResult<Py<PyAny>> { Ok(like.call1((array,))?.unbind()) };
    let column = |numbers: Vec<f64>| shaped(PyArray1::from_vec(py, numbers).into_any());
    let words = numpy.getattr("array")?.call1((["not decided", "pass", "fail"],))?;
    let verdict = words.get_item(PyArray1::from_vec(py, codes))?;
    let limit = |given: Option<f64>, numbers: Vec<f64>| match given {
        Some(_) => column(numbers),
        None => Ok(py.None()),
    };
    let made = Decisions {
        verdict: shaped(verdict)?,
        p_inside: column(chance)?,
        guard_band: column(guards)?,
        accept_lower: limit(tolerance.lower, low)?,
        accept_upper: limit(tolerance.upper, high)?,
    };
    Ok(Bound::new(py, made)?.into_any())
}

/// Where a reading would have to lie to pass: ask before measuring.
///
/// Parameters
/// ----------
/// lower, upper : float, optional
///     The limits; at least one.
/// u : float
///     Standard uncertainty of the reading to come.
/// guard_band : {"2u", "1.64u", "none"} or float
///     As of `decide`.
///
/// Returns
/// -------
/// (float or None, float or None, float)
///     Ends of the zone and its width; at a width of zero or less nothing can pass.
///
/// Raises
/// ------
/// MissingArgumentError, InvalidValueError
///     As of `decide`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.acceptance_zone(58, 60, u=0.5)
/// (59.0, 59.0, 0.0)
#[pyfunction]
#[pyo3(signature = (lower=None, upper=None, *, u, guard_band=None))]
fn acceptance_zone(
    py: Python<'_>,
    #[pyo3(from_py_with = given::acceptance_zone::lower)] lower: Option<f64>,
    #[pyo3(from_py_with = given::acceptance_zone::upper)] upper: Option<f64>,
    #[pyo3(from_py_with = given::acceptance_zone::u)] u: f64,
    guard_band: Option<&Any<'_>>,
) -> PyResult<(Option<f64>, Option<f64>, f64)> {
    if !(u >= 0.0 && u.is_finite()) {
        return Err(invalid(py, "u", u, "is no standard uncertainty", 1, 1));
    }
    let tolerance = Tolerance::new(lower, upper).or_raise(py)?;
    let width = guard("acceptance_zone", py, guard_band)?.width(u);
    let (low, high) = tolerance.acceptance(width);
    Ok((low, high, tolerance.acceptance_width(width)))
}

/// Adds classes and functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Decision>()?;
    module.add_class::<Decisions>()?;
    module.add_function(wrap_pyfunction!(_restore_decision, module)?)?;
    module.add_function(wrap_pyfunction!(_restore_decisions, module)?)?;
    module.add_function(wrap_pyfunction!(decide, module)?)?;
    module.add_function(wrap_pyfunction!(acceptance_zone, module)?)
}

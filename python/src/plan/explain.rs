//! Why a part came out softer or harder than planned.

use afterquench::curve::HardnessAfterTemper;
use afterquench::plan::{self, Earlier, ExplainRequest, Explanation as Core};
use afterquench::temper::ConstantBelief;
use afterquench::{Estimate as CoreEstimate, HoldTime, Temperature};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

use super::retemper::{believed, earlier, reading};
use super::{Any, Plan, known};
use crate::arguments::{argument_type, as_quenched, belief_object, data_frame};
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::given;
use crate::hardness::Readings;
use crate::history::History;
use crate::pickle::{Reduced, reduce, restore};

/// One cause that may have made a part softer or harder: .name, .effect, .fit, .measured, .why, .check.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> p = aq.plan(aq.TemperingCurve([150, 200, 250, 300], [62.6, 60.4, 57.8, 55.5]), (60, 61))
/// >>> next(cause for cause in aq.explain_soft(59.0, p).causes if cause.name == "time").fit
/// 'does not explain it'
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Cause {
    core: plan::Cause,
}

#[pymethods]
impl Cause {
    /// Its name.
    #[getter]
    fn name(&self) -> &str {
        &self.core.name
    }

    /// What it does to the reading, an Estimate in HRC; negative is softer.
    #[getter]
    fn effect(&self) -> Estimate {
        self.core.effect.clone().into()
    }

    /// The difference less the part of the effect nearest to it, HRC.
    #[getter]
    fn left_hrc(&self) -> f64 {
        self.core.left_hrc
    }

    /// "found", "explains it", "explains part of it" or "does not explain it".
    #[getter]
    fn fit(&self) -> &'static str {
        self.core.fit.text()
    }

    /// Whether its size was measured on this part and load; if not, .effect is what such a cause can do.
    #[getter]
    fn measured(&self) -> bool {
        self.core.measured
    }

    /// Whether it is in the reading alone and not in the part.
    #[getter]
    fn reading_only(&self) -> bool {
        self.core.reading_only
    }

    /// What its size comes from.
    #[getter]
    fn why(&self) -> &str {
        &self.core.why
    }

    /// What would show it.
    #[getter]
    fn check(&self) -> &str {
        &self.core.check
    }

    fn __repr__(&self) -> String {
        let (low, high) = self.core.effect.interval(0.95).unwrap_or((f64::NAN, f64::NAN));
        format!("{}: {low:+.1} to {high:+.1} HRC, {} ({})", self.core.name, self.core.fit.text(), self.core.why)
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_cause", &self.core)
    }
}

/// Rebuilds a pickled cause.
#[pyfunction]
fn _restore_cause(state: &[u8]) -> PyResult<Cause> {
    Ok(Cause { core: restore(state)? })
}

/// What may be behind a difference between plan and reading; made by `explain_soft`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> p = aq.plan(aq.TemperingCurve([150, 200, 250, 300], [62.6, 60.4, 57.8, 55.5]), (60, 61))
/// >>> aq.explain_soft(aq.Estimate(60.2, 0.4, "HRC"), p)
/// nothing to explain yet: 0.3 HRC softer than planned lies inside the reading's own ±0.8 HRC (k = 2)
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Explanation {
    core: Core,
}

#[pymethods]
impl Explanation {
    /// Reading less plan with the reading's uncertainty, HRC; negative is softer.
    #[getter]
    fn difference(&self) -> Estimate {
        self.core.difference.clone().into()
    }

    /// The hardness planned, HRC.
    #[getter]
    fn planned_hrc(&self) -> f64 {
        self.core.planned_hrc
    }

    /// The causes, the likeliest first.
    #[getter]
    fn causes(&self) -> Vec<Cause> {
        self.core.causes.iter().map(|core| Cause { core: core.clone() }).collect()
    }

    /// The answer in a sentence.
    #[getter]
    fn summary(&self) -> &str {
        &self.core.summary
    }

    /// What to look at before anything else.
    #[getter]
    fn first_check(&self) -> &str {
        &self.core.first_check
    }

    /// What can and can't be done about it.
    #[getter]
    fn remedy(&self) -> &str {
        &self.core.remedy
    }

    /// What was assumed, as sentences.
    #[getter]
    fn assumptions(&self) -> Vec<String> {
        self.core.assumptions.clone()
    }

    /// The causes as a pandas DataFrame, one row each.
    ///
    /// Returns
    /// -------
    /// pandas.DataFrame
    fn to_frame<'py>(&self, py: Python<'py>) -> PyResult<Any<'py>> {
        let columns = PyDict::new(py);
        let all = &self.core.causes;
        let end = |cause: &plan::Cause, high: bool| {
            cause.effect.interval(0.95).map_or(f64::NAN, |(low, top)| if high { top } else { low })
        };
        columns.set_item("cause", PyList::new(py, all.iter().map(|cause| &cause.name))?)?;
        columns.set_item("lo95_hrc", all.iter().map(|cause| end(cause, false)).collect::<Vec<_>>())?;
        columns.set_item("hi95_hrc", all.iter().map(|cause| end(cause, true)).collect::<Vec<_>>())?;
        columns.set_item("left_hrc", all.iter().map(|cause| cause.left_hrc).collect::<Vec<_>>())?;
        columns.set_item("fit", PyList::new(py, all.iter().map(|cause| cause.fit.text()))?)?;
        columns.set_item("measured", all.iter().map(|cause| cause.measured).collect::<Vec<_>>())?;
        data_frame(py, &columns)
    }

    fn __repr__(&self) -> String {
        self.core.summary.clone()
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_explanation", &self.core)
    }
}

/// Rebuilds a pickled explanation.
#[pyfunction]
fn _restore_explanation(state: &[u8]) -> PyResult<Explanation> {
    Ok(Explanation { core: restore(state)? })
}

/// Why a part came out softer, or harder, than planned: causes ranked by the size each can explain.
///
/// Parameters
/// ----------
/// reading : float, Estimate or Readings
///     What the part measures, HRC; Readings bring their tester and their doubts.
/// plan : Plan
///     What was planned: its .best is taken as done, and its steel as the curve.
/// log : History, OvenLog or Soak, optional
///     What the steel got.
/// held : (float, float), optional
///     Temperature in °C and time in hours that were set, where they are not the plan's best.
/// as_quenched_hrc : float or Estimate, optional
///     Hardness before the temper, HRC: without it hardening that failed can't be left out.
/// place_delta_c : (float, float), optional
///     How much cooler and hotter than the display the part's place may be, from a survey; ±9 °C otherwise.
/// u_measured : float
///     Standard uncertainty of a plain reading, HRC.
/// c : float, Estimate or (low, high), optional
///     The steel's C for hours; the History's or the curve's own, else 15 to 20, flat.
/// u_curve, u_batch : float, optional
///     Standard uncertainty of the curve's level and between batches, HRC; the curve's own.
///
/// Returns
/// -------
/// Explanation
///     With .causes (each with .effect in HRC), .summary, .first_check, .remedy and .to_frame().
///
/// Raises
/// ------
/// ArgumentTypeError
///     For a plan that is none, or a log that is none.
/// InvalidValueError
///     For readings, times or widths that make no sense.
/// RefusedError
///     For a History made for another C than `c`.
///
/// Notes
/// -----
/// What heat does is carried through the curve; sizes of skin, spot, austenite, burn and failed hardening are common
/// practice without a source. A cause explains a difference that lies within two standard uncertainties of its range.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> p = aq.plan(aq.TemperingCurve([150, 200, 250, 300], [62.6, 60.4, 57.8, 55.5], as_quenched_hrc=65), (60, 61), c=20)
/// >>> got = aq.combine([(240, 0.5), (200, 2)], c=20)
/// >>> aq.explain_soft(aq.Estimate(59.0, 0.3, "HRC"), p, log=got, as_quenched_hrc=65)
/// overshoot explains it: -1.4 HRC of -1.5 ± 0.6 HRC (k = 2), -0.1 HRC left
#[pyfunction]
#[pyo3(signature = (reading, plan, log=None, *, held=None, as_quenched_hrc=None, place_delta_c=None, u_measured=0.4,
    c=None, u_curve=None, u_batch=None))]
fn explain_soft(
    py: Python<'_>,
    reading: &Any<'_>,
    plan: &Any<'_>,
    log: Option<&Any<'_>>,
    #[pyo3(from_py_with = given::explain_soft::held)] held: Option<(f64, f64)>,
    as_quenched_hrc: Option<&Any<'_>>,
    #[pyo3(from_py_with = given::explain_soft::place_delta_c)] place_delta_c: Option<(f64, f64)>,
    #[pyo3(from_py_with = given::explain_soft::u_measured)] u_measured: f64,
    c: Option<&Any<'_>>,
    #[pyo3(from_py_with = given::explain_soft::u_curve)] u_curve: Option<f64>,
    #[pyo3(from_py_with = given::explain_soft::u_batch)] u_batch: Option<f64>,
) -> PyResult<Explanation> {
    const FUNCTION: &str = "explain_soft";
    let Ok(planned) = plan.cast::<Plan>() else {
        let why = "it is no Plan".to_owned();
        return Err(argument_type(py, FUNCTION, "plan", why, "Give what aq.plan(...) or aq.retemper(...) made".into()));
    };
    let planned = planned.get();
    let (curve, _) = known(FUNCTION, planned.steel.bind(py))?;
    let log_left = match log {
        Some(log) => logged(log, c)?,
        None => Earlier::default(),
    };
    let belief = believed(FUNCTION, curve.as_ref(), &log_left, c)?;
    let (hold, planned_hrc) = promised(py, planned, curve.as_ref(), held, belief)?;
    let (reading, doubts, u_tester) = read(reading, u_measured)?;
    let mut unknowns = plan::Unknowns::of(curve.as_ref());
    unknowns.u_curve_hrc = u_curve.unwrap_or(unknowns.u_curve_hrc);
    unknowns.u_batch_hrc = u_batch.unwrap_or(unknowns.u_batch_hrc);
    let request = ExplainRequest {
        reading,
        doubts,
        u_tester,
        planned_hrc,
        hold,
        log: log_left,
        as_quenched: as_quenched_hrc.map(|given| as_quenched(FUNCTION, given, false)).transpose()?,
        place_delta_c,
        unknowns,
        c: belief,
    };
    Ok(Explanation { core: py.detach(|| plan::explain(curve.as_ref(), &request)).or_raise(py)? })
}

/// What a log left: a History as it is; of a log or soak, its history.
fn logged(log: &Any<'_>, c: Option<&Any<'_>>) -> PyResult<Earlier> {
    if log.is_instance_of::<History>() {
        return earlier(log);
    }
    if log.hasattr("history")? {
        let keywords = PyDict::new(log.py());
        let range = belief_object(log.py(), crate::arguments::belief("explain_soft", c)?)?;
        keywords.set_item("c", range)?;
        return earlier(&log.call_method("history", (), Some(&keywords))?);
    }
    let hint = "Give log.history(c=...), the OvenLog or its Soak";
    Err(argument_type(log.py(), "explain_soft", "log", "it is no history of the oven".to_owned(), hint.into()))
}

/// What was set, and the hardness it should have given.
fn promised(
    py: Python<'_>,
    planned: &Plan,
    curve: &dyn HardnessAfterTemper,
    held: Option<(f64, f64)>,
    c: ConstantBelief,
) -> PyResult<((Temperature, HoldTime), f64)> {
    if let Some((celsius, hours)) = held {
        let hold = (Temperature::from_celsius(celsius), HoldTime::from_hours(hours));
        let hrc = curve.hardness_with(hold.0, hold.1, c.middle()).or_raise(py)?;
        return Ok((hold, hrc));
    }
    let Some(best) = planned.core.best() else {
        let hint = "Give held=(temperature_c, time_h): what was set";
        let why = "it says to leave the part as it is".to_owned();
        return Err(argument_type(py, "explain_soft", "plan", why, hint.into()));
    };
    let total = HoldTime::from_hours(best.time.hours() * f64::from(best.cycles));
    Ok(((best.temperature, total), best.hrc.value()))
}

/// A reading in HRC, what speaks against it, and what a reference block left of the tester's error.
fn read(given: &Any<'_>, u: f64) -> PyResult<(CoreEstimate, Vec<String>, Option<f64>)> {
    let Ok(readings) = given.cast::<Readings>() else {
        let (value, u) = reading(("explain_soft", "reading"), given, u)?;
        return Ok((CoreEstimate::new(value, "HRC").with("reading", u), Vec::new(), None));
    };
    let readings = &readings.get().core;
    // Readings that are none are left out of the mean already, unless there is no other.
    let doubts = if readings.believed().is_empty() { readings.doubts() } else { &[] };
    let doubts: Vec<String> =
        doubts.iter().map(|doubt| format!("{} {}: {}", doubt.reading, doubt.weight.text(), doubt.rule)).collect();
    let u_tester = readings.tester().map(|tester| tester.bias.u());
    let made = match readings.estimate(Some("HRC"), "astm-e140-1", None) {
        Ok(made) => made,
        // Readings of no place that counts still have a mean that somebody wonders about.
        Err(_) if !doubts.is_empty() && readings.scale() == "HRC" => {
            let mean = readings.values().iter().sum::<f64>() / readings.values().len() as f64;
            CoreEstimate::new(mean, "HRC").with("reading", u)
        }
        Err(error) => return Err(error).or_raise(given.py()),
    };
    Ok((made, doubts, u_tester))
}

/// Adds classes and function to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Cause>()?;
    module.add_class::<Explanation>()?;
    module.add_function(wrap_pyfunction!(_restore_cause, module)?)?;
    module.add_function(wrap_pyfunction!(_restore_explanation, module)?)?;
    module.add_function(wrap_pyfunction!(explain_soft, module)?)
}

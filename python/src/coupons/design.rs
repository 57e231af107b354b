//! What a plan of coupons would tell, and the cheapest that tells enough.

use afterquench::curve::fit::{CouponDesign as Core, CouponRun, DesignBasis, DesignGoal};
use afterquench::{HoldTime, Temperature};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::columns::coupons;
use super::fit::CouponFit;
use crate::arguments::{argument_type, data_frame};
use crate::errors::OrRaise;
use crate::given;
use crate::pickle::{Reduced, reduce, restore};

type Any<'py> = Bound<'py, PyAny>;

/// A plan of coupons and what it would tell.
///
/// Made by `design_coupons`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.design_coupons([(175, 0.5, 2), (175, 8, 2), (250, 0.5, 2), (250, 8, 2)], c=19)
/// CouponDesign of 8 coupons, 21 oven-hours: u(level) 0.12 HRC, u(slope) 0.0033 HRC/°C, u(C) 3.4
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(PartialEq)]
pub struct CouponDesign {
    core: Core,
}

#[pymethods]
impl CouponDesign {
    /// The runs: tuples of temperature in °C, time in hours, number of coupons.
    #[getter]
    fn runs(&self) -> Vec<(f64, f64, usize)> {
        self.core.runs.iter().map(|run| (run.temperature.celsius(), run.time.hours(), run.coupons)).collect()
    }

    /// One standard uncertainty of the level, HRC.
    #[getter]
    fn u_level(&self) -> f64 {
        self.core.u_level
    }

    /// One standard uncertainty of the slope, HRC/°C; infinite where it is not determined.
    #[getter]
    fn u_slope(&self) -> f64 {
        self.core.u_slope
    }

    /// One standard uncertainty of C by linear theory; infinite where it is not determined.
    #[getter]
    fn u_c(&self) -> f64 {
        self.core.u_c
    }

    /// Coupons in all, without those there already are.
    #[getter]
    fn coupons(&self) -> usize {
        self.core.coupons
    }

    /// Hours of the oven.
    #[getter]
    fn oven_hours(&self) -> f64 {
        self.core.oven_hours
    }

    /// What it costs, in the unit of the two costs.
    #[getter]
    fn cost(&self) -> f64 {
        self.core.cost
    }

    /// What to know, as sentences.
    #[getter]
    fn notes(&self) -> Vec<String> {
        self.core.notes.iter().map(ToString::to_string).collect()
    }

    /// The runs as a pandas DataFrame: temperature_c, time_h, coupons.
    fn to_frame<'py>(&self, py: Python<'py>) -> PyResult<Any<'py>> {
        let columns = PyDict::new(py);
        let runs = &self.core.runs;
        columns.set_item("temperature_c", runs.iter().map(|run| run.temperature.celsius()).collect::<Vec<_>>())?;
        columns.set_item("time_h", runs.iter().map(|run| run.time.hours()).collect::<Vec<_>>())?;
        columns.set_item("coupons", runs.iter().map(|run| run.coupons).collect::<Vec<_>>())?;
        data_frame(py, &columns)
    }

    fn __repr__(&self) -> String {
        let said = |u: f64, digits: usize, unit: &str| {
            if u.is_finite() { format!("{u:.digits$}{unit}") } else { "not determined".to_owned() }
        };
        format!(
            "CouponDesign of {} coupons, {:.0} oven-hours: u(level) {}, u(slope) {}, u(C) {}",
            self.core.coupons,
            self.core.oven_hours,
            said(self.core.u_level, 2, " HRC"),
            said(self.core.u_slope, 4, " HRC/°C"),
            said(self.core.u_c, 1, "")
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_coupon_design", &self.core)
    }
}

/// Rebuilds a pickled design.
#[pyfunction]
fn _restore_coupon_design(state: &[u8]) -> PyResult<CouponDesign> {
    Ok(CouponDesign { core: restore(state)? })
}

/// What a plan of coupons would tell of level, slope and C; or the cheapest plan that tells enough.
///
/// Parameters
/// ----------
/// plan : list of (temperature_c, time_h) or (temperature_c, time_h, coupons), CouponFit, or table of coupons, optional
///     What is to be run. A CouponFit brings its coupons as already there, its scatter, slope and C: goals are then reached
///     by what is added. Without a goal the plan itself is judged.
/// u_level, u_slope, u_c : float, optional
///     Goals: the largest standard uncertainty of the level (HRC), the slope (HRC/°C), C. With any of them the cheapest
///     plan is looked for among evenly spaced temperatures at one hold or two.
/// scatter_hrc : float, optional
///     Standard deviation of one coupon's mean around the line; a fit's own, else 0.35, an assumption.
/// slope : float, optional
///     Slope of the curve at `time_h`, HRC/°C; a fit's own, else -0.05.
/// c : float, optional
///     The C around which the theory is linear; a fit's own, else 17.5.
/// parabola : bool
///     Whether the line may bend.
/// u_run_temperature_c : float
///     One standard uncertainty of a run's temperature, common to all its coupons, °C.
/// u_tester : float, optional
///     One standard uncertainty of the tester's bias, HRC: no number of coupons lowers it. A fit's
///     own, else none.
/// temperature_c, time_h : float, optional
///     Where the level is wanted; a fit's own, else the middle of the temperatures, two hours.
/// temperatures_c, times_h : (float, float)
///     Coolest and hottest run in °C, shortest and longest hold in hours, for the search.
/// cost_per_oven_hour, cost_per_coupon, warm_up_h : float
///     What counts as cheap: oven-hours (each hold and its warm-up) and coupons.
///
/// Returns
/// -------
/// CouponDesign
///     .runs, .u_level, .u_slope, .u_c, .coupons, .oven_hours, .cost.
///
/// Raises
/// ------
/// MissingArgumentError
///     Without a plan and without a goal.
/// NoAnswerError
///     Where no plan within the limits reaches the goal.
/// InvalidValueError
///     For a slope that does not fall, limits or costs that can't be.
///
/// Notes
/// -----
/// Linear theory: H = level + slope (T0 − centre), T0 the temperature that does the same at `time_h`; the covariance of
/// least squares, the delta method for C. The interval of C itself is skewed upward.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.design_coupons(u_c=1, c=19, temperatures_c=(175, 250)).coupons
/// 68
#[pyfunction(name = "design_coupons")]
#[pyo3(signature = (plan=None, *, u_level=None, u_slope=None, u_c=None, scatter_hrc=None, slope=None, c=None,
    parabola=false, u_run_temperature_c=0.0, u_tester=None, temperature_c=None, time_h=None,
    temperatures_c=None, times_h=(0.5, 32.0), cost_per_oven_hour=1.0, cost_per_coupon=1.0, warm_up_h=1.0))]
fn design(
    py: Python<'_>,
    plan: Option<&Any<'_>>,
    #[pyo3(from_py_with = given::design_coupons::u_level)] u_level: Option<f64>,
    #[pyo3(from_py_with = given::design_coupons::u_slope)] u_slope: Option<f64>,
    #[pyo3(from_py_with = given::design_coupons::u_c)] u_c: Option<f64>,
    #[pyo3(from_py_with = given::design_coupons::scatter_hrc)] scatter_hrc: Option<f64>,
    #[pyo3(from_py_with = given::design_coupons::slope)] slope: Option<f64>,
    #[pyo3(from_py_with = given::design_coupons::c)] c: Option<f64>,
    #[pyo3(from_py_with = given::design_coupons::parabola)] parabola: bool,
    #[pyo3(from_py_with = given::design_coupons::u_run_temperature_c)] u_run_temperature_c: f64,
    #[pyo3(from_py_with = given::design_coupons::u_tester)] u_tester: Option<f64>,
    #[pyo3(from_py_with = given::design_coupons::temperature_c)] temperature_c: Option<f64>,
    #[pyo3(from_py_with = given::design_coupons::time_h)] time_h: Option<f64>,
    #[pyo3(from_py_with = given::design_coupons::temperatures_c)] temperatures_c: Option<(f64, f64)>,
    #[pyo3(from_py_with = given::design_coupons::times_h)] times_h: (f64, f64),
    #[pyo3(from_py_with = given::design_coupons::cost_per_oven_hour)] cost_per_oven_hour: f64,
    #[pyo3(from_py_with = given::design_coupons::cost_per_coupon)] cost_per_coupon: f64,
    #[pyo3(from_py_with = given::design_coupons::warm_up_h)] warm_up_h: f64,
) -> PyResult<CouponDesign> {
    let fit = plan.and_then(|plan| plan.cast::<CouponFit>().ok());
    let mut basis = fit.map_or_else(DesignBasis::default, |fit| fit.get().core.design_basis());
    let runs = match plan {
        Some(plan) if fit.is_none() => runs(plan)?,
        _ => Vec::new(),
    };
    basis.scatter = scatter_hrc.unwrap_or(basis.scatter);
    basis.slope = slope.unwrap_or(basis.slope);
    basis.c = c.unwrap_or(basis.c);
    basis.parabola |= parabola;
    basis.u_run_temperature = u_run_temperature_c;
    basis.u_tester = u_tester.unwrap_or(basis.u_tester);
    basis.hold = time_h.map_or(basis.hold, HoldTime::from_hours);
    let known: Vec<f64> = runs.iter().chain(&basis.existing).map(|run| run.temperature.celsius()).collect();
    let (low, high) =
        known.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), t| (low.min(*t), high.max(*t)));
    let range = temperatures_c.unwrap_or(if low < high { (low, high) } else { DesignGoal::default().temperature_c });
    if fit.is_none() {
        let middle = if low <= high { 0.5 * (low + high) } else { 0.5 * (range.0 + range.1) };
        basis.centre = Temperature::from_celsius(middle);
    }
    basis.centre = temperature_c.map_or(basis.centre, Temperature::from_celsius);
    let goal = DesignGoal {
        u_level,
        u_slope,
        u_c,
        temperature_c: range,
        time_h: times_h,
        cost_per_oven_hour,
        cost_per_coupon,
        warm_up_h,
    };
    let has_goal = u_level.is_some() || u_slope.is_some() || u_c.is_some();
    if has_goal {
        basis.existing.extend(runs);
        return py.detach(|| basis.cheapest(&goal)).or_raise(py).map(|core| CouponDesign { core });
    }
    if plan.is_none() {
        return basis.cheapest(&goal).or_raise(py).map(|core| CouponDesign { core });
    }
    basis.judge(&runs, &goal).or_raise(py).map(|core| CouponDesign { core })
}

fn runs(plan: &Any<'_>) -> PyResult<Vec<CouponRun>> {
    let run = |(celsius, hours): (f64, f64), coupons: usize| CouponRun {
        temperature: Temperature::from_celsius(celsius),
        time: HoldTime::from_hours(hours),
        coupons,
    };
    if let Ok(pairs) = plan.extract::<Vec<(f64, f64)>>() {
        return Ok(pairs.into_iter().map(|pair| run(pair, 1)).collect());
    }
    if let Ok(triples) = plan.extract::<Vec<(f64, f64, usize)>>() {
        return Ok(triples.into_iter().map(|(celsius, hours, count)| run((celsius, hours), count)).collect());
    }
    if plan.is_instance_of::<pyo3::types::PyList>() || plan.is_instance_of::<pyo3::types::PyTuple>() {
        return Err(argument_type(
            plan.py(),
            "design_coupons",
            "plan",
            "its rows are not all pairs or all triples of numbers".into(),
            "Write [(temperature_c, time_h, coupons), …]".into(),
        ));
    }
    let table = coupons("design_coupons", "plan", plan)?;
    Ok(table.iter().map(|coupon| run((coupon.temperature.celsius(), coupon.time.hours()), 1)).collect())
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<CouponDesign>()?;
    module.add_function(wrap_pyfunction!(_restore_coupon_design, module)?)?;
    module.add_function(wrap_pyfunction!(design, module)?)
}

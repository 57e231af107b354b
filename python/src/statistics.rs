//! Bindings of the statistics in `estimate` that laboratories ask for by name.

use afterquench::Error;
use afterquench::estimate::{self, student_quantile};
use pyo3::prelude::*;

use crate::arguments::column;
use crate::errors::{OrRaise, raised};

fn invalid(py: Python<'_>, function: &'static str, argument: &'static str, value: f64, why: &'static str) -> PyErr {
    let error = Error::invalid(function, argument, (value, ""), why, "See the function's own words");
    raised(py, &error)
}

/// Student's factor t that a standard uncertainty is multiplied by for an interval of both tails.
///
/// Parameters
/// ----------
/// coverage : float
///     Probability of the interval, between 0 and 1.
/// degrees_of_freedom : float
///     Above zero; infinite gives the normal factor.
///
/// Returns
/// -------
/// float
///
/// Raises
/// ------
/// InvalidValueError
///     For a coverage or degrees of freedom outside those.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.student_factor(0.95, 7), 4)
/// 2.3646
#[pyfunction]
fn student_factor(py: Python<'_>, coverage: f64, degrees_of_freedom: f64) -> PyResult<f64> {
    if !(coverage > 0.0 && coverage < 1.0) {
        return Err(invalid(py, "student_factor", "coverage", coverage, "does not lie between 0 and 1"));
    }
    if degrees_of_freedom.is_nan() || degrees_of_freedom <= 0.0 {
        return Err(invalid(py, "student_factor", "degrees_of_freedom", degrees_of_freedom, "is not above zero"));
    }
    let tail = 0.5 * (1.0 - coverage);
    Ok(if degrees_of_freedom.is_infinite() {
        -estimate::normal_quantile(tail)
    } else {
        -student_quantile(tail, degrees_of_freedom)
    })
}

/// Degrees of freedom of a combined uncertainty after Welch and Satterthwaite (JCGM 100:2008, eq. G.2b), not cut off.
///
/// Parameters
/// ----------
/// u : array_like
///     Standard uncertainties that are combined in quadrature, all in one unit.
/// degrees_of_freedom : array_like
///     Of each, infinite where it is known.
///
/// Returns
/// -------
/// float
///
/// Raises
/// ------
/// InvalidValueError
///     For two lengths, negative uncertainties or degrees of freedom that are not above zero.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.effective_degrees_of_freedom([0.25, 0.57, 0.82], [9, 4, 14]), 1)
/// 19.0
#[pyfunction]
fn effective_degrees_of_freedom(
    py: Python<'_>,
    u: &Bound<'_, PyAny>,
    degrees_of_freedom: &Bound<'_, PyAny>,
) -> PyResult<f64> {
    const NAME: &str = "effective_degrees_of_freedom";
    let (u, dof) = (column(NAME, "u", u)?, column(NAME, "degrees_of_freedom", degrees_of_freedom)?);
    if u.len() != dof.len() {
        return Err(invalid(py, NAME, "degrees_of_freedom", dof.len() as f64, "is not as long as u"));
    }
    if let Some(&bad) = u.iter().find(|u| !(**u >= 0.0 && u.is_finite())) {
        return Err(invalid(py, NAME, "u", bad, "is no standard uncertainty"));
    }
    if let Some(&bad) = dof.iter().find(|dof| dof.is_nan() || **dof <= 0.0) {
        return Err(invalid(py, NAME, "degrees_of_freedom", bad, "is not above zero"));
    }
    if u.iter().all(|u| *u == 0.0) {
        return Err(invalid(py, NAME, "u", 0.0, "leaves nothing to combine"));
    }
    let parts: Vec<(f64, f64)> = u.into_iter().zip(dof).collect();
    Ok(estimate::effective_degrees_of_freedom(&parts))
}

fn two_sided(py: Python<'_>, function: &'static str, sides: u32) -> PyResult<bool> {
    match sides {
        1 => Ok(false),
        2 => Ok(true),
        other => Err(invalid(py, function, "sides", f64::from(other), "is neither 1 nor 2")),
    }
}

/// The limit of Grubbs' test: a value farther from the mean than this many standard deviations stands apart.
///
/// Parameters
/// ----------
/// n : int
///     Number of values, three at least.
/// alpha : float
///     Chance of a false alarm.
/// sides : {2, 1}
///     Whether the value may lie on either side, or on one known beforehand.
///
/// Returns
/// -------
/// float
///
/// Raises
/// ------
/// InvalidValueError
///     For numbers outside those.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.grubbs_critical(7), 3)
/// 2.02
#[pyfunction]
#[pyo3(signature = (n, alpha=0.05, sides=2))]
fn grubbs_critical(py: Python<'_>, n: usize, alpha: f64, sides: u32) -> PyResult<f64> {
    let two_sided = two_sided(py, "grubbs_critical", sides)?;
    estimate::grubbs_critical(n, alpha, two_sided).or_raise(py)
}

/// Which value stands farthest from the mean, how far in standard deviations, and the limit for it.
///
/// Parameters
/// ----------
/// values : array_like
///     Three values at least, no NaN among them.
/// alpha, sides
///     As of `grubbs_critical`.
///
/// Returns
/// -------
/// (int, float, float)
///     Its place from 0, its distance G, the limit: it stands apart where G is above the limit. Look for the cause before
///     it is left out; readings that hardly differ are set apart by their rounding.
///
/// Raises
/// ------
/// InvalidValueError, NotDeterminedError
///     For too few values or NaN; for values that are all the same.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> place, g, limit = aq.grubbs([59.2, 59.4, 59.1, 59.3, 57.0, 59.2])
/// >>> place, g > limit
/// (4, True)
#[pyfunction]
#[pyo3(signature = (values, alpha=0.05, sides=2))]
fn grubbs(py: Python<'_>, values: &Bound<'_, PyAny>, alpha: f64, sides: u32) -> PyResult<(usize, f64, f64)> {
    let two_sided = two_sided(py, "grubbs", sides)?;
    let made = estimate::grubbs(&column("grubbs", "values", values)?, alpha, two_sided).or_raise(py)?;
    Ok((made.index, made.g, made.critical))
}

/// Adds the functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(student_factor, module)?)?;
    module.add_function(wrap_pyfunction!(effective_degrees_of_freedom, module)?)?;
    module.add_function(wrap_pyfunction!(grubbs_critical, module)?)?;
    module.add_function(wrap_pyfunction!(grubbs, module)?)
}

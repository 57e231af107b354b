//! Hardness from a composition in one call.

use std::sync::{Arc, Mutex, PoisonError};

use afterquench::curve::HardnessAfterTemper;
use afterquench::steel::{Amounts, CompositionSteel as Core, hardness_from_composition_estimate as one};
use afterquench::{HoldTime, Temperature};
use pyo3::prelude::*;

use super::CompositionSteel;
use super::given::{amounts, with};
use crate::arguments::{may_extrapolate, measured};
use crate::errors::OrRaise;
use crate::estimate::Estimate;

type Any<'py> = Bound<'py, PyAny>;

/// Compositions kept ready between calls of `hardness_from_composition`.
const KEPT: usize = 8;

/// The steel of a composition, kept ready: making it takes fifty times as long as asking it.
fn kept(py: Python<'_>, amounts: &Amounts) -> PyResult<Py<CompositionSteel>> {
    static READY: Mutex<Vec<(Amounts, Py<CompositionSteel>)>> = Mutex::new(Vec::new());
    {
        let ready = READY.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, known)) = ready.iter().find(|(known, _)| known == amounts) {
            return Ok(known.clone_ref(py));
        }
    }
    let made = Py::new(py, CompositionSteel::from(Core::from_amounts(*amounts).or_raise(py)?))?;
    let mut ready = READY.lock().unwrap_or_else(PoisonError::into_inner);
    let forgotten = if ready.len() >= KEPT { Some(ready.remove(0)) } else { None };
    ready.push((*amounts, made.clone_ref(py)));
    drop(ready);
    drop(forgotten);
    Ok(made)
}

/// Hardness after a temper from the composition, HRC.
///
/// Parameters
/// ----------
/// composition : dict
///     Element symbol to weight per cent, as of `CompositionSteel`.
/// temperature_c, time_h : float or array-like
///     The metal's own hold: °C, 100 to 705; hours, 10 min to 32 h.
/// as_quenched_hrc : float or array-like, optional
///     Hardness of the part before the temper, HRC: an input of the model.
/// readings : sequence of (temperature_c, time_h, hrc), optional
///     What was measured on this bar; the answer is conditioned on it.
/// out_of_range : {"raise", "nan"}
///     What a hold outside the range does; a composition outside it is refused under every policy.
/// out, where
///     As of a NumPy ufunc.
///
/// Returns
/// -------
/// float or array
///     HRC; a float for plain numbers, else of the inputs' broadcast shape and kind. It has an uncertainty of 1 to 2 HRC:
///     ask the `_estimate` twin, or `CompositionSteel.u_hardness_after` for arrays.
///
/// Raises
/// ------
/// InvalidValueError, MissingArgumentError, UnknownNameError, RefusedError, OutOfRangeError, NoAnswerError
///     As `CompositionSteel`.
///
/// Warns
/// -----
/// AfterquenchWarning
///     Once a call where a result lies below 20 HRC, outside the scale.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> 58 < aq.hardness_from_composition({"C": 0.95, "Mn": 0.4, "Si": 0.2}, 200, 2) < 63
/// True
#[pyfunction]
#[pyo3(signature = (composition, temperature_c, time_h, as_quenched_hrc=None, *, readings=None, out_of_range=None, out=None, r#where=None))]
fn hardness_from_composition<'py>(
    py: Python<'py>,
    composition: &Any<'py>,
    temperature_c: &Any<'py>,
    time_h: &Any<'py>,
    as_quenched_hrc: Option<&Any<'py>>,
    readings: Option<&Any<'py>>,
    out_of_range: Option<&str>,
    out: Option<&Any<'py>>,
    r#where: Option<&Any<'py>>,
) -> PyResult<Any<'py>> {
    const NAME: &str = "hardness_from_composition";
    let ready = kept(py, &amounts(NAME, composition)?)?;
    match readings {
        None => ready.get().asked.hardness_after(
            py,
            temperature_c,
            time_h,
            as_quenched_hrc,
            None,
            out_of_range,
            out,
            r#where,
        ),
        Some(_) => {
            let core = with(NAME, Core::clone(&ready.get().core), None, readings, false)?;
            let made = CompositionSteel::from(core);
            made.asked.hardness_after(py, temperature_c, time_h, as_quenched_hrc, None, out_of_range, out, r#where)
        }
    }
}

/// Hardness after a temper from the composition with its uncertainty.
///
/// Parameters
/// ----------
/// composition : dict
///     Element symbol to weight per cent, as of `CompositionSteel`.
/// temperature_c, time_h : float or Estimate
///     The metal's own hold: °C and hours, taken as known unless they are Estimates.
///     `CompositionSteel.hardness_after_estimate` and `plan` add what oven and timer leave open.
/// as_quenched_hrc : float or Estimate, optional
///     Hardness of the part before the temper, HRC; an Estimate's u widens the answer by what the reading moves it.
/// readings : sequence of (temperature_c, time_h, hrc), optional
///     What was measured on this bar.
/// out_of_range : {"raise", "extrapolate"}
///     "extrapolate" goes straight on from the coolest or hottest temper, up to 100 °C, widens the interval by the whole
///     change and 0.01 HRC/°C, and marks the Estimate. A composition outside the range is refused under every policy.
///
/// Returns
/// -------
/// Estimate
///     In HRC, of one further reading: components "steel", "reading" and where they apply "as-quenched",
///     "temperature", "time" and "extrapolation".
///
/// Raises
/// ------
/// InvalidValueError, MissingArgumentError, UnknownNameError, RefusedError, OutOfRangeError, NoAnswerError
///     As `CompositionSteel`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> made = aq.hardness_from_composition_estimate({"C": 0.95, "Mn": 0.4, "Si": 0.2}, 200, 2)
/// >>> sorted(made.components), made.u > 1
/// (['reading', 'steel'], True)
#[pyfunction]
#[pyo3(signature = (composition, temperature_c, time_h, as_quenched_hrc=None, *, readings=None, out_of_range=None))]
fn hardness_from_composition_estimate(
    py: Python<'_>,
    composition: &Any<'_>,
    temperature_c: &Any<'_>,
    time_h: &Any<'_>,
    as_quenched_hrc: Option<&Any<'_>>,
    readings: Option<&Any<'_>>,
    out_of_range: Option<&str>,
) -> PyResult<Estimate> {
    const NAME: &str = "hardness_from_composition_estimate";
    let extrapolate = may_extrapolate(py, NAME, out_of_range)?;
    let ready = kept(py, &amounts(NAME, composition)?)?;
    let temperature = measured(NAME, "temperature_c", temperature_c, extrapolate)?;
    let time = measured(NAME, "time_h", time_h, extrapolate)?;
    let ready = ready.get();
    let core = if as_quenched_hrc.is_none() && readings.is_none() {
        Arc::clone(&ready.core)
    } else {
        Arc::new(with(NAME, Core::clone(&ready.core), as_quenched_hrc, readings, extrapolate)?)
    };
    let (at, hold) = (Temperature::from_celsius(temperature.value), HoldTime::from_hours(time.value));
    let mut made = one(&core, at, hold, extrapolate).or_raise(py)?;
    for (name, u, celsius, hours) in
        [("temperature", temperature.u, temperature.u, 0.0), ("time", time.u, 0.0, time.u.min(0.5 * time.value))]
    {
        if u > 0.0 {
            let there = |way: f64| {
                let (at, hold) = (temperature.value + way * celsius, time.value + way * hours);
                core.extrapolated_with(Temperature::from_celsius(at), HoldTime::from_hours(hold), core.c())
            };
            made = made.with(name, 0.5 * (there(1.0).or_raise(py)?.0 - there(-1.0).or_raise(py)?.0));
        }
    }
    Ok(made.into())
}

/// Adds the file to the module.
pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(hardness_from_composition, module)?)?;
    module.add_function(wrap_pyfunction!(hardness_from_composition_estimate, module)?)
}

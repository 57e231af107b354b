//! The same as the array functions, for one hold, with its uncertainty.

use afterquench::temper::{self, Measured};
use afterquench::{HoldTime, SteelConstant, Temperature};
use pyo3::prelude::*;

use super::declare::Any;
use crate::arguments::{belief, may_extrapolate, measured, number};
use crate::errors::OrRaise;
use crate::estimate::Estimate;

/// A hold's temperature and time, each perhaps with its uncertainty, under the policy for Estimates out of range.
fn hold(
    name: &'static str,
    temperature_c: &Any<'_>,
    time_h: &Any<'_>,
    out_of_range: Option<&str>,
) -> PyResult<(Measured, Measured)> {
    let on = may_extrapolate(temperature_c.py(), name, out_of_range)?;
    Ok((measured(name, "temperature_c", temperature_c, on)?, measured(name, "time_h", time_h, on)?))
}

/// The tempering parameter with its uncertainty.
///
/// Parameters
/// ----------
/// temperature_c, time_h : float or Estimate
///     The hold: °C and hours.
/// c : float, Estimate or (low, high), optional
///     The steel's C for hours; a pair is a flat range. Left out: 15 to 20, flat, for a steel of which nothing is known.
/// out_of_range : {"raise", "extrapolate"}
///     "extrapolate" accepts Estimates that lie outside the range of the model they came from.
///
/// Returns
/// -------
/// Estimate
///     In kelvin, components "temperature", "time" and "c".
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.temper_parameter_estimate(aq.Estimate(200, 3, "degC"), 2, c=20)
/// 9605 K [9487 .. 9725]
#[pyfunction]
#[pyo3(signature = (temperature_c, time_h, *, c=None, out_of_range=None))]
fn temper_parameter_estimate(
    py: Python<'_>,
    temperature_c: &Any<'_>,
    time_h: &Any<'_>,
    c: Option<&Any<'_>>,
    out_of_range: Option<&str>,
) -> PyResult<Estimate> {
    const NAME: &str = "temper_parameter_estimate";
    let (temperature, time) = hold(NAME, temperature_c, time_h, out_of_range)?;
    let function = |celsius, hours, c| {
        temper::temper_parameter(
            Temperature::from_celsius(celsius),
            HoldTime::from_hours(hours),
            SteelConstant::for_hours(c),
        )
    };
    temper::over_belief(function, temperature, time, belief(NAME, c)?, "K").or_raise(py).map(Estimate::from)
}

/// The hours at a new temperature, as the band that an uncertain C gives it.
///
/// Parameters
/// ----------
/// temperature_c, time_h : float or Estimate
///     The hold: °C and hours.
/// new_temperature_c : float
///     The new temperature in °C.
/// c : float, Estimate or (low, high), optional
///     The steel's C for hours; a pair is a flat range. Left out: 15 to 20, flat.
/// out_of_range : {"raise", "extrapolate"}
///     "extrapolate" accepts Estimates that lie outside the range of the model they came from.
///
/// Returns
/// -------
/// Estimate
///     In hours. Its assumptions say when the trade is impractical or outside what two-hour data speak for.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> hours = aq.equivalent_time_estimate(250, 2, 210)
/// >>> [round(end) for end in hours.interval()]
/// [37, 96]
/// >>> print(hours.assumptions[-1])
/// impractical: time is the weak lever, a lower temperature can't be made up with it
#[pyfunction]
#[pyo3(signature = (temperature_c, time_h, new_temperature_c, *, c=None, out_of_range=None))]
fn equivalent_time_estimate(
    py: Python<'_>,
    temperature_c: &Any<'_>,
    time_h: &Any<'_>,
    new_temperature_c: &Any<'_>,
    c: Option<&Any<'_>>,
    out_of_range: Option<&str>,
) -> PyResult<Estimate> {
    const NAME: &str = "equivalent_time_estimate";
    let (temperature, time) = hold(NAME, temperature_c, time_h, out_of_range)?;
    let new = Temperature::from_celsius(number(NAME, "new_temperature_c", new_temperature_c)?);
    temper::equivalent_time_estimate(temperature, time, new, belief(NAME, c)?).or_raise(py).map(Estimate::from)
}

/// The temperature for a new time, with what C leaves open.
///
/// Parameters
/// ----------
/// temperature_c, time_h : float or Estimate
///     The hold: °C and hours.
/// new_time_h : float
///     The new time in hours.
/// c : float, Estimate or (low, high), optional
///     The steel's C for hours; a pair is a flat range. Left out: 15 to 20, flat.
/// out_of_range : {"raise", "extrapolate"}
///     "extrapolate" accepts Estimates that lie outside the range of the model they came from.
///
/// Returns
/// -------
/// Estimate
///     In °C.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> [round(end, 1) for end in aq.equivalent_temperature_estimate(200, 2, 1).interval()]
/// [207.1, 209.5]
#[pyfunction]
#[pyo3(signature = (temperature_c, time_h, new_time_h, *, c=None, out_of_range=None))]
fn equivalent_temperature_estimate(
    py: Python<'_>,
    temperature_c: &Any<'_>,
    time_h: &Any<'_>,
    new_time_h: &Any<'_>,
    c: Option<&Any<'_>>,
    out_of_range: Option<&str>,
) -> PyResult<Estimate> {
    const NAME: &str = "equivalent_temperature_estimate";
    let (temperature, time) = hold(NAME, temperature_c, time_h, out_of_range)?;
    let new = HoldTime::from_hours(number(NAME, "new_time_h", new_time_h)?);
    temper::equivalent_temperature_estimate(temperature, time, new, belief(NAME, c)?).or_raise(py).map(Estimate::from)
}

/// The two-hour equivalent temperature, with what C leaves open.
///
/// Parameters
/// ----------
/// temperature_c, time_h : float or Estimate
///     The hold: °C and hours.
/// c : float, Estimate or (low, high), optional
///     The steel's C for hours; a pair is a flat range. Left out: 15 to 20, flat.
/// out_of_range : {"raise", "extrapolate"}
///     "extrapolate" accepts Estimates that lie outside the range of the model they came from.
///
/// Returns
/// -------
/// Estimate
///     In °C.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> [round(end) for end in aq.two_hour_equivalent_estimate(205, 4).interval()]
/// [212, 214]
#[pyfunction]
#[pyo3(signature = (temperature_c, time_h, *, c=None, out_of_range=None))]
fn two_hour_equivalent_estimate(
    py: Python<'_>,
    temperature_c: &Any<'_>,
    time_h: &Any<'_>,
    c: Option<&Any<'_>>,
    out_of_range: Option<&str>,
) -> PyResult<Estimate> {
    const NAME: &str = "two_hour_equivalent_estimate";
    let (temperature, time) = hold(NAME, temperature_c, time_h, out_of_range)?;
    temper::equivalent_temperature_estimate(temperature, time, temper::TWO_HOURS, belief(NAME, c)?)
        .or_raise(py)
        .map(Estimate::from)
}

/// The implied activation energy, with what C leaves open.
///
/// Parameters
/// ----------
/// temperature_c, time_h : float or Estimate
///     The hold: °C and hours.
/// c : float, Estimate or (low, high), optional
///     The steel's C for hours; a pair is a flat range. Left out: 15 to 20, flat.
/// out_of_range : {"raise", "extrapolate"}
///     "extrapolate" accepts Estimates that lie outside the range of the model they came from.
///
/// Returns
/// -------
/// Estimate
///     In kJ/mol.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> [round(end) for end in aq.implied_activation_energy_estimate(200, 2).interval()]
/// [139, 184]
#[pyfunction]
#[pyo3(signature = (temperature_c, time_h, *, c=None, out_of_range=None))]
fn implied_activation_energy_estimate(
    py: Python<'_>,
    temperature_c: &Any<'_>,
    time_h: &Any<'_>,
    c: Option<&Any<'_>>,
    out_of_range: Option<&str>,
) -> PyResult<Estimate> {
    const NAME: &str = "implied_activation_energy_estimate";
    let (temperature, time) = hold(NAME, temperature_c, time_h, out_of_range)?;
    let function = |celsius, hours, c| {
        temper::implied_activation_energy(
            Temperature::from_celsius(celsius),
            HoldTime::from_hours(hours),
            SteelConstant::for_hours(c),
        )
    };
    temper::over_belief(function, temperature, time, belief(NAME, c)?, "kJ/mol").or_raise(py).map(Estimate::from)
}

/// Adds the functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(temper_parameter_estimate, module)?)?;
    module.add_function(wrap_pyfunction!(equivalent_time_estimate, module)?)?;
    module.add_function(wrap_pyfunction!(equivalent_temperature_estimate, module)?)?;
    module.add_function(wrap_pyfunction!(two_hour_equivalent_estimate, module)?)?;
    module.add_function(wrap_pyfunction!(implied_activation_energy_estimate, module)?)
}

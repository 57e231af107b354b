//! One fixed activation energy in place of the parameter: the rival rule, and the mean kinetic temperature.

use afterquench::temper;
use afterquench::{HoldTime, Temperature};
use pyo3::prelude::*;

use super::declare::Any;
use crate::arguments::{column, number};
use crate::errors::OrRaise;

/// The hours at a reference temperature that a trace is worth by one fixed activation energy: the rival rule.
///
/// Parameters
/// ----------
/// time_s, temperature_c : array_like, shape (n,)
///     The trace: seconds, rising, and °C; samples are joined by straight lines.
/// activation_energy_kj_mol : float
///     The activation energy in kJ/mol.
/// reference_c : float
///     The reference temperature in °C.
///
/// Returns
/// -------
/// float
///     Hours at the reference temperature.
///
/// Raises
/// ------
/// InvalidValueError
///     For missing or infinite samples, time running backwards, temperatures at or below absolute zero.
/// RefusedError
///     For fewer than two samples or columns of unequal length.
///
/// Notes
/// -----
/// ∫ exp(-(Q/R)(1/T - 1/Tref)) dt. Anchored at the plan it can differ by degrees from the parameter on an overshoot;
/// anchored at the end state the two agree. Both are models: show both.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.equivalent_time_activation([0, 7200], [200, 200], 180, 200)
/// 2.0
#[pyfunction]
fn equivalent_time_activation(
    py: Python<'_>,
    time_s: &Any<'_>,
    temperature_c: &Any<'_>,
    activation_energy_kj_mol: &Any<'_>,
    reference_c: &Any<'_>,
) -> PyResult<f64> {
    const NAME: &str = "equivalent_time_activation";
    let times = column(NAME, "time_s", time_s)?;
    let temperatures = column(NAME, "temperature_c", temperature_c)?;
    let energy = number(NAME, "activation_energy_kj_mol", activation_energy_kj_mol)?;
    let reference = Temperature::from_celsius(number(NAME, "reference_c", reference_c)?);
    temper::equivalent_time_activation(&times, &temperatures, energy, reference).or_raise(py).map(HoldTime::hours)
}

/// The flat temperature at which a process of one activation energy is as fast as it is on average over these.
///
/// The mean kinetic temperature, T = (Q/R) / -ln(mean of exp(-Q/(R T))), in K inside; never below the arithmetic mean.
///
/// Parameters
/// ----------
/// temperature_c : array_like
///     Temperatures in °C.
/// activation_energy_kj_mol : float
///     Activation energy in kJ/mol: of the storage of medicines 83.144 by convention, of tempering 100 to 300.
/// weights : array_like, optional
///     The share of the time of each; even shares without it.
///
/// Returns
/// -------
/// float
///     °C.
///
/// Raises
/// ------
/// InvalidValueError
///     For energies or weights that are not positive, or temperatures that are none.
/// RefusedError
///     Without a temperature, or with as many weights as do not match.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.mean_kinetic_temperature([20, 25, 30], 83.144), 3)
/// 25.858
#[pyfunction]
#[pyo3(signature = (temperature_c, activation_energy_kj_mol, weights=None))]
fn mean_kinetic_temperature(
    py: Python<'_>,
    temperature_c: &Any<'_>,
    activation_energy_kj_mol: &Any<'_>,
    weights: Option<&Any<'_>>,
) -> PyResult<f64> {
    const NAME: &str = "mean_kinetic_temperature";
    let temperatures = column(NAME, "temperature_c", temperature_c)?;
    let energy = number(NAME, "activation_energy_kj_mol", activation_energy_kj_mol)?;
    let weights = weights.map(|weights| column(NAME, "weights", weights)).transpose()?;
    let made = temper::mean_kinetic_temperature(&temperatures, weights.as_deref(), energy);
    made.or_raise(py).map(Temperature::celsius)
}

/// Adds the functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(equivalent_time_activation, module)?)?;
    module.add_function(wrap_pyfunction!(mean_kinetic_temperature, module)?)
}

//! What a hold does, over arrays: the parameter, its equivalents, the activation energy it implies.

use std::sync::Arc;

use afterquench::kernel::ArrayModel;
use afterquench::temper::{
    EquivalentTemperature, EquivalentTime, ImpliedActivationEnergy, TemperParameter, TwoHourEquivalent,
};
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;

use super::declare::{Any, array_function, c_is_missing, wrapped};
use crate::ufunc::{Model, Options, raises};

wrapped!(parameter_model, TemperParameter, "temper_parameter");
wrapped!(time_model, EquivalentTime, "equivalent_time");
wrapped!(temperature_model, EquivalentTemperature, "equivalent_temperature");
wrapped!(two_hour_model, TwoHourEquivalent, "two_hour_equivalent");
wrapped!(activation_model, ImpliedActivationEnergy, "implied_activation_energy");

array_function! {
    /// The tempering parameter M = T (C + log10 t) of a hold.
    ///
    /// Parameters
    /// ----------
    /// temperature_c : array_like
    ///     Temperature of the hold in °C, above absolute zero.
    /// time_h : array_like
    ///     Length of the hold in hours, positive.
    /// c : array_like
    ///     The steel's constant C for times in hours; required.
    /// out_of_range : {"raise", "nan"}
    ///     What to do with an element outside the model's range.
    /// out, where
    ///     As of any NumPy ufunc; where= without out= fills with NaN.
    ///
    /// Returns
    /// -------
    /// float or array_like
    ///     M in kelvin (times log10 of hours), in the shape the arguments broadcast to; a float for plain numbers.
    ///
    /// Raises
    /// ------
    /// InvalidValueError
    ///     For infinite values, a time that is not positive, a temperature at or below absolute zero.
    /// MissingArgumentError
    ///     Without c.
    ///
    /// Notes
    /// -----
    /// Hollomon and Jaffe, Trans. AIME 162 (1945) 223. NaN in gives NaN out. Say C and the time unit with every M.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> round(aq.temper_parameter(200, 2, c=20), 1)
    /// 9605.4
    temper_parameter(temperature_c, time_h; c), parameter_model, "K", "tempering parameter"
}

array_function! {
    /// The hours at a new temperature that do what a hold does.
    ///
    /// Parameters
    /// ----------
    /// temperature_c, time_h : array_like
    ///     The hold: °C, above absolute zero; hours, positive.
    /// new_temperature_c : array_like
    ///     The new temperature in °C.
    /// c : array_like
    ///     The steel's constant C for times in hours; required.
    /// out_of_range : {"raise", "nan"}
    ///     What to do with an element outside the model's range.
    /// out, where
    ///     As of any NumPy ufunc; where= without out= fills with NaN.
    ///
    /// Returns
    /// -------
    /// float or array_like
    ///     Hours; a float for plain numbers.
    ///
    /// Raises
    /// ------
    /// InvalidValueError
    ///     For infinite values, a time that is not positive, a temperature at or below absolute zero.
    /// MissingArgumentError
    ///     Without c.
    ///
    /// Notes
    /// -----
    /// t2 = 10^(T1 (C + log10 t1) / T2 - C), Hollomon and Jaffe (1945). C is uncertain, so for a real steel ask
    /// `equivalent_time_estimate`, which gives the band.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> round(aq.equivalent_time(250, 2, 210, c=15), 1)
    /// 37.0
    equivalent_time(temperature_c, time_h, new_temperature_c; c), time_model, "h", "equivalent time"
}

array_function! {
    /// The temperature at which a new time does what a hold does.
    ///
    /// Parameters
    /// ----------
    /// temperature_c, time_h : array_like
    ///     The hold: °C, above absolute zero; hours, positive.
    /// new_time_h : array_like
    ///     The new time in hours, positive.
    /// c : array_like
    ///     The steel's constant C for times in hours; required.
    /// out_of_range : {"raise", "nan"}
    ///     What to do with an element outside the model's range.
    /// out, where
    ///     As of any NumPy ufunc; where= without out= fills with NaN.
    ///
    /// Returns
    /// -------
    /// float or array_like
    ///     °C; a float for plain numbers.
    ///
    /// Raises
    /// ------
    /// InvalidValueError
    ///     For infinite values, times that are not positive, a temperature at or below absolute zero.
    /// NoAnswerError
    ///     Where C + log10 of the new time is not positive.
    /// MissingArgumentError
    ///     Without c.
    ///
    /// Notes
    /// -----
    /// T2 = T1 (C + log10 t1) / (C + log10 t2), Hollomon and Jaffe (1945).
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> round(aq.equivalent_temperature(200, 2, 1, c=20), 1)
    /// 207.1
    equivalent_temperature(temperature_c, time_h, new_time_h; c), temperature_model, "degC", "equivalent temperature"
}

array_function! {
    /// The flat temperature that does in two hours what a hold does: the common currency of every answer here.
    ///
    /// Parameters
    /// ----------
    /// temperature_c, time_h : array_like
    ///     The hold: °C, above absolute zero; hours, positive.
    /// c : array_like
    ///     The steel's constant C for times in hours; required.
    /// out_of_range : {"raise", "nan"}
    ///     What to do with an element outside the model's range.
    /// out, where
    ///     As of any NumPy ufunc; where= without out= fills with NaN.
    ///
    /// Returns
    /// -------
    /// float or array_like
    ///     °C; a float for plain numbers.
    ///
    /// Raises
    /// ------
    /// InvalidValueError
    ///     For infinite values, a time that is not positive, a temperature at or below absolute zero.
    /// MissingArgumentError
    ///     Without c.
    ///
    /// Notes
    /// -----
    /// `equivalent_temperature` with a new time of two hours; Hollomon and Jaffe (1945).
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> round(aq.two_hour_equivalent(200, 4, c=20), 1)
    /// 207.0
    two_hour_equivalent(temperature_c, time_h; c), two_hour_model, "degC", "two-hour equivalent temperature"
}

array_function! {
    /// The activation energy that the parameter of a hold implies.
    ///
    /// Parameters
    /// ----------
    /// temperature_c, time_h : array_like
    ///     The hold: °C, above absolute zero; hours, positive.
    /// c : array_like
    ///     The steel's constant C for times in hours; required.
    /// out_of_range : {"raise", "nan"}
    ///     What to do with an element outside the model's range.
    /// out, where
    ///     As of any NumPy ufunc; where= without out= fills with NaN.
    ///
    /// Returns
    /// -------
    /// float or array_like
    ///     kJ/mol; a float for plain numbers.
    ///
    /// Raises
    /// ------
    /// InvalidValueError
    ///     As `temper_parameter`.
    /// MissingArgumentError
    ///     Without c.
    ///
    /// Notes
    /// -----
    /// Q = R ln 10 M: the slope of ln t on 1/T at constant M. It grows with M, so it is no one mechanism's energy.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> round(aq.implied_activation_energy(200, 2, c=20), 1)
    /// 183.9
    implied_activation_energy(temperature_c, time_h; c), activation_model, "kJ/mol", "implied activation energy"
}

/// Adds the functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(temper_parameter, module)?)?;
    module.add_function(wrap_pyfunction!(equivalent_time, module)?)?;
    module.add_function(wrap_pyfunction!(equivalent_temperature, module)?)?;
    module.add_function(wrap_pyfunction!(two_hour_equivalent, module)?)?;
    module.add_function(wrap_pyfunction!(implied_activation_energy, module)?)
}

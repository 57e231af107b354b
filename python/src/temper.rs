//! Bindings of the `temper` room: the array functions and their twins.

use std::sync::Arc;

use afterquench::kernel::ArrayModel;
use afterquench::temper::{
    self, EquivalentTemperature, EquivalentTime, ImpliedActivationEnergy, TemperParameter, TwoHourEquivalent,
};
use afterquench::{Error, HoldTime, SteelConstant, Temperature};
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;

use crate::arguments::{belief, column, may_extrapolate, measured, number};
use crate::errors::{OrRaise, raised};
use crate::estimate::Estimate;
use crate::ufunc::{Model, Options, raises};

/// Declares a getter for a model that is wrapped at its first use.
macro_rules! wrapped {
    ($getter:ident, $model:expr, $name:literal) => {
        fn $getter(py: Python<'_>) -> PyResult<&Py<Model>> {
            static MODEL: PyOnceLock<Py<Model>> = PyOnceLock::new();
            MODEL.get_or_try_init(py, || {
                let model: Arc<dyn ArrayModel> = Arc::new($model);
                Py::new(py, Model::new(py, model, $name)?)
            })
        }
    };
}

wrapped!(parameter_model, TemperParameter, "temper_parameter");
wrapped!(time_model, EquivalentTime, "equivalent_time");
wrapped!(temperature_model, EquivalentTemperature, "equivalent_temperature");
wrapped!(two_hour_model, TwoHourEquivalent, "two_hour_equivalent");
wrapped!(activation_model, ImpliedActivationEnergy, "implied_activation_energy");
wrapped!(carbon_model, temper::ConstantFromCarbon, "constant_from_carbon");
wrapped!(seconds_model, temper::ConstantFromSeconds, "constant_from_seconds");
wrapped!(hours_model, temper::ConstantToSeconds, "constant_to_seconds");

type Any<'py> = Bound<'py, PyAny>;

/// The error for a call without C.
pub fn c_is_missing(py: Python<'_>, function: &'static str) -> PyErr {
    raised(
        py,
        &Error::MissingArgument {
            function: function.into(),
            argument: "c".into(),
            why: "C is a property of the steel and can't be guessed".into(),
            hint: "Give c=constant_from_carbon(carbon_percent) for a plain carbon steel, a number of your own, or 20, \
                   a convention; for its spread use the _estimate twin, which takes the range 15 to 20"
                .into(),
        },
    )
}

/// Declares an array function of the room: its signature, its model, its result.
macro_rules! array_function {
    ($(#[$doc:meta])* $name:ident($($argument:ident),*; c), $model:ident, $unit:literal, $long:literal) => {
        $(#[$doc])*
        #[pyfunction]
        #[pyo3(signature = ($($argument,)* *, c=None, out_of_range=None, out=None, r#where=None))]
        fn $name<'py>(
            py: Python<'py>,
            $($argument: &Any<'py>,)*
            c: Option<&Any<'py>>,
            out_of_range: Option<&str>,
            out: Option<&Any<'py>>,
            r#where: Option<&Any<'py>>,
        ) -> PyResult<Any<'py>> {
            let c = c.ok_or_else(|| c_is_missing(py, stringify!($name)))?;
            let raises = raises(py, stringify!($name), out_of_range)?;
            let options = Options { raises, out, mask: r#where, unit: $unit, long_name: $long };
            Model::call($model(py)?, py, &[$($argument,)* c], &options)
        }
    };
    ($(#[$doc:meta])* $name:ident($argument:ident), $model:ident, $unit:literal, $long:literal) => {
        $(#[$doc])*
        #[pyfunction]
        #[pyo3(signature = ($argument, *, out_of_range=None, out=None, r#where=None))]
        fn $name<'py>(
            py: Python<'py>,
            $argument: &Any<'py>,
            out_of_range: Option<&str>,
            out: Option<&Any<'py>>,
            r#where: Option<&Any<'py>>,
        ) -> PyResult<Any<'py>> {
            let raises = raises(py, stringify!($name), out_of_range)?;
            let options = Options { raises, out, mask: r#where, unit: $unit, long_name: $long };
            Model::call($model(py)?, py, &[$argument], &options)
        }
    };
}

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

array_function! {
    /// C (for hours) of a plain carbon steel from its carbon content.
    ///
    /// Parameters
    /// ----------
    /// carbon_percent : array_like
    ///     Carbon in weight per cent, 0.15 to 1.2.
    /// out_of_range : {"raise", "nan"}
    ///     What to do with an element outside that range.
    /// out, where
    ///     As of any NumPy ufunc; where= without out= fills with NaN.
    ///
    /// Returns
    /// -------
    /// float or array_like
    ///     C for times in hours; a float for plain numbers.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError
    ///     Outside 0.15 to 1.2 % carbon.
    ///
    /// Notes
    /// -----
    /// C = 21.3 - 5.8 %C after Hollomon and Jaffe (1945), from memory of reviews; 17.7 - 5.8 %C is the same for seconds.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> round(aq.constant_from_carbon(0.95), 2)
    /// 15.79
    constant_from_carbon(carbon_percent), carbon_model, "", "C for hours"
}

array_function! {
    /// C for hours from C for seconds: C_h = C_s + log10 3600.
    ///
    /// Parameters
    /// ----------
    /// c_s : array_like
    ///     C for times in seconds.
    /// out_of_range : {"raise", "nan"}
    ///     Every finite value is in range.
    /// out, where
    ///     As of any NumPy ufunc; where= without out= fills with NaN.
    ///
    /// Returns
    /// -------
    /// float or array_like
    ///     C for times in hours; a float for plain numbers.
    ///
    /// Raises
    /// ------
    /// InvalidValueError
    ///     For infinite values.
    ///
    /// Notes
    /// -----
    /// By definition: M is the same whatever the unit of t.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> round(aq.constant_from_seconds(16.4437), 4)
    /// 20.0
    constant_from_seconds(c_s), seconds_model, "", "C for hours"
}

array_function! {
    /// C for seconds from C for hours: the inverse of `constant_from_seconds`.
    ///
    /// Parameters
    /// ----------
    /// c : array_like
    ///     C for times in hours.
    /// out_of_range : {"raise", "nan"}
    ///     Every finite value is in range.
    /// out, where
    ///     As of any NumPy ufunc; where= without out= fills with NaN.
    ///
    /// Returns
    /// -------
    /// float or array_like
    ///     C for times in seconds; a float for plain numbers.
    ///
    /// Raises
    /// ------
    /// InvalidValueError
    ///     For infinite values.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> round(aq.constant_to_seconds(20), 4)
    /// 16.4437
    constant_to_seconds(c), hours_model, "", "C for seconds"
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
    let on = may_extrapolate(py, NAME, out_of_range)?;
    let function = |celsius, hours, c| {
        temper::temper_parameter(
            Temperature::from_celsius(celsius),
            HoldTime::from_hours(hours),
            SteelConstant::for_hours(c),
        )
    };
    let temperature = measured(NAME, "temperature_c", temperature_c, on)?;
    let time = measured(NAME, "time_h", time_h, on)?;
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
    let on = may_extrapolate(py, NAME, out_of_range)?;
    let temperature = measured(NAME, "temperature_c", temperature_c, on)?;
    let time = measured(NAME, "time_h", time_h, on)?;
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
    let on = may_extrapolate(py, NAME, out_of_range)?;
    let temperature = measured(NAME, "temperature_c", temperature_c, on)?;
    let time = measured(NAME, "time_h", time_h, on)?;
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
    let on = may_extrapolate(py, NAME, out_of_range)?;
    let temperature = measured(NAME, "temperature_c", temperature_c, on)?;
    let time = measured(NAME, "time_h", time_h, on)?;
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
    let on = may_extrapolate(py, NAME, out_of_range)?;
    let function = |celsius, hours, c| {
        temper::implied_activation_energy(
            Temperature::from_celsius(celsius),
            HoldTime::from_hours(hours),
            SteelConstant::for_hours(c),
        )
    };
    let temperature = measured(NAME, "temperature_c", temperature_c, on)?;
    let time = measured(NAME, "time_h", time_h, on)?;
    temper::over_belief(function, temperature, time, belief(NAME, c)?, "kJ/mol").or_raise(py).map(Estimate::from)
}

/// C (for hours) of a plain carbon steel with its scatter.
///
/// Parameters
/// ----------
/// carbon_percent : float or Estimate
///     Carbon in weight per cent, 0.15 to 1.2.
/// out_of_range : {"raise", "extrapolate"}
///     "extrapolate" continues the straight line, counts the whole change as uncertainty, and marks the Estimate.
///
/// Returns
/// -------
/// Estimate
///     C for times in hours.
///
/// Raises
/// ------
/// OutOfRangeError
///     Outside 0.15 to 1.2 % carbon.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.constant_from_carbon_estimate(0.95).u
/// 1.0
#[pyfunction]
#[pyo3(signature = (carbon_percent, *, out_of_range=None))]
fn constant_from_carbon_estimate(
    py: Python<'_>,
    carbon_percent: &Any<'_>,
    out_of_range: Option<&str>,
) -> PyResult<Estimate> {
    const NAME: &str = "constant_from_carbon_estimate";
    let on = may_extrapolate(py, NAME, out_of_range)?;
    let carbon = measured(NAME, "carbon_percent", carbon_percent, on)?;
    temper::constant_from_carbon_estimate(carbon, on).or_raise(py).map(Estimate::from)
}

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

/// Adds the room to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(temper_parameter, module)?)?;
    module.add_function(wrap_pyfunction!(equivalent_time, module)?)?;
    module.add_function(wrap_pyfunction!(equivalent_temperature, module)?)?;
    module.add_function(wrap_pyfunction!(two_hour_equivalent, module)?)?;
    module.add_function(wrap_pyfunction!(implied_activation_energy, module)?)?;
    module.add_function(wrap_pyfunction!(constant_from_carbon, module)?)?;
    module.add_function(wrap_pyfunction!(constant_from_seconds, module)?)?;
    module.add_function(wrap_pyfunction!(constant_to_seconds, module)?)?;
    module.add_function(wrap_pyfunction!(temper_parameter_estimate, module)?)?;
    module.add_function(wrap_pyfunction!(equivalent_time_estimate, module)?)?;
    module.add_function(wrap_pyfunction!(equivalent_temperature_estimate, module)?)?;
    module.add_function(wrap_pyfunction!(two_hour_equivalent_estimate, module)?)?;
    module.add_function(wrap_pyfunction!(implied_activation_energy_estimate, module)?)?;
    module.add_function(wrap_pyfunction!(constant_from_carbon_estimate, module)?)?;
    module.add_function(wrap_pyfunction!(mean_kinetic_temperature, module)?)?;
    module.add_function(wrap_pyfunction!(equivalent_time_activation, module)?)
}

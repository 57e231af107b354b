//! The questions that everything with a hardness after a temper answers, whatever it is in Python.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};

use afterquench::curve::{
    BELOW_THE_SCALE, EstimateOptions, Extra, HardnessAfter, HardnessAfterTemper, HoldSpread, SCALE_FROM_HRC, Side,
    Slope, THROUGH_THE_HUMP, TemperatureFor, hardness_after_estimate,
};
use afterquench::kernel::ArrayModel;
use afterquench::{HoldTime, Temperature};
use numpy::ndarray::ArrayViewD;
use numpy::{AllowTypeChange, PyArrayDyn, PyArrayLikeDyn, PyArrayMethods};
use pyo3::prelude::*;
use pyo3::types::PyFloat;

use super::Root;
use crate::arguments::{as_quenched, belief, may_extrapolate, measured, number};
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::ufunc::{Model, Options, raises};

type Any<'py> = Bound<'py, PyAny>;

/// Which array model of a curve is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Call {
    Hardness(Extra),
    Temperature(Extra, Option<Side>),
    Slope(bool),
}

/// A curve with the ufuncs made for it so far.
pub struct Asked {
    curve: Arc<dyn HardnessAfterTemper>,
    models: Mutex<HashMap<Call, Py<Model>>>,
}

impl Asked {
    /// Nothing asked yet.
    pub fn new(curve: Arc<dyn HardnessAfterTemper>) -> Self {
        Self { curve, models: Mutex::default() }
    }

    fn model(&self, py: Python<'_>, call: Call) -> PyResult<Py<Model>> {
        let known =
            self.models.lock().unwrap_or_else(PoisonError::into_inner).get(&call).map(|model| model.clone_ref(py));
        if let Some(known) = known {
            return Ok(known);
        }
        let curve: Arc<dyn HardnessAfterTemper> = Arc::clone(&self.curve);
        let (model, name): (Arc<dyn ArrayModel>, _) = match call {
            Call::Hardness(extra) => (Arc::new(HardnessAfter::new(curve, extra)), "hardness_after"),
            Call::Temperature(extra, branch) => {
                (Arc::new(TemperatureFor::new(curve, extra, branch)), "temperature_for")
            }
            Call::Slope(c) => (Arc::new(Slope::new(curve, c)), "slope"),
        };
        let made = Py::new(py, Model::new(py, model, name)?)?;
        self.models.lock().unwrap_or_else(PoisonError::into_inner).insert(call, made.clone_ref(py));
        Ok(made)
    }

    /// Warns where time was traded for temperature through a secondary hump.
    fn warn_of_hump(&self, py: Python<'_>, given: [&Any<'_>; 2], c: Option<&Any<'_>>) -> PyResult<()> {
        if !self.curve.has_secondary_hardening() {
            return Ok(());
        }
        let flat = |given: &Any<'_>| -> Option<Vec<f64>> {
            let array = given.extract::<PyArrayLikeDyn<'_, f64, AllowTypeChange>>().ok()?;
            Some(array.as_array().iter().copied().collect())
        };
        let (Some(temperatures), Some(times)) = (flat(given[0]), flat(given[1])) else { return Ok(()) };
        let c = c.and_then(|c| c.extract::<f64>().ok());
        // Broadcasting is left to the ufunc: here every time is held against every temperature's extremes.
        let ends = |values: &[f64]| {
            let low = values.iter().copied().fold(f64::INFINITY, f64::min);
            let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            [low, high]
        };
        let through = times.len() == temperatures.len()
            && times.iter().zip(&temperatures).any(|(&time, &celsius)| self.goes_through(celsius, time, c))
            || times.len() != temperatures.len()
                && ends(&times)
                    .iter()
                    .any(|&time| ends(&temperatures).iter().any(|&at| self.goes_through(at, time, c)));
        if through {
            self.warn(py, THROUGH_THE_HUMP)?;
        }
        Ok(())
    }

    /// Warns once where a call gave hardness below the scale. Where it did not, a plain number has cost a comparison.
    #[inline]
    fn warn_below_the_scale(&self, py: Python<'_>, made: &Any<'_>, mask: Option<&Any<'_>>) -> PyResult<()> {
        let Ok(one) = made.cast_exact::<PyFloat>() else { return self.warn_of_low_results(py, made, mask) };
        let hrc = one.value();
        if hrc < SCALE_FROM_HRC { self.warn_of_low(py, hrc) } else { Ok(()) }
    }

    #[cold]
    fn warn_of_low(&self, py: Python<'_>, hrc: f64) -> PyResult<()> {
        self.warn(py, &format!("{hrc:.1} HRC lies {BELOW_THE_SCALE}"))
    }

    #[inline(never)]
    fn warn_of_low_results(&self, py: Python<'_>, made: &Any<'_>, mask: Option<&Any<'_>>) -> PyResult<()> {
        if let (Ok(plain), None) = (made.cast_exact::<PyArrayDyn<f64>>(), mask) {
            return self.warn_of_low_among(py, plain.readonly().as_array());
        }
        // What is computed later is not known yet.
        if made.hasattr("__dask_graph__")? && !made.call_method0("__dask_graph__")?.is_none() {
            return Ok(());
        }
        let made = match mask {
            // What a mask leaves out was not asked for, whatever stands there.
            Some(mask) => py.import("numpy")?.call_method1("where", (mask, made, f64::NAN))?,
            None => made.clone(),
        };
        match made.extract::<PyArrayLikeDyn<'_, f64, AllowTypeChange>>() {
            Ok(values) => self.warn_of_low_among(py, values.as_array()),
            Err(_) => Ok(()),
        }
    }

    fn warn_of_low_among(&self, py: Python<'_>, results: ArrayViewD<'_, f64>) -> PyResult<()> {
        let below = results.iter().filter(|hrc| **hrc < SCALE_FROM_HRC).count();
        if below == 0 {
            return Ok(());
        }
        self.warn(py, &format!("{below} of {} results lie {BELOW_THE_SCALE}", results.len()))
    }

    /// Warns in the line that called.
    #[cold]
    fn warn(&self, py: Python<'_>, text: &str) -> PyResult<()> {
        let category = py.import("afterquench.errors")?.getattr("AfterquenchWarning")?;
        let message = format!("{}: {text}", self.curve.name());
        py.import("warnings")?.call_method1("warn", (message, category, 1))?;
        Ok(())
    }

    fn goes_through(&self, celsius: f64, hours: f64, c: Option<f64>) -> bool {
        let (temperature, time) = (Temperature::from_celsius(celsius), HoldTime::from_hours(hours));
        self.curve.chosen_constant(time, c).is_ok_and(|c| self.curve.carried_through_hump(temperature, time, c))
    }

    /// Hardness after one hold.
    pub fn hardness_after<'py>(
        &self,
        py: Python<'py>,
        temperature_c: &Any<'py>,
        time_h: &Any<'py>,
        as_quenched_hrc: Option<&Any<'py>>,
        c: Option<&Any<'py>>,
        out_of_range: Option<&str>,
        out: Option<&Any<'py>>,
        r#where: Option<&Any<'py>>,
    ) -> PyResult<Any<'py>> {
        let options = Options {
            raises: raises(py, "hardness_after", out_of_range)?,
            out,
            mask: r#where,
            unit: "HRC",
            long_name: "hardness after temper",
        };
        let call = Call::Hardness(Extra { c: c.is_some(), as_quenched: as_quenched_hrc.is_some() });
        let arguments: Vec<&Any<'py>> =
            [Some(temperature_c), Some(time_h), c, as_quenched_hrc].into_iter().flatten().collect();
        let made = Model::call(&self.model(py, call)?, py, &arguments, &options)?;
        self.warn_of_hump(py, [temperature_c, time_h], c)?;
        self.warn_below_the_scale(py, &made, r#where)?;
        Ok(made)
    }

    /// Hardness after one hold with its uncertainty.
    pub fn hardness_after_estimate(
        &self,
        py: Python<'_>,
        temperature_c: &Any<'_>,
        time_h: &Any<'_>,
        as_quenched_hrc: Option<&Any<'_>>,
        c: Option<&Any<'_>>,
        u_curve: Option<f64>,
        u_batch: Option<f64>,
        position_delta_c: f64,
        sensor_delta_c: f64,
        controller_delta_c: f64,
        time_delta_min: f64,
        out_of_range: Option<&str>,
    ) -> PyResult<Estimate> {
        const NAME: &str = "hardness_after_estimate";
        let extrapolate = may_extrapolate(py, NAME, out_of_range)?;
        let temperature = measured(NAME, "temperature_c", temperature_c, extrapolate)?;
        let time = measured(NAME, "time_h", time_h, extrapolate)?;
        let own = |given: &Any<'_>, u: f64| given.is_instance_of::<Estimate>().then_some(u);
        let options = EstimateOptions {
            u_temperature: own(temperature_c, temperature.u),
            u_time: own(time_h, time.u),
            spread: HoldSpread { position_delta_c, sensor_delta_c, controller_delta_c, time_h: time_delta_min / 60.0 },
            constant: c.map(|_| belief(NAME, c)).transpose()?,
            u_level: u_curve,
            u_batch,
            as_quenched: as_quenched_hrc.map(|given| as_quenched(NAME, given, extrapolate)).transpose()?,
            extrapolate,
        };
        let at = Temperature::from_celsius(temperature.value);
        let mut made = hardness_after_estimate(self.curve.as_ref(), at, HoldTime::from_hours(time.value), &options)
            .or_raise(py)?;
        for given in [temperature_c, time_h] {
            if let Ok(estimate) = given.cast::<Estimate>() {
                made = made.assuming_all(&estimate.get().core);
            }
        }
        Ok(made.into())
    }

    /// The temperature that gives a hardness after a hold.
    pub fn temperature_for<'py>(
        &self,
        py: Python<'py>,
        hrc: &Any<'py>,
        time_h: &Any<'py>,
        as_quenched_hrc: Option<&Any<'py>>,
        branch: Option<&str>,
        c: Option<&Any<'py>>,
        out_of_range: Option<&str>,
        out: Option<&Any<'py>>,
        r#where: Option<&Any<'py>>,
    ) -> PyResult<Any<'py>> {
        let options = Options {
            raises: raises(py, "temperature_for", out_of_range)?,
            out,
            mask: r#where,
            unit: "degC",
            long_name: "tempering temperature",
        };
        let branch = branch.map(Side::named).transpose().or_raise(py)?;
        let extra = Extra { c: c.is_some(), as_quenched: as_quenched_hrc.is_some() };
        let arguments: Vec<&Any<'py>> = [Some(hrc), Some(time_h), c, as_quenched_hrc].into_iter().flatten().collect();
        Model::call(&self.model(py, Call::Temperature(extra, branch))?, py, &arguments, &options)
    }

    /// Every temperature that gives a hardness after a hold.
    pub fn temperatures_for(
        &self,
        py: Python<'_>,
        hrc: &Any<'_>,
        time_h: &Any<'_>,
        as_quenched_hrc: Option<&Any<'_>>,
        c: Option<&Any<'_>>,
    ) -> PyResult<Vec<Root>> {
        const NAME: &str = "temperatures_for";
        let time = HoldTime::from_hours(number(NAME, "time_h", time_h)?);
        let optional = |name, given: Option<&Any<'_>>| given.map(|given| number(NAME, name, given)).transpose();
        let (c, as_quenched) = (optional("c", c)?, optional("as_quenched_hrc", as_quenched_hrc)?);
        let roots = self.curve.temperatures_for(number(NAME, "hrc", hrc)?, time, c, as_quenched).or_raise(py)?;
        Ok(roots.into_iter().map(|core| Root { core }).collect())
    }

    /// How fast hardness changes with temperature.
    pub fn slope<'py>(
        &self,
        py: Python<'py>,
        temperature_c: &Any<'py>,
        time_h: &Any<'py>,
        c: Option<&Any<'py>>,
        out_of_range: Option<&str>,
        out: Option<&Any<'py>>,
        r#where: Option<&Any<'py>>,
    ) -> PyResult<Any<'py>> {
        let options = Options {
            raises: raises(py, "slope", out_of_range)?,
            out,
            mask: r#where,
            unit: "HRC/degC",
            long_name: "slope of the tempering curve",
        };
        let arguments: Vec<&Any<'py>> = [Some(temperature_c), Some(time_h), c].into_iter().flatten().collect();
        Model::call(&self.model(py, Call::Slope(c.is_some()))?, py, &arguments, &options)
    }
}

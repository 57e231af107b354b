//! Steels known by their composition: hardness after a temper from the composition model.

mod functions;
mod given;

use std::sync::Arc;

use afterquench::curve::HardnessAfterTemper;
use afterquench::kernel::ArrayModel;
use afterquench::steel::{CompositionSteel as Core, UncertaintyFromComposition};
use numpy::{PyArray1, PyArray2};
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;
use pyo3::types::PyDict;

use crate::arguments::belief_object;
use crate::curve::{Asked, Root, TemperingCurve};
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::pickle::{Reduced, reduce, restore};
use crate::ufunc::{Model, Options, raises};
use given::{amounts, with};

pub use given::{borrowed, own_readings, percents};

type Any<'py> = Bound<'py, PyAny>;

/// A steel known by its composition: hardness after a temper with an interval, narrowed by whatever was measured.
///
/// A model fitted to measured tempers of plain carbon and low-alloy steels (`cite("steel.tempered")`); 0.2 to 1.2 % C,
/// no secondary hardening. `plan` takes it like a steel.
///
/// Parameters
/// ----------
/// composition : dict
///     Element symbol to weight per cent; carbon is needed, iron may be left out, what is left out is not there.
/// name : str, optional
///     For messages and sheets.
/// as_quenched_hrc : float or Estimate, optional
///     Hardness of the part before the temper, HRC: an input of the model. An Estimate's u widens every answer by what the
///     reading moves it.
/// readings : sequence of (temperature_c, time_h, hrc), optional
///     As of `given`.
///
/// Raises
/// ------
/// InvalidValueError
///     For negative amounts, fractions instead of per cent, sums over 100.
/// MissingArgumentError
///     Without carbon.
/// UnknownNameError
///     For an element that the model does not know.
/// RefusedError
///     For stainless, high-speed, hot-work, maraging and austenitic steel.
/// OutOfRangeError
///     For amounts too far from the measured steels.
/// NoAnswerError
///     For an as-quenched reading that says the hardening failed.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> steel = aq.CompositionSteel({"C": 0.80, "Mn": 0.45, "Si": 0.30, "Cr": 0.55, "V": 0.20})
/// >>> hrc, u = steel.hardness_after(200, 2), steel.u_hardness_after(200, 2)
/// >>> 57 < hrc < 63, 1 < u < 3
/// (True, True)
/// >>> steel.given([(175, 2, 61.6), (225, 2, 59.4)]).u_hardness_after(200, 2) < u / 2
/// True
#[pyclass(module = "afterquench._native", frozen)]
pub struct CompositionSteel {
    core: Arc<Core>,
    asked: Asked,
    uncertainty: PyOnceLock<Py<Model>>,
}

impl From<Core> for CompositionSteel {
    fn from(core: Core) -> Self {
        let core = Arc::new(core);
        let curve: Arc<dyn HardnessAfterTemper> = Arc::<Core>::clone(&core);
        Self { core, asked: Asked::new(curve), uncertainty: PyOnceLock::new() }
    }
}

impl CompositionSteel {
    /// The core's curve.
    pub fn curve(&self) -> Arc<dyn HardnessAfterTemper> {
        Arc::<Core>::clone(&self.core)
    }

    /// The core's steel.
    pub fn core(&self) -> &Core {
        &self.core
    }

    fn uncertainty(&self, py: Python<'_>) -> PyResult<&Py<Model>> {
        self.uncertainty.get_or_try_init(py, || {
            let model: Arc<dyn ArrayModel> = Arc::new(UncertaintyFromComposition(Arc::clone(&self.core)));
            Py::new(py, Model::new(py, model, "u_hardness_after")?)
        })
    }
}

#[pymethods]
impl CompositionSteel {
    #[new]
    #[pyo3(signature = (composition, *, name=None, as_quenched_hrc=None, readings=None))]
    fn new(
        py: Python<'_>,
        composition: &Any<'_>,
        name: Option<String>,
        as_quenched_hrc: Option<&Any<'_>>,
        readings: Option<&Any<'_>>,
    ) -> PyResult<Self> {
        const NAME: &str = "CompositionSteel";
        let mut core = Core::from_amounts(amounts(NAME, composition)?).or_raise(py)?;
        if let Some(name) = name {
            core = core.named(name);
        }
        with(NAME, core, as_quenched_hrc, readings, false).map(Self::from)
    }

    /// What it is called.
    #[getter]
    fn name(&self) -> &str {
        self.core.name()
    }

    /// Element to weight per cent; what is not there is left out.
    #[getter]
    fn composition<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let made = PyDict::new(py);
        for (symbol, percent) in self.core.amounts().present() {
            made.set_item(symbol, percent)?;
        }
        Ok(made)
    }

    /// The as-quenched hardness the carbon lets expect, HRC.
    #[getter]
    fn as_quenched_hrc(&self) -> Estimate {
        let expected = self.core.expected_as_quenched();
        afterquench::Estimate::new(expected.hrc, "HRC").with("expected", expected.u).into()
    }

    /// The readings it was given, one a row: °C, hours, HRC.
    #[getter]
    fn readings<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyArray2<f64>>> {
        let rows: Vec<Vec<f64>> = self
            .core
            .readings()
            .iter()
            .map(|reading| vec![reading.temperature.celsius(), reading.time.hours(), reading.hrc])
            .collect();
        if rows.is_empty() {
            return Ok(PyArray2::zeros(py, [0, 3], false));
        }
        PyArray2::from_vec2(py, &rows).map_err(|error| pyo3::exceptions::PyValueError::new_err(error.to_string()))
    }

    /// Distance to the nearest measured steel; from 2 on the interval is widened by judgement.
    #[getter]
    fn distance(&self) -> f64 {
        self.core.distance()
    }

    /// What must be said with every answer.
    #[getter]
    fn notes(&self) -> Vec<String> {
        self.core.notes().iter().map(ToString::to_string).collect()
    }

    /// What the standard uncertainty is multiplied by for 68 % and for 95 %, as steels left out of the fit ask for.
    #[getter]
    fn interval_factors(&self) -> (f64, f64) {
        let factors = self.core.interval_factors();
        (factors.k68, factors.k95)
    }

    /// The steel's C for hours: an Estimate.
    #[getter]
    fn c<'py>(&self, py: Python<'py>) -> PyResult<Option<Any<'py>>> {
        self.core.constant().map(|belief| belief_object(py, belief)).transpose()
    }

    /// The hold at which another C makes no difference, hours.
    #[getter]
    fn time_h(&self) -> f64 {
        self.core.reference_hold().hours()
    }

    /// The coolest and hottest temper covered, °C.
    #[getter]
    fn range_c(&self) -> (f64, f64) {
        let (low, high) = self.core.range_with(self.core.reference_hold(), self.core.c());
        (low.celsius(), high.celsius())
    }

    /// The temperatures of the readings it was given, °C.
    #[getter]
    fn temperature_c<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        PyArray1::from_iter(py, self.core.readings().iter().map(|reading| reading.temperature.celsius()))
    }

    /// The hardness of the readings it was given, HRC.
    #[getter]
    fn hrc<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        PyArray1::from_iter(py, self.core.readings().iter().map(|reading| reading.hrc))
    }

    /// Where the model comes from, and the table it was given.
    #[getter]
    fn sources(&self) -> Vec<String> {
        self.core.sources().to_vec()
    }

    /// The steel after readings of it, or after a table of its grade: the exact posterior, whatever the order.
    ///
    /// Parameters
    /// ----------
    /// readings : sequence of (temperature_c, time_h, hrc), or with a standard uncertainty behind; frame or dict; or TemperingCurve
    ///     Readings are of the bar itself, each the mean of its indentations. A frame or dict has the columns
    ///     temperature_c, time_h, hrc and perhaps u. A TemperingCurve is a table of the grade: of another heat, with an error
    ///     its points share; a hold that was not printed makes it count for less.
    ///
    /// Returns
    /// -------
    /// CompositionSteel
    ///
    /// Raises
    /// ------
    /// OutOfRangeError, InvalidValueError, ArgumentTypeError
    ///     For readings that are none, and outside 20 to 70 HRC.
    /// RefusedError
    ///     For a table with secondary hardening, a second table, more than 500 readings, and for readings that no bar of this
    ///     steel would give: chi-square of what they lie off the prediction before them is more than sixteen times their number
    ///     and has a chance below one in a million.
    ///
    /// Notes
    /// -----
    /// Readings whose chi-square is beyond its 95 % point multiply every uncertainty by Birge's ratio, the root of chi-square
    /// over their number; .notes and every estimate say so and name the reading that stands out.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> steel = aq.CompositionSteel({"C": 0.95, "Mn": 0.4})
    /// >>> softer = steel.given([(200, 2, steel.hardness_after(200, 2) - 2)])
    /// >>> softer.hardness_after(250, 2) < steel.hardness_after(250, 2)
    /// True
    fn given(&self, readings: &Any<'_>) -> PyResult<Self> {
        let py = readings.py();
        if let Ok(table) = readings.cast::<TemperingCurve>() {
            return self.core.given_table(&table.get().core).or_raise(py).map(Self::from);
        }
        self.core.given(&own_readings("given", readings)?).or_raise(py).map(Self::from)
    }

    /// Hardness after one hold, HRC; see `TemperingCurve.hardness_after`.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError
    ///     Outside 100 to 705 °C or 10 min to 32 h.
    /// NoAnswerError
    ///     For an as-quenched reading that says the hardening failed.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> aq.CompositionSteel({"C": 0.95, "Mn": 0.4}).hardness_after([150, 250], 2).shape
    /// (2,)
    #[pyo3(signature = (temperature_c, time_h, as_quenched_hrc=None, *, c=None, out_of_range=None, out=None, r#where=None))]
    fn hardness_after<'py>(
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
        self.asked.hardness_after(py, temperature_c, time_h, as_quenched_hrc, c, out_of_range, out, r#where)
    }

    /// One standard uncertainty of one further reading after a hold, HRC.
    ///
    /// Parameters
    /// ----------
    /// temperature_c, time_h : float or array-like
    ///     The metal's own hold: °C and hours.
    /// out_of_range, out, where
    ///     As of `hardness_after`.
    ///
    /// Returns
    /// -------
    /// float or array
    ///     HRC; `interval_factors` make intervals of it.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError
    ///     As `hardness_after`.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> aq.CompositionSteel({"C": 0.95, "Mn": 0.4}).u_hardness_after(200, 2) > 1
    /// True
    #[pyo3(signature = (temperature_c, time_h, *, out_of_range=None, out=None, r#where=None))]
    fn u_hardness_after<'py>(
        &self,
        py: Python<'py>,
        temperature_c: &Any<'py>,
        time_h: &Any<'py>,
        out_of_range: Option<&str>,
        out: Option<&Any<'py>>,
        r#where: Option<&Any<'py>>,
    ) -> PyResult<Any<'py>> {
        let options = Options {
            raises: raises(py, "u_hardness_after", out_of_range)?,
            out,
            mask: r#where,
            unit: "HRC",
            long_name: "standard uncertainty of the hardness after temper",
        };
        Model::call(self.uncertainty(py)?, py, &[temperature_c, time_h], &options)
    }

    /// Hardness after one hold with what oven, timer and C add; see `TemperingCurve.hardness_after_estimate`.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError, NoAnswerError, RefusedError
    ///     As there.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> made = aq.CompositionSteel({"C": 0.95, "Mn": 0.4}).hardness_after_estimate(200, 2)
    /// >>> any("two coupons" in sentence for sentence in made.assumptions)
    /// True
    #[pyo3(signature = (temperature_c, time_h, as_quenched_hrc=None, *, c=None, u_curve=None, u_batch=None, position_delta_c=5.0, sensor_delta_c=1.5, controller_delta_c=1.0, time_delta_min=3.0, out_of_range=None))]
    fn hardness_after_estimate(
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
        self.asked.hardness_after_estimate(
            py,
            temperature_c,
            time_h,
            as_quenched_hrc,
            c,
            u_curve,
            u_batch,
            position_delta_c,
            sensor_delta_c,
            controller_delta_c,
            time_delta_min,
            out_of_range,
        )
    }

    /// The temperature that gives a hardness after a hold, °C; see `TemperingCurve.temperature_for`.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError
    ///     For a hardness no temper of this steel is expected to give.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> 150 < aq.CompositionSteel({"C": 0.95, "Mn": 0.4}).temperature_for(60, 2) < 250
    /// True
    #[pyo3(signature = (hrc, time_h, as_quenched_hrc=None, branch=None, *, c=None, out_of_range=None, out=None, r#where=None))]
    fn temperature_for<'py>(
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
        self.asked.temperature_for(py, hrc, time_h, as_quenched_hrc, branch, c, out_of_range, out, r#where)
    }

    /// Every temperature that gives a hardness after a hold; see `TemperingCurve.temperatures_for`.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError
    ///     For a hardness no temper of this steel is expected to give.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> [root.side for root in aq.CompositionSteel({"C": 0.95, "Mn": 0.4}).temperatures_for(60, 2)]
    /// ['falling']
    #[pyo3(signature = (hrc, time_h, as_quenched_hrc=None, *, c=None))]
    fn temperatures_for(
        &self,
        py: Python<'_>,
        hrc: &Any<'_>,
        time_h: &Any<'_>,
        as_quenched_hrc: Option<&Any<'_>>,
        c: Option<&Any<'_>>,
    ) -> PyResult<Vec<Root>> {
        self.asked.temperatures_for(py, hrc, time_h, as_quenched_hrc, c)
    }

    /// How fast hardness changes with temperature, HRC/°C; see `TemperingCurve.slope`.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError
    ///     As `hardness_after`.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> aq.CompositionSteel({"C": 0.95, "Mn": 0.4}).slope(200, 2) < 0
    /// True
    #[pyo3(signature = (temperature_c, time_h, *, c=None, out_of_range=None, out=None, r#where=None))]
    fn slope<'py>(
        &self,
        py: Python<'py>,
        temperature_c: &Any<'py>,
        time_h: &Any<'py>,
        c: Option<&Any<'py>>,
        out_of_range: Option<&str>,
        out: Option<&Any<'py>>,
        r#where: Option<&Any<'py>>,
    ) -> PyResult<Any<'py>> {
        self.asked.slope(py, temperature_c, time_h, c, out_of_range, out, r#where)
    }

    fn __repr__(&self) -> String {
        let composition: Vec<String> =
            self.core.amounts().present().map(|(s, percent)| format!("{s} {percent}")).collect();
        let known = if self.core.is_unmeasured() { "nothing measured" } else { "with readings or a table" };
        format!("CompositionSteel {}: {}; {known}", self.core.name(), composition.join(", "))
    }

    fn __eq__(&self, other: &Self) -> bool {
        self.core == other.core
    }

    fn __hash__(&self) -> u64 {
        use std::hash::{DefaultHasher, Hash, Hasher};
        let mut hasher = DefaultHasher::new();
        self.core.name().hash(&mut hasher);
        self.core.amounts().by_place().iter().for_each(|percent| percent.to_bits().hash(&mut hasher));
        hasher.finish()
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_composition_steel", self.core.as_ref())
    }
}

/// Rebuilds a pickled composition steel.
#[pyfunction]
fn _restore_composition_steel(state: &[u8]) -> PyResult<CompositionSteel> {
    restore::<Core>(state).map(CompositionSteel::from)
}

/// Adds the file to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<CompositionSteel>()?;
    module.add_function(wrap_pyfunction!(_restore_composition_steel, module)?)?;
    functions::register(module)
}

//! Steels known by their composition: hardness after a temper from the composition model.

use std::sync::{Arc, Mutex, PoisonError};

use afterquench::curve::HardnessAfterTemper;
use afterquench::kernel::ArrayModel;
use afterquench::steel::{
    Amounts, CompositionSteel as Core, OwnReading, UncertaintyFromComposition,
    hardness_from_composition_estimate as one,
};
use afterquench::{HoldTime, Temperature};
use numpy::{PyArray1, PyArray2};
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;
use pyo3::types::{PyDict, PyString};

use crate::arguments::{argument_type, belief_object, column, may_extrapolate, measured};
use crate::curve::{Asked, Root, TemperingCurve};
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::pickle::{Reduced, reduce, restore};
use crate::ufunc::{Model, Options, raises};

type Any<'py> = Bound<'py, PyAny>;

/// Compositions kept ready between calls of `hardness_from_composition`.
const KEPT: usize = 8;

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
/// as_quenched_hrc : float, optional
///     Hardness of the part before the temper, HRC: an input of the model.
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

/// Reads a composition: anything with `items()`.
fn amounts(function: &str, given: &Any<'_>) -> PyResult<Amounts> {
    Amounts::read(&borrowed(&percents(function, given)?)?).or_raise(given.py())
}

/// Elements and their weight per cent, from anything with `items()`.
pub fn percents<'py>(function: &str, given: &Any<'py>) -> PyResult<Vec<(Bound<'py, PyString>, f64)>> {
    let py = given.py();
    let refuse = || {
        let why = "it is no mapping of element to weight per cent".to_owned();
        argument_type(py, function, "composition", why, "Write {\"C\": 0.95, \"Mn\": 0.4}".to_owned())
    };
    let mut pairs: Vec<(Bound<'_, PyString>, f64)> = Vec::new();
    if let Ok(plain) = given.cast_exact::<PyDict>() {
        for (symbol, percent) in plain.iter() {
            pairs.push((symbol.cast_into().map_err(|_| refuse())?, percent.extract().map_err(|_| refuse())?));
        }
    } else {
        let items = given.call_method0("items").map_err(|_| refuse())?;
        for item in items.try_iter().map_err(|_| refuse())? {
            pairs.push(item?.extract().map_err(|_| refuse())?);
        }
    }
    Ok(pairs)
}

/// The same as the core takes it.
pub fn borrowed<'a>(pairs: &'a [(Bound<'_, PyString>, f64)]) -> PyResult<Vec<(&'a str, f64)>> {
    pairs.iter().map(|(symbol, percent)| Ok((symbol.to_str()?, *percent))).collect()
}

/// Reads own readings: triples or quadruples, or a frame or dict of columns.
pub fn own_readings(function: &str, given: &Any<'_>) -> PyResult<Vec<OwnReading>> {
    let py = given.py();
    let refuse = |why: String| {
        let hint = "Write [(200, 2, 60.5)]: °C, hours, HRC; a fourth number is the reading's standard uncertainty";
        argument_type(py, function, "readings", why, hint.to_owned())
    };
    let made = |numbers: &[f64]| match *numbers {
        [celsius, hours, hrc] => Ok((celsius, hours, hrc, None)),
        [celsius, hours, hrc, u] => Ok((celsius, hours, hrc, Some(u))),
        _ => Err(refuse(format!("a reading has three or four numbers, not {}", numbers.len()))),
    };
    let mut rows = Vec::new();
    if given.hasattr("keys")? {
        let named = |name: &str| -> PyResult<Vec<f64>> {
            let values = given.get_item(name).map_err(|_| refuse(format!("it has no column {name}")))?;
            column(function, name, &values)
        };
        let (celsius, hours, hrc) = (named("temperature_c")?, named("time_h")?, named("hrc")?);
        let u = if given.contains("u")? { Some(named("u")?) } else { None };
        if celsius.len() != hours.len() || hours.len() != hrc.len() {
            return Err(refuse("its columns differ in length".to_owned()));
        }
        for (index, ((celsius, hours), hrc)) in celsius.into_iter().zip(hours).zip(hrc).enumerate() {
            rows.push((celsius, hours, hrc, u.as_ref().and_then(|u| u.get(index).copied())));
        }
    } else {
        let items = given.try_iter().map_err(|_| refuse("it is no list of readings".to_owned()))?;
        for item in items {
            let numbers: Vec<f64> = item?.extract().map_err(|_| refuse("a reading is no row of numbers".to_owned()))?;
            rows.push(made(&numbers)?);
        }
    }
    let reading = |(celsius, hours, hrc, u)| OwnReading {
        temperature: Temperature::from_celsius(celsius),
        time: HoldTime::from_hours(hours),
        hrc,
        u,
    };
    Ok(rows.into_iter().map(reading).collect())
}

fn with(
    function: &'static str,
    core: Core,
    as_quenched_hrc: Option<&Any<'_>>,
    readings: Option<&Any<'_>>,
    extrapolate: bool,
) -> PyResult<Core> {
    let mut core = core;
    if let Some(given) = as_quenched_hrc {
        let hrc = measured(function, "as_quenched_hrc", given, extrapolate)?.value;
        core = core.with_as_quenched(hrc).or_raise(given.py())?;
    }
    if let Some(given) = readings {
        core = core.given(&own_readings(function, given)?).or_raise(given.py())?;
    }
    Ok(core)
}

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
    ///     For readings that are none.
    /// RefusedError
    ///     For a table with secondary hardening, a second table, or more than 500 readings.
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
///     Hardness of the part before the temper, HRC.
/// readings : sequence of (temperature_c, time_h, hrc), optional
///     What was measured on this bar.
/// out_of_range : {"raise", "extrapolate"}
///     "extrapolate" goes straight on from the coolest or hottest temper, up to 100 °C, widens the interval by the whole
///     change and 0.01 HRC/°C, and marks the Estimate. A composition outside the range is refused under every policy.
///
/// Returns
/// -------
/// Estimate
///     In HRC, of one further reading: components "steel", "reading" and where they apply "temperature", "time"
///     and "extrapolation".
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
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<CompositionSteel>()?;
    module.add_function(wrap_pyfunction!(_restore_composition_steel, module)?)?;
    module.add_function(wrap_pyfunction!(hardness_from_composition, module)?)?;
    module.add_function(wrap_pyfunction!(hardness_from_composition_estimate, module)?)
}

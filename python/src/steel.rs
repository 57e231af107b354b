//! Bindings of the `steel` room.

use std::sync::Arc;

use afterquench::curve::HardnessAfterTemper;
use afterquench::kernel::ArrayModel;
use afterquench::steel::{
    self, AsQuenchedHardness, Hazard as CoreHazard, QuenchedTable, Steel as Core, SteelCurve,
    as_quenched_hardness_estimate as quenched_estimate,
};
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;
use pyo3::types::{PyDict, PyFloat, PyString};

use crate::arguments::{argument_type, number};
use crate::curve::{Provenance, Root, TemperingCurve};
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::record::rows;
use crate::ufunc::{Model, Options, raises};

type Any<'py> = Bound<'py, PyAny>;

/// One printed caution about a family of steels: a band of temperatures, or a rule of timing.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> any("embrittlement" in h.hazard for h in aq.steel("4140").hazards if h.touches(300))
/// True
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Hazard {
    core: CoreHazard,
    steel: String,
    index: usize,
}

#[pymethods]
impl Hazard {
    /// What it is about.
    #[getter]
    fn hazard(&self) -> &str {
        &self.core.hazard
    }

    /// The steels it was printed for, in the source's words.
    #[getter]
    fn steel_family(&self) -> &str {
        &self.core.steel_family
    }

    /// Lower edge of the band, °C, or None.
    #[getter(from_c)]
    fn lower_edge_c(&self) -> Option<f64> {
        self.core.from_c
    }

    /// Upper edge of the band, °C, or None.
    #[getter]
    fn to_c(&self) -> Option<f64> {
        self.core.to_c
    }

    /// The rule.
    #[getter]
    fn rule(&self) -> &str {
        &self.core.rule
    }

    /// Who says so.
    #[getter]
    fn source(&self) -> &str {
        &self.core.source
    }

    /// "seen" in print, or "memory".
    #[getter]
    fn how(&self) -> &str {
        &self.core.how
    }

    /// Remarks.
    #[getter]
    fn note(&self) -> &str {
        &self.core.note
    }

    /// Whether a temper at this temperature (°C) lies where the hazard is.
    fn touches(&self, temperature_c: f64) -> bool {
        self.core.touches(temperature_c)
    }

    /// The hazard as a dict.
    fn as_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let made = PyDict::new(py);
        made.set_item("hazard", self.hazard())?;
        made.set_item("steel_family", self.steel_family())?;
        made.set_item("from_c", self.lower_edge_c())?;
        made.set_item("to_c", self.to_c())?;
        made.set_item("rule", self.rule())?;
        made.set_item("source", self.source())?;
        made.set_item("how", self.how())?;
        made.set_item("note", self.note())?;
        Ok(made)
    }

    fn __str__(&self) -> String {
        self.core.text()
    }

    fn __repr__(&self) -> String {
        format!("Hazard: {}", self.core.text())
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<(Any<'py>, (&str, usize))> {
        Ok((py.import("afterquench._native")?.getattr("_restore_hazard")?, (&self.steel, self.index)))
    }
}

/// Rebuilds a pickled hazard.
#[pyfunction]
fn _restore_hazard(py: Python<'_>, steel: &str, index: usize) -> PyResult<Hazard> {
    let known = steel::steel(steel).or_raise(py)?;
    known
        .hazards()
        .get(index)
        .map(|core| Hazard { core: core.clone(), steel: steel.to_owned(), index })
        .ok_or_else(|| pyo3::exceptions::PyValueError::new_err("this pickle is of another version"))
}

/// One steel of the catalogue: composition, curves, sources and hazards, and hardness by its default curve.
///
/// `steel(name)` finds one. Its methods use `curves[0]`: in print before measured before memory, hold stated before not,
/// then the most points; `curve(source=…, austenitize_c=…)` chooses another.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> s = aq.steel("100Cr6")
/// >>> s.name, s.composition["Cr"]
/// ('52100', 1.45)
#[pyclass(module = "afterquench._native", frozen)]
pub struct Steel {
    core: Arc<Core>,
    curves: PyOnceLock<Vec<Py<TemperingCurve>>>,
}

impl Steel {
    fn of(core: &Arc<Core>) -> Self {
        Self { core: Arc::clone(core), curves: PyOnceLock::new() }
    }

    fn wrapped(&self, py: Python<'_>) -> PyResult<&Vec<Py<TemperingCurve>>> {
        self.curves.get_or_try_init(py, || self.core.curves().iter().map(|curve| Py::new(py, wrap(curve))).collect())
    }

    fn default<'a>(&'a self, py: Python<'_>) -> PyResult<&'a TemperingCurve> {
        self.core.default_curve().or_raise(py)?;
        self.wrapped(py)?
            .first()
            .map(Py::get)
            .ok_or_else(|| pyo3::exceptions::PyRuntimeError::new_err("a steel lost its curves; please report this"))
    }
}

fn wrap(curve: &SteelCurve) -> TemperingCurve {
    let provenance = Provenance {
        grade: Some(curve.grade.clone()),
        austenitize_c: curve.austenitize_c,
        origin: Some(curve.origin.text().to_owned()),
        c_interval: curve.fit.as_ref().and_then(|fit| fit.constant).map(|(_, interval)| interval),
    };
    TemperingCurve::wrapping(Arc::clone(&curve.curve), provenance)
}

/// The curve that a steel, a curve or a steel's name stands for.
#[allow(dead_code, reason = "for the plan room")]
pub fn curve_of(function: &str, given: &Any<'_>) -> PyResult<Arc<dyn HardnessAfterTemper>> {
    let py = given.py();
    if let Ok(curve) = given.cast::<TemperingCurve>() {
        return Ok(Arc::<afterquench::curve::TemperingCurve>::clone(&curve.get().core));
    }
    if let Ok(known) = given.cast::<Steel>() {
        let curve = known.get().core.default_curve().or_raise(py)?;
        return Ok(Arc::<afterquench::curve::TemperingCurve>::clone(&curve.curve));
    }
    if let Ok(name) = given.cast::<PyString>() {
        let curve = steel::steel(name.to_str()?).or_raise(py)?.default_curve().or_raise(py)?;
        return Ok(Arc::<afterquench::curve::TemperingCurve>::clone(&curve.curve));
    }
    Err(argument_type(
        py,
        function,
        "steel",
        "it is neither a steel nor a curve".into(),
        "Give a steel's name, aq.steel(...) or a TemperingCurve".into(),
    ))
}

#[pymethods]
impl Steel {
    /// Its name here.
    #[getter]
    fn name(&self) -> &str {
        self.core.name()
    }

    /// Other names it goes by.
    #[getter]
    fn names(&self) -> Vec<&str> {
        self.core.names()
    }

    /// Its family, as trade lists sort steels.
    #[getter]
    fn group(&self) -> &str {
        self.core.group()
    }

    /// Nominal composition: element to weight per cent; elements not added are left out.
    #[getter]
    fn composition<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let made = PyDict::new(py);
        for (element, percent) in self.core.composition() {
            made.set_item(element, percent)?;
        }
        Ok(made)
    }

    /// The composition as a standard or a maker prints it.
    #[getter]
    fn composition_range(&self) -> &str {
        self.core.composition_range()
    }

    /// The usual hardening temperatures, °C from and to, or None.
    #[getter]
    fn hardening_c(&self) -> Option<(f64, f64)> {
        self.core.hardening_c()
    }

    /// What it is usually quenched in.
    #[getter]
    fn quench(&self) -> &str {
        self.core.quench()
    }

    /// The as-quenched hardness to be expected, or None.
    #[getter]
    fn as_quenched_hrc(&self) -> Option<Estimate> {
        let expected = self.core.as_quenched()?;
        Some(afterquench::Estimate::new(expected.hrc, "HRC").with("expected", expected.u).into())
    }

    /// The usual tempering temperatures, °C from and to, or None.
    #[getter]
    fn temper_range_c(&self) -> Option<(f64, f64)> {
        self.core.temper_range_c()
    }

    /// Printed Ac1, °C, or None.
    #[getter]
    fn ac1_c(&self) -> Option<f64> {
        self.core.ac1_c()
    }

    /// Printed martensite start, °C, or None.
    #[getter]
    fn ms_c(&self) -> Option<f64> {
        self.core.ms_c()
    }

    /// Every source used: composition first, then curves.
    #[getter]
    fn sources(&self) -> Vec<String> {
        self.core.sources()
    }

    /// Remarks.
    #[getter]
    fn note(&self) -> &str {
        self.core.note()
    }

    /// Its tempering curves, the default first; a steel may have none.
    #[getter]
    fn curves(&self, py: Python<'_>) -> PyResult<Vec<Py<TemperingCurve>>> {
        Ok(self.wrapped(py)?.iter().map(|curve| curve.clone_ref(py)).collect())
    }

    /// What is printed about tempers to avoid; sources that disagree are all kept.
    #[getter]
    fn hazards(&self) -> Vec<Hazard> {
        let hazard = |(index, core): (usize, &CoreHazard)| Hazard {
            core: core.clone(),
            steel: self.core.name().to_owned(),
            index,
        };
        self.core.hazards().iter().enumerate().map(hazard).collect()
    }

    /// One of its curves.
    ///
    /// Parameters
    /// ----------
    /// source : str, optional
    ///     A part of the source's or the grade's name; left out, any.
    /// austenitize_c : float, optional
    ///     Hardening temperature of the coupons, °C; left out, any.
    ///
    /// Returns
    /// -------
    /// TemperingCurve
    ///     The first that fits, in order of preference.
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    ///     Where none fits; it lists those there are.
    /// NotDeterminedError
    ///     For a steel without a curve.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> aq.steel("M2").curve(source="Eastern", austenitize_c=1204).hardness_after(538, 4)
    /// 65.0
    #[pyo3(signature = (source=None, austenitize_c=None))]
    fn curve(&self, py: Python<'_>, source: Option<&str>, austenitize_c: Option<f64>) -> PyResult<Py<TemperingCurve>> {
        let chosen = self.core.curve(source, austenitize_c).or_raise(py)?;
        let index = self.core.curves().iter().position(|curve| std::ptr::eq(curve, chosen)).unwrap_or(0);
        match self.wrapped(py)?.get(index) {
            Some(curve) => Ok(curve.clone_ref(py)),
            None => Py::new(py, wrap(chosen)),
        }
    }

    /// Hardness after one hold by the default curve, HRC; see `TemperingCurve.hardness_after`.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError, MissingArgumentError, NoAnswerError
    ///     As there.
    /// NotDeterminedError
    ///     For a steel without a curve.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> aq.steel("O1").hardness_after(260, 2)
    /// 60.0
    #[pyo3(signature = (temperature_c, time_h, as_quenched_hrc=None, *, c=None, out_of_range=None, out=None, r#where=None))]
    #[allow(clippy::too_many_arguments, reason = "the signature is the Python contract")]
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
        self.default(py)?.hardness_after(py, temperature_c, time_h, as_quenched_hrc, c, out_of_range, out, r#where)
    }

    /// Hardness after one hold with its uncertainty; see `TemperingCurve.hardness_after_estimate`.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError, NoAnswerError, RefusedError
    ///     As there.
    /// NotDeterminedError
    ///     For a steel without a curve.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> sorted(aq.steel("O1").hardness_after_estimate(204, 2).components)
    /// ['batch', 'c', 'curve', 'temperature', 'time']
    #[pyo3(signature = (temperature_c, time_h, as_quenched_hrc=None, *, c=None, u_curve=None, u_batch=None, position_delta_c=5.0, sensor_delta_c=1.5, controller_delta_c=1.0, time_delta_min=3.0, out_of_range=None))]
    #[allow(clippy::too_many_arguments, reason = "the signature is the Python contract")]
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
        self.default(py)?.hardness_after_estimate(
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
    /// SeveralAnswersError, OutOfRangeError, MissingArgumentError
    ///     As there.
    /// NotDeterminedError
    ///     For a steel without a curve.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> round(aq.steel("M2").temperature_for(62, 4, branch="over-ageing")) > 550
    /// True
    #[pyo3(signature = (hrc, time_h, as_quenched_hrc=None, branch=None, *, c=None, out_of_range=None, out=None, r#where=None))]
    #[allow(clippy::too_many_arguments, reason = "the signature is the Python contract")]
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
        self.default(py)?.temperature_for(py, hrc, time_h, as_quenched_hrc, branch, c, out_of_range, out, r#where)
    }

    /// Every temperature that gives a hardness after a hold, coolest first; see `TemperingCurve.temperatures_for`.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError, MissingArgumentError
    ///     As there.
    /// NotDeterminedError
    ///     For a steel without a curve.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> [round(float(root)) for root in aq.steel("O1").temperatures_for(60, 2)]
    /// [260]
    #[pyo3(signature = (hrc, time_h, as_quenched_hrc=None, *, c=None))]
    fn temperatures_for(
        &self,
        py: Python<'_>,
        hrc: &Any<'_>,
        time_h: &Any<'_>,
        as_quenched_hrc: Option<&Any<'_>>,
        c: Option<&Any<'_>>,
    ) -> PyResult<Vec<Root>> {
        self.default(py)?.temperatures_for(py, hrc, time_h, as_quenched_hrc, c)
    }

    /// How fast hardness changes with temperature, HRC/°C; see `TemperingCurve.slope`.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError, MissingArgumentError
    ///     As there.
    /// NotDeterminedError
    ///     For a steel without a curve.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> aq.steel("O1").slope(204, 2) < 0
    /// True
    #[pyo3(signature = (temperature_c, time_h, *, c=None, out_of_range=None, out=None, r#where=None))]
    #[allow(clippy::too_many_arguments, reason = "the signature is the Python contract")]
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
        self.default(py)?.slope(py, temperature_c, time_h, c, out_of_range, out, r#where)
    }

    /// The steel in a row of a table.
    fn as_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let made = PyDict::new(py);
        made.set_item("name", self.name())?;
        made.set_item("names", self.names().join(", "))?;
        made.set_item("group", self.group())?;
        for element in ["C", "Si", "Mn", "Cr", "Mo", "V", "W", "Ni"] {
            let percent = self.core.composition().into_iter().find(|(name, _)| name == element).map_or(0.0, |(_, p)| p);
            made.set_item(element, percent)?;
        }
        made.set_item("as_quenched_hrc", self.core.as_quenched().map(|expected| expected.hrc))?;
        made.set_item("quench", self.quench())?;
        made.set_item("curves", self.core.curves().len())?;
        made.set_item("source", self.core.composition_source())?;
        Ok(made)
    }

    fn __repr__(&self) -> String {
        let count = self.core.curves().len();
        let curves = if count == 1 { "1 curve".to_owned() } else { format!("{count} curves") };
        format!("Steel {} ({}), {curves}", self.name(), self.group())
    }

    fn __eq__(&self, other: &Self) -> bool {
        self.core.name() == other.core.name()
    }

    fn __hash__(&self) -> u64 {
        use std::hash::{DefaultHasher, Hash, Hasher};
        let mut hasher = DefaultHasher::new();
        self.core.name().hash(&mut hasher);
        hasher.finish()
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<(Any<'py>, (&str,))> {
        Ok((py.import("afterquench._native")?.getattr("steel")?, (self.name(),)))
    }
}

/// The steel of that name.
///
/// Parameters
/// ----------
/// name : str
///     AISI or SAE, EN, material number or trade name; case, spaces and hyphens do not matter.
///
/// Returns
/// -------
/// Steel
///
/// Raises
/// ------
/// UnknownNameError
///     With names that look like it.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.steel("1.3505").name
/// '52100'
#[pyfunction(name = "steel")]
fn steel_named(py: Python<'_>, name: &str) -> PyResult<Steel> {
    steel::steel(name).or_raise(py).map(Steel::of)
}

/// Every steel known.
///
/// Returns
/// -------
/// Rows
///     A list of Steel; `.to_frame()` gives a pandas DataFrame with one row each.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> len(aq.steels()) > 60
/// True
#[pyfunction]
fn steels(py: Python<'_>) -> PyResult<Any<'_>> {
    let all = steel::steels().or_raise(py)?;
    let items: Vec<Any<'_>> =
        all.iter().map(|known| Ok(Bound::new(py, Steel::of(known))?.into_any())).collect::<PyResult<_>>()?;
    rows(py, items)
}

fn quenched_model(py: Python<'_>, table: QuenchedTable) -> PyResult<&Py<Model>> {
    static HODGE_OREHOSKI: PyOnceLock<Py<Model>> = PyOnceLock::new();
    static ASTM_A255: PyOnceLock<Py<Model>> = PyOnceLock::new();
    let cell = match table {
        QuenchedTable::HodgeOrehoski => &HODGE_OREHOSKI,
        QuenchedTable::AstmA255 => &ASTM_A255,
    };
    cell.get_or_try_init(py, || {
        let model: Arc<dyn ArrayModel> = Arc::new(AsQuenchedHardness(table));
        Py::new(py, Model::new(py, model, "as_quenched_hardness")?)
    })
}

/// Hardness of quenched steel by carbon and share of martensite, HRC.
///
/// Parameters
/// ----------
/// carbon_percent : float or array-like
///     Carbon dissolved in the austenite, weight per cent; 0.18 to 0.53 (Hodge and Orehoski) or 0.10 to 0.54 (ASTM A255).
/// martensite : float or array-like
///     Share of martensite, 0.5 to 0.99 (Hodge and Orehoski), 0.5 or 1 (ASTM A255).
/// table : {"hodge-orehoski", "astm-a255"}
///     Both from memory. ASTM A255 stops at 60 HRC above 0.5 % C by convention.
/// out_of_range : {"raise", "nan"}
///     What an element outside the table does.
/// out, where
///     As of a NumPy ufunc.
///
/// Returns
/// -------
/// float or array
///     HRC; real steels lie within about ±2 of it (assumption).
///
/// Raises
/// ------
/// OutOfRangeError
///     Outside the table: high-carbon steels are not in it, see `Steel.as_quenched_hrc`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.as_quenched_hardness(0.43)
/// 57.0
#[pyfunction]
#[pyo3(signature = (carbon_percent, martensite=None, *, table="hodge-orehoski", out_of_range=None, out=None, r#where=None))]
#[pyo3(
    text_signature = "(carbon_percent, martensite=0.99, *, table='hodge-orehoski', out_of_range=None, out=None, where=None)"
)]
fn as_quenched_hardness<'py>(
    py: Python<'py>,
    carbon_percent: &Any<'py>,
    martensite: Option<&Any<'py>>,
    table: &str,
    out_of_range: Option<&str>,
    out: Option<&Any<'py>>,
    r#where: Option<&Any<'py>>,
) -> PyResult<Any<'py>> {
    let options = Options {
        raises: raises(py, "as_quenched_hardness", out_of_range)?,
        out,
        mask: r#where,
        unit: "HRC",
        long_name: "as-quenched hardness",
    };
    let usual = PyFloat::new(py, USUAL_MARTENSITE).into_any();
    let model = quenched_model(py, QuenchedTable::named(table).or_raise(py)?)?;
    Model::call(model, py, &[carbon_percent, martensite.unwrap_or(&usual)], &options)
}

/// The share of martensite taken where none is given.
const USUAL_MARTENSITE: f64 = 0.99;

/// Hardness of quenched steel by carbon and share of martensite, with its uncertainty.
///
/// Parameters
/// ----------
/// carbon_percent, martensite : float
///     As of `as_quenched_hardness`.
/// table : {"hodge-orehoski", "astm-a255"}
///     As of `as_quenched_hardness`.
///
/// Returns
/// -------
/// Estimate
///     In HRC, component "table".
///
/// Raises
/// ------
/// OutOfRangeError
///     Outside the table.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.as_quenched_hardness_estimate(0.43)
/// 57.0 HRC [55.0 .. 59.0]
#[pyfunction]
#[pyo3(signature = (carbon_percent, martensite=0.99, *, table="hodge-orehoski"))]
fn as_quenched_hardness_estimate(
    py: Python<'_>,
    carbon_percent: &Any<'_>,
    martensite: f64,
    table: &str,
) -> PyResult<Estimate> {
    let carbon = number("as_quenched_hardness_estimate", "carbon_percent", carbon_percent)?;
    let table = QuenchedTable::named(table).or_raise(py)?;
    quenched_estimate(carbon, martensite, table).or_raise(py).map(Estimate::from)
}

/// Where martensite starts, by a formula of the composition, °C.
///
/// Parameters
/// ----------
/// composition : dict
///     Element symbol to weight per cent; carbon is needed, elements left out are not there.
/// source : {"andrews-linear", "steven-haynes", "capdevila"}
///     Whose formula; all three from memory.
///
/// Returns
/// -------
/// float
///     °C; such formulas scatter by about 15 °C.
///
/// Raises
/// ------
/// OutOfRangeError
///     Outside the formula's composition.
/// UnknownNameError
///     For an unknown formula or element.
/// MissingArgumentError
///     Without carbon.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> round(aq.martensite_start({"C": 0.40, "Mn": 0.70, "Ni": 1.80, "Cr": 0.80, "Mo": 0.25}), 1)
/// 305.1
#[pyfunction]
#[pyo3(signature = (composition, source="andrews-linear"))]
fn martensite_start(py: Python<'_>, composition: &Any<'_>, source: &str) -> PyResult<f64> {
    let not_a_mapping = || {
        argument_type(
            py,
            "martensite_start",
            "composition",
            "it is no mapping of element to weight per cent".into(),
            "Write {\"C\": 0.4, \"Mn\": 0.7}".into(),
        )
    };
    let items = composition.call_method0("items").map_err(|_| not_a_mapping())?;
    let mut given: Vec<(String, f64)> = Vec::new();
    for item in items.try_iter()? {
        given.push(item?.extract().map_err(|_| not_a_mapping())?);
    }
    let borrowed: Vec<(&str, f64)> = given.iter().map(|(element, percent)| (element.as_str(), *percent)).collect();
    steel::martensite_start(&borrowed, source).or_raise(py)
}

/// Adds the room to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Steel>()?;
    module.add_class::<Hazard>()?;
    module.add_function(wrap_pyfunction!(_restore_hazard, module)?)?;
    module.add_function(wrap_pyfunction!(steel_named, module)?)?;
    module.add_function(wrap_pyfunction!(steels, module)?)?;
    module.add_function(wrap_pyfunction!(as_quenched_hardness, module)?)?;
    module.add_function(wrap_pyfunction!(as_quenched_hardness_estimate, module)?)?;
    module.add_function(wrap_pyfunction!(martensite_start, module)?)
}

//! The catalogue: one steel with its curves, and all of them.

use std::sync::Arc;

use afterquench::steel::{self, Steel as Core, SteelCurve};
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;
use pyo3::types::PyDict;

use super::composition::{CompositionSteel, own_readings};
use super::hazard::Hazard;
use crate::curve::{Asked, Provenance, Root, TemperingCurve};
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::record::rows;

type Any<'py> = Bound<'py, PyAny>;

/// One steel of the catalogue: composition, curves, sources and hazards, and hardness by its default curve.
///
/// `steel(name)` finds one. Its methods use `curves[0]`: doubtful sources last, in print before measured before memory, hold
/// stated before not, then the most points; `curve(source=…, austenitize_c=…)` chooses another. A steel without a curve, or
/// with a measured one that misses its own rows by more than the model, answers by its nominal composition, with an
/// interval that says how little is known; `given(readings)` narrows it. `answers_from` says which.
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
    answering: PyOnceLock<Asked>,
}

impl Steel {
    fn of(core: &Arc<Core>) -> Self {
        Self { core: Arc::clone(core), curves: PyOnceLock::new(), answering: PyOnceLock::new() }
    }

    fn wrapped(&self, py: Python<'_>) -> PyResult<&Vec<Py<TemperingCurve>>> {
        self.curves.get_or_try_init(py, || self.core.curves().iter().map(|curve| Py::new(py, wrap(curve))).collect())
    }

    /// What answers: the default curve, or the composition.
    fn asked<'a>(&'a self, py: Python<'_>) -> PyResult<&'a Asked> {
        self.answering.get_or_try_init(py, || self.core.answering().or_raise(py).map(Asked::new))
    }

    /// The core's steel.
    pub fn core(&self) -> &Core {
        &self.core
    }
}

fn wrap(curve: &SteelCurve) -> TemperingCurve {
    let provenance = Provenance {
        grade: Some(curve.grade.clone()),
        austenitize_c: curve.austenitize_c,
        origin: Some(curve.origin.text().to_owned()),
        c_interval: curve.fit.as_ref().and_then(|fit| fit.constant).map(|(_, interval)| interval),
        is_fitted: curve.fit.is_some(),
        remark: (!curve.remark.is_empty()).then(|| curve.remark.clone()),
    };
    TemperingCurve::wrapping(Arc::clone(&curve.curve), provenance)
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

    /// What full hardening of it gives, or None: the one band by which `plan` and `judge_hardening` say whether a part
    /// hardened.
    #[getter]
    fn as_quenched_hrc(&self) -> Option<Estimate> {
        let expected = self.core.as_quenched()?;
        Some(afterquench::Estimate::new(expected.hrc, "HRC").with("expected", expected.u).into())
    }

    /// What its methods and `plan` answer from: "table", "composition" or "nothing".
    #[getter]
    fn answers_from(&self) -> &'static str {
        self.core.answers_from()
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
        Hazard::all(self.core.hazards())
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
    ///     For a steel without a curve; `by_composition` may still answer.
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

    /// The steel as its nominal composition lets expect it, whatever curves it has.
    ///
    /// Returns
    /// -------
    /// CompositionSteel
    ///
    /// Raises
    /// ------
    /// RefusedError, OutOfRangeError
    ///     For stainless, high-speed and other steels far from the measured ones.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> aq.steel("80CrV2").by_composition().u_hardness_after(200, 2) > 1
    /// True
    fn by_composition(&self, py: Python<'_>) -> PyResult<CompositionSteel> {
        self.core.by_composition().or_raise(py).map(CompositionSteel::from)
    }

    /// The steel with readings of your own bar: composition, its default curve where it has one, and the readings, each
    /// with its weight.
    ///
    /// Parameters
    /// ----------
    /// readings : sequence of (temperature_c, time_h, hrc), or with a standard uncertainty behind; or a frame or dict
    ///     Hardness of coupons of the bar, each the mean of its indentations. A frame has the columns temperature_c,
    ///     time_h, hrc and perhaps u.
    ///
    /// Returns
    /// -------
    /// CompositionSteel
    ///     With the same questions, and for `plan`.
    ///
    /// Raises
    /// ------
    /// RefusedError, OutOfRangeError
    ///     For a composition the model does not answer for, or a curve with secondary hardening: make a TemperingCurve of
    ///     the readings instead.
    /// InvalidValueError
    ///     For a reading that is no number.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> mine = aq.steel("80CrV2").given([(175, 2, 61.6), (225, 2, 59.4)])
    /// >>> mine.u_hardness_after(200, 2) < 1
    /// True
    fn given(&self, py: Python<'_>, readings: &Any<'_>) -> PyResult<CompositionSteel> {
        let mut made = self.core.by_composition().or_raise(py)?;
        if let Ok(curve) = self.core.default_curve() {
            made = made.given_table(&curve.curve).or_raise(py)?;
        }
        made.given(&own_readings("given", readings)?).or_raise(py).map(CompositionSteel::from)
    }

    /// Hardness after one hold by the default curve, HRC; see `TemperingCurve.hardness_after`.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError, MissingArgumentError, NoAnswerError
    ///     As there.
    /// NotDeterminedError
    ///     For a steel without a curve whose composition gives no answer either.
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
        self.asked(py)?.hardness_after(py, temperature_c, time_h, as_quenched_hrc, c, out_of_range, out, r#where)
    }

    /// Hardness after one hold with its uncertainty; see `TemperingCurve.hardness_after_estimate`.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError, NoAnswerError, RefusedError
    ///     As there.
    /// NotDeterminedError
    ///     For a steel without a curve whose composition gives no answer either.
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
        self.asked(py)?.hardness_after_estimate(
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
    ///     For a steel without a curve whose composition gives no answer either.
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
        self.asked(py)?.temperature_for(py, hrc, time_h, as_quenched_hrc, branch, c, out_of_range, out, r#where)
    }

    /// Every temperature that gives a hardness after a hold, coolest first; see `TemperingCurve.temperatures_for`.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError, MissingArgumentError
    ///     As there.
    /// NotDeterminedError
    ///     For a steel without a curve whose composition gives no answer either.
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
        self.asked(py)?.temperatures_for(py, hrc, time_h, as_quenched_hrc, c)
    }

    /// What every source says of one temper, side by side; sources that differ are never averaged.
    ///
    /// Parameters
    /// ----------
    /// temperature_c : float
    ///     Tempering temperature, °C.
    /// time_h : float
    ///     Hold, h.
    ///
    /// Returns
    /// -------
    /// list of (TemperingCurve, Estimate)
    ///     The default curve first; curves that do not cover the temper are left out.
    ///
    /// Raises
    /// ------
    /// NotDeterminedError
    ///     For a steel without a curve.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> answers = aq.steel("H13").answers(550, 2)
    /// >>> max(e.value for _, e in answers) - min(e.value for _, e in answers) > 1
    /// True
    fn answers<'py>(
        &self,
        py: Python<'py>,
        temperature_c: &Any<'py>,
        time_h: &Any<'py>,
    ) -> PyResult<Vec<(Py<TemperingCurve>, Any<'py>)>> {
        self.core.default_curve().or_raise(py)?;
        // Only these two say that a curve does not cover the temper; any other refusal is about the arguments.
        let errors = py.import("afterquench.errors")?;
        let refusal = (errors.getattr("OutOfRangeError")?, errors.getattr("NoAnswerError")?);
        let mut found = Vec::new();
        for curve in self.wrapped(py)? {
            match curve.bind(py).call_method1("hardness_after_estimate", (temperature_c, time_h)) {
                Ok(estimate) => found.push((curve.clone_ref(py), estimate)),
                Err(error) if error.is_instance(py, &refusal.0) || error.is_instance(py, &refusal.1) => {}
                Err(error) => return Err(error),
            }
        }
        Ok(found)
    }

    /// How fast hardness changes with temperature, HRC/°C; see `TemperingCurve.slope`.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError, MissingArgumentError
    ///     As there.
    /// NotDeterminedError
    ///     For a steel without a curve whose composition gives no answer either.
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
        self.asked(py)?.slope(py, temperature_c, time_h, c, out_of_range, out, r#where)
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
        made.set_item("answers_from", self.core.answers_from())?;
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

/// Adds the file to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Steel>()?;
    module.add_function(wrap_pyfunction!(steel_named, module)?)?;
    module.add_function(wrap_pyfunction!(steels, module)?)
}

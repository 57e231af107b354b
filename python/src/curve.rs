//! Bindings of the `curve` room.

mod asked;

use std::sync::Arc;

use afterquench::curve::{HardnessAfterTemper, Root as CoreRoot, Side, TemperingCurve as Core};
use afterquench::{HoldTime, Temperature};
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use serde::{Deserialize, Serialize};

use crate::arguments::{belief, belief_object, column, measured};
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::pickle::{Reduced, reduce, restore};

pub use asked::Asked;

type Any<'py> = Bound<'py, PyAny>;

/// What the catalogue knows beside a curve.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Provenance {
    /// The grade as the source names it.
    pub grade: Option<String>,
    /// Hardening temperature, °C.
    pub austenitize_c: Option<(f64, f64)>,
    /// How the numbers came here.
    pub origin: Option<String>,
    /// The 95 % interval of C that the rows allow.
    pub c_interval: Option<(f64, f64)>,
    /// Whether the points are knots of a fit.
    pub is_fitted: bool,
    /// What else to know of the points and where they come from.
    pub remark: Option<String>,
}

/// Hardness after a temper by a table of your own: HRC against °C, all held for one time.
///
/// Between the points a monotone cubic that invents no hump; another hold time through the steel's C.
///
/// Parameters
/// ----------
/// temperature_c : array-like
///     Temperatures in °C, strictly increasing, two or more.
/// hrc : array-like
///     Rockwell C hardness after each.
/// time_h : float
///     The hold in hours that all points share; for cycles, their sum.
/// c : float, Estimate or (low, high), optional
///     The steel's C for hours. Without it plain calls need `c=` away from `time_h`, and estimates take 15 to 20.
/// as_quenched_hrc : float or Estimate, optional
///     The as-quenched hardness that belongs to the table.
/// u_curve, u_batch : float
///     One standard uncertainty of the table's level and between batches, HRC. Both default to 0.5, an assumption.
/// name, source : str, optional
///     For messages, sheets and citations.
///
/// Raises
/// ------
/// RefusedError
///     For fewer than two points, unequal lengths, temperatures that do not increase, values that are not finite.
/// OutOfRangeError
///     For hardness outside 0 to 70 HRC.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> curve = aq.TemperingCurve([150, 200, 250, 300], [62.6, 60.4, 57.8, 55.5], time_h=2, c=18.2)
/// >>> curve.hardness_after(200, 2)
/// 60.4
/// >>> round(curve.temperature_for(59, 2))
/// 227
#[pyclass(module = "afterquench._native", frozen)]
pub struct TemperingCurve {
    /// The core's curve.
    pub core: Arc<Core>,
    /// What the catalogue knows beside it.
    pub provenance: Provenance,
    /// The questions it answers.
    pub asked: Asked,
}

impl TemperingCurve {
    /// Wraps a curve of the core.
    pub fn wrapping(core: Arc<Core>, provenance: Provenance) -> Self {
        let curve: Arc<dyn HardnessAfterTemper> = Arc::<Core>::clone(&core);
        Self { core, provenance, asked: Asked::new(curve) }
    }
}

/// One temperature that gives a wanted hardness, and the side of the curve it lies on.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.steel("M2").temperatures_for(62, 4)[-1].side
/// 'over-ageing'
#[pyclass(module = "afterquench._native", frozen)]
#[derive(Clone, Copy)]
pub struct Root {
    core: CoreRoot,
}

#[pymethods]
impl Root {
    /// The temperature, °C.
    #[getter]
    fn temperature_c(&self) -> f64 {
        self.core.temperature.celsius()
    }

    /// "falling", "rising" (on the way to a secondary peak) or "over-ageing" (beyond it).
    #[getter]
    fn side(&self) -> &'static str {
        self.core.side.name()
    }

    /// What to know before going there, or None.
    #[getter]
    fn caution(&self) -> Option<&'static str> {
        self.core.side.caution()
    }

    fn __float__(&self) -> f64 {
        self.temperature_c()
    }

    fn __repr__(&self) -> String {
        format!("Root: {:.1} °C ({})", self.temperature_c(), self.side())
    }

    fn __eq__(&self, other: &Self) -> bool {
        self.core == other.core
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<(Any<'py>, (f64, &'static str))> {
        Ok((py.import("afterquench._native")?.getattr("_restore_root")?, (self.temperature_c(), self.side())))
    }
}

/// Rebuilds a pickled root.
#[pyfunction]
fn _restore_root(py: Python<'_>, temperature_c: f64, side: &str) -> PyResult<Root> {
    let side = Side::named(side).or_raise(py)?;
    Ok(Root { core: CoreRoot { temperature: Temperature::from_celsius(temperature_c), side } })
}

#[pymethods]
impl TemperingCurve {
    #[new]
    #[pyo3(signature = (temperature_c, hrc, time_h=2.0, c=None, *, as_quenched_hrc=None, u_curve=None, u_batch=None, name=None, source=None))]
    #[allow(clippy::too_many_arguments, reason = "the signature is the Python contract")]
    fn new(
        py: Python<'_>,
        temperature_c: &Any<'_>,
        hrc: &Any<'_>,
        time_h: f64,
        c: Option<&Any<'_>>,
        as_quenched_hrc: Option<&Any<'_>>,
        u_curve: Option<f64>,
        u_batch: Option<f64>,
        name: Option<String>,
        source: Option<String>,
    ) -> PyResult<Self> {
        const NAME: &str = "TemperingCurve";
        let (x, y) = (column(NAME, "temperature_c", temperature_c)?, column(NAME, "hrc", hrc)?);
        let mut core = Core::new(&x, &y).or_raise(py)?.held(HoldTime::from_hours(time_h)).or_raise(py)?;
        if c.is_some() {
            core = core.with_constant(belief(NAME, c)?).or_raise(py)?;
        }
        if let Some(given) = as_quenched_hrc {
            let given = measured(NAME, "as_quenched_hrc", given, false)?;
            core = core.with_as_quenched(given.value, if given.u > 0.0 { given.u } else { 0.5 }).or_raise(py)?;
        }
        if let Some(u) = u_curve {
            core = core.with_u_level(u, "given with the curve").or_raise(py)?;
        }
        if let Some(u) = u_batch {
            core = core.with_u_batch(u).or_raise(py)?;
        }
        if let Some(name) = name {
            core = core.named(name);
        }
        core = core.from_source(source.unwrap_or_else(|| "the caller's own table".to_owned()));
        Ok(Self::wrapping(Arc::new(core), Provenance::default()))
    }

    /// What it is called.
    #[getter]
    fn name(&self) -> &str {
        self.core.name()
    }

    /// The table's temperatures, °C.
    #[getter]
    fn temperature_c<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        PyArray1::from_iter(py, self.core.points().map(|(celsius, _)| celsius).collect::<Vec<_>>())
    }

    /// The table's hardness, HRC.
    #[getter]
    fn hrc<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        PyArray1::from_iter(py, self.core.points().map(|(_, hrc)| hrc).collect::<Vec<_>>())
    }

    /// The hold of the table, hours; where `time_is_stated` is False an assumption.
    #[getter]
    fn time_h(&self) -> f64 {
        self.core.reference_hold().hours()
    }

    /// Whether the hold was printed with the data.
    #[getter]
    fn time_is_stated(&self) -> bool {
        self.core.hold_is_stated()
    }

    /// What is believed of C: a float, a pair, an Estimate, or None.
    #[getter]
    fn c<'py>(&self, py: Python<'py>) -> PyResult<Option<Any<'py>>> {
        self.core.constant().map(|belief| belief_object(py, belief)).transpose()
    }

    /// The 95 % interval of C that the measured rows allow, or None where they do not determine it.
    #[getter]
    fn c_interval(&self) -> Option<(f64, f64)> {
        self.provenance.c_interval
    }

    /// One standard uncertainty of the level, HRC.
    #[getter]
    fn u_curve(&self) -> f64 {
        self.core.u_level()
    }

    /// How `u_curve` was found.
    #[getter]
    fn u_curve_found(&self) -> &str {
        self.core.u_level_found()
    }

    /// One standard uncertainty between batches, HRC.
    #[getter]
    fn u_batch(&self) -> f64 {
        self.core.u_batch()
    }

    /// The as-quenched hardness that belongs to the curve, or None.
    #[getter]
    fn as_quenched_hrc(&self) -> Option<Estimate> {
        self.core.as_quenched().map(|expected| {
            Estimate::from(afterquench::Estimate::new(expected.hrc, "HRC").with("expected", expected.u))
        })
    }

    /// The coolest and hottest temperature covered at the table's own hold, °C.
    #[getter]
    fn range_c(&self) -> (f64, f64) {
        let (low, high) = self.core.range_with(self.core.reference_hold(), 20.0);
        (low.celsius(), high.celsius())
    }

    /// Whether hardness comes back with temperature by half a point or more.
    #[getter]
    fn has_secondary_hardening(&self) -> bool {
        self.core.has_secondary_hardening()
    }

    /// Where the curve comes from.
    #[getter]
    fn sources(&self) -> Vec<String> {
        self.core.sources().to_vec()
    }

    /// Whether the points are knots of a curve fitted to measured rows of several holds, none of them printed as it stands.
    #[getter]
    fn is_fitted(&self) -> bool {
        self.provenance.is_fitted
    }

    /// What to know about every value read from the curve, and remarks on its source.
    #[getter]
    fn notes(&self) -> Vec<String> {
        self.core.notes().iter().map(ToString::to_string).chain(self.provenance.remark.clone()).collect()
    }

    /// The grade as the source names it, or None for a curve of your own.
    #[getter]
    fn grade(&self) -> Option<&str> {
        self.provenance.grade.as_deref()
    }

    /// The hardening temperature of the coupons, °C from and to, where printed.
    #[getter]
    fn austenitize_c(&self) -> Option<(f64, f64)> {
        self.provenance.austenitize_c
    }

    /// How the numbers came here: "printed", "worked out from the data shipped here", "from memory", or None.
    #[getter]
    fn origin(&self) -> Option<&str> {
        self.provenance.origin.as_deref()
    }

    /// Hardness after one hold, HRC.
    ///
    /// Parameters
    /// ----------
    /// temperature_c, time_h : float or array-like
    ///     The hold: °C and hours; for cycles of one temperature the sum of their times.
    /// as_quenched_hrc : float or array-like, optional
    ///     The as-quenched reading: a check that hardening worked, and a small shift that fades with the temper.
    /// c : float or array-like, optional
    ///     The steel's C for hours; needed away from the table's own hold unless the curve has a C of its own.
    /// out_of_range : {"raise", "nan"}
    ///     What an element outside the table does.
    /// out, where
    ///     As of a NumPy ufunc.
    ///
    /// Returns
    /// -------
    /// float or array
    ///     HRC; a float for plain numbers, else of the inputs' broadcast shape and kind.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError
    ///     Outside the table, naming the nearest temperature covered.
    /// MissingArgumentError
    ///     Where C matters and none is known.
    /// NoAnswerError
    ///     For an as-quenched reading below the expected band: the hardening failed.
    ///
    /// Warns
    /// -----
    /// AfterquenchWarning
    ///     Once a call where a result lies below 20 HRC, outside the scale; where the parameter was carried through a
    ///     secondary hump.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> aq.steel("O1").hardness_after(204, 2)
    /// 62.0
    #[pyo3(signature = (temperature_c, time_h, as_quenched_hrc=None, *, c=None, out_of_range=None, out=None, r#where=None))]
    #[allow(clippy::too_many_arguments, reason = "the signature is the Python contract")]
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
        self.asked.hardness_after(py, temperature_c, time_h, as_quenched_hrc, c, out_of_range, out, r#where)
    }

    /// Hardness after one hold with everything that makes it uncertain.
    ///
    /// Parameters
    /// ----------
    /// temperature_c, time_h : float or Estimate
    ///     The hold. An Estimate's own uncertainty takes the place of the oven's and the timer's.
    /// as_quenched_hrc : float or Estimate, optional
    ///     The as-quenched reading; an Estimate's u takes the place of 0.5 HRC, and widens the answer.
    /// c : float, Estimate or (low, high), optional
    ///     C for hours; left out, the curve's own, or 15 to 20 flat.
    /// u_curve, u_batch : float, optional
    ///     One standard uncertainty of the level and between batches, HRC; left out, the curve's own.
    /// position_delta_c, sensor_delta_c, controller_delta_c : float
    ///     Half widths of flat distributions, °C: where the part lay, the sensor, what the controller leaves.
    /// time_delta_min : float
    ///     Half width of the time, minutes.
    /// out_of_range : {"raise", "extrapolate"}
    ///     "extrapolate" goes straight on from the end of the table, up to 100 °C, and adds the whole change along that
    ///     line and 0.01 HRC/°C to the uncertainty; the Estimate is marked.
    ///
    /// Returns
    /// -------
    /// Estimate
    ///     In HRC, components "curve", "batch", "temperature", "time", "c", and where they apply "as-quenched",
    ///     "hold" and "extrapolation".
    ///
    /// Raises
    /// ------
    /// OutOfRangeError, NoAnswerError
    ///     As `hardness_after`.
    /// RefusedError
    ///     For an extrapolated Estimate, unless "extrapolate" is asked for here too.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> aq.steel("O1").hardness_after_estimate(204, 2).components["curve"] > 0.5
    /// True
    #[pyo3(signature = (temperature_c, time_h, as_quenched_hrc=None, *, c=None, u_curve=None, u_batch=None, position_delta_c=5.0, sensor_delta_c=1.5, controller_delta_c=1.0, time_delta_min=3.0, out_of_range=None))]
    #[allow(clippy::too_many_arguments, reason = "the signature is the Python contract")]
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

    /// The temperature that gives a hardness after a hold, °C.
    ///
    /// Parameters
    /// ----------
    /// hrc, time_h : float or array-like
    ///     Wanted hardness and hold in hours.
    /// as_quenched_hrc : float or array-like, optional
    ///     The as-quenched reading.
    /// branch : {"falling", "rising", "over-ageing"}, optional
    ///     Which of several answers is meant.
    /// c, out_of_range, out, where
    ///     As of `hardness_after`.
    ///
    /// Returns
    /// -------
    /// float or array
    ///     °C.
    ///
    /// Raises
    /// ------
    /// SeveralAnswersError
    ///     Where there are several and no branch is named; it lists them with their sides.
    /// OutOfRangeError
    ///     For a hardness the curve never gives.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> round(aq.steel("O1").temperature_for(60, 2))
    /// 260
    #[pyo3(signature = (hrc, time_h, as_quenched_hrc=None, branch=None, *, c=None, out_of_range=None, out=None, r#where=None))]
    #[allow(clippy::too_many_arguments, reason = "the signature is the Python contract")]
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
        self.asked.temperature_for(py, hrc, time_h, as_quenched_hrc, branch, c, out_of_range, out, r#where)
    }

    /// Every temperature that gives a hardness after a hold, coolest first.
    ///
    /// Parameters
    /// ----------
    /// hrc, time_h : float
    ///     Wanted hardness and hold in hours.
    /// as_quenched_hrc : float, optional
    ///     The as-quenched reading.
    /// c : float, optional
    ///     C for hours.
    ///
    /// Returns
    /// -------
    /// list of Root
    ///     Each with `.temperature_c`, `.side` and `.caution`; a level stretch gives both its ends.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError
    ///     For a hardness the curve never gives.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> [root.side for root in aq.steel("M2").temperatures_for(62, 4)]
    /// ['rising', 'over-ageing']
    #[pyo3(signature = (hrc, time_h, as_quenched_hrc=None, *, c=None))]
    pub fn temperatures_for(
        &self,
        py: Python<'_>,
        hrc: &Any<'_>,
        time_h: &Any<'_>,
        as_quenched_hrc: Option<&Any<'_>>,
        c: Option<&Any<'_>>,
    ) -> PyResult<Vec<Root>> {
        self.asked.temperatures_for(py, hrc, time_h, as_quenched_hrc, c)
    }

    /// How fast hardness changes with temperature, HRC/°C.
    ///
    /// Parameters
    /// ----------
    /// temperature_c, time_h : float or array-like
    ///     The hold: °C and hours.
    /// c, out_of_range, out, where
    ///     As of `hardness_after`.
    ///
    /// Returns
    /// -------
    /// float or array
    ///     HRC/°C of the bare curve.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError, MissingArgumentError
    ///     As `hardness_after`.
    ///
    /// Examples
    /// --------
    /// >>> import afterquench as aq
    /// >>> aq.TemperingCurve([150, 250], [62, 58]).slope(200, 2)
    /// -0.04
    #[pyo3(signature = (temperature_c, time_h, *, c=None, out_of_range=None, out=None, r#where=None))]
    #[allow(clippy::too_many_arguments, reason = "the signature is the Python contract")]
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
        self.asked.slope(py, temperature_c, time_h, c, out_of_range, out, r#where)
    }

    /// The points as a pandas DataFrame: temperature_c, time_h, hrc.
    fn to_frame<'py>(&self, py: Python<'py>) -> PyResult<Any<'py>> {
        let columns = PyDict::new(py);
        columns.set_item("temperature_c", self.temperature_c(py))?;
        columns.set_item("time_h", self.time_h())?;
        columns.set_item("hrc", self.hrc(py))?;
        crate::arguments::data_frame(py, &columns)
    }

    fn __repr__(&self) -> String {
        let (low, high) = self.range_c();
        let (softest, hardest) = self.core.hardness_range();
        let assumed = if self.time_is_stated() { "" } else { " (assumed)" };
        format!(
            "TemperingCurve {}: {softest:.1} to {hardest:.1} HRC from {low:.0} to {high:.0} °C, {} h{assumed}",
            self.core.name(),
            self.time_h()
        )
    }

    fn __eq__(&self, other: &Self) -> bool {
        self.core == other.core && self.provenance == other.provenance
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_curve", &(self.core.as_ref(), &self.provenance))
    }
}

/// Rebuilds a pickled curve.
#[pyfunction]
fn _restore_curve(state: &[u8]) -> PyResult<TemperingCurve> {
    let (core, provenance): (Core, Provenance) = restore(state)?;
    Ok(TemperingCurve::wrapping(Arc::new(core), provenance))
}

/// Adds the room to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<TemperingCurve>()?;
    module.add_class::<Root>()?;
    module.add_function(wrap_pyfunction!(_restore_root, module)?)?;
    module.add_function(wrap_pyfunction!(_restore_curve, module)?)
}

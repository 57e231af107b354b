//! Level, slope and C from coupons.

use std::sync::Arc;

use afterquench::curve::fit::{
    CouponFit as Core, CouponOptions, Determined, LineShape, NotDetermined as CoreNot, fit_coupons as fit_core,
};
use afterquench::{HoldTime, Temperature};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

use super::columns::{base, bias, coupons as read};
use crate::arguments::{belief, data_frame};
use crate::curve::{Provenance, TemperingCurve};
use crate::errors::{OrRaise, raised};
use crate::estimate::Estimate;
use crate::given;
use crate::pickle::{Reduced, reduce, restore};

type Any<'py> = Bound<'py, PyAny>;

/// A quantity that the data do not settle: why, and what would settle it.
///
/// It is no number: asked for its truth or for a float it raises NotDeterminedError, so that `if fit.c` can't go wrong
/// silently. Test with `isinstance(fit.c, aq.NotDetermined)`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> table = {"coupon": ["a", "b", "c"], "temper_degc": [175, 200, 225], "hold_h": [2, 2, 2], "hrc": [61.5, 60.4, 59.2]}
/// >>> aq.fit_coupons(table).c.why
/// "all coupons were held equally long, and temperature and C can't be told apart at one hold"
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct NotDetermined {
    core: CoreNot,
}

#[pymethods]
impl NotDetermined {
    /// The quantity.
    #[getter]
    fn what(&self) -> &str {
        &self.core.what
    }

    /// Why the data do not give it.
    #[getter]
    fn why(&self) -> &str {
        &self.core.why
    }

    /// What would determine it.
    #[getter]
    fn would_determine(&self) -> &str {
        &self.core.would_determine
    }

    /// The 95 % range (low, high) that the data leave, 0 or infinity where it is open; None where they say nothing.
    #[getter]
    fn range_95(&self) -> Option<(f64, f64)> {
        self.core.range
    }

    fn __bool__(&self, py: Python<'_>) -> PyResult<bool> {
        Err(raised(py, &self.core.error()))
    }

    fn __float__(&self, py: Python<'_>) -> PyResult<f64> {
        Err(raised(py, &self.core.error()))
    }

    fn __str__(&self) -> String {
        self.core.error().to_string()
    }

    fn __repr__(&self) -> String {
        format!("not determined: {}", self.core.why)
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_not_determined", &self.core)
    }
}

/// Rebuilds a pickled answer.
#[pyfunction]
fn _restore_not_determined(state: &[u8]) -> PyResult<NotDetermined> {
    Ok(NotDetermined { core: restore(state)? })
}

fn object<'py>(py: Python<'py>, determined: &Determined) -> PyResult<Any<'py>> {
    Ok(match determined {
        Determined::Is(estimate) => Bound::new(py, Estimate::from(estimate.clone()))?.into_any(),
        Determined::Not(core) => Bound::new(py, NotDetermined { core: core.clone() })?.into_any(),
    })
}

/// What coupons say of a steel: level, slope, C, the curve through them, and who does not belong.
///
/// Made by `fit_coupons`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> table = {"coupon": ["a", "b", "c"], "temper_degc": [175, 200, 225], "hold_h": [2, 2, 2], "hrc": [61.5, 60.4, 59.2]}
/// >>> fit = aq.fit_coupons(table)
/// >>> fit.curve.hardness_after(200, 2) == fit.level.value
/// True
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(PartialEq)]
pub struct CouponFit {
    pub(super) core: Core,
}

#[pymethods]
impl CouponFit {
    /// The curve through the coupons, with its uncertainty: it goes into `plan` like any other.
    ///
    /// Raises NotDeterminedError where the coupons give no slope and no base curve has one. Its `u_batch` is part to part
    /// within the bar.
    #[getter]
    fn curve(&self, py: Python<'_>) -> PyResult<TemperingCurve> {
        let curve = self.core.curve().or_raise(py)?;
        let interval = self.core.c.estimate().and_then(|c| c.interval(0.95).ok());
        let provenance = Provenance { c_interval: interval, ..Provenance::default() };
        Ok(TemperingCurve::wrapping(Arc::new(curve.clone()), provenance))
    }

    /// Offset from the base curve at `temperature_c` and `time_h`; without a base curve the hardness there. HRC.
    #[getter]
    fn level(&self) -> Estimate {
        self.core.level.clone().into()
    }

    /// Slope of the fitted curve there, HRC/°C: an Estimate, or NotDetermined.
    #[getter]
    fn slope<'py>(&self, py: Python<'py>) -> PyResult<Any<'py>> {
        object(py, &self.core.slope)
    }

    /// The steel's C for hours: an Estimate with the profile's skewed interval, or NotDetermined.
    #[getter]
    fn c<'py>(&self, py: Python<'py>) -> PyResult<Any<'py>> {
        object(py, &self.core.c)
    }

    /// Whether `level` is an offset from a base curve.
    #[getter]
    fn is_offset(&self) -> bool {
        self.core.is_offset
    }

    /// Where level and slope are stated: the mean temperature of the coupons, °C.
    #[getter]
    fn temperature_c(&self) -> f64 {
        self.core.centre.celsius()
    }

    /// The hold at which they are stated, hours.
    #[getter]
    fn time_h(&self) -> f64 {
        self.core.hold.hours()
    }

    /// The form of the line: "level", "straight" or "parabola".
    #[getter]
    fn shape(&self) -> &str {
        &self.core.shape
    }

    /// Names of the coupons that the others speak against.
    #[getter]
    fn doubtful(&self) -> Vec<&str> {
        self.core.doubtful()
    }

    /// The same with the reason: dicts with coupon, residual_hrc, left_out and why.
    #[getter]
    fn doubts<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        let rows = self.core.doubts.iter().map(|doubt| {
            let made = PyDict::new(py);
            made.set_item("coupon", &doubt.coupon)?;
            made.set_item("residual_hrc", doubt.residual_hrc)?;
            made.set_item("left_out", doubt.left_out)?;
            made.set_item("why", &doubt.why)?;
            Ok(made)
        });
        PyList::new(py, rows.collect::<PyResult<Vec<_>>>()?)
    }

    /// Names of the coupons that the fit was made with.
    #[getter]
    fn used(&self) -> Vec<String> {
        self.core.used.clone()
    }

    /// Residual of each of those by name, HRC.
    #[getter]
    fn residuals<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let made = PyDict::new(py);
        for (name, residual) in self.core.used.iter().zip(&self.core.residuals) {
            made.set_item(name, residual)?;
        }
        Ok(made)
    }

    /// Residual standard deviation of the coupons' means, HRC.
    #[getter]
    fn scatter_hrc(&self) -> f64 {
        self.core.scatter
    }

    /// Standard deviation between coupons beyond what readings and holds explain, HRC.
    #[getter]
    fn coupon_sd_hrc(&self) -> f64 {
        self.core.between_coupons
    }

    /// Standard deviation of one reading, HRC.
    #[getter]
    fn repeatability_sd_hrc(&self) -> f64 {
        self.core.reading_sd
    }

    /// Degrees of freedom; infinite where the scatter was given.
    #[getter]
    fn degrees_of_freedom(&self) -> f64 {
        self.core.degrees_of_freedom
    }

    /// What to know, as sentences.
    #[getter]
    fn notes(&self) -> Vec<String> {
        self.core.notes.iter().map(ToString::to_string).collect()
    }

    /// Hardness of the bar after a hold: the mean of its parts.
    ///
    /// Parameters
    /// ----------
    /// temperature_c, time_h : float
    ///     The hold.
    ///
    /// Returns
    /// -------
    /// Estimate
    ///     In HRC, components "coupons", "tester" and "c"; a single part adds `coupon_sd_hrc`.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError
    ///     More than 25 °C beyond the coupons.
    /// NotDeterminedError
    ///     Where there is no curve.
    fn hardness_after_estimate(&self, py: Python<'_>, temperature_c: f64, time_h: f64) -> PyResult<Estimate> {
        let (at, time) = (Temperature::from_celsius(temperature_c), HoldTime::from_hours(time_h));
        self.core.hardness_estimate(at, time).or_raise(py).map(Estimate::from)
    }

    /// The temperature that gives the bar a hardness, with what the coupons leave open of it.
    ///
    /// Parameters
    /// ----------
    /// hrc, time_h : float
    ///     Wanted hardness and hold in hours.
    ///
    /// Returns
    /// -------
    /// Estimate
    ///     In °C.
    ///
    /// Raises
    /// ------
    /// OutOfRangeError, SeveralAnswersError, NotDeterminedError
    ///     As `TemperingCurve.temperature_for` of the fitted curve.
    fn temperature_for_estimate(&self, py: Python<'_>, hrc: f64, time_h: f64) -> PyResult<Estimate> {
        self.core.temperature_estimate(hrc, HoldTime::from_hours(time_h)).or_raise(py).map(Estimate::from)
    }

    /// The coupons used, as a pandas DataFrame: coupon, residual_hrc.
    fn to_frame<'py>(&self, py: Python<'py>) -> PyResult<Any<'py>> {
        let columns = PyDict::new(py);
        columns.set_item("coupon", &self.core.used)?;
        columns.set_item("residual_hrc", &self.core.residuals)?;
        data_frame(py, &columns)
    }

    fn __repr__(&self) -> String {
        let (low, high) = self.core.level.interval(0.95).unwrap_or((f64::NAN, f64::NAN));
        let said = |what: &Determined, digits: usize| {
            what.estimate().map_or_else(|| "not determined".to_owned(), |is| format!("{:.digits$}", is.value()))
        };
        let doubtful = if self.core.doubts.is_empty() {
            String::new()
        } else {
            format!("; doubtful: {}", self.core.doubtful().join(", "))
        };
        format!(
            "CouponFit of {} coupons: level {:.2} HRC [{low:.2} .. {high:.2}], slope {} HRC/°C, C {}{doubtful}",
            self.core.used.len(),
            self.core.level.value(),
            said(&self.core.slope, 4),
            said(&self.core.c, 1),
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_coupon_fit", &self.core)
    }
}

/// Rebuilds a pickled fit.
#[pyfunction]
fn _restore_coupon_fit(state: &[u8]) -> PyResult<CouponFit> {
    Ok(CouponFit { core: restore(state)? })
}

/// Fits a shop's own coupons: level always, slope from three temperatures, C only where the coupons determine it.
///
/// Parameters
/// ----------
/// coupons : path, file, bytes, DataFrame or dict of columns
///     A row each: coupon, temper_degc (or temperature_c), hold_h (or time_h), r1, r2 … (or hrc); batch, cycles, scale,
///     u_temperature_c, u_time_h, as_quenched_hrc and remark are read where given. Blank or NaN readings are left out. In a
///     file commas, semicolons, tabs or bars stand between the fields, and decimals have a point or a comma.
/// curve : TemperingCurve, optional
///     The base: coupons then fix an offset from it and, from three temperatures, a tilt.
/// steel : str or Steel, optional
///     The base by its name: the steel's default curve.
/// c : float, Estimate or (low, high), optional
///     What is believed of C where the coupons do not determine it; the base's own, else 15 to 20, flat.
/// shape : {"auto", "straight", "parabola"}
///     The line without a base, in the equivalent temperature; "auto" bends it where curvature shows.
/// repeatability_sd_hrc, coupon_sd_hrc : float, optional
///     Standard deviation of one reading and between coupons of one bar, HRC; left out, from the data.
/// tester : Tester, TesterBlocks or Estimate, optional
///     Its bias is taken off; it is common to all coupons, so its uncertainty stays in the level. Of several blocks each
///     coupon is corrected by the bias at its own hardness.
/// leave_out : sequence of str
///     Coupons not to use.
/// name : str, optional
///     What the fitted curve is called.
///
/// Returns
/// -------
/// CouponFit
///     .level, .slope and .c (Estimate or NotDetermined), .curve, .doubtful.
///
/// Raises
/// ------
/// DataFileError
///     For a table without the columns, a cell that is no number, a coupon without a reading.
/// OutOfRangeError, InvalidValueError
///     For readings outside 20 to 70 HRC and holds that can't be.
/// RefusedError
///     For coupons on another scale, or a tester whose block is not near the coupons.
/// UnknownNameError
///     For a coupon to leave out that is not there.
///
/// Notes
/// -----
/// Weights are the inverse of coupon scatter² + reading sd²/n + (slope × u_temperature)² + (time slope × u_time)². A coupon
/// that the line through the others speaks against at 1 % over all coupons is left out and named; one that is only odd is
/// named and kept, unless its remark gives a cause (edge, scale, skin …). C is determined where the 95 % interval of its
/// profile closes inside 10 to 30. Readings, or coupons around their line, that differ by less than the display's step/√12
/// say nothing of the tester's scatter: it is taken as the standard permits (ASTM E18-19), and that is said.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> table = {
/// ...     "coupon": ["a", "b", "c", "d"],
/// ...     "temper_degc": [175, 200, 225, 250],
/// ...     "hold_h": [2, 2, 2, 2],
/// ...     "hrc": [61.5, 60.6, 59.1, 58.0],
/// ... }
/// >>> aq.fit_coupons(table)
/// CouponFit of 4 coupons: level 59.78 HRC [59.47 .. 60.08], slope -0.0480 HRC/°C, C not determined
#[pyfunction(name = "fit_coupons")]
#[pyo3(signature = (coupons, *, curve=None, steel=None, c=None, shape="auto", repeatability_sd_hrc=None,
    coupon_sd_hrc=None, tester=None, leave_out=Vec::new(), name=None))]
fn fit(
    py: Python<'_>,
    coupons: &Any<'_>,
    curve: Option<Any<'_>>,
    steel: Option<Any<'_>>,
    c: Option<Any<'_>>,
    #[pyo3(from_py_with = given::fit_coupons::shape)] shape: &str,
    #[pyo3(from_py_with = given::fit_coupons::repeatability_sd_hrc)] repeatability_sd_hrc: Option<f64>,
    #[pyo3(from_py_with = given::fit_coupons::coupon_sd_hrc)] coupon_sd_hrc: Option<f64>,
    tester: Option<Any<'_>>,
    #[pyo3(from_py_with = given::fit_coupons::leave_out)] leave_out: Vec<String>,
    #[pyo3(from_py_with = given::fit_coupons::name)] name: Option<&str>,
) -> PyResult<CouponFit> {
    const NAME: &str = "fit_coupons";
    let mut given = read(NAME, "coupons", coupons)?;
    let options = CouponOptions {
        base: base(NAME, curve.as_ref(), steel.as_ref())?,
        constant: c.as_ref().map(|c| belief(NAME, Some(c))).transpose()?,
        shape: LineShape::named(shape).or_raise(py)?,
        reading_sd: repeatability_sd_hrc,
        coupon_sd: coupon_sd_hrc,
        bias: bias(NAME, tester.as_ref(), &mut given)?,
        leave_out,
        name: name.map(str::to_owned),
    };
    let core = py.detach(|| fit_core(&given, &options)).or_raise(py)?;
    Ok(CouponFit { core })
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<NotDetermined>()?;
    module.add_class::<CouponFit>()?;
    module.add_function(wrap_pyfunction!(_restore_not_determined, module)?)?;
    module.add_function(wrap_pyfunction!(_restore_coupon_fit, module)?)?;
    module.add_function(wrap_pyfunction!(fit, module)?)
}

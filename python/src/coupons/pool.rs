//! Many batches together.

use afterquench::Error;
use afterquench::curve::fit::{BatchPool as Core, CouponOptions, PoolMethod, is_blank_text, pool_coupons, pool_levels};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

use super::columns::{base, bias, coupons, text_columns};
use crate::arguments::{argument_type, belief, data_frame};
use crate::errors::{OrRaise, raised};
use crate::estimate::Estimate;
use crate::given;
use crate::pickle::{Reduced, reduce, restore};

type Any<'py> = Bound<'py, PyAny>;

/// Batches of one steel together: their mean, what lies between them, each one's shrunken level.
///
/// Made by `pool_batches`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> pool = aq.pool_batches({"batch": ["a", "b", "c"], "level_hrc": [0.4, -0.5, 0.1], "u_hrc": [0.2, 0.2, 0.2]})
/// >>> pool
/// BatchPool of 3 batches: mean 0.00 HRC [-1.14 .. 1.14], between batches 0.41 HRC [0.13 .. 2.87]
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(PartialEq)]
pub struct BatchPool {
    core: Core,
}

#[pymethods]
impl BatchPool {
    /// Mean of all batches there could be, HRC.
    #[getter]
    fn mean(&self) -> Estimate {
        self.core.mean.clone().into()
    }

    /// Standard deviation between batches, HRC: the number that rules every plan for a new bar (`u_batch` of a curve).
    #[getter]
    fn between_batch_sd(&self) -> Estimate {
        self.core.between.clone().into()
    }

    /// Level of a batch that was not measured yet, HRC.
    #[getter]
    fn next_batch(&self) -> Estimate {
        self.core.next_batch.clone().into()
    }

    /// Each batch: dicts with batch, level_hrc, u_hrc and shrunken (Estimate).
    #[getter]
    fn batches<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        let rows = self.core.batches.iter().map(|batch| {
            let made = PyDict::new(py);
            made.set_item("batch", &batch.batch)?;
            made.set_item("level_hrc", batch.level)?;
            made.set_item("u_hrc", batch.u)?;
            made.set_item("shrunken", Estimate::from(batch.shrunken.clone()))?;
            Ok(made)
        });
        PyList::new(py, rows.collect::<PyResult<Vec<_>>>()?)
    }

    /// How the variance between batches was found.
    #[getter]
    fn method(&self) -> &'static str {
        self.core.method.name()
    }

    /// The chance of levels this different if all batches were the same.
    #[getter]
    fn p_same(&self) -> f64 {
        self.core.p_same
    }

    /// The batches as a pandas DataFrame.
    fn to_frame<'py>(&self, py: Python<'py>) -> PyResult<Any<'py>> {
        let columns = PyDict::new(py);
        let all = &self.core.batches;
        columns.set_item("batch", all.iter().map(|one| one.batch.as_str()).collect::<Vec<_>>())?;
        columns.set_item("level_hrc", all.iter().map(|one| one.level).collect::<Vec<_>>())?;
        columns.set_item("u_hrc", all.iter().map(|one| one.u).collect::<Vec<_>>())?;
        columns.set_item("shrunken_hrc", all.iter().map(|one| one.shrunken.value()).collect::<Vec<_>>())?;
        columns.set_item("u_shrunken_hrc", all.iter().map(|one| one.shrunken.u()).collect::<Vec<_>>())?;
        data_frame(py, &columns)
    }

    fn __repr__(&self) -> String {
        let text = |estimate: &afterquench::Estimate| {
            let (low, high) = estimate.interval(0.95).unwrap_or((f64::NAN, f64::NAN));
            format!("{:.2} HRC [{low:.2} .. {high:.2}]", estimate.value())
        };
        format!(
            "BatchPool of {} batches: mean {}, between batches {}",
            self.core.batches.len(),
            text(&self.core.mean),
            text(&self.core.between)
        )
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_batch_pool", &self.core)
    }
}

/// Rebuilds a pickled pool.
#[pyfunction]
fn _restore_batch_pool(state: &[u8]) -> PyResult<BatchPool> {
    Ok(BatchPool { core: restore(state)? })
}

/// Pools many batches of one steel: mean, standard deviation between batches, shrunken levels.
///
/// Parameters
/// ----------
/// frame : path, file, bytes, DataFrame or dict of columns
///     Either a row for each batch: batch, level_hrc, u_hrc; or coupons as `fit_coupons` takes them with a column batch.
/// curve, steel : optional
///     The base from which coupons' levels are counted; needed where they had several holds.
/// method : {"reml", "dersimonian-laird", "paule-mandel"}
///     How the variance between batches is found.
/// c, coupon_sd_hrc, tester
///     As of `fit_coupons`.
///
/// Returns
/// -------
/// BatchPool
///     .mean, .between_batch_sd (with its interval), .next_batch, .batches.
///
/// Raises
/// ------
/// NotDeterminedError
///     For fewer than three batches, or one coupon in every batch.
/// MissingArgumentError
///     For a coupon without a batch, or several holds without a base.
/// InvalidValueError
///     For levels or uncertainties that are no numbers.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> pool = aq.pool_batches({"batch": ["a", "b", "c"], "level_hrc": [0.4, -0.5, 0.1], "u_hrc": [0.2, 0.2, 0.2]})
/// >>> round(pool.between_batch_sd.value, 2)
/// 0.41
#[pyfunction(name = "pool_batches")]
#[pyo3(signature = (frame, *, curve=None, steel=None, method="reml", c=None, coupon_sd_hrc=None, tester=None))]
fn pool(
    py: Python<'_>,
    frame: &Any<'_>,
    curve: Option<Any<'_>>,
    steel: Option<Any<'_>>,
    #[pyo3(from_py_with = given::pool_batches::method)] method: &str,
    c: Option<Any<'_>>,
    #[pyo3(from_py_with = given::pool_batches::coupon_sd_hrc)] coupon_sd_hrc: Option<f64>,
    tester: Option<Any<'_>>,
) -> PyResult<BatchPool> {
    const NAME: &str = "pool_batches";
    let method = PoolMethod::named(method).or_raise(py)?;
    if let Some(levels) = levels(frame)? {
        let u_tester = match tester.as_ref().map(|tester| tester.cast::<Estimate>()) {
            Some(Ok(bias)) => bias.get().core.u(),
            Some(Err(_)) => {
                let why = "levels have their tester's bias in them already".to_owned();
                let hint = "Give tester=Estimate(0, u, \"HRC\") for what they share, or coupons".to_owned();
                return Err(argument_type(py, NAME, "tester", why, hint));
            }
            None => 0.0,
        };
        return pool_levels(&levels, method, u_tester).or_raise(py).map(|core| BatchPool { core });
    }
    let mut given = coupons(NAME, "frame", frame)?;
    let options = CouponOptions {
        base: base(NAME, curve.as_ref(), steel.as_ref())?,
        constant: c.as_ref().map(|c| belief(NAME, Some(c))).transpose()?,
        coupon_sd: coupon_sd_hrc,
        bias: bias(NAME, tester.as_ref(), &mut given)?,
        ..CouponOptions::default()
    };
    py.detach(|| pool_coupons(&given, &options, method)).or_raise(py).map(|core| BatchPool { core })
}

/// Batch, level and uncertainty where the table has such columns.
fn levels(frame: &Any<'_>) -> PyResult<Option<Vec<(String, f64, f64)>>> {
    if !(frame.hasattr("columns")? || frame.is_instance_of::<PyDict>()) {
        return Ok(None);
    }
    let columns = text_columns("pool_batches", "frame", frame)?;
    let find = |name: &str| columns.iter().find(|(known, _)| known == name).map(|(_, cells)| cells);
    let (Some(batch), Some(level), Some(u)) = (find("batch"), find("level_hrc"), find("u_hrc")) else {
        return Ok(None);
    };
    if let Some(row) = batch.iter().position(|name| is_blank_text(name)) {
        return Err(raised(
            frame.py(),
            &Error::MissingArgument {
                function: "pool_batches".into(),
                argument: "batch".into(),
                why: format!("row {} names no batch", row + 1).into(),
                hint: "Give the bar or heat of each row, or leave the row out".into(),
            },
        ));
    }
    let number = |text: &String| text.trim().replace(',', ".").parse().unwrap_or(f64::NAN);
    Ok(Some(
        batch.iter().zip(level).zip(u).map(|((batch, level), u)| (batch.clone(), number(level), number(u))).collect(),
    ))
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<BatchPool>()?;
    module.add_function(wrap_pyfunction!(_restore_batch_pool, module)?)?;
    module.add_function(wrap_pyfunction!(pool, module)?)
}

//! Array models of the core as real NumPy ufuncs, with a scalar path in front.

use std::ffi::{CString, c_char, c_int, c_void};
use std::sync::Arc;

use afterquench::Error;
use afterquench::kernel::{self, ArrayModel, Lane};
use numpy::npyffi::{PY_UFUNC_API, PyUFuncGenericFunction, PyUFuncObject};
use numpy::{PyArrayDescrMethods, PyUntypedArray, PyUntypedArrayMethods};
use pyo3::exceptions::PyException;
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;
use pyo3::types::{PyCapsule, PyDict, PyFloat, PyInt, PyTuple};

use crate::errors::{OrRaise, raised};
use crate::inner_loop::{run, why};

/// The most arguments that a model may have.
pub const MOST_ARGUMENTS: usize = 8;

/// NumPy's code for float64 in a table of loop types.
const NPY_DOUBLE: c_char = 12;

/// NumPy's code for "no identity".
const NO_IDENTITY: c_int = -1;

/// Everything a ufunc needs for as long as it lives; owned by a capsule that the ufunc holds.
pub struct Loop {
    /// What it evaluates.
    pub model: Arc<dyn ArrayModel>,
    /// Whether an element out of range refuses the call.
    pub raises: bool,
    functions: [PyUFuncGenericFunction; 1],
    data: [*mut c_void; 1],
    types: Vec<c_char>,
    name: CString,
    doc: CString,
}

// SAFETY: the pointers lead into the structure itself, which never moves and is never written after it is made.
unsafe impl Send for Loop {}
unsafe impl Sync for Loop {}

/// An array model as Python sees it: two ufuncs, one a policy, and a way to say what was wrong.
#[pyclass(module = "afterquench._native", frozen)]
pub struct Model {
    model: Arc<dyn ArrayModel>,
    #[pyo3(get)]
    raising: Py<PyAny>,
    #[pyo3(get)]
    giving_nan: Py<PyAny>,
}

#[pymethods]
impl Model {
    /// The names of the arguments, in order.
    #[getter]
    fn arguments<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        PyTuple::new(py, self.model.arguments())
    }

    /// Raises the error of a call, counted over all elements; returns if there is none.
    fn refuse(&self, py: Python<'_>, elements: Vec<Vec<f64>>, accept_out_of_range: bool) -> PyResult<()> {
        let of = elements.first().map_or(0, Vec::len);
        let mut first: Option<Error> = None;
        let mut failed = 0;
        for index in 0..of {
            let arguments: Vec<f64> =
                elements.iter().map(|lane| lane.get(index).copied().unwrap_or(f64::NAN)).collect();
            if let Err(error) = why(self.model.as_ref(), &arguments, !accept_out_of_range) {
                failed += 1;
                first.get_or_insert(error);
            }
        }
        first.map_or(Ok(()), |error| Err(raised(py, &error.counted(failed, of))))
    }
}

impl Model {
    /// Wraps a model of the core under a name.
    pub fn new(py: Python<'_>, model: Arc<dyn ArrayModel>, name: &str) -> PyResult<Self> {
        Ok(Self {
            raising: make(py, Arc::clone(&model), true, name)?,
            giving_nan: make(py, Arc::clone(&model), false, name)?,
            model,
        })
    }

    /// Evaluates one call: plain numbers at once, everything else through the ufunc and the Python layer that keeps
    /// Series, DataArrays and the rest what they were.
    pub fn call<'py>(
        slf: &Py<Self>,
        py: Python<'py>,
        arguments: &[&Bound<'py, PyAny>],
        options: &Options<'_, 'py>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let this = slf.get();
        if options.is_plain() {
            let mut values = [0.0; MOST_ARGUMENTS];
            let count = arguments.len().min(values.len());
            if arguments.iter().zip(&mut values).all(|(argument, value)| number(argument).map(|n| *value = n).is_some())
            {
                return this.scalar(py, &values[..count], options.raises);
            }
        }
        if options.mask.is_none() && arguments.iter().all(|argument| is_simple(argument)) {
            if let Some(result) = this.simple(py, arguments, options)? {
                return Ok(result);
            }
        }
        let keywords = PyDict::new(py);
        keywords.set_item("out_of_range", if options.raises { "raise" } else { "nan" })?;
        keywords.set_item("out", options.out)?;
        keywords.set_item("where", options.mask)?;
        keywords.set_item("unit", options.unit)?;
        keywords.set_item("long_name", options.long_name)?;
        array_path(py)?.call((slf, PyTuple::new(py, arguments)?), Some(&keywords))
    }

    /// Plain arrays go to the ufunc at once. None if it refuses them: the Python layer then finds out why, and counts.
    fn simple<'py>(
        &self,
        py: Python<'py>,
        arguments: &[&Bound<'py, PyAny>],
        options: &Options<'_, 'py>,
    ) -> PyResult<Option<Bound<'py, PyAny>>> {
        let ufunc = if options.raises { self.raising.bind(py) } else { self.giving_nan.bind(py) };
        let arguments = PyTuple::new(py, arguments)?;
        let result = match options.out {
            None => ufunc.call1(arguments),
            Some(out) => {
                let keywords = PyDict::new(py);
                keywords.set_item("out", out)?;
                ufunc.call(arguments, Some(&keywords))
            }
        };
        match result {
            Ok(result) => Ok(Some(result)),
            // What is not an error of the values, such as Ctrl-C, must not be tried twice.
            Err(error) if error.is_instance_of::<PyException>(py) => Ok(None),
            Err(error) => Err(error),
        }
    }

    fn scalar<'py>(&self, py: Python<'py>, values: &[f64], raises: bool) -> PyResult<Bound<'py, PyAny>> {
        let mut lanes = [Lane::One(f64::NAN); MOST_ARGUMENTS];
        for (lane, value) in lanes.iter_mut().zip(values) {
            *lane = Lane::One(*value);
        }
        let mut out = [f64::NAN];
        self.model.fill(&lanes[..values.len().min(MOST_ARGUMENTS)], &mut out);
        if out[0].is_nan() {
            why(self.model.as_ref(), values, raises).map_err(|error| raised(py, &error))?;
        }
        Ok(PyFloat::new(py, out[0]).into_any())
    }
}

/// What an array function takes beside its arguments, and what its result is.
pub struct Options<'a, 'py> {
    /// Whether an element out of range refuses the call.
    pub raises: bool,
    /// `out=` of a ufunc.
    pub out: Option<&'a Bound<'py, PyAny>>,
    /// `where=` of a ufunc.
    pub mask: Option<&'a Bound<'py, PyAny>>,
    /// Unit of the result.
    pub unit: &'static str,
    /// What the result is.
    pub long_name: &'static str,
}

impl Options<'_, '_> {
    fn is_plain(&self) -> bool {
        self.out.is_none() && self.mask.is_none()
    }
}

/// Reads the policy keyword.
pub fn raises(py: Python<'_>, function: &'static str, out_of_range: Option<&str>) -> PyResult<bool> {
    match out_of_range {
        None | Some("raise") => Ok(true),
        Some("nan") => Ok(false),
        Some(other) => Err(raised(
            py,
            &Error::UnknownName {
                kind: "out_of_range policy".into(),
                name: other.to_owned(),
                close: Vec::new(),
                hint: format!("{function} takes \"raise\" or \"nan\"; \"extrapolate\" is for the _estimate twins")
                    .into(),
            },
        )),
    }
}

/// A Python float or int as a number; anything else is for the array path.
fn number(argument: &Bound<'_, PyAny>) -> Option<f64> {
    // The exact types first: they are a comparison of pointers.
    let plain = argument.is_exact_instance_of::<PyFloat>()
        || argument.is_exact_instance_of::<PyInt>()
        || argument.is_instance_of::<PyFloat>();
    if plain { argument.extract().ok() } else { None }
}

/// A plain number, or exactly a NumPy array of real numbers: what a ufunc takes as it is.
fn is_simple(argument: &Bound<'_, PyAny>) -> bool {
    /// NumPy's codes from int8 to float64.
    const REAL: std::ops::RangeInclusive<c_int> = 1..=NPY_DOUBLE as c_int;
    if argument.is_exact_instance_of::<PyFloat>() || argument.is_exact_instance_of::<PyInt>() {
        return true;
    }
    argument.cast_exact::<PyUntypedArray>().is_ok_and(|array| REAL.contains(&array.dtype().num()))
}

fn array_path(py: Python<'_>) -> PyResult<&Bound<'_, PyAny>> {
    static PATH: PyOnceLock<Py<PyAny>> = PyOnceLock::new();
    PATH.get_or_try_init(py, || Ok(py.import("afterquench._arrays")?.getattr("call")?.unbind()))
        .map(|path| path.bind(py))
}

fn make(py: Python<'_>, model: Arc<dyn ArrayModel>, raises: bool, name: &str) -> PyResult<Py<PyAny>> {
    let nin = model.arguments().len();
    let doc = format!("{name}({})", model.arguments().join(", "));
    let mut held = Box::new(Loop {
        model,
        raises,
        functions: [Some(run)],
        data: [std::ptr::null_mut()],
        types: vec![NPY_DOUBLE; nin + 1],
        name: CString::new(name)?,
        doc: CString::new(doc)?,
    });
    held.data[0] = std::ptr::from_ref::<Loop>(&held).cast_mut().cast();
    let pointers = (
        held.functions.as_mut_ptr(),
        held.data.as_mut_ptr(),
        held.types.as_mut_ptr(),
        held.name.as_ptr(),
        held.doc.as_ptr(),
    );
    // The capsule owns the box; the box's content stays where it is.
    let capsule = PyCapsule::new_with_value(py, held, c"afterquench.loop")?;
    let nin = c_int::try_from(nin)?;
    // SAFETY: all five pointers lead into the box, which lives as long as the capsule, which the ufunc holds below.
    unsafe {
        let made = PY_UFUNC_API.PyUFunc_FromFuncAndData(
            py,
            pointers.0,
            pointers.1,
            pointers.2,
            1,
            nin,
            1,
            NO_IDENTITY,
            pointers.3,
            pointers.4,
            0,
        );
        let made = Bound::from_owned_ptr_or_err(py, made)?;
        let object = made.as_ptr().cast::<PyUFuncObject>();
        (*object).fields.obj = capsule.into_ptr();
        Ok(made.unbind())
    }
}

/// Sets how many threads array calls use.
///
/// Results do not depend on it. Small arrays stay on the calling thread whatever is set.
///
/// Parameters
/// ----------
/// count : int or None
///     Threads, at least one; None goes back to OMP_NUM_THREADS or, without it, one a processor.
///
/// Raises
/// ------
/// InvalidValueError
///     For fewer than one.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.set_threads(2)
/// >>> aq.threads()
/// 2
/// >>> aq.set_threads(None)
#[pyfunction]
fn set_threads(py: Python<'_>, count: Option<i64>) -> PyResult<()> {
    let wanted = match count {
        None => 0,
        Some(count) => usize::try_from(count).ok().filter(|&count| count > 0).ok_or_else(|| {
            raised(
                py,
                &Error::invalid(
                    "set_threads",
                    "count",
                    (count as f64, ""),
                    "is no number of threads",
                    "Give 1 or more, or None for the machine's own",
                ),
            )
        })?,
    };
    kernel::set_threads(wanted).or_raise(py)
}

/// How many threads array calls use.
///
/// Returns
/// -------
/// int
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.threads() >= 1
/// True
#[pyfunction]
fn threads() -> usize {
    kernel::threads()
}

/// Adds the class and the functions to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Model>()?;
    module.add_function(wrap_pyfunction!(set_threads, module)?)?;
    module.add_function(wrap_pyfunction!(threads, module)?)
}

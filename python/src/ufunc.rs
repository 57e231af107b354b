//! Array models of the core as real NumPy ufuncs, with a scalar path in front.

use std::ffi::{CString, c_char, c_int, c_void};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

use afterquench::kernel::{ArrayModel, Lane};
use afterquench::{Error, Result};
use numpy::npyffi::{PY_UFUNC_API, PyUFuncGenericFunction, PyUFuncObject, npy_intp};
use pyo3::exceptions::PyRuntimeError;
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;
use pyo3::types::{PyCapsule, PyDict, PyFloat, PyInt, PyTuple};

use crate::errors::raised;

/// Elements handled at a time: lanes and buffers stay in the first-level cache.
const CHUNK: usize = 1024;

/// NumPy's code for float64 in a table of loop types.
const NPY_DOUBLE: c_char = 12;

/// NumPy's code for "no identity".
const NO_IDENTITY: c_int = -1;

/// Everything a ufunc needs for as long as it lives; owned by a capsule that the ufunc holds.
struct Loop {
    model: Arc<dyn ArrayModel>,
    raises: bool,
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
            let mut values = [0.0; 8];
            let count = arguments.len().min(values.len());
            if arguments.iter().zip(&mut values).all(|(argument, value)| number(argument).map(|n| *value = n).is_some())
            {
                return this.scalar(py, &values[..count], options.raises);
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

    fn scalar<'py>(&self, py: Python<'py>, values: &[f64], raises: bool) -> PyResult<Bound<'py, PyAny>> {
        let mut lanes = [Lane::One(f64::NAN); 8];
        for (lane, value) in lanes.iter_mut().zip(values) {
            *lane = Lane::One(*value);
        }
        let mut out = [f64::NAN];
        self.model.fill(&lanes[..values.len().min(8)], &mut out);
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
    if argument.is_instance_of::<PyFloat>() || argument.is_exact_instance_of::<PyInt>() {
        argument.extract().ok()
    } else {
        None
    }
}

fn array_path(py: Python<'_>) -> PyResult<&Bound<'_, PyAny>> {
    static PATH: PyOnceLock<Py<PyAny>> = PyOnceLock::new();
    PATH.get_or_try_init(py, || Ok(py.import("afterquench._arrays")?.getattr("call")?.unbind()))
        .map(|path| path.bind(py))
}

/// Why an element came out as NaN: an argument was NaN, the policy allows it, or an error.
fn why(model: &dyn ArrayModel, arguments: &[f64], raises: bool) -> Result<()> {
    if arguments.iter().any(|value| value.is_nan()) {
        return Ok(());
    }
    model.explain(arguments).or_else(|error| if raises || !error.is_out_of_range() { Err(error) } else { Ok(()) })
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

/// Invalid, zero divide, overflow, underflow: the low five bits on every platform that wheels are built for.
const FLOATING_POINT_FLAGS: c_int = 0x1f;

unsafe extern "C" {
    /// Of C's <fenv.h>. NumPy turns raised flags into warnings, yet comparing a NaN raises one, and what NaN means
    /// here is decided by the policies, not by flags.
    fn feclearexcept(flags: c_int) -> c_int;
}

/// The inner loop of every ufunc here. NumPy calls it without the interpreter's lock.
unsafe extern "C" fn run(args: *mut *mut c_char, dims: *mut npy_intp, steps: *mut npy_intp, data: *mut c_void) {
    let outcome = catch_unwind(AssertUnwindSafe(|| {
        // SAFETY: `data` is the `Loop` that `make` stored, and NumPy hands nin + 1 operands of `dims[0]` elements.
        unsafe {
            let held = &*data.cast::<Loop>();
            let count = usize::try_from(*dims).unwrap_or(0);
            let nin = held.types.len() - 1;
            let operands: Vec<Operand> =
                (0..=nin).map(|i| Operand { pointer: *args.add(i), step: *steps.add(i) }).collect();
            let outcome = walk(held, &operands, count);
            feclearexcept(FLOATING_POINT_FLAGS);
            outcome
        }
    }));
    let problem = match outcome {
        Ok(Ok(())) => return,
        Ok(Err(error)) => Some(error),
        Err(_) => None,
    };
    set_error(problem);
}

/// Leaves an exception for NumPy to find, unless one is set; `None` stands for a panic.
///
/// The lock is taken by hand: NumPy gives it up without pyo3's knowledge, so `Python::attach` would think it is held.
fn set_error(problem: Option<Error>) {
    // SAFETY: Ensure and Release are paired, and between them this thread holds the lock.
    unsafe {
        let state = pyo3::ffi::PyGILState_Ensure();
        let py = Python::assume_attached();
        if !PyErr::occurred(py) {
            match problem {
                Some(error) => raised(py, &error),
                None => PyRuntimeError::new_err("a kernel panicked; please report this call"),
            }
            .restore(py);
        }
        pyo3::ffi::PyGILState_Release(state);
    }
}

#[derive(Clone, Copy)]
struct Operand {
    pointer: *mut c_char,
    step: npy_intp,
}

impl Operand {
    const WIDTH: npy_intp = size_of::<f64>() as npy_intp;

    fn at(self, index: usize) -> *mut f64 {
        self.pointer.wrapping_offset(self.step * index as npy_intp).cast()
    }

    fn is_dense(self) -> bool {
        self.step == Self::WIDTH && (self.pointer as usize).is_multiple_of(align_of::<f64>())
    }

    /// Whether writing through `out` could change what is still to be read here.
    fn overlaps(self, out: Self, count: usize) -> bool {
        let span = |operand: Self| {
            let first = operand.at(0) as usize;
            let last = operand.at(count.saturating_sub(1)) as usize;
            (first.min(last), first.max(last) + size_of::<f64>())
        };
        let (a, b) = (span(self), span(out));
        a.0 < b.1 && b.0 < a.1
    }
}

/// Walks the operands chunk by chunk; operands that are not dense, or overlap the result, are copied first.
unsafe fn walk(held: &Loop, operands: &[Operand], count: usize) -> Result<()> {
    let Some((&out, inputs)) = operands.split_last() else { return Ok(()) };
    let direct: Vec<bool> = inputs.iter().map(|input| input.is_dense() && !input.overlaps(out, count)).collect();
    let mut buffers = vec![[0.0f64; CHUNK]; inputs.len() + 1];
    let mut first: Option<Error> = None;
    let mut failed = 0;
    for start in (0..count).step_by(CHUNK) {
        let length = CHUNK.min(count - start);
        let Some((result, copies)) = buffers.split_last_mut() else { return Ok(()) };
        let lanes: Vec<Lane<'_>> = inputs
            .iter()
            .zip(&direct)
            .zip(copies.iter_mut())
            .map(|((input, &direct), copy)| {
                // SAFETY: NumPy guarantees `count` readable elements at these steps; reads may be unaligned.
                unsafe {
                    if input.step == 0 {
                        Lane::One(input.at(0).read_unaligned())
                    } else if direct {
                        Lane::Each(std::slice::from_raw_parts(input.at(start), length))
                    } else {
                        for (offset, value) in copy[..length].iter_mut().enumerate() {
                            *value = input.at(start + offset).read_unaligned();
                        }
                        Lane::Each(&copy[..length])
                    }
                }
            })
            .collect();
        // SAFETY: as above for writing; a dense result overlaps no lane, since overlapping inputs were copied.
        let values = unsafe {
            if out.is_dense() { std::slice::from_raw_parts_mut(out.at(start), length) } else { &mut result[..length] }
        };
        held.model.fill(&lanes, values);
        if values.iter().fold(false, |any, value| any | value.is_nan()) {
            for index in (0..length).filter(|&index| values[index].is_nan()) {
                let arguments: Vec<f64> = lanes.iter().map(|lane| lane.at(index)).collect();
                if let Err(error) = why(held.model.as_ref(), &arguments, held.raises) {
                    failed += 1;
                    first.get_or_insert(error);
                }
            }
        }
        if !out.is_dense() {
            for (offset, value) in values.iter().enumerate() {
                // SAFETY: within the `count` elements of the result.
                unsafe { out.at(start + offset).write_unaligned(*value) };
            }
        }
    }
    first.map_or(Ok(()), |error| Err(error.counted(failed, count)))
}

/// Adds the class to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Model>()
}

//! The inner loop of every ufunc here: operands as NumPy hands them over, cut into chunks and shared among threads.

use std::ffi::{c_char, c_int, c_void};
use std::panic::{AssertUnwindSafe, catch_unwind};

use afterquench::kernel::{ArrayModel, Lane, in_parts};
use afterquench::{Error, Result};
use numpy::npyffi::npy_intp;
use pyo3::exceptions::PyRuntimeError;
use pyo3::prelude::*;

use crate::errors::raised;
use crate::ufunc::{Loop, MOST_ARGUMENTS};

/// Elements handled at a time: lanes and buffers stay in the first-level cache.
const CHUNK: usize = 1024;

/// Elements after which a long call looks for Ctrl-C.
const UNINTERRUPTED: usize = 1 << 24;

/// Invalid, zero divide, overflow, underflow: the low five bits on every platform that wheels are built for.
const FLOATING_POINT_FLAGS: c_int = 0x1f;

unsafe extern "C" {
    /// Of C's <fenv.h>. NumPy turns raised flags into warnings, yet comparing a NaN raises one, and what NaN means
    /// here is decided by the policies, not by flags.
    fn feclearexcept(flags: c_int) -> c_int;
    /// Which flags are raised: much cheaper than lowering them, and mostly the answer is none.
    fn fetestexcept(flags: c_int) -> c_int;
}

/// The inner loop. NumPy calls it without the interpreter's lock.
///
/// # Safety
/// `data` is a `Loop`, and there are as many operands of `dims[0]` elements as it has arguments, and one more.
pub unsafe extern "C" fn run(args: *mut *mut c_char, dims: *mut npy_intp, steps: *mut npy_intp, data: *mut c_void) {
    let outcome = catch_unwind(AssertUnwindSafe(|| {
        // SAFETY: the caller's; both arrays have nin + 1 elements.
        unsafe {
            let held = &*data.cast::<Loop>();
            let count = usize::try_from(*dims).unwrap_or(0);
            let nin = held.model.arguments().len().min(MOST_ARGUMENTS);
            let operand = |i: usize| Operand { pointer: *args.add(i), step: *steps.add(i) };
            let mut inputs = [operand(nin); MOST_ARGUMENTS];
            for (index, input) in inputs.iter_mut().enumerate().take(nin) {
                *input = operand(index);
            }
            let call = Call { held, inputs: &inputs[..nin], out: operand(nin), count };
            let mut seen = Seen::default();
            for start in (0..count).step_by(UNINTERRUPTED) {
                let length = UNINTERRUPTED.min(count - start);
                let parts = in_parts(length, CHUNK, |part| call.walk(start + part.start, start + part.end));
                seen = parts.into_iter().fold(seen, Seen::and);
                if start + length < count && interrupted() {
                    return Ok(());
                }
            }
            if fetestexcept(FLOATING_POINT_FLAGS) != 0 {
                feclearexcept(FLOATING_POINT_FLAGS);
            }
            seen.into_result(count)
        }
    }));
    match outcome {
        Ok(Ok(())) => {}
        Ok(Err(error)) => set_error(Some(&error)),
        Err(_) => set_error(None),
    }
}

/// Leaves an exception for NumPy to find, unless one is set; `None` stands for a panic.
///
/// The lock is taken by hand: NumPy gives it up without pyo3's knowledge, so `Python::attach` would think it is held.
fn set_error(problem: Option<&Error>) {
    // SAFETY: Ensure and Release are paired, and between them this thread holds the lock.
    unsafe {
        let state = pyo3::ffi::PyGILState_Ensure();
        let py = Python::assume_attached();
        if !PyErr::occurred(py) {
            match problem {
                Some(error) => raised(py, error),
                None => PyRuntimeError::new_err("a kernel panicked; please report this call"),
            }
            .restore(py);
        }
        pyo3::ffi::PyGILState_Release(state);
    }
}

/// Whether a signal handler raised, as Ctrl-C does; its exception stays set for NumPy to find.
fn interrupted() -> bool {
    // SAFETY: as in `set_error`.
    unsafe {
        let state = pyo3::ffi::PyGILState_Ensure();
        let raised = pyo3::ffi::PyErr_CheckSignals() != 0;
        pyo3::ffi::PyGILState_Release(state);
        raised
    }
}

/// What was refused among the elements of a part.
#[derive(Default)]
struct Seen {
    first: Option<Error>,
    failed: usize,
}

impl Seen {
    fn and(self, later: Self) -> Self {
        Self { first: self.first.or(later.first), failed: self.failed + later.failed }
    }

    fn into_result(self, count: usize) -> Result<()> {
        self.first.map_or(Ok(()), |error| Err(error.counted(self.failed, count)))
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
        self.step == Self::WIDTH && self.pointer as usize % align_of::<f64>() == 0
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

/// One call of the loop.
struct Call<'a> {
    held: &'a Loop,
    inputs: &'a [Operand],
    out: Operand,
    count: usize,
}

// SAFETY: threads write disjoint ranges of the result. Where inputs share memory with it, NumPy has made sure that an
// element of the result shares it with the same element of the input only.
unsafe impl Sync for Call<'_> {}

impl Call<'_> {
    /// Does elements `from..to`; operands that are not dense, or overlap the result, are copied chunk by chunk.
    ///
    /// # Safety
    /// All operands have `to` elements.
    unsafe fn walk(&self, from: usize, to: usize) -> Seen {
        let (out, model) = (self.out, self.held.model.as_ref());
        let direct = |input: &Operand| input.step == 0 || (input.is_dense() && !input.overlaps(out, self.count));
        let mut is_direct = [true; MOST_ARGUMENTS];
        for (direct_here, input) in is_direct.iter_mut().zip(self.inputs) {
            *direct_here = direct(input);
        }
        let copies = is_direct.iter().filter(|direct| !**direct).count() + usize::from(!out.is_dense());
        let mut buffers = vec![[0.0f64; CHUNK]; copies];
        let mut seen = Seen::default();
        for start in (from..to).step_by(CHUNK) {
            let length = CHUNK.min(to - start);
            let mut free = buffers.iter_mut();
            let mut lanes = [Lane::One(f64::NAN); MOST_ARGUMENTS];
            for ((lane, input), &direct) in lanes.iter_mut().zip(self.inputs).zip(&is_direct) {
                // SAFETY: NumPy guarantees `count` readable elements at these steps; reads may be unaligned.
                *lane = unsafe {
                    if input.step == 0 {
                        Lane::One(input.at(0).read_unaligned())
                    } else if direct {
                        Lane::Each(std::slice::from_raw_parts(input.at(start), length))
                    } else if let Some(copy) = free.next() {
                        for (offset, value) in copy.iter_mut().enumerate().take(length) {
                            *value = input.at(start + offset).read_unaligned();
                        }
                        Lane::Each(&copy[..length])
                    } else {
                        Lane::One(f64::NAN)
                    }
                };
            }
            let lanes = &lanes[..self.inputs.len()];
            let values = match free.next() {
                Some(buffer) if !out.is_dense() => &mut buffer[..length],
                // SAFETY: as above for writing; a dense result overlaps no lane, since overlapping inputs were copied.
                _ => unsafe { std::slice::from_raw_parts_mut(out.at(start), length) },
            };
            model.fill(lanes, values);
            if any_nan(values) {
                seen = seen.and(refused(model, lanes, values, self.held.raises));
            }
            if !out.is_dense() {
                for (offset, value) in values.iter().enumerate() {
                    // SAFETY: within the `count` elements of the result.
                    unsafe { out.at(start + offset).write_unaligned(*value) };
                }
            }
        }
        seen
    }
}

/// Whether there is a NaN, in eight strands that a vector unit can take side by side.
fn any_nan(values: &[f64]) -> bool {
    let mut strands = [false; 8];
    let chunks = values.chunks_exact(8);
    let rest = chunks.remainder().iter().any(|value| value.is_nan());
    for chunk in chunks {
        for (strand, value) in strands.iter_mut().zip(chunk) {
            *strand |= value.is_nan();
        }
    }
    rest | strands.into_iter().any(|strand| strand)
}

/// The elements among these whose NaN is an error.
#[cold]
fn refused(model: &dyn ArrayModel, lanes: &[Lane<'_>], values: &[f64], raises: bool) -> Seen {
    let mut seen = Seen::default();
    for (index, _) in values.iter().enumerate().filter(|(_, value)| value.is_nan()) {
        let arguments: Vec<f64> = lanes.iter().map(|lane| lane.at(index)).collect();
        if let Err(error) = why(model, &arguments, raises) {
            seen = seen.and(Seen { first: Some(error), failed: 1 });
        }
    }
    seen
}

/// Why an element came out as NaN: an argument was NaN, the policy allows it, or an error.
pub fn why(model: &dyn ArrayModel, arguments: &[f64], raises: bool) -> Result<()> {
    if arguments.iter().any(|value| value.is_nan()) {
        return Ok(());
    }
    model.explain(arguments).or_else(|error| if raises || !error.is_out_of_range() { Err(error) } else { Ok(()) })
}

//! What an array model is, and how its arguments come.

use crate::error::{Error, Result};

/// One argument of an array call: one value for all elements, or one value each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Lane<'a> {
    /// The same value for every element, so that work on it is done once.
    One(f64),
    /// One value an element.
    Each(&'a [f64]),
}

impl Lane<'_> {
    /// The value of element `index`; NaN past the end.
    #[must_use]
    pub fn at(&self, index: usize) -> f64 {
        match self {
            Self::One(value) => *value,
            Self::Each(values) => values.get(index).copied().unwrap_or(f64::NAN),
        }
    }

    /// The part of the lane for elements `from..to`.
    #[must_use]
    pub fn part(&self, from: usize, to: usize) -> Self {
        match self {
            Self::One(value) => Self::One(*value),
            Self::Each(values) => Self::Each(values.get(from..to).unwrap_or(&[])),
        }
    }
}

/// A function of a few numbers, evaluated over arrays.
///
/// `fill` never fails: an element that the model refuses, or that has a NaN argument, comes out as NaN. Whoever sees
/// a NaN that no argument explains asks `explain` why.
pub trait ArrayModel: Send + Sync {
    /// The names of the arguments, in order.
    fn arguments(&self) -> &[&'static str];

    /// Evaluates every element of `out`; all `Each` lanes are as long as `out`.
    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]);

    /// Why one set of arguments is refused.
    ///
    /// # Errors
    /// What is wrong with the arguments; `Ok` when nothing is.
    fn explain(&self, arguments: &[f64]) -> Result<()>;
}

/// Evaluates a model for one set of arguments; NaN among them gives NaN.
///
/// # Errors
/// Whatever the model finds wrong with the arguments.
pub fn evaluate_one(model: &dyn ArrayModel, arguments: &[f64]) -> Result<f64> {
    let lanes: Vec<_> = arguments.iter().map(|&value| Lane::One(value)).collect();
    let mut out = [f64::NAN];
    model.fill(&lanes, &mut out);
    if out[0].is_nan() && !arguments.iter().any(|value| value.is_nan()) {
        model.explain(arguments)?;
        return Err(Error::NoAnswer {
            model: "kernel".into(),
            asked: format!("{arguments:?}").into(),
            why: "the result is not a number".into(),
            hint: "Please report this call".into(),
        });
    }
    Ok(out[0])
}

//! What can go wrong, as data: every refusal names the model, the argument, the value, the bound and whose bound it is.
//!
//! The rooms share the *kinds* of failure, so the kinds live here once; Python has one exception class for each.

use std::borrow::Cow;

/// A piece of text that is usually static.
pub type Text = Cow<'static, str>;

/// `Result` with the crate's [`Error`].
pub type Result<T> = std::result::Result<T, Error>;

/// Why an answer was refused. Every variant carries fields, and its message says what to do next.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// A value lies outside the range its model or table was published for.
    #[error(
        "{model}: {argument} = {value} {unit} lies outside {low} to {high} {unit}, the range stated by {stated_by}{}. {hint}",
        of_many(*failed, *of)
    )]
    OutOfRange {
        /// Identifier of the model or table.
        model: Text,
        /// Name of the argument, as the caller knows it.
        argument: Text,
        /// The first value refused, as the caller wrote it.
        value: f64,
        /// Unit of value and bounds.
        unit: Text,
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
        /// Whose bound it is.
        stated_by: Text,
        /// How many elements failed.
        failed: usize,
        /// Out of how many.
        of: usize,
        /// What to do.
        hint: Text,
    },
    /// A value that no policy accepts: infinite, a time that is not positive, a temperature at or below absolute zero.
    #[error("{model}: {argument} = {value} {unit} {why}{}. {hint}", of_many(*failed, *of))]
    InvalidValue {
        /// Identifier of the model.
        model: Text,
        /// Name of the argument.
        argument: Text,
        /// The first value refused.
        value: f64,
        /// Its unit.
        unit: Text,
        /// Why it can't be, as the rest of the sentence "value …".
        why: Text,
        /// How many elements failed.
        failed: usize,
        /// Out of how many.
        of: usize,
        /// What to do.
        hint: Text,
    },
    /// A call that leaves open something it must say.
    #[error("{function}: {argument} is missing: {why}. {hint}")]
    MissingArgument {
        /// The call.
        function: Text,
        /// What it lacks.
        argument: Text,
        /// Why it can't be guessed.
        why: Text,
        /// The choices.
        hint: Text,
    },
    /// A name that is not in its list.
    #[error("no {kind} named '{}'{} {hint}", shortened(name), close_matches(close))]
    UnknownName {
        /// What kind of name: steel, scale, table …
        kind: Text,
        /// The name asked for.
        name: String,
        /// Names that look like it.
        close: Vec<String>,
        /// Where the list is.
        hint: Text,
    },
    /// A question with more than one answer, asked as if it had one.
    #[error("{model}: {asked} has {} answers: {}. {hint}", answers.len(), listed(answers, unit))]
    SeveralAnswers {
        /// Identifier of the model.
        model: Text,
        /// What was asked.
        asked: Text,
        /// Every answer.
        answers: Vec<f64>,
        /// Their unit.
        unit: Text,
        /// How to choose.
        hint: Text,
    },
    /// A question without an answer: physics or the data say no.
    #[error("{model}: {asked} has no answer: {why}. {hint}")]
    NoAnswer {
        /// Identifier of the model.
        model: Text,
        /// What was asked.
        asked: Text,
        /// Why there is none.
        why: Text,
        /// What to do instead.
        hint: Text,
    },
    /// The data do not settle the question.
    #[error("{what} is not determined: {why}. It would be by {would_determine}")]
    NotDetermined {
        /// The quantity.
        what: Text,
        /// Why the data do not give it.
        why: Text,
        /// What would.
        would_determine: Text,
    },
    /// Something the library will not do, with the reason.
    #[error("{what} is refused: {why}. {instead}")]
    Refused {
        /// What was asked for.
        what: Text,
        /// Why it is refused.
        why: Text,
        /// What to do instead.
        instead: Text,
    },
    /// A file that can't be read as what it should be.
    #[error("{file}{}: {why}. {hint}", place(*line, column.as_deref()))]
    DataFile {
        /// The file, or what stands for it.
        file: String,
        /// Line number from 1, where known.
        line: Option<usize>,
        /// Column name, where known.
        column: Option<String>,
        /// What is wrong.
        why: Text,
        /// What would settle it.
        hint: Text,
    },
}

impl Error {
    /// The refusal of one value that no policy accepts, with its unit: why it can't be, and what to do.
    #[must_use]
    pub fn invalid(
        model: impl Into<Text>,
        argument: impl Into<Text>,
        (value, unit): (f64, impl Into<Text>),
        why: impl Into<Text>,
        hint: impl Into<Text>,
    ) -> Self {
        Self::InvalidValue {
            model: model.into(),
            argument: argument.into(),
            value,
            unit: unit.into(),
            why: why.into(),
            failed: 1,
            of: 1,
            hint: hint.into(),
        }
    }

    /// The refusal of one value, with its unit, outside a range that somebody stated, and what to do.
    #[must_use]
    pub fn outside(
        model: impl Into<Text>,
        argument: impl Into<Text>,
        (value, unit): (f64, impl Into<Text>),
        (low, high): (f64, f64),
        stated_by: impl Into<Text>,
        hint: impl Into<Text>,
    ) -> Self {
        Self::OutOfRange {
            model: model.into(),
            argument: argument.into(),
            value,
            unit: unit.into(),
            low,
            high,
            stated_by: stated_by.into(),
            failed: 1,
            of: 1,
            hint: hint.into(),
        }
    }

    /// The same error after all elements of an array call were counted.
    #[must_use]
    pub fn counted(mut self, failed_now: usize, of_now: usize) -> Self {
        match &mut self {
            Self::OutOfRange { failed, of, .. } | Self::InvalidValue { failed, of, .. } => {
                *failed = failed_now;
                *of = of_now;
            }
            _ => {}
        }
        self
    }

    /// The same refusal with the reason why another way was closed too.
    #[must_use]
    pub fn because(mut self, other: &Self) -> Self {
        if let Self::NotDetermined { why, .. } = &mut self {
            *why = format!("{why}, and its composition gives no answer ({other})").into();
        }
        self
    }

    /// The same for a value outside a range, with what to do there where a model knows more than "check the unit".
    #[must_use]
    pub fn advising(mut self, advice: impl Into<Text>) -> Self {
        if let Self::OutOfRange { hint, .. } = &mut self {
            *hint = advice.into();
        }
        self
    }

    /// Whether only the out-of-range policy decides about this error; every other kind is an error under all policies.
    #[must_use]
    pub const fn is_out_of_range(&self) -> bool {
        matches!(self, Self::OutOfRange { .. })
    }
}

fn of_many(failed: usize, of: usize) -> String {
    if of > 1 { format!("; {failed} of {of} elements do") } else { String::new() }
}

fn close_matches(close: &[String]) -> String {
    if close.is_empty() { ".".to_owned() } else { format!("; did you mean {}?", close.join(", ")) }
}

/// A name as far as anybody reads it.
fn shortened(name: &str) -> String {
    const READ: usize = 60;
    if name.chars().count() <= READ { name.to_owned() } else { name.chars().take(READ).chain("…".chars()).collect() }
}

fn listed(answers: &[f64], unit: &str) -> String {
    let shown: Vec<_> = answers.iter().map(|a| format!("{a:.1}")).collect();
    format!("{} {unit}", shown.join(", "))
}

fn place(line: Option<usize>, column: Option<&str>) -> String {
    match (line, column) {
        (Some(line), Some(column)) => format!(", line {line}, column {column}"),
        (Some(line), None) => format!(", line {line}"),
        (None, Some(column)) => format!(", column {column}"),
        (None, None) => String::new(),
    }
}

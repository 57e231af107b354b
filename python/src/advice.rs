//! Bindings of `plan`'s advice: questions that a caution with its source answers.

use afterquench::plan::{Advice as Core, advice as core_advice, advice_topics as core_topics};
use pyo3::prelude::*;

use crate::arguments::argument_type;
use crate::errors::OrRaise;

type Any<'py> = Bound<'py, PyAny>;

/// What is known about a question of the bench: rules beside their sources, what is not computed, cautions.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.advice("cold treatment").not_computed
/// 'how much retained austenite there is and what the cold makes of it'
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct Advice {
    core: Core,
    steel: Option<String>,
}

#[pymethods]
impl Advice {
    /// Its short name.
    #[getter]
    fn topic(&self) -> &str {
        self.core.topic
    }

    /// The question in full.
    #[getter]
    fn question(&self) -> &str {
        self.core.question
    }

    /// The rules, each with its source in brackets; where sources differ, both.
    #[getter]
    fn says(&self) -> Vec<String> {
        self.core.says.clone()
    }

    /// The sources of the rules, each once.
    #[getter]
    fn sources(&self) -> Vec<String> {
        self.core.sources.clone()
    }

    /// What nobody can compute from what an oven and a tester know.
    #[getter]
    fn not_computed(&self) -> &str {
        self.core.not_computed
    }

    /// What keeps people from harm while they do it.
    #[getter]
    fn cautions(&self) -> Vec<String> {
        self.core.cautions.clone()
    }

    fn __repr__(&self) -> String {
        let of = self.steel.as_ref().map_or_else(String::new, |steel| format!(" ({steel})"));
        format!("{}{of} Not computed: {}. {}", self.core.question, self.core.not_computed, self.core.says.join(" "))
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<(Any<'py>, (&str, Option<&str>))> {
        Ok((py.import("afterquench._native")?.getattr("advice")?, (self.core.topic, self.steel.as_deref())))
    }
}

/// What is known about a question that no arithmetic answers.
///
/// Parameters
/// ----------
/// topic : str
///     One of `advice_topics()`.
/// steel : str or Steel, optional
///     Leaves out the printed rules that are for other steels.
///
/// Returns
/// -------
/// Advice
///     With .says (each rule with its source), .not_computed and .cautions.
///
/// Raises
/// ------
/// UnknownNameError
///     No such topic, or no such steel.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.advice("straightening").says[1]
/// "Never below the temper's own heat on a hard part: cold straightening of glass-hard steel is how it breaks, and pieces fly [common practice, no source]"
#[pyfunction]
#[pyo3(signature = (topic, steel=None))]
fn advice(py: Python<'_>, topic: &str, steel: Option<&Any<'_>>) -> PyResult<Advice> {
    let named = |given: &Any<'_>| {
        given.extract::<String>().or_else(|_| given.getattr("name")?.extract()).map_err(|_: PyErr| {
            let why = format!("{given} is no steel");
            argument_type(py, "advice", "steel", why, "Give a name of steels(), or a Steel".into())
        })
    };
    let known = steel.map(named).transpose()?.map(|name| afterquench::steel::steel(&name).or_raise(py)).transpose()?;
    let core = core_advice(topic, known.as_ref().map(AsRef::as_ref)).or_raise(py)?;
    Ok(Advice { core, steel: known.map(|steel| steel.name().to_owned()) })
}

/// The topics that `advice` knows, in the order people ask.
///
/// Returns
/// -------
/// list of str
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.advice_topics()[:2]
/// ['how soon', 'cold treatment']
#[pyfunction]
fn advice_topics() -> Vec<&'static str> {
    core_topics()
}

pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Advice>()?;
    module.add_function(wrap_pyfunction!(advice, module)?)?;
    module.add_function(wrap_pyfunction!(advice_topics, module)?)
}

//! Did the hardening work?

use afterquench::curve::HardnessAfterTemper;
use afterquench::steel::{self, HardeningJudgement as Core, expected_from_carbon};
use pyo3::prelude::*;
use pyo3::types::PyString;

use super::{CompositionSteel, Steel};
use crate::arguments::{argument_type, measured, number};
use crate::errors::OrRaise;
use crate::estimate::Estimate;
use crate::pickle::{Reduced, reduce, restore};

type Any<'py> = Bound<'py, PyAny>;

/// Whether a part hardened, with what the answer rests on. Made by `judge_hardening`.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.judge_hardening(65.5, "1084").verdict
/// 'hardened'
#[pyclass(module = "afterquench._native", frozen, eq)]
#[derive(Clone, PartialEq)]
pub struct HardeningJudgement {
    core: Core,
}

#[pymethods]
impl HardeningJudgement {
    /// "hardened", "not hardened" or "not decided".
    #[getter]
    fn verdict(&self) -> &'static str {
        self.core.verdict.name()
    }

    /// The reading, HRC.
    #[getter]
    fn reading_hrc(&self) -> f64 {
        self.core.reading_hrc
    }

    /// What full hardening lets expect, HRC.
    #[getter]
    fn expected_hrc(&self) -> Estimate {
        afterquench::Estimate::new(self.core.expected.hrc, "HRC").with("expected", self.core.expected.u).into()
    }

    /// The lowest that full hardening gives, HRC.
    #[getter]
    fn lowest_hrc(&self) -> f64 {
        self.core.lowest_hrc
    }

    /// The share of martensite at which such carbon reads this, 0.5 to 0.99, or None outside the table of Hodge and
    /// Orehoski.
    #[getter]
    fn martensite(&self) -> Option<f64> {
        self.core.martensite
    }

    /// Why, in a sentence.
    #[getter]
    fn why(&self) -> &str {
        &self.core.why
    }

    /// What else it may be, and what to do.
    #[getter]
    fn cautions(&self) -> Vec<String> {
        self.core.cautions.clone()
    }

    fn __repr__(&self) -> String {
        format!("{}: {}", self.verdict(), self.why())
    }

    fn __bool__(&self) -> PyResult<bool> {
        Err(pyo3::exceptions::PyTypeError::new_err(
            "a judgement has three answers, so it is neither true nor false: compare .verdict with \"hardened\"",
        ))
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Reduced<'py>> {
        reduce(py, "_restore_hardening_judgement", &self.core)
    }
}

/// Rebuilds a pickled judgement.
#[pyfunction]
fn _restore_hardening_judgement(state: &[u8]) -> PyResult<HardeningJudgement> {
    Ok(HardeningJudgement { core: restore(state)? })
}

/// Whether a part hardened: its reading out of the quench against what the steel lets expect.
///
/// Parameters
/// ----------
/// reading_hrc : float or Estimate
///     As-quenched hardness, HRC, 20 to 70: the mean of a place's indentations, on metal without scale and
///     decarburised skin.
/// steel : str, Steel, CompositionSteel or float
///     What it is: of a steel its `as_quenched_hrc`, by which `plan` judges too; a number is carbon in weight per cent, 0.2
///     to 1.2.
/// u_reading : float
///     Standard uncertainty of a plain number, HRC; an Estimate brings its own.
///
/// Returns
/// -------
/// HardeningJudgement
///     .verdict is "hardened", "not hardened" or "not decided"; .why and .cautions say more.
///
/// Raises
/// ------
/// OutOfRangeError
///     For a reading off the scale, or carbon outside the range.
/// InvalidValueError
///     For a reading that is no number.
/// NotDeterminedError
///     For a steel whose as-quenched hardness is neither printed nor given by its carbon.
///
/// Examples
/// --------
/// >>> import afterquench as aq
/// >>> aq.judge_hardening(50, 0.45).verdict, aq.judge_hardening(50, 0.45).martensite is not None
/// ('not hardened', True)
#[pyfunction]
#[pyo3(signature = (reading_hrc, steel, *, u_reading=0.5))]
fn judge_hardening(
    py: Python<'_>,
    reading_hrc: &Any<'_>,
    steel: &Any<'_>,
    u_reading: f64,
) -> PyResult<HardeningJudgement> {
    const NAME: &str = "judge_hardening";
    if reading_hrc.is_instance_of::<PyString>() || reading_hrc.is_instance_of::<Steel>() {
        let hint = "The reading first, then the steel: judge_hardening(64, \"1084\")".to_owned();
        return Err(argument_type(py, NAME, "reading_hrc", "it is no reading".to_owned(), hint));
    }
    let reading = measured(NAME, "reading_hrc", reading_hrc, false)?;
    let u = if reading_hrc.is_instance_of::<Estimate>() { reading.u } else { u_reading };
    let of_a_steel = |known: &steel::Steel| -> afterquench::Result<_> {
        let composition = known.composition();
        let carbon = composition.iter().find(|(symbol, _)| symbol == "C").map_or(f64::NAN, |(_, percent)| *percent);
        let expected = match known.as_quenched() {
            Some(band) => band,
            None => known.by_composition()?.expected_as_quenched(),
        };
        Ok((expected, Some(carbon)))
    };
    let (expected, carbon) = if let Ok(name) = steel.cast::<PyString>() {
        steel::steel(name.to_str()?).and_then(|known| of_a_steel(known)).or_raise(py)?
    } else if let Ok(known) = steel.cast::<Steel>() {
        of_a_steel(known.get().core()).or_raise(py)?
    } else if let Ok(composed) = steel.cast::<CompositionSteel>() {
        let core = composed.get().core();
        (core.hardened().unwrap_or_else(|| core.expected_as_quenched()), Some(core.amounts().of("C")))
    } else {
        let carbon = number(NAME, "steel", steel).map_err(|_| {
            let why = "it is neither a steel nor a carbon content".to_owned();
            argument_type(
                py,
                NAME,
                "steel",
                why,
                "Give a name, a Steel, a CompositionSteel or weight per cent".to_owned(),
            )
        })?;
        (expected_from_carbon(carbon).or_raise(py)?, Some(carbon))
    };
    let core = steel::judge_hardening(reading.value, u, expected, carbon).or_raise(py)?;
    Ok(HardeningJudgement { core })
}

/// Adds the file to the module.
pub fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<HardeningJudgement>()?;
    module.add_function(wrap_pyfunction!(_restore_hardening_judgement, module)?)?;
    module.add_function(wrap_pyfunction!(judge_hardening, module)?)
}

//! What an as-quenched reading says: a check that the hardening worked, and a small shift that fades.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, Text};
use crate::record::{ModelRecord, Origin, Scatter, Source, ValidRange, check_finite};

/// The record of the rule.
pub static AS_QUENCHED_CONDITIONING: ModelRecord = ModelRecord {
    id: "curve.as_quenched_conditioning",
    gives: "shift of a tempering curve by an as-quenched reading",
    unit: "HRC",
    formula: "shift = w d exp(-(A0 - H)/10 HRC), w = u0² / (u0² + 0.5²), d = what A - A0 exceeds the reading's error of \
              0.5 HRC by; A read, A0 ± u0 expected, H on the curve; A < A0 - 2.5 √(u0² + 0.5²): the hardening failed; \
              A > A0 + 2.5 √(u0² + 0.5²): not this steel or not that hardness; where no A0 is known, the curve's hardness \
              after its mildest temper stands for A0 in the check for failed hardening alone",
    ranges: &[ValidRange {
        argument: "as_quenched_hrc",
        unit: "HRC",
        low: 20.0,
        high: 70.0,
        stated_by: "the range of the Rockwell C scale for steel",
    }],
    scatter: Scatter::Known { u: 0.5, unit: "HRC", found: "assumption: one reading with its tester" },
    sources: &[Source {
        cite: "assumption: a deviation is shared between reading error and steel, and dies out as the temper proceeds",
        at: "no source; the fade length of 10 HRC is a choice",
        origin: Origin::CommonPractice,
    }],
    errata: &[],
    not_for: "scaling a curve: the as-quenched hardness is a check that hardening worked",
};

/// One standard uncertainty of an as-quenched reading, HRC (assumption of the record).
const U_READING: f64 = 0.5;

/// HRC over which a deviation fades to a third.
const FADE: f64 = 10.0;

/// Standard uncertainties below the expected value at which the hardening is taken to have failed.
const FAILED_AT: f64 = 2.5;

/// The as-quenched hardness that belongs to a curve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct AsQuenched {
    /// Expected value, HRC.
    pub hrc: f64,
    /// One standard uncertainty of it.
    pub u: f64,
}

impl AsQuenched {
    /// The lowest reading that still says the hardening worked.
    #[must_use]
    pub fn lowest(self) -> f64 {
        self.hrc - FAILED_AT * self.u.hypot(U_READING)
    }

    /// The highest reading to be expected.
    #[must_use]
    pub fn highest(self) -> f64 {
        self.hrc + FAILED_AT * self.u.hypot(U_READING)
    }
}

/// How an as-quenched reading moves a curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Conditioning {
    shift: f64,
    expected: f64,
    sentence: Option<Text>,
}

impl Conditioning {
    /// Nothing is moved.
    const NONE: Self = Self { shift: 0.0, expected: 0.0, sentence: None };

    pub(super) fn of(curve: &str, expected: Option<AsQuenched>, reading: Option<f64>) -> Result<Self> {
        let Some(reading) = reading else { return Ok(Self::NONE) };
        check_finite(curve.to_owned(), "as_quenched_hrc", "HRC", reading)?;
        AS_QUENCHED_CONDITIONING.check("as_quenched_hrc", reading)?;
        let Some(expected) = expected else { return Ok(Self::NONE) };
        if reading < expected.lowest() {
            let why = format!(
                "{:.1} HRC is expected and {:.1} is the lowest that still says so",
                expected.hrc,
                expected.lowest()
            );
            return Err(hardening_failed(curve, reading, &why));
        }
        if reading > expected.highest() {
            return Err(Error::NoAnswer {
                model: curve.to_owned().into(),
                asked: format!("the hardness after a temper of a part with {reading} HRC as quenched").into(),
                why: format!(
                    "{:.1} HRC is expected and {:.1} is the highest that the errors allow: this is another steel, or the \
                     tester reads high",
                    expected.hrc,
                    expected.highest()
                )
                .into(),
                hint: "Check the steel, the scale, and the tester on a block near that value; leave as_quenched_hrc out \
                       if the reading can't be trusted"
                    .into(),
            });
        }
        let weight = expected.u * expected.u / (expected.u * expected.u + U_READING * U_READING);
        let deviation = reading - expected.hrc;
        // What an error of the reading explains moves nothing; beyond it the shift sets in without a step.
        let deviation = deviation - deviation.clamp(-U_READING, U_READING);
        let sentence = if deviation == 0.0 {
            format!(
                "as-quenched {reading} HRC against {:.1} expected: inside the reading's error, no adjustment",
                expected.hrc
            )
        } else {
            format!(
                "as-quenched {reading} HRC against {:.1} expected: {:.0} % of what exceeds the reading's error of \
                 {U_READING} HRC is taken as real and fades as the temper proceeds",
                expected.hrc,
                100.0 * weight
            )
        };
        Ok(Self { shift: weight * deviation, expected: expected.hrc, sentence: Some(sentence.into()) })
    }

    /// A reading for a curve whose as-quenched hardness is not known: it moves nothing, but a part that is softer from
    /// the quench than the curve is after its `mildest` temper did not harden.
    pub(super) fn unexpected(curve: &str, mildest: AsQuenched, reading: f64) -> Result<Self> {
        check_finite(curve.to_owned(), "as_quenched_hrc", "HRC", reading)?;
        AS_QUENCHED_CONDITIONING.check("as_quenched_hrc", reading)?;
        if reading < mildest.lowest() {
            let why = format!("the curve still has {:.1} HRC after its mildest temper", mildest.hrc);
            return Err(hardening_failed(curve, reading, &why));
        }
        let sentence = "the as-quenched reading was not used: none is known that belongs to this curve";
        Ok(Self { sentence: Some(sentence.into()), ..Self::NONE })
    }

    /// The hardness with the deviation carried.
    #[must_use]
    pub fn applied(&self, hrc: f64) -> f64 {
        if self.shift == 0.0 { hrc } else { hrc + self.shift * ((hrc - self.expected) / FADE).exp() }
    }

    /// The hardness on the bare curve behind one with the deviation carried.
    #[must_use]
    pub fn undone(&self, hrc: f64) -> f64 {
        if self.shift == 0.0 {
            return hrc;
        }
        // A contraction: the derivative of the shift is below 1/2 for every reading that is not refused.
        (0..200).fold(hrc, |bare, _| hrc - (self.applied(bare) - bare))
    }

    /// What was done, as a sentence for an estimate's assumptions.
    #[must_use]
    pub const fn sentence(&self) -> Option<&Text> {
        self.sentence.as_ref()
    }
}

fn hardening_failed(curve: &str, reading: f64, why: &str) -> Error {
    Error::NoAnswer {
        model: curve.to_owned().into(),
        asked: format!("the hardness after a temper of a part with {reading} HRC as quenched").into(),
        why: format!("{why}: the hardening failed, and no tempering curve applies").into(),
        hint: "Look at the hardening first: too cold, too short, quenched too slowly, or a decarburised skin; then \
               harden again"
            .into(),
    }
}

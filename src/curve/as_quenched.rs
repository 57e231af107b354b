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
              0.5 HRC by; A read, A0 ± u0 expected, H on the curve; with B ± b the band expected of the steel and \
              u = 0.5 HRC: A + 2 u < B - 2 b: the hardening failed; A - 2 u < B - 2 b: not decided, and said so; \
              A - 2 u > B + 2 b: not this steel or not that hardness; where no B is known, the curve's hardness after its \
              mildest temper stands for B in the check for failed hardening alone",
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

/// Standard uncertainties by which limits and readings are guarded, either way.
const GUARD: f64 = 2.0;

/// A part's hardness before the temper, as it was read.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct AsQuenchedReading {
    /// HRC.
    pub hrc: f64,
    /// One standard uncertainty of it where it is stated, HRC; `None` takes the record's 0.5, and leaves what a prediction
    /// is worth as it was calibrated: with readings that stated none.
    pub u: Option<f64>,
}

impl From<f64> for AsQuenchedReading {
    fn from(hrc: f64) -> Self {
        Self { hrc, u: None }
    }
}

impl AsQuenchedReading {
    /// The standard uncertainty by which it is judged, HRC.
    #[must_use]
    pub fn u(self) -> f64 {
        self.u.unwrap_or(U_READING)
    }

    /// In words.
    #[must_use]
    pub fn text(self) -> String {
        match self.u {
            Some(u) => format!("{} HRC, u = {u:.2} HRC", self.hrc),
            None => format!("{} HRC", self.hrc),
        }
    }

    /// Refuses a reading that is none, for the model named.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] for a value or an uncertainty that is no number, [`Error::OutOfRange`] off the scale.
    pub fn checked(self, model: &str) -> Result<Self> {
        check_finite(model.to_owned(), "as_quenched_hrc", "HRC", self.hrc)?;
        AS_QUENCHED_CONDITIONING.check("as_quenched_hrc", self.hrc)?;
        let u = self.u();
        if !(u >= 0.0 && u.is_finite()) {
            return Err(Error::invalid(
                model.to_owned(),
                "u of as_quenched_hrc",
                (u, "HRC"),
                "is not a standard uncertainty",
                "Give one standard uncertainty in HRC: finite, not negative",
            ));
        }
        Ok(self)
    }
}

/// Whether a part hardened: the three answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Hardening {
    /// The reading is what full hardening gives.
    Worked,
    /// The reading is below what full hardening gives.
    Failed,
    /// The reading's own error does not let tell.
    NotDecided,
}

impl Hardening {
    /// As it is said.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Worked => "hardened",
            Self::Failed => "not hardened",
            Self::NotDecided => "not decided",
        }
    }
}

/// The as-quenched hardness that full hardening gives.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct AsQuenched {
    /// Expected value, HRC.
    pub hrc: f64,
    /// One standard uncertainty of it.
    pub u: f64,
}

impl AsQuenched {
    /// What a printed range lets expect: a flat distribution, never narrower than what two batches differ by.
    #[must_use]
    pub fn between(low: f64, high: f64) -> Self {
        Self { hrc: 0.5 * (low + high), u: ((high - low) / 12f64.sqrt()).max(U_READING) }
    }

    /// The lowest that full hardening gives.
    #[must_use]
    pub fn lowest(self) -> f64 {
        self.hrc - GUARD * self.u
    }

    /// The highest that it gives.
    #[must_use]
    pub fn highest(self) -> f64 {
        self.hrc + GUARD * self.u
    }

    /// Whether a reading with this standard uncertainty says that the part hardened: the one rule of plans, estimates and
    /// judgements.
    #[must_use]
    pub fn verdict(self, reading: f64, u: f64) -> Hardening {
        if reading - GUARD * u >= self.lowest() {
            Hardening::Worked
        } else if reading + GUARD * u < self.lowest() {
            Hardening::Failed
        } else {
            Hardening::NotDecided
        }
    }

    /// Whether a reading lies above what such steel gets, by more than its own error.
    #[must_use]
    pub fn is_exceeded_by(self, reading: f64, u: f64) -> bool {
        reading - GUARD * u > self.highest()
    }

    /// The verdict's reason, in a sentence.
    #[must_use]
    pub fn why(self, reading: f64, u: f64) -> String {
        let lies = match self.verdict(reading, u) {
            Hardening::Worked => "in it",
            Hardening::Failed => "below it",
            Hardening::NotDecided => "across its lower end",
        };
        format!(
            "{reading} ± {:.1} HRC lies {lies}: {:.1} HRC is expected of full hardening and {:.1} is its lowest (two \
             standard uncertainties)",
            GUARD * u,
            self.hrc,
            self.lowest()
        )
    }

    /// What a reading must be accompanied by, where it does not decide whether the part hardened.
    #[must_use]
    pub fn undecided(self, reading: AsQuenchedReading) -> Option<Text> {
        let (hrc, u) = (reading.hrc, reading.u());
        (self.verdict(hrc, u) == Hardening::NotDecided).then(|| {
            format!(
                "whether it hardened is not decided: {}; more indentations, or a block beside them, would decide",
                self.why(hrc, u)
            )
            .into()
        })
    }

    /// Refuses a reading of a part that did not harden, for the model named.
    ///
    /// # Errors
    /// [`Error::NoAnswer`].
    pub fn refuse_failed(self, model: &str, reading: AsQuenchedReading) -> Result<()> {
        let (hrc, u) = (reading.hrc, reading.u());
        if self.verdict(hrc, u) == Hardening::Failed {
            return Err(hardening_failed(model, hrc, &self.why(hrc, u)));
        }
        Ok(())
    }
}

/// How an as-quenched reading moves a curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Conditioning {
    shift: f64,
    /// What one stated standard uncertainty of the reading is worth in the shift.
    u_shift: f64,
    expected: f64,
    sentence: Option<Text>,
    caution: Option<Text>,
}

impl Conditioning {
    /// Nothing is moved.
    pub const NONE: Self = Self { shift: 0.0, u_shift: 0.0, expected: 0.0, sentence: None, caution: None };

    /// Nothing is moved, for the reason given: a curve that takes the reading in its own way.
    #[must_use]
    pub fn without_shift(sentence: impl Into<Text>) -> Self {
        Self { sentence: Some(sentence.into()), ..Self::NONE }
    }

    /// The same with a caution.
    #[must_use]
    pub fn cautioning(self, caution: Option<Text>) -> Self {
        Self { caution, ..self }
    }

    /// How a reading moves a curve: by the as-quenched hardness that belongs to it, where that is known, once the band
    /// expected of the steel has said whether the part hardened.
    ///
    /// # Errors
    /// [`Error::NoAnswer`] for a reading outside the band, [`Error::OutOfRange`] off the scale.
    pub fn for_curve(
        curve: &str,
        own: Option<AsQuenched>,
        band: AsQuenched,
        reading: AsQuenchedReading,
    ) -> Result<Self> {
        let AsQuenchedReading { hrc: read, .. } = reading.checked(curve)?;
        let u = reading.u();
        band.refuse_failed(curve, reading)?;
        if band.is_exceeded_by(read, u) {
            return Err(Error::NoAnswer {
                model: curve.to_owned().into(),
                asked: format!("the hardness after a temper of a part with {read} HRC as quenched").into(),
                why: format!(
                    "{:.1} HRC is expected and {:.1} is the highest that it gives: this is another steel, or the tester \
                     reads high",
                    band.hrc,
                    band.highest()
                )
                .into(),
                hint: "Check the steel, the scale, and the tester on a block near that value; leave as_quenched_hrc out \
                       if the reading can't be trusted"
                    .into(),
            });
        }
        let caution = band.undecided(reading);
        let Some(expected) = own else {
            return Ok(Self { sentence: Some(NOT_USED.into()), caution, ..Self::NONE });
        };
        let weight = expected.u * expected.u / (expected.u * expected.u + u * u);
        // What an error of the reading explains moves nothing; beyond it the shift sets in without a step.
        let beyond = |hrc: f64| hrc - expected.hrc - (hrc - expected.hrc).clamp(-u, u);
        let deviation = beyond(read);
        let u_shift = reading.u.map_or(0.0, |u| 0.5 * weight * (beyond(read + u) - beyond(read - u)));
        let sentence = if deviation == 0.0 {
            format!(
                "as-quenched {read} HRC against {:.1} expected: inside the reading's error, no adjustment",
                expected.hrc
            )
        } else {
            format!(
                "as-quenched {read} HRC against {:.1} expected: {:.0} % of what exceeds the reading's error of \
                 {u} HRC is taken as real and fades as the temper proceeds",
                expected.hrc,
                100.0 * weight
            )
        };
        Ok(Self {
            shift: weight * deviation,
            u_shift,
            expected: expected.hrc,
            sentence: Some(sentence.into()),
            caution,
        })
    }

    /// A reading for a curve whose as-quenched hardness is not known: it moves nothing, but a part that is softer from
    /// the quench than the curve is after its `mildest` temper did not harden.
    pub(super) fn unexpected(curve: &str, mildest: AsQuenched, reading: AsQuenchedReading) -> Result<Self> {
        let AsQuenchedReading { hrc, .. } = reading.checked(curve)?;
        if mildest.verdict(hrc, reading.u()) == Hardening::Failed {
            let why = format!("the curve still has {:.1} HRC after its mildest temper", mildest.hrc);
            return Err(hardening_failed(curve, hrc, &why));
        }
        Ok(Self { sentence: Some(NOT_USED.into()), ..Self::NONE })
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
        // A contraction: no reading that is not refused shifts by as much as the length over which shifts fade.
        (0..200).fold(hrc, |bare, _| hrc - (self.applied(bare) - bare))
    }

    /// What the reading's stated uncertainty is worth where the bare curve has a hardness, HRC: it fades as the shift does.
    #[must_use]
    pub fn u_at(&self, hrc: f64) -> f64 {
        if self.u_shift == 0.0 { 0.0 } else { self.u_shift * ((hrc - self.expected) / FADE).exp() }
    }

    /// What was done, as a sentence for an estimate's assumptions.
    #[must_use]
    pub const fn sentence(&self) -> Option<&Text> {
        self.sentence.as_ref()
    }

    /// What to watch: that the reading does not decide whether the part hardened.
    #[must_use]
    pub const fn caution(&self) -> Option<&Text> {
        self.caution.as_ref()
    }
}

const NOT_USED: &str = "the as-quenched reading was not used: none is known that belongs to this curve";

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

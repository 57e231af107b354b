//! Readings on a part: which can be believed, their mean, and what the hardness is.

use serde::{Deserialize, Serialize};

use super::blocks::TesterBlocks;
use super::conversion::{Bracketed, Conversion};
use super::doubts::{Doubt, Weight, cautions, judged};
use super::indent::CURVATURE;
use super::place::Spot;
use super::scale::ScaleName;
use super::tester::{Tester, check_readings, mean_and_sd, spread_without_readings, unknown_tester_u};
use crate::error::{Error, Result};
use crate::estimate::{Estimate, student_quantile};
use crate::record::{ModelRecord, Origin, Scatter, Source};

/// The record of what readings become.
pub static READINGS: ModelRecord = ModelRecord {
    id: "hardness.readings",
    gives: "hardness of a part",
    unit: "",
    formula: "mean of the believable readings + correction for a round surface − bias of the tester; u² = (t s/√n)² + \
              u(bias)² + (resolution/√12)², t for 68.27 % and n − 1 degrees of freedom",
    ranges: &[],
    scatter: Scatter::Exact,
    sources: &[
        Source { cite: "ISO 6508-1", at: "annex on uncertainty, the factor t", origin: Origin::FromMemory },
        Source { cite: "JCGM 100:2008 (GUM)", at: "5.1.2 and table G.2", origin: Origin::Printed },
        Source {
            cite: "JCGM 101:2008",
            at: "6.4.9, of draws: Student's t of a scatter that is pooled over part and block",
            origin: Origin::FromMemory,
        },
    ],
    errata: &[],
    not_for: "readings on bevels, on scale, on thin or decarburised places: they are no reading of the part",
};

/// The probability that the GUM gives to one standard deviation.
const ONE_SIGMA: f64 = 0.682_689_492_137_086;

/// Readings on one part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Readings {
    values: Vec<f64>,
    scale: String,
    spot: Spot,
    tester: Option<Tester>,
    doubts: Vec<Doubt>,
    corrections: Vec<f64>,
}

impl Readings {
    /// Takes readings and judges each.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] for readings that are no numbers or lengths that are not positive, [`Error::Refused`]
    /// for a tester checked on another scale, [`Error::UnknownName`] for an unknown scale.
    pub fn new(values: &[f64], scale: &str, spot: Spot, tester: Option<Tester>) -> Result<Self> {
        let name = ScaleName::parse(scale)?;
        check_readings(READINGS.id, values)?;
        spot.checked(READINGS.id, values.len())?;
        let mut made = Self {
            values: values.to_vec(),
            scale: name.text.clone(),
            spot,
            tester,
            doubts: Vec::new(),
            corrections: vec![0.0; values.len()],
        };
        for (index, (&reading, added)) in values.iter().zip(&mut made.corrections).enumerate() {
            let (doubts, correction) = judged(&name, &made.spot, index, reading)?;
            made.doubts.extend(doubts);
            *added = correction;
        }
        Ok(made)
    }

    /// The same with a tester that several blocks were read on, as it is at the mean of these readings.
    ///
    /// # Errors
    /// As [`Readings::new`]; [`Error::Refused`] where the mean is near no block and between none.
    pub fn with_blocks(values: &[f64], scale: &str, spot: Spot, blocks: &TesterBlocks) -> Result<Self> {
        let mut made = Self::new(values, scale, spot, None)?;
        if let Ok(mean) = made.mean() {
            made.tester = Some(blocks.at(&ScaleName::parse(scale)?, mean)?);
        }
        Ok(made)
    }

    /// Every reading as it came.
    #[must_use]
    pub fn values(&self) -> &[f64] {
        &self.values
    }

    /// The scale as written.
    #[must_use]
    pub fn scale(&self) -> &str {
        &self.scale
    }

    /// The tester, if its block was read.
    #[must_use]
    pub const fn tester(&self) -> Option<&Tester> {
        self.tester.as_ref()
    }

    /// Every doubt about every reading.
    #[must_use]
    pub fn doubts(&self) -> &[Doubt] {
        &self.doubts
    }

    /// What to know even where no reading is in doubt, by the softest that counts: the thickness it needs, what an error
    /// of reading is worth.
    #[must_use]
    pub fn cautions(&self) -> Vec<String> {
        let softest = self.believed().into_iter().fold(f64::INFINITY, f64::min);
        let scale = ScaleName::parse(&self.scale).ok().filter(|_| softest.is_finite());
        scale.map_or_else(Vec::new, |scale| cautions(&scale, softest))
    }

    /// "valid", "doubtful" or "not a valid reading": the worst that every reading suffers from.
    #[must_use]
    pub fn status(&self) -> &'static str {
        if self.believed().is_empty() {
            Weight::NotValid.text()
        } else if self.doubts.is_empty() {
            "valid"
        } else {
            Weight::Doubtful.text()
        }
    }

    /// The readings that count, corrected for a round surface.
    #[must_use]
    pub fn believed(&self) -> Vec<f64> {
        let bad = |index| self.doubts.iter().any(|doubt| doubt.index == index && doubt.weight == Weight::NotValid);
        self.values
            .iter()
            .zip(&self.corrections)
            .enumerate()
            .filter(|(index, _)| !bad(*index))
            .map(|(_, (value, correction))| value + correction)
            .collect()
    }

    /// The mean of the readings that count; no tester bias taken off.
    ///
    /// # Errors
    /// [`Error::Refused`] when no reading is valid.
    pub fn mean(&self) -> Result<f64> {
        let believed = self.believed();
        if believed.is_empty() {
            let why: Vec<&str> = self.doubts.iter().map(|doubt| doubt.rule.as_str()).collect();
            let mut why = why;
            why.dedup();
            return Err(Error::Refused {
                what: "a mean of these readings".into(),
                why: format!("not a valid reading: {}", why.join("; ")).into(),
                instead: self.doubts.first().map_or("Read again", |doubt| doubt.instead.as_str()).to_owned().into(),
            });
        }
        Ok(mean_and_sd(&believed).0)
    }

    /// The hardness of the part, on the readings' own scale or converted to another by one table.
    ///
    /// # Errors
    /// [`Error::Refused`] when no reading is valid or the tester's block is far away; as [`Conversion::estimate`].
    pub fn estimate(&self, scale: Option<&str>, table: &str, u_conversion: Option<f64>) -> Result<Estimate> {
        let own = self.own_estimate()?;
        let (from, Some(to)) = (ScaleName::parse(&self.scale)?, scale) else { return Ok(own) };
        if ScaleName::parse(to)?.scale == from.scale {
            return Ok(own);
        }
        Conversion::new(&self.scale, to, table, Bracketed::Use)?.estimate(&own, u_conversion)
    }

    fn own_estimate(&self) -> Result<Estimate> {
        let name = ScaleName::parse(&self.scale)?;
        let mean = self.mean()?;
        let believed = self.believed();
        let (_, sd) = mean_and_sd(&believed);
        let n = believed.len() as f64;
        let mut made;
        if let Some(tester) = &self.tester {
            tester.check_near(&name, mean)?;
            made = Estimate::new(mean - tester.bias.value(), name.text.clone())
                .with("tester", tester.bias.u())
                .assuming(tester.correction());
        } else {
            let (u, how) = unknown_tester_u(name.scale, mean);
            made = Estimate::new(mean, name.text.clone()).with("tester", u).assuming(how);
        }
        let one_sigma = |dof: f64| -student_quantile(0.5 * (1.0 - ONE_SIGMA), dof);
        made = if sd > 0.0 {
            made.with("repeatability", one_sigma(n - 1.0) * sd / n.sqrt())
        } else if let Some(known) = self.tester.as_ref().filter(|tester| tester.repeatability > 0.0) {
            made.with("repeatability", one_sigma(known.readings as f64 - 1.0) * known.repeatability / n.sqrt())
                .assuming("repeatability from the block: the readings show no spread of their own")
        } else {
            let (u, how) = spread_without_readings(name.scale, mean);
            made.with("repeatability", u / n.sqrt()).assuming(how)
        };
        let step = self.spot.resolution.unwrap_or(name.scale.record().resolution);
        made = made.with("resolution", step / 12f64.sqrt());
        if self.corrections.iter().any(|correction| *correction != 0.0) {
            if let crate::record::Scatter::Known { u, found, .. } = CURVATURE.scatter {
                made = made.with("curvature", u).assuming(format!("curvature correction added, {found}"));
            }
        }
        if self.spot.places.is_empty() && self.spot.thickness_mm.is_none() {
            made = made.assuming("readings taken on a clean flat face of enough thickness: nothing else was said");
        }
        let left_out = self.values.len() - believed.len();
        if left_out > 0 {
            made = made.assuming(format!("{left_out} of {} readings not valid and left out", self.values.len()));
        }
        Ok(self
            .doubts
            .iter()
            .filter(|doubt| doubt.weight == Weight::Doubtful)
            .fold(made, |made, doubt| made.assuming(format!("doubtful: {} ({})", doubt.rule, doubt.whose))))
    }
}

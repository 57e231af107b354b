//! Readings on a part: which can be believed, their mean, and what the hardness is.

use serde::{Deserialize, Serialize};

use super::conversion::{Bracketed, Conversion};
use super::indent::{CURVATURE, curvature_correction, minimum_edge_distance_mm, thickness_rules};
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
    ],
    errata: &[],
    not_for: "readings on bevels, on scale, on thin or decarburised places: they are no reading of the part",
};

/// The probability that the GUM gives to one standard deviation.
const ONE_SIGMA: f64 = 0.682_689_492_137_086;

/// Where on the part a reading was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Place {
    /// A flat face, clean and parallel to its back.
    Flat,
    /// A bevel.
    Bevel,
    /// Near an edge.
    Edge,
    /// A convex cylinder.
    Round,
    /// Oxide scale.
    Scaled,
    /// A skin that lost carbon.
    Decarburised,
}

impl Place {
    /// Reads a place as people write it.
    ///
    /// # Errors
    /// [`Error::UnknownName`].
    pub fn parse(text: &str) -> Result<Self> {
        let key = text.trim().to_ascii_lowercase();
        // Whole words, so that a "ground flat" is no round.
        let written: Vec<&str> = key.split(|letter: char| !letter.is_alphabetic()).collect();
        let has = |words: &[&str]| written.iter().any(|own| words.iter().any(|word| own.starts_with(word)));
        // Order matters: "on the bevel, behind the edge" is a bevel.
        Ok(if has(&["bevel", "slop"]) {
            Self::Bevel
        } else if has(&["decarb", "skin"]) {
            Self::Decarburised
        } else if has(&["scale"]) {
            Self::Scaled
        } else if has(&["edge", "rim"]) {
            Self::Edge
        } else if has(&["round", "cylinder", "shaft", "bar", "shank"]) {
            Self::Round
        } else if has(&["flat", "face"]) {
            Self::Flat
        } else {
            return Err(Error::UnknownName {
                kind: "place of a reading".into(),
                name: text.to_owned(),
                close: Vec::new(),
                hint: "Places are \"flat\", \"bevel\", \"edge\", \"round\", \"scale on\" and \"decarburised\"".into(),
            });
        })
    }
}

/// How much a doubt weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Weight {
    /// Used, with a caution.
    Doubtful,
    /// Never used.
    NotValid,
}

impl Weight {
    /// In words.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Doubtful => "doubtful",
            Self::NotValid => "not a valid reading",
        }
    }
}

/// Something about one reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Doubt {
    /// Which reading, from 0.
    pub index: usize,
    /// The reading.
    pub reading: f64,
    /// How much it weighs.
    pub weight: Weight,
    /// The rule it breaks.
    pub rule: String,
    /// Whose rule.
    pub whose: String,
    /// What to do instead.
    pub instead: String,
}

/// What is known of the place where readings were taken.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Spot {
    /// Thickness under the indenter.
    pub thickness_mm: Option<f64>,
    /// Diameter of a convex cylinder.
    pub diameter_mm: Option<f64>,
    /// Distance to the nearest edge.
    pub edge_distance_mm: Option<f64>,
    /// One place for all readings, or one for each; empty where nothing is known.
    pub places: Vec<Place>,
    /// The step of the display; the scale's usual one where absent.
    pub resolution: Option<f64>,
}

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
        for (argument, length) in [
            ("thickness_mm", spot.thickness_mm),
            ("diameter_mm", spot.diameter_mm),
            ("edge_distance_mm", spot.edge_distance_mm),
            ("resolution", spot.resolution),
        ] {
            if let Some(length) = length.filter(|length| !(*length > 0.0 && length.is_finite())) {
                return Err(Error::InvalidValue {
                    model: READINGS.id.into(),
                    argument: argument.into(),
                    value: length,
                    unit: "mm".into(),
                    why: "is not a positive number".into(),
                    failed: 1,
                    of: 1,
                    hint: "Leave it out where it is not known".into(),
                });
            }
        }
        if spot.places.len() > 1 && spot.places.len() != values.len() {
            return Err(Error::Refused {
                what: format!("{} places for {} readings", spot.places.len(), values.len()).into(),
                why: "it stays open which reading was taken where".into(),
                instead: "Give one place for all, or one for each reading".into(),
            });
        }
        let mut made = Self {
            values: values.to_vec(),
            scale: name.text.clone(),
            spot,
            tester,
            doubts: Vec::new(),
            corrections: vec![0.0; values.len()],
        };
        for index in 0..values.len() {
            made.judge(&name, index)?;
        }
        Ok(made)
    }

    fn judge(&mut self, scale: &ScaleName, index: usize) -> Result<()> {
        let Some(&reading) = self.values.get(index) else { return Ok(()) };
        let place = self.spot.places.get(index).or_else(|| self.spot.places.first()).copied();
        let mut doubts: Vec<(Weight, String, String, String)> = Vec::new();
        let mut doubt = |weight, rule: &str, whose: &str, instead: &str| {
            doubts.push((weight, rule.to_owned(), whose.to_owned(), instead.to_owned()));
        };
        let record = scale.scale.record();
        if reading < record.low || reading > record.high {
            doubt(
                Weight::NotValid,
                &format!("{} is defined from {} to {}", record.name, record.low, record.high),
                record.stated_by,
                "Use a scale that covers the hardness",
            );
        }
        match place {
            Some(Place::Bevel) => doubt(
                Weight::NotValid,
                "taken on a bevel: the surface must stand square to the indenter",
                "ISO 6508-1; the limit of a few degrees from memory",
                "Read on a flat face, or grind a flat coupon of the same steel and temper",
            ),
            Some(Place::Scaled) => doubt(
                Weight::NotValid,
                "taken with scale on: the indenter sinks into oxide first",
                "ISO 6508-1",
                "Grind the spot bright and repeat",
            ),
            Some(Place::Decarburised) => doubt(
                Weight::NotValid,
                "taken on a decarburised skin: it reads the skin, not the part",
                "common practice, no source",
                "Grind 0.2 to 0.3 mm away and repeat",
            ),
            Some(Place::Edge) if self.spot.edge_distance_mm.is_none() => doubt(
                Weight::NotValid,
                "taken near an edge, at an unknown distance",
                "ISO 6508-1: 2.5 diameters, never under 1 mm",
                "Measure edge_distance_mm, or read further in",
            ),
            Some(Place::Round) if self.spot.diameter_mm.is_none() => doubt(
                Weight::NotValid,
                "taken on a round without its correction: convex surfaces read low",
                "ASTM E18 Annex A6",
                "Give diameter_mm, or grind a flat",
            ),
            _ => {}
        }
        if let Some(diameter) = self.spot.diameter_mm {
            match curvature_correction(scale, reading, diameter) {
                Ok(correction) => {
                    if let Some(held) = self.corrections.get_mut(index) {
                        *held = correction;
                    }
                    if correction > 3.0 {
                        doubt(
                            Weight::Doubtful,
                            &format!("correction of {correction:.1} for a diameter of {diameter} mm, above 3"),
                            "ISO 6508-1 does not accept such corrections, from memory",
                            "Grind a flat",
                        );
                    }
                }
                Err(error) => doubt(Weight::NotValid, &error.to_string(), "ASTM E18 Annex A6", "Grind a flat"),
            }
        }
        if let Some(edge) = self.spot.edge_distance_mm {
            let least = minimum_edge_distance_mm(scale, reading)?;
            if edge < least.mm {
                doubt(
                    Weight::NotValid,
                    &format!("{edge} mm from the edge, {:.2} mm asked for", least.mm),
                    least.whose,
                    "Read further in, or use a smaller load",
                );
            }
        }
        if let Some(thickness) = self.spot.thickness_mm {
            let rules = thickness_rules(scale, reading)?;
            let broken: Vec<_> = rules.iter().filter(|rule| thickness < rule.minimum_mm).collect();
            if let Some(worst) = broken.iter().max_by(|a, b| a.minimum_mm.total_cmp(&b.minimum_mm)) {
                let kept = rules.len() - broken.len();
                doubt(
                    if kept == 0 { Weight::NotValid } else { Weight::Doubtful },
                    &format!(
                        "too thin: {thickness} mm, {:.2} mm asked for at {reading} {}",
                        worst.minimum_mm, scale.text
                    ),
                    worst.whose,
                    &thinner_scales(scale, reading, thickness),
                );
            }
        }
        self.doubts.extend(doubts.into_iter().map(|(weight, rule, whose, instead)| Doubt {
            index,
            reading,
            weight,
            rule,
            whose,
            instead,
        }));
        Ok(())
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
                .assuming(format!("corrected by {:+.2} from a block of {}", -tester.bias.value(), tester.block_value));
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

/// Scales that a thickness allows, at about the same hardness, by E140 Table 1.
fn thinner_scales(scale: &ScaleName, reading: f64, thickness_mm: f64) -> String {
    let mut allowed = Vec::new();
    for other in ["HR45N", "HR30N", "HR15N", "HRA", "HV30", "HV10", "HV5", "HV1"] {
        let Ok(link) = Conversion::new(&scale.text, other, "astm-e140-1", Bracketed::Use) else { continue };
        let Ok(there) = link.convert(reading) else { continue };
        let Ok(rules) = thickness_rules(link.to(), there) else { continue };
        if link.to().scale != scale.scale && rules.iter().all(|rule| rule.minimum_mm <= thickness_mm) {
            allowed.push(other);
        }
    }
    if allowed.is_empty() {
        return "Use HR15N or low-load Vickers, or measure a thicker coupon of the same heat".to_owned();
    }
    // What carries deepest averages over most: it comes first. HR15N and HV10 are what most shops have.
    format!("Use {}", allowed.join(", "))
}

/// How many readings give a mean within ± `half_width` at a coverage, for a known standard deviation.
///
/// # Errors
/// [`Error::InvalidValue`] for numbers that are not positive, [`Error::NotDetermined`] above a million readings.
pub fn readings_needed(half_width: f64, sd: f64, coverage: f64) -> Result<usize> {
    for n in 2..200 {
        if mean_half_width(sd, n, coverage)? <= half_width {
            return Ok(n);
        }
    }
    if half_width <= 0.0 || half_width.is_nan() {
        mean_half_width(half_width, 2, coverage)?;
    }
    // Beyond 200 readings t is within 1 % of its limit, so the closed form lands next door.
    let z = -student_quantile(0.5 * (1.0 - coverage), 1e6);
    let mut n = (z * sd / half_width).powi(2).ceil();
    if n > 1e6 {
        return Err(Error::NotDetermined {
            what: format!("a mean within ±{half_width}").into(),
            why: format!("with a spread of {sd} it takes more than a million readings").into(),
            would_determine: "a tester with less spread, or a wider interval".into(),
        });
    }
    while mean_half_width(sd, n as usize, coverage)? > half_width {
        n += 1.0;
    }
    Ok(n as usize)
}

/// t s/√n: half the interval of a mean of `n` readings; the tester's bias is not in it.
///
/// # Errors
/// [`Error::InvalidValue`] for a standard deviation that is not positive, fewer than two readings, or a coverage
/// outside 0 to 1.
pub fn mean_half_width(sd: f64, n: usize, coverage: f64) -> Result<f64> {
    let refuse = |argument: &'static str, value: f64, why: &'static str| Error::InvalidValue {
        model: READINGS.id.into(),
        argument: argument.into(),
        value,
        unit: "".into(),
        why: why.into(),
        failed: 1,
        of: 1,
        hint: "A spread takes at least two readings".into(),
    };
    if !(sd > 0.0 && sd.is_finite()) {
        return Err(refuse("sd", sd, "is not a positive number"));
    }
    if n < 2 {
        return Err(refuse("n", n as f64, "is fewer than two readings"));
    }
    if !(coverage > 0.0 && coverage < 1.0) {
        return Err(refuse("coverage", coverage, "does not lie between 0 and 1"));
    }
    Ok(-student_quantile(0.5 * (1.0 - coverage), n as f64 - 1.0) * sd / (n as f64).sqrt())
}

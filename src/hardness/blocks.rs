//! A tester that several reference blocks were read on: its bias between them.

use serde::{Deserialize, Serialize};

use super::scale::ScaleName;
use super::tester::Tester;
use crate::error::{Error, Result};
use crate::estimate::Estimate;
use crate::record::{ModelRecord, Origin, Scatter, Source};

/// The record of a bias between blocks.
pub static TESTER_BLOCKS: ModelRecord = ModelRecord {
    id: "hardness.tester_blocks",
    gives: "bias of a tester between two reference blocks",
    unit: "",
    formula: "b = (1 − w) b1 + w b2, w the place between the blocks' values; u² = ((1 − w) U1/2 + w U2/2)² + (1 − w)² s1²/n1 \
              + w² s2²/n2 + (2 min(w, 1 − w) (b2 − b1))²/12; beyond the outer blocks as near one block",
    ranges: &[],
    scatter: Scatter::Exact,
    sources: &[
        Source {
            cite: "that a bias goes straight from block to block, as flat between its two values in the middle",
            at: "no source",
            origin: Origin::CommonPractice,
        },
        Source {
            cite: "JCGM 100:2008 (GUM)",
            at: "5.2.2, note 1: blocks that share the national scale are fully correlated",
            origin: Origin::FromMemory,
        },
    ],
    errata: &[],
    not_for: "values far outside the blocks",
};

/// A tester as several blocks of one scale show it, softest first.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TesterBlocks {
    testers: Vec<Tester>,
}

impl TesterBlocks {
    /// From what each block showed.
    ///
    /// # Errors
    /// [`Error::MissingArgument`] without blocks; [`Error::Refused`] for blocks on several scales, or of one value.
    pub fn new(mut testers: Vec<Tester>) -> Result<Self> {
        let Some(first) = testers.first() else {
            return Err(Error::MissingArgument {
                function: "tester_from_blocks".into(),
                argument: "blocks".into(),
                why: "there is none".into(),
                hint: "Give what tester_from_block made of each block".into(),
            });
        };
        let scale = ScaleName::parse(&first.scale)?.scale;
        for other in &testers {
            if ScaleName::parse(&other.scale)?.scale != scale {
                return Err(Error::Refused {
                    what: format!("blocks in {} and {} as one", first.scale, other.scale).into(),
                    why: "a bias belongs to one scale".into(),
                    instead: "Make one of these for each scale".into(),
                });
            }
        }
        testers.sort_by(|a, b| a.block_value.total_cmp(&b.block_value));
        if let Some(pair) = testers.windows(2).find(|pair| pair[0].block_value == pair[1].block_value) {
            return Err(Error::Refused {
                what: format!("two blocks of {} {}", pair[0].block_value, pair[0].scale).into(),
                why: "nothing lies between them".into(),
                instead: "Give the readings of one block together to tester_from_block".into(),
            });
        }
        Ok(Self { testers })
    }

    /// The scale of the blocks.
    #[must_use]
    pub fn scale(&self) -> &str {
        self.testers.first().map_or("", |tester| tester.scale.as_str())
    }

    /// What each block showed, softest first.
    #[must_use]
    pub fn testers(&self) -> &[Tester] {
        &self.testers
    }

    /// The tester at a value: between two blocks straight from one to the other, beyond them as near the last.
    ///
    /// # Errors
    /// [`Error::Refused`] for another scale, and for a value beyond the outer blocks and not near them.
    pub fn at(&self, scale: &ScaleName, value: f64) -> Result<Tester> {
        let around = self.testers.windows(2).find(|pair| pair[0].block_value <= value && value <= pair[1].block_value);
        let nearest =
            self.testers.iter().min_by(|a, b| (a.block_value - value).abs().total_cmp(&(b.block_value - value).abs()));
        match (around, nearest) {
            (Some([low, high]), _) if ScaleName::parse(&low.scale)?.scale == scale.scale => {
                Ok(between(low, high, value))
            }
            (_, Some(one)) => {
                one.check_near(scale, value)?;
                Ok(one.clone())
            }
            (_, None) => Self::new(Vec::new()).and_then(|none| none.at(scale, value)),
        }
    }

    /// Whether every block keeps the standard's limits; absent where none is known for one of them.
    #[must_use]
    pub fn within_limits(&self) -> Option<bool> {
        self.testers.iter().map(|tester| tester.within_limits).try_fold(true, |all, one| one.map(|one| all && one))
    }
}

fn between(low: &Tester, high: &Tester, value: f64) -> Tester {
    let w = (value - low.block_value) / (high.block_value - low.block_value);
    let mix = |a: f64, b: f64| (1.0 - w) * a + w * b;
    let part = |tester: &Tester, name: &str| {
        tester.bias.components().iter().find(|part| part.name == name).map_or(0.0, |part| part.u)
    };
    let (b1, b2) = (low.bias.value(), high.bias.value());
    let repeated = ((1.0 - w) * part(low, "repeatability")).hypot(w * part(high, "repeatability"));
    let bias = Estimate::new(mix(b1, b2), low.bias.unit().to_owned())
        .with("block", mix(part(low, "block"), part(high, "block")))
        .with("repeatability", repeated)
        .with("between blocks", 2.0 * w.min(1.0 - w) * (b2 - b1).abs() / 12f64.sqrt())
        .assuming(format!(
            "straight between blocks of {} and {}: common practice, no source",
            low.block_value, high.block_value
        ));
    // Pooled as far as both blocks show a spread.
    let spread = [low, high].map(|tester| (tester.readings as f64 - 1.0, tester.repeatability));
    let left: f64 = spread.iter().map(|(dof, _)| dof).sum();
    let squares: f64 = spread.iter().filter(|(dof, _)| *dof > 0.0).map(|(dof, sd)| dof * sd * sd).sum();
    let nearest = if w < 0.5 { low } else { high };
    Tester {
        scale: low.scale.clone(),
        block_value: value,
        block_expanded_uncertainty_k2: mix(low.block_expanded_uncertainty_k2, high.block_expanded_uncertainty_k2),
        readings: low.readings + high.readings,
        repeatability: if left > 0.0 { (squares / left).sqrt() } else { f64::NAN },
        range: low.range.max(high.range),
        bias,
        within_limits: [low, high].iter().map(|t| t.within_limits).try_fold(true, |all, one| one.map(|one| all && one)),
        limits: nearest.limits.clone(),
        between: Some((low.block_value, high.block_value)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand, in the middle of −0.2 ± 0.2 (block) at 45 and −0.6 ± 0.25 at 62: −0.4, blocks 0.225, repeatability half of
    /// √(0.1²/5 + 0.2²/5) = 0.05, between blocks 0.4/√12 = 0.11547.
    #[test]
    fn in_the_middle() {
        let block = |values: &[f64], value, u| Tester::from_block(values, "HRC", value, u).unwrap();
        let a = 0.1 / 2f64.sqrt();
        let soft = block(&[44.8 - 2.0 * a, 44.8, 44.8, 44.8, 44.8 + 2.0 * a], 45.0, 0.4);
        let hard = block(&[61.4 - 4.0 * a, 61.4, 61.4, 61.4, 61.4 + 4.0 * a], 62.0, 0.5);
        let blocks = TesterBlocks::new(vec![hard, soft]).unwrap();
        let name = ScaleName::parse("HRC").unwrap();
        let made = blocks.at(&name, 53.5).unwrap();
        assert!((made.bias.value() + 0.4).abs() < 1e-12);
        for (part, by_hand) in made.bias.components().iter().zip([0.225, 0.05, 0.115_470]) {
            assert!((part.u - by_hand).abs() < 1e-6, "{} {}", part.name, part.u);
        }
        assert_eq!(made.between, Some((45.0, 62.0)));
        // Near an outer block it is that block's, far outside nobody's.
        assert_eq!(blocks.at(&name, 64.0).unwrap().between, None);
        assert!(blocks.at(&name, 30.0).is_err());
    }
}

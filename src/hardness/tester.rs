//! What a hardness tester does wrong, from readings on a reference block.

use std::sync::OnceLock;

use serde::{Deserialize, Serialize};

use super::scale::{Scale, ScaleName};
use super::table::read;
use crate::error::{Error, Result};
use crate::estimate::Estimate;
use crate::record::{ModelRecord, Origin, Scatter, Source};

/// The record of a tester's bias.
pub static TESTER: ModelRecord = ModelRecord {
    id: "hardness.tester",
    gives: "bias and repeatability of a tester",
    unit: "",
    formula: "bias = mean of the readings − block value; u² = (U/2)² + s²/n, with the block's U at k = 2",
    ranges: &[],
    scatter: Scatter::Exact,
    sources: &[
        Source { cite: "JCGM 100:2008 (GUM)", at: "4.2.3 and 5.1.2", origin: Origin::Printed },
        Source { cite: "ASTM E18-19", at: "Table A1.3, limits of repeatability and error", origin: Origin::Printed },
    ],
    errata: &["repeatability in E18 is a range, largest less smallest, and no standard deviation"],
    not_for: "correcting readings far from the block's value: a bias changes along the scale",
};

/// How far from the block's value its bias is used, as points of a Rockwell scale; common practice, no source.
const NEAR_POINTS: f64 = 5.0;

/// The same for Vickers, Knoop and Brinell, as a share of the block's value.
const NEAR_SHARE: f64 = 0.10;

/// What the standard permits on a block.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TesterLimits {
    /// Largest permitted range of the readings.
    pub max_range: f64,
    /// Largest permitted difference between mean and block.
    pub max_error: f64,
    /// Whose limits, and how they are known.
    pub whose: String,
}

/// The limits for a scale at a hardness: ASTM E18-19 for Rockwell; none known here for the rest.
#[must_use]
pub fn tester_limits(scale: Scale, value: f64) -> Option<TesterLimits> {
    type Row = (Scale, f64, f64, f64, f64, bool);
    static ROWS: OnceLock<Vec<Row>> = OnceLock::new();
    let rows = ROWS.get_or_init(|| {
        let Ok(data) = read("tester_limits_astm_e18.csv", include_str!("../data/tester_limits_astm_e18.csv")) else {
            return Vec::new();
        };
        let row = |row: &Vec<&str>| -> Option<Row> {
            let number = |i: usize| row.get(i)?.parse::<f64>().ok();
            let scale = ScaleName::parse(row.first()?).ok()?.scale;
            Some((scale, number(1)?, number(2)?, number(3)?, number(4)?, row.get(5) == Some(&"printed")))
        };
        data.rows.iter().filter_map(row).collect()
    });
    rows.iter().find(|row| row.0 == scale && row.1 <= value && value < row.2).map(|row| TesterLimits {
        max_range: row.3,
        max_error: row.4,
        whose: format!("ASTM E18-19 Table A1.3{}", if row.5 { "" } else { ", from memory" }),
    })
}

/// A tester as a reference block shows it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Tester {
    /// The scale it was checked on.
    pub scale: String,
    /// The block's certified value.
    pub block_value: f64,
    /// The block's expanded uncertainty, k = 2.
    pub block_expanded_uncertainty_k2: f64,
    /// Number of readings on the block.
    pub readings: usize,
    /// Standard deviation of one reading; NaN for a single one.
    pub repeatability: f64,
    /// Largest reading less smallest.
    pub range: f64,
    /// Mean less block value, with its uncertainty.
    pub bias: Estimate,
    /// Whether range and bias keep the standard's limits; absent where none is known here.
    pub within_limits: Option<bool>,
    /// Those limits.
    pub limits: Option<TesterLimits>,
    /// The blocks it was read on, where it is taken between two: `block_value` is then the value asked about.
    pub between: Option<(f64, f64)>,
}

/// Mean and standard deviation of finite numbers.
pub(super) fn mean_and_sd(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let sd = (values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / (n - 1.0)).sqrt();
    (mean, if values.len() > 1 { sd } else { f64::NAN })
}

/// Refuses readings that are no finite numbers, naming the first.
pub(super) fn check_readings(model: &'static str, values: &[f64]) -> Result<()> {
    if values.is_empty() {
        return Err(Error::MissingArgument {
            function: model.into(),
            argument: "values".into(),
            why: "there is no reading".into(),
            hint: "Give at least one".into(),
        });
    }
    let failed = values.iter().filter(|value| !value.is_finite()).count();
    match values.iter().find(|value| !value.is_finite()) {
        Some(&value) => Err(Error::InvalidValue {
            model: model.into(),
            argument: "values".into(),
            value,
            unit: "".into(),
            why: "is no reading".into(),
            failed,
            of: values.len(),
            hint: "Leave out what was not measured, and say why in the record".into(),
        }),
        None => Ok(()),
    }
}

impl Tester {
    /// From readings on a reference block.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] for readings that are no numbers or an uncertainty that is none, [`Error::Refused`]
    /// where the readings are so far from the block's value that it can't be the block.
    pub fn from_block(
        values: &[f64],
        scale: &str,
        block_value: f64,
        block_expanded_uncertainty_k2: f64,
    ) -> Result<Self> {
        let name = ScaleName::parse(scale)?;
        check_readings(TESTER.id, values)?;
        if !block_value.is_finite() {
            return Err(Error::invalid(
                TESTER.id,
                "block_value",
                (block_value, name.text.clone()),
                "is not the value of a block",
                "Give the value on the block's certificate",
            ));
        }
        if !(block_expanded_uncertainty_k2 > 0.0 && block_expanded_uncertainty_k2.is_finite()) {
            return Err(Error::invalid(
                TESTER.id,
                "block_expanded_uncertainty_k2",
                (block_expanded_uncertainty_k2, name.text.clone()),
                "is not an expanded uncertainty",
                "It stands on the block's certificate; without it a bias can't be told from the block's own error",
            ));
        }
        let (mean, sd) = mean_and_sd(values);
        if !near(name.scale, mean, block_value) {
            return Err(Error::Refused {
                what: format!("a bias of {:.1} {}", mean - block_value, name.text).into(),
                why: "no working tester is that far off".into(),
                instead: "Check the block, its side, the scale and the indenter".into(),
            });
        }
        let range = values.iter().copied().fold(f64::MIN, f64::max) - values.iter().copied().fold(f64::MAX, f64::min);
        let limits = tester_limits(name.scale, block_value);
        let within = limits
            .as_ref()
            .map(|limits| range <= limits.max_range + 1e-9 && (mean - block_value).abs() <= limits.max_error + 1e-9);
        let mut bias =
            Estimate::new(mean - block_value, name.text.clone()).with("block", 0.5 * block_expanded_uncertainty_k2);
        if sd.is_finite() {
            bias = bias.with("repeatability", sd / (values.len() as f64).sqrt());
        } else {
            let (u, how) = spread_without_readings(name.scale, block_value);
            bias = bias.with("repeatability", u).assuming(how);
        }
        bias = bias.assuming(format!("valid near {block_value} {} only", name.text));
        Ok(Self {
            scale: name.text,
            block_value,
            block_expanded_uncertainty_k2,
            readings: values.len(),
            repeatability: sd,
            range,
            bias,
            within_limits: within,
            limits,
            between: None,
        })
    }

    /// Whether the bias is larger than its own expanded uncertainty (k = 2).
    #[must_use]
    pub fn is_biased(&self) -> bool {
        self.bias.value().abs() > 2.0 * self.bias.u()
    }

    /// What to do with the bias, in words.
    #[must_use]
    pub fn advice(&self) -> String {
        let (bias, u) = (self.bias.value(), 2.0 * self.bias.u());
        let scale = &self.scale;
        let what = if self.is_biased() {
            format!("add {:+.2} {scale} to readings near {}", -bias, self.block_value)
        } else {
            "the bias lies inside its own uncertainty".to_owned()
        };
        let limits = match self.within_limits {
            Some(true) => "; within the limits of the standard",
            Some(false) => "; outside the limits of the standard: have the tester looked at",
            None => "",
        };
        format!("bias {bias:+.2} ± {u:.2} {scale} (k=2): {what}{limits}")
    }

    /// What a reading is corrected by, in words.
    #[must_use]
    pub fn correction(&self) -> String {
        let by = -self.bias.value();
        match self.between {
            Some((low, high)) => format!("corrected by {by:+.2}, between blocks of {low} and {high}"),
            None => format!("corrected by {by:+.2} from a block of {}", self.block_value),
        }
    }

    /// Refuses to correct a reading that is not near the block.
    ///
    /// # Errors
    /// [`Error::Refused`].
    pub fn check_near(&self, scale: &ScaleName, value: f64) -> Result<()> {
        let own = ScaleName::parse(&self.scale)?;
        if own.scale != scale.scale {
            return Err(Error::Refused {
                what: format!("correcting {} readings by a block in {}", scale.text, self.scale).into(),
                why: "a bias belongs to one scale".into(),
                instead: "Check the tester on a block of the scale you read".into(),
            });
        }
        if near(own.scale, value, self.block_value) {
            return Ok(());
        }
        Err(Error::Refused {
            what: format!("correcting {value:.1} {} by a block of {}", self.scale, self.block_value).into(),
            why: "a bias changes along the scale, and holds near the block's value only (5 points, or 10 % for HV, HK \
                  and HBW: common practice, no source)"
                .into(),
            instead: "Check the tester on a block near the parts' hardness".into(),
        })
    }
}

pub(super) fn near(scale: Scale, value: f64, block: f64) -> bool {
    let reach = if scale.is_rockwell() { NEAR_POINTS } else { NEAR_SHARE * block.abs() };
    (value - block).abs() <= reach
}

/// A standard deviation of one reading where readings give none, and where it comes from.
pub(crate) fn spread_without_readings(scale: Scale, value: f64) -> (f64, String) {
    match tester_limits(scale, value) {
        // The expected range of five normal readings is 2.326 standard deviations.
        Some(limits) => {
            (limits.max_range / 2.326, format!("repeatability taken as the permitted range / 2.326 ({})", limits.whose))
        }
        None => (0.01 * value.abs(), "repeatability taken as 1 % of the reading: an assumption, no source".to_owned()),
    }
}

/// One standard uncertainty of a tester that no block was read on.
pub(super) fn unknown_tester_u(scale: Scale, value: f64) -> (f64, String) {
    match tester_limits(scale, value) {
        Some(limits) => (
            limits.max_error / 3f64.sqrt(),
            format!("no block read: tester taken within ±{} ({}), flat", limits.max_error, limits.whose),
        ),
        None => (
            0.025 * value.abs() / 3f64.sqrt(),
            "no block read: tester taken within ±2.5 %, flat: an assumption, no source".to_owned(),
        ),
    }
}

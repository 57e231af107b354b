//! The steel's constant C: what is believed of it, and what carbon says.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result};
use crate::estimate::{Estimate, normal_quantile};
use crate::kernel::{ArrayModel, Lane};
use crate::quantity::{LOG10_SECONDS_PER_HOUR, SteelConstant};
use crate::record::{ModelRecord, Origin, Scatter, Source, ValidRange, check_finite};

/// The record of C from carbon.
pub static CONSTANT_FROM_CARBON: ModelRecord = ModelRecord {
    id: "temper.constant_from_carbon",
    gives: "steel constant C for times in hours",
    unit: "",
    formula: "C = 21.3 - 5.8 %C, t in h (17.7 - 5.8 %C with t in s: the same constant)",
    ranges: &[ValidRange {
        argument: "carbon_percent",
        unit: "%",
        low: 0.15,
        high: 1.2,
        stated_by: "the plain carbon steels of Hollomon and Jaffe (1945)",
    }],
    scatter: Scatter::Known {
        u: 1.0,
        unit: "",
        found: "assumption: steels of one carbon content quoted with C about 1 apart; the source states none",
    },
    sources: &[Source {
        cite: "J. H. Hollomon and L. D. Jaffe, Time-temperature relations in tempering steel, Trans. AIME 162 (1945) 223",
        at: "the straight line of C on carbon, as restated in reviews",
        origin: Origin::FromMemory,
    }],
    errata: &["17.7 - 5.8 %C is the form for seconds; mixing the two shifts M by 3.556 T"],
    not_for: "alloy steels with secondary hardening",
};

/// C (hours) of the straight line at no carbon.
const FROM_IRON: f64 = 21.3;

/// What one weight per cent of carbon takes off C.
const PER_CARBON: f64 = 5.8;

/// C for times in hours from the carbon content in weight per cent.
///
/// # Errors
/// [`Error::OutOfRange`] outside 0.15 to 1.2 %, [`Error::InvalidValue`] for infinity.
///
/// ```
/// use afterquench::temper::constant_from_carbon;
/// assert!((constant_from_carbon(1.0).unwrap().hours() - 15.5).abs() < 1e-12);
/// ```
pub fn constant_from_carbon(carbon_percent: f64) -> Result<SteelConstant> {
    CONSTANT_FROM_CARBON.check("carbon_percent", carbon_percent)?;
    Ok(SteelConstant::for_hours(FROM_IRON - PER_CARBON * carbon_percent))
}

/// C from carbon with its scatter.
///
/// # Errors
/// As [`constant_from_carbon`]; with `extrapolate` the straight line is continued instead, the whole change counts as
/// uncertainty, and the estimate is marked.
pub fn constant_from_carbon_estimate(carbon_percent: super::Measured, extrapolate: bool) -> Result<Estimate> {
    let model = &CONSTANT_FROM_CARBON;
    check_finite(model.id, "carbon_percent", "%", carbon_percent.value)?;
    let inside = model
        .range("carbon_percent")
        .map_or(carbon_percent.value, |range| carbon_percent.value.clamp(range.low, range.high));
    let beyond = carbon_percent.value - inside;
    if beyond != 0.0 && !extrapolate {
        model.check("carbon_percent", carbon_percent.value)?;
    }
    let scatter = if let Scatter::Known { u, .. } = model.scatter { u } else { 0.0 };
    let made = Estimate::new(FROM_IRON - PER_CARBON * carbon_percent.value, "")
        .with("steel to steel", scatter)
        .with("carbon", PER_CARBON * carbon_percent.u)
        .assuming("C = 21.3 - 5.8 %C for hours, plain carbon steels, Hollomon and Jaffe (1945), from memory");
    Ok(if beyond == 0.0 { made } else { made.with("extrapolation", PER_CARBON * beyond).marked_extrapolated() })
}

/// [`constant_from_carbon`] over arrays: `carbon_percent`.
#[derive(Debug, Clone, Copy)]
pub struct ConstantFromCarbon;

/// C for hours from C for seconds, over arrays: `c_s`.
#[derive(Debug, Clone, Copy)]
pub struct ConstantFromSeconds;

/// C for seconds from C for hours, over arrays: `c`.
#[derive(Debug, Clone, Copy)]
pub struct ConstantToSeconds;

/// Fills `out` with a function of the one argument.
fn map(arguments: &[Lane<'_>], out: &mut [f64], function: impl Fn(f64) -> f64) {
    let &[lane] = arguments else { return out.fill(f64::NAN) };
    for (index, out) in out.iter_mut().enumerate() {
        *out = function(lane.at(index));
    }
}

impl ArrayModel for ConstantFromCarbon {
    fn arguments(&self) -> &[&'static str] {
        &["carbon_percent"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        map(arguments, out, |carbon| constant_from_carbon(carbon).map_or(f64::NAN, SteelConstant::hours));
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        let &[carbon] = arguments else { return Ok(()) };
        constant_from_carbon(carbon).map(|_| ())
    }
}

impl ArrayModel for ConstantFromSeconds {
    fn arguments(&self) -> &[&'static str] {
        &["c_s"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        map(arguments, out, |c| if c.is_finite() { c + LOG10_SECONDS_PER_HOUR } else { f64::NAN });
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        arguments.iter().try_for_each(|&c| check_finite("temper.constant", "c_s", "", c))
    }
}

impl ArrayModel for ConstantToSeconds {
    fn arguments(&self) -> &[&'static str] {
        &["c"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        map(arguments, out, |c| if c.is_finite() { c - LOG10_SECONDS_PER_HOUR } else { f64::NAN });
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        arguments.iter().try_for_each(|&c| check_finite("temper.constant", "c", "", c))
    }
}

/// What is believed of a steel's C (for hours).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum ConstantBelief {
    /// A number taken as it is.
    Fixed(f64),
    /// A value with a standard uncertainty.
    Normal {
        /// Best value.
        c: f64,
        /// One standard uncertainty.
        u: f64,
    },
    /// Anywhere in a range, flat.
    Flat {
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
    },
}

/// What is believed of C for a steel of which nothing is known: 15 to 20, flat (common practice, no source).
pub const UNKNOWN_STEEL: ConstantBelief = ConstantBelief::Flat { low: 15.0, high: 20.0 };

/// Far outside any published C, in hours or seconds: what lies beyond is a slip.
const LEAST: f64 = 1.0;
const MOST: f64 = 60.0;

impl ConstantBelief {
    /// Checks the numbers: finite, uncertainty not negative, range not reversed.
    ///
    /// # Errors
    /// [`Error::InvalidValue`].
    pub fn checked(self) -> Result<Self> {
        let (a, b) = match self {
            Self::Fixed(c) => (c, c),
            Self::Normal { c, u } => (c, u),
            Self::Flat { low, high } => (low, high),
        };
        for value in [a, b] {
            check_finite("temper.constant", "c", "", value)?;
        }
        let bad = match self {
            Self::Normal { u, .. } if u < 0.0 => Some((u, "is a negative uncertainty")),
            Self::Flat { low, high } if low > high => Some((low, "is above the upper end of the range")),
            _ if a.is_nan() || b.is_nan() => Some((f64::NAN, "is not a number")),
            _ if !(LEAST..=MOST).contains(&self.middle()) => Some((
                self.middle(),
                "is no steel's constant: for hours they lie between 10 and 25, for seconds 3.6 lower",
            )),
            _ => None,
        };
        match bad {
            None => Ok(self),
            Some((value, why)) => Err(Error::invalid(
                "temper.constant",
                "c",
                (value, ""),
                why,
                "Give c as a number, an Estimate, or a pair (low, high)",
            )),
        }
    }

    /// The middle.
    #[must_use]
    pub const fn middle(self) -> f64 {
        match self {
            Self::Fixed(c) | Self::Normal { c, .. } => c,
            Self::Flat { low, high } => 0.5 * (low + high),
        }
    }

    /// One standard uncertainty.
    #[must_use]
    pub fn u(self) -> f64 {
        match self {
            Self::Fixed(_) => 0.0,
            Self::Normal { u, .. } => u,
            Self::Flat { low, high } => (high - low) / 12f64.sqrt(),
        }
    }

    /// The ends shown to people: the range itself, or two standard uncertainties each way.
    #[must_use]
    pub fn ends(self) -> (f64, f64) {
        match self {
            Self::Fixed(c) => (c, c),
            Self::Normal { c, u } => (c - 2.0 * u, c + 2.0 * u),
            Self::Flat { low, high } => (low, high),
        }
    }

    /// The value at a probability: what a Monte Carlo draw needs.
    #[must_use]
    pub fn at(self, probability: f64) -> f64 {
        match self {
            Self::Fixed(c) => c,
            Self::Normal { c, u } => c + u * normal_quantile(probability),
            Self::Flat { low, high } => low + (high - low) * probability,
        }
    }

    /// The belief as a phrase for an assumption.
    #[must_use]
    pub fn text(self) -> String {
        match self {
            Self::Fixed(c) => format!("C = {c} (hours)"),
            Self::Normal { c, u } => format!("C = {c:.1} with u = {u:.1} (hours)"),
            Self::Flat { low, high } => format!("C = {low} to {high}, flat (hours)"),
        }
    }
}

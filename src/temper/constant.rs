//! The steel's constant C: what is believed of it, and what carbon says.

use crate::error::{Error, Result};
use crate::estimate::normal_quantile;
use crate::quantity::SteelConstant;
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
    Ok(SteelConstant::for_hours(21.3 - 5.8 * carbon_percent))
}

/// What is believed of a steel's C (for hours).
#[derive(Debug, Clone, Copy, PartialEq)]
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
            _ => None,
        };
        match bad {
            None => Ok(self),
            Some((value, why)) => Err(Error::InvalidValue {
                model: "temper.constant".into(),
                argument: "c".into(),
                value,
                unit: "".into(),
                why: why.into(),
                failed: 1,
                of: 1,
                hint: "Give c as a number, an Estimate, or a pair (low, high)".into(),
            }),
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

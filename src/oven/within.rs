//! How long a part takes to get to its oven's temperature, and whether it is through.

use serde::{Deserialize, Serialize};

use super::conduction::{self, Bath};
use super::formula::{Formula, positive};
use super::lag::{LARGEST_BIOT, LUMPED, biot_number, time_constant_s};
use super::material::{CONDUCTIVITY_W_MK, DENSITY_KG_M3, EN_SPECIFIC_HEAT, HeatCapacity};
use super::radiation::{EMISSIVITY, coefficient};
use super::section::{Part, Place, section_lags, section_temperature_c, time_until};
use super::surroundings::Surroundings;
use crate::error::{Error, Result};
use crate::estimate::{Estimate, Shape};
use crate::record::{ModelRecord, Origin, Scatter, Source, ValidRange};

const RANGES: [ValidRange; 3] = [
    ValidRange {
        argument: "start_c",
        unit: "°C",
        low: 0.0,
        high: 600.0,
        stated_by: "EN 1993-1-2, branch of c(T) below 600 °C",
    },
    ValidRange {
        argument: "oven_c",
        unit: "°C",
        low: 20.0,
        high: 600.0,
        stated_by: "EN 1993-1-2, branch of c(T) below 600 °C",
    },
    EMISSIVITY,
];

/// The record of [`time_to_within_s`].
pub static TIME_TO_WITHIN: ModelRecord = ModelRecord {
    id: "oven.time_to_within",
    gives: "time until the core of a cold part in a steady oven is within some degrees of it",
    unit: "s",
    formula: "Bi < 0.1: t = integral of rho c(T) (V/A) / (h (T_oven - T) + emissivity sigma (T_oven^4 - T^4)) dT; c \
              constant, or 425 + 0.773 T - 1.69e-3 T^2 + 2.22e-6 T^3 J/kgK. Above: the eigenvalue series of plane wall \
              or cylinder, or with c(T) or radiation an implicit finite-volume solution on two grids",
    ranges: &RANGES,
    scatter: Scatter::NotStated,
    sources: &[
        LUMPED,
        Source {
            cite: "EN 1993-1-2:2005, Eurocode 3, structural fire design",
            at: "eq. 3.2a, specific heat of carbon steel; 3.4.1.3, its conductivity",
            origin: Origin::Printed,
        },
    ],
    errata: &["c(T) is for carbon steel; hardened tool steel differs by a few percent"],
    not_for: "parts that lie on one another",
};

/// [`time_to_within_s`] over arrays; with the heat capacity of EN 1993-1-2, or a constant one.
#[must_use]
pub const fn time_to_within_over<const ROUND: bool, const EN: bool>() -> Formula<6> {
    Formula {
        names: [
            if ROUND { "diameter_mm" } else { "thickness_mm" },
            "h_w_m2k",
            "start_c",
            "oven_c",
            "within_delta_c",
            "emissivity",
        ],
        function: |[size, h, start, oven, within, emissivity]| {
            let capacity = if EN { HeatCapacity::En1993 } else { HeatCapacity::Constant };
            let part = if ROUND { Part::Round(size) } else { Part::Plate(size) };
            time_to_within_s(part, h, start, oven, within, emissivity, capacity)
        },
    }
}

/// Seconds until the core of a part put cold into a steady oven is within `within_delta_c` of it.
///
/// An emissivity above zero adds radiation from walls as warm as the air; zero leaves everything to h.
///
/// # Errors
/// [`Error::InvalidValue`] for sizes that are not positive, [`Error::OutOfRange`] outside 0 to 600 °C or for an
/// emissivity outside 0 to 1.
///
/// ```
/// use afterquench::oven::{HeatCapacity, Part, time_to_within_s};
/// let blade = time_to_within_s(Part::Plate(3.0), 25.0, 20.0, 200.0, 5.0, 0.0, HeatCapacity::En1993).unwrap();
/// assert!((blade - 859.43).abs() < 0.01);
/// let block = time_to_within_s(Part::Plate(100.0), 100.0, 20.0, 200.0, 5.0, 0.0, HeatCapacity::Constant).unwrap();
/// assert!(block > 7000.0);
/// ```
pub fn time_to_within_s(
    part: Part,
    h_w_m2k: f64,
    start_c: f64,
    oven_c: f64,
    within_delta_c: f64,
    emissivity: f64,
    heat_capacity: HeatCapacity,
) -> Result<f64> {
    TIME_TO_WITHIN.check("start_c", start_c)?;
    TIME_TO_WITHIN.check("oven_c", oven_c)?;
    TIME_TO_WITHIN.check("emissivity", emissivity)?;
    let size = if matches!(part, Part::Plate(_)) { "thickness_mm" } else { "diameter_mm" };
    positive(&TIME_TO_WITHIN, size, "mm", part.size_mm())?;
    positive(&TIME_TO_WITHIN, "h_w_m2k", "W/m2K", h_w_m2k)?;
    positive(&TIME_TO_WITHIN, "within_delta_c", "°C", within_delta_c)?;
    if oven_c - start_c <= within_delta_c {
        return Ok(0.0);
    }
    let bath = Bath { h_w_m2k, emissivity, celsius: oven_c };
    let most = h_w_m2k + coefficient(oven_c, oven_c, emissivity);
    if biot_number(part.volume_by_area_mm(), most)? < LARGEST_BIOT {
        return lumped(part.volume_by_area_mm(), bath, start_c, within_delta_c, heat_capacity);
    }
    if heat_capacity == HeatCapacity::Constant && emissivity == 0.0 {
        let lags = section_lags(part, h_w_m2k, Place::Core)?;
        return Ok(time_until(&lags, within_delta_c / (oven_c - start_c)));
    }
    Ok(conduction::time_to_within(part, heat_capacity, bath, start_c, within_delta_c).0)
}

/// A part at one temperature: closed where it can be, else by quadrature in the logarithm of the gap, where the
/// integrand is smooth.
fn lumped(volume_by_area_mm: f64, bath: Bath, start_c: f64, within_c: f64, capacity: HeatCapacity) -> Result<f64> {
    let oven_c = bath.celsius;
    let times = ((oven_c - start_c) / within_c).ln();
    let tau = time_constant_s(volume_by_area_mm, bath.h_w_m2k)?;
    if bath.emissivity == 0.0 && capacity == HeatCapacity::Constant {
        return Ok(tau * times);
    }
    if bath.emissivity == 0.0 {
        // c(T)/(a - T) = c(a)/(a - T) - q(T) with q the polynomial quotient, so the integral is closed.
        let [c0, c1, c2, c3] = EN_SPECIFIC_HEAT;
        let (a, goal) = (oven_c, oven_c - within_c);
        let at_oven = c0 + a * (c1 + a * (c2 + a * c3));
        let quotient = |t: f64| t * (c1 + a * c2 + a * a * c3) + t * t * 0.5 * (c2 + a * c3) + t * t * t * c3 / 3.0;
        let heat = at_oven * times - (quotient(goal) - quotient(start_c));
        return Ok(DENSITY_KG_M3 * volume_by_area_mm * 1e-3 / bath.h_w_m2k * heat);
    }
    let rate = |log_gap: f64| {
        let part = oven_c - log_gap.exp();
        capacity.volumetric(part) / (bath.h_w_m2k + coefficient(oven_c, part, bath.emissivity))
    };
    // Simpson's rule; 400 intervals leave less than 1e-9.
    const INTERVALS: u32 = 400;
    let step = times / f64::from(INTERVALS);
    let sum: f64 = (0..=INTERVALS)
        .map(|i| {
            let weight = if i == 0 || i == INTERVALS {
                1.0
            } else if i % 2 == 1 {
                4.0
            } else {
                2.0
            };
            weight * rate(within_c.ln() + step * f64::from(i))
        })
        .sum();
    Ok(volume_by_area_mm * 1e-3 * step / 3.0 * sum)
}

/// Whether a section is through.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Through {
    /// The part.
    pub part: Part,
    /// `Some(true)` whatever the coefficient in its band, `Some(false)` whatever it is, nothing where that decides.
    pub verdict: Option<bool>,
    /// Core at the time asked for, °C; at its hottest where a record was asked without a time.
    pub core: Estimate,
    /// Skin at that time, °C.
    pub surface: Estimate,
    /// Seconds it takes the core to come within the degrees asked for; nothing where a record ends before.
    pub time: Option<Estimate>,
    /// Biot number at the likely coefficient.
    pub biot: f64,
    /// Degrees that count as being there.
    pub within_delta_c: f64,
}

/// Whether the core of a section is within `within_delta_c` of a steady oven after `time_s`: with the surroundings' own
/// band of h (low, likely, high) or another.
///
/// # Errors
/// As [`time_to_within_s`]; [`Error::Refused`] for a band that does not rise.
pub fn is_through(
    part: Part,
    surroundings: Surroundings,
    h_w_m2k: Option<(f64, f64, f64)>,
    start_c: f64,
    oven_c: f64,
    time_s: f64,
    within_delta_c: f64,
) -> Result<Through> {
    let band = h_w_m2k.unwrap_or_else(|| surroundings.h_w_m2k());
    let (low, likely, high) = rising(band)?;
    let needed = |h: f64| time_to_within_s(part, h, start_c, oven_c, within_delta_c, 0.0, HeatCapacity::Constant);
    let (slowest, usual, quickest) = (needed(low)?, needed(likely)?, needed(high)?);
    let at = |place: Place, h: f64| section_temperature_c(part, h, start_c, oven_c, time_s, place, None);
    let assumed = assumption(part, surroundings, band);
    let banded = |value: f64, one: f64, other: f64, unit: &'static str| {
        let (low, high) = (one.min(other), one.max(other));
        Estimate::new(value, unit)
            .with("heat transfer coefficient", (high - low) / 12f64.sqrt())
            .shaped(Shape::Bounds { low, high })
            .assuming(assumed.clone())
    };
    let there =
        |place: Place| -> Result<Estimate> { Ok(banded(at(place, likely)?, at(place, low)?, at(place, high)?, "°C")) };
    let verdict = if time_s >= slowest {
        Some(true)
    } else if time_s < quickest {
        Some(false)
    } else {
        None
    };
    Ok(Through {
        part,
        verdict,
        core: there(Place::Core)?,
        surface: there(Place::Surface)?,
        time: Some(banded(usual, quickest, slowest, "s")),
        biot: biot_number(part.volume_by_area_mm(), likely)?,
        within_delta_c,
    })
}

/// A band of the coefficient whose numbers rise.
pub(super) fn rising((low, likely, high): (f64, f64, f64)) -> Result<(f64, f64, f64)> {
    if low <= likely && likely <= high {
        return Ok((low, likely, high));
    }
    Err(Error::Refused {
        what: format!("h_w_m2k = ({low}, {likely}, {high})").into(),
        why: "low, likely and high must rise".into(),
        instead: "Write (20, 35, 60), or one number".into(),
    })
}

/// What is assumed of a part in its surroundings.
pub(super) fn assumption(part: Part, surroundings: Surroundings, (low, likely, high): (f64, f64, f64)) -> String {
    format!(
        "a {} in {}: h = {low} to {high} W/m2K, likely {likely} (an assumption: a probe beside the part settles it); \
         conductivity {CONDUCTIVITY_W_MK} W/mK",
        part.text(),
        surroundings.name()
    )
}

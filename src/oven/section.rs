//! A section that is not at one temperature: plane wall and cylinder by their eigenvalues.
//!
//! A wall of half thickness L (or a bar of radius R) in air of one temperature follows it as a sum of first-order lags:
//! θ(x, t) = Σ Cₙ φ(ζₙ x/L) exp(−ζₙ² α t/L²). Air that changes along straight lines is followed by the same lags, so a
//! log needs no more than a handful of them. What the modes left out would add fades within the last mode's lag.

use serde::{Deserialize, Serialize};

use super::formula::positive;
use super::material::{CONDUCTIVITY_W_MK, HEAT_CAPACITY_J_M3K};
use crate::error::Result;
use crate::record::{ModelRecord, Origin, Scatter, Source, check_finite};

/// The part's shape, as far as heat needs it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Part {
    /// A plate heated on both faces, thickness in mm.
    Plate(f64),
    /// A round bar, diameter in mm.
    Round(f64),
}

impl Part {
    /// Volume by heated area in mm.
    #[must_use]
    pub const fn volume_by_area_mm(self) -> f64 {
        match self {
            Self::Plate(thickness) => 0.5 * thickness,
            Self::Round(diameter) => 0.25 * diameter,
        }
    }

    /// From the middle to the skin, in m.
    pub(super) const fn depth_m(self) -> f64 {
        match self {
            Self::Plate(size) | Self::Round(size) => 0.5e-3 * size,
        }
    }

    /// Its thickness or diameter in mm.
    #[must_use]
    pub const fn size_mm(self) -> f64 {
        match self {
            Self::Plate(size) | Self::Round(size) => size,
        }
    }

    /// The part in words.
    #[must_use]
    pub fn text(self) -> String {
        match self {
            Self::Plate(thickness) => format!("{thickness} mm plate"),
            Self::Round(diameter) => format!("{diameter} mm round"),
        }
    }
}

/// Where in a section.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Place {
    /// In the middle: the last to get there.
    #[default]
    Core,
    /// At the skin.
    Surface,
}

/// The record of [`section_temperature_c`].
pub static SECTION: ModelRecord = ModelRecord {
    id: "oven.section",
    gives: "temperature in the core or at the skin of a section put into steady air",
    unit: "°C",
    formula: "theta = sum C_n phi(zeta_n x/L) exp(-zeta_n^2 Fo); plate: zeta tan zeta = Bi, C = 4 sin zeta/(2 zeta + \
              sin 2 zeta), phi = cos; round: zeta J1 = Bi J0, C = 2 J1/(zeta (J0^2 + J1^2)), phi = J0",
    ranges: &[],
    scatter: Scatter::NotStated,
    sources: &[Source {
        cite: "transient conduction with convection, any heat transfer textbook (after H. S. Carslaw and J. C. Jaeger, \
               Conduction of Heat in Solids)",
        at: "plane wall and infinite cylinder, eigenvalue series",
        origin: Origin::FromMemory,
    }],
    errata: &["a textbook prints 445 °C for its brass plates because the eigenvalue was interpolated; it is 448 °C"],
    not_for: "parts shorter than four times their section, which heat from their ends too",
};

/// One term of a section's response.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mode {
    /// Eigenvalue ζ.
    pub zeta: f64,
    /// Coefficient C: its share in the core.
    pub core: f64,
    /// Its share at the skin.
    pub surface: f64,
}

/// Modes that are kept: the next one fades within a thousandth of the first's lag.
const MODES: usize = 12;

/// The first modes of a plate, or of a round bar, by the Biot number of its half thickness or radius.
///
/// # Errors
/// [`crate::Error::InvalidValue`] for a Biot number that is not positive.
///
/// ```
/// let first = afterquench::oven::modes(false, 0.1, 1).unwrap()[0];
/// assert!((first.zeta - 0.3111).abs() < 5e-5 && (first.core - 1.0161).abs() < 5e-5);
/// ```
pub fn modes(round: bool, biot: f64, count: usize) -> Result<Vec<Mode>> {
    const STEP: f64 = 0.25;
    positive(&SECTION, "biot", "", biot)?;
    let condition = |zeta: f64| {
        if round {
            let (j0, j1) = bessel(zeta);
            zeta * j1 - biot * j0
        } else {
            zeta * zeta.sin() - biot * zeta.cos()
        }
    };
    let mut made = Vec::with_capacity(count);
    let (mut from, mut at_from) = (0.0, condition(0.0));
    // Roots lie about pi apart, and never nearer than pi/2: a step can't hold two.
    while made.len() < count && from < 4.0 * (count as f64 + 1.0) {
        let to = from + STEP;
        let at_to = condition(to);
        if at_from * at_to <= 0.0 && at_to != 0.0 {
            made.push(mode(round, root(&condition, from, to, at_from)));
        }
        (from, at_from) = (to, at_to);
    }
    Ok(made)
}

/// The root between two ends, by halving.
fn root(condition: &impl Fn(f64) -> f64, mut low: f64, mut high: f64, at_low: f64) -> f64 {
    for _ in 0..52 {
        let middle = 0.5 * (low + high);
        if (condition(middle) < 0.0) == (at_low < 0.0) { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

fn mode(round: bool, zeta: f64) -> Mode {
    if round {
        let (j0, j1) = bessel(zeta);
        let core = 2.0 * j1 / (zeta * (j0 * j0 + j1 * j1));
        Mode { zeta, core, surface: core * j0 }
    } else {
        let core = 4.0 * zeta.sin() / (2.0 * zeta + (2.0 * zeta).sin());
        Mode { zeta, core, surface: core * zeta.cos() }
    }
}

/// Bessel functions of order 0 and 1 by their integral: the trapezoidal rule is exact to rounding here, since the
/// integrand is periodic and its harmonics beyond twice the number of points are below 1e-30 for x up to 60.
fn bessel(x: f64) -> (f64, f64) {
    const POINTS: u32 = 64;
    let (mut j0, mut j1) = (0.0, 0.0);
    for point in 0..POINTS {
        let angle = std::f64::consts::PI * (f64::from(point) + 0.5) / f64::from(POINTS);
        j0 += (x * angle.sin()).cos();
        j1 += (angle - x * angle.sin()).cos();
    }
    (j0 / f64::from(POINTS), j1 / f64::from(POINTS))
}

/// Shares and time constants in s of the lags by which a place in a part follows its air; the shares add up to one.
pub(super) fn lags(
    part: Part,
    h_w_m2k: f64,
    conductivity: f64,
    heat_capacity: f64,
    place: Place,
) -> Result<Vec<(f64, f64)>> {
    let depth = part.depth_m();
    let slowness = depth * depth * heat_capacity / conductivity;
    let round = matches!(part, Part::Round(_));
    let mut made: Vec<(f64, f64)> = modes(round, h_w_m2k * depth / conductivity, MODES)?
        .iter()
        .map(|mode| {
            let share = if place == Place::Core { mode.core } else { mode.surface };
            (share, slowness / (mode.zeta * mode.zeta))
        })
        .collect();
    let all: f64 = made.iter().map(|(share, _)| share).sum();
    if let Some(last) = made.last_mut() {
        last.0 += 1.0 - all;
    }
    Ok(made)
}

/// Shares and time constants in s of the lags by which a place in a part of hardened steel follows its air.
///
/// # Errors
/// [`crate::Error::InvalidValue`] for a size or a coefficient that is not positive.
pub fn section_lags(part: Part, h_w_m2k: f64, place: Place) -> Result<Vec<(f64, f64)>> {
    lags(part, h_w_m2k, CONDUCTIVITY_W_MK, HEAT_CAPACITY_J_M3K, place)
}

/// Temperature in a section `time_s` after it was put into steady air.
///
/// `material` is conductivity in W/mK and density times specific heat in J/m³K; nothing is hardened steel.
///
/// # Errors
/// [`crate::Error::InvalidValue`] for sizes, coefficients or times that are not positive.
///
/// ```
/// use afterquench::oven::{Part, Place, section_temperature_c};
/// // A textbook's brass plates: 30 mm, 25 °C into 700 °C, h = 80, ten minutes.
/// let brass = Some((110.0, 110.0 / 33.9e-6));
/// let skin = section_temperature_c(Part::Plate(30.0), 80.0, 25.0, 700.0, 600.0, Place::Surface, brass).unwrap();
/// assert!((skin - 448.2).abs() < 0.1);
/// ```
pub fn section_temperature_c(
    part: Part,
    h_w_m2k: f64,
    start_c: f64,
    oven_c: f64,
    time_s: f64,
    place: Place,
    material: Option<(f64, f64)>,
) -> Result<f64> {
    positive(
        &SECTION,
        if matches!(part, Part::Plate(_)) { "thickness_mm" } else { "diameter_mm" },
        "mm",
        part.size_mm(),
    )?;
    positive(&SECTION, "h_w_m2k", "W/m2K", h_w_m2k)?;
    positive(&SECTION, "time_s", "s", time_s)?;
    check_finite(SECTION.id, "start_c", "°C", start_c)?;
    check_finite(SECTION.id, "oven_c", "°C", oven_c)?;
    let (conductivity, capacity) = material.unwrap_or((CONDUCTIVITY_W_MK, HEAT_CAPACITY_J_M3K));
    positive(&SECTION, "conductivity_w_mk", "W/mK", conductivity)?;
    positive(&SECTION, "heat_capacity_j_m3k", "J/m3K", capacity)?;
    let lags = lags(part, h_w_m2k, conductivity, capacity, place)?;
    Ok(oven_c + (start_c - oven_c) * remaining(&lags, time_s))
}

/// The share of the first difference that is left after a time.
pub(super) fn remaining(lags: &[(f64, f64)], time_s: f64) -> f64 {
    lags.iter().map(|(share, lag)| share * (-time_s / lag).exp()).sum()
}

/// When the share that is left falls to a value.
pub(super) fn time_until(lags: &[(f64, f64)], share: f64) -> f64 {
    let slowest = lags.iter().map(|(_, lag)| *lag).fold(0.0, f64::max);
    let (mut low, mut high) = (0.0, slowest * ((2.0 / share).ln() + 1.0));
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if remaining(lags, middle) > share { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

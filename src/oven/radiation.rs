//! Radiation: what a part exchanges with the walls, and with an element that it sees.

use super::formula::{Formula, positive};
use crate::error::Result;
use crate::quantity::ZERO_CELSIUS_K;
use crate::record::{ModelRecord, Origin, Scatter, Source, ValidRange, check_finite, check_number};

/// Stefan–Boltzmann constant, W/m²K⁴ (CODATA 2018).
pub(super) const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

const VIEW_FACTOR: ValidRange =
    ValidRange { argument: "view_factor", unit: "", low: 0.0, high: 1.0, stated_by: "the meaning of a view factor" };
pub(super) const EMISSIVITY: ValidRange =
    ValidRange { argument: "emissivity", unit: "", low: 0.0, high: 1.0, stated_by: "the meaning of an emissivity" };

/// The record of [`radiation_offset_delta_c`].
pub static RADIATION_OFFSET: ModelRecord = ModelRecord {
    id: "oven.radiation_offset",
    gives: "how much hotter than the air a part gets that sees a glowing element on one side",
    unit: "°C",
    formula: "emissivity * view_factor * sigma (T_element^4 - T_part^4) / (2 h), T in K, part at air temperature",
    ranges: &[VIEW_FACTOR, EMISSIVITY],
    scatter: Scatter::NotStated,
    sources: &[Source {
        cite: "Stefan-Boltzmann law",
        at: "linearised: both faces lose by h",
        origin: Origin::FromMemory,
    }],
    errata: &["an upper side where the rise is large: the part then radiates more itself"],
    not_for: "a part that is hotter than its air already, or shielded",
};

/// [`radiation_offset_delta_c`] over arrays.
pub const RADIATION_OVER: Formula<5> = Formula {
    names: ["element_c", "part_c", "view_factor", "emissivity", "h_w_m2k"],
    function: |[element, part, view, emissivity, h]| radiation_offset_delta_c(element, part, view, emissivity, h),
};

/// How much hotter than the air a flat part gets that sees an element on one side and loses heat by h on both.
///
/// # Errors
/// [`crate::Error::OutOfRange`] for a view factor or emissivity outside 0 to 1, [`crate::Error::InvalidValue`] for the rest.
///
/// ```
/// let hotter = afterquench::oven::radiation_offset_delta_c(500.0, 200.0, 0.05, 0.8, 35.0).unwrap();
/// assert!((hotter - 9.95).abs() < 0.01);
/// ```
pub fn radiation_offset_delta_c(
    element_c: f64,
    part_c: f64,
    view_factor: f64,
    emissivity: f64,
    h_w_m2k: f64,
) -> Result<f64> {
    RADIATION_OFFSET.check("view_factor", view_factor)?;
    RADIATION_OFFSET.check("emissivity", emissivity)?;
    positive(&RADIATION_OFFSET, "h_w_m2k", "W/m2K", h_w_m2k)?;
    let element = above_zero(&RADIATION_OFFSET, "element_c", element_c)?;
    let part = above_zero(&RADIATION_OFFSET, "part_c", part_c)?;
    Ok(emissivity * view_factor * STEFAN_BOLTZMANN * (element.powi(4) - part.powi(4)) / (2.0 * h_w_m2k))
}

/// How much hotter than its air a flat part stays that sees an element on one side and loses heat by h on both: as
/// [`radiation_offset_delta_c`], but radiating as hot as it gets, which bounds it by the element.
///
/// # Errors
/// As [`radiation_offset_delta_c`]; [`crate::Error::InvalidValue`] also for what is no number.
pub(super) fn settled_rise_delta_c(
    (element_c, view_factor, emissivity): (f64, f64, f64),
    air_c: f64,
    h_w_m2k: f64,
) -> Result<f64> {
    for (argument, unit, value) in
        [("element_c", "°C", element_c), ("view_factor", "", view_factor), ("emissivity", "", emissivity)]
    {
        check_number(RADIATION_OFFSET.id, argument, unit, value)?;
    }
    let excess = |rise: f64| -> Result<f64> {
        Ok(radiation_offset_delta_c(element_c, air_c + rise, view_factor, emissivity, h_w_m2k)? - rise)
    };
    excess(0.0)?;
    let (mut low, mut high) = (0.0_f64, (element_c - air_c).max(0.0));
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if excess(middle)? > 0.0 { low = middle } else { high = middle }
    }
    Ok(0.5 * (low + high))
}

/// The record of [`radiation_coefficient_w_m2k`].
pub static RADIATION_COEFFICIENT: ModelRecord = ModelRecord {
    id: "oven.radiation_coefficient",
    gives: "heat transfer coefficient that radiation between a part and the walls around it is worth",
    unit: "W/m2K",
    formula: "emissivity * sigma * (T_wall^2 + T_part^2) (T_wall + T_part), T in K",
    ranges: &[EMISSIVITY],
    scatter: Scatter::Exact,
    sources: &[Source {
        cite: "Stefan-Boltzmann law",
        at: "a small grey body in a large enclosure",
        origin: Origin::FromMemory,
    }],
    errata: &[],
    not_for: "a part that fills its oven",
};

/// The record of [`radiant_part_c`].
pub static RADIANT_PART: ModelRecord = ModelRecord {
    id: "oven.radiant_part",
    gives: "temperature that a part ends at which sees a glowing element",
    unit: "°C",
    formula: "h (T - T_air) = emissivity sigma (F (T_element^4 - T^4) + (1 - F) (T_wall^4 - T^4)), T in K, F the view factor",
    ranges: &[VIEW_FACTOR, EMISSIVITY],
    scatter: Scatter::NotStated,
    sources: &[Source {
        cite: "Stefan-Boltzmann law",
        at: "balance of one face that loses by h and radiates itself",
        origin: Origin::FromMemory,
    }],
    errata: &["one face for all: a thin part that gains on one face and loses on both gets about half as much hotter"],
    not_for: "a part whose other face is in the shade: see oven.radiation_offset",
};

/// What radiation between a part and walls around it is worth as a coefficient, W/m²K; nothing is checked.
pub(super) fn coefficient(wall_c: f64, part_c: f64, emissivity: f64) -> f64 {
    let (wall, part) = (wall_c + ZERO_CELSIUS_K, part_c + ZERO_CELSIUS_K);
    emissivity * STEFAN_BOLTZMANN * (wall * wall + part * part) * (wall + part)
}

/// Heat transfer coefficient in W/m²K that radiation between a part and the walls is worth.
///
/// # Errors
/// [`crate::Error::OutOfRange`] for an emissivity outside 0 to 1, [`crate::Error::InvalidValue`] at or below absolute zero.
///
/// ```
/// let h = afterquench::oven::radiation_coefficient_w_m2k(240.0, 240.0, 0.8).unwrap();
/// assert!((h - 24.519).abs() < 5e-4);
/// ```
pub fn radiation_coefficient_w_m2k(wall_c: f64, part_c: f64, emissivity: f64) -> Result<f64> {
    RADIATION_COEFFICIENT.check("emissivity", emissivity)?;
    above_zero(&RADIATION_COEFFICIENT, "wall_c", wall_c)?;
    above_zero(&RADIATION_COEFFICIENT, "part_c", part_c)?;
    Ok(coefficient(wall_c, part_c, emissivity))
}

/// Temperature in °C at which a part settles that sees an element and, for the rest, walls.
///
/// # Errors
/// [`crate::Error::OutOfRange`] for a view factor or an emissivity outside 0 to 1; [`crate::Error::InvalidValue`] for a coefficient
/// that is not positive, or temperatures at or below absolute zero.
pub fn radiant_part_c(
    air_c: f64,
    wall_c: f64,
    element_c: f64,
    view_factor: f64,
    emissivity: f64,
    h_w_m2k: f64,
) -> Result<f64> {
    RADIANT_PART.check("view_factor", view_factor)?;
    RADIANT_PART.check("emissivity", emissivity)?;
    positive(&RADIANT_PART, "h_w_m2k", "W/m2K", h_w_m2k)?;
    let air = above_zero(&RADIANT_PART, "air_c", air_c)?;
    let wall = above_zero(&RADIANT_PART, "wall_c", wall_c)?;
    let element = above_zero(&RADIANT_PART, "element_c", element_c)?;
    let gain = view_factor * element.powi(4) + (1.0 - view_factor) * wall.powi(4);
    let excess = |part: f64| emissivity * STEFAN_BOLTZMANN * (gain - part.powi(4)) - h_w_m2k * (part - air);
    // The excess falls with the part's temperature, and changes its sign between the coldest and the hottest around it.
    let (mut low, mut high) = (air.min(wall).min(element), air.max(wall).max(element));
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if excess(middle) > 0.0 { low = middle } else { high = middle }
    }
    Ok(0.5 * (low + high) - ZERO_CELSIUS_K)
}

/// A level in kelvin, if there is such a one.
fn above_zero(record: &'static ModelRecord, argument: &'static str, celsius: f64) -> Result<f64> {
    check_finite(record.id, argument, "°C", celsius)?;
    positive(record, argument, "K", celsius + ZERO_CELSIUS_K)?;
    Ok(celsius + ZERO_CELSIUS_K)
}

/// [`radiation_coefficient_w_m2k`] over arrays.
pub const RADIATION_COEFFICIENT_OVER: Formula<3> = Formula {
    names: ["wall_c", "part_c", "emissivity"],
    function: |[wall, part, emissivity]| radiation_coefficient_w_m2k(wall, part, emissivity),
};
/// [`radiant_part_c`] over arrays.
pub const RADIANT_PART_OVER: Formula<6> = Formula {
    names: ["air_c", "wall_c", "element_c", "view_factor", "emissivity", "h_w_m2k"],
    function: |[air, wall, element, view, emissivity, h]| radiant_part_c(air, wall, element, view, emissivity, h),
};

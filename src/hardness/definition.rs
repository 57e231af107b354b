//! Hardness from what is measured: force, ball and diagonal, or depth.

use std::f64::consts::PI;

use super::scale::{Scale, ScaleName};
use crate::error::{Error, Result};
use crate::record::{ModelRecord, Origin, Scatter, Source};

/// The record of the definitions.
pub static DEFINITIONS: ModelRecord = ModelRecord {
    id: "hardness.definitions",
    gives: "hardness from force and indentation",
    unit: "",
    formula: "HBW = 2F / (π D (D − √(D² − d²))), HV = 2 F sin 68° / d², HK = 14.229 F / L², F in kgf, lengths in mm; \
              HRC, HRA, HRD = 100 − h/0.002, HRB, HRF = 130 − h/0.002, N and T scales = 100 − h/0.001, h in mm",
    ranges: &[],
    scatter: Scatter::Exact,
    sources: &[
        Source { cite: "ISO 6506-1 and ASTM E10", at: "definition of HBW", origin: Origin::Definition },
        Source { cite: "ISO 6507-1 and ASTM E92", at: "definition of HV", origin: Origin::Definition },
        Source { cite: "ISO 4545-1 and ASTM E384", at: "definition of HK", origin: Origin::Definition },
        Source { cite: "ISO 6508-1 and ASTM E18", at: "definition of the Rockwell scales", origin: Origin::Definition },
    ],
    errata: &[
        "the ISO forms with F in N and 0.102 or 0.1891 differ by up to 0.03 %, below the rounding of any reading",
    ],
    not_for: "Rockwell depths taken from the surface: h counts from the depth of the preliminary force",
};

/// 2 sin(136°/2): force over the area of a Vickers indentation, from its diagonal.
const VICKERS: f64 = 1.854_367_714_8;

/// Knoop's constant for kgf and mm.
const KNOOP: f64 = 14.229;

pub(super) fn invalid(
    argument: &'static str,
    unit: &'static str,
    value: f64,
    why: &'static str,
    hint: &'static str,
) -> Error {
    Error::invalid(DEFINITIONS.id, argument, (value, unit), why, hint)
}

pub(super) fn positive(argument: &'static str, unit: &'static str, value: f64) -> Result<()> {
    if value.is_nan() || (value > 0.0 && value.is_finite()) {
        return Ok(());
    }
    Err(invalid(argument, unit, value, "is not a positive number", "Give the measured value in the unit of its name"))
}

/// Brinell hardness from force (kgf), ball and indentation diameter (mm).
///
/// # Errors
/// [`Error::InvalidValue`] unless all are positive and the indentation is smaller than the ball.
pub fn brinell_hardness(force_kgf: f64, ball_mm: f64, diameter_mm: f64) -> Result<f64> {
    positive("force_kgf", "kgf", force_kgf)?;
    positive("ball_mm", "mm", ball_mm)?;
    positive("diameter_mm", "mm", diameter_mm)?;
    if diameter_mm >= ball_mm {
        return Err(invalid(
            "diameter_mm",
            "mm",
            diameter_mm,
            "is not smaller than the ball",
            "Give the indentation's diameter",
        ));
    }
    Ok(2.0 * force_kgf / (PI * ball_mm * (ball_mm - (ball_mm * ball_mm - diameter_mm * diameter_mm).sqrt())))
}

/// Vickers hardness from force (kgf) and mean diagonal (µm).
///
/// # Errors
/// [`Error::InvalidValue`] unless both are positive.
pub fn vickers_hardness(force_kgf: f64, diagonal_um: f64) -> Result<f64> {
    positive("force_kgf", "kgf", force_kgf)?;
    positive("diagonal_um", "µm", diagonal_um)?;
    let diagonal = diagonal_um * 1e-3;
    Ok(VICKERS * force_kgf / (diagonal * diagonal))
}

/// The mean diagonal (µm) a Vickers hardness leaves under a force (kgf).
///
/// # Errors
/// [`Error::InvalidValue`] unless both are positive.
pub fn vickers_diagonal_um(force_kgf: f64, hardness: f64) -> Result<f64> {
    positive("force_kgf", "kgf", force_kgf)?;
    positive("hardness_hv", "HV", hardness)?;
    Ok(1e3 * (VICKERS * force_kgf / hardness).sqrt())
}

/// Knoop hardness from force (kgf) and long diagonal (µm).
///
/// # Errors
/// [`Error::InvalidValue`] unless both are positive.
pub fn knoop_hardness(force_kgf: f64, diagonal_um: f64) -> Result<f64> {
    positive("force_kgf", "kgf", force_kgf)?;
    positive("diagonal_um", "µm", diagonal_um)?;
    let diagonal = diagonal_um * 1e-3;
    Ok(KNOOP * force_kgf / (diagonal * diagonal))
}

/// Depth in mm of one Rockwell point, and the reading at depth zero.
fn rockwell_constants(scale: Scale) -> Option<(f64, f64)> {
    match scale {
        Scale::Hrc | Scale::Hra | Scale::Hrd => Some((100.0, 0.002)),
        Scale::Hrb | Scale::Hrf => Some((130.0, 0.002)),
        Scale::Hr15n | Scale::Hr30n | Scale::Hr45n | Scale::Hr15t | Scale::Hr30t | Scale::Hr45t => Some((100.0, 0.001)),
        _ => None,
    }
}

/// Rockwell hardness from the permanent increase of depth over the preliminary force (mm).
///
/// # Errors
/// [`Error::UnknownName`] for a scale that is not Rockwell, [`Error::InvalidValue`] for a negative depth,
/// [`Error::OutOfRange`] for a depth whose hardness lies off the scale.
pub fn rockwell_hardness(scale: &str, depth_mm: f64) -> Result<f64> {
    let name = ScaleName::parse(scale)?;
    let (zero, point) = rockwell_constants(name.scale).ok_or_else(|| Error::UnknownName {
        kind: "Rockwell scale".into(),
        name: scale.to_owned(),
        close: Vec::new(),
        hint: "Rockwell scales are HRC, HRA, HRD, HRB, HRF and the N and T scales".into(),
    })?;
    if depth_mm < 0.0 || depth_mm.is_infinite() {
        return Err(invalid("depth_mm", "mm", depth_mm, "is not a depth", "Give the permanent increase in mm"));
    }
    let (hardness, record) = (zero - depth_mm / point, name.scale.record());
    // A value at the very end of the scale belongs to it, whatever the last bit of the depth.
    const LAST_BIT: f64 = 1e-9;
    if hardness < record.low - LAST_BIT || hardness > record.high + LAST_BIT {
        return Err(Error::outside(
            DEFINITIONS.id,
            "depth_mm",
            (depth_mm, "mm"),
            ((zero - record.high) * point, (zero - record.low) * point),
            format!("{}: {} reads from {} to {}", record.stated_by, record.name, record.low, record.high),
            "Use a scale that covers the hardness, or ask for out_of_range=\"nan\"",
        ));
    }
    Ok(hardness)
}

/// The depth (mm) behind a reading: of a Rockwell scale over the preliminary force, of Vickers and Brinell the whole.
///
/// # Errors
/// [`Error::MissingArgument`] for Vickers, Knoop or Brinell without load, [`Error::Refused`] for scales without depth.
pub fn indentation_depth_mm(scale: &ScaleName, value: f64) -> Result<f64> {
    if let Some((zero, point)) = rockwell_constants(scale.scale) {
        if value >= zero {
            return Err(Error::Refused {
                what: format!("the depth of a reading of {value} {}", scale.text).into(),
                why: format!("that scale ends at {zero}, where the indenter leaves no depth").into(),
                instead: "Check value and scale".into(),
            });
        }
        return Ok((zero - value) * point);
    }
    match scale.scale {
        Scale::Hv => Ok(vickers_diagonal_um(load(scale)?, value)? * 1e-3 / 7.0),
        Scale::Hk => {
            positive("value", "HK", value)?;
            Ok((KNOOP * load(scale)? / value).sqrt() / 30.0)
        }
        Scale::Hbw | Scale::Hb => {
            let (ball, force) = ball_and_load(scale);
            positive("value", "HBW", value)?;
            Ok(force / (PI * ball * value))
        }
        _ => Err(Error::Refused {
            what: format!("the depth of a reading in {}", scale.text).into(),
            why: "that scale leaves no defined indentation".into(),
            instead: "Ask for a Rockwell, Vickers or Brinell scale".into(),
        }),
    }
}

/// The width (mm) of the indentation: diagonal, or diameter; for Rockwell a lower bound from the indenter's geometry.
///
/// # Errors
/// As [`indentation_depth_mm`].
pub fn indentation_width_mm(scale: &ScaleName, value: f64) -> Result<f64> {
    let depth = indentation_depth_mm(scale, value)?;
    Ok(match scale.scale {
        Scale::Hv => depth * 7.0,
        Scale::Hk => depth * 30.0,
        Scale::Hbw | Scale::Hb => {
            let (ball, _) = ball_and_load(scale);
            2.0 * (depth * (ball - depth)).max(0.0).sqrt()
        }
        _ if scale.scale.is_ball_rockwell() => 2.0 * (depth * (1.5875 - depth)).max(0.0).sqrt(),
        _ => {
            // A 120° cone with a tip of 0.2 mm radius: the tip meets the cone at a depth of R (1 − cos 30°).
            let (radius, meets) = (0.2, 0.2 * (1.0 - 30f64.to_radians().cos()));
            if depth <= meets {
                2.0 * (depth * (2.0 * radius - depth)).max(0.0).sqrt()
            } else {
                2.0 * (radius * 0.5 + (depth - meets) * 60f64.to_radians().tan())
            }
        }
    })
}

fn load(scale: &ScaleName) -> Result<f64> {
    scale.force_kgf.ok_or_else(|| Error::MissingArgument {
        function: "hardness.definitions".into(),
        argument: "load".into(),
        why: format!("the size of an indentation in {} depends on the load", scale.text).into(),
        hint: "Write it into the scale: \"HV10\", \"HK0.5\"".into(),
    })
}

/// Ball in mm and force in kgf; without a name for them the usual 10 mm and 3000 kgf for steel.
fn ball_and_load(scale: &ScaleName) -> (f64, f64) {
    (scale.ball_mm.unwrap_or(10.0), scale.force_kgf.unwrap_or(3000.0))
}

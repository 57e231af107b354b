//! Whether a reading can be believed: what is wrong with it, whose rule says so, what to do instead.

use serde::{Deserialize, Serialize};

use super::conversion::{Bracketed, Conversion};
use super::definition::{indentation_depth_mm, vickers_diagonal_um};
use super::indent::{curvature_correction, minimum_edge_distance_mm, thickness_rules};
use super::place::{Place, Spot};
use super::scale::{Scale, ScaleName};
use crate::error::Result;

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

/// A surface is smooth enough where the indentation is this many times deeper than its roughness Ra, and no reading is
/// one where it is not even so many times deeper.
const DEPTHS_DOUBTFUL: f64 = 20.0;
const DEPTHS_LOST: f64 = 10.0;

/// Doubts about reading number `index` at its place, and what a round surface adds to it.
pub(super) fn judged(scale: &ScaleName, spot: &Spot, index: usize, reading: f64) -> Result<(Vec<Doubt>, f64)> {
    let mut added = 0.0;
    // A scale without indentation, or a reading outside its scale, has no depth to be compared with.
    let depth_um = indentation_depth_mm(scale, reading).map_or(f64::INFINITY, |mm| 1e3 * mm);
    let smooth = if depth_um.is_finite() {
        format!("Ra {:.2} µm or less", depth_um / DEPTHS_DOUBTFUL)
    } else {
        "a fine grind".to_owned()
    };
    let place = spot.place(index);
    let mut doubts: Vec<(Weight, String, String, String)> = Vec::new();
    let mut doubt = |weight, rule: &str, whose: &str, instead: &str| {
        doubts.push((weight, rule.to_owned(), whose.to_owned(), instead.to_owned()));
    };
    let record = scale.scale.record();
    let on_scale = (record.low..=record.high).contains(&reading);
    if !on_scale {
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
        Some(Place::Marked) => doubt(
            Weight::NotValid,
            "the back shows a mark of the indentation: the anvil carried part of the force",
            "ISO 6508-1 and ISO 6507-1, from memory",
            "Use a smaller load, or measure a thicker coupon of the same heat",
        ),
        Some(Place::Rough) if spot.roughness_um.is_none() => doubt(
            Weight::Doubtful,
            "taken on a rough surface, of unknown roughness",
            "ISO 6508-1 asks for a smooth, even surface; how smooth: common practice, no source",
            &format!("Grind it, or measure roughness_um: {smooth} is asked for"),
        ),
        Some(Place::Edge) if spot.edge_distance_mm.is_none() => doubt(
            Weight::NotValid,
            "taken near an edge, at an unknown distance",
            "ISO 6508-1: 2.5 diameters, never under 1 mm",
            "Measure edge_distance_mm, or read further in",
        ),
        Some(Place::Round) if spot.diameter_mm.is_none() => doubt(
            Weight::NotValid,
            "taken on a round without its correction: convex surfaces read low",
            "ASTM E18 Annex A6",
            "Give diameter_mm, or grind a flat",
        ),
        _ => {}
    }
    if let Some(diameter) = spot.diameter_mm {
        match curvature_correction(scale, reading, diameter) {
            Ok(correction) => {
                added = correction;
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
    // Off its scale it is no reading already, and the rules of the place speak of readings.
    if let Some(edge) = spot.edge_distance_mm.filter(|_| on_scale) {
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
    if let Some(ra) = spot.roughness_um.filter(|ra| ra * DEPTHS_DOUBTFUL > depth_um) {
        let lost = ra * DEPTHS_LOST > depth_um;
        doubt(
            if lost { Weight::NotValid } else { Weight::Doubtful },
            &format!("too rough: Ra {ra} µm, {smooth} asked for at {reading} {}", scale.text),
            if lost {
                "ten times the roughness is deeper than the indentation: common practice, no source"
            } else {
                "ISO 14577-1, depth of twenty times Ra (from memory), taken over to other scales by common practice"
            },
            "Grind or polish the spot, or use a scale that goes deeper",
        );
    }
    if let Some(thickness) = spot.thickness_mm.filter(|_| on_scale) {
        let rules = thickness_rules(scale, reading)?;
        let broken: Vec<_> = rules.iter().filter(|rule| thickness < rule.minimum_mm).collect();
        if let Some(worst) = broken.iter().max_by(|a, b| a.minimum_mm.total_cmp(&b.minimum_mm)) {
            let kept = rules.len() - broken.len();
            doubt(
                if kept == 0 { Weight::NotValid } else { Weight::Doubtful },
                &format!("too thin: {thickness} mm, {:.2} mm asked for at {reading} {}", worst.minimum_mm, scale.text),
                worst.whose,
                &thinner_scales(scale, reading, thickness),
            );
        }
    }
    let doubts = doubts
        .into_iter()
        .map(|(weight, rule, whose, instead)| Doubt { index, reading, weight, rule, whose, instead })
        .collect();
    Ok((doubts, added))
}

/// What to know of a reading that can be believed: the thickness it needs, and what an error of reading is worth.
pub(super) fn cautions(scale: &ScaleName, reading: f64) -> Vec<String> {
    let mut made = Vec::new();
    let rules = thickness_rules(scale, reading).unwrap_or_default();
    if let Some(rule) = rules.iter().max_by(|a, b| a.minimum_mm.total_cmp(&b.minimum_mm)) {
        made.push(format!(
            "{reading:.1} {} needs {:.2} mm of steel under it ({}): a rule of thumb; also look for a mark on the back, with \
             one it is not a valid reading",
            scale.text, rule.minimum_mm, rule.whose
        ));
    }
    let diagonal_um = scale.force_kgf.and_then(|load| vickers_diagonal_um(load, reading).ok());
    if let Some(diagonal_um) = diagonal_um.filter(|_| scale.scale == Scale::Hv) {
        made.push(format!(
            "the diagonal is {diagonal_um:.1} µm: 1 µm misread is {:.0} HV",
            2.0 * reading / diagonal_um
        ));
    }
    if let Ok(link) = Conversion::new(&scale.text, "HRC", "astm-e140-1", Bracketed::Use) {
        made.extend(link.magnified(reading, 0.0));
    }
    made
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

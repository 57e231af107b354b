//! Where an indentation may be made: thickness under it, distance to the edge and to the next one, round surfaces.

use std::sync::OnceLock;

use super::definition::{indentation_depth_mm, indentation_width_mm, positive};
use super::scale::{Scale, ScaleName};
use super::table::read;
use crate::error::{Error, Result};
use crate::kernel::{ArrayModel, Lane};
use crate::record::{ModelRecord, Origin, Scatter, Source, check_finite};

/// The record of the least thickness.
pub static MINIMUM_THICKNESS: ModelRecord = ModelRecord {
    id: "hardness.minimum_thickness",
    gives: "least thickness for a valid reading",
    unit: "mm",
    formula: "E18 table: the thinnest row whose reading is not above this one; depth rule: 10 × depth (ball: 15 ×); \
              Vickers 1.5 × diagonal; Brinell 8 × depth (ISO), 10 × depth (E10)",
    ranges: &[],
    scatter: Scatter::NotStated,
    sources: &[
        Source { cite: "ASTM E18-07 and later", at: "Annex A5", origin: Origin::Printed },
        Source { cite: "ISO 6508-1", at: "ten (ball: fifteen) times the depth", origin: Origin::Printed },
        Source { cite: "ISO 6507-1", at: "1.5 diagonals", origin: Origin::Printed },
        Source { cite: "ISO 6506-1", at: "eight depths", origin: Origin::Printed },
        Source { cite: "ASTM E10 and E92", at: "ten depths", origin: Origin::FromMemory },
    ],
    errata: &[
        "the E18 table and the depth rule disagree: the table is laxer on every HRC reading, stricter on most N readings",
    ],
    not_for: "hardened cases: there the case must be that thick, not the part",
};

/// The record of the correction for round surfaces.
pub static CURVATURE: ModelRecord = ModelRecord {
    id: "hardness.curvature",
    gives: "correction to be added to a reading on a convex cylinder",
    unit: "",
    formula: "bilinear between the rows and diameters of the E18 table; the argument is the uncorrected reading",
    ranges: &[],
    scatter: Scatter::Known { u: 0.29, unit: "points", found: "printed as approximate averages to the nearest 0.5" },
    sources: &[
        Source { cite: "ASTM E18", at: "Annex A6, diamond and ball scales", origin: Origin::Printed },
        Source { cite: "ASTM E18", at: "Annex A6, N scales", origin: Origin::FromMemory },
    ],
    errata: &["ISO 6508-1 tabulates by radius and does not accept corrections above 3 points (from memory)"],
    not_for: "concave surfaces, where the sign would be the other, and spheres",
};

/// One rule for the least thickness, with what it asks.
#[derive(Debug, Clone, PartialEq)]
pub struct ThicknessRule {
    /// Its name in `rule=`.
    pub rule: &'static str,
    /// Whose it is.
    pub whose: &'static str,
    /// What it asks, in mm.
    pub minimum_mm: f64,
}

fn e18_rows() -> &'static Vec<(Scale, f64, f64)> {
    static ROWS: OnceLock<Vec<(Scale, f64, f64)>> = OnceLock::new();
    ROWS.get_or_init(|| {
        const FILE: &str = "thickness_astm_e18.csv";
        let Ok(data) = read(FILE, include_str!("../data/thickness_astm_e18.csv")) else { return Vec::new() };
        let row = |row: &Vec<&str>| match row.as_slice() {
            [scale, reading, thickness] => {
                Some((ScaleName::parse(scale).ok()?.scale, reading.parse().ok()?, thickness.parse().ok()?))
            }
            _ => None,
        };
        data.rows.iter().filter_map(row).collect()
    })
}

/// The lowest reading of a scale in the E18 table.
fn e18_lowest(scale: &ScaleName) -> Option<f64> {
    e18_rows().iter().filter(|row| row.0 == scale.scale).map(|row| row.1).reduce(f64::min)
}

/// The least thickness after the E18 table, if it covers the scale.
fn e18_thickness(scale: &ScaleName, value: f64) -> Option<Result<f64>> {
    let lowest = e18_lowest(scale)?;
    let rows = e18_rows().iter().filter(|row| row.0 == scale.scale);
    let thinnest = rows.filter(|row| row.1 <= value).map(|row| row.2).reduce(f64::min);
    Some(thinnest.ok_or_else(|| {
        Error::outside(
            MINIMUM_THICKNESS.id,
            "value",
            (value, scale.text.clone()),
            (lowest, scale.scale.record().high),
            "ASTM E18 Annex A5",
            "Ask for rule=\"depth\", or measure on a softer scale",
        )
    }))
}

/// Refuses a reading off its scale: what lies there is no reading, and no rule speaks of it.
fn check_on_scale(model: &'static str, scale: &ScaleName, value: f64) -> Result<()> {
    let record = scale.scale.record();
    if value < record.low || value > record.high {
        return Err(Error::outside(
            model,
            "value",
            (value, scale.text.clone()),
            (record.low, record.high),
            record.stated_by,
            "Use a scale that covers the hardness, or ask for out_of_range=\"nan\" where the call takes it",
        ));
    }
    Ok(())
}

/// What every rule asks for a reading.
///
/// # Errors
/// [`Error::MissingArgument`] for Vickers without load; [`Error::Refused`] for scales without an indentation;
/// [`Error::InvalidValue`] for an infinite value; [`Error::OutOfRange`] for one off its scale.
pub fn thickness_rules(scale: &ScaleName, value: f64) -> Result<Vec<ThicknessRule>> {
    check_finite(MINIMUM_THICKNESS.id, "value", scale.text.clone(), value)?;
    // The table prints rows below what ISO gives some scales, and speaks for those.
    let printed = e18_lowest(scale).is_some_and(|lowest| (lowest..=scale.scale.record().low).contains(&value));
    if !printed {
        check_on_scale(MINIMUM_THICKNESS.id, scale, value)?;
    }
    let depth = indentation_depth_mm(scale, value)?;
    if depth <= 0.0 {
        positive("depth_mm", "mm", depth)?;
    }
    let mut rules = Vec::new();
    let mut add = |rule, whose, minimum_mm| rules.push(ThicknessRule { rule, whose, minimum_mm });
    if scale.scale.is_diamond_rockwell() {
        add("depth", "ISO 6508-1 and ASTM E18: ten times the depth", 10.0 * depth);
    } else if scale.scale.is_ball_rockwell() {
        add("depth", "ISO 6508-1 and ASTM E18: fifteen times the depth of a ball", 15.0 * depth);
    } else if scale.scale == Scale::Hv {
        add("iso", "ISO 6507-1: 1.5 diagonals", 1.5 * indentation_width_mm(scale, value)?);
        add("depth", "ASTM E92: ten times the depth, from memory", 10.0 * depth);
    } else if matches!(scale.scale, Scale::Hbw | Scale::Hb) {
        add("iso", "ISO 6506-1: eight times the depth", 8.0 * depth);
        add("depth", "ASTM E10: ten times the depth, from memory", 10.0 * depth);
    } else {
        add("depth", "ten times the depth, common practice, no source", 10.0 * depth);
    }
    if let Some(Ok(minimum)) = e18_thickness(scale, value) {
        add("e18-table", "ASTM E18 Annex A5", minimum);
    }
    Ok(rules)
}

/// Which rule to judge by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ThicknessChoice {
    /// The largest of all.
    Largest,
    /// One by its name.
    Named(&'static str),
}

impl ThicknessChoice {
    /// Reads `rule=`.
    ///
    /// # Errors
    /// [`Error::UnknownName`].
    pub fn parse(text: Option<&str>) -> Result<Self> {
        Ok(match text {
            None | Some("largest") => Self::Largest,
            Some("depth" | "ten-depths" | "fifteen-depths") => Self::Named("depth"),
            Some("e18-table") => Self::Named("e18-table"),
            Some("iso") => Self::Named("iso"),
            Some(other) => {
                return Err(Error::UnknownName {
                    kind: "thickness rule".into(),
                    name: other.to_owned(),
                    close: Vec::new(),
                    hint: "Rules are \"largest\", \"depth\", \"e18-table\" and \"iso\"".into(),
                });
            }
        })
    }
}

/// The least thickness (mm) for a reading.
///
/// # Errors
/// As [`thickness_rules`]; [`Error::OutOfRange`] below the E18 table when it is asked for; [`Error::Refused`] for a
/// rule that does not cover the scale.
pub fn minimum_thickness_mm(scale: &ScaleName, value: f64, choice: ThicknessChoice) -> Result<f64> {
    let rules = thickness_rules(scale, value)?;
    let ThicknessChoice::Named(name) = choice else {
        return Ok(rules.iter().map(|rule| rule.minimum_mm).fold(0.0, f64::max));
    };
    if let Some(rule) = rules.iter().find(|rule| rule.rule == name) {
        return Ok(rule.minimum_mm);
    }
    if let Some(outcome) = (name == "e18-table").then(|| e18_thickness(scale, value)).flatten() {
        return outcome;
    }
    let known: Vec<&str> = rules.iter().map(|rule| rule.rule).collect();
    Err(Error::Refused {
        what: format!("rule \"{name}\" for {}", scale.text).into(),
        why: "it does not cover that scale".into(),
        instead: format!("Rules for it: {}", known.join(", ")).into(),
    })
}

/// The least thickness over arrays of readings.
#[derive(Debug, Clone)]
pub struct MinimumThickness {
    /// The scale with its load.
    pub scale: ScaleName,
    /// The rule.
    pub choice: ThicknessChoice,
}

impl ArrayModel for MinimumThickness {
    fn arguments(&self) -> &[&'static str] {
        &["value"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        let [value] = arguments else { return out.fill(f64::NAN) };
        for (index, out) in out.iter_mut().enumerate() {
            let value = value.at(index);
            *out = if value.is_nan() { value } else { self.one(value).unwrap_or(f64::NAN) };
        }
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        arguments.first().map_or(Ok(()), |value| self.one(*value).map(|_| ()))
    }
}

impl MinimumThickness {
    fn one(&self, value: f64) -> Result<f64> {
        minimum_thickness_mm(&self.scale, value, self.choice)
    }
}

/// A least distance, with whose rule it is.
#[derive(Debug, Clone, PartialEq)]
pub struct LeastDistance {
    /// The distance in mm.
    pub mm: f64,
    /// Whose rule.
    pub whose: &'static str,
}

/// The least distance (mm) from the middle of an indentation to the edge.
///
/// # Errors
/// As [`indentation_width_mm`]; [`Error::OutOfRange`] for a value off its scale.
pub fn minimum_edge_distance_mm(scale: &ScaleName, value: f64) -> Result<LeastDistance> {
    distance(
        scale,
        value,
        2.5,
        1.0,
        [
            "ISO 6508-1: 2.5 diameters, and never under 1 mm (edition of 2005); the diameter is a lower bound from geometry",
            "ISO 6507-1: 2.5 diagonals",
            "ISO 6506-1: 2.5 diameters",
        ],
    )
}

/// The least distance (mm) between the middles of two indentations.
///
/// # Errors
/// As [`indentation_width_mm`]; [`Error::OutOfRange`] for a value off its scale.
pub fn minimum_spacing_mm(scale: &ScaleName, value: f64) -> Result<LeastDistance> {
    distance(
        scale,
        value,
        3.0,
        2.0,
        [
            "ISO 6508-1: 3 diameters, and never under 2 mm (edition of 2005); the diameter is a lower bound from geometry",
            "ISO 6507-1: 3 diagonals",
            "ISO 6506-1: 3 diameters",
        ],
    )
}

fn distance(
    scale: &ScaleName,
    value: f64,
    widths: f64,
    rockwell_mm: f64,
    whose: [&'static str; 3],
) -> Result<LeastDistance> {
    check_finite("hardness.distance", "value", scale.text.clone(), value)?;
    check_on_scale("hardness.distance", scale, value)?;
    let mm = widths * indentation_width_mm(scale, value)?;
    let [rockwell, vickers, brinell] = whose;
    Ok(if scale.scale.is_rockwell() {
        LeastDistance { mm: mm.max(rockwell_mm), whose: rockwell }
    } else if matches!(scale.scale, Scale::Hbw | Scale::Hb) {
        LeastDistance { mm, whose: brinell }
    } else {
        LeastDistance { mm, whose: vickers }
    })
}

/// The E18 table of one group of scales: readings, diameters, corrections by reading then diameter.
struct Curvature {
    readings: Vec<f64>,
    diameters: Vec<f64>,
    corrections: Vec<f64>,
}

fn curvature_tables() -> &'static [(&'static str, Curvature)] {
    static TABLES: OnceLock<Vec<(&'static str, Curvature)>> = OnceLock::new();
    TABLES.get_or_init(|| {
        let Ok(data) = read("curvature_astm_e18.csv", include_str!("../data/curvature_astm_e18.csv")) else {
            return Vec::new();
        };
        let group = |name: &'static str| {
            let mut made = Curvature { readings: Vec::new(), diameters: Vec::new(), corrections: Vec::new() };
            for row in data.rows.iter().filter(|row| row.first() == Some(&name)) {
                let numbers: Vec<f64> = row.iter().skip(1).filter_map(|cell| cell.parse().ok()).collect();
                if let [reading, diameter, correction] = numbers[..] {
                    if made.readings.last() != Some(&reading) {
                        made.readings.push(reading);
                    }
                    if made.readings.len() == 1 {
                        made.diameters.push(diameter);
                    }
                    made.corrections.push(correction);
                }
            }
            (name, made)
        };
        vec![group("diamond"), group("ball"), group("n")]
    })
}

fn curvature_table(scale: Scale) -> Option<&'static Curvature> {
    let group = match scale {
        Scale::Hrc | Scale::Hra | Scale::Hrd => "diamond",
        Scale::Hrb | Scale::Hrf => "ball",
        Scale::Hr15n | Scale::Hr30n | Scale::Hr45n => "n",
        _ => return None,
    };
    curvature_tables().iter().find(|(name, _)| *name == group).map(|(_, table)| table)
}

/// The correction to be *added* to a reading on a convex cylinder, unrounded.
///
/// # Errors
/// [`Error::OutOfRange`] outside the table, [`Error::Refused`] for a scale it does not cover.
pub fn curvature_correction(scale: &ScaleName, value: f64, diameter_mm: f64) -> Result<f64> {
    let Some(table) = curvature_table(scale.scale) else {
        return Err(Error::Refused {
            what: format!("a correction for round surfaces in {}", scale.text).into(),
            why: "ASTM E18 prints one for the diamond, B, F and N scales only".into(),
            instead: "Grind or find a flat".into(),
        });
    };
    positive("diameter_mm", "mm", diameter_mm)?;
    if value.is_nan() || diameter_mm.is_nan() {
        return Ok(f64::NAN);
    }
    let place =
        |knots: &[f64], x: f64, argument: &'static str, unit: String, hint: &'static str| -> Result<(usize, f64)> {
            let (low, high) = (knots.first().copied().unwrap_or(x), knots.last().copied().unwrap_or(x));
            check_finite(CURVATURE.id, argument, unit.clone(), x)?;
            if x < low || x > high {
                return Err(Error::outside(CURVATURE.id, argument, (x, unit), (low, high), "ASTM E18 Annex A6", hint));
            }
            let index = knots.partition_point(|knot| *knot <= x).saturating_sub(1).min(knots.len().saturating_sub(2));
            let (a, b) = (knots.get(index).copied().unwrap_or(x), knots.get(index + 1).copied().unwrap_or(x));
            Ok((index, if b > a { (x - a) / (b - a) } else { 0.0 }))
        };
    let (row, up) = place(&table.readings, value, "value", scale.text.clone(), "The table has no such reading")?;
    let (column, along) = place(
        &table.diameters,
        diameter_mm,
        "diameter_mm",
        "mm".to_owned(),
        "Smaller: do not test on it; larger: treat it as flat if the correction at the table's end is small enough for you",
    )?;
    let at = |row: usize, column: usize| {
        table.corrections.get(row * table.diameters.len() + column).copied().unwrap_or(f64::NAN)
    };
    let across = |row: usize| {
        let (a, b) = (at(row, column), at(row, column + 1));
        a + (b - a) * along
    };
    Ok(across(row) + (across(row + 1) - across(row)) * up)
}

/// The correction over arrays of readings and diameters.
#[derive(Debug, Clone)]
pub struct CurvatureCorrection {
    /// The scale.
    pub scale: ScaleName,
}

impl ArrayModel for CurvatureCorrection {
    fn arguments(&self) -> &[&'static str] {
        &["value", "diameter_mm"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        let [value, diameter] = arguments else { return out.fill(f64::NAN) };
        for (index, out) in out.iter_mut().enumerate() {
            *out = curvature_correction(&self.scale, value.at(index), diameter.at(index)).unwrap_or(f64::NAN);
        }
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        let [value, diameter] = arguments else { return Ok(()) };
        curvature_correction(&self.scale, *value, *diameter).map(|_| ())
    }
}

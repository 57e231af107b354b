//! The curves of the catalogue: printed sheets as they are, measured holds as master curves.

use std::collections::HashMap;
use std::sync::Arc;

use serde::Deserialize;

use super::catalogue::Row;
use super::spread::{spread_over_sources, usual_spread};
use super::table::read;
use crate::curve::{AsQuenched, HardnessAfterTemper, MasterFit, MeasuredTemper, TemperingCurve, fit_master};
use crate::error::Result;
use crate::quantity::{HoldTime, Temperature};
use crate::record::Origin;
use crate::temper::{CONSTANT_FROM_CARBON, ConstantBelief, TWO_HOURS, UNKNOWN_STEEL, constant_from_carbon};

/// One curve of a steel with where it comes from.
#[derive(Debug, Clone)]
pub struct SteelCurve {
    /// The curve.
    pub curve: Arc<TemperingCurve>,
    /// The grade as the source names it.
    pub grade: String,
    /// Where it comes from.
    pub source: String,
    /// Printed, measured or from memory.
    pub origin: Origin,
    /// Hardening temperature, °C, where printed.
    pub austenitize_c: Option<(f64, f64)>,
    /// Cycles in the source, where printed.
    pub cycles: Option<u32>,
    /// Points as printed or measured: °C, hours, HRC.
    pub points: Vec<(f64, f64, f64)>,
    /// What the fit of several holds found; `None` for a printed table.
    pub fit: Option<MasterFit>,
    /// The doubt that the source's trust leaves, if any.
    pub doubt: Option<String>,
    /// What else to know of the points and where they come from; empty where there is nothing.
    pub remark: String,
}

impl SteelCurve {
    /// Source and hardening temperature in a phrase.
    #[must_use]
    pub fn label(&self) -> String {
        let hardened = self.austenitize_c.map_or(String::new(), |(low, high)| {
            if low == high {
                format!(", hardened from {low:.0} °C")
            } else {
                format!(", hardened from {low:.0} to {high:.0} °C")
            }
        });
        format!("{}{hardened}", self.source)
    }

    /// The order of preference; larger is better.
    fn rank(&self) -> (bool, bool, u8, bool, usize) {
        let inside = self.points.iter().filter(|(celsius, ..)| (100.0..=700.0).contains(celsius)).count();
        let kind = match self.origin {
            Origin::Printed => 2,
            Origin::FromData => 1,
            _ => 0,
        };
        (self.doubt.is_none(), inside >= 5, kind, self.curve.hold_is_stated(), inside)
    }
}

#[derive(Debug, Deserialize)]
struct Measured {
    source: String,
    steel: String,
    initial_hrc: Option<f64>,
    time_s: f64,
    temper_c: f64,
    #[serde(rename = "C")]
    c: f64,
    #[serde(rename = "Mn")]
    mn: f64,
    #[serde(rename = "S")]
    s: f64,
    hrc: f64,
    doubt: String,
}

#[derive(Debug, Deserialize)]
struct Printed {
    steel: String,
    grade: String,
    austenitize_c: String,
    temper_c: Option<f64>,
    temper_h: String,
    n_tempers: String,
    hrc: f64,
    source: String,
    how: String,
    note: String,
    doubt: String,
}

impl Measured {
    /// Whether the row is of this steel, whose name the papers spell their own way.
    fn is_of(&self, steel: &Row) -> bool {
        let short = self.steel.trim_start_matches("AISI-SAE ").replace("%C - plain carbon steel", " % C plain carbon");
        steel.steel == if short == "E52100" { "52100" } else { &*short }
    }
}

impl Printed {
    /// Read straight from the quench by a source that nothing speaks against, after a hardening that is usual for the steel.
    fn is_usual_quench(&self, steel: &Row) -> bool {
        self.steel == steel.steel
            && self.temper_c.is_none()
            && self.n_tempers == "0"
            && self.doubt.is_empty()
            && !self.note.starts_with("MINIMUM")
            && steel.is_hardened_from(range(&self.austenitize_c))
    }
}

/// Alloying beyond which the plain-carbon line of C says nothing, weight per cent.
const LOW_ALLOY: f64 = 5.0;

/// Standard uncertainty of C from carbon in a low-alloy steel: the plain-carbon steels' with as much again for the alloy
/// (assumption).
const U_LOW_ALLOY: f64 = 1.5;

/// Holds of Penha (2010) below this are furnace time that the coupon spent heating up; they are left out of the fit.
const FURNACE_TIME_S: f64 = 300.0;

/// What is believed of C before any coupon speaks; `None` where nothing is.
fn believed(carbon: f64, alloying: f64) -> Option<ConstantBelief> {
    if alloying > LOW_ALLOY {
        return None;
    }
    let c = constant_from_carbon(carbon).ok()?.hours();
    let u = match CONSTANT_FROM_CARBON.scatter {
        crate::record::Scatter::Known { u, .. } if alloying < 1.7 => u,
        _ => U_LOW_ALLOY,
    };
    Some(ConstantBelief::Normal { c, u })
}

/// What sources say of the steels.
pub(super) struct Told {
    /// All curves by steel, each list with its default first.
    pub curves: HashMap<String, Vec<SteelCurve>>,
    /// What full hardening of a steel gives.
    pub hardened: HashMap<String, AsQuenched>,
}

/// Curves and as-quenched hardness of all steels.
pub(super) fn told_of(steels: &[Row]) -> Result<Told> {
    let (_, sheets) = read::<Printed>("temper_printed_sheets_2026.csv")?;
    let (_, heats) = read::<Measured>("temper_measured_1945_2010.csv")?;
    let hardened = bands_of(steels, &sheets, &heats);
    let mut made: HashMap<String, Vec<SteelCurve>> = HashMap::new();
    for curve in printed(steels, sheets, &hardened)?.into_iter().chain(measured(steels, heats, &hardened)?) {
        made.entry(curve.0).or_default().push(curve.1);
    }
    let usual = usual_spread(&made);
    for curves in made.values_mut() {
        curves.sort_by_key(|curve| std::cmp::Reverse(curve.rank()));
        spread_over_sources(curves, usual)?;
    }
    Ok(Told { curves: made, hardened })
}

/// Groups in the order of first appearance.
fn grouped<T>(rows: Vec<T>, key: impl Fn(&T) -> String) -> Vec<Vec<T>> {
    let mut groups: Vec<(String, Vec<T>)> = Vec::new();
    for row in rows {
        let key = key(&row);
        match groups.iter_mut().find(|(known, _)| *known == key) {
            Some((_, rows)) => rows.push(row),
            None => groups.push((key, vec![row])),
        }
    }
    groups.into_iter().map(|(_, rows)| rows).collect()
}

fn printed(
    steels: &[Row],
    rows: Vec<Printed>,
    hardened: &HashMap<String, AsQuenched>,
) -> Result<Vec<(String, SteelCurve)>> {
    let (quenched, tempered): (Vec<Printed>, Vec<Printed>) =
        rows.into_iter().filter(|row| !row.doubt.starts_with("misprint")).partition(|row| row.temper_c.is_none());
    let mut made = Vec::new();
    for group in grouped(tempered, |row| {
        [&row.grade, &row.source, &row.austenitize_c, &row.temper_h, &row.n_tempers].map(String::as_str).join("|")
    }) {
        let Some(first) = group.first() else { continue };
        let Some(steel) = steels.iter().find(|row| row.steel == first.steel) else { continue };
        let cycles = first.n_tempers.parse::<u32>().ok();
        let stated = first.temper_h.parse::<f64>().ok().map(|hours| hours * f64::from(cycles.unwrap_or(1)));
        let hold = stated.map_or(TWO_HOURS, HoldTime::from_hours);
        let mut points: Vec<(f64, f64)> = group.iter().filter_map(|row| Some((row.temper_c?, row.hrc))).collect();
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        let points = means_of_repeats(&points);
        if points.len() < 2 {
            continue;
        }
        let (x, y): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
        let own = quenched.iter().find(|row| {
            row.n_tempers == "0"
                && row.source == first.source
                && row.grade == first.grade
                && row.austenitize_c == first.austenitize_c
        });
        let usual = steel.is_hardened_from(range(&first.austenitize_c));
        let band = hardened.get(&steel.steel).copied();
        let as_quenched = match (own, band) {
            // The sheet's own value; what other bars of the steel differ by is as much as all that is known of it.
            (Some(row), Some(band)) => Some(AsQuenched { hrc: row.hrc, u: band.u }),
            (Some(row), None) => Some(AsQuenched::between(row.hrc, row.hrc)),
            (None, band) => band,
        };
        let mut curve = TemperingCurve::new(&x, &y)?
            .named(format!("{} ({})", steel.steel, first.source))
            .held(hold)?
            .from_source(&*first.source);
        if stated.is_none() {
            curve = curve.hold_not_stated();
        }
        if let Some(belief) = believed(steel.c, steel.alloying()) {
            curve = curve.with_constant(belief)?;
        }
        if let Some(expected) = as_quenched {
            curve = curve.with_as_quenched(expected.hrc, expected.u)?;
        }
        if let Some(band) = band.filter(|_| usual) {
            curve = curve.with_hardened(band);
        }
        let origin = if first.how == "memory" { Origin::FromMemory } else { Origin::Printed };
        if origin == Origin::FromMemory {
            curve = curve.noting("the curve is from memory: check it against the maker's sheet");
        }
        let doubt = (!first.doubt.is_empty()).then(|| first.doubt.clone());
        if let Some(doubt) = &doubt {
            curve = curve.noting(format!("doubtful source: {doubt}"));
        }
        made.push((
            steel.steel.clone(),
            SteelCurve {
                curve: Arc::new(curve),
                grade: first.grade.clone(),
                source: first.source.clone(),
                origin,
                austenitize_c: range(&first.austenitize_c),
                cycles,
                points: points.iter().map(|(celsius, hrc)| (*celsius, hold.hours(), *hrc)).collect(),
                fit: None,
                doubt,
                remark: first.note.clone(),
            },
        ));
    }
    Ok(made)
}

fn measured(
    steels: &[Row],
    rows: Vec<Measured>,
    hardened: &HashMap<String, AsQuenched>,
) -> Result<Vec<(String, SteelCurve)>> {
    let mut made = Vec::new();
    for group in grouped(rows, |row| format!("{}|{}|{}|{}|{}", row.source, row.steel, row.c, row.mn, row.s)) {
        let Some(first) = group.first() else { continue };
        let Some(steel) = steels.iter().find(|row| first.is_of(row)) else { continue };
        let good: Vec<MeasuredTemper> = group
            .iter()
            .filter(|row| row.doubt.is_empty() && !(first.source.starts_with("Penha") && row.time_s < FURNACE_TIME_S))
            .map(|row| MeasuredTemper {
                temperature: Temperature::from_celsius(row.temper_c),
                time: HoldTime::from_seconds(row.time_s),
                hrc: row.hrc,
            })
            .collect();
        let prior = believed(first.c, steel.alloying()).unwrap_or(UNKNOWN_STEEL);
        let name = format!("{} ({}; {} % C)", steel.steel, first.source, first.c);
        let (mut curve, fit) = match fit_master(&name, &good, prior) {
            Ok(fit) => (fit.curve.clone(), Some(fit)),
            Err(_) => (one_hold(&name, &good)?.with_constant(prior)?, None),
        };
        curve = curve.from_source(format!("{}; open data set, CC BY 4.0", first.source));
        let band = hardened.get(&steel.steel).copied();
        let own = first.initial_hrc.map(|initial| AsQuenched::between(initial, initial));
        // A band that rests on carbon alone judges a hardening; it is no hardness that these rows began from.
        if let Some(expected) = own.or_else(|| band.filter(|_| steel.as_quenched_range().is_some())) {
            curve = curve.with_as_quenched(expected.hrc, expected.u)?;
        }
        if let Some(band) = band {
            curve = curve.with_hardened(band);
        }
        if first.source.starts_with("Penha") {
            curve = curve.noting(
                "holds under five minutes are left out: they are furnace time, with the coupon's heating in it",
            );
        }
        made.push((
            steel.steel.clone(),
            SteelCurve {
                curve: Arc::new(curve),
                grade: first.steel.clone(),
                source: first.source.clone(),
                origin: Origin::FromData,
                austenitize_c: None,
                cycles: Some(1),
                points: good.iter().map(|row| (row.temperature.celsius(), row.time.hours(), row.hrc)).collect(),
                remark: fit.as_ref().map_or(String::new(), |_| knots_of(&good)),
                fit,
                doubt: None,
            },
        ));
    }
    Ok(made)
}

/// What full hardening of each steel gives: its usual range, wide enough for what sources read of it; for a steel without
/// a range what was read, or what its carbon lets expect.
fn bands_of(steels: &[Row], printed: &[Printed], measured: &[Measured]) -> HashMap<String, AsQuenched> {
    let band = |steel: &Row| {
        let sheets = printed.iter().filter(|row| row.is_usual_quench(steel)).map(|row| row.hrc);
        let heats = measured.iter().filter(|row| row.is_of(steel)).filter_map(|row| row.initial_hrc);
        let (low, high) = sheets
            .chain(heats)
            .map(|hrc| (hrc, hrc))
            .chain(steel.as_quenched_range())
            .reduce(|all, one| (all.0.min(one.0), all.1.max(one.1)))?;
        let made = AsQuenched::between(low, high);
        // A range from memory is no surer than what the model says of the carbon.
        let model = if steel.is_from_memory() { steel.expected_by_composition() } else { None };
        Some(AsQuenched { u: model.map_or(made.u, |model| made.u.max(model.u)), ..made })
    };
    let found = steels.iter().filter_map(|steel| {
        band(steel).or_else(|| steel.expected_by_composition()).map(|band| (steel.steel.clone(), band))
    });
    found.collect()
}

/// What the points of a fitted curve are, since no source prints them.
fn knots_of(rows: &[MeasuredTemper]) -> String {
    let hours = rows.iter().map(|row| row.time.hours());
    let (short, long) = (hours.clone().fold(f64::INFINITY, f64::min), hours.fold(0.0, f64::max));
    let shown = |hours: f64| {
        if hours < 1.0 { format!("{:.0} min", 60.0 * hours) } else { format!("{hours:.0} h") }
    };
    format!(
        "its points are knots of a curve through {} measured rows of {} to {}, worked out at two hours: none of them was \
         measured or printed as it stands",
        rows.len(),
        shown(short),
        shown(long)
    )
}

/// A curve of coupons that all had one hold: the rows as they are.
fn one_hold(name: &str, rows: &[MeasuredTemper]) -> Result<TemperingCurve> {
    let hold = rows.first().map_or(TWO_HOURS, |row| row.time);
    let mut points: Vec<(f64, f64)> = rows.iter().map(|row| (row.temperature.celsius(), row.hrc)).collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (x, y): (Vec<f64>, Vec<f64>) = means_of_repeats(&points).into_iter().unzip();
    TemperingCurve::new(&x, &y)?.named(name).held(hold)
}

/// Sorted points with those of one temperature averaged.
fn means_of_repeats(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    points
        .chunk_by(|a, b| a.0 == b.0)
        .filter_map(|same| {
            let sum: f64 = same.iter().map(|(_, hrc)| hrc).sum();
            Some((same.first()?.0, sum / same.len() as f64))
        })
        .collect()
}

/// Two numbers out of "788-816" or "802".
fn range(text: &str) -> Option<(f64, f64)> {
    let mut ends = text.split('-').map(|end| end.trim().parse::<f64>().ok());
    let low = ends.next()??;
    Some((low, ends.next().flatten().unwrap_or(low)))
}

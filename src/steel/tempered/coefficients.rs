//! The fitted numbers: read once from the data file, lengths checked, names turned into places.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use serde::Deserialize;

use super::basis::{OWN, WITHOUT_NEIGHBOURS};
use super::composition::{ELEMENTS, place};
use super::neighbours::{Near, Neighbours, SHAPES};
use super::record::TEMPERED;
use crate::error::{Error, Result};
use crate::record::ValidRange;

const FILE: &str = "tempered_fit_2026.toml";
const TEXT: &str = include_str!("../../data/tempered_fit_2026.toml");

/// Elements with an increment of their own, in the order of the columns.
pub(super) const INCREMENTS: [&str; 8] = ["Mn", "Si", "Ni", "Cr", "Mo", "V", "P", "Al"];

#[derive(Debug, Deserialize)]
struct File {
    provenance: Provenance,
    physics: Physics,
    tables: Tables,
    population: Population,
    own: Own,
    near: Near,
    noise: Noise,
    interval: IntervalFactors,
    refuse: Refuse,
    range: Range,
    training: Training,
    widen: BTreeMap<String, f64>,
    widen_unmeasured: BTreeMap<String, f64>,
    widen_distance: WidenDistance,
}

/// Where the numbers come from.
#[derive(Debug, Deserialize)]
#[allow(dead_code, reason = "keys that the file must have, read or not")]
pub(super) struct Provenance {
    pub id: String,
    pub source: String,
    pub at: String,
    pub fitted_by: String,
    pub units: String,
    pub doubts: Vec<String>,
}

/// Constants of the prior mean.
#[derive(Debug, Deserialize)]
pub(super) struct Physics {
    pub c0: f64,
    pub c1: f64,
    pub c_saturation: f64,
    pub c_saturation_per_cr: f64,
    pub c_saturation_width: f64,
    pub mn_saturation: f64,
    pub cr_saturation: f64,
    pub mo_saturation: f64,
    pub vc_product: f64,
    pub increment_scale: f64,
    pub aq_plateau: f64,
    pub aq_span: f64,
    pub aq_rate: f64,
    pub fade_centre: f64,
    pub fade_width: f64,
    pub x_lo: f64,
    pub x_hi: f64,
}

#[derive(Debug, Deserialize)]
struct Tables {
    drop_x: Vec<f64>,
    drop: Vec<f64>,
    increment_x: Vec<f64>,
    increment_hv: BTreeMap<String, Vec<f64>>,
    hv_hrc: Vec<f64>,
    hv: Vec<f64>,
    slope_hrc: Vec<f64>,
    slope_hv: Vec<f64>,
}

#[derive(Debug, Deserialize)]
struct Population {
    beta: Vec<f64>,
    factor: Vec<Vec<f64>>,
}

#[derive(Debug, Deserialize)]
struct Own {
    scale: Vec<f64>,
    carbon: f64,
}

/// Scatter of one reading.
#[derive(Debug, Deserialize)]
pub(super) struct Noise {
    pub reading: f64,
    pub low_factor: f64,
}

/// What the standard uncertainty is multiplied by, as steels left out of the fit ask for.
#[derive(Debug, Deserialize)]
pub(super) struct IntervalFactors {
    k68_as_quenched: f64,
    k68_composition: f64,
    k95: f64,
}

impl IntervalFactors {
    /// With or without an as-quenched reading.
    pub const fn when(&self, as_quenched_is_known: bool) -> Interval {
        let k68 = if as_quenched_is_known { self.k68_as_quenched } else { self.k68_composition };
        Interval { k68, k95: self.k95 }
    }
}

/// What the standard uncertainty of one steel is multiplied by for an interval.
#[derive(Debug, Clone, Copy)]
pub struct Interval {
    /// For 68 %.
    pub k68: f64,
    /// For 95 %.
    pub k95: f64,
}

/// Compositions that get no answer.
#[derive(Debug, Deserialize)]
pub(super) struct Refuse {
    pub stainless_cr: f64,
    pub high_speed_mo_eq: f64,
    pub min_c: f64,
    max: BTreeMap<String, f64>,
}

#[derive(Debug, Deserialize)]
struct Range {
    temperature_c: [f64; 2],
    time_h: [f64; 2],
}

#[derive(Debug, Deserialize)]
struct Training {
    elements: Vec<String>,
    scale: Vec<f64>,
    compositions: Vec<Vec<f64>>,
    range: BTreeMap<String, [f64; 2]>,
}

/// From which distance on the interval widens, and how fast.
#[derive(Debug, Deserialize)]
pub(super) struct WidenDistance {
    pub free: f64,
    pub rate: f64,
}

/// A function given by points, straight in between and level beyond its ends.
#[derive(Debug)]
pub(super) struct Polyline {
    x: Vec<f64>,
    y: Vec<f64>,
}

impl Polyline {
    pub fn at(&self, x: f64) -> f64 {
        let (below, share) = segment(&self.x, x);
        blend(&self.y, below, share)
    }
}

/// The points a value lies between, as the index of the first and the share of the second.
#[inline]
fn segment(points: &[f64], x: f64) -> (usize, f64) {
    let last = points.len().saturating_sub(2);
    let below = points.iter().skip(1).take(last).filter(|&&point| point <= x).count();
    let (Some(&from), Some(&to)) = (points.get(below), points.get(below + 1)) else { return (0, 0.0) };
    (below, ((x - from) / (to - from)).clamp(0.0, 1.0))
}

#[inline]
fn blend(values: &[f64], below: usize, share: f64) -> f64 {
    match (values.get(below), values.get(below + 1)) {
        (Some(from), Some(to)) => from + share * (to - from),
        _ => f64::NAN,
    }
}

/// Everything the evaluator needs.
#[derive(Debug)]
pub(super) struct Coefficients {
    pub provenance: Provenance,
    pub physics: Physics,
    pub noise: Noise,
    pub interval: IntervalFactors,
    pub refuse: Refuse,
    /// Largest amount that still gets an answer, by place; infinite where nothing is said.
    pub most: [f64; ELEMENTS.len()],
    /// Measured ranges, by place.
    pub measured: Vec<(usize, [f64; 2])>,
    /// HV for each per cent beyond the measured range, by place.
    pub widen: [f64; ELEMENTS.len()],
    /// HV for each per cent of an element that was never measured, by place.
    pub widen_unmeasured: [f64; ELEMENTS.len()],
    pub widen_distance: WidenDistance,
    /// Fall of the plain curve against the one-hour equivalent.
    pub drop: Polyline,
    pub hv_of_hrc: Polyline,
    pub hrc_of_hv: Polyline,
    /// HV for one HRC, against HRC.
    pub slope: Polyline,
    increment_x: Vec<f64>,
    increments: [Vec<f64>; INCREMENTS.len()],
    /// Mean of the population's weights.
    pub beta: Vec<f64>,
    /// Covariance of the population's weights, by rows.
    pub covariance: Vec<f64>,
    /// Standard deviations of the own weights.
    pub own: Vec<f64>,
    /// Standard error of the analysis behind a printed carbon, per cent.
    pub u_carbon: f64,
    pub neighbours: Neighbours,
}

impl Coefficients {
    /// HV that one unit of each element adds at a one-hour equivalent, before scaling.
    pub fn increments(&self, x: f64) -> [f64; INCREMENTS.len()] {
        let (below, share) = segment(&self.increment_x, x);
        let mut made = [0.0; INCREMENTS.len()];
        for (made, table) in made.iter_mut().zip(&self.increments) {
            *made = blend(table, below, share);
        }
        made
    }
}

/// The fitted numbers.
///
/// # Errors
/// [`Error::DataFile`] if the crate's file can't be read.
pub(super) fn coefficients() -> Result<&'static Coefficients> {
    static READ: OnceLock<Result<Coefficients>> = OnceLock::new();
    READ.get_or_init(read).as_ref().map_err(Clone::clone)
}

fn bad(why: impl Into<String>) -> Error {
    Error::DataFile {
        file: FILE.to_owned(),
        line: None,
        column: None,
        why: why.into().into(),
        hint: "The file is part of the crate; please report this".into(),
    }
}

fn polyline(what: &str, x: Vec<f64>, y: Vec<f64>) -> Result<Polyline> {
    if x.len() < 2 || x.len() != y.len() || x.windows(2).any(|pair| pair[0] >= pair[1]) {
        return Err(bad(format!("{what} is no table")));
    }
    Ok(Polyline { x, y })
}

fn by_place(named: &BTreeMap<String, f64>, absent: f64) -> Result<[f64; ELEMENTS.len()]> {
    let mut made = [absent; ELEMENTS.len()];
    for (name, value) in named {
        let slot = place(name).and_then(|place| made.get_mut(place));
        *slot.ok_or_else(|| bad(format!("{name} is no element the model knows")))? = *value;
    }
    Ok(made)
}

fn read() -> Result<Coefficients> {
    let file: File = toml::from_str(TEXT).map_err(|error| bad(error.to_string()))?;
    let population = &file.population;
    let columns = WITHOUT_NEIGHBOURS + SHAPES * file.training.compositions.len();
    let rows_fit = population.factor.iter().enumerate().all(|(row, values)| values.len() == row + 1);
    if population.beta.len() != columns || population.factor.len() != columns || !rows_fit {
        return Err(bad(format!("the population needs {columns} weights and a triangle of them")));
    }
    if file.own.scale.len() != OWN {
        return Err(bad(format!("there are {OWN} own weights, the file has {}", file.own.scale.len())));
    }
    for (argument, [low, high]) in [("temperature_c", file.range.temperature_c), ("time_h", file.range.time_h)] {
        let agrees = |range: &ValidRange| (range.low - low).abs() < 1e-12 && (range.high - high).abs() < 1e-12;
        if !TEMPERED.range(argument).is_some_and(agrees) {
            return Err(bad(format!("the record has another range of {argument} than {low} to {high}")));
        }
    }
    let mut covariance = Vec::with_capacity(columns * columns);
    for a in &population.factor {
        covariance.extend(population.factor.iter().map(|b| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>()));
    }
    let tables = file.tables;
    let mut increments: [Vec<f64>; INCREMENTS.len()] = Default::default();
    for (slot, element) in increments.iter_mut().zip(INCREMENTS) {
        *slot = tables.increment_hv.get(element).cloned().unwrap_or_default();
        if slot.len() != tables.increment_x.len() {
            return Err(bad(format!("the increments of {element} do not fit their temperatures")));
        }
    }
    let training = file.training;
    let places: Vec<usize> = training
        .elements
        .iter()
        .map(|name| place(name).ok_or_else(|| bad(format!("{name} is no element the model knows"))))
        .collect::<Result<_>>()?;
    let units = places.into_iter().zip(training.scale).collect();
    let neighbours = Neighbours::new(file.near, units, &training.compositions)
        .ok_or_else(|| bad("what the measured steels share is no covariance"))?;
    let measured = training
        .range
        .iter()
        .map(|(name, range)| Ok((place(name).ok_or_else(|| bad(format!("{name} is no element")))?, *range)))
        .collect::<Result<_>>()?;
    Ok(Coefficients {
        provenance: file.provenance,
        physics: file.physics,
        noise: file.noise,
        interval: file.interval,
        most: by_place(&file.refuse.max, f64::INFINITY)?,
        refuse: file.refuse,
        measured,
        widen: by_place(&file.widen, 0.0)?,
        widen_unmeasured: by_place(&file.widen_unmeasured, 0.0)?,
        widen_distance: file.widen_distance,
        drop: polyline("drop", tables.drop_x, tables.drop)?,
        hv_of_hrc: polyline("hv", tables.hv_hrc.clone(), tables.hv.clone())?,
        hrc_of_hv: polyline("hrc", tables.hv, tables.hv_hrc)?,
        slope: polyline("slope", tables.slope_hrc, tables.slope_hv)?,
        increment_x: tables.increment_x,
        increments,
        beta: file.population.beta,
        covariance,
        own: file.own.scale,
        u_carbon: file.own.carbon,
        neighbours,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn file_says_where_it_comes_from() {
        let provenance = &coefficients().unwrap().provenance;
        for text in [&provenance.id, &provenance.source, &provenance.at, &provenance.fitted_by, &provenance.units] {
            assert!(!text.trim().is_empty());
        }
        assert!(!provenance.doubts.is_empty());
    }
}

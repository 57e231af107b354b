//! The steels that are known: composition, hardening, curves, hazards, and all the names they go by.

use std::sync::{Arc, OnceLock};

use serde::Deserialize;

use super::curves::{SteelCurve, curves_of};
use super::hazard::{self, Hazard};
use super::names::{close, folded, without_body};
use super::table::read;
use crate::curve::AsQuenched;
use crate::error::{Error, Result};

/// One steel.
#[derive(Debug, Clone)]
pub struct Steel {
    pub(super) row: Row,
    curves: Vec<SteelCurve>,
    hazards: Vec<Hazard>,
}

#[derive(Debug, Clone, Deserialize)]
pub(super) struct Row {
    pub steel: String,
    names: String,
    group: String,
    composition_range: String,
    pub c: f64,
    si: f64,
    mn: f64,
    cr: f64,
    mo: f64,
    v: f64,
    w: f64,
    ni: f64,
    other: String,
    austenitize_c_min: Option<f64>,
    austenitize_c_max: Option<f64>,
    quench: String,
    as_quenched_low: Option<f64>,
    as_quenched_high: Option<f64>,
    temper_c_min: Option<f64>,
    temper_c_max: Option<f64>,
    ac1_c: Option<f64>,
    ms_c: Option<f64>,
    source: String,
    how: String,
    note: String,
}

impl Row {
    /// Everything but carbon and iron, weight per cent.
    pub(super) fn alloying(&self) -> f64 {
        self.si + self.mn + self.cr + self.mo + self.v + self.w + self.ni
    }

    pub(super) fn as_quenched(&self) -> Option<AsQuenched> {
        let (low, high) = (self.as_quenched_low?, self.as_quenched_high?);
        // A printed range as a flat distribution, never narrower than what two batches differ by.
        Some(AsQuenched { hrc: 0.5 * (low + high), u: ((high - low) / 12f64.sqrt()).max(0.5) })
    }
}

impl Steel {
    /// Its name here.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.row.steel
    }

    /// Other names it goes by.
    #[must_use]
    pub fn names(&self) -> Vec<&str> {
        self.row.names.split(';').filter(|name| !name.is_empty()).collect()
    }

    /// Its family, as trade lists sort steels.
    #[must_use]
    pub fn group(&self) -> &str {
        &self.row.group
    }

    /// Nominal composition: element and weight per cent; elements not added are left out.
    #[must_use]
    pub fn composition(&self) -> Vec<(String, f64)> {
        let row = &self.row;
        let main = [
            ("C", row.c),
            ("Si", row.si),
            ("Mn", row.mn),
            ("Cr", row.cr),
            ("Mo", row.mo),
            ("V", row.v),
            ("W", row.w),
            ("Ni", row.ni),
        ];
        let other = row.other.split_once(' ').and_then(|(name, value)| Some((name.to_owned(), value.parse().ok()?)));
        main.iter()
            .filter(|(_, value)| *value > 0.0)
            .map(|(name, value)| ((*name).to_owned(), *value))
            .chain(other)
            .collect()
    }

    /// The composition as a standard or a maker prints it.
    #[must_use]
    pub fn composition_range(&self) -> &str {
        &self.row.composition_range
    }

    /// The usual hardening temperatures, °C.
    #[must_use]
    pub fn hardening_c(&self) -> Option<(f64, f64)> {
        Some((self.row.austenitize_c_min?, self.row.austenitize_c_max?))
    }

    /// What it is usually quenched in.
    #[must_use]
    pub fn quench(&self) -> &str {
        &self.row.quench
    }

    /// The as-quenched hardness to be expected.
    #[must_use]
    pub fn as_quenched(&self) -> Option<AsQuenched> {
        self.row.as_quenched()
    }

    /// The usual tempering temperatures, °C.
    #[must_use]
    pub fn temper_range_c(&self) -> Option<(f64, f64)> {
        Some((self.row.temper_c_min?, self.row.temper_c_max?))
    }

    /// Printed Ac1, °C.
    #[must_use]
    pub const fn ac1_c(&self) -> Option<f64> {
        self.row.ac1_c
    }

    /// Printed martensite start, °C.
    #[must_use]
    pub const fn ms_c(&self) -> Option<f64> {
        self.row.ms_c
    }

    /// Where composition and hardening come from, and whether they were read in print.
    #[must_use]
    pub fn composition_source(&self) -> String {
        let how =
            if self.row.how == "memory" && !self.row.source.starts_with("memory") { " (from memory)" } else { "" };
        format!("{}{how}", self.row.source)
    }

    /// Remarks on the row.
    #[must_use]
    pub fn note(&self) -> &str {
        &self.row.note
    }

    /// Its curves, the default first.
    #[must_use]
    pub fn curves(&self) -> &[SteelCurve] {
        &self.curves
    }

    /// Every source used: composition, then curves.
    #[must_use]
    pub fn sources(&self) -> Vec<String> {
        let mut all = vec![self.composition_source()];
        for curve in &self.curves {
            if !all.contains(&curve.source) {
                all.push(curve.source.clone());
            }
        }
        all
    }

    /// What is printed about tempers to avoid, every source kept.
    #[must_use]
    pub fn hazards(&self) -> &[Hazard] {
        &self.hazards
    }

    /// The curve that is used unless another is asked for: one with five points or more before a scrap, in print before
    /// measured before memory, hold stated before not, then the most points from 100 to 700 °C.
    ///
    /// # Errors
    /// [`Error::NotDetermined`] for a steel without a curve.
    pub fn default_curve(&self) -> Result<&SteelCurve> {
        self.curves.first().ok_or_else(|| Error::NotDetermined {
            what: format!("the hardness of {} after a temper", self.name()).into(),
            why: "no curve of it is known here".into(),
            would_determine: "your own TemperingCurve(temperature_c, hrc, time_h), or three coupons of the bar".into(),
        })
    }

    /// The curve whose source contains `source` and whose hardening temperature is `austenitize_c`; an argument left
    /// out selects nothing.
    ///
    /// # Errors
    /// [`Error::UnknownName`] with the sources there are; as [`Self::default_curve`].
    pub fn curve(&self, source: Option<&str>, austenitize_c: Option<f64>) -> Result<&SteelCurve> {
        self.default_curve()?;
        let wanted = source.map(folded);
        self.curves
            .iter()
            .find(|curve| {
                wanted.as_ref().is_none_or(|wanted| {
                    folded(&curve.source).contains(wanted) || folded(&curve.grade).contains(wanted)
                }) && austenitize_c
                    .is_none_or(|at| curve.austenitize_c.is_some_and(|(low, high)| low - 6.0 <= at && at <= high + 6.0))
            })
            .ok_or_else(|| Error::UnknownName {
                kind: format!("curve of {}", self.name()).into(),
                name: format!(
                    "{}{}",
                    source.unwrap_or("any source"),
                    austenitize_c.map_or(String::new(), |at| format!(", hardened from {at} °C"))
                ),
                close: self.curves.iter().map(SteelCurve::label).collect(),
                hint: "steel.curves lists them".into(),
            })
    }
}

/// Every steel known, in the order of the files.
///
/// # Errors
/// [`Error::DataFile`] if a file of the crate can't be read.
pub fn steels() -> Result<&'static [Arc<Steel>]> {
    static ALL: OnceLock<Result<Vec<Arc<Steel>>>> = OnceLock::new();
    ALL.get_or_init(|| {
        let (_, rows) = read::<Row>("steels_composition_2026.csv")?;
        let hazards = hazard::hazards()?;
        let mut curves = curves_of(&rows)?;
        Ok(rows
            .into_iter()
            .map(|row| {
                let hazards = hazards.iter().filter(|hazard| hazard.is_for(&row.steel, &row.group)).cloned().collect();
                Arc::new(Steel { curves: curves.remove(&row.steel).unwrap_or_default(), hazards, row })
            })
            .collect())
    })
    .as_ref()
    .map(Vec::as_slice)
    .map_err(Clone::clone)
}

/// The steel of that name: AISI or SAE, EN, material number or trade name; case, spaces and hyphens do not matter.
///
/// # Errors
/// [`Error::UnknownName`] with names that look like it.
///
/// ```
/// use afterquench::steel::steel;
/// assert_eq!(steel("100cr6").unwrap().name(), "52100");
/// ```
pub fn steel(name: &str) -> Result<&'static Arc<Steel>> {
    let all = steels()?;
    let goes_by = |steel: &Steel, asked: &str| {
        folded(steel.name()) == asked || steel.names().iter().any(|name| folded(name) == asked)
    };
    [folded(name), without_body(name)]
        .iter()
        .find_map(|asked| all.iter().find(|steel| goes_by(steel, asked)))
        .ok_or_else(|| Error::UnknownName {
            kind: "steel".into(),
            name: name.to_owned(),
            close: close(name, all.iter().flat_map(|steel| std::iter::once(steel.name()).chain(steel.names()))),
            hint: "steels() lists all; a steel not listed goes in as your own TemperingCurve".into(),
        })
}

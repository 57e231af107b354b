//! The steels that are known: composition, hardening, curves, hazards, and all the names they go by.

use std::sync::{Arc, OnceLock};

use serde::Deserialize;

use super::curves::{SteelCurve, told_of};
use super::hazard::{self, Hazard};
use super::names::{close, folded, without_body};
use super::table::read;
use super::tempered::CompositionSteel;
use crate::curve::{AsQuenched, HardnessAfterTemper, TemperingCurve};
use crate::error::{Error, Result};

/// One steel.
#[derive(Debug, Clone)]
pub struct Steel {
    pub(super) row: Row,
    hardened: Option<AsQuenched>,
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

    /// The usual as-quenched hardness, HRC from and to.
    pub(super) fn as_quenched_range(&self) -> Option<(f64, f64)> {
        Some((self.as_quenched_low?, self.as_quenched_high?))
    }

    /// Whether a hardening temperature is a usual one of this steel, as far as both are known.
    pub(super) fn is_hardened_from(&self, celsius: Option<(f64, f64)>) -> bool {
        match (celsius, self.austenitize_c_min, self.austenitize_c_max) {
            (Some((low, high)), Some(from), Some(to)) => low <= to + NEAR_DELTA_C && from <= high + NEAR_DELTA_C,
            _ => true,
        }
    }

    /// Whether composition and hardening were not read in print.
    pub(super) fn is_from_memory(&self) -> bool {
        self.how == "memory"
    }

    fn composition(&self) -> Vec<(String, f64)> {
        let main = [
            ("C", self.c),
            ("Si", self.si),
            ("Mn", self.mn),
            ("Cr", self.cr),
            ("Mo", self.mo),
            ("V", self.v),
            ("W", self.w),
            ("Ni", self.ni),
        ];
        let other = self.other.split_once(' ').and_then(|(name, value)| Some((name.to_owned(), value.parse().ok()?)));
        main.iter()
            .filter(|(_, value)| *value > 0.0)
            .map(|(name, value)| ((*name).to_owned(), *value))
            .chain(other)
            .collect()
    }

    fn by_composition(&self) -> Result<CompositionSteel> {
        let composition = self.composition();
        let borrowed: Vec<(&str, f64)> = composition.iter().map(|(symbol, p)| (symbol.as_str(), *p)).collect();
        Ok(CompositionSteel::new(&borrowed)?.named(format!("{} by its nominal composition", self.steel)))
    }

    /// The as-quenched hardness that its carbon lets expect, where the composition model answers for it.
    pub(super) fn expected_by_composition(&self) -> Option<AsQuenched> {
        self.by_composition().ok().map(|made| made.expected_as_quenched())
    }
}

/// How far a hardening temperature may lie outside a printed range and still be meant by it, °C.
const NEAR_DELTA_C: f64 = 15.0;

/// What answers for a steel.
enum Answerer<'a> {
    Table(&'a SteelCurve),
    Model(Arc<CompositionSteel>),
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
        self.row.composition()
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

    /// What full hardening of it gives: the one band by which plans and judgements say whether a part hardened. It is the
    /// usual range, widened to what sources read of the steel; without one, what was read, or what its carbon lets expect.
    #[must_use]
    pub const fn as_quenched(&self) -> Option<AsQuenched> {
        self.hardened
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

    /// Every source used: composition, then curves; and what the composition model was fitted to, where it answers.
    #[must_use]
    pub fn sources(&self) -> Vec<String> {
        let mut all = vec![self.composition_source()];
        if let Ok(Answerer::Model(model)) = self.answerer() {
            all.extend(model.sources().iter().cloned());
        }
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
        self.curves.first().ok_or_else(|| {
            let composed = match self.by_composition() {
                Ok(_) => {
                    ": fit_coupons without steel= fits a line of their own, and CompositionSteel(composition).given(readings), \
                     or steel.given(readings), conditions the prediction from its composition on them"
                }
                Err(_) => "",
            };
            Error::NotDetermined {
                what: format!("the hardness of {} after a temper", self.name()).into(),
                why: "no curve of it is known here".into(),
                would_determine: format!(
                    "your own TemperingCurve(temperature_c, hrc, time_h), or three coupons of the bar{composed}"
                )
                .into(),
            }
        })
    }

    /// The steel as its nominal composition lets expect it, whatever curves it has.
    ///
    /// # Errors
    /// As [`CompositionSteel::new`]: stainless, high-speed and other steels far from the measured ones are refused.
    pub fn by_composition(&self) -> Result<CompositionSteel> {
        let made = self.row.by_composition()?;
        Ok(match self.hardened {
            Some(band) => made.with_hardened(band),
            None => made,
        })
    }

    /// What answers: the default curve, but for a curve of measured rows that misses its own rows by more than the
    /// composition model, which knows those rows too, misses the hardness of a steel it has not seen.
    fn answerer(&self) -> Result<Answerer<'_>> {
        let curve = match (self.curves.first(), self.by_composition()) {
            (None, Err(why)) => return self.default_curve().map(Answerer::Table).map_err(|error| error.because(&why)),
            (None, Ok(model)) => return Ok(Answerer::Model(Arc::new(model))),
            (Some(curve), Ok(model)) if curve.fit.is_some() && curve.curve.u_level() > model.u_level() => {
                let remark = format!(
                    "its measured curve ({}) misses its own rows by {:.1} HRC (one standard deviation), more than the \
                     composition model's {:.1}: the model answers",
                    curve.source,
                    curve.curve.u_level(),
                    model.u_level()
                );
                return Ok(Answerer::Model(Arc::new(model.remarking(remark))));
            }
            (Some(curve), _) => curve,
        };
        Ok(Answerer::Table(curve))
    }

    /// What answers for the steel, in a word: "table", "composition" or "nothing".
    #[must_use]
    pub fn answers_from(&self) -> &'static str {
        match self.answerer() {
            Ok(Answerer::Table(_)) => "table",
            Ok(Answerer::Model(_)) => "composition",
            Err(_) => "nothing",
        }
    }

    /// What answers for the steel: its default curve; its composition where it has none, or none as good.
    ///
    /// # Errors
    /// [`Error::NotDetermined`] for a steel without a curve whose composition gives no answer either.
    pub fn answering(&self) -> Result<Arc<dyn HardnessAfterTemper>> {
        Ok(match self.answerer()? {
            Answerer::Table(curve) => Arc::<TemperingCurve>::clone(&curve.curve),
            Answerer::Model(made) => made,
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
        let mut told = told_of(&rows)?;
        Ok(rows
            .into_iter()
            .map(|row| {
                let hazards = hazards.iter().filter(|hazard| hazard.is_for(&row.steel, &row.group)).cloned().collect();
                let curves = told.curves.remove(&row.steel).unwrap_or_default();
                Arc::new(Steel { hardened: told.hardened.get(&row.steel).copied(), curves, hazards, row })
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

//! Hardness of quenched steel by carbon and martensite, and where martensite starts.

use std::sync::OnceLock;

use serde::Deserialize;

use super::table::read;
use crate::error::{Error, Result};
use crate::estimate::Estimate;
use crate::kernel::{ArrayModel, Lane};
use crate::record::{ModelRecord, Origin, Scatter, Source, ValidRange};

/// The record of the table by Hodge and Orehoski.
pub static HODGE_OREHOSKI: ModelRecord = ModelRecord {
    id: "steel.as_quenched.hodge-orehoski",
    gives: "as-quenched hardness",
    unit: "HRC",
    formula: "table, linear between carbon and martensite",
    ranges: &[
        ValidRange {
            argument: "carbon_percent",
            unit: "%",
            low: 0.18,
            high: 0.53,
            stated_by: "the table of Hodge and Orehoski",
        },
        ValidRange {
            argument: "martensite",
            unit: "",
            low: 0.5,
            high: 0.99,
            stated_by: "the table of Hodge and Orehoski",
        },
    ],
    scatter: Scatter::Known { u: 1.0, unit: "HRC", found: "assumption: ±2 HRC (k = 2) of steels about the curves" },
    sources: &[Source {
        cite: "J. M. Hodge and M. A. Orehoski, Relationship between hardenability and percentage of carbon in some \
               low-alloy steels, Trans. AIME 167 (1946) 627",
        at: "curves as tabulated in handbooks",
        origin: Origin::FromMemory,
    }],
    errata: &["the first column is 99.9 % martensite in the paper and headed 99 % in handbooks"],
    not_for: "carbon beyond 0.53 %; high-alloy steel, where the carbon dissolved in the austenite counts",
};

/// The record of the table of ASTM A255.
pub static ASTM_A255: ModelRecord = ModelRecord {
    id: "steel.as_quenched.astm-a255",
    gives: "initial hardness of a Jominy bar, or hardness at half martensite",
    unit: "HRC",
    formula: "table, linear between carbon",
    ranges: &[
        ValidRange { argument: "carbon_percent", unit: "%", low: 0.1, high: 0.54, stated_by: "ASTM A255" },
        ValidRange { argument: "martensite", unit: "", low: 0.5, high: 1.0, stated_by: "ASTM A255" },
    ],
    scatter: HODGE_OREHOSKI.scatter,
    sources: &[Source {
        cite: "ASTM A255, Standard test methods for determining hardenability of steel; SAE J406",
        at: "initial hardness and 50 % martensite hardness against carbon",
        origin: Origin::FromMemory,
    }],
    errata: &["stops at 60 HRC above 0.50 % C by convention; real high-carbon martensite reaches 64 to 67"],
    not_for: "steel beyond 0.5 % C as it really comes out of the quench; martensite other than 50 and 100 %",
};

/// Which table gives the as-quenched hardness.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum QuenchedTable {
    /// Hodge and Orehoski (1946), 50 to 99 % martensite.
    #[default]
    HodgeOrehoski,
    /// ASTM A255, 50 and 100 % martensite, with its convention of 60 HRC.
    AstmA255,
}

#[derive(Debug, Clone, Deserialize)]
struct Row {
    table: String,
    carbon_pct: f64,
    martensite_pct: f64,
    hrc: f64,
}

impl QuenchedTable {
    /// The table of that name.
    ///
    /// # Errors
    /// [`Error::UnknownName`].
    pub fn named(name: &str) -> Result<Self> {
        match name {
            "hodge-orehoski" => Ok(Self::HodgeOrehoski),
            "astm-a255" => Ok(Self::AstmA255),
            other => Err(Error::UnknownName {
                kind: "as-quenched table".into(),
                name: other.to_owned(),
                close: Vec::new(),
                hint: "Tables are \"hodge-orehoski\" and \"astm-a255\"".into(),
            }),
        }
    }

    /// Its record.
    #[must_use]
    pub const fn record(self) -> &'static ModelRecord {
        match self {
            Self::HodgeOrehoski => &HODGE_OREHOSKI,
            Self::AstmA255 => &ASTM_A255,
        }
    }

    const fn key(self) -> &'static str {
        match self {
            Self::HodgeOrehoski => "hodge-orehoski",
            Self::AstmA255 => "astm-a255",
        }
    }
}

fn rows() -> Result<&'static [Row]> {
    static ROWS: OnceLock<Result<Vec<Row>>> = OnceLock::new();
    ROWS.get_or_init(|| read("quenched_carbon_martensite.csv").map(|(_, rows)| rows))
        .as_ref()
        .map(Vec::as_slice)
        .map_err(Clone::clone)
}

/// HRC of steel quenched to this share of martensite.
///
/// # Errors
/// [`Error::OutOfRange`] outside the table; [`Error::Refused`] for a share of martensite that ASTM A255 does not have.
///
/// ```
/// use afterquench::steel::{QuenchedTable, as_quenched_hardness};
/// assert_eq!(as_quenched_hardness(0.43, 0.99, QuenchedTable::HodgeOrehoski).unwrap(), 57.0);
/// ```
pub fn as_quenched_hardness(carbon_percent: f64, martensite: f64, table: QuenchedTable) -> Result<f64> {
    let record = table.record();
    record.check("carbon_percent", carbon_percent).map_err(|error| error.advising(BEYOND_THE_TABLE))?;
    record
        .check("martensite", martensite)
        .map_err(|error| error.advising("A share, not per cent: 0.99; or ask for out_of_range=\"nan\""))?;
    if carbon_percent.is_nan() || martensite.is_nan() {
        return Ok(f64::NAN);
    }
    if table == QuenchedTable::AstmA255 && martensite != 0.5 && martensite != 1.0 {
        return Err(Error::Refused {
            what: format!("{martensite} martensite in ASTM A255").into(),
            why: "the standard prints 50 % and 100 % only".into(),
            instead: "Ask for 0.5 or 1.0, or take table=\"hodge-orehoski\"".into(),
        });
    }
    let percent = 100.0 * martensite;
    let at_carbon = |share: f64| -> Result<f64> {
        let column = rows()?.iter().filter(|row| row.table == table.key() && row.martensite_pct == share);
        Ok(between(column.map(|row| (row.carbon_pct, row.hrc)), carbon_percent))
    };
    let shares: &[f64] = match table {
        QuenchedTable::HodgeOrehoski => &[50.0, 80.0, 90.0, 95.0, 99.0],
        QuenchedTable::AstmA255 => &[50.0, 100.0],
    };
    let columns: Vec<(f64, f64)> = shares.iter().map(|&share| Ok((share, at_carbon(share)?))).collect::<Result<_>>()?;
    Ok(between(columns.into_iter(), percent))
}

/// What to do for a carbon that no table covers.
const BEYOND_THE_TABLE: &str = "Beyond it ask the steel, Steel.as_quenched_hrc, or judge_hardening(reading_hrc, carbon), which \
                                goes farther; or ask for out_of_range=\"nan\"";

/// Straight lines between sorted points; NaN outside, with room for the rounding of a per cent.
fn between(points: impl Iterator<Item = (f64, f64)>, x: f64) -> f64 {
    let mut before: Option<(f64, f64)> = None;
    for (x1, y1) in points {
        if (x - x1).abs() < 1e-9 {
            return y1;
        }
        if let Some((x0, y0)) = before {
            if x0 < x && x < x1 {
                return y0 + (y1 - y0) * (x - x0) / (x1 - x0);
            }
        }
        before = Some((x1, y1));
    }
    f64::NAN
}

/// [`as_quenched_hardness`] with its uncertainty.
///
/// # Errors
/// As [`as_quenched_hardness`]; [`Error::NoAnswer`] for NaN.
pub fn as_quenched_hardness_estimate(carbon_percent: f64, martensite: f64, table: QuenchedTable) -> Result<Estimate> {
    let value = as_quenched_hardness(carbon_percent, martensite, table)?;
    if value.is_nan() {
        return Err(Error::NoAnswer {
            model: table.record().id.into(),
            asked: "an estimate".into(),
            why: "an argument is NaN".into(),
            hint: "Leave missing values out of estimates".into(),
        });
    }
    let u = match table.record().scatter {
        Scatter::Known { u, .. } => u,
        _ => 0.0,
    };
    let mut made = Estimate::new(value, "HRC").with("table", u).assuming(format!(
        "{} ({}), ±2 HRC (k = 2) of steels about it (assumption)",
        table.record().sources[0].cite,
        table.record().sources[0].origin.text()
    ));
    for erratum in table.record().errata {
        made = made.assuming(*erratum);
    }
    Ok(made)
}

/// [`as_quenched_hardness`] over arrays: `carbon_percent`, `martensite`.
#[derive(Debug, Clone, Copy)]
pub struct AsQuenchedHardness(pub QuenchedTable);

impl ArrayModel for AsQuenchedHardness {
    fn arguments(&self) -> &[&'static str] {
        &["carbon_percent", "martensite"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        let &[carbon, martensite] = arguments else { return out.fill(f64::NAN) };
        for (index, out) in out.iter_mut().enumerate() {
            *out = as_quenched_hardness(carbon.at(index), martensite.at(index), self.0).unwrap_or(f64::NAN);
        }
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        let &[carbon, martensite] = arguments else { return Ok(()) };
        as_quenched_hardness(carbon, martensite, self.0).map(|_| ())
    }
}

//! From one scale to another through one printed table: straight lines between its rows, both ways.

use super::joined::JoinedRows;
use super::scale::{Scale, ScaleName};
use super::table::{Column, ConversionTable, conversion_table, conversion_tables};
use crate::error::{Error, Result};
use crate::kernel::{ArrayModel, Lane};
use crate::record::{ModelRecord, Origin, Scatter, Source, check_finite};

/// The record of all conversions; the tables' own heads say the rest.
pub static CONVERSION: ModelRecord = ModelRecord {
    id: "hardness.conversion",
    gives: "hardness on another scale",
    unit: "",
    formula: "straight line between the printed rows of one table; a blank or a hole in a column has no value",
    ranges: &[],
    scatter: Scatter::Known {
        u: CONVERSION_U_HRC,
        unit: "HRC",
        found: "an assumption, no source: the standards state none for these tables; tables for neighbouring steels \
                differ by up to 1.9 HRC at one HV",
    },
    sources: &[
        Source { cite: "ASTM E140, editions 97 to 12b", at: "Tables 1 and 2", origin: Origin::Printed },
        Source { cite: "ISO 18265:2013", at: "Table A.1", origin: Origin::Printed },
        Source { cite: "SAE J417 (1983)", at: "Rockwell C, Vickers and Brinell tables", origin: Origin::Printed },
        Source { cite: "ASTM A370-03a", at: "Tables 2 and 3", origin: Origin::Printed },
    ],
    errata: &["single doubtful digits stand in the head of each table's file and in conversion_tables()"],
    not_for: "chains through two tables, cold-worked or austenitic steel, hardened cases, decarburised skins, \
              micro-Vickers",
};

/// One standard uncertainty of a conversion, as a difference in HRC (±1.0 at k = 2).
pub const CONVERSION_U_HRC: f64 = 0.5;

/// What to do where a printed value stands in brackets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Bracketed {
    /// Use it; whoever calls asks [`Conversion::leans_on_brackets`] and warns.
    #[default]
    Use,
    /// Treat it as a blank.
    Refuse,
}

/// The conversion between two scales by one table.
#[derive(Debug, Clone)]
pub struct Conversion {
    pub(super) table: &'static ConversionTable,
    pub(super) from: ScaleName,
    pub(super) to: ScaleName,
    lines: JoinedRows,
    bracketed: Vec<LeanOnBrackets>,
    pub(super) bracketed_policy: Bracketed,
    /// Both scales are one: nothing is converted.
    pub(super) identity: bool,
}

/// A stretch between two rows that leans on a bracketed value: open at an end that is printed without brackets.
#[derive(Debug, Clone, Copy)]
struct LeanOnBrackets {
    low: (f64, bool),
    high: (f64, bool),
}

impl LeanOnBrackets {
    fn holds(&self, value: f64) -> bool {
        let above = value > self.low.0 || (self.low.1 && value == self.low.0);
        above && (value < self.high.0 || (self.high.1 && value == self.high.0))
    }
}

/// Two columns side by side as knots, with rising x; rows that share an x (integer scleroscope) become one knot at
/// the mean of their y.
struct Pairs {
    knots: Vec<(f64, f64)>,
    joined: Vec<bool>,
    bracketed: Vec<bool>,
}

fn pairs(from: &Column, to: &Column, policy: Bracketed) -> Pairs {
    // Whether the row before this one had both values: only neighbours in print are joined.
    let mut rows: Vec<(f64, f64, bool, usize)> = Vec::new();
    for (index, (x, y)) in from.cells.iter().zip(&to.cells).enumerate() {
        let bracketed = x.bracketed || y.bracketed;
        if let (Some(x), Some(y), false) = (x.value, y.value, bracketed && policy == Bracketed::Refuse) {
            rows.push((x, y, bracketed, index));
        }
    }
    if rows.first().map(|row| row.0) > rows.last().map(|row| row.0) {
        rows.reverse();
    }
    let mut made = Pairs { knots: Vec::new(), joined: Vec::new(), bracketed: Vec::new() };
    let mut last_row = None;
    for same in rows.chunk_by(|a, b| a.0 == b.0) {
        let Some(&(x, _, bracketed, first)) = same.first() else { continue };
        let mean = same.iter().map(|row| row.1).sum::<f64>() / same.len() as f64;
        if let Some(last) = last_row {
            made.joined.push(first.abs_diff(last) == 1);
        }
        last_row = same.last().map(|row| row.3);
        made.knots.push((x, mean));
        made.bracketed.push(bracketed);
    }
    made
}

impl Conversion {
    /// The conversion between two scales by a named table; of a scale to itself, the value as it is.
    ///
    /// # Errors
    /// [`Error::UnknownName`] for a scale or table, [`Error::Refused`] where the table does not print both scales.
    pub fn new(from: &str, to: &str, table: &str, policy: Bracketed) -> Result<Self> {
        let (from, to) = (ScaleName::parse(from)?, ScaleName::parse(to)?);
        let table = conversion_table(table)?;
        if from.scale == to.scale {
            // What the scale is defined for, and what the table prints beyond that.
            let record = from.scale.record();
            let printed = table.column(from.scale).into_iter().flat_map(|column| &column.cells);
            let (low, high) = printed
                .filter_map(|cell| cell.value)
                .fold((record.low, record.high), |(low, high), value| (low.min(value), high.max(value)));
            let lines = JoinedRows::new(vec![(low, low), (high, high)], vec![true])?;
            return Ok(Self {
                table,
                from,
                to,
                lines,
                bracketed: Vec::new(),
                bracketed_policy: policy,
                identity: true,
            });
        }
        let (Some(from_column), Some(to_column)) = (table.column(from.scale), table.column(to.scale)) else {
            return Err(not_printed(table, from.scale, to.scale));
        };
        let made = pairs(from_column, to_column, policy);
        if made.knots.len() < 2 {
            return Err(Error::Refused {
                what: format!("{} to {} by {}", from.text, to.text, table.id).into(),
                why: format!("{} prints no two rows with both scales", table.cited()).into(),
                instead: "Choose another table; conversion_tables() shows the rows of each".into(),
            });
        }
        let bracketed = made
            .knots
            .windows(2)
            .zip(made.bracketed.windows(2))
            .filter(|(_, flags)| flags[0] || flags[1])
            .map(|(pair, flags)| LeanOnBrackets { low: (pair[0].0, flags[0]), high: (pair[1].0, flags[1]) })
            .collect();
        let lines = JoinedRows::new(made.knots, made.joined)?;
        Ok(Self { table, from, to, lines, bracketed, bracketed_policy: policy, identity: false })
    }

    /// The table.
    #[must_use]
    pub const fn table(&self) -> &'static ConversionTable {
        self.table
    }

    /// The scale it starts from, as written.
    #[must_use]
    pub const fn from(&self) -> &ScaleName {
        &self.from
    }

    /// The scale it leads to, as written.
    #[must_use]
    pub const fn to(&self) -> &ScaleName {
        &self.to
    }

    /// The value on the other scale; NaN gives NaN.
    ///
    /// # Errors
    /// [`Error::OutOfRange`] outside the rows, [`Error::NoAnswer`] in a hole of a column.
    pub fn convert(&self, value: f64) -> Result<f64> {
        self.check(value)?;
        Ok(self.at(value))
    }

    /// One element, NaN outside the rows.
    fn at(&self, value: f64) -> f64 {
        let there = self.lines.at(value);
        // Not by way of a line through its ends, which would round.
        if self.identity && there.is_finite() { value } else { there }
    }

    /// How fast the result changes: the line's slope, at a row the mean of both sides.
    #[must_use]
    pub fn slope(&self, value: f64) -> f64 {
        self.lines.slope(value)
    }

    /// Whether the result rests on a value printed in brackets.
    #[must_use]
    pub fn leans_on_brackets(&self, value: f64) -> bool {
        self.bracketed.iter().any(|stretch| stretch.holds(value))
    }

    /// Whether [`Self::caution`] can have anything to say about this pair.
    #[must_use]
    pub fn may_need_caution(&self) -> bool {
        !self.identity && (!self.bracketed.is_empty() || self.from.scale == Scale::Hbw)
    }

    /// What must be said of a result, if anything.
    #[must_use]
    pub fn caution(&self, value: f64) -> Option<String> {
        if self.leans_on_brackets(value) {
            return Some(format!(
                "{} {value} by {}: the table prints this value in brackets, outside the range of a scale; bracketed=\
                 \"raise\" refuses such values, bracketed=\"accept\" takes them in silence",
                self.from.text, self.table.id
            ));
        }
        if self.from.scale == Scale::Hbw && value > 450.0 && !self.identity {
            return Some(format!(
                "{} {value}: allowed with a carbide ball, hardly ever right on a blade; HBW10/3000 at 600 needs 1.3 to \
                 1.6 mm of steel under it and 6.3 mm to the edge",
                self.from.text
            ));
        }
        None
    }

    /// Whether a superficial scale magnifies an error of `half_width` (half a point where that is zero), in words.
    #[must_use]
    pub fn magnified(&self, value: f64, half_width: f64) -> Option<String> {
        let half_width = if half_width > 0.0 { half_width } else { 0.5 };
        // Over the whole width: from row to row the slope jumps with the table's last digit.
        let ends = self.convert(value - half_width).ok().zip(self.convert(value + half_width).ok());
        let there = ends.map_or(self.slope(value).abs() * half_width, |(low, high)| 0.5 * (high - low).abs());
        if !self.from.scale.is_superficial()
            || self.to.scale.is_superficial()
            || !(there > half_width && there.is_finite())
        {
            return None;
        }
        Some(format!(
            "superficial scales magnify: ±{half_width:.1} {} become ±{:.1} {} here",
            self.from.text, there, self.to.text
        ))
    }

    pub(super) fn check(&self, value: f64) -> Result<()> {
        let argument = || self.from.text.clone();
        check_finite(self.model(), "value", argument(), value)?;
        let (low, high) = self.lines.range();
        if value < low || value > high {
            let steel_ball = self.from.scale == Scale::Hb && value > high;
            let stated_by = if self.identity {
                format!("{}, and what {} prints", self.from.scale.record().stated_by, self.table.cited())
            } else {
                format!("the rows of {} that print both scales", self.table.cited())
            };
            let hint = if steel_ball {
                "A steel ball (HB, HBS) is valid to 450 only; if a carbide ball was used, say \"HBW\""
            } else {
                "Tables are not extrapolated; measure on a scale that covers it, or ask for out_of_range=\"nan\""
            };
            return Err(Error::outside(self.model(), "value", (value, argument()), (low, high), stated_by, hint));
        }
        if let Some((below, above)) = self.lines.hole(value) {
            return Err(Error::NoAnswer {
                model: self.model().into(),
                asked: format!("{} {value} as {}", self.from.text, self.to.text).into(),
                why: format!(
                    "{} {} between {below} and {above}",
                    self.table.cited(),
                    match self.bracketed_policy {
                        Bracketed::Use => "has no value",
                        Bracketed::Refuse => "has none without brackets",
                    }
                )
                .into(),
                hint: "Blanks are never filled; choose another table or scale".into(),
            });
        }
        Ok(())
    }

    pub(super) fn model(&self) -> String {
        format!("hardness.{}", self.table.id)
    }
}

fn not_printed(table: &ConversionTable, from: Scale, to: Scale) -> Error {
    let others: Vec<&str> = conversion_tables()
        .iter()
        .filter(|other| other.column(from).is_some() && other.column(to).is_some())
        .map(|other| other.id.as_str())
        .collect();
    let printed: Vec<&str> = table.scales().into_iter().map(Scale::name).collect();
    Error::Refused {
        what: format!("{} to {} by {}", from.name(), to.name(), table.id).into(),
        why: format!("{} prints {} and no other", table.cited(), printed.join(", ")).into(),
        instead: if others.is_empty() {
            "No table here prints both; going through a second table would add its error, so measure on the scale \
             that is asked for"
                .into()
        } else {
            format!("These tables print both: {}", others.join(", ")).into()
        },
    }
}

impl ArrayModel for Conversion {
    fn arguments(&self) -> &[&'static str] {
        &["value"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        match arguments {
            [Lane::One(value)] => out.fill(self.at(*value)),
            [Lane::Each(values)] if self.identity => {
                out.iter_mut().zip(*values).for_each(|(out, value)| *out = self.at(*value));
            }
            [Lane::Each(values)] => self.lines.fill(values, out),
            _ => out.fill(f64::NAN),
        }
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        arguments.first().map_or(Ok(()), |value| self.check(*value))
    }
}

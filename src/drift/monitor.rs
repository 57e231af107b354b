//! What the checks of an oven or a tester say together: steady, drifting, or cannot say yet.

use serde::{Deserialize, Serialize};

use super::chart::{Ewma, INDIVIDUALS_WIDTH, Individuals};
use super::line::{Line, MONTH_DAYS};
use super::run_length::{ewma_run_length, individuals_run_length};
use crate::error::{Error, Result};
use crate::estimate::Estimate;
use crate::record::{ModelRecord, Origin, Scatter, Source, check_number};

/// The record of a drift.
pub static MONITOR: ModelRecord = ModelRecord {
    id: "drift.monitor",
    gives: "slope of checks over time with its 95 % range, charts, and when a limit is passed",
    unit: "",
    formula: "least-squares line, slope ± t(0.975, n − 2) s/√Σ(t − t̄)²; individuals: centre ± 3 MR̄/1.128; EWMA z = λ x + \
              (1 − λ) z before, centre ± L s √(λ/(2 − λ) (1 − (1 − λ)^2t)); run lengths for known centre and s",
    ranges: &[],
    scatter: Scatter::Exact,
    sources: &[
        Source { cite: "NIST/SEMATECH e-Handbook of Statistical Methods", at: "6.3.2.4", origin: Origin::Printed },
        Source {
            cite: "S. V. Crowder, A simple method for studying run-length distributions of EWMA charts, Technometrics 29 \
                   (1987) 401",
            at: "the integral equation",
            origin: Origin::FromMemory,
        },
    ],
    errata: &[],
    not_for: "telling the oven's drift from the reference's: that takes a second reference",
};

/// What is asked of [`monitor`].
#[derive(Debug, Clone, PartialEq)]
pub struct Request {
    /// Day of each check, rising.
    pub days: Vec<f64>,
    /// Reference less display, or readings less block.
    pub values: Vec<f64>,
    /// What the values may not pass, on either side of zero.
    pub limit: Option<f64>,
    /// The middle line of the charts; the mean where absent.
    pub centre: Option<f64>,
    /// Weight of the newest value in the EWMA.
    pub lambda: f64,
    /// Limits of the EWMA, in its standard deviations.
    pub width: f64,
    /// Standard uncertainty of the reference's own drift, per month.
    pub u_reference: f64,
    /// Unit of the values.
    pub unit: String,
}

/// The three answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum State {
    /// The slope's 95 % range leaves out zero.
    Drifting,
    /// It holds zero, and even its far end passes no limit within a year.
    Steady,
    /// It holds zero and slopes that matter.
    CannotSayYet,
}

impl State {
    /// In words.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Drifting => "drifting",
            Self::Steady => "steady",
            Self::CannotSayYet => "cannot say yet",
        }
    }
}

/// When the line passes the limit: days after the first check.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Crossing {
    /// On the line.
    pub days: f64,
    /// Between these by the line's 95 % band.
    pub range: Option<(f64, f64)>,
    /// The level passed.
    pub level: f64,
}

/// What the checks say.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Monitor {
    /// Days after the first check.
    pub days: Vec<f64>,
    /// The values.
    pub values: Vec<f64>,
    /// The answer.
    pub state: State,
    /// Why, in words.
    pub why: String,
    /// Slope per month, where there are three checks.
    pub slope: Option<Estimate>,
    /// When the limit is passed, where it drifts.
    pub crossing: Option<Crossing>,
    /// The individuals chart.
    pub individuals: Individuals,
    /// The EWMA chart.
    pub ewma: Ewma,
    /// Mean number of checks until a signal: `(chart, shift in standard deviations, checks)`.
    pub run_lengths: Vec<(String, f64, f64)>,
    /// What to know.
    pub cautions: Vec<String>,
}

/// How far ahead a limit matters, in months.
const AHEAD_MONTHS: f64 = 12.0;

impl Request {
    fn checked(&self) -> Result<()> {
        let refuse = |argument: &'static str, value: f64, why: &'static str, hint: &'static str| Error::InvalidValue {
            model: MONITOR.id.into(),
            argument: argument.into(),
            value,
            unit: "".into(),
            why: why.into(),
            failed: 1,
            of: self.values.len().max(1),
            hint: hint.into(),
        };
        if self.values.is_empty() || self.values.len() != self.days.len() {
            return Err(Error::Refused {
                what: format!("{} dates for {} checks", self.days.len(), self.values.len()).into(),
                why: "each check has its date".into(),
                instead: "Give one row for each check".into(),
            });
        }
        for (argument, column) in [("values", &self.values), ("dates", &self.days)] {
            if let Some(&bad) = column.iter().find(|value| !value.is_finite()) {
                return Err(refuse(argument, bad, "is no check", "Leave out the row that was not measured"));
            }
        }
        if let Some(pair) = self.days.windows(2).find(|pair| pair[1] < pair[0]) {
            return Err(refuse("dates", pair[1], "comes before the one above it", "Sort the rows by date"));
        }
        let positive = |value: f64| value > 0.0 && value.is_finite();
        if let Some(limit) = self.limit.filter(|&limit| !positive(limit)) {
            return Err(refuse("limit", limit, "is not a positive number", "Give the size that may not be passed"));
        }
        if !(self.lambda > 0.0 && self.lambda <= 1.0) {
            return Err(refuse("weight", self.lambda, "does not lie between 0 and 1", "0.2 is usual"));
        }
        if !positive(self.width) {
            return Err(refuse("width", self.width, "is not a positive number", "3 is usual"));
        }
        if !(self.u_reference >= 0.0 && self.u_reference.is_finite()) {
            return Err(refuse("u_reference", self.u_reference, "is no standard uncertainty", "Give zero or more"));
        }
        Ok(())
    }
}

/// Judges checks over time.
///
/// # Errors
/// [`Error::InvalidValue`] for checks that are no numbers, dates that fall, limits that are not positive;
/// [`Error::Refused`] for columns of unequal length or none.
pub fn monitor(request: &Request) -> Result<Monitor> {
    request.checked()?;
    if let Some(centre) = request.centre {
        check_number("drift.monitor", "centre", request.unit.clone(), centre)?;
    }
    let first = request.days.first().copied().unwrap_or(0.0);
    let days: Vec<f64> = request.days.iter().map(|day| day - first).collect();
    let months: Vec<f64> = days.iter().map(|day| day / MONTH_DAYS).collect();
    let values = request.values.clone();
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let individuals = Individuals::of(&values, request.centre.unwrap_or(mean));
    let ewma = Ewma::of(&values, (individuals.centre, individuals.sd), request.lambda, request.width);
    let line = Line::through(&months, &values, request.u_reference);
    let slope = line.map(|line| line.slope_estimate(&request.unit));
    let (state, why) = judged(request, &months, line, slope.as_ref())?;
    let crossing = line.zip(request.limit).filter(|_| state == State::Drifting).map(|(line, limit)| {
        let level = limit.copysign(line.slope);
        let (middle, range) = line.reaches(level);
        let range = range.map(|(low, high)| (low * MONTH_DAYS, high * MONTH_DAYS));
        Crossing { days: middle * MONTH_DAYS, range, level }
    });
    Ok(Monitor {
        state,
        why,
        slope,
        crossing,
        run_lengths: run_lengths(request),
        cautions: cautions(request, &individuals, &ewma),
        days,
        values,
        individuals,
        ewma,
    })
}

fn judged(request: &Request, months: &[f64], line: Option<Line>, slope: Option<&Estimate>) -> Result<(State, String)> {
    let n = request.values.len();
    let (Some(line), Some(slope)) = (line, slope) else {
        return Ok((
            State::CannotSayYet,
            format!("{n} checks: a slope with a range takes three at least, on different days, and more to be of use"),
        ));
    };
    let (low, high) = slope.interval(0.95)?;
    let half = 0.5 * (high - low);
    let unit = &request.unit;
    let said = format!("{:+.2} ± {half:.2} {unit} a month (95 %, {n} checks)", line.slope);
    if low > 0.0 || high < 0.0 {
        return Ok((State::Drifting, said));
    }
    let last = months.last().copied().unwrap_or(0.0) + AHEAD_MONTHS;
    let ahead = |slope: f64| (line.value + slope * (last - line.at_months)).abs();
    if let Some(limit) = request.limit.filter(|&limit| ahead(low).max(ahead(high)) < limit) {
        let why = format!("{said}: the range holds no drift, and even its ends stay within ±{limit} {unit} for a year");
        return Ok((State::Steady, why));
    }
    Ok((State::CannotSayYet, format!("{said}: the range holds no drift and drifts both ways; go on checking")))
}

/// The shifts run lengths are given for, in standard deviations.
const SHIFTS: [f64; 3] = [0.0, 1.0, 2.0];

fn run_lengths(request: &Request) -> Vec<(String, f64, f64)> {
    let single =
        SHIFTS.map(|shift| ("individuals".to_owned(), shift, individuals_run_length(shift, INDIVIDUALS_WIDTH)));
    let average = SHIFTS.map(|shift| ("EWMA".to_owned(), shift, ewma_run_length(shift, request.lambda, request.width)));
    single.into_iter().chain(average).collect()
}

fn cautions(request: &Request, individuals: &Individuals, ewma: &Ewma) -> Vec<String> {
    let mut made =
        vec!["the reference may drift too: compare it with a second one before blaming the other".to_owned()];
    if individuals.sd == 0.0 && request.values.len() > 1 {
        made.push("every check shows the same: the display may be too coarse to show a drift".to_owned());
    }
    if request.values.len() < 20 {
        made.push(format!(
            "{} checks set the charts' limits: the run lengths hold for limits known from twenty or more (common \
             practice, no source)",
            request.values.len()
        ));
    }
    let passed = request.limit.map_or(0, |limit| request.values.iter().filter(|value| value.abs() > limit).count());
    if let (Some(limit), true) = (request.limit, passed > 0) {
        made.push(format!("{passed} checks lie beyond ±{limit} {} already", request.unit));
    }
    for (chart, outside) in [("individuals", &individuals.outside), ("EWMA", &ewma.outside)] {
        if let Some(first) = outside.first() {
            made.push(format!("the {chart} chart signals {} times, first at check {}", outside.len(), first + 1));
        }
    }
    made
}

#[cfg(test)]
mod tests {
    use super::*;

    fn checks(values: &[f64]) -> Request {
        Request {
            days: (0..values.len()).map(|month| month as f64 * MONTH_DAYS).collect(),
            values: values.to_vec(),
            limit: Some(3.0),
            centre: None,
            lambda: 0.2,
            width: 3.0,
            u_reference: 0.0,
            unit: "°C".to_owned(),
        }
    }

    /// Few, identical and steady checks each get an answer; by hand.
    #[test]
    fn the_three_answers() {
        let state = |values: &[f64]| monitor(&checks(values)).unwrap().state;
        assert_eq!(state(&[0.1]), State::CannotSayYet);
        assert_eq!(state(&[0.1, 0.4]), State::CannotSayYet);
        assert_eq!(state(&[0.0, 2.0, 0.5, 1.5]), State::CannotSayYet);
        assert_eq!(state(&[0.5; 6]), State::Steady);
        assert_eq!(state(&[0.0, 0.31, 0.6, 0.9, 1.22]), State::Drifting);
        assert!(monitor(&checks(&[])).is_err() && monitor(&checks(&[0.1, f64::NAN, 0.2])).is_err());
    }

    /// A reference that drifts by itself takes certainty away.
    #[test]
    fn the_reference_counts() {
        let mut request = checks(&[0.0, 0.31, 0.6, 0.9, 1.22]);
        request.u_reference = 0.3;
        assert_eq!(monitor(&request).unwrap().state, State::CannotSayYet);
    }
}

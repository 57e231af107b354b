//! What a plan of coupons would tell, by linear theory.

use serde::{Deserialize, Serialize};

use super::model::{Line, Row};
use super::settled::Settled;
use super::squares::{MOST, System};
use crate::error::{Error, Result, Text};
use crate::quantity::{HoldTime, Temperature, ZERO_CELSIUS_K};

/// Coupons that go into the oven together.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CouponRun {
    /// Temperature of the hold.
    pub temperature: Temperature,
    /// Time of the hold.
    pub time: HoldTime,
    /// How many coupons.
    pub coupons: usize,
}

/// What a plan is judged by.
#[derive(Debug, Clone, PartialEq)]
pub struct DesignBasis {
    /// Standard deviation of one coupon's mean around the line, HRC.
    pub scatter: f64,
    /// Slope of the curve at `hold`, HRC/°C.
    pub slope: f64,
    /// The C around which the theory is linear.
    pub c: f64,
    /// Whether the line may bend.
    pub parabola: bool,
    /// One standard uncertainty of a run's temperature, common to its coupons, °C.
    pub u_run_temperature: f64,
    /// One standard uncertainty of the tester's bias, HRC: in the level whatever the number of coupons.
    pub u_tester: f64,
    /// Where the level is wanted.
    pub centre: Temperature,
    /// At which hold.
    pub hold: HoldTime,
    /// Coupons there already are.
    pub existing: Vec<CouponRun>,
}

impl Default for DesignBasis {
    fn default() -> Self {
        Self {
            scatter: 0.35,
            slope: -0.05,
            c: 17.5,
            parabola: false,
            u_run_temperature: 0.0,
            u_tester: 0.0,
            centre: Temperature::from_celsius(225.0),
            hold: HoldTime::from_hours(2.0),
            existing: Vec::new(),
        }
    }
}

/// What is wanted, and within what limits.
#[derive(Debug, Clone, PartialEq)]
pub struct DesignGoal {
    /// Largest u of the level, HRC.
    pub u_level: Option<f64>,
    /// Largest u of the slope, HRC/°C.
    pub u_slope: Option<f64>,
    /// Largest u of C.
    pub u_c: Option<f64>,
    /// Coolest and hottest run, °C.
    pub temperature_c: (f64, f64),
    /// Shortest and longest hold, h.
    pub time_h: (f64, f64),
    /// What an hour of the oven costs.
    pub cost_per_oven_hour: f64,
    /// What a coupon costs, made and read.
    pub cost_per_coupon: f64,
    /// Hours of the oven that a run takes beside its hold.
    pub warm_up_h: f64,
}

impl Default for DesignGoal {
    fn default() -> Self {
        Self {
            u_level: None,
            u_slope: None,
            u_c: None,
            temperature_c: (175.0, 275.0),
            time_h: (0.5, 32.0),
            cost_per_oven_hour: 1.0,
            cost_per_coupon: 1.0,
            warm_up_h: 1.0,
        }
    }
}

/// A plan of coupons and what it would tell.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CouponDesign {
    /// The runs, coolest first.
    pub runs: Vec<CouponRun>,
    /// One standard uncertainty of the level, HRC.
    pub u_level: f64,
    /// One standard uncertainty of the slope, HRC/°C; infinite where it is not determined.
    pub u_slope: f64,
    /// One standard uncertainty of C by linear theory; infinite where it is not determined.
    pub u_c: f64,
    /// Coupons in all, without those there already are.
    pub coupons: usize,
    /// Hours of the oven.
    pub oven_hours: f64,
    /// What it costs.
    pub cost: f64,
    /// What to know.
    pub notes: Vec<Text>,
}

pub(super) fn refuse(
    argument: &'static str,
    value: f64,
    unit: &'static str,
    why: &'static str,
    hint: &'static str,
) -> Error {
    Error::invalid("curve.coupons", argument, (value, unit), why, hint)
}

impl DesignBasis {
    pub(super) fn checked(&self) -> Result<()> {
        let positive = |argument, value: f64, unit| {
            if value.is_finite() && value > 0.0 {
                Ok(())
            } else {
                Err(refuse(argument, value, unit, "is not a positive number", "Check the number and its unit"))
            }
        };
        positive("scatter_hrc", self.scatter, "HRC")?;
        positive("time_h", self.hold.hours(), "h")?;
        positive("c", self.c, "")?;
        for (argument, value, unit) in
            [("u_run_temperature_c", self.u_run_temperature, "°C"), ("u_tester", self.u_tester, "HRC")]
        {
            if !(value.is_finite() && value >= 0.0) {
                return Err(refuse(
                    argument,
                    value,
                    unit,
                    "is not a standard uncertainty",
                    "Give it finite, not negative",
                ));
            }
        }
        if !(self.slope.is_finite() && self.slope < 0.0) {
            return Err(refuse(
                "slope",
                self.slope,
                "HRC/°C",
                "is no slope of a curve that falls",
                "Give it with its sign: about -0.05 HRC/°C around 200 °C",
            ));
        }
        for run in &self.existing {
            positive("time_h", run.time.hours(), "h")?;
            positive("temperature (K)", run.temperature.kelvin(), "K")?;
        }
        Ok(())
    }

    /// The rows of the linear model: level, slope, curvature, C.
    fn row(&self, run: &CouponRun) -> ([f64; MOST], f64) {
        let (log_t, log_own) = (run.time.hours().log10(), self.hold.hours().log10());
        let own = run.temperature.kelvin() * (self.c + log_t) / (self.c + log_own) - ZERO_CELSIUS_K;
        let x = own - self.centre.celsius();
        let by_c = self.slope * run.temperature.kelvin() * (log_own - log_t) / (self.c + log_own).powi(2);
        let variance = self.scatter.powi(2) / run.coupons as f64 + (self.slope * self.u_run_temperature).powi(2);
        ([1.0, x, by_c, 1e-2 * x * x], variance)
    }

    /// One standard uncertainty of level, slope and C.
    pub(super) fn uncertainties(&self, runs: &[CouponRun]) -> (f64, f64, f64) {
        let all: Vec<([f64; MOST], f64)> =
            runs.iter().chain(&self.existing).filter(|run| run.coupons > 0).map(|run| self.row(run)).collect();
        let solve = |columns: &[usize]| -> Option<[f64; MOST]> {
            let mut system = System::new(columns.len(), all.len());
            for (row, variance) in &all {
                let mut entries = [0.0; MOST];
                for (entry, &column) in entries.iter_mut().zip(columns) {
                    *entry = row[column] / variance.sqrt();
                }
                system.push(entries, 0.0);
            }
            let covariance = system.solve(true)?.covariance;
            let mut made = [f64::INFINITY; MOST];
            for (k, &column) in columns.iter().enumerate() {
                made[column] = covariance[k][k].sqrt();
            }
            Some(made)
        };
        let full: &[usize] = if self.parabola { &[0, 1, 3, 2] } else { &[0, 1, 2] };
        let same_hold = all.iter().all(|(row, _)| row[2] == 0.0);
        let made = (!same_hold)
            .then(|| solve(full))
            .flatten()
            .or_else(|| if self.parabola { solve(&[0, 1, 3]) } else { None })
            .or_else(|| solve(&[0, 1]))
            .or_else(|| solve(&[0]))
            .unwrap_or([f64::INFINITY; MOST]);
        (made[0].hypot(self.u_tester), made[1], made[2])
    }

    /// What a plan would tell.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] for numbers that can't be; [`Error::MissingArgument`] for a plan without coupons.
    pub fn judge(&self, runs: &[CouponRun], goal: &DesignGoal) -> Result<CouponDesign> {
        self.checked()?;
        Self { existing: runs.to_vec(), ..self.clone() }.checked()?;
        if runs.iter().chain(&self.existing).all(|run| run.coupons == 0) {
            return Err(Error::MissingArgument {
                function: "design_coupons".into(),
                argument: "plan".into(),
                why: "there is no coupon in it".into(),
                hint: "Give runs as (temperature_c, time_h, coupons)".into(),
            });
        }
        Ok(self.judged(runs, goal))
    }

    pub(super) fn judged(&self, runs: &[CouponRun], goal: &DesignGoal) -> CouponDesign {
        let (u_level, u_slope, u_c) = self.uncertainties(runs);
        let coupons = runs.iter().map(|run| run.coupons).sum();
        let oven_hours: f64 = runs.iter().map(|run| run.time.hours() + goal.warm_up_h).sum();
        let mut notes: Vec<Text> = Vec::new();
        if u_c.is_infinite() {
            notes.push("C is not determined by such coupons: it takes two temperatures and holds far apart".into());
        } else {
            if u_c > MOST_U_C {
                notes.push(
                    format!(
                        "u(C) = {u_c:.1} says nothing: the 95 % interval would not close inside 10 to 30, so the fit's answer \
                         will be \"not determined\""
                    )
                    .into(),
                );
            }
            notes.push("linear theory; the interval of C itself is skewed upward".into());
        }
        if self.u_run_temperature == 0.0 && runs.iter().any(|run| run.coupons > 1) {
            notes.push(
                "every run's temperature is taken as known: give u_run_temperature_c, which all coupons of a run share"
                    .into(),
            );
        }
        CouponDesign {
            runs: runs.to_vec(),
            u_level,
            u_slope,
            u_c,
            coupons,
            oven_hours,
            cost: oven_hours * goal.cost_per_oven_hour + coupons as f64 * goal.cost_per_coupon,
            notes,
        }
    }
}

/// u(C) beyond which the interval does not close inside the plausible range.
const MOST_U_C: f64 = 4.0;

/// What would determine C beside the coupons there are, as the end of the sentence "it would be by …".
pub(super) fn would_determine(line: &Line<'_>, rows: &[Row], settled: &Settled) -> Text {
    const GOAL: f64 = 2.0;
    const GENTLEST: f64 = -0.005;
    let coolest = rows.iter().map(|row| row.celsius).fold(f64::INFINITY, f64::min);
    let hottest = rows.iter().map(|row| row.celsius).fold(f64::NEG_INFINITY, f64::max);
    let slope = line.slope_at_own(&settled.fitted.a, line.centre_c);
    let generic = "coupons at two temperatures or more, each held short and long: 0.5 and 8 h, better 0.5 and 32 h";
    let falls = slope < GENTLEST;
    if !falls || line.degree == 0 && line.base.is_none() {
        return generic.into();
    }
    let wide = (hottest - coolest).max(75.0);
    let middle = 0.5 * (coolest + hottest);
    let basis = DesignBasis {
        scatter: settled.scatter.max(0.1),
        slope,
        c: settled.fitted.c,
        parabola: line.degree == 2,
        centre: Temperature::from_celsius(line.centre_c),
        hold: HoldTime::from_hours(line.hold_h),
        existing: rows
            .iter()
            .map(|row| CouponRun {
                temperature: Temperature::from_celsius(row.celsius),
                time: HoldTime::from_hours(row.hours),
                coupons: 1,
            })
            .collect(),
        ..DesignBasis::default()
    };
    let goal = DesignGoal {
        u_c: Some(GOAL),
        temperature_c: (middle - 0.5 * wide, middle + 0.5 * wide),
        ..DesignGoal::default()
    };
    let Ok(design) = basis.cheapest(&goal) else { return generic.into() };
    format!(
        "coupons at two temperatures and holds far apart, for example {}: u(C) = {:.1} with the scatter of {:.2} HRC found here ({} more coupons, {:.0} \
         oven-hours)",
        design.text(),
        design.u_c,
        basis.scatter,
        design.coupons,
        design.oven_hours
    )
    .into()
}

impl CouponDesign {
    /// The runs in one line.
    #[must_use]
    pub fn text(&self) -> String {
        let listed = |mut values: Vec<f64>, unit: &str| {
            values.sort_by(f64::total_cmp);
            values.dedup();
            let texts: Vec<String> = values.iter().map(|value| format!("{}", (value * 10.0).round() / 10.0)).collect();
            match texts.split_last() {
                Some((last, rest)) if !rest.is_empty() => format!("{} and {last} {unit}", rest.join(", ")),
                _ => format!("{} {unit}", texts.concat()),
            }
        };
        let each = self.runs.first().map_or(0, |run| run.coupons);
        format!(
            "{each} at each of {} for {}",
            listed(self.runs.iter().map(|run| run.temperature.celsius()).collect(), "°C"),
            listed(self.runs.iter().map(|run| run.time.hours()).collect(), "h")
        )
    }
}

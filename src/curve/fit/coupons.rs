//! From coupons to level, slope, C and a curve; what they do not determine is said, with what would.

use super::coupon::Coupon;
use super::doubt::{BELIEVED_SD, CouponDoubt, sorted};
use super::layout::{has_several_holds, highest_degree, may_determine_c, own_hold, temperatures};
use super::model::{Line, Row};
use super::outcome::CouponFit;
use super::profile::Ground;
use super::said::finish;
use super::settled::{Settled, settled};
use super::unmoved::{assumed_sd, display_sd, said};
use crate::curve::after_temper::HardnessAfterTemper;
use crate::curve::tempering::TemperingCurve;
use crate::error::{Error, Result, Text};
use crate::estimate::Estimate;
use crate::quantity::{HoldTime, Temperature};
use crate::record::{ModelRecord, Origin, Scatter, Source, ValidRange};
use crate::temper::{ConstantBelief, UNKNOWN_STEEL};

/// The record of the fit.
pub static COUPON_FIT: ModelRecord = ModelRecord {
    id: "curve.coupons",
    gives: "level, slope and C of a steel from a shop's own coupons, and the curve through them",
    unit: "HRC",
    formula: "H = base(T0) + a0 + a1 x + a2 x², x = (T0 − centre)/50 °C, T0 the temperature that does the same at the fit's \
              own hold; least squares weighted by coupon scatter² + reading sd²/n + (dH/dT u_T)² + (dH/dt u_t)², the \
              scatter by Paule and Mandel, with fewer than four coupons to spare weighed with what is believed of it; readings \
              that differ by less than the display's step/√12 are taken to scatter as the standard permits a tester; C by the \
              profile of the residual sum, determined where its 95 % interval \
              closes inside 10 to 30",
    ranges: &[ValidRange {
        argument: "reading",
        unit: "HRC",
        low: 20.0,
        high: 70.0,
        stated_by: "the range of the Rockwell C scale for steel",
    }],
    scatter: Scatter::Known {
        u: BELIEVED_SD,
        unit: "HRC",
        found: "assumption: coupons of one bar around their line, the root mean square over bars, as if from four degrees of \
                freedom; weighed in where fewer than four are to spare, else the coupons' own",
    },
    sources: &[
        crate::temper::TEMPER_PARAMETER.sources[0],
        Source {
            cite: "R. C. Paule and J. Mandel, Consensus values and weighting factors, J. Res. NBS 87 (1982) 377",
            at: "the equation for the variance between groups",
            origin: Origin::FromMemory,
        },
        Source {
            cite: "B. Rosner, Percentage points for a generalized ESD many-outlier procedure, Technometrics 25 (1983) 165",
            at: "forward removal, judged backwards; the scatter is moderated by 0.4 HRC counting for 4 degrees of freedom",
            origin: Origin::FromMemory,
        },
        Source {
            cite: "JCGM 101:2008, Propagation of distributions using a Monte Carlo method",
            at: "6.4.9.7: the standard deviation of Student's t is √(ν/(ν − 2)) times its scale",
            origin: Origin::FromMemory,
        },
    ],
    errata: &["no symmetric ± for C: it is a ratio and skewed upward, so its interval is the profile's"],
    not_for: "telling why a coupon is soft: a doubtful one is named, its cause is for the bench to find",
};

/// Any C that was ever published lies in this range: an interval that does not close inside says nothing.
pub(super) const PLAUSIBLE_C: (f64, f64) = (10.0, 30.0);

/// The form of the line where there is no base curve.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LineShape {
    /// A parabola where curvature shows, with four temperatures at least; else straight.
    #[default]
    Automatic,
    /// Straight in the equivalent temperature.
    Straight,
    /// A parabola in it.
    Parabola,
}

impl LineShape {
    /// The shape of that name.
    ///
    /// # Errors
    /// [`Error::UnknownName`].
    pub fn named(name: &str) -> Result<Self> {
        match name {
            "auto" => Ok(Self::Automatic),
            "straight" => Ok(Self::Straight),
            "parabola" => Ok(Self::Parabola),
            _ => Err(Error::UnknownName {
                kind: "shape".into(),
                name: name.to_owned(),
                close: Vec::new(),
                hint: "Shapes are \"auto\", \"straight\" and \"parabola\"".into(),
            }),
        }
    }
}

/// What is known beside the coupons.
#[derive(Debug, Clone, Default)]
pub struct CouponOptions {
    /// The curve whose level and tilt are sought; without one, a line of their own.
    pub base: Option<TemperingCurve>,
    /// What is believed of C where the coupons do not determine it; else the base's own, else 15 to 20.
    pub constant: Option<ConstantBelief>,
    /// The form of the line.
    pub shape: LineShape,
    /// Standard deviation of one reading, HRC; left out, from the readings themselves.
    pub reading_sd: Option<f64>,
    /// Standard deviation between coupons of one bar, HRC; left out, from the coupons.
    pub coupon_sd: Option<f64>,
    /// The tester's bias, which all coupons share: taken off, its uncertainty stays in the level.
    pub bias: Option<Estimate>,
    /// Coupons to leave out.
    pub leave_out: Vec<String>,
    /// What the fitted curve is called.
    pub name: Option<String>,
}

/// Fits coupons.
///
/// # Errors
/// [`Error::MissingArgument`] without coupons, [`Error::UnknownName`] for a coupon to leave out that is not there,
/// [`Error::OutOfRange`] for a coupon outside what a base curve can be continued to, [`Error::NotDetermined`] for a
/// parabola that was asked for and can't be had, [`Error::InvalidValue`] for a scatter that is none.
pub fn fit_coupons(coupons: &[Coupon], options: &CouponOptions) -> Result<CouponFit> {
    checked(coupons, options)?;
    let belief = options
        .constant
        .or_else(|| options.base.as_ref().and_then(HardnessAfterTemper::constant))
        .unwrap_or(UNKNOWN_STEEL)
        .checked()?;
    let mut notes: Vec<Text> = Vec::new();
    let mut unmoved: Vec<Text> = Vec::new();
    let mut reading_sd = reading_sd(coupons, options, &mut notes, &mut unmoved);
    let bias = options.bias.as_ref().map_or(0.0, Estimate::value);
    let given: Vec<&Coupon> = coupons.iter().filter(|coupon| !options.leave_out.contains(&coupon.name)).collect();
    let rows: Vec<Row> = given
        .iter()
        .map(|coupon| {
            let row = Row::of(coupon, reading_sd);
            Row { hrc: row.hrc - bias, ..row }
        })
        .collect();
    let hold_h = own_hold(&rows, options.base.as_ref());
    let middle = belief.middle();
    let line_of = |rows: &[Row], degree: usize| Line {
        base: options.base.as_ref(),
        degree,
        centre_c: (rows.iter().map(|row| row.celsius).sum::<f64>() / rows.len().max(1) as f64).round(),
        hold_h,
    };
    if let Some(base) = &options.base {
        for row in &rows {
            base.extrapolated_with(Temperature::from_celsius(row.celsius), HoldTime::from_hours(row.hours), middle)?;
        }
    }

    // Which coupons belong.
    let degree = highest_degree(&rows, options, &line_of(&rows, 0), middle)?;
    let line = line_of(&rows, degree);
    let free = may_determine_c(&rows, degree);
    let fit = |rows: &[Row]| {
        let variance = BELIEVED_SD * BELIEVED_SD;
        if free { line.free(rows, variance) } else { line.held(rows, middle, variance) }
    };
    let named: Vec<(&str, &str)> = given.iter().map(|coupon| (coupon.name.as_str(), coupon.remark.as_str())).collect();
    let found = sorted(&line, &rows, &named, &fit, free);
    let mut rows: Vec<Row> = found.kept.iter().filter_map(|&index| rows.get(index).copied()).collect();
    let used: Vec<&Coupon> = found.kept.iter().filter_map(|&index| given.get(index).copied()).collect();

    // The line through those, straight unless curvature shows.
    let degree = highest_degree(&rows, options, &line_of(&rows, 0), middle)?;
    let refused = || Error::NotDetermined {
        what: "a line through the coupons".into(),
        why: "their holds leave no solution".into(),
        would_determine: "coupons at temperatures 25 °C apart or more".into(),
    };
    let best = |rows: &[Row]| -> Option<(usize, Settled, CPart)> {
        let of = |degree: usize| {
            let (settled, c) = constant_part(&line_of(rows, degree), rows, options, middle)?;
            Some((degree, settled, c))
        };
        let chosen = of(degree).or_else(|| of(degree.saturating_sub(1)))?;
        if chosen.0 == 2 && options.shape == LineShape::Automatic {
            let curvature = chosen.1.fitted.a[2].abs() / chosen.1.covariance[2][2].sqrt();
            // A curvature of less than its own uncertainty costs more than it brings.
            let shows = curvature > 1.0;
            if !shows {
                return of(1).or(Some(chosen));
            }
        }
        Some(chosen)
    };
    let mut chosen = best(&rows).ok_or_else(refused)?;
    // Coupons that lie on their line closer than a display can show say nothing of what a tester scatters.
    let alike = rows.len() > chosen.1.unknowns && chosen.1.scatter < display_sd();
    if alike && !chosen.1.assumed && options.reading_sd.is_none() && options.coupon_sd.is_none() {
        let mean = rows.iter().map(|row| row.hrc).sum::<f64>() / rows.len() as f64;
        let (sd, how) = assumed_sd(mean);
        if sd > reading_sd {
            for row in &mut rows {
                row.reading_variance *= (sd / reading_sd).powi(2);
            }
            reading_sd = sd;
            chosen = best(&rows).ok_or_else(refused)?;
            unmoved.push(said("the coupons lie off their line by", &how).into());
        }
    }
    let (degree, settled, c_part) = chosen;
    let line = line_of(&rows, degree);
    let u_display = if alike { display_sd() } else { 0.0 };
    let doubts = found.doubts;
    finish(Found { line, rows, used, settled, c_part, belief, reading_sd, u_display, unmoved, doubts }, options, notes)
}

/// What the coupons say of C before it is put into words.
pub(super) enum CPart {
    Interval { quantiles: Vec<f64>, low: f64, high: f64 },
    Open { low: f64, high: f64 },
    Never(&'static str),
}

/// What a fit is made of before it is put into words.
pub(super) struct Found<'a> {
    pub(super) line: Line<'a>,
    pub(super) rows: Vec<Row>,
    pub(super) used: Vec<&'a Coupon>,
    pub(super) settled: Settled,
    pub(super) c_part: CPart,
    pub(super) belief: ConstantBelief,
    pub(super) reading_sd: f64,
    /// What the display's step leaves in all coupons alike, where they show no scatter to average it out.
    pub(super) u_display: f64,
    /// What a scatter that the readings do not show was taken from, as sentences.
    pub(super) unmoved: Vec<Text>,
    pub(super) doubts: Vec<CouponDoubt>,
}

fn checked(coupons: &[Coupon], options: &CouponOptions) -> Result<()> {
    let missing = |why: &'static str| Error::MissingArgument {
        function: "fit_coupons".into(),
        argument: "coupons".into(),
        why: why.into(),
        hint: "Give a coupon at least; three temperatures give a slope".into(),
    };
    for name in &options.leave_out {
        if coupons.iter().all(|coupon| coupon.name != *name) {
            return Err(Error::UnknownName {
                kind: "coupon".into(),
                name: name.clone(),
                close: Vec::new(),
                hint: "leave_out takes names of the column coupon".into(),
            });
        }
    }
    for (argument, value) in [("repeatability_sd_hrc", options.reading_sd), ("coupon_sd_hrc", options.coupon_sd)] {
        if let Some(value) = value.filter(|value| !(value.is_finite() && *value >= 0.0)) {
            return Err(Error::invalid(
                COUPON_FIT.id,
                argument,
                (value, "HRC"),
                "is not a standard deviation",
                "Give one in HRC: finite, not negative; or leave it out",
            ));
        }
    }
    if coupons.is_empty() {
        return Err(missing("there is none"));
    }
    if coupons.iter().all(|coupon| options.leave_out.contains(&coupon.name)) {
        return Err(missing("leave_out leaves none"));
    }
    Ok(())
}

/// Standard deviation of one reading, pooled over the coupons.
fn reading_sd(coupons: &[Coupon], options: &CouponOptions, notes: &mut Vec<Text>, unmoved: &mut Vec<Text>) -> f64 {
    if let Some(sd) = options.reading_sd {
        return sd.max(display_sd());
    }
    let (mut squares, mut left) = (0.0, 0.0);
    for coupon in coupons {
        let mean = coupon.mean();
        squares += coupon.readings.iter().map(|reading| (reading - mean).powi(2)).sum::<f64>();
        left += coupon.readings.len() as f64 - 1.0;
    }
    if left < 1.0 {
        notes.push("one reading a coupon: what the readings scatter is part of the scatter of coupons".into());
        return display_sd();
    }
    let sd = (squares / left).sqrt();
    if sd < display_sd() {
        let mean = coupons.iter().map(Coupon::mean).sum::<f64>() / coupons.len() as f64;
        let (sd, how) = assumed_sd(mean);
        unmoved.push(said("the readings of a coupon differ by", &how).into());
        return sd;
    }
    sd
}

/// Fits with C free where that is possible, and falls back to the believed C where the interval stays open.
fn constant_part(line: &Line<'_>, rows: &[Row], options: &CouponOptions, middle: f64) -> Option<(Settled, CPart)> {
    let held = || settled(line, rows, Some(middle), options.coupon_sd);
    let never = |why| Some((held()?, CPart::Never(why)));
    if !has_several_holds(rows) {
        return never("all coupons were held equally long, and temperature and C can't be told apart at one hold");
    }
    if temperatures(rows) < 2 {
        return never("all coupons had one temperature: what time does can't be told from what the slope does");
    }
    if !may_determine_c(rows, line.degree) {
        return never("there are no more coupons than unknowns");
    }
    let Some(free) = settled(line, rows, None, options.coupon_sd) else {
        return never("the columns of temperature and of temperature times log time are not independent");
    };
    let ground = Ground { line, rows, coupon_variance: free.coupon_variance, scale: free.scale, dof: free.dof };
    let profile = ground.profile(&free.fitted);
    let (low, high) = (profile.low, profile.high);
    if low > PLAUSIBLE_C.0 && high < PLAUSIBLE_C.1 {
        let quantiles = ground.quantiles(&profile);
        return Some((free, CPart::Interval { quantiles, low, high }));
    }
    Some((held()?, CPart::Open { low, high }))
}

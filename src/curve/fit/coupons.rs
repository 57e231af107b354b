//! From coupons to level, slope, C and a curve; what they do not determine is said, with what would.

use serde::{Deserialize, Serialize};

use super::coupon::Coupon;
use super::design::{CouponRun, DesignBasis};
use super::determined::{Determined, NotDetermined};
use super::doubt::{BELIEVED_SD, CouponDoubt, sorted};
use super::model::{Line, Row};
use super::profile::Ground;
use super::settled::{Settled, settled};
use super::squares::MOST;
use crate::curve::after_temper::HardnessAfterTemper;
use crate::curve::tempering::TemperingCurve;
use crate::error::{Error, Result, Text};
use crate::estimate::{Estimate, Shape, root_sum_of_squares};
use crate::quantity::{HoldTime, Temperature};
use crate::record::{ModelRecord, Origin, Scatter, Source, ValidRange};
use crate::temper::{ConstantBelief, TWO_HOURS, UNKNOWN_STEEL};

/// The record of the fit.
pub static COUPON_FIT: ModelRecord = ModelRecord {
    id: "curve.coupons",
    gives: "level, slope and C of a steel from a shop's own coupons, and the curve through them",
    unit: "HRC",
    formula: "H = base(T0) + a0 + a1 x + a2 x², x = (T0 − centre)/50 °C, T0 the temperature that does the same at the fit's \
              own hold; least squares weighted by coupon scatter² + reading sd²/n + (dH/dT u_T)² + (dH/dt u_t)², the \
              scatter by Paule and Mandel; C by the profile of the residual sum, determined where its 95 % interval \
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
        found: "assumption: coupons of one bar around their line, used where too few coupons show their own; else estimated",
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
    ],
    errata: &["no symmetric ± for C: it is a ratio and skewed upward, so its interval is the profile's"],
    not_for: "telling why a coupon is soft: a doubtful one is named, its cause is for the bench to find",
};

/// Any C that was ever published lies in this range: an interval that does not close inside says nothing.
const PLAUSIBLE_C: (f64, f64) = (10.0, 30.0);

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

/// What coupons say.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CouponFit {
    /// Offset from the base curve at the centre; without a base the hardness there. HRC.
    pub level: Estimate,
    /// Slope of the fitted curve at the centre, HRC/°C.
    pub slope: Determined,
    /// The steel's C for hours.
    pub c: Determined,
    /// Whether `level` is an offset from a base curve.
    pub is_offset: bool,
    /// The centre: the mean temperature of the coupons, at the fit's own hold.
    pub centre: Temperature,
    /// The fit's own hold.
    pub hold: HoldTime,
    /// "level", "straight" or "parabola".
    pub shape: String,
    /// Coupons that the others speak against.
    pub doubts: Vec<CouponDoubt>,
    /// Coupons the fit was made with.
    pub used: Vec<String>,
    /// Residual of each of those, HRC.
    pub residuals: Vec<f64>,
    /// Residual standard deviation of the coupons' means, HRC.
    pub scatter: f64,
    /// Standard deviation between coupons beyond readings and holds, HRC.
    pub between_coupons: f64,
    /// Standard deviation of one reading, HRC.
    pub reading_sd: f64,
    /// Degrees of freedom; infinite where the scatter was given.
    pub degrees_of_freedom: f64,
    /// What to know.
    pub notes: Vec<Text>,
    curve: std::result::Result<TemperingCurve, NotDetermined>,
    inner: Inner,
}

/// What later questions need of the fit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Inner {
    base: Option<TemperingCurve>,
    degree: usize,
    a: [f64; MOST],
    c: f64,
    c_is_free: bool,
    covariance: [[f64; MOST]; MOST],
    u_tester: f64,
    /// Coefficients at one standard uncertainty of C below and above, where C is believed rather than fitted.
    believed: Vec<(f64, [f64; MOST])>,
    range_c: (f64, f64),
    holds: Vec<(f64, f64)>,
    assumptions: Vec<Text>,
}

/// Standard deviation that a display of 0.1 HRC leaves at least.
const DISPLAY_SD: f64 = 0.03;

/// Temperatures closer than this are one, °C.
const SAME_DELTA_C: f64 = 1.0;

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
    let reading_sd = reading_sd(coupons, options, &mut notes);
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
    let rows: Vec<Row> = found.kept.iter().filter_map(|&index| rows.get(index).copied()).collect();
    let used: Vec<&Coupon> = found.kept.iter().filter_map(|&index| given.get(index).copied()).collect();

    // The line through those, straight unless curvature shows.
    let degree = highest_degree(&rows, options, &line_of(&rows, 0), middle)?;
    let refused = || Error::NotDetermined {
        what: "a line through the coupons".into(),
        why: "their holds leave no solution".into(),
        would_determine: "coupons at temperatures 25 °C apart or more".into(),
    };
    let best = |degree: usize| -> Option<(usize, Settled, CPart)> {
        let line = line_of(&rows, degree);
        let (settled, c) = constant_part(&line, &rows, options, middle)?;
        Some((degree, settled, c))
    };
    let mut chosen = best(degree).or_else(|| best(degree.saturating_sub(1))).ok_or_else(refused)?;
    if chosen.0 == 2 && options.shape == LineShape::Automatic {
        let curvature = chosen.1.fitted.a[2].abs() / chosen.1.covariance[2][2].sqrt();
        // A curvature of less than its own uncertainty costs more than it brings.
        let shows = curvature > 1.0;
        if !shows {
            chosen = best(1).unwrap_or(chosen);
        }
    }
    let (degree, settled, c_part) = chosen;
    let line = line_of(&rows, degree);
    finish(Found { line, rows, used, settled, c_part, belief, reading_sd, doubts: found.doubts }, options, notes)
}

/// What the coupons say of C before it is put into words.
enum CPart {
    Interval { quantiles: Vec<f64>, low: f64, high: f64 },
    Open { low: f64, high: f64 },
    Never(&'static str),
}

struct Found<'a> {
    line: Line<'a>,
    rows: Vec<Row>,
    used: Vec<&'a Coupon>,
    settled: Settled,
    c_part: CPart,
    belief: ConstantBelief,
    reading_sd: f64,
    doubts: Vec<CouponDoubt>,
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
    for (argument, value) in [("reading_sd", options.reading_sd), ("coupon_sd", options.coupon_sd)] {
        if let Some(value) = value.filter(|value| !(value.is_finite() && *value >= 0.0)) {
            return Err(Error::InvalidValue {
                model: COUPON_FIT.id.into(),
                argument: argument.into(),
                value,
                unit: "HRC".into(),
                why: "is not a standard deviation".into(),
                failed: 1,
                of: 1,
                hint: "Give one in HRC: finite, not negative; or leave it out".into(),
            });
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
fn reading_sd(coupons: &[Coupon], options: &CouponOptions, notes: &mut Vec<Text>) -> f64 {
    if let Some(sd) = options.reading_sd {
        return sd.max(DISPLAY_SD);
    }
    let (mut squares, mut left) = (0.0, 0.0);
    for coupon in coupons {
        let mean = coupon.mean();
        squares += coupon.readings.iter().map(|reading| (reading - mean).powi(2)).sum::<f64>();
        left += coupon.readings.len() as f64 - 1.0;
    }
    if left < 1.0 {
        notes.push("one reading a coupon: what the readings scatter is part of the scatter of coupons".into());
        return DISPLAY_SD;
    }
    let sd = (squares / left).sqrt();
    if sd < DISPLAY_SD {
        notes.push(
            "all readings of a coupon are the same: the spread is taken as a display's 0.1 HRC, and read a block to see \
             whether the tester moves at all"
                .into(),
        );
    }
    sd.max(DISPLAY_SD)
}

/// The hold at which C drops out: the base's; else the one all share, or two hours where they lie on both sides of it.
fn own_hold(rows: &[Row], base: Option<&TemperingCurve>) -> f64 {
    if let Some(base) = base {
        return base.reference_hold().hours();
    }
    let low = rows.iter().map(|row| row.hours).fold(f64::INFINITY, f64::min);
    let high = rows.iter().map(|row| row.hours).fold(0.0, f64::max);
    let two = TWO_HOURS.hours();
    if low <= two && two <= high { two } else { (low * high).sqrt() }
}

/// How many values are farther apart than `same`.
fn distinct(values: impl Iterator<Item = f64>, same: f64) -> usize {
    let mut sorted: Vec<f64> = values.collect();
    sorted.sort_by(f64::total_cmp);
    let mut count = 0;
    let mut last = f64::NEG_INFINITY;
    for value in sorted {
        if value - last > same {
            count += 1;
            last = value;
        }
    }
    count
}

fn temperatures(rows: &[Row]) -> usize {
    distinct(rows.iter().map(|row| row.celsius), SAME_DELTA_C)
}

fn has_several_holds(rows: &[Row]) -> bool {
    distinct(rows.iter().map(|row| row.hours.log10()), 1e-9) > 1
}

/// The highest degree the coupons can bear.
fn highest_degree(rows: &[Row], options: &CouponOptions, line: &Line<'_>, c: f64) -> Result<usize> {
    let (count, warm) = (rows.len(), temperatures(rows));
    if options.base.is_some() {
        return Ok(usize::from(warm >= 3));
    }
    let places = distinct(rows.iter().map(|row| line.equivalent(row.celsius, row.hours, c)), SAME_DELTA_C);
    let with_c = usize::from(warm > 1 && has_several_holds(rows));
    match (options.shape, places) {
        (LineShape::Parabola, _) if warm < 3 || count < 4 + with_c => Err(Error::NotDetermined {
            what: "a parabola".into(),
            why: format!("there are {count} coupons at {warm} temperatures").into(),
            would_determine: "five coupons or more at three temperatures or more".into(),
        }),
        (LineShape::Parabola, _) => Ok(2),
        (_, 0 | 1) => Ok(0),
        (LineShape::Automatic, _) if warm >= 4 && count >= 5 + with_c => Ok(2),
        _ => Ok(1),
    }
}

/// Whether the coupons can say anything of C: two temperatures, two holds, and a coupon to spare.
fn may_determine_c(rows: &[Row], degree: usize) -> bool {
    temperatures(rows) > 1 && has_several_holds(rows) && rows.len() > degree + 2
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

impl Found<'_> {
    fn c_is_free(&self) -> bool {
        matches!(self.c_part, CPart::Interval { .. })
    }

    /// Student's t with the coupons' degrees of freedom, fewer parts of the whole making more of them (Welch and
    /// Satterthwaite; JCGM 100:2008, G.4).
    fn shaped(&self, made: Estimate, u_coupons: f64) -> Estimate {
        let dof = self.settled.dof * (made.u() / u_coupons).powi(4);
        if dof.is_finite() && u_coupons > 0.0 { made.shaped(Shape::Student { dof }) } else { made }
    }
}

fn finish(found: Found<'_>, options: &CouponOptions, mut notes: Vec<Text>) -> Result<CouponFit> {
    let (line, settled) = (&found.line, &found.settled);
    let a = settled.fitted.a;
    let u_tester = options.bias.as_ref().map_or(0.0, Estimate::u);
    let free = found.c_is_free();
    // Where C is believed and not fitted, its spread moves everything away from the fit's own hold.
    let believed: Vec<(f64, [f64; MOST])> = if free || !has_other_holds(&found.rows, line.hold_h) {
        Vec::new()
    } else {
        [0.158_655_254, 0.841_344_746]
            .into_iter()
            .filter_map(|probability| {
                let c = found.belief.at(probability);
                Some((c, line.held(&found.rows, c, settled.coupon_variance)?.a))
            })
            .collect()
    };
    let by_c = |value: &dyn Fn(&[f64; MOST]) -> f64| {
        root_mean_square(believed.iter().map(|(_, there)| value(there) - value(&a)))
    };
    let mut assumptions: Vec<Text> = vec![
        format!("{} coupons of one bar and hardening: for other parts of it only", found.used.len()).into(),
        format!("line {} in the equivalent temperature", shape_name(line.degree)).into(),
    ];
    if options.bias.is_some() {
        assumptions.push("the tester's bias was taken off; it is common to all coupons".into());
    } else {
        assumptions.push("no tester's bias was given: the level holds for this tester's readings".into());
    }
    if settled.assumed {
        assumptions.push(
            format!("too few coupons show their own scatter: {BELIEVED_SD} HRC between coupons is assumed, as if from four more").into(),
        );
    }
    if !believed.is_empty() {
        assumptions.push(found.belief.text().into());
    }

    let u_level = settled.covariance[0][0].sqrt();
    let mut level = Estimate::new(a[0], "HRC").with("coupons", u_level);
    if u_tester > 0.0 {
        level = level.with("tester", u_tester);
    }
    if !believed.is_empty() {
        level = level.with("c", by_c(&|a| a[0]));
    }
    let what = if line.base.is_some() { "offset from the base curve" } else { "hardness" };
    let place = format!("{what} at {:.0} °C for {} h", line.centre_c, short(line.hold_h));
    level = found.shaped(level, u_level).assuming(place);
    level = assumptions.iter().cloned().fold(level, Estimate::assuming);

    let warm = temperatures(&found.rows);
    let slope = if line.degree == 0 || warm < 3 && !free {
        Determined::Not(NotDetermined {
            what: "the slope".into(),
            why: match warm {
                1 => "all coupons had one temperature".into(),
                2 => "two temperatures give a chord, and nothing shows whether the curve is straight between".into(),
                _ => Text::from(format!("{} coupons are no more than the unknowns", found.rows.len())),
            },
            would_determine: "coupons at three temperatures or more, 25 °C apart or more".into(),
            range: None,
        })
    } else {
        let u = settled.covariance[1][1].sqrt() / 50.0;
        let slope_of = |a: &[f64; MOST]| line.slope_at_own(a, line.centre_c);
        let mut made = Estimate::new(slope_of(&a), "HRC/°C").with("coupons", u);
        if !believed.is_empty() {
            made = made.with("c", by_c(&slope_of));
        }
        if made.value() > 0.0 {
            notes.push("hardness rises with temperature here: check the labels, or this is a secondary hump".into());
        }
        let place = format!("slope at {:.0} °C for {} h", line.centre_c, short(line.hold_h));
        Determined::Is(found.shaped(made, u).assuming(place))
    };

    let c = constant(&found, &assumptions);
    let own = |row: &Row| line.equivalent(row.celsius, row.hours, settled.fitted.c);
    let range_c = (
        found.rows.iter().map(own).fold(f64::INFINITY, f64::min),
        found.rows.iter().map(own).fold(f64::NEG_INFINITY, f64::max),
    );
    let inner = Inner {
        base: options.base.clone(),
        degree: line.degree,
        a,
        c: settled.fitted.c,
        c_is_free: free,
        covariance: settled.covariance,
        u_tester,
        believed,
        range_c,
        holds: found.rows.iter().map(|row| (row.celsius, row.hours)).collect(),
        assumptions,
    };
    notes.extend(replicates(&found));
    let mut made = CouponFit {
        level,
        slope,
        c,
        is_offset: line.base.is_some(),
        centre: Temperature::from_celsius(line.centre_c),
        hold: HoldTime::from_hours(line.hold_h),
        shape: shape_name(line.degree).to_owned(),
        residuals: found
            .rows
            .iter()
            .map(|row| row.hrc - line.at(&a, settled.fitted.c, row.celsius, row.hours))
            .collect(),
        used: found.used.iter().map(|coupon| coupon.name.clone()).collect(),
        doubts: found.doubts.clone(),
        scatter: settled.scatter,
        between_coupons: settled.coupon_variance.sqrt(),
        reading_sd: found.reading_sd,
        degrees_of_freedom: settled.dof,
        notes,
        curve: Err(NotDetermined::default()),
        inner,
    };
    made.curve = made.drawn(&found, options)?;
    Ok(made)
}

fn has_other_holds(rows: &[Row], hold_h: f64) -> bool {
    rows.iter().any(|row| row.hours != hold_h)
}

fn root_mean_square(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0.0), |(sum, count), value| (sum + value * value, count + 1.0));
    if count > 0.0 { f64::sqrt(sum / count) } else { 0.0 }
}

const fn shape_name(degree: usize) -> &'static str {
    match degree {
        0 => "level",
        1 => "straight",
        _ => "parabola",
    }
}

/// Hours without a tail of digits.
fn short(hours: f64) -> String {
    format!("{}", (hours * 100.0).round() / 100.0)
}

/// C in words and numbers.
fn constant(found: &Found<'_>, assumptions: &[Text]) -> Determined {
    let would = || super::design::would_determine(&found.line, &found.rows, &found.settled);
    match &found.c_part {
        CPart::Interval { quantiles, low, high } => {
            let k = found.line.degree + 1;
            let u = found.settled.covariance.get(k).and_then(|row| row.get(k)).copied().unwrap_or(0.0).sqrt();
            let made = Estimate::new(found.settled.fitted.c, "")
                .with("coupons", u)
                .shaped(Shape::Quantiles(quantiles.clone()))
                .assuming(format!(
                    "95 % by the profile of the residual sum, {low:.1} to {high:.1}: skewed upward, since C is a ratio"
                ))
                .assuming("for times in hours; taken as the same at all temperatures and times of the coupons");
            Determined::Is(assumptions.iter().cloned().fold(made, Estimate::assuming))
        }
        CPart::Open { low, high } => Determined::Not(NotDetermined {
            what: "C".into(),
            why: format!(
                "the 95 % interval that the coupons allow is {}: it does not close inside {} to {}, where any steel's C \
                 lies",
                interval_text(*low, *high),
                PLAUSIBLE_C.0,
                PLAUSIBLE_C.1
            )
            .into(),
            would_determine: would(),
            range: Some((*low, *high)),
        }),
        CPart::Never(why) => Determined::Not(NotDetermined {
            what: "C".into(),
            why: (*why).into(),
            would_determine: would(),
            range: None,
        }),
    }
}

fn interval_text(low: f64, high: f64) -> String {
    match (low > 0.0, high.is_finite()) {
        (true, true) => format!("{low:.1} to {high:.1}"),
        (true, false) => format!("{low:.1} and anything above"),
        (false, true) => format!("anything up to {high:.1}"),
        (false, false) => "anything at all".to_owned(),
    }
}

/// Coupons of one hold that differ by more than readings and scatter explain.
fn replicates(found: &Found<'_>) -> Vec<Text> {
    const APART_HRC: f64 = 2.0;
    let mut made = Vec::new();
    for (i, a) in found.used.iter().enumerate() {
        for b in found.used.iter().skip(i + 1) {
            let apart = (a.mean() - b.mean()).abs();
            if a.temperature == b.temperature && a.time == b.time && apart > APART_HRC {
                made.push(
                    format!(
                        "{} and {} had the same hold and differ by {apart:.1} HRC: one of them is wrong, or they are not \
                         of one bar",
                        a.name, b.name
                    )
                    .into(),
                );
            }
        }
    }
    made
}

impl CouponFit {
    /// The curve through the coupons: a curve like any other.
    ///
    /// # Errors
    /// [`Error::NotDetermined`] where the coupons give no slope and no base curve has one.
    pub fn curve(&self) -> Result<&TemperingCurve> {
        self.curve.as_ref().map_err(NotDetermined::error)
    }

    /// Names of the coupons that the others speak against.
    #[must_use]
    pub fn doubtful(&self) -> Vec<&str> {
        self.doubts.iter().map(|doubt| doubt.coupon.as_str()).collect()
    }

    fn line(&self) -> Line<'_> {
        Line {
            base: self.inner.base.as_ref(),
            degree: self.inner.degree,
            centre_c: self.centre.celsius(),
            hold_h: self.hold.hours(),
        }
    }

    fn fitted(&self) -> super::model::Fitted {
        super::model::Fitted { a: self.inner.a, c: self.inner.c, sum: 0.0 }
    }

    fn check_hold(&self, temperature: Temperature, time: HoldTime) -> Result<()> {
        self.curve()?;
        let own = self.line().equivalent(temperature.celsius(), time.hours(), self.inner.c);
        let (low, high) = self.inner.range_c;
        const BEYOND_DELTA_C: f64 = 25.0;
        if own >= low - BEYOND_DELTA_C && own <= high + BEYOND_DELTA_C {
            return Ok(());
        }
        Err(Error::OutOfRange {
            model: COUPON_FIT.id.into(),
            argument: "temperature_c".into(),
            value: temperature.celsius(),
            unit: "°C".into(),
            low: low - BEYOND_DELTA_C,
            high: high + BEYOND_DELTA_C,
            stated_by: format!(
                "the coupons' own temperatures, {BEYOND_DELTA_C} °C beyond them, as holds of {} h",
                short(self.hold.hours())
            )
            .into(),
            failed: 1,
            of: 1,
            hint: "Run a coupon there".into(),
        })
    }

    /// Hardness of the bar after a hold: the mean of its parts, components "coupons", "tester" and "c".
    ///
    /// # Errors
    /// [`Error::NotDetermined`] as [`Self::curve`]; [`Error::OutOfRange`] more than 25 °C beyond the coupons.
    pub fn hardness_estimate(&self, temperature: Temperature, time: HoldTime) -> Result<Estimate> {
        self.check_hold(temperature, time)?;
        let (line, fitted) = (self.line(), self.fitted());
        let (celsius, hours) = (temperature.celsius(), time.hours());
        let value = line.at(&fitted.a, fitted.c, celsius, hours);
        let u = line.u_at(&fitted, &self.inner.covariance, (celsius, hours), self.inner.c_is_free);
        let mut made = Estimate::new(value, "HRC").with("coupons", u);
        if self.inner.u_tester > 0.0 {
            made = made.with("tester", self.inner.u_tester);
        }
        if !self.inner.believed.is_empty() {
            let moved = self.inner.believed.iter().map(|(c, a)| line.at(a, *c, celsius, hours) - value);
            made = made.with("c", root_mean_square(moved));
        }
        let dof = self.degrees_of_freedom * (made.u() / u).powi(4);
        if dof.is_finite() && u > 0.0 {
            made = made.shaped(Shape::Student { dof });
        }
        made = made.assuming(format!(
            "the mean of parts of this bar; a single part adds {:.2} HRC between coupons",
            self.between_coupons
        ));
        Ok(self.inner.assumptions.iter().cloned().fold(made, Estimate::assuming))
    }

    /// The temperature that gives the bar a hardness, with what the coupons leave open of it.
    ///
    /// # Errors
    /// As [`HardnessAfterTemper::temperature_for`] on the fitted curve.
    pub fn temperature_estimate(&self, hrc: f64, time: HoldTime) -> Result<Estimate> {
        let root = self.curve()?.temperature_for(hrc, time, Some(self.inner.c), None, None)?;
        let there = self.hardness_estimate(root, time)?;
        let (line, fitted) = (self.line(), self.fitted());
        let at = |celsius: f64| line.at(&fitted.a, fitted.c, celsius, time.hours());
        let slope = 0.5 * (at(root.celsius() + 1.0) - at(root.celsius() - 1.0));
        let made = there.components().iter().fold(Estimate::new(root.celsius(), "°C"), |made, part| {
            made.with(part.name.clone(), part.u / slope.abs())
        });
        let made = made.shaped(there.shape().clone());
        Ok(there.assumptions().iter().cloned().fold(made, Estimate::assuming))
    }

    /// The fitted curve as a table.
    fn drawn(
        &self,
        found: &Found<'_>,
        options: &CouponOptions,
    ) -> Result<std::result::Result<TemperingCurve, NotDetermined>> {
        let (line, a) = (self.line(), self.inner.a);
        let (low, high) = self.inner.range_c;
        let points: Vec<(f64, f64)> = if let Some(base) = &options.base {
            let mut at: Vec<f64> = base.points().map(|(celsius, _)| celsius).collect();
            if line.degree > 0 {
                let (first, last) = (at.first().copied().unwrap_or(low), at.last().copied().unwrap_or(high));
                // The tilt ends with the coupons; the interpolation follows it where the table is dense.
                at.extend(
                    (0..=40).map(|i| low + (high - low) * f64::from(i) / 40.0).filter(|t| *t > first && *t < last),
                );
                at.sort_by(f64::total_cmp);
                at.dedup_by(|b, a| *b - *a < 0.5);
            }
            let tilt = |celsius: f64| {
                let inside = celsius.clamp(low, high);
                line.at_own(&a, inside) - line.base_at(inside)
            };
            at.into_iter().map(|celsius| (celsius, line.base_at(celsius) + tilt(celsius))).collect()
        } else if matches!(self.slope, Determined::Not(_)) || high - low < SAME_DELTA_C {
            return Ok(Err(NotDetermined {
                what: "a curve through the coupons".into(),
                why: "they give a level and no slope".into(),
                would_determine:
                    "coupons at three temperatures; or name the steel or a curve (steel= or curve=), and the \
                                  coupons fix its level"
                        .into(),
                range: None,
            }));
        } else {
            let steps = if line.degree == 1 { 4 } else { 24 };
            (0..=steps)
                .map(|i| low + (high - low) * f64::from(i) / f64::from(steps))
                .map(|celsius| (celsius, line.at_own(&a, celsius)))
                .collect()
        };
        let (x, y): (Vec<f64>, Vec<f64>) = points.into_iter().map(|(x, y)| (x, y.clamp(0.0, 70.0))).unzip();
        let fitted = self.fitted();
        let squares: f64 = found
            .rows
            .iter()
            .map(|row| line.equivalent(row.celsius, row.hours, fitted.c))
            .map(|own| line.u_at(&fitted, &self.inner.covariance, (own, line.hold_h), self.inner.c_is_free).powi(2))
            .sum();
        let by_coupons = (squares / found.rows.len().max(1) as f64).sqrt();
        let by_c = self.level.components().iter().find(|part| part.name == "c").map_or(0.0, |part| part.u);
        // A t interval is wider than a normal one: plans read the curve's u as normal.
        let wider = if self.degrees_of_freedom.is_finite() {
            crate::estimate::student_quantile(0.975, self.degrees_of_freedom) / 1.959_964
        } else {
            1.0
        };
        let u = root_sum_of_squares([by_coupons * wider, self.inner.u_tester, by_c]);
        let belief = match &self.c {
            Determined::Is(c) => {
                let (low, high) = c.interval(0.95)?;
                ConstantBelief::Normal { c: c.value(), u: (high - low) / 3.92 }
            }
            Determined::Not(_) => found.belief,
        };
        let name = options.name.clone().unwrap_or_else(|| {
            options
                .base
                .as_ref()
                .map_or_else(|| "own coupons".to_owned(), |base| format!("{} by own coupons", base.name()))
        });
        let mut curve = TemperingCurve::new(&x, &y)?
            .named(name)
            .held(self.hold)?
            .with_constant(belief)?
            .with_u_level(u, format!("{} coupons of the same bar", self.used.len()))?
            .with_u_batch(self.between_coupons)?
            .from_source(format!("the caller's own coupons, {} of them", self.used.len()))
            .noting("fitted to own coupons: for parts of the same bar and hardening only; batch u is part to part");
        let quenched: Vec<f64> = found.used.iter().filter_map(|coupon| coupon.as_quenched_hrc).collect();
        if !quenched.is_empty() {
            curve = curve.with_as_quenched(quenched.iter().sum::<f64>() / quenched.len() as f64, 0.5)?;
        } else if let Some(known) = options.base.as_ref().and_then(HardnessAfterTemper::as_quenched) {
            curve = curve.with_as_quenched(known.hrc, known.u)?;
        }
        if let Some(base) = &options.base {
            curve = base.sources().iter().cloned().fold(curve, TemperingCurve::from_source);
            curve = curve.noting("beyond the coupons the base curve is carried as a shift");
        }
        Ok(Ok(curve))
    }
}

impl CouponFit {
    /// What a base curve gives for a coupon's hold.
    pub(super) fn base_for(
        &self,
        base: &TemperingCurve,
        coupon: &Coupon,
        constant: Option<ConstantBelief>,
    ) -> Result<f64> {
        let c = constant.or(base.constant()).unwrap_or(UNKNOWN_STEEL).middle();
        base.extrapolated_with(coupon.temperature, coupon.time, c).map(|(hrc, _)| hrc)
    }
}

impl CouponFit {
    /// What a plan of more coupons is judged by: this fit's scatter, slope and C, and its coupons as already there.
    #[must_use]
    pub fn design_basis(&self) -> DesignBasis {
        let assumed = DesignBasis::default();
        let slope = self.slope.estimate().map_or(assumed.slope, Estimate::value);
        DesignBasis {
            scatter: self.scatter,
            slope: if slope < 0.0 { slope } else { assumed.slope },
            c: self.inner.c,
            parabola: self.inner.degree == 2,
            u_tester: self.inner.u_tester,
            centre: self.centre,
            hold: self.hold,
            existing: self
                .inner
                .holds
                .iter()
                .map(|&(celsius, hours)| CouponRun {
                    temperature: Temperature::from_celsius(celsius),
                    time: HoldTime::from_hours(hours),
                    coupons: 1,
                })
                .collect(),
            ..assumed
        }
    }
}

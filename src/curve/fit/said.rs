//! A fit in words and numbers: level, slope and C, or what is not determined and why.

use super::coupons::{CPart, CouponOptions, Found, PLAUSIBLE_C};
use super::determined::{Determined, NotDetermined};
use super::doubt::BELIEVED_SD;
use super::layout::temperatures;
use super::model::Row;
use super::outcome::{CouponFit, Inner};
use super::squares::MOST;
use crate::error::{Result, Text};
use crate::estimate::{Estimate, Shape};
use crate::quantity::{HoldTime, Temperature};

/// What must be said of a level whose tester no block was read on.
pub(super) const NO_BIAS: &str = "no tester's bias was given: the level holds for this tester's readings";

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

/// The fit as an answer.
pub(super) fn finish(found: Found<'_>, options: &CouponOptions, mut notes: Vec<Text>) -> Result<CouponFit> {
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
        assumptions.push(NO_BIAS.into());
    }
    if settled.assumed {
        assumptions.push(
            format!(
                "too few coupons show their own scatter: {BELIEVED_SD} HRC between coupons is believed, as if from four \
                 degrees of freedom, and weighed with what they show"
            )
            .into(),
        );
    }
    if !believed.is_empty() {
        assumptions.push(found.belief.text().into());
    }
    // What the width of the answer rests on, where the readings show none, is said with the answer too.
    assumptions.extend(found.unmoved.iter().cloned());
    notes.extend(found.unmoved.iter().cloned());

    let u_level = settled.covariance[0][0].sqrt();
    let mut level = Estimate::new(a[0], "HRC").with("coupons", u_level);
    if u_tester > 0.0 {
        level = level.with("tester", u_tester);
    }
    if found.u_display > 0.0 {
        level = level.with("display", found.u_display);
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
        u_display: found.u_display,
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

pub(super) fn root_mean_square(values: impl Iterator<Item = f64>) -> f64 {
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
pub(super) fn short(hours: f64) -> String {
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

//! The fitted line drawn as a table, so that it is a curve like any other.

use super::coupons::{CouponOptions, Found};
use super::determined::{Determined, NotDetermined};
use super::layout::SAME_DELTA_C;
use super::outcome::CouponFit;
use super::said::NO_BIAS;
use crate::curve::after_temper::HardnessAfterTemper;
use crate::curve::tempering::TemperingCurve;
use crate::error::Result;
use crate::estimate::{root_sum_of_squares, student_quantile};
use crate::temper::ConstantBelief;

impl CouponFit {
    /// The fitted curve as a table.
    pub(super) fn drawn(
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
            student_quantile(0.975, self.degrees_of_freedom) / 1.959_964
        } else {
            1.0
        };
        let u = root_sum_of_squares([by_coupons * wider, self.inner.u_tester, self.inner.u_display, by_c]);
        let slopes: f64 = found
            .rows
            .iter()
            .map(|row| line.equivalent(row.celsius, row.hours, fitted.c))
            .map(|own| line.u_slope_at(&self.inner.covariance, own).powi(2))
            .sum();
        let u_slope = (slopes / found.rows.len().max(1) as f64).sqrt() * wider;
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
            .with_u_slope(u_slope)?
            .with_u_batch(self.between_coupons)?
            .from_source(format!("the caller's own coupons, {} of them", self.used.len()))
            .noting("fitted to own coupons: for parts of the same bar and hardening only; batch u is part to part");
        if options.bias.is_none() {
            curve = curve.noting(NO_BIAS);
        }
        let quenched: Vec<f64> = found.used.iter().filter_map(|coupon| coupon.as_quenched_hrc).collect();
        if !quenched.is_empty() {
            curve = curve.with_as_quenched(quenched.iter().sum::<f64>() / quenched.len() as f64, 0.5)?;
        } else if let Some(known) = options.base.as_ref().and_then(HardnessAfterTemper::as_quenched) {
            curve = curve.with_as_quenched(known.hrc, known.u)?;
            if let Some(band) = options.base.as_ref().and_then(HardnessAfterTemper::hardened) {
                curve = curve.with_hardened(band);
            }
        }
        if let Some(base) = &options.base {
            curve = base.sources().iter().cloned().fold(curve, TemperingCurve::from_source);
            curve = curve.noting("beyond the coupons the base curve is carried as a shift");
        }
        Ok(Ok(curve))
    }
}

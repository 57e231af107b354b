//! What coupons say, and the questions that it answers.

use serde::{Deserialize, Serialize};

use super::coupon::Coupon;
use super::coupons::COUPON_FIT;
use super::design::{CouponRun, DesignBasis};
use super::determined::{Determined, NotDetermined};
use super::doubt::CouponDoubt;
use super::model::{Fitted, Line};
use super::said::{root_mean_square, short};
use super::squares::MOST;
use crate::curve::after_temper::HardnessAfterTemper;
use crate::curve::tempering::TemperingCurve;
use crate::error::{Error, Result, Text};
use crate::estimate::{Estimate, Shape, normal_quantile, student_quantile};
use crate::quantity::{HoldTime, Temperature};
use crate::temper::{ConstantBelief, UNKNOWN_STEEL};

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
    pub(super) curve: std::result::Result<TemperingCurve, NotDetermined>,
    pub(super) inner: Inner,
}

/// What later questions need of the fit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Inner {
    pub(super) base: Option<TemperingCurve>,
    pub(super) degree: usize,
    pub(super) a: [f64; MOST],
    pub(super) c: f64,
    pub(super) c_is_free: bool,
    pub(super) covariance: [[f64; MOST]; MOST],
    pub(super) u_tester: f64,
    pub(super) u_display: f64,
    /// Coefficients at one standard uncertainty of C below and above, where C is believed rather than fitted.
    pub(super) believed: Vec<(f64, [f64; MOST])>,
    pub(super) range_c: (f64, f64),
    pub(super) holds: Vec<(f64, f64)>,
    pub(super) assumptions: Vec<Text>,
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

    pub(super) fn line(&self) -> Line<'_> {
        Line {
            base: self.inner.base.as_ref(),
            degree: self.inner.degree,
            centre_c: self.centre.celsius(),
            hold_h: self.hold.hours(),
        }
    }

    pub(super) fn fitted(&self) -> Fitted {
        Fitted { a: self.inner.a, c: self.inner.c, sum: 0.0 }
    }

    fn check_hold(&self, temperature: Temperature, time: HoldTime) -> Result<()> {
        self.curve()?;
        let own = self.line().equivalent(temperature.celsius(), time.hours(), self.inner.c);
        let (low, high) = self.inner.range_c;
        const BEYOND_DELTA_C: f64 = 25.0;
        if own >= low - BEYOND_DELTA_C && own <= high + BEYOND_DELTA_C {
            return Ok(());
        }
        Err(Error::outside(
            COUPON_FIT.id,
            "temperature_c",
            (temperature.celsius(), "°C"),
            (low - BEYOND_DELTA_C, high + BEYOND_DELTA_C),
            format!(
                "the coupons' own temperatures, {BEYOND_DELTA_C} °C beyond them, as holds of {} h",
                short(self.hold.hours())
            ),
            "Run a coupon there",
        ))
    }

    /// Hardness after a hold without asking how far it is from the coupons: components "coupons", "tester", "display" and
    /// "c".
    fn hardness_there(&self, celsius: f64, hours: f64) -> Estimate {
        let (line, fitted) = (self.line(), self.fitted());
        let value = line.at(&fitted.a, fitted.c, celsius, hours);
        let u = line.u_at(&fitted, &self.inner.covariance, (celsius, hours), self.inner.c_is_free);
        let mut made = Estimate::new(value, "HRC").with("coupons", u);
        if self.inner.u_tester > 0.0 {
            made = made.with("tester", self.inner.u_tester);
        }
        if self.inner.u_display > 0.0 {
            made = made.with("display", self.inner.u_display);
        }
        if !self.inner.believed.is_empty() {
            let moved = self.inner.believed.iter().map(|(c, a)| line.at(a, *c, celsius, hours) - value);
            made = made.with("c", root_mean_square(moved));
        }
        let dof = self.degrees_of_freedom * (made.u() / u).powi(4);
        if dof.is_finite() && u > 0.0 { made.shaped(Shape::Student { dof }) } else { made }
    }

    /// Hardness of the bar after a hold: the mean of its parts, components "coupons", "tester" and "c".
    ///
    /// # Errors
    /// [`Error::NotDetermined`] as [`Self::curve`]; [`Error::OutOfRange`] more than 25 °C beyond the coupons.
    pub fn hardness_estimate(&self, temperature: Temperature, time: HoldTime) -> Result<Estimate> {
        self.check_hold(temperature, time)?;
        let made = self.hardness_there(temperature.celsius(), time.hours()).assuming(format!(
            "the mean of parts of this bar; a single part adds {:.2} HRC between coupons",
            self.between_coupons
        ));
        Ok(self.inner.assumptions.iter().cloned().fold(made, Estimate::assuming))
    }

    /// The temperature that gives the bar a hardness, with what the coupons leave open of it: a temperature belongs to the
    /// interval where the interval of its hardness holds the one wanted (E. C. Fieller), so that what is not known of the
    /// slope is in it, and it is wider on the side of the gentler slope.
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
        let away = |celsius: f64| {
            let there = self.hardness_there(celsius, time.hours());
            (there.value() - hrc) / there.u() * slope.signum()
        };
        let shape = where_it_is(root.celsius(), there.u() / slope.abs(), there.shape(), &away);
        let made = made.shaped(shape.unwrap_or_else(|| there.shape().clone()));
        Ok(there.assumptions().iter().cloned().fold(made, Estimate::assuming))
    }

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

    /// What a plan of more coupons is judged by: this fit's scatter, slope and C, and its coupons as already there.
    #[must_use]
    pub fn design_basis(&self) -> DesignBasis {
        let assumed = DesignBasis::default();
        let slope = self.slope.estimate().map_or(assumed.slope, Estimate::value);
        // Coupons that show no scatter are no promise that the next ones will show none.
        let unmoved = self.inner.u_display > 0.0;
        DesignBasis {
            scatter: if unmoved { self.scatter.max(self.reading_sd) } else { self.scatter },
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

/// The places around `root` where `away`, which rises through zero there, is as large as the quantiles of a shape; none
/// where it turns before that, since the line does.
fn where_it_is(root: f64, u: f64, shape: &Shape, away: &dyn Fn(f64) -> f64) -> Option<Shape> {
    const COUNT: usize = 200;
    const STEPS: usize = 120;
    // As far as the widest quantile reaches on a line whose slope may be half of what was found.
    let quantile = |probability: f64| match shape {
        Shape::Student { dof } => student_quantile(probability, *dof),
        _ => normal_quantile(probability),
    };
    let wanted: Vec<f64> = (0..COUNT).map(|i| quantile((i as f64 + 0.5) / COUNT as f64)).collect();
    let (low, high) = (*wanted.first()?, *wanted.last()?);
    let step = 2.5 * high * u / STEPS as f64;
    let mut points = vec![(root, 0.0)];
    for (way, end) in [(-1.0, low), (1.0, high)] {
        let (mut last, mut found) = (0.0, false);
        for i in 1..=STEPS {
            let celsius = root + way * step * i as f64;
            let there = away(celsius);
            // It turns, or is no number any more.
            if there.is_nan() || there * way <= last * way {
                break;
            }
            points.push((celsius, there));
            last = there;
            found = there * way >= end * way;
            if found {
                break;
            }
        }
        if !found {
            return None;
        }
    }
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let at = |value: f64| {
        let above = points.partition_point(|point| point.1 < value).clamp(1, points.len() - 1);
        let (a, b) = (points.get(above - 1)?, points.get(above)?);
        Some(a.0 + (b.0 - a.0) * (value - a.1) / (b.1 - a.1))
    };
    Some(Shape::Quantiles(wanted.into_iter().map(at).collect::<Option<_>>()?))
}

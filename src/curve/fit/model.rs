//! The line behind coupons: a base curve or none, a polynomial in the equivalent temperature, C free or held.

use super::coupon::Coupon;
use super::squares::{MOST, System, quadratic};
use crate::curve::after_temper::HardnessAfterTemper;
use crate::curve::tempering::TemperingCurve;
use crate::quantity::{HoldTime, Temperature, ZERO_CELSIUS_K};

/// °C that count as one in the polynomial, so that its columns are of one size.
const STEP_DELTA_C: f64 = 50.0;

/// One coupon as the fit sees it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Row {
    pub(super) celsius: f64,
    pub(super) hours: f64,
    pub(super) hrc: f64,
    /// Variance that its readings leave in the mean.
    pub(super) reading_variance: f64,
    pub(super) u_temperature: f64,
    pub(super) u_time: f64,
}

impl Row {
    pub(super) fn of(coupon: &Coupon, reading_sd: f64) -> Self {
        Self {
            celsius: coupon.temperature.celsius(),
            hours: coupon.time.hours(),
            hrc: coupon.mean(),
            reading_variance: reading_sd * reading_sd / coupon.readings.len() as f64,
            u_temperature: coupon.u_temperature,
            u_time: coupon.u_time,
        }
    }

    const fn is_exact(&self) -> bool {
        self.u_temperature == 0.0 && self.u_time == 0.0
    }
}

/// What is fitted: H = base(T0) + Σ a_k ((T0 − centre)/50)^k, with T0 the temperature that does the same at `hold_h`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Line<'a> {
    pub(super) base: Option<&'a TemperingCurve>,
    /// Degree of the polynomial, 0 to 2.
    pub(super) degree: usize,
    pub(super) centre_c: f64,
    pub(super) hold_h: f64,
}

/// A fitted line: its coefficients, C, and how far the rows are from it.
#[derive(Debug, Clone)]
pub(super) struct Fitted {
    pub(super) a: [f64; MOST],
    pub(super) c: f64,
    /// Σ residual² / variance.
    pub(super) sum: f64,
}

/// Smallest and largest C that are tried.
pub(super) const SMALLEST_C: f64 = 3.0;
pub(super) const LARGEST_C: f64 = 120.0;

impl Line<'_> {
    /// The temperature that does the same at the line's own hold.
    pub(super) fn equivalent(&self, celsius: f64, hours: f64, c: f64) -> f64 {
        if hours == self.hold_h {
            return celsius;
        }
        (celsius + ZERO_CELSIUS_K) * (c + hours.log10()) / (c + self.hold_h.log10()) - ZERO_CELSIUS_K
    }

    pub(super) fn base_at(&self, own_celsius: f64) -> f64 {
        let Some(base) = self.base else { return 0.0 };
        base.extrapolated_with(Temperature::from_celsius(own_celsius), HoldTime::from_hours(self.hold_h), 20.0)
            .map_or(f64::NAN, |(hrc, _)| hrc)
    }

    fn step(&self, own_celsius: f64) -> f64 {
        (own_celsius - self.centre_c) / STEP_DELTA_C
    }

    /// Hardness at a temperature of the line's own hold.
    pub(super) fn at_own(&self, a: &[f64; MOST], own_celsius: f64) -> f64 {
        let x = self.step(own_celsius);
        self.base_at(own_celsius) + a[0] + x * (a[1] + x * a[2])
    }

    /// Hardness after a hold.
    pub(super) fn at(&self, a: &[f64; MOST], c: f64, celsius: f64, hours: f64) -> f64 {
        self.at_own(a, self.equivalent(celsius, hours, c))
    }

    /// Slope by temperature at the line's own hold, HRC/°C.
    pub(super) fn slope_at_own(&self, a: &[f64; MOST], own_celsius: f64) -> f64 {
        0.5 * (self.at_own(a, own_celsius + 1.0) - self.at_own(a, own_celsius - 1.0))
    }

    /// Derivatives of the hardness by the coefficients and by C.
    pub(super) fn gradient(&self, fitted: &Fitted, celsius: f64, hours: f64, c_is_free: bool) -> [f64; MOST] {
        let x = self.step(self.equivalent(celsius, hours, fitted.c));
        let mut made = [0.0; MOST];
        let mut power = 1.0;
        for entry in made.iter_mut().take(self.degree + 1) {
            *entry = power;
            power *= x;
        }
        if c_is_free {
            let there = |c: f64| self.at(&fitted.a, c, celsius, hours);
            made[self.degree + 1] = 0.5 * (there(fitted.c + C_STEP) - there(fitted.c - C_STEP)) / C_STEP;
        }
        made
    }

    /// Variance of a row around the line: the coupons' own, the readings', and temperature and time through the slope.
    pub(super) fn variance(&self, row: &Row, a: &[f64; MOST], c: f64, coupon_variance: f64) -> f64 {
        let mut made = coupon_variance + row.reading_variance;
        if row.u_temperature > 0.0 {
            let there = |way: f64| self.at(a, c, row.celsius + 0.5 * way, row.hours);
            made += ((there(1.0) - there(-1.0)) * row.u_temperature).powi(2);
        }
        if row.u_time > 0.0 {
            let by = 1e-3 * row.hours;
            let there = |way: f64| self.at(a, c, row.celsius, row.hours + way * by);
            made += ((there(1.0) - there(-1.0)) / (2.0 * by) * row.u_time).powi(2);
        }
        made
    }

    fn sum(&self, rows: &[Row], a: &[f64; MOST], c: f64, coupon_variance: f64) -> f64 {
        rows.iter()
            .map(|row| {
                (row.hrc - self.at(a, c, row.celsius, row.hours)).powi(2) / self.variance(row, a, c, coupon_variance)
            })
            .sum()
    }

    /// The best coefficients for one C.
    pub(super) fn held(&self, rows: &[Row], c: f64, coupon_variance: f64) -> Option<Fitted> {
        let mut a = [0.0; MOST];
        // Twice where the weights depend on the slope: once without it, once with the slope of the first.
        let exact = rows.iter().all(Row::is_exact);
        for _ in 0..if exact { 1 } else { 2 } {
            let mut system = System::new(self.degree + 1, rows.len());
            for row in rows {
                let weight = 1.0 / self.variance(row, &a, c, coupon_variance).sqrt();
                let own = self.equivalent(row.celsius, row.hours, c);
                let x = self.step(own);
                system.push([weight, weight * x, weight * x * x, 0.0], weight * (row.hrc - self.base_at(own)));
            }
            a = system.solve(false)?.solution;
        }
        let fitted = Fitted { sum: self.sum(rows, &a, c, coupon_variance), a, c };
        Some(if exact { fitted } else { self.improved(rows, fitted, coupon_variance, false) })
    }

    /// The best coefficients and C, searched over all of its range and then brought home.
    pub(super) fn free(&self, rows: &[Row], coupon_variance: f64) -> Option<Fitted> {
        let better = |a: Fitted, b: Fitted| if b.sum < a.sum { b } else { a };
        let best = self
            .constants(rows)
            .filter_map(|c| self.held(rows, c, coupon_variance))
            .filter(|fitted| fitted.sum.is_finite())
            .reduce(better)?;
        Some(self.improved(rows, best, coupon_variance, true))
    }

    /// Values of C to try: even steps of what a unit of log time is worth in temperature.
    pub(super) fn constants(&self, rows: &[Row]) -> impl Iterator<Item = f64> + use<> {
        const STEPS: usize = 64;
        let shortest = rows.iter().map(|row| row.hours.log10()).fold(self.hold_h.log10(), f64::min);
        let (least, most) = (1.0 / LARGEST_C, 1.0 / SMALLEST_C.max(1.0 - shortest));
        (0..=STEPS).map(move |i| 1.0 / (most + (least - most) * i as f64 / STEPS as f64))
    }

    /// Gauss-Newton steps on residual / standard deviation, the weights' own dependence included; a step that does not
    /// help is halved.
    pub(super) fn improved(&self, rows: &[Row], start: Fitted, coupon_variance: f64, c_is_free: bool) -> Fitted {
        let mut now = start;
        let width = self.degree + 1 + usize::from(c_is_free);
        for _ in 0..60 {
            let Some(step) = self.linearised(rows, &now, coupon_variance, c_is_free).solve(false) else { break };
            let moved = |share: f64| {
                let mut there = now.clone();
                for (k, change) in step.solution.iter().take(width).enumerate() {
                    if c_is_free && k == self.degree + 1 {
                        there.c = (there.c + share * change).clamp(SMALLEST_C, LARGEST_C);
                    } else if let Some(entry) = there.a.get_mut(k) {
                        *entry += share * change;
                    }
                }
                there.sum = self.sum(rows, &there.a, there.c, coupon_variance);
                there
            };
            let mut share = 1.0;
            let mut next = moved(share);
            let helps = |next: &Fitted| next.sum <= now.sum;
            while !helps(&next) && share > 1e-4 {
                share *= 0.5;
                next = moved(share);
            }
            let gained = now.sum - next.sum;
            if gained.is_nan() || gained <= 0.0 {
                break;
            }
            now = next;
            if gained <= 1e-15 * now.sum {
                break;
            }
        }
        now
    }

    /// Residual / standard deviation around a fit as a linear system in the changes of coefficients and C.
    pub(super) fn linearised(&self, rows: &[Row], fitted: &Fitted, coupon_variance: f64, c_is_free: bool) -> System {
        let width = self.degree + 1 + usize::from(c_is_free);
        let scaled = |row: &Row, a: &[f64; MOST], c: f64| {
            (row.hrc - self.at(a, c, row.celsius, row.hours)) / self.variance(row, a, c, coupon_variance).sqrt()
        };
        let mut system = System::new(width, rows.len());
        for row in rows {
            let mut entries = [0.0; MOST];
            if row.is_exact() {
                let weight = 1.0 / self.variance(row, &fitted.a, fitted.c, coupon_variance).sqrt();
                for (entry, slope) in entries.iter_mut().zip(self.gradient(fitted, row.celsius, row.hours, c_is_free)) {
                    *entry = weight * slope;
                }
            } else {
                for (k, entry) in entries.iter_mut().enumerate().take(width) {
                    let there = |way: f64| {
                        let mut a = fitted.a;
                        if c_is_free && k == self.degree + 1 {
                            return scaled(row, &a, fitted.c + way * C_STEP) / C_STEP;
                        }
                        a[k] += way * A_STEP;
                        scaled(row, &a, fitted.c) / A_STEP
                    };
                    *entry = -0.5 * (there(1.0) - there(-1.0));
                }
            }
            system.push(entries, scaled(row, &fitted.a, fitted.c));
        }
        system
    }

    /// One standard uncertainty of the slope at a temperature at the line's own hold, HRC/°C.
    pub(super) fn u_slope_at(&self, covariance: &[[f64; MOST]; MOST], own_c: f64) -> f64 {
        let mut gradient = [0.0; MOST];
        for (k, entry) in gradient.iter_mut().enumerate().take(self.degree + 1).skip(1) {
            *entry = k as f64 * self.step(own_c).powi(k as i32 - 1) / STEP_DELTA_C;
        }
        quadratic(&gradient, covariance).sqrt()
    }

    /// One standard uncertainty of the hardness after a hold, from a covariance of coefficients and C.
    pub(super) fn u_at(
        &self,
        fitted: &Fitted,
        covariance: &[[f64; MOST]; MOST],
        (celsius, hours): (f64, f64),
        c_is_free: bool,
    ) -> f64 {
        quadratic(&self.gradient(fitted, celsius, hours, c_is_free), covariance).sqrt()
    }
}

/// Steps of the numerical derivatives.
const C_STEP: f64 = 1e-3;
const A_STEP: f64 = 1e-4;

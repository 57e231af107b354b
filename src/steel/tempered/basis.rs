//! The columns of the model, and what a composition makes of them.
//!
//! The fit has one weight for each of many columns, most of them an element's amount times a function of the temper. For
//! one steel the amounts are numbers, so the columns collapse onto a few functions of temperature and time, and the
//! weights onto a few normal variables. Everything after that (mean, variance, conditioning) works on those.

use super::coefficients::{Coefficients, INCREMENTS};
use super::composition::Amounts;
use super::neighbours::{SHAPES, Shared};

/// Columns of the population, but for those of each measured heat that like steels share.
pub(super) const WITHOUT_NEIGHBOURS: usize = 128;

/// Columns of a steel's and a laboratory's own deviation.
pub(super) const OWN: usize = 38;

const SINES: usize = 14;

/// Where the functions of the temper stand; the level comes first.
const ONE: usize = 0;
const F: usize = 1;
const F_TIME: usize = F + SINES;
const TIME: usize = F_TIME + 8;
const TIME_X: usize = TIME + 1;
/// The fading function of an as-quenched deviation.
pub(super) const FADE: usize = TIME_X + 1;
const FADE_FADE: usize = FADE + 1;
const F_TIME_TIME: usize = FADE_FADE + 1;
const F_HV: usize = F_TIME_TIME + 5;
const INCREMENT: usize = F_HV + 7;

const TILT: usize = INCREMENT + INCREMENTS.len();
const BEND: usize = TILT + 1;

/// The functions on which like steels share a deviation: level, tilt and bend.
const NEAR: [usize; SHAPES] = [ONE, TILT, BEND];

/// Functions of the temper that a steel's weights belong to.
pub(super) const FUNCTIONS: usize = BEND + 1;

/// A value for each function.
pub(super) type Functions = [f64; FUNCTIONS];

/// Everything about a steel that does not depend on the temper.
#[derive(Debug, Clone)]
pub(super) struct Prepared {
    amounts: [f64; INCREMENTS.len()],
    /// Standardised root of the dissolved carbon.
    s: f64,
    /// As-quenched hardness of the carbon.
    pub as_quenched: f64,
    /// What a reading lies above it; `None` without one.
    pub deviation: Option<f64>,
    /// C for hours.
    pub c: f64,
    shared: Shared,
}

/// The smaller of two, rounded off over a width.
fn soft_minimum(a: f64, b: f64, width: f64) -> f64 {
    a.min(b) - width * (-(a - b).abs() / width).exp().ln_1p()
}

impl Prepared {
    pub fn new(read: &Coefficients, amounts: &Amounts, as_quenched: Option<f64>) -> Self {
        let q = &read.physics;
        let [c, mn, si, ni, cr, mo, v, p, al] =
            ["C", "Mn", "Si", "Ni", "Cr", "Mo", "V", "P", "Al"].map(|symbol| amounts.of(symbol));
        let saturation = q.c_saturation - q.c_saturation_per_cr * cr;
        let dissolved = soft_minimum(c, saturation, q.c_saturation_width);
        let saturating = |amount: f64, unit: f64, scale: f64| (-amount / scale).exp_m1() / (-unit / scale).exp_m1();
        let vanadium = if v > 0.0 { soft_minimum(v, q.vc_product / c.max(0.05), 0.005) / 0.15 } else { 0.0 };
        let expected = q.aq_plateau - q.aq_span * (-q.aq_rate * dissolved).exp();
        Self {
            amounts: [
                saturating(mn, 1.0, q.mn_saturation),
                si,
                ni,
                saturating(cr, 1.0, q.cr_saturation),
                saturating(mo, 0.25, q.mo_saturation),
                vanadium,
                p / 0.03,
                al,
            ],
            s: (dissolved.sqrt() - 0.70) / 0.15,
            as_quenched: expected,
            deviation: as_quenched.map(|reading| reading - expected),
            c: q.c0 - q.c1 * dissolved,
            shared: read.neighbours.shared(amounts),
        }
    }

    /// For each column of the population, in order: the functions it lies on, and with what factor.
    fn columns(&self, scale: f64) -> Vec<[(usize, f64); 2]> {
        let (s, d) = (self.s, self.deviation.unwrap_or(0.0));
        let one = |function: usize, factor: f64| [(function, factor), (function, 0.0)];
        let mut made = Vec::with_capacity(WITHOUT_NEIGHBOURS + SHAPES * self.shared.has.len());
        for factor in [1.0, s, s * s - 1.0, s.powi(3)] {
            made.extend((0..10).map(|j| one(F + j, factor)));
        }
        made.extend([one(ONE, 1.0), one(ONE, s)]);
        made.extend([one(FADE, d), [(ONE, d), (FADE, -d)], one(FADE_FADE, d)]);
        for (place, (element, amount)) in INCREMENTS.into_iter().zip(self.amounts).enumerate() {
            made.push(one(INCREMENT + place, amount * scale));
            if element != "P" {
                made.extend((0..7).map(|j| one(F_HV + j, amount)));
            }
            if matches!(element, "Cr" | "Mn" | "Mo") {
                made.extend((0..6).map(|j| one(F_HV + j, amount * s)));
            }
        }
        for function in NEAR {
            made.extend(self.shared.has.iter().map(|has| one(function, *has)));
        }
        made.extend((0..8).map(|j| one(F_TIME + j, 1.0)));
        made
    }

    /// The functions that the own columns are, in order; without a place where a column is not used.
    fn own_columns(&self) -> Vec<Option<usize>> {
        let fade = if self.deviation.is_none() { Some(FADE) } else { None };
        let steel = std::iter::once(ONE).chain(F..F + SINES).chain([TIME, TIME_X]).map(Some).chain([fade]);
        let laboratory =
            std::iter::once(ONE).chain(F..F + 8).chain(F_TIME..F_TIME + 6).chain(F_TIME_TIME..F_TIME_TIME + 5);
        steel.chain(laboratory.map(Some)).collect()
    }

    /// Mean and covariance (by rows) of the weights of the functions.
    pub fn weights(&self, read: &Coefficients) -> (Functions, Vec<f64>) {
        let mut mean = [0.0; FUNCTIONS];
        let mut covariance = vec![0.0; FUNCTIONS * FUNCTIONS];
        let columns = self.columns(read.physics.increment_scale);
        let lies_on: Vec<(usize, usize, f64)> = columns
            .iter()
            .enumerate()
            .flat_map(|(column, on)| on.iter().map(move |&(function, factor)| (column, function, factor)))
            .filter(|(_, _, factor)| *factor != 0.0)
            .collect();
        for &(a, f, x) in &lies_on {
            mean[f] += x * read.beta[a];
            let (from, to) = (&read.covariance[a * columns.len()..][..columns.len()], &mut covariance[f * FUNCTIONS..]);
            for &(b, g, y) in &lies_on {
                to[g] += x * y * from[b];
            }
        }
        for (function, scale) in self.own_columns().into_iter().zip(&read.own) {
            if let Some(f) = function {
                covariance[f * FUNCTIONS + f] += scale * scale;
            }
        }
        // What an error of the carbon shifts the level by: much in low-carbon steel, little in high.
        let per_carbon = read.physics.aq_rate * (read.physics.aq_plateau - self.as_quenched);
        covariance[ONE * FUNCTIONS + ONE] += (read.u_carbon * per_carbon).powi(2);
        for (f, alone) in NEAR.into_iter().zip(self.shared.alone) {
            covariance[f * FUNCTIONS + f] += alone;
        }
        (mean, covariance)
    }

    /// The one-hour equivalent of a hold, °C.
    pub fn one_hour_equivalent(&self, celsius: f64, log_hours: f64) -> f64 {
        (celsius + 273.15) * (self.c + log_hours) / self.c - 273.15
    }

    /// Mean before any weight, and the value of every function.
    pub fn functions(&self, read: &Coefficients, celsius: f64, hours: f64) -> (f64, Functions) {
        let q = &read.physics;
        let log_hours = hours.log10();
        let x = self.one_hour_equivalent(celsius, log_hours);
        let plain = self.as_quenched - read.drop.at(x);
        let unit = read.increments(x);
        let added: f64 = unit.iter().zip(self.amounts).map(|(hv, amount)| hv * amount * q.increment_scale).sum();
        let hardness = read.hrc_of_hv.at(read.hv_of_hrc.at(plain) + added);
        let per_hv = 1.0 / read.slope.at(hardness);
        let fade = 1.0 / (1.0 + ((x - q.fade_centre) / q.fade_width).exp());
        let mut f = [0.0; FUNCTIONS];
        let angle = std::f64::consts::PI / (q.x_hi - q.x_lo) * (x.clamp(q.x_lo, q.x_hi) - q.x_lo);
        let (sine, cosine) = angle.sin_cos();
        let (mut before, mut now) = (0.0, sine);
        for slot in &mut f[F..F + SINES] {
            *slot = now;
            (before, now) = (now, 2.0 * cosine * now - before);
        }
        f[ONE] = 1.0;
        for j in 0..8 {
            f[F_TIME + j] = f[F + j] * log_hours;
        }
        f[TIME] = log_hours;
        f[TIME_X] = log_hours * (x - 400.0) / 200.0;
        [f[TILT], f[BEND]] = read.neighbours.tilt_and_bend(x);
        f[FADE] = fade;
        f[FADE_FADE] = fade * (1.0 - fade);
        for j in 0..5 {
            f[F_TIME_TIME + j] = f[F + j] * (log_hours * log_hours - 1.0);
        }
        for j in 0..7 {
            f[F_HV + j] = f[F + j] * per_hv;
        }
        for (place, hv) in unit.into_iter().enumerate() {
            f[INCREMENT + place] = hv * per_hv;
        }
        (hardness + self.deviation.unwrap_or(0.0) * fade, f)
    }
}

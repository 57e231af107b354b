//! The normal and Student distributions, to about double precision.

use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// Φ(x), through the complementary error function.
#[must_use]
pub fn normal_cdf(x: f64) -> f64 {
    0.5 * erfc(-x * FRAC_1_SQRT_2)
}

/// erfc by its series near 0 and its continued fraction (Lentz) in the tails; Abramowitz & Stegun 7.1.6 and 7.1.14.
fn erfc(x: f64) -> f64 {
    if x.is_nan() {
        return x;
    }
    if x < 0.0 {
        return 2.0 - erfc(-x);
    }
    if x < 2.5 {
        // erf(x) = 2/√π · e^(−x²) · Σ 2ⁿ x^(2n+1) / (1·3·5…(2n+1)): every term positive, so nothing cancels.
        let (mut term, mut sum, mut n) = (x, x, 0.0);
        while term > 1e-17 * sum {
            n += 1.0;
            term *= 2.0 * x * x / (2.0 * n + 1.0);
            sum += term;
        }
        return 1.0 - 2.0 / PI.sqrt() * (-x * x).exp() * sum;
    }
    if x > 27.5 {
        return 0.0;
    }
    let mut tail = 0.0;
    for k in (1..=60).rev() {
        tail = 0.5 * f64::from(k) / (x + tail);
    }
    (-x * x).exp() / (PI.sqrt() * (x + tail))
}

/// The x at which Φ(x) = p. A rational start (Abramowitz & Stegun 26.2.23) brought home by Halley's method on Φ.
#[must_use]
pub fn normal_quantile(p: f64) -> f64 {
    if !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    if p == 0.5 {
        return 0.0;
    }
    if p > 0.5 {
        return -normal_quantile(1.0 - p);
    }
    if p == 0.0 {
        return f64::NEG_INFINITY;
    }
    let t = (-2.0 * p.ln()).sqrt();
    let mut x = -(t
        - (2.515_517 + t * (0.802_853 + t * 0.010_328)) / (1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308))));
    for _ in 0..4 {
        let density = (-0.5 * x * x).exp() / (2.0 * PI).sqrt();
        let step = (normal_cdf(x) - p) / density;
        x -= step / (1.0 + 0.5 * x * step);
    }
    x
}

/// ln Γ(x) for x > 0, by Stirling's series after shifting the argument up (Abramowitz & Stegun 6.1.41).
pub(super) fn ln_gamma(mut x: f64) -> f64 {
    let mut shift = 0.0;
    while x < 12.0 {
        shift -= x.ln();
        x += 1.0;
    }
    let z = 1.0 / (x * x);
    let series = (1.0 / 12.0 + z * (-1.0 / 360.0 + z * (1.0 / 1260.0 + z * (-1.0 / 1680.0 + z / 1188.0)))) / x;
    shift + (x - 0.5) * x.ln() - x + 0.5 * (2.0 * PI).ln() + series
}

/// The regularised incomplete beta function by its continued fraction (Abramowitz & Stegun 26.5.8).
fn incomplete_beta(a: f64, b: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - incomplete_beta(b, a, 1.0 - x);
    }
    let front = (ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b) + a * x.ln() + b * (-x).ln_1p()).exp() / a;
    let tiny = 1e-300;
    let (mut c, mut d) = (1.0, 1.0 - (a + b) * x / (a + 1.0));
    d = 1.0 / if d.abs() < tiny { tiny } else { d };
    let mut h = d;
    for m in 1..400 {
        let m = f64::from(m);
        for numerator in [
            m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0)),
        ] {
            d = 1.0 + numerator * d;
            d = 1.0 / if d.abs() < tiny { tiny } else { d };
            c = 1.0 + numerator / c;
            if c.abs() < tiny {
                c = tiny;
            }
            h *= d * c;
        }
        if (d * c - 1.0).abs() < 1e-16 {
            break;
        }
    }
    front * h
}

/// The distribution function of Student's t with `dof` degrees of freedom.
#[must_use]
pub fn student_cdf(t: f64, dof: f64) -> f64 {
    if t.is_nan() || dof.is_nan() || dof <= 0.0 {
        return f64::NAN;
    }
    if t.is_infinite() {
        return if t > 0.0 { 1.0 } else { 0.0 };
    }
    let tail = 0.5 * incomplete_beta(0.5 * dof, 0.5, dof / (dof + t * t));
    if t > 0.0 { 1.0 - tail } else { tail }
}

/// The distribution function of the ratio of two variances, F with `above` and `below` degrees of freedom (Abramowitz &
/// Stegun 26.6.2).
#[must_use]
pub fn fisher_cdf(ratio: f64, above: f64, below: f64) -> f64 {
    if ratio.is_nan() || !(above > 0.0 && below > 0.0) {
        return f64::NAN;
    }
    if ratio <= 0.0 {
        return 0.0;
    }
    1.0 - incomplete_beta(0.5 * below, 0.5 * above, below / (below + above * ratio))
}

/// The t at which Student's distribution function is `p`, by bisection on a bracket that grows as needed.
#[must_use]
pub fn student_quantile(p: f64, dof: f64) -> f64 {
    if !(p > 0.0 && p < 1.0 && dof > 0.0) {
        return f64::NAN;
    }
    if p > 0.5 {
        return -student_quantile(1.0 - p, dof);
    }
    let mut low = -1.0;
    while student_cdf(low, dof) > p && low > -1e12 {
        low *= 2.0;
    }
    let mut high = 0.0;
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle == low || middle == high {
            break;
        }
        if student_cdf(middle, dof) < p { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// JCGM 100:2008, tables G.1 and G.2, printed to three and two decimals.
    #[test]
    fn printed_factors() {
        assert!((-normal_quantile(0.025) - 1.960).abs() < 5e-4);
        assert!((-normal_quantile(0.05) - 1.645).abs() < 5e-4);
        for (dof, t95) in [(1.0, 12.71), (2.0, 4.30), (4.0, 2.78), (10.0, 2.23), (100.0, 1.984)] {
            assert!((-student_quantile(0.025, dof) - t95).abs() < 5e-3, "{dof}");
        }
    }

    /// Printed 5 % points of F (any table of it): 7.71 for 1 and 4, 6.39 for 4 and 4, 161.4 for 1 and 1.
    #[test]
    fn printed_ratios_of_variances() {
        for (above, below, point) in [(1.0, 4.0, 7.709), (4.0, 4.0, 6.388), (1.0, 1.0, 161.45)] {
            assert!((fisher_cdf(point, above, below) - 0.95).abs() < 1e-4, "{above} {below}");
        }
        assert!(fisher_cdf(f64::NAN, 1.0, 1.0).is_nan() && fisher_cdf(0.0, 1.0, 1.0) == 0.0);
    }

    #[test]
    fn quantile_inverts_cdf() {
        for p in [1e-12, 1e-6, 0.01, 0.3, 0.5, 0.9, 0.999] {
            assert!((normal_cdf(normal_quantile(p)) / p - 1.0).abs() < 1e-12, "{p}");
        }
    }
}

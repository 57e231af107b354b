//! The chi-square distribution, to about double precision.

use super::distribution::ln_gamma;

/// The distribution function of chi-square with `dof` degrees of freedom: the lower incomplete gamma function by its
/// series below the mean and its continued fraction (Lentz) above; Abramowitz & Stegun 6.5.29 and 6.5.31.
#[must_use]
pub fn chi_square_cdf(x: f64, dof: f64) -> f64 {
    if x.is_nan() || dof.is_nan() || dof <= 0.0 {
        return f64::NAN;
    }
    if x <= 0.0 {
        return 0.0;
    }
    let (a, z) = (0.5 * dof, 0.5 * x);
    let front = (a * z.ln() - z - ln_gamma(a)).exp();
    if z < a + 1.0 {
        let (mut term, mut sum, mut n) = (1.0 / a, 1.0 / a, a);
        while term > 1e-17 * sum {
            n += 1.0;
            term *= z / n;
            sum += term;
        }
        return (front * sum).min(1.0);
    }
    let tiny = 1e-300;
    let mut b = z + 1.0 - a;
    let mut c = 1.0 / tiny;
    let mut d = 1.0 / b;
    let mut h = d;
    for i in 1..1000 {
        let i = f64::from(i);
        let numerator = -i * (i - a);
        b += 2.0;
        d = numerator * d + b;
        d = 1.0 / if d.abs() < tiny { tiny } else { d };
        c = b + numerator / c;
        if c.abs() < tiny {
            c = tiny;
        }
        h *= d * c;
        if (d * c - 1.0).abs() < 1e-16 {
            break;
        }
    }
    (1.0 - front * h).clamp(0.0, 1.0)
}

/// The x at which the distribution function is `p`, by bisection.
#[must_use]
pub fn chi_square_quantile(p: f64, dof: f64) -> f64 {
    if !(p > 0.0 && p < 1.0 && dof > 0.0) {
        return f64::NAN;
    }
    let mut high = dof + 1.0;
    while chi_square_cdf(high, dof) < p && high < 1e12 {
        high *= 2.0;
    }
    let mut low = 0.0;
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle == low || middle == high {
            break;
        }
        if chi_square_cdf(middle, dof) < p { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Percentage points as printed in tables of chi-square (Abramowitz & Stegun, table 26.8).
    #[test]
    fn printed_points() {
        for (dof, p, x) in
            [(1.0, 0.95, 3.84146), (4.0, 0.025, 0.484_419), (10.0, 0.975, 20.4831), (30.0, 0.05, 18.4927)]
        {
            assert!((chi_square_quantile(p, dof) / x - 1.0).abs() < 2e-5, "{dof} {p}");
        }
    }
}

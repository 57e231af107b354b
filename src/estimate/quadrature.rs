//! The rule of Gauss and Legendre: nodes and weights for integrals over a finite range.

/// Nodes in (-1, 1) and weights (sum 1) of the rule of Gauss and Legendre: Newton's method on the polynomial.
#[must_use]
pub fn legendre(count: usize) -> Vec<(f64, f64)> {
    let n = count as f64;
    (0..count)
        .map(|i| {
            let mut x = (std::f64::consts::PI * (i as f64 + 0.75) / (n + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..50 {
                let (mut before, mut now) = (1.0, x);
                for k in 2..=count {
                    let k = k as f64;
                    (before, now) = (now, ((2.0 * k - 1.0) * x * now - (k - 1.0) * before) / k);
                }
                slope = n * (x * now - before) / (x * x - 1.0);
                let step = now / slope;
                x -= step;
                if step.abs() < 1e-15 {
                    break;
                }
            }
            (x, 1.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Abramowitz & Stegun, table 25.4 (n = 5): nodes 0.9061798459, 0.5384693101, 0; weights 0.2369268851 … of 2.
    #[test]
    fn legendre_as_printed() {
        let rule = legendre(5);
        for ((x, w), (node, weight)) in
            rule.iter().zip([(0.906_179_845_9, 0.236_926_885_1), (0.538_469_310_1, 0.478_628_670_5)])
        {
            assert!((x - node).abs() < 1e-10 && (2.0 * w - weight).abs() < 1e-10);
        }
        assert!((legendre(1)[0].1 - 1.0).abs() < 1e-15);
    }
}

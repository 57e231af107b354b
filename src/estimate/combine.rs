//! Combination of uncertainties after the GUM (JCGM 100:2008, section 5): first order, independent inputs.

use super::Estimate;
use crate::error::Text;

/// √Σu², the law of propagation for independent parts of one quantity (JCGM 100:2008, eq. 10 with unit coefficients).
pub fn root_sum_of_squares(parts: impl IntoIterator<Item = f64>) -> f64 {
    parts.into_iter().map(|u| u * u).sum::<f64>().sqrt()
}

/// Degrees of freedom of a combined uncertainty after Welch and Satterthwaite (JCGM 100:2008, eq. G.2b), not truncated;
/// each part is `(u, degrees of freedom)`, infinite ones included.
#[must_use]
pub fn effective_degrees_of_freedom(parts: &[(f64, f64)]) -> f64 {
    let combined = root_sum_of_squares(parts.iter().map(|(u, _)| *u));
    combined.powi(4) / parts.iter().map(|(u, dof)| u.powi(4) / dof).sum::<f64>()
}

/// Propagates independent inputs through a function by central differences (JCGM 100:2008, 5.1.3 note 2: the
/// sensitivity is the change of the result for a change of the input by its uncertainty).
///
/// Each input is `(name, value, u)` and becomes one component of the result.
pub fn propagate(
    function: impl Fn(&[f64]) -> f64,
    inputs: &[(&'static str, f64, f64)],
    unit: impl Into<Text>,
) -> Estimate {
    let values: Vec<f64> = inputs.iter().map(|(_, value, _)| *value).collect();
    let moved = |index: usize, by: f64| {
        let mut there = values.clone();
        if let Some(value) = there.get_mut(index) {
            *value += by;
        }
        function(&there)
    };
    inputs.iter().enumerate().fold(Estimate::new(function(&values), unit), |made, (index, (name, _, u))| {
        made.with(*name, 0.5 * (moved(index, *u) - moved(index, -*u)))
    })
}

#[cfg(test)]
mod tests {
    use super::{effective_degrees_of_freedom, propagate};
    use crate::estimate::student_quantile;

    /// JCGM 100:2008, H.1, the end gauge, as printed: l = 50.000838 mm, u = 32 nm, 16 degrees of freedom (16.7 cut),
    /// t99 = 2.92, U99 = 93 nm. Inputs as printed there; 25.6 degrees of freedom of the difference from memory.
    #[test]
    fn end_gauge() {
        let length = |x: &[f64]| x[0] + x[1] - x[0] * (x[2] * x[3] + x[4] * x[5]);
        let inputs = [
            ("standard", 50_000_623.0, 25.0),
            ("difference", 215.0, 9.7),
            ("expansions", 0.0, 0.58e-6),
            ("temperature", -0.1, 0.41),
            ("expansion", 11.5e-6, 1.2e-6),
            ("temperatures", 0.0, 0.029),
        ];
        let made = propagate(length, &inputs, "nm");
        let dof = [18.0, 25.6, 50.0, f64::INFINITY, f64::INFINITY, 2.0];
        let parts: Vec<(f64, f64)> = made.components().iter().zip(dof).map(|(part, dof)| (part.u, dof)).collect();
        assert!((made.value() - 50_000_838.0).abs() < 0.5);
        assert!((made.u() - 32.0).abs() < 0.5);
        let effective = effective_degrees_of_freedom(&parts);
        assert!((effective - 16.7).abs() < 0.05, "{effective}");
        let t99 = -student_quantile(0.005, effective.floor());
        assert!((t99 - 2.92).abs() < 0.005 && (t99 * made.u() - 93.0).abs() < 0.6);
    }

    /// JCGM 100:2008, G.4.1: relative parts of 0.25, 0.57 and 0.82 % from 10, 5 and 15 repeats: 1.03 %, 19.0.
    #[test]
    fn product_of_three() {
        let parts = [(0.25, 9.0), (0.57, 4.0), (0.82, 14.0)];
        assert!((super::root_sum_of_squares(parts.map(|(u, _)| u)) - 1.03).abs() < 0.005);
        assert!((effective_degrees_of_freedom(&parts) - 19.0).abs() < 0.05);
    }

    /// JCGM 100:2008, H.6, the hardness of a block, as printed: 0.5 HRC of the national standard and the definition, 0.20
    /// of five depths, 0.11 of the block's own unevenness make 0.55 HRC.
    #[test]
    fn hardness_of_a_block() {
        assert!((super::root_sum_of_squares([0.5, 0.20, 0.11]) - 0.55).abs() < 0.005);
    }

    /// JCGM 100:2008, 5.1.6: for a product the relative variances add.
    #[test]
    fn product_adds_relative_variances() {
        let made = propagate(|x| x[0] * x[1], &[("a", 3.0, 0.03), ("b", 5.0, 0.1)], "");
        assert!((made.u() / 15.0 - (0.01f64).hypot(0.02)).abs() < 1e-12);
    }
}

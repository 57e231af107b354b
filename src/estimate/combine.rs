//! Combination of uncertainties after the GUM (JCGM 100:2008, section 5): first order, independent inputs.

use super::Estimate;
use crate::error::Text;

/// √Σu², the law of propagation for independent parts of one quantity (JCGM 100:2008, eq. 10 with unit coefficients).
pub fn root_sum_of_squares(parts: impl IntoIterator<Item = f64>) -> f64 {
    parts.into_iter().map(|u| u * u).sum::<f64>().sqrt()
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
    use super::propagate;

    /// JCGM 100:2008, 5.1.6: for a product the relative variances add.
    #[test]
    fn product_adds_relative_variances() {
        let made = propagate(|x| x[0] * x[1], &[("a", 3.0, 0.03), ("b", 5.0, 0.1)], "");
        assert!((made.u() / 15.0 - (0.01f64).hypot(0.02)).abs() < 1e-12);
    }
}

//! Questions asked of all elements of a column at once, answered by vector code.

use super::dispatched;

/// Elements that are asked side by side.
const STRANDS: usize = 8;

dispatched! {
    /// Whether every value lies between two bounds, neither of them included; NaN does not.
    pub(crate) fn all_between(values: &[f64], low: f64, high: f64) -> bool {
        let mut bad = [0u64; STRANDS];
        let chunks = values.chunks_exact(STRANDS);
        for (bad, &value) in bad.iter_mut().zip(chunks.remainder()) {
            *bad |= u64::from(!(value > low && value < high));
        }
        for chunk in chunks {
            for i in 0..STRANDS {
                bad[i] |= u64::from(!(chunk[i] > low && chunk[i] < high));
            }
        }
        bad == [0; STRANDS]
    }
}

dispatched! {
    /// Whether no value lies below the one before it; NaN lies nowhere.
    pub(crate) fn never_falls(values: &[f64]) -> bool {
        let Some((_, after)) = values.split_first() else { return true };
        let mut bad = [0u64; STRANDS];
        let (now, before) = (after.chunks_exact(STRANDS), values.chunks_exact(STRANDS));
        let rest = now.remainder();
        for (bad, (now, before)) in bad.iter_mut().zip(rest.iter().zip(&values[after.len() - rest.len()..])) {
            *bad |= u64::from(now < before);
        }
        for (now, before) in now.zip(before) {
            for i in 0..STRANDS {
                bad[i] |= u64::from(now[i] < before[i]);
            }
        }
        bad == [0; STRANDS]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_bad_element_is_seen_wherever_it_is() {
        for count in [0, 1, 2, 7, 8, 9, 30] {
            let good: Vec<f64> = (0..count).map(f64::from).collect();
            assert!(all_between(&good, -1.0, 100.0) && never_falls(&good));
            for at in 0..good.len() {
                for value in [f64::NAN, -1.0, 100.0] {
                    let mut bad = good.clone();
                    bad[at] = value;
                    assert!(!all_between(&bad, -1.0, 100.0));
                    assert_eq!(never_falls(&bad), !bad.windows(2).any(|pair| pair[1] < pair[0]));
                }
            }
        }
    }
}

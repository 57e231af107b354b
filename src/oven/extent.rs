//! Lowest and highest of many readings, so that the long stretches of a record in which nothing happens are passed by.

use crate::kernel::dispatched;

dispatched! {
    /// The lowest and the highest of some readings, NaN left out; infinities the wrong way round where there is none.
    pub(super) fn extent(values: &[f64]) -> (f64, f64) {
        let (mut low, mut high) = ([f64::INFINITY; 8], [f64::NEG_INFINITY; 8]);
        let chunks = values.chunks_exact(8);
        for (i, &value) in chunks.remainder().iter().enumerate() {
            low[i] = if value < low[i] { value } else { low[i] };
            high[i] = if value > high[i] { value } else { high[i] };
        }
        // Strands that a vector unit takes side by side.
        for chunk in chunks {
            for i in 0..8 {
                low[i] = if chunk[i] < low[i] { chunk[i] } else { low[i] };
                high[i] = if chunk[i] > high[i] { chunk[i] } else { high[i] };
            }
        }
        (low.into_iter().fold(f64::INFINITY, f64::min), high.into_iter().fold(f64::NEG_INFINITY, f64::max))
    }
}

dispatched! {
    /// The smallest and the largest step from one value to the next; NaN left out.
    pub(super) fn steps_extent(values: &[f64]) -> (f64, f64) {
        let (mut low, mut high) = ([f64::INFINITY; 8], [f64::NEG_INFINITY; 8]);
        let after = values.get(1..).unwrap_or_default();
        let (now, then) = (after.chunks_exact(8), values.chunks_exact(8));
        for (i, (then, now)) in values[after.len() - now.remainder().len()..].iter().zip(now.remainder()).enumerate() {
            let step = now - then;
            low[i] = if step < low[i] { step } else { low[i] };
            high[i] = if step > high[i] { step } else { high[i] };
        }
        for (now, then) in now.zip(then) {
            for i in 0..8 {
                let step = now[i] - then[i];
                low[i] = if step < low[i] { step } else { low[i] };
                high[i] = if step > high[i] { step } else { high[i] };
            }
        }
        (low.into_iter().fold(f64::INFINITY, f64::min), high.into_iter().fold(f64::NEG_INFINITY, f64::max))
    }
}

/// The middle of the upper half of what was read: the level of a hold, where no setpoint tells it.
pub(super) fn upper_level(values: &[f64]) -> f64 {
    let (low, high) = extent(values);
    median_of(values, |value| value >= 0.5 * (low + high))
}

/// Values below this number are simply put in order for their median.
const FEW: usize = 1 << 16;

/// Bins of the first look at many values.
const BINS: usize = 4096;

/// The median of the finite values that `counts` says yes to; NaN of none. The same value as [`super::clean::median`]
/// gives, found in two walks instead of a copy of all.
pub(super) fn median_of(values: &[f64], counts: impl Fn(f64) -> bool) -> f64 {
    let counted = || values.iter().copied().filter(|&value| value.is_finite() && counts(value));
    let (low, high) = extent(values);
    let width = (high - low) / BINS as f64;
    if values.len() < FEW || !(width > 0.0 && width.is_finite()) {
        return super::clean::median(counted().collect());
    }
    let bin = |value: f64| (((value - low) / width) as usize).min(BINS - 1);
    let mut counts = vec![0usize; BINS];
    for value in counted() {
        if let Some(count) = counts.get_mut(bin(value)) {
            *count += 1;
        }
    }
    let middle = counts.iter().sum::<usize>() / 2;
    let mut below = 0;
    for (index, count) in counts.iter().enumerate() {
        if below + count > middle {
            let mut inside: Vec<f64> = counted().filter(|&value| bin(value) == index).collect();
            return *inside.select_nth_unstable_by(middle - below, f64::total_cmp).1;
        }
        below += count;
    }
    f64::NAN
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wave(count: usize) -> Vec<f64> {
        (0..count).map(|i| (200.0 + 3.0 * (0.37 * i as f64).sin()) * if i % 97 == 0 { f64::NAN } else { 1.0 }).collect()
    }

    #[test]
    fn extents_are_those_of_a_plain_walk() {
        for count in [0, 1, 2, 7, 8, 9, 16, 17, 1000] {
            let values = wave(count);
            let finite = || values.iter().copied().filter(|v| !v.is_nan());
            let plain = (finite().fold(f64::INFINITY, f64::min), finite().fold(f64::NEG_INFINITY, f64::max));
            assert_eq!(extent(&values), plain);
            let steps = || values.windows(2).map(|pair| pair[1] - pair[0]).filter(|v| !v.is_nan());
            let plain = (steps().fold(f64::INFINITY, f64::min), steps().fold(f64::NEG_INFINITY, f64::max));
            assert_eq!(steps_extent(&values), plain, "{count}");
        }
    }

    #[test]
    fn the_median_is_that_of_the_sorted_values() {
        for count in [0, 1, 10, FEW, FEW + 1, 3 * FEW] {
            let values = wave(count);
            let plain = super::super::clean::median(values.iter().copied().filter(|&v| v >= 200.5).collect());
            assert_eq!(median_of(&values, |value| value >= 200.5).to_bits(), plain.to_bits(), "{count}");
        }
    }
}

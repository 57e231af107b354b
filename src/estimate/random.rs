//! Random numbers that depend only on (seed, stream, index): the thread count can't change them.

use super::normal_quantile;

/// Draws of one stream of one seed; draw `i` is the same whoever asks and whenever.
#[derive(Debug, Clone, Copy)]
pub struct Draws {
    key: u64,
}

/// The finaliser of SplitMix64 (Steele, Lea and Flood 2014): every output bit depends on every input bit.
const fn mixed(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

const GOLDEN: u64 = 0x9e37_79b9_7f4a_7c15;

impl Draws {
    /// Stream number `stream` of a seed: one stream for each uncertain input.
    #[must_use]
    pub const fn new(seed: u64, stream: u64) -> Self {
        Self { key: mixed(mixed(seed.wrapping_add(GOLDEN)) ^ stream.wrapping_mul(GOLDEN)) }
    }

    /// Draw `index` as 64 bits.
    #[must_use]
    pub const fn bits(&self, index: u64) -> u64 {
        mixed(self.key.wrapping_add(index.wrapping_add(1).wrapping_mul(GOLDEN)))
    }

    /// Draw `index`, uniform in the open interval (0, 1).
    #[must_use]
    pub fn uniform(&self, index: u64) -> f64 {
        ((self.bits(index) >> 12) as f64 + 0.5) / (1u64 << 52) as f64
    }

    /// Draw `index`, uniform between two values.
    #[must_use]
    pub fn between(&self, index: u64, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform(index)
    }

    /// Draw `index`, standard normal.
    #[must_use]
    pub fn normal(&self, index: u64) -> f64 {
        normal_quantile(self.uniform(index))
    }
}

#[cfg(test)]
mod tests {
    use super::Draws;

    #[test]
    fn moments_and_independence() {
        let (a, b) = (Draws::new(7, 0), Draws::new(7, 1));
        let n = 40_000;
        let mean = |f: &dyn Fn(u64) -> f64| (0..n).map(f).sum::<f64>() / n as f64;
        assert!(mean(&|i| a.normal(i)).abs() < 0.02);
        assert!((mean(&|i| a.normal(i).powi(2)) - 1.0).abs() < 0.03);
        assert!(mean(&|i| a.normal(i) * b.normal(i)).abs() < 0.02);
        assert!(mean(&|i| a.normal(i) * a.normal(i + 1)).abs() < 0.02);
    }
}

//! Evenly spread samples of a column, for medians that only set a threshold.

/// Thresholds are taken of about this many values.
const ENOUGH: usize = 65_536;

/// Every how many values one is looked at: a power of three, so that a column met in pieces is sampled the same.
pub(super) const fn stride(count: usize) -> usize {
    let mut every = 1;
    while count.div_ceil(every) > ENOUGH {
        every *= 3;
    }
    every
}

/// A sample of a column whose length is not known yet: what `step_by(stride(length))` would pick.
#[derive(Debug, Clone)]
pub(super) struct Sample {
    every: usize,
    seen: usize,
    kept: Vec<f64>,
}

impl Default for Sample {
    fn default() -> Self {
        Self { every: 1, seen: 0, kept: Vec::new() }
    }
}

impl Sample {
    pub(super) fn add(&mut self, value: f64) {
        if self.seen % self.every == 0 {
            if self.kept.len() == ENOUGH {
                let mut index = 0;
                self.kept.retain(|_| {
                    index += 1;
                    (index - 1) % 3 == 0
                });
                self.every *= 3;
            }
            if self.seen % self.every == 0 {
                self.kept.push(value);
            }
        }
        self.seen += 1;
    }

    pub(super) fn values(self) -> Vec<f64> {
        self.kept
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_are_sampled_like_the_whole() {
        for count in [0, 1, 1000, ENOUGH, ENOUGH + 1, 3 * ENOUGH, 3 * ENOUGH + 1, 700_001] {
            let mut sample = Sample::default();
            (0..count).for_each(|value| sample.add(value as f64));
            let whole: Vec<f64> = (0..count).step_by(stride(count)).map(|value| value as f64).collect();
            assert_eq!(sample.values(), whole, "{count}");
        }
    }
}

//! What steels of like composition share, and no smooth effect of their elements tells.

use serde::Deserialize;

use super::composition::Amounts;
use super::weights::{cholesky, forward};

/// Level, tilt and bend.
pub(super) const SHAPES: usize = 3;

/// How like steels share a deviation, as the fit found it.
#[derive(Debug, Deserialize)]
pub(super) struct Near {
    length: f64,
    nugget: f64,
    centre_c: f64,
    width_c: f64,
    /// Standard deviations of level, tilt and bend, HRC.
    scale: [f64; SHAPES],
}

/// The measured heats, by composition.
#[derive(Debug)]
pub(super) struct Neighbours {
    near: Near,
    /// Place of an element and the unit within which steels behave alike; of carbon, whose root counts, first.
    units: Vec<(usize, f64)>,
    /// Where the heats are, in these units.
    places: Vec<Vec<f64>>,
    /// Lower triangle of what the heats share, by rows.
    triangle: Vec<f64>,
}

/// What a composition has of what the measured heats share.
#[derive(Debug, Clone)]
pub(super) struct Shared {
    /// How much of each shared normal variable.
    pub has: Vec<f64>,
    /// Variances of level, tilt and bend that no measured heat shares with it.
    pub alone: [f64; SHAPES],
}

impl Neighbours {
    /// Nothing if the heats' likeness is no covariance.
    pub fn new(near: Near, units: Vec<(usize, f64)>, heats: &[Vec<f64>]) -> Option<Self> {
        let mut made = Self { near, units, places: Vec::new(), triangle: Vec::new() };
        made.places = heats.iter().map(|heat| made.place(heat.iter().copied())).collect();
        let count = made.places.len();
        let mut shared: Vec<f64> = made.places.iter().flat_map(|heat| made.likeness(heat)).collect();
        shared.iter_mut().step_by(count + 1).for_each(|own| *own += made.near.nugget);
        made.triangle = cholesky(shared, count)?;
        Some(made)
    }

    pub fn count(&self) -> usize {
        self.places.len()
    }

    /// Tilt and bend at a one-hour equivalent.
    pub fn tilt_and_bend(&self, x: f64) -> [f64; 2] {
        let tilt = (x - self.near.centre_c) / self.near.width_c;
        [tilt, tilt * tilt - 1.0]
    }

    /// Per cents of the elements in the units in which steels behave alike.
    fn place(&self, percents: impl Iterator<Item = f64>) -> Vec<f64> {
        let root = |index: usize, percent: f64| if index == 0 { percent.sqrt() } else { percent };
        self.units.iter().zip(percents).enumerate().map(|(i, ((_, unit), percent))| root(i, percent) / unit).collect()
    }

    fn place_of(&self, amounts: &Amounts) -> Vec<f64> {
        self.place(self.units.iter().map(|(at, _)| amounts.at(*at)))
    }

    /// Covariance with each heat.
    fn likeness<'a>(&'a self, place: &'a [f64]) -> impl Iterator<Item = f64> + 'a {
        self.places.iter().map(move |heat| (-0.5 * square(place, heat) / (self.near.length * self.near.length)).exp())
    }

    /// Distance to the nearest measured composition, in units within which steels behave alike.
    pub fn distance(&self, amounts: &Amounts) -> f64 {
        let here = self.place_of(amounts);
        self.places.iter().map(|heat| square(&here, heat)).fold(f64::INFINITY, f64::min).sqrt()
    }

    pub fn shared(&self, amounts: &Amounts) -> Shared {
        let has = forward(&self.triangle, self.count(), self.likeness(&self.place_of(amounts)).collect());
        let left = (1.0 - has.iter().map(|has| has * has).sum::<f64>()).max(0.0);
        Shared { has, alone: self.near.scale.map(|scale| scale * scale * left) }
    }
}

fn square(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| (a - b) * (a - b)).sum()
}

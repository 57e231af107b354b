//! What is around the part, and the heat transfer coefficient that goes with it.

use crate::error::{Error, Result};

/// What is around the part, and with it the heat transfer coefficient.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Surroundings {
    /// An oven without a fan.
    StillAir,
    /// An oven with a fan.
    FanAir,
    /// Packed in hot sand.
    Sand,
    /// An oil bath.
    Oil,
    /// A salt bath.
    Salt,
}

impl Surroundings {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::StillAir, Self::FanAir, Self::Sand, Self::Oil, Self::Salt];

    /// Its name in Python.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::StillAir => "still air",
            Self::FanAir => "fan air",
            Self::Sand => "sand",
            Self::Oil => "oil",
            Self::Salt => "salt",
        }
    }

    /// From its name.
    ///
    /// # Errors
    /// [`Error::UnknownName`].
    pub fn named(name: &str) -> Result<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name).ok_or_else(|| Error::UnknownName {
            kind: "surroundings".into(),
            name: name.to_owned(),
            close: Self::ALL.iter().map(|kind| kind.name().to_owned()).collect(),
            hint: "Or give h_w_m2k, a heat transfer coefficient of your own".into(),
        })
    }

    /// Heat transfer coefficient in W/m²K: low, likely, high. An assumption: nobody's oven is known better than to a
    /// factor of two without a probe beside the part. Air from practice, the baths from memory.
    #[must_use]
    pub const fn h_w_m2k(self) -> (f64, f64, f64) {
        match self {
            Self::StillAir => (8.0, 13.0, 20.0),
            Self::FanAir => (20.0, 35.0, 60.0),
            Self::Sand => (20.0, 50.0, 120.0),
            Self::Oil => (80.0, 200.0, 500.0),
            Self::Salt => (200.0, 500.0, 1200.0),
        }
    }
}

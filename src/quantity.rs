//! Quantities with their unit in the type, held in the unit people use and converted once.
//!
//! Kelvin is derived where a law needs it: a bound of 760 °C that went through kelvin and back would refuse 760.

use serde::{Deserialize, Serialize};

/// 0 °C in kelvin, exact by definition of the Celsius scale.
pub const ZERO_CELSIUS_K: f64 = 273.15;

/// log10 of the seconds in an hour: what separates C for hours from C for seconds.
pub const LOG10_SECONDS_PER_HOUR: f64 = 3.556_302_500_767_287_3;

/// A temperature (a level), held in °C.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct Temperature {
    celsius: f64,
}

impl Temperature {
    /// From degrees Celsius.
    #[must_use]
    pub const fn from_celsius(celsius: f64) -> Self {
        Self { celsius }
    }

    /// From degrees Fahrenheit.
    #[must_use]
    pub const fn from_fahrenheit(fahrenheit: f64) -> Self {
        Self { celsius: (fahrenheit - 32.0) / 1.8 }
    }

    /// In degrees Celsius, as it was given.
    #[must_use]
    pub const fn celsius(self) -> f64 {
        self.celsius
    }

    /// In kelvin.
    #[must_use]
    pub const fn kelvin(self) -> f64 {
        self.celsius + ZERO_CELSIUS_K
    }
}

/// A difference of temperatures: no offset, so no mistaking it for a level.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct TemperatureDifference {
    kelvin: f64,
}

impl TemperatureDifference {
    /// From a difference in °C, which is one in kelvin.
    #[must_use]
    pub const fn from_delta_c(delta_c: f64) -> Self {
        Self { kelvin: delta_c }
    }

    /// The difference in kelvin or °C.
    #[must_use]
    pub const fn delta_c(self) -> f64 {
        self.kelvin
    }
}

/// How long a temperature was held, in hours.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct HoldTime {
    hours: f64,
}

impl HoldTime {
    /// From hours.
    #[must_use]
    pub const fn from_hours(hours: f64) -> Self {
        Self { hours }
    }

    /// From seconds.
    #[must_use]
    pub const fn from_seconds(seconds: f64) -> Self {
        Self { hours: seconds / 3600.0 }
    }

    /// In hours.
    #[must_use]
    pub const fn hours(self) -> f64 {
        self.hours
    }
}

/// A length of the part: thickness, diameter, distance from an edge; in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct Length {
    millimetres: f64,
}

impl Length {
    /// From millimetres.
    #[must_use]
    pub const fn from_mm(millimetres: f64) -> Self {
        Self { millimetres }
    }

    /// In millimetres.
    #[must_use]
    pub const fn mm(self) -> f64 {
        self.millimetres
    }
}

/// The constant C of M = T(C + log10 t). The unit of t is part of its identity, so it is asked for by name.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct SteelConstant {
    per_hours: f64,
}

impl SteelConstant {
    /// C for times in hours.
    #[must_use]
    pub const fn for_hours(c: f64) -> Self {
        Self { per_hours: c }
    }

    /// C for times in seconds.
    #[must_use]
    pub const fn for_seconds(c: f64) -> Self {
        Self { per_hours: c + LOG10_SECONDS_PER_HOUR }
    }

    /// C for times in hours.
    #[must_use]
    pub const fn hours(self) -> f64 {
        self.per_hours
    }

    /// C for times in seconds.
    #[must_use]
    pub const fn seconds(self) -> f64 {
        self.per_hours - LOG10_SECONDS_PER_HOUR
    }
}

//! A long log of an oven, and parts that follow its air.

use afterquench::oven::{Part, Place, Response, Trace, section_lags};

/// The parts that are raced.
pub const PARTS: [&str; 3] = ["one body", "carbon steel", "section"];

/// Air each 10 s: heating for half an hour, then a hold that swings by 2 °C.
pub fn air(samples: u32) -> Trace {
    Trace {
        seconds: (0..samples).map(|i| 10.0 * f64::from(i)).collect(),
        celsius: (0..samples).map(|i| (20.0 + f64::from(i)).min(200.0) + 2.0 * (0.05 * f64::from(i)).sin()).collect(),
    }
}

/// How one of [`PARTS`] follows: one lag, one that goes with the heat capacity, a plate of 50 mm.
pub fn response(part: &str) -> Response {
    match part {
        "one body" => Response::Lag(300.0),
        "carbon steel" => Response::Rising(300.0),
        _ => Response::Lags(section_lags(Part::Plate(50.0), 300.0, Place::Core).unwrap()),
    }
}

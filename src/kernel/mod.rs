//! Array evaluation: plain `f64` in, plain `f64` out, no units and no policy.

mod lane;

pub use lane::{ArrayModel, Lane, evaluate_one};

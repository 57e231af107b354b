//! Array evaluation: plain `f64` in, plain `f64` out, no units and no policy.

mod column;
mod dispatch;
mod exp_log;
mod lane;
mod lookup;
mod sound;
mod threads;

pub use column::{BLOCK, Column, map1, map2, map3, map4, spread};
pub(crate) use dispatch::dispatched;
#[cfg(target_arch = "x86_64")]
pub use dispatch::has_avx2;
pub use exp_log::{exp2, exp2_inside, log2, log2_parts};
pub use lane::{ArrayModel, Lane, evaluate_one};
pub use lookup::{Piecewise, PiecewiseCubic, PiecewiseLinear};
pub(crate) use sound::{all_between, never_falls};
pub use threads::{beside, both, in_parts, set_threads, threads};

//! What a shop's own coupons say: level, slope, C or "not determined", the curve through them, what to run next.

mod belief;
mod bias;
mod cheapest;
mod coupon;
mod coupons;
mod design;
mod determined;
mod doubt;
mod drawn;
mod layout;
mod model;
mod outcome;
mod pool;
mod profile;
mod said;
mod settled;
mod squares;
mod table;
mod unmoved;

pub use bias::{bias_of_block, bias_of_blocks};
pub use coupon::{Coupon, read_coupon_file, read_coupons};
pub use coupons::{COUPON_FIT, CouponOptions, LineShape, fit_coupons};
pub use design::{CouponDesign, CouponRun, DesignBasis, DesignGoal};
pub use determined::{Determined, NotDetermined};
pub use doubt::CouponDoubt;
pub use outcome::CouponFit;
pub use pool::{BATCH_POOL, BatchLevel, BatchPool, PoolMethod, pool_coupons, pool_levels};
pub use table::{TextColumn, is_blank_text};

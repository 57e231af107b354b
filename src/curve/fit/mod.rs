//! What a shop's own coupons say: level, slope, C or "not determined", the curve through them, what to run next.

mod coupon;
mod coupons;
mod design;
mod determined;
mod doubt;
mod model;
mod pool;
mod profile;
mod settled;
mod squares;

pub use coupon::{Coupon, TextColumn, read_coupon_file, read_coupons};
pub use coupons::{COUPON_FIT, CouponFit, CouponOptions, LineShape, fit_coupons};
pub use design::{CouponDesign, CouponRun, DesignBasis, DesignGoal};
pub use determined::{Determined, NotDetermined};
pub use doubt::CouponDoubt;
pub use pool::{BATCH_POOL, BatchLevel, BatchPool, PoolMethod, pool_coupons, pool_levels};

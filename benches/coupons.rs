//! Time of a coupon fit with the profile of C: `cargo bench --bench coupons`.

#[path = "promised/shop.rs"]
mod shop;

use afterquench::curve::TemperingCurve;
use afterquench::curve::fit::{Coupon, CouponOptions, DesignBasis, DesignGoal, fit_coupons};
use divan::Bencher;

use self::shop::coupons;

fn main() {
    divan::main();
}

#[divan::bench]
fn fit_with_profile(bencher: Bencher) {
    let (coupons, options) = (coupons(), CouponOptions::default());
    bencher.bench_local(|| fit_coupons(divan::black_box(&coupons), &options));
}

#[divan::bench]
fn fit_to_a_base_curve(bencher: Bencher) {
    let base = TemperingCurve::new(&[150.0, 200.0, 250.0, 300.0, 400.0], &[62.6, 60.4, 57.8, 55.5, 50.2]).ok();
    let (coupons, options) = (coupons(), CouponOptions { base, ..CouponOptions::default() });
    bencher.bench_local(|| fit_coupons(divan::black_box(&coupons), &options));
}

#[divan::bench]
fn fit_with_uncertain_temperatures(bencher: Bencher) {
    let coupons: Vec<Coupon> = coupons().into_iter().map(|one| Coupon { u_temperature: 3.0, ..one }).collect();
    let options = CouponOptions::default();
    bencher.bench_local(|| fit_coupons(divan::black_box(&coupons), &options));
}

#[divan::bench]
fn cheapest_design(bencher: Bencher) {
    let goal = DesignGoal { u_c: Some(2.0), ..DesignGoal::default() };
    bencher.bench_local(|| DesignBasis::default().cheapest(divan::black_box(&goal)));
}

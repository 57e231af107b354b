//! Time of a coupon fit with the profile of C: `cargo bench --bench coupons`.

use afterquench::curve::TemperingCurve;
use afterquench::curve::fit::{Coupon, CouponOptions, DesignBasis, DesignGoal, fit_coupons};
use afterquench::{HoldTime, Temperature};
use divan::Bencher;

fn main() {
    divan::main();
}

/// Twenty-one invented coupons: five temperatures, holds of 0.5 to 24 h, five readings each.
fn coupons() -> Vec<Coupon> {
    let holds = [175.0, 200.0, 225.0, 250.0, 300.0].into_iter().flat_map(|t| [0.5, 2.0, 8.0, 24.0].map(|h| (t, h)));
    holds
        .chain([(200.0, 2.0)])
        .enumerate()
        .map(|(i, (celsius, hours)): (usize, (f64, f64))| {
            let own = (celsius + 273.15) * (18.0 + hours.log10()) / 18.301 - 273.15;
            let hrc = 60.4 - 0.05 * (own - 200.0) + 0.3 * (7.0 * i as f64).sin();
            Coupon {
                name: format!("K{i}"),
                batch: None,
                temperature: Temperature::from_celsius(celsius),
                time: HoldTime::from_hours(hours),
                readings: [-0.3, -0.1, 0.0, 0.1, 0.3].map(|by| hrc + by).to_vec(),
                u_temperature: 0.0,
                u_time: 0.0,
                as_quenched_hrc: None,
                remark: String::new(),
            }
        })
        .collect()
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

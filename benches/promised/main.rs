//! What the core promises of its speed, beside what it does: `cargo bench --bench promised`.
//!
//! One line each, in columns that `benches/promised.py` reads: what, measured, bar, unit. The best of some rounds counts,
//! as other work on the machine only ever adds.

mod oven;
mod part;
mod shop;

use std::hint::black_box;
use std::time::Instant;

use afterquench::curve::fit::{CouponOptions, fit_coupons};
use afterquench::oven::Trace;

/// Samples of the log that parts follow.
const SAMPLES: u32 = 1_000_000;

/// Draws of a decision.
const DRAWS: usize = 1_000_000;

/// Seconds of the quickest round.
fn best<R>(rounds: usize, mut work: impl FnMut() -> R) -> f64 {
    let round = |_| {
        let start = Instant::now();
        black_box(work());
        start.elapsed().as_secs_f64()
    };
    (0..rounds).map(round).fold(f64::INFINITY, f64::min)
}

fn say(what: &str, measured: f64, bar: f64, unit: &str) {
    println!("{what}\t{measured:.2}\t{bar}\t{unit}");
}

fn main() {
    let air = oven::air(SAMPLES);
    for part in oven::PARTS {
        let response = oven::response(part);
        let mut kept = Trace::default();
        for (result, seconds) in [
            ("", best(30, || black_box(&response).follow_into(&air, 20.0, &mut kept))),
            (", into fresh memory", best(30, || black_box(&response).follow(&air, 20.0))),
        ] {
            let each = seconds * 1e9 / f64::from(SAMPLES);
            say(&format!("soak of a log of 1e6 samples, {part}{result}"), each, 20.0, "ns a sample");
        }
    }
    let readings = part::readings();
    let seconds = best(30, || readings.monte_carlo(None, "astm-e140-1", None, DRAWS, 1));
    say("decision by 1e6 draws", seconds * 1e3, 15.0, "ms");
    let (coupons, options) = (shop::coupons(), CouponOptions::default());
    let seconds = best(30, || fit_coupons(black_box(&coupons), &options));
    say("coupon fit with the profile of C", seconds * 1e3, 50.0, "ms");
}

//! Time an element of the array kernels, on one thread: `cargo bench`.

#[path = "promised/oven.rs"]
mod oven;
#[path = "promised/part.rs"]
mod part;

use std::sync::Arc;

use afterquench::kernel::{ArrayModel, Lane, PiecewiseCubic, PiecewiseLinear};
use afterquench::steel::{CompositionSteel, HardnessFromComposition, UncertaintyFromComposition};
use afterquench::temper::{EquivalentTemperature, EquivalentTime, History, TemperParameter};
use divan::Bencher;
use divan::counter::ItemsCount;

fn main() {
    divan::main();
}

const N: usize = 10_000;

fn celsius() -> Vec<f64> {
    (0..N).map(|i| 150.0 + 0.04 * i as f64).collect()
}

fn hours() -> Vec<f64> {
    (0..N).map(|i| 0.25 + 0.001 * i as f64).collect()
}

fn run(bencher: Bencher, model: &dyn ArrayModel, lanes: &[Lane<'_>]) {
    let mut out = vec![0.0; N];
    bencher.counter(ItemsCount::new(N)).bench_local(|| model.fill(divan::black_box(lanes), &mut out));
}

#[divan::bench]
fn equivalent_time_one_array(bencher: Bencher) {
    let celsius = celsius();
    run(bencher, &EquivalentTime, &[Lane::Each(&celsius), Lane::One(2.0), Lane::One(200.0), Lane::One(18.0)]);
}

#[divan::bench]
fn equivalent_time_all_arrays(bencher: Bencher) {
    let (celsius, hours, c) = (celsius(), hours(), vec![18.0; N]);
    run(bencher, &EquivalentTime, &[Lane::Each(&celsius), Lane::Each(&hours), Lane::Each(&celsius), Lane::Each(&c)]);
}

#[divan::bench]
fn equivalent_temperature_two_arrays(bencher: Bencher) {
    let (celsius, hours) = (celsius(), hours());
    run(bencher, &EquivalentTemperature, &[Lane::Each(&celsius), Lane::Each(&hours), Lane::One(2.0), Lane::One(18.0)]);
}

#[divan::bench]
fn parameter_one_array(bencher: Bencher) {
    let celsius = celsius();
    run(bencher, &TemperParameter, &[Lane::Each(&celsius), Lane::One(2.0), Lane::One(18.0)]);
}

#[divan::bench]
fn cubic(bencher: Bencher) {
    let knots: Vec<f64> = (0..20).map(|i| 150.0 + 25.0 * f64::from(i)).collect();
    let pieces = (0..19).map(|i| [60.0 - f64::from(i), -0.04, 1e-5, -1e-7]).collect();
    let (table, x) = (PiecewiseCubic::new(knots, pieces).unwrap(), celsius());
    let mut out = vec![0.0; N];
    bencher.counter(ItemsCount::new(N)).bench_local(|| table.fill(divan::black_box(Lane::Each(&x)), &mut out));
}

#[divan::bench]
fn line(bencher: Bencher) {
    let knots: Vec<f64> = (0..50).map(|i| 100.0 + 12.0 * f64::from(i)).collect();
    let pieces = (0..49).map(|i| [f64::from(i), 1.0 / 12.0]).collect();
    let (table, x) = (PiecewiseLinear::new(knots, pieces).unwrap(), celsius());
    let mut out = vec![0.0; N];
    bencher.counter(ItemsCount::new(N)).bench_local(|| table.fill(divan::black_box(Lane::Each(&x)), &mut out));
}

/// A log of 10 s samples: heating for half an hour, then a hold that swings by 2 °C.
#[divan::bench(sample_count = 20)]
fn history_of_a_log(bencher: Bencher) {
    let air = oven::air(1_000_000);
    bencher.counter(ItemsCount::new(air.seconds.len())).bench_local(|| {
        let mut history = History::for_constants(&[20.0]).unwrap();
        history.extend(&air.seconds, &air.celsius).unwrap();
        history.parameters()
    });
}

/// The part behind the air of such a log, sampled each 10 s: one body, carbon steel, a section's sum of lags.
#[divan::bench(args = oven::PARTS, sample_count = 10)]
fn soak_of_a_log(bencher: Bencher, part: &str) {
    let (air, response) = (oven::air(1_000_000), oven::response(part));
    bencher.counter(ItemsCount::new(air.seconds.len())).bench_local(|| divan::black_box(&response).follow(&air, 20.0));
}

/// Six elements: as many functions as most steels have.
fn low_alloy() -> Arc<CompositionSteel> {
    let composition = [("C", 0.40), ("Mn", 0.85), ("Si", 0.25), ("Cr", 0.95), ("Mo", 0.20), ("Ni", 0.10)];
    Arc::new(CompositionSteel::new(&composition).unwrap())
}

#[divan::bench]
fn hardness_from_composition(bencher: Bencher) {
    let celsius = celsius();
    run(bencher, &HardnessFromComposition(low_alloy()), &[Lane::Each(&celsius), Lane::One(2.0)]);
}

#[divan::bench]
fn uncertainty_from_composition(bencher: Bencher) {
    let celsius = celsius();
    run(bencher, &UncertaintyFromComposition(low_alloy()), &[Lane::Each(&celsius), Lane::One(2.0)]);
}

/// A steel made from its composition and two readings.
#[divan::bench]
fn composition_steel_with_two_readings(bencher: Bencher) {
    use afterquench::steel::OwnReading;
    use afterquench::{HoldTime, Temperature};
    let reading = |celsius: f64, hrc: f64| OwnReading {
        temperature: Temperature::from_celsius(celsius),
        time: HoldTime::from_hours(2.0),
        hrc,
        u: None,
    };
    let readings = [reading(200.0, 54.0), reading(540.0, 36.0)];
    let composition = [("C", 0.40), ("Mn", 0.85), ("Si", 0.25), ("Cr", 0.95), ("Mo", 0.20), ("Ni", 0.10)];
    bencher.bench_local(|| CompositionSteel::new(divan::black_box(&composition)).unwrap().given(&readings).unwrap());
}

/// Three readings on a checked tester, by a million draws: the target is 15 ms.
#[divan::bench(sample_count = 20)]
fn readings_by_draws(bencher: Bencher) {
    let readings = part::readings();
    bencher
        .counter(ItemsCount::new(1_000_000usize))
        .bench_local(|| readings.monte_carlo(None, "astm-e140-1", None, 1_000_000, 1).unwrap());
}

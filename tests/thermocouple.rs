//! Sensors: the inverse undoes the forward function, beside what the published inverse polynomials do.
//!
//! The printed tables are rows of `published/thermocouple.csv` and `published/pt100.csv`.

use std::fmt::Write as _;

use afterquench::Temperature;
use afterquench::kernel::evaluate_one;
use afterquench::oven::{
    EmfOver, SensorCalibration, TemperatureOver, Thermocouple, pt100_resistance_ohm, pt100_temperature,
};

const PAGE: &str = include_str!("../docs/thermocouples.md");

/// Even steps from low to high, both ends among them.
fn scan(low: f64, high: f64, step: f64) -> impl Iterator<Item = f64> {
    let count = ((high - low) / step).ceil() as usize;
    (0..=count).map(move |i| low + (high - low) * i as f64 / count as f64)
}

#[test]
fn inverse_returns_over_the_whole_range() {
    for kind in Thermocouple::ALL {
        let function = kind.function().unwrap();
        let (low, high) = function.range_c();
        let worst = scan(low, high, 0.05)
            .map(|celsius| (function.celsius(function.emf_mv(celsius)) - celsius).abs())
            .fold(0.0, f64::max);
        assert!(worst < 1e-5, "{kind:?}: {worst}");
    }
}

#[test]
fn emf_rises_over_the_whole_range() {
    for kind in Thermocouple::ALL {
        let function = kind.function().unwrap();
        let (low, high) = function.range_c();
        assert!(scan(low, high, 0.05).all(|celsius| function.slope_mv_per_c(celsius) > 0.0), "{kind:?}");
    }
}

/// The slope is the derivative: central differences agree.
#[test]
fn slope_is_the_derivative() {
    for kind in Thermocouple::ALL {
        let function = kind.function().unwrap();
        let (low, high) = function.range_c();
        for celsius in scan(low + 1.0, high - 1.0, 7.3) {
            let by_difference = (function.emf_mv(celsius + 0.01) - function.emf_mv(celsius - 0.01)) / 0.02;
            assert!((function.slope_mv_per_c(celsius) - by_difference).abs() < 2e-5, "{kind:?} {celsius}");
        }
    }
}

/// docs/thermocouples.md: what the published inverse polynomials state, what they do, and what Newton leaves.
#[test]
fn published_inverses_keep_what_they_state_and_the_page_shows_it() {
    let mut rows = String::new();
    for kind in Thermocouple::ALL {
        let function = kind.function().unwrap();
        for published in function.published_inverses() {
            let (mut low, mut high, mut ours) = (f64::INFINITY, f64::NEG_INFINITY, 0.0f64);
            for celsius in scan(published.low_c, published.high_c, 0.05) {
                let emf = function.emf_mv(celsius);
                let error = published.celsius(emf) - celsius;
                (low, high) = (low.min(error), high.max(error));
                ours = ours.max((function.celsius(emf) - celsius).abs());
            }
            let (stated_low, stated_high) = published.stated_error_delta_c;
            // Stated errors are rounded to their last digit: half of it may be missing.
            let half = if stated_high < 0.001 {
                0.00005
            } else if stated_high < 0.01 {
                0.0005
            } else {
                0.005
            };
            assert!(low >= stated_low - half && high <= stated_high + half, "{kind:?}: {low} {high}");
            assert!(ours < 1e-9, "{kind:?}: {ours}");
            writeln!(
                rows,
                "| {} | {} to {} | {stated_low} to {stated_high} | {low:.4} to {high:.4} | under 0.000000001 |",
                kind.letter(),
                published.low_c,
                published.high_c,
            )
            .unwrap();
        }
    }
    assert!(PAGE.contains(&rows), "docs/thermocouples.md should hold these rows:\n{rows}");
}

#[test]
fn zero_is_zero_and_the_ends_belong_to_the_range() {
    for kind in Thermocouple::ALL {
        assert_eq!(evaluate_one(&EmfOver(kind), &[0.0, 0.0]).unwrap(), 0.0);
        assert_eq!(evaluate_one(&TemperatureOver(kind), &[0.0, 0.0]).unwrap(), 0.0);
        let (low, high) = kind.function().unwrap().range_c();
        for end in [low, high] {
            let emf = evaluate_one(&EmfOver(kind), &[end, 0.0]).unwrap();
            assert!((evaluate_one(&TemperatureOver(kind), &[emf, 0.0]).unwrap() - end).abs() < 1e-5);
            let beyond = emf + 0.001 * end.signum();
            assert!(evaluate_one(&TemperatureOver(kind), &[beyond, 0.0]).unwrap_err().is_out_of_range());
        }
    }
}

/// Degrees added after the inversion are wrong, and by how much is printed for each type.
#[test]
fn cold_junction_is_added_as_emf() {
    for (kind, hot, cold, wrong) in [
        (Thermocouple::K, 240.0, 25.0, 240.195),
        (Thermocouple::J, 240.0, 25.0, 242.001),
        (Thermocouple::N, 240.0, 25.0, 245.523),
        (Thermocouple::T, 200.0, 25.0, 206.144),
    ] {
        let celsius = Temperature::from_celsius;
        let measured = kind.emf_mv(celsius(hot), celsius(cold)).unwrap();
        assert!((kind.temperature(measured, celsius(cold)).unwrap().celsius() - hot).abs() < 1e-8);
        let degrees_added = kind.temperature(measured, celsius(0.0)).unwrap().celsius() + cold;
        assert!((degrees_added - wrong).abs() < 6e-4, "{kind:?}: {degrees_added}");
    }
}

#[test]
fn platinum_returns_over_the_whole_range() {
    for celsius in scan(-200.0, 850.0, 0.05) {
        for nominal in [100.0, 1000.0] {
            let ohm = pt100_resistance_ohm(Temperature::from_celsius(celsius), nominal).unwrap();
            let back = pt100_temperature(ohm, nominal).unwrap().celsius();
            assert!((back - celsius).abs() < 1e-9, "{celsius}: {back}");
        }
    }
}

#[test]
fn calibration_points_hold_at_the_points_and_nowhere_beyond() {
    let points = SensorCalibration::new(&[200.0, 100.0], &[202.0, 100.5], &[0.3, 0.3], 10.0).unwrap();
    assert_eq!((points.at(100.0).unwrap(), points.at(200.0).unwrap()), (0.5, 2.0));
    assert_eq!((points.at(95.0).unwrap(), points.at(210.0).unwrap()), (0.5, 2.0));
    assert!(points.at(210.1).unwrap_err().is_out_of_range());
    assert!((points.estimate(100.0).unwrap().u() - 0.3).abs() < 1e-15);
    assert!(points.estimate(150.0).unwrap().u() > 0.45, "the points disagree by 1.5");
    assert!(SensorCalibration::new(&[], &[], &[], 0.0).is_err());
    assert!(SensorCalibration::new(&[100.0, 100.0], &[1.0, 2.0], &[0.0, 0.0], 0.0).is_err());
    assert!(SensorCalibration::new(&[100.0], &[100.0], &[-0.1], 0.0).is_err());
}

//! The temper room against laws and outside values.

use afterquench::temper::{History, equivalent_time, two_hour_equivalent};
use afterquench::{HoldTime, SteelConstant, Temperature};
use proptest::prelude::*;

fn celsius(value: f64) -> Temperature {
    Temperature::from_celsius(value)
}

/// The trace of points `(minute, °C)` joined by straight lines, for one C: its two-hour equivalent temperature.
fn equivalent(points: &[(f64, f64)], c: f64) -> f64 {
    let mut history = History::for_constants(&[c]).unwrap();
    for &(minute, value) in points {
        history.push(minute * 60.0, celsius(value)).unwrap();
    }
    history.two_hour_equivalents()[0].celsius()
}

/// Acceptance rows H11 and H12 (worked out by stepping with steps that were halved until they agreed).
#[test]
fn overshoot_history() {
    let points = [
        (0.0, 20.0),
        (40.0, 240.0),
        (52.0, 254.0),
        (66.0, 246.0),
        (85.0, 207.0),
        (100.0, 200.0),
        (220.0, 200.0),
        (340.0, 60.0),
    ];
    assert!((equivalent(&points, 15.0) - 231.579).abs() < 0.01, "{}", equivalent(&points, 15.0));
    assert!((equivalent(&points, 20.0) - 234.402).abs() < 0.01, "{}", equivalent(&points, 20.0));
}

/// A long cool-down and a never-warm start neither overflow nor add anything.
#[test]
fn extremes_are_quiet() {
    let mut history = History::for_constants(&[20.0]).unwrap();
    history.push(0.0, celsius(-40.0)).unwrap();
    history.push(0.0, celsius(600.0)).unwrap();
    history.push(3600.0, celsius(600.0)).unwrap();
    let hot = history.parameters()[0];
    history.push(7200.0, celsius(-100.0)).unwrap();
    history.push(1e13, celsius(-100.0)).unwrap();
    assert!(history.parameters()[0] >= hot && history.parameters()[0].is_finite());
    assert!(history.parameters()[0] - hot < 30.0);
}

proptest! {
    /// There and back is where you were; hotter is never slower.
    #[test]
    fn equivalence_returns(a in 120.0..650.0f64, b in 120.0..650.0f64, h in 0.01..100.0f64, c in 12.0..25.0f64) {
        let c = SteelConstant::for_hours(c);
        let there = equivalent_time(celsius(a), HoldTime::from_hours(h), celsius(b), c).unwrap();
        prop_assume!(there.hours() > 1e-290 && there.hours() < 1e290);
        let back = equivalent_time(celsius(b), there, celsius(a), c).unwrap();
        prop_assert!((back.hours() / h - 1.0).abs() < 1e-9);
        if b > a { prop_assert!(there.hours() <= h); }
    }

    /// A ramp split anywhere gives the same state.
    #[test]
    fn splits_agree(from in 20.0..300.0f64, to in 20.0..300.0f64, minutes in 1.0..300.0f64, at in 0.05..0.95f64, c in 14.0..22.0f64) {
        let mut whole = History::for_constants(&[c]).unwrap();
        whole.hold(celsius(180.0), 600.0).unwrap();
        let mut parts = whole.clone();
        let middle = from + (to - from) * at;
        whole.ramp(celsius(from), celsius(to), minutes * 60.0).unwrap();
        parts.ramp(celsius(from), celsius(middle), minutes * 60.0 * at).unwrap();
        parts.ramp(celsius(middle), celsius(to), minutes * 60.0 * (1.0 - at)).unwrap();
        let (a, b) = (whole.parameters()[0], parts.parameters()[0]);
        prop_assert!((a / b - 1.0).abs() < 1e-9, "{a} {b}");
    }

    /// More heat or more time never gives less.
    #[test]
    fn more_is_never_less(t in 100.0..400.0f64, extra in 0.0..50.0f64, h in 0.1..10.0f64, longer in 1.0..3.0f64, c in 14.0..22.0f64) {
        let c = SteelConstant::for_hours(c);
        let base = two_hour_equivalent(celsius(t), HoldTime::from_hours(h), c).unwrap().celsius();
        prop_assert!(two_hour_equivalent(celsius(t + extra), HoldTime::from_hours(h), c).unwrap().celsius() >= base - 1e-9);
        prop_assert!(two_hour_equivalent(celsius(t), HoldTime::from_hours(h * longer), c).unwrap().celsius() >= base - 1e-9);
    }
}

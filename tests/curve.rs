//! The curve room against SciPy, acceptance values and laws.

use afterquench::curve::{
    EstimateOptions, HardnessAfterTemper, HoldSpread, MonotoneCubic, Side, TemperingCurve, hardness_after_estimate,
};
use afterquench::temper::ConstantBelief;
use afterquench::{Error, HoldTime, Temperature};
use proptest::prelude::*;

const FALLING: [(f64, f64); 9] = [
    (150.0, 62.6),
    (175.0, 61.6),
    (200.0, 60.4),
    (225.0, 59.1),
    (250.0, 57.8),
    (275.0, 56.6),
    (300.0, 55.5),
    (350.0, 53.0),
    (400.0, 50.2),
];

const HUMPED: [(f64, f64); 12] = [
    (150.0, 61.5),
    (200.0, 60.0),
    (250.0, 58.8),
    (300.0, 58.2),
    (350.0, 58.0),
    (400.0, 58.3),
    (450.0, 59.2),
    (500.0, 60.4),
    (525.0, 60.6),
    (550.0, 58.9),
    (575.0, 55.6),
    (600.0, 51.5),
];

/// An invented curve; only its shape is realistic.
fn invented(points: &[(f64, f64)]) -> TemperingCurve {
    let (x, y): (Vec<_>, Vec<_>) = points.iter().copied().unzip();
    TemperingCurve::new(&x, &y).unwrap().named("invented demo").with_as_quenched(64.8, 0.5).unwrap()
}

fn celsius(value: f64) -> Temperature {
    Temperature::from_celsius(value)
}

fn hours(value: f64) -> HoldTime {
    HoldTime::from_hours(value)
}

/// SciPy 1.x, `PchipInterpolator` (independent code), and its inverse by `brentq`.
#[test]
fn agrees_with_scipy() {
    let curve = invented(&FALLING);
    let at = |t: f64| curve.hardness_after(celsius(t), hours(2.0), None, None).unwrap();
    assert!((at(212.0) - 59.782_749_184).abs() < 1e-9, "{}", at(212.0));
    for (hrc, expected) in [(62.0, 165.5544), (60.5, 197.9978)] {
        let found = curve.temperature_for(hrc, hours(2.0), None, None, None).unwrap().celsius();
        assert!((found - expected).abs() < 1e-4, "{found}");
    }
    let roots = invented(&HUMPED).temperatures_for(59.0, hours(2.0), None, None).unwrap();
    let expected = [(239.26, Side::Falling), (440.51, Side::Rising), (548.90, Side::OverAgeing)];
    assert_eq!(roots.len(), 3);
    for (root, (at, side)) in roots.iter().zip(expected) {
        assert!((root.temperature.celsius() - at).abs() < 0.006 && root.side == side, "{root:?}");
    }
}

/// Acceptance rows C02 to C07 and C10.
#[test]
fn other_holds_go_through_the_parameter() {
    let curve = invented(&FALLING);
    let at = |h: f64, c: f64| curve.hardness_after(celsius(212.0), hours(h), Some(c), None).unwrap();
    assert!((at(8.0, 18.2) - 58.9545).abs() < 0.05);
    assert!((at(8.0, 15.0) - 58.78).abs() < 0.05 && (at(8.0, 20.0) - 59.03).abs() < 0.05);
    assert!((at(24.0, 15.0) - 57.99).abs() < 0.05 && (at(24.0, 20.0) - 58.43).abs() < 0.05);
    assert!((curve.slope_with(celsius(200.0), hours(2.0), 20.0).unwrap() + 0.050_297_9).abs() < 0.003);
    assert_eq!(curve.hardness_after(celsius(225.0), hours(2.0), None, None).unwrap(), 59.1);
    let refused = curve.hardness_after(celsius(140.0), hours(2.0), None, None).unwrap_err();
    assert!(refused.is_out_of_range() && refused.to_string().contains("150 °C"), "{refused}");
    let humped = invented(&HUMPED);
    let value = humped.hardness_after(celsius(525.0), hours(24.0), Some(20.0), None).unwrap();
    assert!((value - 56.7).abs() < 0.3, "{value}");
    assert!(humped.cautions(celsius(525.0), hours(24.0), 20.0)[0].contains("secondary hump"));
    assert!(humped.cautions(celsius(580.0), hours(2.5), 20.0).is_empty());
    assert!(matches!(
        curve.hardness_after(celsius(212.0), hours(8.0), None, None).unwrap_err(),
        Error::MissingArgument { .. }
    ));
}

/// Acceptance rows I01 to I03, C09.
#[test]
fn windows_and_roots() {
    let curve = invented(&FALLING);
    let at = |hrc: f64| curve.temperature_for(hrc, hours(2.0), None, None, None).unwrap().celsius();
    for (hrc, expected) in [(60.0, 208.0), (58.0, 246.0), (59.5, 217.0), (58.5, 236.0), (59.0, 227.0)] {
        assert!((at(hrc) - expected).abs() < 1.0, "{hrc}: {}", at(hrc));
    }
    let humped = invented(&HUMPED);
    let high = humped.temperatures_for(61.0, hours(2.0), None, None).unwrap();
    assert!(high.len() == 1 && (high[0].temperature.celsius() - 166.0).abs() < 3.0);
    assert!(matches!(
        humped.temperature_for(59.0, hours(2.0), None, None, None).unwrap_err(),
        Error::SeveralAnswers { ref answers, .. } if answers.len() == 3
    ));
    let chosen = humped.temperature_for(59.0, hours(2.0), None, None, Some(Side::OverAgeing)).unwrap();
    assert!((chosen.celsius() - 549.0).abs() < 3.0);
    assert!(curve.temperatures_for(63.0, hours(2.0), None, None).unwrap_err().is_out_of_range());
}

/// Acceptance rows U01, U02, U07 (Monte Carlo of two million draws outside this project).
#[test]
fn uncertainty_by_what_it_comes_from() {
    let curve = invented(&FALLING);
    let options = EstimateOptions { as_quenched: Some(65.0.into()), ..EstimateOptions::default() };
    let made = hardness_after_estimate(&curve, celsius(200.0), hours(2.0), &options).unwrap();
    let (low, high) = made.interval(0.95).unwrap();
    assert!((made.value() - 60.4).abs() < 0.1 && (low - 59.0).abs() < 0.1 && (high - 61.8).abs() < 0.1);
    assert!((made.u() - 0.72).abs() < 0.01);
    let share = made.components().iter().find(|part| part.name == "temperature").unwrap().u.powi(2) / made.u().powi(2);
    assert!((100.0 * share - 4.49662).abs() < 2.0, "{share}");
    let long = hardness_after_estimate(&curve, celsius(200.0), hours(8.0), &options).unwrap();
    let (low, high) = long.interval(0.95).unwrap();
    assert!((long.value() - 59.6).abs() < 0.1 && (low - 58.1).abs() < 0.11 && (high - 61.0).abs() < 0.11, "{long:?}");
}

/// Common practice, no source: a reading within its error moves nothing worth saying; one far below stops the job.
#[test]
fn as_quenched_reading_is_a_check() {
    let curve = invented(&FALLING);
    let at = |a: f64| curve.hardness_after(celsius(200.0), hours(2.0), None, Some(a));
    assert!((at(65.0).unwrap() - 60.4).abs() < 0.1);
    assert!(at(64.0).unwrap() < 60.4 && at(64.0).unwrap() > 60.0);
    assert!(matches!(at(62.0).unwrap_err(), Error::NoAnswer { .. }));
    let hot = |a: f64| curve.hardness_after(celsius(400.0), hours(2.0), None, Some(a)).unwrap() - 50.2;
    assert!(hot(65.5).abs() < 0.1 && hot(65.5) > 0.0);
    let back = curve.temperature_for(at(64.2).unwrap(), hours(2.0), None, Some(64.2), None).unwrap();
    assert!((back.celsius() - 200.0).abs() < 1e-9);
}

#[test]
fn extrapolation_is_asked_for_and_marked() {
    let curve = invented(&FALLING);
    let asked = EstimateOptions { extrapolate: true, ..EstimateOptions::default() };
    let inside = hardness_after_estimate(&curve, celsius(150.0), hours(2.0), &asked).unwrap();
    let outside = hardness_after_estimate(&curve, celsius(140.0), hours(2.0), &asked).unwrap();
    assert!(!inside.is_extrapolated() && outside.is_extrapolated() && outside.u() > inside.u());
    assert!(hardness_after_estimate(&curve, celsius(140.0), hours(2.0), &EstimateOptions::default()).is_err());
    assert!(hardness_after_estimate(&curve, celsius(20.0), hours(2.0), &asked).is_err());
    let flat = EstimateOptions {
        spread: HoldSpread { position_delta_c: -1.0, ..HoldSpread::default() },
        ..EstimateOptions::default()
    };
    assert!(hardness_after_estimate(&curve, celsius(200.0), hours(2.0), &flat).is_err());
}

#[test]
fn a_level_stretch_gives_both_its_ends() {
    let cubic = MonotoneCubic::new(&[0.0, 1.0, 2.0, 3.0], &[3.0, 5.0, 5.0, 1.0]).unwrap();
    let ends: Vec<_> = cubic.crossings(5.0).iter().map(|crossing| (crossing.x, crossing.falls)).collect();
    assert_eq!(ends, [(1.0, false), (2.0, true)]);
}

#[test]
fn tables_that_are_none() {
    let refused = |x: &[f64], y: &[f64]| TemperingCurve::new(x, y).is_err();
    assert!(refused(&[], &[]) && refused(&[200.0], &[60.0]) && refused(&[200.0, 250.0], &[60.0]));
    assert!(refused(&[250.0, 200.0], &[58.0, 60.0]) && refused(&[200.0, 200.0], &[60.0, 59.0]));
    assert!(refused(&[200.0, f64::NAN], &[60.0, 59.0]) && refused(&[-300.0, 200.0], &[60.0, 59.0]));
    assert!(refused(&[200.0, 250.0], &[60.0, 820.0]));
    let good = || TemperingCurve::new(&[200.0, 250.0], &[60.0, 58.0]).unwrap();
    assert!(good().held(hours(0.0)).is_err() && good().held(hours(f64::INFINITY)).is_err());
    assert!(good().with_u_level(-1.0, "").is_err() && good().with_as_quenched(f64::NAN, 0.5).is_err());
    assert!(good().with_constant(ConstantBelief::Flat { low: 20.0, high: 15.0 }).is_err());
}

proptest! {
    /// Between neighbours the curve stays between them, and every root is one.
    #[test]
    fn monotone_between_points(y in prop::collection::vec(40.0..65.0f64, 2..12), place in 0.0..1.0f64, wanted in 40.0..65.0f64) {
        let x: Vec<f64> = (0..y.len()).map(|i| 150.0 + 37.0 * i as f64 + (i * i) as f64).collect();
        let cubic = MonotoneCubic::new(&x, &y).unwrap();
        for pair in x.windows(2).zip(y.windows(2)) {
            let at = pair.0[0] + place * (pair.0[1] - pair.0[0]);
            let (low, high) = (pair.1[0].min(pair.1[1]), pair.1[0].max(pair.1[1]));
            prop_assert!((low - 1e-9..=high + 1e-9).contains(&cubic.at(at)));
        }
        for crossing in cubic.crossings(wanted) {
            prop_assert!((cubic.at(crossing.x) - wanted).abs() < 1e-6);
        }
    }

    /// There and back: temperature to hardness to temperature at any hold and C.
    #[test]
    fn inverse_returns(t in 160.0..380.0f64, h in 0.5..8.0f64, c in 14.0..21.0f64) {
        let curve = invented(&FALLING);
        if let Ok(hrc) = curve.hardness_after(celsius(t), hours(h), Some(c), None) {
            let back = curve.temperature_for(hrc, hours(h), Some(c), None, None).unwrap();
            prop_assert!((back.celsius() - t).abs() < 1e-6);
        }
    }
}

/// The Rockwell C scale begins where the conversion table of ASTM E140 does, and a curve says so below it.
#[test]
fn the_scale_begins_where_its_table_does() {
    use afterquench::curve::{BELOW_THE_SCALE, SCALE_FROM_HRC};
    let table = afterquench::hardness::conversion_table("astm-e140-1").unwrap();
    let column = table.columns().iter().find(|column| column.scale == afterquench::hardness::Scale::Hrc).unwrap();
    let lowest = column.cells.iter().filter_map(|cell| cell.value).fold(f64::INFINITY, f64::min);
    assert_eq!(lowest, SCALE_FROM_HRC);
    assert!(BELOW_THE_SCALE.contains(&format!("{SCALE_FROM_HRC}")));
    let soft = TemperingCurve::new(&[600.0, 700.0], &[25.0, 15.0]).unwrap();
    let said = |at: f64| soft.cautions(celsius(at), hours(2.0), 20.0).iter().any(|line| line == BELOW_THE_SCALE);
    assert!(said(660.0) && !said(640.0));
}

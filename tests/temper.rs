//! The temper room against laws and outside values.

use afterquench::temper::{
    History, combine, equivalent_temperature, equivalent_time, equivalent_time_activation, implied_activation_energy,
    temper_parameter, two_hour_equivalent,
};
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

/// From °C, to °C, hours.
type Stretch = (f64, f64, f64);

fn after(c: f64, steps: &[Stretch]) -> History {
    let mut history = History::for_constants(&[c]).unwrap();
    for &(from, to, hours) in steps {
        history.ramp(celsius(from), celsius(to), hours * 3600.0).unwrap();
    }
    history
}

/// Independent code: SciPy's LSODA at rtol 1e-11 on y = log10 t*, printed to four decimals.
#[test]
fn ramps_agree_with_lsoda() {
    let rows: [(&[Stretch], [f64; 3]); 7] = [
        (&[(20.0, 200.0, 0.3), (200.0, 200.0, 2.0)], [7242.2137, 8661.2244, 9607.3067]),
        (&[(20.0, 200.0, 1.0), (200.0, 200.0, 2.0)], [7247.7124, 8665.8238, 9611.4525]),
        (&[(20.0, 220.0, 2.0)], [6986.3344, 8426.6744, 9390.3059]),
        (&[(20.0, 550.0, 53.0 / 60.0), (550.0, 550.0, 2.0)], [12602.5443, 15070.7145, 16716.3771]),
        (
            &[
                (200.0, 200.0, 1.0 / 6.0),
                (200.0, 215.0, 1.0 / 12.0),
                (215.0, 200.0, 1.0 / 12.0),
                (200.0, 200.0, 5.0 / 3.0),
            ],
            [7252.7072, 8676.0500, 9625.2594],
        ),
        (&[(200.0, 220.0, 1.0), (220.0, 200.0, 1.0)], [7410.8416, 8867.7747, 9839.7534]),
        (&[(200.0, 200.0, 2.0), (200.0, 20.0, 1.8)], [7252.0290, 8669.6348, 9614.9839]),
    ];
    for (steps, printed) in rows {
        for (c, expected) in [15.0, 18.0, 20.0].into_iter().zip(printed) {
            let got = after(c, steps).parameters()[0];
            assert!((got - expected).abs() < 1.0e-4, "{steps:?} C={c}: {got} for {expected}");
        }
    }
}

/// Closed forms worked by hand in kelvin with log10; printed digits.
#[test]
fn holds_and_equivalents() {
    let t = |a: f64, h: f64, b: f64, c: f64| {
        equivalent_time(celsius(a), HoldTime::from_hours(h), celsius(b), SteelConstant::for_hours(c)).unwrap().hours()
    };
    assert!((t(250.0, 2.0, 210.0, 15.0) / 36.966 - 1.0).abs() < 1e-4);
    assert!((t(250.0, 2.0, 210.0, 20.0) / 95.8855 - 1.0).abs() < 1e-5);
    let to = equivalent_temperature(
        celsius(200.0),
        HoldTime::from_hours(2.0),
        HoldTime::from_hours(4.0),
        SteelConstant::for_hours(20.0),
    )
    .unwrap()
    .celsius();
    assert!((to - 193.086).abs() < 5e-4);
    let flat = two_hour_equivalent(celsius(200.0), HoldTime::from_hours(2.0), SteelConstant::for_hours(17.0))
        .unwrap()
        .celsius();
    assert!((flat - 200.0).abs() < 1e-12);
    assert!(
        (temper_parameter(celsius(200.0), HoldTime::from_hours(2.0), SteelConstant::for_hours(20.0)).unwrap()
            - 9605.432)
            .abs()
            < 5e-4
    );
    let q =
        implied_activation_energy(celsius(200.0), HoldTime::from_hours(2.0), SteelConstant::for_hours(20.0)).unwrap();
    assert!((q - 183.89).abs() < 5e-3);
    let order = |a: f64, b: f64| {
        let steps = [(celsius(a), HoldTime::from_hours(2.0)), (celsius(b), HoldTime::from_hours(2.0))];
        combine(&steps, History::for_constants(&[20.0]).unwrap()).unwrap().two_hour_equivalents()[0].celsius()
    };
    assert!((order(200.0, 220.0) - 221.476).abs() < 5e-4);
    assert!((order(220.0, 200.0) - 221.314).abs() < 5e-4);
}

/// Independent code: adaptive quadrature, printed to six decimals.
#[test]
fn fixed_activation_energy() {
    let hours = |q: f64, points: &[(f64, f64)], reference: f64| {
        let (time, temperature): (Vec<f64>, Vec<f64>) = points.iter().map(|&(h, t)| (h * 3600.0, t)).unzip();
        equivalent_time_activation(&time, &temperature, q, celsius(reference)).unwrap().hours()
    };
    let heated = [(0.0, 20.0), (1.0, 200.0), (3.0, 200.0)];
    let triangle = [(0.0, 200.0), (1.0, 220.0), (2.0, 200.0)];
    for (q, first, second) in [(83.144, 2.114017, 3.183486), (100.0, 2.096106, 3.523572), (250.0, 2.040120, 9.589698)] {
        assert!((hours(q, &heated, 200.0) - first).abs() < 1e-6);
        assert!((hours(q, &triangle, 200.0) - second).abs() < 1e-6);
    }
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

/// Samples one by one, all at once and cut in two give the same; so does a tenth of the step along the same lines.
#[test]
fn a_log_in_any_portions() {
    let samples = 4000;
    let time: Vec<f64> = (0..samples).map(|i| 10.0 * f64::from(i)).collect();
    let temperature: Vec<f64> = (0..samples)
        .map(|i| {
            (20.0 + 0.7 * f64::from(i)).min(205.0) + 3.0 * (0.09 * f64::from(i)).sin()
                - if i > 3000 { 0.1 * f64::from(i - 3000) } else { 0.0 }
        })
        .collect();
    let fine_time: Vec<f64> = (0..10 * (samples - 1)).map(f64::from).collect();
    let fine: Vec<f64> = fine_time
        .iter()
        .map(|&time| {
            let (index, share) = ((time / 10.0) as usize, time / 10.0 % 1.0);
            temperature[index] + share * (temperature[index + 1] - temperature[index])
        })
        .collect();
    for c in [12.0, 15.0, 20.0, 25.0] {
        let fresh = || History::for_constants(&[c]).unwrap();
        let hours = |history: &History| history.equivalent_times(celsius(200.0)).unwrap()[0].hours();
        let mut single = fresh();
        for (&time, &value) in time.iter().zip(&temperature) {
            single.push(time, celsius(value)).unwrap();
        }
        let mut whole = fresh();
        whole.extend(&time, &temperature).unwrap();
        assert!(
            (hours(&whole) / hours(&single) - 1.0).abs() < 1e-9,
            "C = {c}: {}",
            hours(&whole) / hours(&single) - 1.0
        );
        for cut in [1, 200, 777, 3500] {
            let mut parts = fresh();
            parts.extend(&time[..cut], &temperature[..cut]).unwrap();
            parts.extend(&time[cut..], &temperature[cut..]).unwrap();
            assert!((hours(&whole) / hours(&parts) - 1.0).abs() < 1e-9, "C = {c}, cut at {cut}");
        }
        let mut finely = fresh();
        finely.extend(&fine_time, &fine).unwrap();
        let last = finely.seconds();
        finely.extend(&[last + 1.0], &[temperature[samples as usize - 1]]).unwrap();
        assert!(
            (hours(&whole) / hours(&finely) - 1.0).abs() < 1e-9,
            "C = {c}: {}",
            hours(&whole) / hours(&finely) - 1.0
        );
    }
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

    /// A ramp split anywhere gives the same equivalent time, also on a part that was never warm.
    #[test]
    fn splits_agree(
        from in -20.0..650.0f64, to in -20.0..650.0f64, minutes in 0.1..600.0f64, at in 0.001..0.999f64,
        c in 12.0..25.0f64, warm in any::<bool>(),
    ) {
        let start: &[Stretch] = if warm { &[(180.0, 180.0, 1.0)] } else { &[] };
        let (middle, hours) = (from + (to - from) * at, minutes / 60.0);
        let whole = after(c, &[start, &[(from, to, hours)]].concat());
        let split = after(c, &[start, &[(from, middle, hours * at), (middle, to, hours * (1.0 - at))]].concat());
        let end = |history: &History| history.equivalent_times(celsius(to)).unwrap()[0].hours();
        prop_assert!((end(&whole) / end(&split) - 1.0).abs() < 1e-9, "{} {}", end(&whole), end(&split));
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

//! The port against independent code, and what every composition must obey.

use std::collections::HashMap;

use super::composition::Amounts;
use super::readings::OwnReading;
use super::steel::CompositionSteel;
use crate::curve::{AsQuenchedReading, HardnessAfterTemper, TemperingCurve};
use crate::error::Error;
use crate::quantity::{HoldTime, Temperature};
use crate::steel::{Steel, steels};

fn hold(celsius: f64, hours: f64) -> (Temperature, HoldTime) {
    (Temperature::from_celsius(celsius), HoldTime::from_hours(hours))
}

fn reading(celsius: f64, hours: f64, hrc: f64) -> OwnReading {
    let (temperature, time) = hold(celsius, hours);
    OwnReading { temperature, time, hrc, u: None }
}

fn carbon(percent: f64) -> CompositionSteel {
    CompositionSteel::new(&[("C", percent), ("Mn", 0.4), ("Si", 0.25)]).unwrap()
}

/// Independent code: a NumPy evaluator of the same equations, in the full matrix form.
#[test]
fn agrees_with_independent_code() {
    let text = include_str!("../../../tests/data/tempered_reference.csv");
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let (mut rows, mut conditioned) = (0, 0);
    for row in reader.deserialize() {
        let row: HashMap<String, String> = row.unwrap();
        let number = |column: &str| row[column].parse::<f64>().unwrap();
        let composition: Vec<(&str, f64)> = row["composition"]
            .split_whitespace()
            .map(|part| part.split_once('=').map(|(symbol, percent)| (symbol, percent.parse().unwrap())).unwrap())
            .collect();
        let readings: Vec<OwnReading> = row["readings"]
            .split_whitespace()
            .map(|part| {
                let numbers: Vec<f64> = part.split(':').map(|number| number.parse().unwrap()).collect();
                reading(numbers[0], numbers[1], numbers[2])
            })
            .collect();
        rows += 1;
        conditioned += usize::from(!readings.is_empty());
        let as_quenched = row["as_quenched_hrc"].parse::<f64>().ok().map(Into::into);
        let amounts = Amounts::read(&composition).unwrap();
        let steel = CompositionSteel::of(amounts, as_quenched, None, readings).unwrap();
        let (temperature, time) = hold(number("temperature_c"), number("time_h"));
        let made = steel.predict(temperature, time).unwrap();
        for (value, column) in
            [(made.hrc, "mean"), (made.u, "u"), (made.u_steel, "u_true"), (steel.distance(), "distance")]
        {
            assert!((value - number(column)).abs() < 1e-6, "row {}: {column} {value} {}", row["id"], row[column]);
        }
        let factors = steel.interval_factors();
        assert!((made.hrc + factors.k68 * made.u - number("hi68")).abs() < 1e-6);
        assert!((made.hrc - factors.k95 * made.u - number("lo95")).abs() < 1e-6);
        let equivalent = steel.one_hour_equivalent(temperature, time).celsius();
        assert!((equivalent - number("one_hour_equivalent_c")).abs() < 1e-6);
    }
    assert!(rows == 200 && conditioned >= 90, "{rows} rows, {conditioned} conditioned");
}

/// A law: readings in any order, or one after another, give the same posterior.
#[test]
fn order_of_readings_does_not_matter() {
    let all = [reading(180.0, 2.0, 61.0), reading(230.0, 1.0, 58.5), reading(400.0, 2.0, 46.0)];
    let reversed: Vec<OwnReading> = all.iter().rev().copied().collect();
    let steel = carbon(0.8);
    let once = steel.given(&all).unwrap();
    let split = steel.given(&reversed[..1]).unwrap().given(&reversed[1..]).unwrap();
    for celsius in [150.0, 200.0, 300.0, 600.0] {
        let (temperature, time) = hold(celsius, 2.0);
        let (a, b) = (once.predict(temperature, time).unwrap(), split.predict(temperature, time).unwrap());
        assert!((a.hrc - b.hrc).abs() < 1e-9 && (a.u - b.u).abs() < 1e-9);
    }
}

/// A law: a reading never widens an interval, and draws the answer at its own temper towards itself.
#[test]
fn readings_narrow() {
    let steel = carbon(0.8);
    let (temperature, time) = hold(200.0, 2.0);
    let before = steel.predict(temperature, time).unwrap();
    for above in [-2.0, 0.0, 2.0] {
        let after = steel.given(&[reading(200.0, 2.0, before.hrc + above)]).unwrap();
        let after = after.predict(temperature, time).unwrap();
        assert!(after.u_steel < 0.5 * before.u_steel);
        assert!((after.hrc - before.hrc) * above >= 0.0);
        assert!((after.hrc - before.hrc - above).abs() <= above.abs());
    }
    let two = steel.u_with_two_coupons(temperature, time).unwrap();
    assert!(two < 0.5 * before.u_steel, "{two} {}", before.u_steel);
}

/// Physics: below secondary hardening a hotter or a longer temper never leaves a steel harder.
#[test]
fn falls_with_temperature_and_time() {
    let within: &[f64] = &[0.25, 1.0, 2.0, 8.0, 24.0];
    let mut asked = 0;
    for steel in steels().unwrap() {
        let Ok(made) = steel.by_composition() else { continue };
        asked += 1;
        for &hours in within {
            let hardness: Vec<f64> = (0..=60).map(|step| made.mean(100.0 + 10.0 * f64::from(step), hours)).collect();
            for pair in hardness.windows(2) {
                assert!(pair[1] < pair[0] + 0.05, "{}, {hours} h: {pair:?}", steel.name());
            }
        }
        for celsius in [150.0, 200.0, 300.0, 450.0, 600.0] {
            for pair in within.windows(2) {
                let change = made.mean(celsius, pair[1]) - made.mean(celsius, pair[0]);
                assert!(change < 0.1, "{}, {celsius} °C, {pair:?} h: {change}", steel.name());
            }
        }
    }
    assert!(asked > 40, "{asked}");
}

/// A law: the temperature found gives the hardness asked for, whatever C it was asked with.
#[test]
fn roots_come_back() {
    let steel = carbon(0.95);
    for hours in [0.5, 2.0, 8.0] {
        for c in [None, Some(15.0), Some(20.0)] {
            for hrc in [40.0, 55.0, 60.0] {
                let time = HoldTime::from_hours(hours);
                let found = steel.temperature_for(hrc, time, c, None, None).unwrap();
                let back = steel.hardness_after(found, time, c, None).unwrap();
                assert!((back - hrc).abs() < 0.01, "{hours} h, C {c:?}: {back}");
            }
        }
    }
}

/// Steels that makers use and that have no curve, or a scrap of one: an answer that says how little is known.
#[test]
fn unmeasured_steels_answer_widely() {
    for name in ["80CrV2", "15N20", "W2", "1084", "8670", "O2"] {
        let steel = crate::steel::steel(name).unwrap();
        let made = Steel::by_composition(steel).unwrap();
        let (temperature, time) = hold(200.0, 2.0);
        let answer = made.predict(temperature, time).unwrap();
        assert!((56.0..65.0).contains(&answer.hrc), "{name}: {answer:?}");
        assert!(answer.u > 1.0, "{name}: {answer:?}");
        assert!(made.cautions(temperature, time, made.c()).iter().any(|said| said.contains("two coupons")), "{name}");
    }
}

#[test]
fn a_table_of_the_grade_narrows_and_an_unprinted_hold_less() {
    let steel = carbon(0.95);
    let (temperature, time) = hold(250.0, 2.0);
    let table = TemperingCurve::new(&[150.0, 200.0, 250.0, 300.0], &[63.0, 61.0, 58.5, 56.0]).unwrap();
    let before = steel.predict(temperature, time).unwrap();
    let printed = steel.given_table(&table).unwrap().predict(temperature, time).unwrap();
    let guessed = steel.given_table(&table.hold_not_stated()).unwrap().predict(temperature, time).unwrap();
    assert!(printed.u_steel < guessed.u_steel && guessed.u_steel < before.u_steel);
}

/// Two coupons of one temper eight points apart are not of one bar; those off the scale are none.
#[test]
fn readings_that_can_not_be_are_refused() {
    let steel = carbon(0.8);
    let (temperature, time) = hold(200.0, 2.0);
    let expected = steel.predict(temperature, time).unwrap();
    let apart = [reading(200.0, 2.0, expected.hrc + 1.0), reading(200.0, 2.0, expected.hrc - 7.0)];
    let refused = steel.given(&apart).unwrap_err();
    assert!(matches!(&refused, Error::Refused { .. }), "{refused}");
    let badly = OwnReading { u: Some(6.0), ..apart[1] };
    assert!(steel.given(&[apart[0], badly]).is_ok());
    for hrc in [5.0, 19.9, 70.1] {
        assert!(steel.given(&[reading(650.0, 2.0, hrc)]).unwrap_err().is_out_of_range(), "{hrc}");
    }
}

/// A law: what a stated uncertainty of the as-quenched reading adds is in proportion to it, and fades with the temper.
#[test]
fn a_stated_as_quenched_uncertainty_widens_and_fades() {
    let stated = |u: f64| carbon(0.8).with_as_quenched(AsQuenchedReading { hrc: 64.5, u: Some(u) }).unwrap();
    let (half, whole, plain) = (stated(0.5), stated(1.0), carbon(0.8).with_as_quenched(64.5).unwrap());
    let mut before = f64::INFINITY;
    for celsius in [120.0, 200.0, 350.0, 600.0] {
        let (temperature, time) = hold(celsius, 2.0);
        let [a, b, none] = [&half, &whole, &plain].map(|steel| steel.predict(temperature, time).unwrap());
        assert!((b.u_as_quenched - 2.0 * a.u_as_quenched).abs() < 1e-9 && b.u_as_quenched < before);
        assert!((b.u.powi(2) - none.u.powi(2) - b.u_as_quenched.powi(2)).abs() < 1e-9 && b.hrc == none.hrc);
        before = b.u_as_quenched;
    }
}

#[test]
fn a_failed_hardening_is_not_tempered() {
    let refused = carbon(0.95).with_as_quenched(52.0).unwrap_err();
    assert!(matches!(refused, Error::NoAnswer { .. }), "{refused}");
    let harder = carbon(0.95).with_as_quenched(66.5).unwrap();
    assert!(harder.mean(150.0, 1.0) > carbon(0.95).mean(150.0, 1.0));
}

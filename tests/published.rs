//! The rows of tests/published/temper.csv that are one plain call, against the core itself.
//!
//! The Python runner evaluates every row of every file; here the arithmetic is checked without any binding between.

use std::collections::BTreeMap;

use afterquench::temper::{
    History, combine, constant_from_carbon, equivalent_temperature, equivalent_time, equivalent_time_activation,
    temper_parameter, two_hour_equivalent,
};
use afterquench::{HoldTime, SteelConstant, Temperature};

const FILE: &str = include_str!("published/temper.csv");

#[derive(serde::Deserialize)]
struct Row {
    call: String,
    expected: f64,
    rounding: f64,
    tolerance: Option<f64>,
    class: String,
    origin: String,
}

/// The numbers of a call, in order, keyword names left out; lists keep their numbers in place.
fn numbers(arguments: &str) -> Option<Vec<f64>> {
    arguments
        .split([',', '[', ']', '(', ')', ' '])
        .filter(|piece| !piece.is_empty())
        .map(|piece| piece.strip_prefix("c=").unwrap_or(piece).parse().ok())
        .collect()
}

/// What the core answers to a call of a known form; `None` for the forms left to the Python runner.
fn answer(call: &str) -> Option<f64> {
    let (name, rest) = call.strip_prefix("aq.")?.split_once('(')?;
    let (arguments, method) = match rest.rsplit_once(").") {
        Some((arguments, method)) => (arguments, method),
        None => (rest.strip_suffix(')')?, ""),
    };
    let given = numbers(arguments)?;
    let celsius = Temperature::from_celsius;
    let hours = HoldTime::from_hours;
    let c = SteelConstant::for_hours;
    let of_history = |history: History| -> Option<f64> {
        if method == "parameter" {
            return history.parameters().first().copied();
        }
        let reference = method.strip_prefix("equivalent_hours(")?.strip_suffix(')')?.parse().ok()?;
        Some(history.equivalent_times(celsius(reference)).ok()?.first()?.hours())
    };
    match (name, given.as_slice()) {
        ("temper_parameter", &[t, h, k]) => temper_parameter(celsius(t), hours(h), c(k)).ok(),
        ("equivalent_time", &[t, h, new, k]) => {
            equivalent_time(celsius(t), hours(h), celsius(new), c(k)).ok().map(|t| t.hours())
        }
        ("equivalent_temperature", &[t, h, new, k]) => {
            equivalent_temperature(celsius(t), hours(h), hours(new), c(k)).ok().map(|t| t.celsius())
        }
        ("two_hour_equivalent", &[t, h, k]) => {
            two_hour_equivalent(celsius(t), hours(h), c(k)).ok().map(|t| t.celsius())
        }
        ("constant_from_carbon", &[carbon]) => constant_from_carbon(carbon).ok().map(|k| k.hours()),
        ("combine", [pairs @ .., k]) if pairs.len() % 2 == 0 => {
            let holds: Vec<_> = pairs.chunks(2).map(|pair| (celsius(pair[0]), hours(pair[1]))).collect();
            of_history(combine(&holds, History::for_constants(&[*k]).ok()?).ok()?)
        }
        ("accumulate", [samples @ .., k]) if samples.len() % 2 == 0 => {
            let (times, temperatures) = samples.split_at(samples.len() / 2);
            let mut history = History::for_constants(&[*k]).ok()?;
            for (&time, &temperature) in times.iter().zip(temperatures) {
                history.push(time, celsius(temperature)).ok()?;
            }
            of_history(history)
        }
        ("equivalent_time_activation", [samples @ .., energy, reference]) if samples.len() % 2 == 0 => {
            let (times, temperatures) = samples.split_at(samples.len() / 2);
            equivalent_time_activation(times, temperatures, *energy, celsius(*reference)).ok().map(|t| t.hours())
        }
        _ => None,
    }
}

#[test]
fn temper_rows_hold_in_the_core() {
    let text: String = FILE.lines().filter(|line| !line.starts_with('#')).map(|line| format!("{line}\n")).collect();
    let mut counts: BTreeMap<String, usize> = BTreeMap::new();
    let (mut missed, mut left) = (Vec::new(), 0);
    for row in csv::Reader::from_reader(text.as_bytes()).deserialize::<Row>() {
        let row = row.expect("a readable row");
        assert!(!row.origin.is_empty(), "{}: no origin", row.call);
        let Some(got) = answer(&row.call) else {
            left += 1;
            continue;
        };
        let allowed = row.tolerance.unwrap_or(0.5 * row.rounding);
        if (got - row.expected).abs() > allowed * (1.0 + 1e-9) + 4e-16 * row.expected.abs() {
            missed.push(format!("{} gives {got}, {} has {}", row.call, row.origin, row.expected));
        } else {
            *counts.entry(row.class).or_default() += 1;
        }
    }
    assert!(missed.is_empty(), "{} rows miss:\n{}", missed.len(), missed.join("\n"));
    assert!(counts.values().sum::<usize>() >= 120, "only {counts:?}, {left} left to Python");
}

#[test]
fn forms_that_are_not_known_are_left_alone() {
    for call in
        ["aq.combine([(200, 2)], c=20).repr", "aq.temper_parameter(200, 2, c=20) * 1.8", "np.pi", "aq.unheard_of(1)"]
    {
        assert_eq!(answer(call), None, "{call}");
    }
}

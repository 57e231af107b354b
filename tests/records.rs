//! Every model's record is complete, and its own check reads it the way it is written.

use std::collections::BTreeSet;

use afterquench::Error;
use afterquench::record::{ModelRecord, Scatter, records};

fn every(mut check: impl FnMut(&ModelRecord, &mut Vec<String>)) {
    let mut wrong = Vec::new();
    for record in records() {
        check(record, &mut wrong);
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn ids_are_unique_and_name_their_room() {
    let rooms = ["estimate", "temper", "curve", "steel", "hardness", "oven", "plan", "drift"];
    let ids: Vec<_> = records().iter().map(|record| record.id).collect();
    assert_eq!(ids.len(), ids.iter().collect::<BTreeSet<_>>().len(), "{ids:?}");
    for id in ids {
        let (room, name) = id.split_once('.').unwrap_or_else(|| panic!("{id} names no room"));
        assert!(rooms.contains(&room) && !name.is_empty(), "{id}");
    }
}

#[test]
fn records_leave_nothing_blank() {
    every(|record, wrong| {
        for (field, text) in [("gives", record.gives), ("formula", record.formula), ("not_for", record.not_for)] {
            if text.trim().is_empty() {
                wrong.push(format!("{}: {field} is blank", record.id));
            }
        }
        if record.sources.is_empty() {
            wrong.push(format!("{}: no source", record.id));
        }
        for source in record.sources {
            if source.cite.trim().is_empty() || source.at.trim().is_empty() {
                wrong.push(format!("{}: a source without citation or place", record.id));
            }
        }
        for range in record.ranges {
            if range.argument.is_empty() || range.stated_by.trim().is_empty() {
                wrong.push(format!("{}: a range of nobody, or of no argument", record.id));
            }
            if !(range.low.is_finite() && range.high.is_finite() && range.low < range.high) {
                wrong.push(format!("{}: {} to {} is no range", record.id, range.low, range.high));
            }
        }
        if let Scatter::Known { u, unit, found } = record.scatter {
            if !(u.is_finite() && u > 0.0) || (unit.is_empty() && !record.unit.is_empty()) || found.trim().is_empty() {
                wrong.push(format!("{}: scatter of {u} {unit}, found {found:?}", record.id));
            }
        }
    });
}

#[test]
fn bounds_are_accepted_and_their_outside_neighbours_refused() {
    every(|record, wrong| {
        for range in record.ranges {
            for inside in [range.low, 0.5 * (range.low + range.high), range.high, f64::NAN] {
                if let Err(error) = record.check(range.argument, inside) {
                    wrong.push(format!("{}: {inside} was refused: {error}", record.id));
                }
            }
            for outside in [below(range.low), above(range.high)] {
                match record.check(range.argument, outside) {
                    Err(Error::OutOfRange { model, argument, value, low, high, stated_by, .. }) => {
                        assert_eq!((model.as_ref(), argument.as_ref()), (record.id, range.argument));
                        assert_eq!((value, low, high), (outside, range.low, range.high));
                        assert_eq!(stated_by, range.stated_by);
                    }
                    other => wrong.push(format!("{}: {outside} gave {other:?}", record.id)),
                }
            }
            for infinite in [f64::INFINITY, f64::NEG_INFINITY] {
                if !matches!(record.check(range.argument, infinite), Err(Error::InvalidValue { .. })) {
                    wrong.push(format!("{}: {infinite} was not refused as invalid", record.id));
                }
            }
        }
    });
}

/// The next number down: `f64::next_down` is younger than the oldest compiler supported.
fn below(x: f64) -> f64 {
    if x == 0.0 { -f64::from_bits(1) } else { f64::from_bits(if x > 0.0 { x.to_bits() - 1 } else { x.to_bits() + 1 }) }
}

fn above(x: f64) -> f64 {
    -below(-x)
}

#[test]
fn neighbours_are_neighbours() {
    for x in [-300.0, -1.0, 0.0, 0.15, 1.2, 700.0] {
        assert!(below(x) < x && x < above(x));
        assert!((above(x) - below(x)).abs() <= 4.0 * f64::EPSILON * f64::abs(x).max(1e-300));
    }
}

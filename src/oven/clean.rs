//! From columns to a trace: time put in order, faults and spikes taken out, holes named.

use super::cell::is_sentinel;
use super::clock::DAY_S;
use super::repair::{Gap, Repair};
use super::role::Role;
use crate::error::Text;

/// A fall of the clock by more than this is midnight.
const MIDNIGHT_FALL_S: f64 = 43_200.0;

/// Above this, or below [`COLDEST_C`], no tempering oven's sensor tells the truth.
const HOTTEST_C: f64 = 1100.0;
/// See [`HOTTEST_C`].
const COLDEST_C: f64 = -60.0;

/// Shortest hole that is a gap, and how many sampling intervals make one.
const GAP_S: f64 = 60.0;
const GAP_INTERVALS: f64 = 3.0;

/// Why time could not be put in order.
pub(super) struct Disorder(pub String, pub &'static str);

/// Rows in time: where they were in the file, and when.
pub(super) struct Timeline {
    pub seconds: Vec<f64>,
    pub rows: Vec<usize>,
}

/// The median of some numbers; NaN of none.
pub(super) fn median(mut values: Vec<f64>) -> f64 {
    let middle = values.len() / 2;
    if values.is_empty() {
        return f64::NAN;
    }
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}

fn steps(seconds: &[f64]) -> impl Iterator<Item = f64> + '_ {
    seconds.windows(2).map(|pair| match pair {
        [a, b] => b - a,
        _ => f64::NAN,
    })
}

/// Medians that only set a threshold are taken of about this many values, evenly spread over a long record.
const ENOUGH: usize = 65_536;

/// Every how many values are looked at for such a median.
const fn stride(count: usize) -> usize {
    count.div_ceil(ENOUGH) | 1
}

/// The median of the positive steps.
pub(super) fn interval(seconds: &[f64]) -> f64 {
    median(steps(seconds).step_by(stride(seconds.len())).filter(|&step| step > 0.0).collect())
}

/// Takes clock readings across midnight, and puts rows that are out of order into it.
///
/// Clock text is never sorted by: a fall of more than half a day is midnight, whether or not the date advances.
pub(super) fn in_order(mut raw: Vec<f64>, is_clock: bool, repairs: &mut Vec<Repair>) -> Result<Timeline, Disorder> {
    let mut rows: Vec<usize> = (0..raw.len()).collect();
    let lost: Vec<usize> = rows.iter().copied().filter(|&row| !raw.get(row).is_some_and(|t| t.is_finite())).collect();
    if !lost.is_empty() {
        rows.retain(|&row| raw.get(row).is_some_and(|t| t.is_finite()));
        raw.retain(|t| t.is_finite());
        repairs.push(Repair {
            kind: "no time".into(),
            channel: None,
            why: format!("{} row(s) without a readable time were dropped", lost.len()),
            rows: lost,
            seconds: None,
        });
    }
    let falls = steps(&raw).filter(|&step| step < 0.0).count();
    let rises = steps(&raw).filter(|&step| step > 0.0).count();
    if falls > 0 && rises == 0 {
        raw.reverse();
        rows.reverse();
        repairs.push(Repair::of_file("newest first", "the file runs backwards in time; it was turned round"));
    }
    if is_clock {
        let mut shift = 0.0;
        let mut before = raw.first().copied().unwrap_or(0.0);
        for (time, &row) in raw.iter_mut().zip(&rows) {
            let step = *time - before;
            before = *time;
            if step < -MIDNIGHT_FALL_S {
                // A whole number of days, so that a date that stands still and no date at all are the same case.
                shift += DAY_S * (-step / DAY_S).ceil();
                repairs.push(Repair {
                    kind: "midnight".into(),
                    channel: None,
                    rows: vec![row],
                    seconds: None,
                    why: format!("the clock falls back by {:.0} s without a new date: taken as midnight", -step),
                });
            } else if shift > 0.0 && step > DAY_S - MIDNIGHT_FALL_S && step < DAY_S + MIDNIGHT_FALL_S {
                // The date catches up later: it must not count twice.
                shift -= DAY_S;
                repairs.push(Repair {
                    kind: "midnight".into(),
                    channel: None,
                    rows: vec![row],
                    seconds: None,
                    why: "the date catches up with the clock here; it was not counted again".into(),
                });
            }
            *time += shift;
        }
    }
    let out: Vec<usize> = out_of_order(&raw);
    if !out.is_empty() {
        restart(&raw, &out, is_clock)?;
        if out.len() * 5 > raw.len() {
            return Err(Disorder(
                format!("time goes back and forth: {} of {} rows are out of order", out.len(), raw.len()),
                "Give the file in the order it was written, or with a column of elapsed seconds",
            ));
        }
        let at = |index: &usize| raw.get(*index).copied().unwrap_or(f64::NAN);
        let base = raw.first().copied().unwrap_or(0.0);
        let span =
            (out.iter().map(at).fold(f64::INFINITY, f64::min), out.iter().map(at).fold(f64::NEG_INFINITY, f64::max));
        repairs.push(Repair {
            kind: "out of order".into(),
            channel: None,
            rows: out.iter().filter_map(|&index| rows.get(index).copied()).collect(),
            seconds: Some((span.0 - base, span.1 - base)),
            why: format!("{} row(s) were written after later ones; they were put in their place in time", out.len()),
        });
        let mut order: Vec<usize> = (0..raw.len()).collect();
        order.sort_by(|a, b| at(a).total_cmp(&at(b)));
        let sorted: Vec<f64> = order.iter().map(at).collect();
        rows = order.iter().filter_map(|&index| rows.get(index).copied()).collect();
        raw = sorted;
    }
    Ok(Timeline { seconds: raw, rows })
}

/// Indices of rows that lie before an earlier one.
fn out_of_order(seconds: &[f64]) -> Vec<usize> {
    let mut latest = f64::NEG_INFINITY;
    let mut out = Vec::new();
    for (index, &time) in seconds.iter().enumerate() {
        if time < latest {
            out.push(index);
        } else {
            latest = time;
        }
    }
    out
}

/// Refuses a counter that starts again, or a clock that was set during the run: how long the break was is unknown.
fn restart(seconds: &[f64], out: &[usize], is_clock: bool) -> Result<(), Disorder> {
    let Some(&first) = out.first() else { return Ok(()) };
    let (Some(&last_good), Some(&fallen)) = (seconds.get(first.wrapping_sub(1)), seconds.get(first)) else {
        return Ok(());
    };
    let start = seconds.first().copied().unwrap_or(0.0);
    let run = seconds.get(first..).unwrap_or_default();
    let rising = steps(run).filter(|&step| step > 0.0).count();
    let falls_far =
        last_good - fallen > 0.5 * (last_good - start) && run.len() > 2 && rising * 4 >= (run.len() - 1) * 3;
    let long = last_good - fallen > 10.0 * interval(seconds);
    if falls_far && long && !is_clock {
        return Err(Disorder(
            format!(
                "the elapsed time starts again at data row {first} (from {last_good:.0} s to {fallen:.0} s): the logger restarted, and how long it was off is not in this column"
            ),
            "Add a clock column, or read the two parts as two logs",
        ));
    }
    if is_clock && long && run.len() > 2 && rising * 4 >= (run.len() - 1) * 3 && out.len() > 2 {
        return Err(Disorder(
            format!(
                "the clock goes back by {:.0} s at data row {first}: it was set during the run, or daylight saving ended",
                last_good - fallen
            ),
            "Give a column of elapsed seconds; clock text alone does not say how long that step took",
        ));
    }
    Ok(())
}

/// Rows with the time of the row before: copies are dropped, other readings of the same instant are averaged.
/// Returns the indices to keep.
pub(super) fn same_time(line: &Timeline, channels: &mut [(Role, Vec<f64>)], repairs: &mut Vec<Repair>) -> Vec<usize> {
    let base = line.seconds.first().copied().unwrap_or(0.0);
    let mut keep: Vec<usize> = Vec::with_capacity(line.seconds.len());
    let (mut copies, mut averaged) = (Vec::new(), Vec::new());
    let mut sharing = 1.0;
    for (index, &time) in line.seconds.iter().enumerate() {
        let previous = keep.last().copied().filter(|&kept| line.seconds.get(kept) == Some(&time));
        let Some(kept) = previous else {
            keep.push(index);
            sharing = 1.0;
            continue;
        };
        let same = channels.iter().all(|(_, values)| match (values.get(kept), values.get(index)) {
            (Some(a), Some(b)) => a == b || (a.is_nan() && b.is_nan()),
            _ => true,
        });
        if same {
            copies.push(index);
            continue;
        }
        averaged.push(index);
        sharing += 1.0;
        for (_, values) in channels.iter_mut() {
            let (Some(&a), Some(&b)) = (values.get(kept), values.get(index)) else { continue };
            if let Some(value) = values.get_mut(kept) {
                *value = if a.is_nan() {
                    b
                } else if b.is_nan() {
                    a
                } else {
                    a + (b - a) / sharing
                };
            }
        }
    }
    let mut note = |kind: &'static str, indices: Vec<usize>, why: String| {
        let at = |index: &usize| line.seconds.get(*index).map_or(f64::NAN, |time| time - base);
        if let (Some(first), Some(last)) = (indices.first(), indices.last()) {
            repairs.push(Repair {
                kind: Text::Borrowed(kind),
                channel: None,
                seconds: Some((at(first), at(last))),
                rows: indices.iter().filter_map(|&index| line.rows.get(index).copied()).collect(),
                why,
            });
        }
    };
    let (copied, shared) = (copies.len(), averaged.len());
    note("duplicate", copies, format!("{copied} row(s) repeat the row before; they were dropped"));
    note(
        "repeated time",
        averaged,
        format!("{shared} further reading(s) of the same instant were averaged with the first"),
    );
    keep
}

/// Takes readings that no oven gives out of a channel.
pub(super) fn faults(channel: Role, seconds: &[f64], rows: &[usize], values: &mut [f64], repairs: &mut Vec<Repair>) {
    let typical = median(
        values
            .iter()
            .copied()
            .step_by(stride(values.len()))
            .filter(|v| v.is_finite() && (COLDEST_C..HOTTEST_C).contains(v))
            .collect(),
    );
    let mut found: Vec<usize> = Vec::new();
    let mut last_good = f64::NAN;
    for (index, value) in values.iter_mut().enumerate() {
        let impossible = *value > HOTTEST_C || *value < COLDEST_C;
        let level = if last_good.is_nan() { typical } else { last_good };
        let odd = (*value - level).abs() > 100.0 && is_sentinel(*value);
        if impossible || odd {
            found.push(index);
            *value = f64::NAN;
        } else if !value.is_nan() {
            last_good = *value;
        }
    }
    // Exactly zero among hot neighbours is "no reading".
    let mut index = 0;
    while index < values.len() {
        if values.get(index) != Some(&0.0) {
            index += 1;
            continue;
        }
        let until = (index..values.len()).find(|&later| values.get(later) != Some(&0.0)).unwrap_or(values.len());
        let hot = |at: Option<usize>| at.and_then(|at| values.get(at)).is_some_and(|&value| value > 60.0);
        if hot(index.checked_sub(1)) && (hot(Some(until)) || until == values.len()) {
            for at in index..until {
                found.push(at);
                if let Some(value) = values.get_mut(at) {
                    *value = f64::NAN;
                }
            }
        }
        index = until;
    }
    found.sort_unstable();
    let count = found.len();
    push(channel, "fault code", found, seconds, rows, repairs, || {
        format!(
            "{count} reading(s) that loggers write for an open or broken sensor, or that no oven reaches, were left out"
        )
    });
}

fn push(
    channel: Role,
    kind: &'static str,
    indices: Vec<usize>,
    seconds: &[f64],
    rows: &[usize],
    repairs: &mut Vec<Repair>,
    why: impl FnOnce() -> String,
) {
    if let (Some(&first), Some(&last)) = (indices.first(), indices.last()) {
        let at = |index: usize| seconds.get(index).copied().unwrap_or(f64::NAN);
        repairs.push(Repair {
            kind: Text::Borrowed(kind),
            channel: Some(channel),
            seconds: Some((at(first), at(last))),
            rows: indices.iter().filter_map(|&index| rows.get(index).copied()).collect(),
            why: why(),
        });
    }
}

/// The most samples in a row that can be a spike, and the longest it can last.
const SPIKE_SAMPLES: usize = 3;
const SPIKE_S: f64 = 120.0;

/// Takes spikes out of a channel.
///
/// A spike differs from BOTH neighbours in the same direction by more than a sensor can go there and back: up by
/// 20 °C + 0.3 °C/s, down by 40 °C + 0.5 °C/s (a door opened between two samples is a real fall), and by more than six
/// times the usual bend of the record, which a fast cycling oven sampled slowly has. Up to three samples in a row
/// count, when they stand out twice as far. Loading and doors fall and do not come back at once: they stay.
pub(super) fn spikes(channel: Role, seconds: &[f64], rows: &[usize], values: &mut [f64], repairs: &mut Vec<Repair>) {
    let good: Vec<usize> =
        (0..values.len()).filter(|&index| values.get(index).is_some_and(|v| v.is_finite())).collect();
    let at = |k: usize| -> Option<(f64, f64)> {
        let &index = good.get(k)?;
        Some((*seconds.get(index)?, *values.get(index)?))
    };
    let bends: Vec<f64> = (1..good.len().saturating_sub(1).min(20_001))
        .filter_map(|k| Some((at(k)?.1 - 0.5 * (at(k - 1)?.1 + at(k + 1)?.1)).abs()))
        .collect();
    // In a log of a few rows the spike itself rules the median: no oven swings by more than this between samples.
    let usual = (6.0 * median(bends).max(0.0)).min(60.0);
    let mut found: Vec<usize> = Vec::new();
    let mut k = 0;
    while k + 1 < good.len() {
        let mut taken = 0;
        for length in 1..=SPIKE_SAMPLES {
            let (Some(a), Some(b)) =
                (k.checked_sub(1).and_then(at).or_else(|| first_neighbour(k, length, &at)), at(k + length))
            else {
                continue;
            };
            let lasting = b.0 - a.0;
            if length > 1 && lasting > SPIKE_S {
                continue;
            }
            let steeper = if length > 1 { 2.0 } else { 1.0 };
            let (up, down) = ((20.0 + 0.3 * lasting) * steeper, (40.0 + 0.5 * lasting) * steeper);
            let stands = (k..k + length).all(|inner| {
                at(inner).is_some_and(|(_, value)| {
                    let above = value - a.1.max(b.1);
                    let below = a.1.min(b.1) - value;
                    // A first sample far below the next is a cold start.
                    above > up.max(usual) || (k > 0 && below > down.max(usual))
                })
            });
            // Neighbours that disagree as much as the sample are a step, not a spike.
            let height = at(k).map_or(0.0, |(_, value)| (value - 0.5 * (a.1 + b.1)).abs());
            if stands && (a.1 - b.1).abs() < 0.5 * height {
                taken = length;
                break;
            }
        }
        found.extend((k..k + taken).filter_map(|inner| good.get(inner).copied()));
        k += taken.max(1);
    }
    for &index in &found {
        if let Some(value) = values.get_mut(index) {
            *value = f64::NAN;
        }
    }
    let count = found.len();
    push(channel, "spike", found, seconds, rows, repairs, || {
        format!(
            "{count} sample(s) differ from both neighbours by more than a sensor can go and come back; they were left out"
        )
    });
}

/// For a spike in the very first samples the neighbour behind stands for the one before.
fn first_neighbour(k: usize, length: usize, at: &impl Fn(usize) -> Option<(f64, f64)>) -> Option<(f64, f64)> {
    if k > 0 {
        return None;
    }
    let (time, value) = at(length)?;
    Some((2.0 * at(0)?.0 - time, value))
}

/// The longest hole in a channel that a straight line may cross.
pub(super) fn longest_bridge(seconds: &[f64]) -> f64 {
    GAP_S.max(GAP_INTERVALS * interval(seconds))
}

/// Holes in a channel, or in the rows as a whole.
pub(super) fn gaps(channel: Option<Role>, seconds: &[f64], values: Option<&[f64]>, longest: f64) -> Vec<Gap> {
    let mut last: Option<f64> = None;
    let mut found = Vec::new();
    for (index, &time) in seconds.iter().enumerate() {
        if values.is_some_and(|values| values.get(index).is_none_or(|v| !v.is_finite())) {
            continue;
        }
        if let Some(start_s) = last.filter(|&start| time - start > longest) {
            found.push(Gap { channel, start_s, end_s: time });
        }
        last = Some(time);
    }
    found
}

/// Says when the sampling is not even; time stamps are used, so nothing is changed.
pub(super) fn jitter(seconds: &[f64], rows: &[usize], longest: f64, repairs: &mut Vec<Repair>) {
    let usual = interval(seconds);
    let uneven: Vec<usize> = steps(seconds)
        .enumerate()
        .filter(|(_, step)| (step - usual).abs() > 0.02 * usual && *step <= longest)
        .map(|(index, _)| index + 1)
        .collect();
    if let (Some(&first), Some(&last)) = (uneven.first(), uneven.last()) {
        let at = |index: usize| seconds.get(index).copied().unwrap_or(f64::NAN);
        repairs.push(Repair {
            kind: "jitter".into(),
            channel: None,
            seconds: Some((at(first), at(last))),
            why: format!(
                "{} of {} steps are not the usual {usual:.3} s; the time stamps are used, rows are not counted",
                uneven.len(),
                seconds.len().saturating_sub(1)
            ),
            rows: uneven.iter().filter_map(|&index| rows.get(index).copied()).collect(),
        });
    }
}

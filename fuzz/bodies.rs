// What the targets do; a test of the crate replays the kept corpus through the same functions.
#![allow(dead_code)]

use afterquench::oven::{Gaps, OvenLog, ReadOptions, Role, read_corrections, read_log_bytes};
use afterquench::temper::UNKNOWN_STEEL;

/// What holds of every log that was read.
fn sound(log: &OvenLog) {
    assert!(log.seconds.len() > 1);
    assert!(log.seconds.iter().all(|time| time.is_finite()));
    assert!(log.seconds.windows(2).all(|pair| pair[0] < pair[1]));
    assert!(log.channels.iter().all(|channel| channel.values.len() == log.seconds.len()));
    assert!(log.channels.iter().any(|channel| matches!(channel.role, Role::Air | Role::PartSide)));
    assert!(log.repairs.iter().all(|repair| !repair.why.is_empty()));
}

/// Any bytes are a log, or a refusal; of a log it can be said what the steel got, or why not.
pub fn log(bytes: &[u8]) {
    if let Ok(log) = read_log_bytes(bytes, "bytes", &ReadOptions::default(), &mut |_, _| true) {
        sound(&log);
        let _ = log.received(UNKNOWN_STEEL, None, Gaps::Bound);
    }
    let told = ReadOptions { restart_s: Some(60.0), day_first: Some(false), ..ReadOptions::default() };
    if let Ok(log) = read_log_bytes(bytes, "bytes", &told, &mut |_, _| true) {
        sound(&log);
    }
}

/// The bytes up to the first line end as a clock, the others as a reading, in a log that is sound otherwise.
pub fn cells(bytes: &[u8]) {
    let at = bytes.iter().position(|&byte| byte == b'\n').unwrap_or(bytes.len() / 2);
    let (clock, reading) = bytes.split_at(at);
    for separator in [",", ";"] {
        let mut text = format!("clock{separator}air\n10:00:00{separator}200.1\n").into_bytes();
        for _ in 0..2 {
            text.extend_from_slice(clock);
            text.extend_from_slice(separator.as_bytes());
            text.extend_from_slice(reading.strip_prefix(b"\n").unwrap_or(reading));
            text.push(b'\n');
        }
        text.extend_from_slice(format!("10:00:20{separator}200.2\n").as_bytes());
        if let Ok(log) = read_log_bytes(&text, "cells", &ReadOptions::default(), &mut |_, _| true) {
            sound(&log);
        }
    }
}

/// Any bytes as a table of corrections; any text as the name of a scale, a guard band, a steel.
pub fn words(bytes: &[u8]) {
    let _ = read_corrections(bytes, "bytes");
    if let Ok(text) = std::str::from_utf8(bytes) {
        let _ = afterquench::hardness::ScaleName::parse(text);
        let _ = afterquench::hardness::GuardBand::parse(text);
        let _ = afterquench::steel::steel(text);
    }
}

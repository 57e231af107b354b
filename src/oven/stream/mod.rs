//! The history of a log of any size, in bounded memory: the file is gone through in windows, several times.
//!
//! First for what only the whole tells (how far apart rows are, at which level the readings lie), then for the readings,
//! cleaned as they are in a log that is held, and once more from the loading on where one is found.

mod cleaning;
mod passes;
mod rows;
mod still;
mod walkers;

use std::path::Path;

use self::passes::Passes;
use self::walkers::Walkers;
use crate::error::Result;
use crate::oven::assemble::{correct, loading};
use crate::oven::began::Began;
use crate::oven::feed::Source;
use crate::oven::log::{Channel, OvenLog, ReadOptions};
use crate::oven::received::{Gaps, Received, Walk};
use crate::oven::repair::Gap;
use crate::oven::response::{Following, LagBand};
use crate::oven::role::Role;
use crate::oven::text::read_source;
use crate::temper::{ConstantBelief, History};

/// A file that is not larger is read as a whole; a packed one may be thirty times as large.
const SMALL: u64 = 24 << 20;
const PACKED: u64 = 30;

/// A history out of a file of any size, and the record it came from without its rows.
#[derive(Debug, Clone, PartialEq)]
pub struct Streamed {
    /// What the steel got.
    pub received: Received,
    /// Channels without readings, repairs without rows, holes, loading.
    pub log: OvenLog,
    /// Rows that were read.
    pub rows: usize,
}

/// What the steel got, out of a file of any size: the answer of [`super::read_log`] and [`OvenLog::received`].
///
/// # Errors
/// As those; and [`crate::Error::Refused`] for a large file whose rows are far out of order.
pub fn read_history(
    path: impl AsRef<Path>,
    options: &ReadOptions,
    c: ConstantBelief,
    lag: Option<LagBand>,
    gaps: Gaps,
    progress: &mut dyn FnMut(usize, usize) -> bool,
) -> Result<Streamed> {
    let path = path.as_ref();
    let size = std::fs::metadata(path).map_or(0, |about| about.len());
    let packed = path.extension().is_some_and(|end| end == "gz");
    let file = path.display().to_string();
    if size * if packed { PACKED } else { 1 } <= SMALL {
        let log = read_source(Source::Path(path), &file, options, progress)?;
        let received = log.received(c, lag, gaps)?;
        return Ok(Streamed { received, rows: log.seconds.len(), log }.told());
    }
    stream(Source::Path(path), &file, options, (c, lag, gaps), progress).map(Streamed::told)
}

impl Streamed {
    /// With the kinds of repairs among what the answer assumes, as no list of them comes with a history.
    fn told(mut self) -> Self {
        let mut kinds: Vec<&str> = self.log.repairs.iter().map(|repair| repair.kind.as_ref()).collect();
        kinds.sort_unstable();
        kinds.dedup();
        if !kinds.is_empty() {
            let note = format!("noted while {} was read: {}", self.log.file, kinds.join(", "));
            self.received.estimate = self.received.estimate.assuming(note);
        }
        self
    }
}

/// The streaming way, whatever the size.
pub(super) fn stream(
    source: Source<'_>,
    file: &str,
    options: &ReadOptions,
    (c, lag, gaps): (ConstantBelief, Option<LagBand>, Gaps),
    progress: &mut dyn FnMut(usize, usize) -> bool,
) -> Result<Streamed> {
    let mut passes = Passes { source, file, options: options.clone() };
    let mut survey = passes.survey(&mut |done, of| progress(done / 2, of))?;
    let channels = survey
        .channels
        .iter()
        .map(|known| Channel { role: known.role, name: known.name.clone(), values: Vec::new(), correction: None })
        .collect();
    let mut log = OvenLog {
        file: file.to_owned(),
        began: Began::Counter,
        seconds: vec![survey.ends_s.0, survey.ends_s.1],
        channels,
        repairs: std::mem::take(&mut survey.repairs),
        gaps: Vec::new(),
        load: None,
    };
    correct(&mut log.channels, options, &mut log.repairs)?;
    let role = if log.channel(Role::PartSide).is_some() && lag.is_none() { Role::PartSide } else { Role::Air };
    if log.channel(role).is_none() {
        return log.received(c, lag, gaps).map(|received| Streamed { received, log, rows: survey.rows });
    }
    let following = (role == Role::Air).then(|| Following::Lag(lag.unwrap_or(LagBand::UNKNOWN)));
    following.as_ref().map_or(Ok(()), Following::check)?;
    log.load = loading(&log.seconds, &[], options, &mut log.repairs)?;
    // Whether there are holes shows only at the end: the walks are made as if there were.
    let hole = Gap { channel: None, start_s: f64::NEG_INFINITY, end_s: f64::INFINITY };
    let asking = OvenLog { gaps: vec![hole], ..log.clone() };
    let walks = asking.walks(role, c, following, if gaps == Gaps::Refuse { Gaps::Line } else { gaps })?;
    let correction = log.channel(role).and_then(|channel| channel.correction);
    let mut walkers = Walkers::new(&walks, role, correction, survey.longest, log.load);
    let seen = passes.clean(&mut survey, &mut walkers, &mut |done, of| progress(of / 2 + done / 2, of))?;
    log.gaps = seen.gaps;
    log.repairs.extend(seen.repairs);
    if let (None, Some(load)) = (log.load, seen.load) {
        log.load = Some(load);
        log.repairs.push(load.noted(survey.ends_s.0));
        walkers = Walkers::new(&walks, role, correction, survey.longest, log.load);
        passes.clean(&mut survey, &mut walkers, &mut |_, _| true)?;
    }
    let first_c = walkers.first_c(following.is_some())?;
    let mut end = |walk: Walk| -> Result<History> { Ok(walkers.end(walk)) };
    let received = log.received_by(role, c, following, gaps, first_c, &mut end)?;
    Ok(Streamed { received, log, rows: survey.rows })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::error::Error;
    use crate::oven::repair::Repair;
    use crate::temper::UNKNOWN_STEEL;

    /// A long record with everything in it that single rows can have, and a part that goes in late.
    fn record() -> Vec<u8> {
        let mut text = String::from("elapsed_s,air_degc,part_side_degc\n");
        let mut late = String::new();
        for i in 0..300_000_u32 {
            if (150_000..150_900).contains(&i) {
                continue;
            }
            let t = f64::from(i);
            let air = (20.0 + 0.05 * t).min(200.0) + 0.1 * f64::from(i % 11);
            let fallen = if i < 20_000 { 0.0 } else { 150.0 * (-(t - 20_000.0) / 900.0).exp() };
            let row = match i {
                50_000 | 131_072 | 200_001 => format!("{i},812.0,{:.1}\n", air - 1.0),
                60_000 => format!("{i},OPEN,{:.1}\n", air - 1.0),
                131_000..131_060 => format!("{i},{air:.1},\n"),
                250_000 => format!("{i},{air:.1},199.0\n{i},{air:.1},199.2\n"),
                _ => format!("{i},{air:.1},{:.1}\n", (air - 1.0 - fallen).max(20.0)),
            };
            // One row in a thousand is written three rows late.
            if i % 1000 == 500 {
                late = row;
                continue;
            }
            text.push_str(&row);
            if i % 1000 == 503 {
                text.push_str(&std::mem::take(&mut late));
            }
        }
        text.into_bytes()
    }

    /// In one go as from the record that is held: by the part side and by the air, with holes bounded and joined.
    #[test]
    fn the_same_answer_as_from_the_record() {
        let text = record();
        let options = ReadOptions::default();
        let held = read_source(Source::Bytes(&text), "test", &options, &mut |_, _| true).unwrap();
        for (c, lag, gaps) in
            [(UNKNOWN_STEEL, None, Gaps::Bound), (ConstantBelief::Fixed(18.0), Some(LagBand::UNKNOWN), Gaps::Line)]
        {
            let want = held.received(c, lag, gaps).unwrap();
            let got = stream(Source::Bytes(&text), "test", &options, (c, lag, gaps), &mut |_, _| true).unwrap();
            assert_eq!(got.log.load, held.load);
            assert_eq!(got.log.gaps, held.gaps);
            let (a, b) = (got.received.history.at_constant(18.0), want.history.at_constant(18.0));
            assert!((a - b).abs() < 1e-7, "{a} and {b}");
            let ends = |received: &Received| received.estimate.interval(0.95).unwrap();
            let ((a, b), (c, d)) = (ends(&got.received), ends(&want));
            assert!((a - c).abs() < 1e-6 && (b - d).abs() < 1e-6, "{a} to {b}, not {c} to {d}");
            assert_eq!(got.received.estimate.assumptions(), want.estimate.assumptions());
            let kinds = |repairs: &[Repair]| {
                let mut kinds: Vec<String> = repairs.iter().map(|repair| repair.kind.to_string()).collect();
                kinds.sort();
                kinds.dedup();
                kinds.retain(|kind| kind != "jitter");
                kinds
            };
            assert_eq!(kinds(&got.log.repairs), kinds(&held.repairs));
        }
    }

    /// A probe that shows one value for hours while the air beside it heats is refused as from the record that is held,
    /// and a lag behind the air is the way out.
    #[test]
    fn a_dead_probe_is_refused() {
        let rows: String = (0..200_000)
            .map(|i| format!("{i},{:.1},20.5\n", (20.0 + 0.01 * f64::from(i)).min(200.0) + 0.1 * f64::from(i % 7)))
            .collect();
        let text = format!("elapsed_s,air_degc,part_side_degc\n{rows}");
        let options = ReadOptions::default();
        let held = read_source(Source::Bytes(text.as_bytes()), "test", &options, &mut |_, _| true).unwrap();
        let got = |lag| {
            let asked = (UNKNOWN_STEEL, lag, Gaps::Bound);
            stream(Source::Bytes(text.as_bytes()), "test", &options, asked, &mut |_, _| true)
        };
        let want = held.received(UNKNOWN_STEEL, None, Gaps::Bound).unwrap_err();
        assert_eq!(got(None).unwrap_err().to_string(), want.to_string());
        assert!(got(Some(LagBand::UNKNOWN)).unwrap().log.repairs.iter().any(|repair| repair.kind == "stuck"));
    }

    /// A logger that was set to °F in the middle is refused as from the record that is held (1.8 °C + 32 by definition).
    #[test]
    fn a_switch_of_the_unit_is_refused() {
        let rows: String = (0..200_000)
            .map(|i| {
                let celsius = (20.0 + 0.01 * f64::from(i)).min(200.0) + 0.1 * f64::from(i % 7);
                format!("{i},{:.1}\n", if i < 131_072 { celsius } else { 1.8 * celsius + 32.0 })
            })
            .collect();
        let text = format!("elapsed_s,part_side_degc\n{rows}");
        let options = ReadOptions::default();
        let want = read_source(Source::Bytes(text.as_bytes()), "test", &options, &mut |_, _| true).unwrap_err();
        let asked = (UNKNOWN_STEEL, None, Gaps::Bound);
        let got = stream(Source::Bytes(text.as_bytes()), "test", &options, asked, &mut |_, _| true).unwrap_err();
        assert_eq!(got.to_string(), want.to_string());
    }

    #[test]
    fn what_must_be_held_is_refused() {
        let rows: String = (0..200_000).map(|i| format!("{},200.{}\n", (i + 100_000) % 200_000, i % 10)).collect();
        let text = format!("elapsed_s,part_side_degc\n{rows}");
        let asked = (UNKNOWN_STEEL, None, Gaps::Bound);
        let got = stream(Source::Bytes(text.as_bytes()), "test", &ReadOptions::default(), asked, &mut |_, _| true);
        assert!(matches!(got, Err(Error::Refused { .. })), "{got:?}");
    }
}

//! The history of a log of any size, in bounded memory: the file is gone through in windows, several times.
//!
//! First for what only the whole tells (how far apart rows are, at which level the readings lie), then for the readings,
//! cleaned as they are in a log that is held, and once more from the loading on where one is found.

use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use super::assemble::{Reading, correct, loading, picked};
use super::began::Began;
use super::cell::TemperatureUnit;
use super::clean;
use super::clock::DAY_S;
use super::dialect::{Notes, dialect, refusal};
use super::elapsed::{elapsed, within_reach};
use super::feed::{Feed, Source};
use super::loading::{Fall, LOOK_S, Loading, falls, loaded};
use super::log::{Channel, Correction, OvenLog, ReadOptions};
use super::order::{Clock, MIDNIGHT_FALL_S, Rows, Timeline, same_time};
use super::received::{Gaps, Received, Walk, accumulated, filled, part_start};
use super::repair::{Gap, Repair};
use super::response::{Following, LagBand, Trace};
use super::role::{Role, TimeUnit};
use super::sample::Sample;
use super::table::{Piece, in_pieces};
use super::text::{layout, raw, read_source};
use super::units::{cells_to_celsius, to_celsius};
use crate::error::{Error, Result};
use crate::kernel::beside;
use crate::temper::{ConstantBelief, History};

/// A file that is not larger is read as a whole; a packed one may be thirty times as large.
const SMALL: u64 = 24 << 20;
const PACKED: u64 = 30;

/// Rows that are put in order, and cleaned, at once; and rows that wait for later ones.
const WINDOW: usize = 1 << 16;
const WAITING: usize = 512;
const CONTEXT: usize = 8192;

/// The most falls that are kept.
const KEPT_FALLS: usize = 1000;

/// The most holes that are kept.
const MOST_GAPS: usize = 100_000;

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
/// As those; and [`Error::Refused`] for a large file whose rows are far out of order.
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
    let mut ends: Vec<Walker> = walkers.walks;
    let mut end = |walk: Walk| -> Result<History> {
        // Where there are no holes, the walks for them are not asked for.
        let at = ends.iter().position(|known| known.walk == walk);
        Ok(at.map_or(walk.start, |at| ends.remove(at).history))
    };
    let received = log.received_by(role, c, following, gaps, first_c, &mut end)?;
    Ok(Streamed { received, log, rows: survey.rows })
}

/// Goes through a source again and again.
struct Passes<'a> {
    source: Source<'a>,
    file: &'a str,
    options: ReadOptions,
}

/// Rows in order: seconds, and each channel's readings.
#[derive(Debug, Clone, Default)]
struct Window {
    seconds: Vec<f64>,
    channels: Vec<(Role, Vec<f64>)>,
}

/// What only the whole file tells.
struct Survey {
    rows: usize,
    ends_s: (f64, f64),
    longest: f64,
    channels: Vec<Known>,
    repairs: Vec<Repair>,
}

/// What is known of a channel.
struct Known {
    role: Role,
    name: String,
    stated: Option<TemperatureUnit>,
    unit: TemperatureUnit,
    typical: f64,
    bend: Option<f64>,
}

/// What was seen while the readings were cleaned.
struct Seen {
    gaps: Vec<Gap>,
    repairs: Vec<Repair>,
    load: Option<Loading>,
}

fn stopped() -> Error {
    Error::Refused {
        what: "reading the log".into(),
        why: "it was stopped from outside".into(),
        instead: "Read it again".into(),
    }
}

fn disordered(why: impl Into<String>) -> Error {
    Error::Refused {
        what: "a history of this file in one go".into(),
        why: why.into().into(),
        instead: "Read it with read_log, which holds the whole record and can put it in order".into(),
    }
}

impl Passes<'_> {
    /// Gives the file's rows in order, window by window; notes on the file go to `repairs`.
    fn windows(
        &mut self,
        repairs: &mut Vec<Repair>,
        names: &mut Vec<Known>,
        progress: &mut dyn FnMut(usize, usize) -> bool,
        each: &mut dyn FnMut(Window) -> Result<()>,
    ) -> Result<()> {
        let mut notes = Notes::new();
        let mut feed = Feed::open(self.source, self.file, &mut notes)?;
        let written = dialect(feed.head(), self.file, &mut notes)?;
        if written.long.is_some() {
            return Err(disordered("it has one row a reading"));
        }
        let layout = layout(feed.head(), written, self.file, &self.options, &mut notes)?;
        feed.skip(layout.written.body);
        let mut order = Order::default();
        let mut told = notes;
        let (file, options) = (self.file, &mut self.options);
        let mut piece_by_piece = |piece: Piece| -> Result<()> {
            let first = order.clock.is_none();
            let noted = piece.notes(layout.written.body_line);
            told.extend(noted.into_iter().filter(|note| !matches!(note.0, "footer")));
            if piece.rows == 0 {
                return Ok(());
            }
            let raw = raw(piece, &layout, file, Notes::new())?;
            let mut said = Vec::new();
            let (time, clock) = elapsed(raw.times, options, file, &mut said)?;
            within_reach(&time, file)?;
            if first {
                // What the first rows say of a unit holds for all.
                if !clock.is_clock
                    && said.iter().any(|note| note.kind == "time unit" && note.why.contains("as minutes"))
                {
                    options.time_unit = Some(TimeUnit::Second);
                }
                *names = raw.readings.iter().map(Known::of).collect();
                repairs.extend(said);
            }
            let mut channels = Vec::new();
            for mut reading in raw.readings {
                let name = (reading.name.as_str(), reading.role);
                let had = cells_to_celsius(name, reading.unit, &reading.units, &mut reading.values, &mut Vec::new());
                if let Some(known) = names.iter_mut().find(|known| known.role == reading.role) {
                    known.stated = known.stated.or(had);
                }
                for (kind, rows) in [("nan", &reading.missing), ("fault code", &reading.faults)] {
                    if !rows.is_empty() {
                        tally(repairs, kind, Some(reading.role), rows.len());
                    }
                }
                channels.push((reading.role, reading.values));
            }
            if !raw.events.is_empty() {
                tally(repairs, "event", None, raw.events.len());
            }
            order.take(time, clock, channels, repairs)?;
            if order.held.seconds.len() >= WINDOW {
                each(order.give(WAITING, repairs)?)?;
            }
            Ok(())
        };
        if !in_pieces(feed, (&layout.written, &layout.uses, layout.order), progress, &mut piece_by_piece)? {
            return Err(stopped());
        }
        let rest = order.give(0, repairs)?;
        if !rest.seconds.is_empty() {
            each(rest)?;
        }
        told.dedup_by(|a, b| a.0 == b.0);
        repairs.splice(0..0, told.into_iter().map(|(kind, why)| Repair::of_file(kind, why)));
        Ok(())
    }

    fn survey(&mut self, progress: &mut dyn FnMut(usize, usize) -> bool) -> Result<Survey> {
        let (mut repairs, mut names) = (Vec::new(), Vec::new());
        let (mut steps, mut readings) = (Sample::default(), Vec::<(Role, Sample)>::new());
        let (mut rows, mut first, mut last) = (0, f64::NAN, f64::NAN);
        self.windows(&mut repairs, &mut names, progress, &mut |window| {
            for &time in &window.seconds {
                if rows == 0 {
                    first = time;
                } else {
                    steps.add(time - last);
                }
                last = time;
                rows += 1;
            }
            for (role, values) in &window.channels {
                if !readings.iter().any(|(known, _)| known == role) {
                    readings.push((*role, Sample::default()));
                }
                if let Some((_, sample)) = readings.iter_mut().find(|(known, _)| known == role) {
                    values.iter().for_each(|&value| sample.add(value));
                }
            }
            Ok(())
        })?;
        if rows < 2 {
            let hint = "A log needs at the least two rows with a time and a temperature each";
            return Err(refusal(self.file, None, "there are fewer than two data rows", hint));
        }
        let interval = clean::median(steps.values().into_iter().filter(|&step| step > 0.0).collect());
        let mut channels = Vec::new();
        for mut known in names {
            let Some(at) = readings.iter().position(|(role, _)| *role == known.role) else { continue };
            let mut sample = readings.swap_remove(at).1.values();
            if !sample.iter().any(|value| value.is_finite()) {
                let why = format!("'{}' holds no reading at all; it was left out", known.name);
                repairs.push(Repair::of_file("channel", why));
                continue;
            }
            if known.role != Role::Duty {
                let (name, role) = (known.name.clone(), known.role);
                known.unit =
                    to_celsius(&name, role, known.stated, &mut sample, &self.options, self.file, &mut repairs)?;
            }
            known.typical = clean::level(sample.into_iter());
            channels.push(known);
        }
        if !channels.iter().any(|known| matches!(known.role, Role::Air | Role::PartSide)) {
            let hint = "Check the sensors' columns; every reading is empty or a fault code";
            return Err(refusal(self.file, None, "no temperature channel holds readings", hint));
        }
        let longest = clean::longest_bridge(interval);
        Ok(Survey { rows, ends_s: (first, last), longest, channels, repairs })
    }

    /// Cleans the readings as they come and walks along them.
    fn clean(
        &mut self,
        survey: &mut Survey,
        walkers: &mut Walkers,
        progress: &mut dyn FnMut(usize, usize) -> bool,
    ) -> Result<Seen> {
        let mut bench = Bench { survey, walkers, context: 0, held: Window::default(), seen: Finder::default() };
        self.windows(&mut Vec::new(), &mut Vec::new(), progress, &mut |window| bench.take(window))?;
        bench.work(true)?;
        let longest = bench.survey.longest;
        let Finder { mut all, own, repairs, pending, looked, .. } = bench.seen;
        all.extend(own);
        let mut repairs = repairs;
        for gap in all.iter().take(100) {
            repairs.push(Repair {
                kind: "gap".into(),
                channel: gap.channel,
                rows: Vec::new(),
                seconds: Some((gap.start_s, gap.end_s)),
                why: format!("no reading for {:.0} s, longer than {longest:.0} s; nothing was filled in, and what follows carries bounds", gap.end_s - gap.start_s),
            });
        }
        let load = loaded(looked, pending.into_iter());
        Ok(Seen { gaps: all, repairs, load })
    }
}

/// Counts repairs of one kind instead of listing their rows.
fn tally(repairs: &mut Vec<Repair>, kind: &'static str, channel: Option<Role>, count: usize) {
    repairs.push(Repair {
        kind: kind.into(),
        channel,
        rows: Vec::new(),
        seconds: None,
        why: format!("{count} in one stretch of the file; rows are not listed in a history in one go"),
    });
}

impl Known {
    fn of(reading: &Reading) -> Self {
        Self {
            role: reading.role,
            name: reading.name.clone(),
            stated: reading.unit,
            unit: TemperatureUnit::Celsius,
            typical: f64::NAN,
            bend: None,
        }
    }
}

/// Puts rows in order that come in pieces.
#[derive(Default)]
struct Order {
    clock: Option<Clock>,
    base: f64,
    before: f64,
    shift: f64,
    last_given: Option<f64>,
    held: Window,
}

impl Order {
    fn take(
        &mut self,
        mut time: Vec<f64>,
        clock: Clock,
        mut channels: Vec<(Role, Vec<f64>)>,
        repairs: &mut Vec<Repair>,
    ) -> Result<()> {
        if clock.whole_minutes {
            return Err(disordered("its clock shows no seconds"));
        }
        if !time.iter().fold(true, |all, time| all & time.is_finite()) {
            let good: Vec<bool> = time.iter().map(|time| time.is_finite()).collect();
            let kept = |values: &mut Vec<f64>| {
                let mut good = good.iter();
                values.retain(|_| good.next() == Some(&true));
            };
            tally(repairs, "no time", None, good.iter().filter(|good| !**good).count());
            kept(&mut time);
            channels.iter_mut().for_each(|(_, values)| kept(values));
        }
        if self.clock.is_none() {
            self.clock = Some(clock);
            self.before = time.first().copied().unwrap_or(0.0);
            self.base = if clock.is_clock { self.before } else { 0.0 };
        }
        if clock.is_clock {
            for time in &mut time {
                let step = *time - self.before;
                self.before = *time;
                if step < -MIDNIGHT_FALL_S {
                    self.shift += DAY_S * (-step / DAY_S).ceil();
                    repairs.push(Repair::of_file(
                        "midnight",
                        format!("the clock falls back by {:.0} s without a new date: taken as midnight", -step),
                    ));
                } else if self.shift > 0.0 && (step - DAY_S).abs() < MIDNIGHT_FALL_S {
                    self.shift -= DAY_S;
                }
                *time += self.shift - self.base;
            }
        }
        self.held.seconds.extend_from_slice(&time);
        if self.held.channels.is_empty() {
            self.held.channels = channels;
        } else {
            for ((_, held), (_, values)) in self.held.channels.iter_mut().zip(channels) {
                held.extend_from_slice(&values);
            }
        }
        Ok(())
    }

    /// Rows in order, each time once, but for the last few, which may have late ones yet.
    fn give(&mut self, waiting: usize, repairs: &mut Vec<Repair>) -> Result<Window> {
        let Window { mut seconds, mut channels } = std::mem::take(&mut self.held);
        if clean::steps(&seconds).fold(false, |any, step| any | (step < 0.0)) {
            let mut order: Vec<usize> = (0..seconds.len()).collect();
            let picked = |values: &Vec<f64>, order: &[usize]| -> Vec<f64> {
                order.iter().filter_map(|&at| values.get(at).copied()).collect()
            };
            order.sort_by(|&a, &b| seconds.get(a).unwrap_or(&0.0).total_cmp(seconds.get(b).unwrap_or(&0.0)));
            let late = order.iter().enumerate().filter(|(place, from)| place.abs_diff(**from) > WAITING).count();
            if late > 0 {
                return Err(disordered(format!("its rows are out of order by more than {WAITING} rows")));
            }
            repairs.push(Repair::of_file(
                "out of order",
                "rows were written after later ones; they were put in their place in time",
            ));
            seconds = picked(&seconds, &order);
            channels.iter_mut().for_each(|(_, values)| *values = picked(values, &order));
        }
        if self.last_given.zip(seconds.first().copied()).is_some_and(|(last, first)| first <= last) {
            return Err(disordered("time falls back from one part of it to the next"));
        }
        let mut cut = seconds.len().saturating_sub(waiting);
        while cut > 0 && cut < seconds.len() && seconds.get(cut) == seconds.get(cut - 1) {
            cut -= 1;
        }
        self.held = Window {
            seconds: seconds.split_off(cut),
            channels: channels.iter_mut().map(|(role, values)| (*role, values.split_off(cut))).collect(),
        };
        let line = Timeline { seconds, rows: Rows::default() };
        let keep = same_time(&line, &mut channels, repairs);
        let seconds = picked(line.seconds, keep.as_ref());
        channels.iter_mut().for_each(|(_, values)| *values = picked(std::mem::take(values), keep.as_ref()));
        self.last_given = seconds.last().copied().or(self.last_given);
        Ok(Window { seconds, channels })
    }
}

/// Where readings are cleaned: rows that are done and stay for their neighbours' sake, then rows that are new.
struct Bench<'a> {
    survey: &'a mut Survey,
    walkers: &'a mut Walkers,
    context: usize,
    held: Window,
    seen: Finder,
}

/// Holes and loadings, found as rows go by.
#[derive(Default)]
struct Finder {
    last_row: Option<f64>,
    last_good: Vec<(Role, f64)>,
    all: Vec<Gap>,
    own: Vec<Gap>,
    repairs: Vec<Repair>,
    /// Falls that a part may have made, and how many were looked at.
    pending: Vec<Fall>,
    looked: usize,
}

impl Bench<'_> {
    fn take(&mut self, window: Window) -> Result<()> {
        self.held.seconds.extend_from_slice(&window.seconds);
        if self.held.channels.is_empty() {
            self.held.channels = window.channels;
        } else {
            for ((_, held), (_, values)) in self.held.channels.iter_mut().zip(window.channels) {
                held.extend_from_slice(&values);
            }
        }
        if self.held.seconds.len() >= self.context + WINDOW { self.work(false) } else { Ok(()) }
    }

    /// Cleans the rows that are new, all but those whose neighbours are still to come.
    fn work(&mut self, last: bool) -> Result<()> {
        let seconds = &self.held.seconds;
        let end_s = seconds.last().copied().unwrap_or(0.0);
        let known = seconds.partition_point(|&time| time < end_s - LOOK_S).min(seconds.len().saturating_sub(WAITING));
        // Very densely sampled records can't wait so long.
        let known = if seconds.len() > 8 * WINDOW { seconds.len() - WAITING } else { known };
        let until = if last { seconds.len() } else { known };
        let from = self.context;
        if until <= from {
            return Ok(());
        }
        let mut cleaned: Vec<(Role, Vec<f64>)> = Vec::new();
        for (role, values) in &self.held.channels {
            let Some(known) = self.survey.channels.iter_mut().find(|known| known.role == *role) else { continue };
            if !matches!(role, Role::Air | Role::PartSide) {
                continue;
            }
            let mut values = values.clone();
            if known.unit != TemperatureUnit::Celsius {
                values.iter_mut().skip(from).for_each(|value| *value = known.unit.to_celsius(*value));
            }
            let mut made = Vec::new();
            clean::faults((*role, known.unit), seconds, &Rows::default(), &mut values, known.typical, &mut made);
            let bend = *known.bend.get_or_insert_with(|| clean::usual_bend(&values));
            clean::spikes(*role, seconds, &Rows::default(), &mut values, bend, &mut made);
            for mut repair in made {
                repair.rows.retain(|row| (from..until).contains(row));
                if let (Some(first), Some(last)) = (repair.rows.first(), repair.rows.last()) {
                    let at = |row: &usize| seconds.get(*row).copied().unwrap_or(f64::NAN);
                    repair.seconds = Some((at(first), at(last)));
                    repair.why = format!("{} in a stretch of the file: {}", repair.rows.len(), repair.why);
                    repair.rows.clear();
                    self.seen.repairs.push(repair);
                }
            }
            cleaned.push((*role, values));
        }
        let of = |role: Role| cleaned.iter().find(|(known, _)| *known == role).map(|(_, values)| values.as_slice());
        if let Some(part) = of(Role::PartSide) {
            self.seen.falls(seconds, part, of(Role::Air), from, until);
        }
        self.seen.gaps(seconds, &cleaned, from, until, self.survey.longest)?;
        if let Some(values) = of(self.walkers.role) {
            let (seconds, values) =
                (seconds.get(from..until).unwrap_or_default(), values.get(from..until).unwrap_or_default());
            self.walkers.walk(seconds, values)?;
        }
        // Rows that are done stay as they now are; the others as they came.
        let drop = until.saturating_sub(CONTEXT);
        for (role, values) in &mut self.held.channels {
            if let Some((_, cleaned)) = cleaned.iter().find(|(known, _)| known == role) {
                if let (Some(raw), Some(done)) = (values.get_mut(..until), cleaned.get(..until)) {
                    raw.copy_from_slice(done);
                }
            }
            values.drain(..drop.min(values.len()));
        }
        self.held.seconds.drain(..drop);
        self.context = until - drop;
        Ok(())
    }
}

impl Finder {
    fn falls(&mut self, seconds: &[f64], part: &[f64], air: Option<&[f64]>, from: usize, until: usize) {
        for (_, fall) in falls(seconds, part, air).into_iter().filter(|(index, _)| (from..until).contains(index)) {
            self.looked += 1;
            if self.looked <= KEPT_FALLS {
                self.pending.extend(fall);
            }
        }
        let new = part.get(..until).unwrap_or_default();
        self.pending.iter_mut().for_each(|fall| fall.watch(seconds, new));
    }

    fn gaps(
        &mut self,
        seconds: &[f64],
        channels: &[(Role, Vec<f64>)],
        from: usize,
        until: usize,
        longest: f64,
    ) -> Result<()> {
        for index in from..until {
            let Some(&time) = seconds.get(index) else { continue };
            let before = self.last_row.replace(time);
            if let Some(start_s) = before.filter(|before| time - before > longest) {
                self.all.push(Gap { channel: None, start_s, end_s: time });
            }
            for (role, values) in channels {
                if !values.get(index).is_some_and(|value| value.is_finite()) {
                    continue;
                }
                let last = match self.last_good.iter_mut().find(|(known, _)| known == role) {
                    Some((_, last)) => Some(std::mem::replace(last, time)),
                    None => {
                        self.last_good.push((*role, time));
                        None
                    }
                };
                if let Some(start_s) = last.filter(|&last| time - last > longest && before != Some(last)) {
                    self.own.push(Gap { channel: Some(*role), start_s, end_s: time });
                }
            }
        }
        if self.all.len() + self.own.len() > MOST_GAPS {
            return Err(disordered(format!("it has more than {MOST_GAPS} holes")));
        }
        Ok(())
    }
}

/// Walks along a channel as its readings come.
struct Walkers {
    role: Role,
    longest: f64,
    correction_c: f64,
    load: Option<Loading>,
    first: Option<f64>,
    last: Option<(f64, f64)>,
    count: usize,
    walks: Vec<Walker>,
}

/// One walk: its history so far, and where the air and the part were.
#[derive(Clone)]
struct Walker {
    walk: Walk,
    history: History,
    at: Option<((f64, f64), f64)>,
}

impl Walkers {
    fn new(walks: &[Walk], role: Role, correction: Option<Correction>, longest: f64, load: Option<Loading>) -> Self {
        let start = |walk: &Walk| Walker { walk: walk.clone(), history: walk.start.clone(), at: None };
        Self {
            role,
            longest,
            correction_c: correction.map_or(0.0, |correction| correction.value_delta_c),
            load,
            first: None,
            last: None,
            count: 0,
            walks: walks.iter().map(start).collect(),
        }
    }

    fn walk(&mut self, seconds: &[f64], values: &[f64]) -> Result<()> {
        let start = self.load.map_or(f64::NEG_INFINITY, |load| load.at_s);
        let good: Vec<(f64, f64)> = seconds
            .iter()
            .zip(values)
            .filter(|(time, value)| **time >= start && value.is_finite())
            .map(|(&time, &value)| (time, value + self.correction_c))
            .collect();
        let Some(&(_, first)) = good.first() else { return Ok(()) };
        let begin = part_start(*self.first.get_or_insert(first), self.load.is_some());
        self.count += good.len();
        let (before, longest) = (self.last, self.longest);
        self.last = good.last().copied();
        let walks: Vec<Mutex<&mut Walker>> = self.walks.iter_mut().map(Mutex::new).collect();
        let next = AtomicUsize::new(0);
        let failed: Mutex<Option<Error>> = Mutex::new(None);
        let work = || {
            while let Some(walker) = walks.get(next.fetch_add(1, Ordering::Relaxed)) {
                let Ok(mut walker) = walker.lock() else { return };
                if let (Err(error), Ok(mut failed)) = (walker.go(before, &good, longest, begin), failed.lock()) {
                    failed.get_or_insert(error);
                }
            }
        };
        beside(walks.len(), work, work);
        failed.into_inner().ok().flatten().map_or(Ok(()), Err)
    }

    /// The first reading that counts, or the part's own start in air.
    fn first_c(&self, follows: bool) -> Result<f64> {
        match self.first {
            Some(first) if self.count > 1 => Ok(if follows { part_start(first, self.load.is_some()) } else { first }),
            _ => Err(Error::NoAnswer {
                model: "oven.history".into(),
                asked: "what the steel got".into(),
                why: format!("{} has fewer than two readings after the part went in", self.role.name()).into(),
                hint: "Check load_s".into(),
            }),
        }
    }
}

impl Walker {
    fn go(&mut self, mut before: Option<(f64, f64)>, good: &[(f64, f64)], longest: f64, start_c: f64) -> Result<()> {
        let mut trace =
            Trace { seconds: Vec::with_capacity(good.len() + 1), celsius: Vec::with_capacity(good.len() + 1) };
        for &(time, value) in good {
            if let Some(from) = before.filter(|(from, _)| time - from > longest) {
                for (time, value) in filled(from, (time, value), self.walk.fill).into_iter().flatten() {
                    trace.seconds.push(time);
                    trace.celsius.push(value);
                }
            }
            trace.seconds.push(time);
            trace.celsius.push(value);
            before = Some((time, value));
        }
        if let Some(response) = &self.walk.response {
            let air = trace.seconds.last().copied().zip(trace.celsius.last().copied());
            let part = match self.at {
                Some(((time, air), part)) => {
                    trace.seconds.insert(0, time);
                    trace.celsius.insert(0, air);
                    part
                }
                None => start_c,
            };
            let mut made = response.follow(&trace, part);
            if self.at.is_some() {
                made.seconds.remove(0);
                made.celsius.remove(0);
            }
            self.at = air.zip(made.celsius.last().copied());
            trace = made;
        }
        self.history = accumulated(self.history.clone(), &trace, self.walk.moved_c)?;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
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

    #[test]
    fn what_must_be_held_is_refused() {
        let rows: String = (0..200_000).map(|i| format!("{},200.{}\n", (i + 100_000) % 200_000, i % 10)).collect();
        let text = format!("elapsed_s,part_side_degc\n{rows}");
        let asked = (UNKNOWN_STEEL, None, Gaps::Bound);
        let got = stream(Source::Bytes(text.as_bytes()), "test", &ReadOptions::default(), asked, &mut |_, _| true);
        assert!(matches!(got, Err(Error::Refused { .. })), "{got:?}");
    }
}

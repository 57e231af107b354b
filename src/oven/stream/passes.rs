//! Going through a source again and again: first for what only the whole tells, then for the readings.

use super::cleaning::{Bench, Finder};
use super::rows::{Order, WAITING, WINDOW};
use super::still::Still;
use super::walkers::Walkers;
use crate::error::{Error, Result};
use crate::oven::assemble::Reading;
use crate::oven::cell::TemperatureUnit;
use crate::oven::clean;
use crate::oven::dialect::{Notes, dialect, refusal};
use crate::oven::elapsed::{elapsed, within_reach};
use crate::oven::feed::{Feed, Source};
use crate::oven::loading::{Loading, loaded};
use crate::oven::log::ReadOptions;
use crate::oven::pieces::in_pieces;
use crate::oven::received::probe_is_alive;
use crate::oven::repair::{Gap, Repair};
use crate::oven::role::{Role, TimeUnit};
use crate::oven::sample::Sample;
use crate::oven::table::Piece;
use crate::oven::text::{layout, raw};
use crate::oven::units::{cells_to_celsius, switched, to_celsius};

/// Goes through a source again and again.
pub(super) struct Passes<'a> {
    pub source: Source<'a>,
    pub file: &'a str,
    pub options: ReadOptions,
}

/// Rows in order: seconds, and each channel's readings.
#[derive(Debug, Clone, Default)]
pub(super) struct Window {
    pub seconds: Vec<f64>,
    pub channels: Vec<(Role, Vec<f64>)>,
}

/// What only the whole file tells.
pub(super) struct Survey {
    pub rows: usize,
    pub ends_s: (f64, f64),
    pub longest: f64,
    pub channels: Vec<Known>,
    pub repairs: Vec<Repair>,
}

/// What is known of a channel.
pub(super) struct Known {
    pub role: Role,
    pub name: String,
    pub stated: Option<TemperatureUnit>,
    pub unit: TemperatureUnit,
    pub typical: f64,
    pub bend: Option<f64>,
}

/// What was seen while the readings were cleaned.
pub(super) struct Seen {
    pub gaps: Vec<Gap>,
    pub repairs: Vec<Repair>,
    pub load: Option<Loading>,
}

fn stopped() -> Error {
    Error::Refused {
        what: "reading the log".into(),
        why: "it was stopped from outside".into(),
        instead: "Read it again".into(),
    }
}

pub(super) fn disordered(why: impl Into<String>) -> Error {
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

    pub(super) fn survey(&mut self, progress: &mut dyn FnMut(usize, usize) -> bool) -> Result<Survey> {
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
    pub(super) fn clean(
        &mut self,
        survey: &mut Survey,
        walkers: &mut Walkers,
        progress: &mut dyn FnMut(usize, usize) -> bool,
    ) -> Result<Seen> {
        let by = walkers.role;
        let mut bench = Bench::new(survey, walkers);
        self.windows(&mut Vec::new(), &mut Vec::new(), progress, &mut |window| bench.take(window))?;
        bench.work(true)?;
        let longest = bench.survey.longest;
        let Finder { mut all, own, mut repairs, pending, looked, switch, still, .. } = bench.seen;
        all.extend(own);
        repairs.extend(all.iter().take(100).map(|gap| gap.noted(longest)));
        if let Some((role, there)) = switch {
            let name = survey.channels.iter().find(|known| known.role == role).map_or(role.name(), |known| &known.name);
            repairs.push(switched((name, role), there, &self.options, self.file)?);
        }
        for (repair, air_moved_c) in still.into_iter().filter_map(Still::found) {
            let asked = by == Role::PartSide && repair.channel == Some(by);
            if let Some(seconds) = repair.seconds.filter(|_| asked) {
                probe_is_alive(seconds, air_moved_c)?;
            }
            repairs.push(repair);
        }
        let load = loaded(looked, pending.into_iter());
        Ok(Seen { gaps: all, repairs, load })
    }
}

/// Counts repairs of one kind instead of listing their rows.
pub(super) fn tally(repairs: &mut Vec<Repair>, kind: &'static str, channel: Option<Role>, count: usize) {
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

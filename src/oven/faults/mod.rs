//! What is wrong with a sensor, as its record shows it: found and named, never repaired.

mod contact;
mod drift;
mod reversed;
mod stuck;

use std::fmt;

use serde::{Deserialize, Serialize};

use super::log::OvenLog;
use super::repair::told;
use super::role::Role;

/// The channels that hold temperatures.
const CHANNELS: [Role; 2] = [Role::Air, Role::PartSide];

/// What beside the part is not warmer than this may lie outside the oven, and says nothing of its sensor.
const ROOM_C: f64 = 45.0;

/// One fault of a sensor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Fault {
    /// "spike", "drop-out", "open sensor", "stuck sensor", "reversed thermocouple", "drift" or "contact lost".
    pub kind: String,
    /// The channel; nothing where two are meant.
    pub channel: Option<Role>,
    /// Rows: of the file where the reader found it, else of the log as it was read, counted from 0.
    pub rows: Vec<usize>,
    /// First and last elapsed second, where that has a meaning.
    pub seconds: Option<(f64, f64)>,
    /// How large it is in °C, where that has a meaning.
    pub size_delta_c: Option<f64>,
    /// Why it is thought to be one, and what to look at.
    pub why: String,
}

impl fmt::Display for Fault {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        told(to, &self.kind, (self.channel, self.seconds), &self.why)
    }
}

impl OvenLog {
    /// Every fault that the record shows, in the order of time; those the reader already left out are among them.
    #[must_use]
    pub fn faults(&self) -> Vec<Fault> {
        let mut found = Vec::new();
        // Of a part that never lagged visibly nothing needs to be known.
        let lag_s = self.fitted_lag().ok().map(|lag| lag.value());
        for role in CHANNELS {
            found.extend(self.stuck(role, lag_s));
            found.extend(self.contact_lost(role));
        }
        found.extend(self.reversed());
        found.extend(self.drift(lag_s));
        let noted: Vec<Fault> = self
            .left_out()
            .into_iter()
            .filter(|note| !found.iter().any(|own| own.kind == note.kind && own.channel == note.channel))
            .collect();
        found.extend(noted);
        let start = |fault: &Fault| fault.seconds.map_or(f64::NEG_INFINITY, |seconds| seconds.0);
        found.sort_by(|a, b| start(a).total_cmp(&start(b)));
        found
    }

    fn read(&self, role: Role) -> Option<&[f64]> {
        self.channel(role).map(|channel| channel.values.as_slice())
    }

    /// When the part went in, or the first row.
    fn loaded_s(&self) -> f64 {
        self.load.map_or(self.span_s().0, |load| load.at_s)
    }

    /// What the reader's notes say of sensors.
    fn left_out(&self) -> Vec<Fault> {
        let notes: Vec<Fault> = self
            .repairs
            .iter()
            .filter_map(|repair| {
                let kind = match repair.kind.as_ref() {
                    "spike" => "spike",
                    "fault code" => "open sensor",
                    "nan" => "drop-out",
                    "stuck" => "stuck sensor",
                    "reversed" => "reversed thermocouple",
                    _ => return None,
                };
                Some(Fault {
                    kind: kind.to_owned(),
                    channel: repair.channel,
                    rows: repair.rows.clone(),
                    seconds: repair.seconds,
                    size_delta_c: None,
                    why: repair.why.clone(),
                })
            })
            .collect();
        // A hole of one channel whose rows a note names is that note's.
        let told = |start_s: f64, end_s: f64, channel: Option<Role>| {
            let within = |note: &Fault| note.seconds.is_some_and(|(from, until)| from <= end_s && until >= start_s);
            notes.iter().any(|note| note.channel == channel && within(note))
        };
        let holes: Vec<Fault> = self
            .gaps
            .iter()
            .filter(|gap| gap.channel.is_some() && !told(gap.start_s, gap.end_s, gap.channel))
            .map(|gap| Fault {
                kind: "drop-out".to_owned(),
                channel: gap.channel,
                rows: Vec::new(),
                seconds: Some((gap.start_s, gap.end_s)),
                size_delta_c: None,
                why: format!("no reading for {:.0} s while the record went on", gap.end_s - gap.start_s),
            })
            .collect();
        notes.into_iter().chain(holes).collect()
    }
}

/// The other temperature.
const fn other(role: Role) -> Role {
    if matches!(role, Role::Air) { Role::PartSide } else { Role::Air }
}

fn at(values: &[f64], row: usize) -> f64 {
    values.get(row).copied().unwrap_or(f64::NAN)
}

/// Slope of a straight line by least squares, and its standard uncertainty where neighbours are alike.
fn line(points: &[(f64, f64)]) -> Option<(f64, f64)> {
    let count = points.len() as f64;
    if points.len() < 3 {
        return None;
    }
    let mean_x = points.iter().map(|point| point.0).sum::<f64>() / count;
    let mean_y = points.iter().map(|point| point.1).sum::<f64>() / count;
    let sxx: f64 = points.iter().map(|point| (point.0 - mean_x).powi(2)).sum();
    if sxx <= 0.0 {
        return None;
    }
    let slope = points.iter().map(|point| (point.0 - mean_x) * (point.1 - mean_y)).sum::<f64>() / sxx;
    let rest: Vec<f64> = points.iter().map(|point| point.1 - mean_y - slope * (point.0 - mean_x)).collect();
    let power: f64 = rest.iter().map(|value| value * value).sum();
    let along: f64 = rest.iter().zip(rest.iter().skip(1)).map(|(a, b)| a * b).sum();
    let alike = (along / power.max(f64::MIN_POSITIVE)).clamp(0.0, 0.8);
    Some((slope, (power / (count - 2.0) / sxx * (1.0 + alike) / (1.0 - alike)).sqrt()))
}

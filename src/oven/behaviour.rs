//! How the oven behaved: overshoot, settling, steadiness, swing, droop, doors, duty.

use serde::{Deserialize, Serialize};

use super::clean::median;
use super::doors::DoorEvent;
use super::fit::effective;
use super::log::OvenLog;
use super::role::Role;
use crate::error::{Error, Result};
use crate::estimate::{Estimate, Shape};

/// What a log says of its oven at a setpoint; differences are from the setpoint unless said otherwise.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Behaviour {
    /// The setpoint, °C.
    pub setpoint_c: f64,
    /// The channel looked at.
    pub channel: Role,
    /// First elapsed second at the setpoint, if it ever was there.
    pub reached_s: Option<f64>,
    /// Highest reading above the setpoint; negative where it was never reached.
    pub overshoot_delta_c: f64,
    /// When that was.
    pub peak_s: f64,
    /// From when on it stays within the band until the hold ends, doors left out; nothing if it never does.
    pub settled_s: Option<f64>,
    /// When the hold ends.
    pub end_s: f64,
    /// Degrees that count as settled.
    pub within_delta_c: f64,
    /// Lowest and highest reading of the steady part.
    pub steady_band_c: Option<(f64, f64)>,
    /// Mean of the steady part less the setpoint.
    pub droop_delta_c: Option<Estimate>,
    /// Half the peak to peak of the swing, where there is one.
    pub swing_delta_c: Option<f64>,
    /// Its period, s.
    pub period_s: Option<f64>,
    /// Door openings.
    pub doors: Vec<DoorEvent>,
    /// Mean duty in the last half hour of the steady part, %.
    pub mean_duty_percent: Option<f64>,
    /// Part side less air in the steady part.
    pub part_less_air_delta_c: Option<Estimate>,
    /// The readings: elapsed seconds and °C, without holes.
    readings: Vec<(f64, f64)>,
}

/// A heater of the right size works at this duty in the hold (a working assumption of the trade, no source).
pub const DESIGN_DUTY_PERCENT: (f64, f64) = (35.0, 50.0);

/// How much of the end of a hold its duty is taken from, s.
const LAST_S: f64 = 1800.0;

impl OvenLog {
    /// How the oven behaved at a setpoint: its own channel's where none is given.
    ///
    /// # Errors
    /// [`Error::MissingArgument`] for a log without a setpoint channel and none given; [`Error::InvalidValue`] for a
    /// band that is not positive; [`Error::NoAnswer`] for fewer than two readings.
    pub fn behaviour(&self, setpoint_c: Option<f64>, within_delta_c: f64) -> Result<Behaviour> {
        let setpoints = self.channel(Role::Setpoint).map(|channel| channel.values.as_slice());
        let own = median(setpoints.unwrap_or_default().iter().copied().filter(|&v| v > 50.0).collect());
        let setpoint_c =
            setpoint_c.or_else(|| own.is_finite().then_some(own)).ok_or_else(|| Error::MissingArgument {
                function: "behaviour".into(),
                argument: "setpoint_c".into(),
                why: "the log has no setpoint channel".into(),
                hint: "Give the temperature the controller was set to".into(),
            })?;
        for (argument, value) in [("setpoint_c", setpoint_c), ("within_delta_c", within_delta_c)] {
            if !value.is_finite() || value <= 0.0 {
                return Err(Error::invalid(
                    "oven.behaviour",
                    argument,
                    (value, "°C"),
                    "is not positive",
                    "Give degrees Celsius",
                ));
            }
        }
        let role = if self.channel(Role::Air).is_some() { Role::Air } else { Role::PartSide };
        let readings = self.readings_of(role);
        let (Some(&(first_s, _)), Some(&(last_s, _))) = (readings.first(), readings.last()) else {
            return Err(Error::NoAnswer {
                model: "oven.behaviour".into(),
                asked: "how the oven behaved".into(),
                why: "the log holds no readings".into(),
                hint: "Check the channels".into(),
            });
        };
        let switched_off = setpoints.and_then(|values| {
            let set = values.iter().rposition(|&value| value >= setpoint_c - within_delta_c)?;
            (set + 1 < values.len()).then(|| self.seconds.get(set).copied()).flatten()
        });
        let last_hot = readings.iter().rev().find(|(_, value)| *value >= setpoint_c - within_delta_c);
        let end_s = switched_off.or(last_hot.map(|(time, _)| *time)).unwrap_or(last_s);
        let hold: Vec<(f64, f64)> = readings.iter().copied().filter(|(time, _)| *time <= end_s).collect();
        let doors: Vec<DoorEvent> = self.doors().into_iter().filter(|door| door.start_s <= end_s).collect();
        let beside_doors = |time: f64| !doors.iter().any(|door| door.start_s < time && time < door.recovered_s);
        let (peak_s, peak) = hold
            .iter()
            .copied()
            .fold((first_s, f64::NEG_INFINITY), |best, now| if now.1 > best.1 { now } else { best });
        let inside = |value: f64| (value - setpoint_c).abs() <= within_delta_c;
        let outside = hold.iter().rposition(|&(time, value)| beside_doors(time) && !inside(value));
        let settled_s = match outside {
            Some(index) => hold.get(index + 1).map(|(time, _)| *time),
            None => hold.first().map(|(time, _)| *time),
        };
        let steady: Vec<(f64, f64)> = settled_s.map_or_else(Vec::new, |settled| {
            hold.iter().copied().filter(|&(time, _)| time >= settled && beside_doors(time)).collect()
        });
        let is_steady = |time: f64| settled_s.is_some_and(|from| from <= time && time <= end_s) && beside_doors(time);
        let values: Vec<f64> = steady.iter().map(|(_, value)| *value).collect();
        let (swing_delta_c, period_s) = swing(&steady).map_or((None, None), |(a, b)| (Some(a), Some(b)));
        // The walls take heat for hours: the last half hour says what the hold itself takes.
        let late = end_s - LAST_S;
        let duties = self.readings_of(Role::Duty).into_iter().filter(|(time, _)| is_steady(*time) && *time >= late);
        let duty: Vec<f64> = duties.map(|(_, value)| value).collect();
        Ok(Behaviour {
            setpoint_c,
            channel: role,
            reached_s: hold.iter().find(|(_, value)| *value >= setpoint_c).map(|(time, _)| *time),
            overshoot_delta_c: peak - setpoint_c,
            peak_s,
            settled_s,
            end_s,
            within_delta_c,
            steady_band_c: (!values.is_empty()).then(|| {
                let fold = |from: f64, of: fn(f64, f64) -> f64| values.iter().copied().fold(from, of);
                (fold(f64::INFINITY, f64::min) - setpoint_c, fold(f64::NEG_INFINITY, f64::max) - setpoint_c)
            }),
            droop_delta_c: mean(&values).map(|mean| shifted(&mean, setpoint_c)),
            swing_delta_c,
            period_s,
            doors: doors.clone(),
            mean_duty_percent: (!duty.is_empty()).then(|| duty.iter().sum::<f64>() / duty.len() as f64),
            part_less_air_delta_c: self.part_less_air(&is_steady),
            readings,
        })
    }

    fn readings_of(&self, role: Role) -> Vec<(f64, f64)> {
        let values = self.channel(role).map(|channel| channel.values.as_slice()).unwrap_or_default();
        self.seconds.iter().copied().zip(values.iter().copied()).filter(|(_, value)| value.is_finite()).collect()
    }

    fn part_less_air(&self, counts: &impl Fn(f64) -> bool) -> Option<Estimate> {
        let (air, part) = (self.channel(Role::Air)?, self.channel(Role::PartSide)?);
        let both = self.seconds.iter().zip(&air.values).zip(&part.values);
        let differences: Vec<f64> = both
            .filter(|((time, air), part)| counts(**time) && air.is_finite() && part.is_finite())
            .map(|((_, air), part)| part - air)
            .collect();
        let mut made = mean(&differences)?;
        for correction in [air.correction, part.correction].into_iter().flatten() {
            made = made.with("channel corrections", correction.u_delta_c);
        }
        Some(if air.correction.is_some() && part.correction.is_some() {
            made
        } else {
            made.assuming("a channel without a correction: its sensor's own error is in this difference")
        })
    }
}

impl Behaviour {
    /// Minutes that the readings lie more than some degrees above the setpoint, straight lines between them.
    #[must_use]
    pub fn minutes_above(&self, delta_c: f64) -> f64 {
        let level = self.setpoint_c + delta_c;
        let above = |(a, b): (&(f64, f64), &(f64, f64))| {
            let (low, high) = (a.1.min(b.1), a.1.max(b.1));
            let share = if high <= level {
                0.0
            } else if low >= level {
                1.0
            } else {
                (high - level) / (high - low)
            };
            share * (b.0 - a.0)
        };
        self.readings.iter().zip(self.readings.iter().skip(1)).map(above).sum::<f64>() / 60.0
    }

    /// How many times too strong the heater is against a design duty of 35 to 50 % in the hold.
    #[must_use]
    pub fn times_too_strong(&self) -> Option<Estimate> {
        let duty = self.mean_duty_percent.filter(|duty| *duty > 0.0)?;
        let (low, high) = (DESIGN_DUTY_PERCENT.0 / duty, DESIGN_DUTY_PERCENT.1 / duty);
        Some(
            Estimate::new((low * high).sqrt(), "")
                .with("design duty", (high - low) / 12f64.sqrt())
                .shaped(Shape::Bounds { low, high })
                .assuming(
                    "a heater of the right size works at 35 to 50 % in the hold (a working assumption, no source)",
                ),
        )
    }
}

/// A mean with the uncertainty that neighbours alike leave it.
fn mean(values: &[f64]) -> Option<Estimate> {
    if values.len() < 2 {
        return None;
    }
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let residuals: Vec<f64> = values.iter().map(|value| value - mean).collect();
    let variance = residuals.iter().map(|r| r * r).sum::<f64>() / (n - 1.0);
    Some(Estimate::new(mean, "°C").with("scatter", (variance / effective(&residuals).max(1.0)).sqrt()))
}

fn shifted(estimate: &Estimate, by: f64) -> Estimate {
    let made = Estimate::new(estimate.value() - by, "°C");
    estimate.components().iter().fold(made, |made, part| made.with(part.name.clone(), part.u))
}

/// Half the peak to peak of a swing and its period, from its ups through the middle; nothing for fewer than three.
fn swing(steady: &[(f64, f64)]) -> Option<(f64, f64)> {
    let values: Vec<f64> = steady.iter().map(|(_, value)| *value).collect();
    let middle = values.iter().sum::<f64>() / values.len().max(1) as f64;
    let spread = (values.iter().map(|v| (v - middle) * (v - middle)).sum::<f64>() / values.len().max(1) as f64).sqrt();
    let (mut below, mut ups) = (false, Vec::new());
    for (index, &(_, value)) in steady.iter().enumerate() {
        if value < middle - 0.5 * spread {
            below = true;
        } else if below && value > middle + 0.5 * spread {
            below = false;
            ups.push(index);
        }
    }
    let cycles: Vec<&[(f64, f64)]> =
        ups.iter().zip(ups.iter().skip(1)).filter_map(|(&a, &b)| steady.get(a..=b)).collect();
    if cycles.len() < 3 {
        return None;
    }
    let period = median(cycles.iter().filter_map(|cycle| Some(cycle.last()?.0 - cycle.first()?.0)).collect());
    // Cycles of all lengths are noise, not a swing.
    let even = cycles.iter().filter_map(|cycle| Some(cycle.last()?.0 - cycle.first()?.0));
    let alike = even.filter(|length| (length / period - 1.0).abs() < 0.35).count();
    if 2 * alike < cycles.len() {
        return None;
    }
    let heights = cycles.iter().map(|cycle| {
        let fold = |from: f64, of: fn(f64, f64) -> f64| cycle.iter().map(|(_, value)| *value).fold(from, of);
        0.5 * (fold(f64::NEG_INFINITY, f64::max) - fold(f64::INFINITY, f64::min))
    });
    Some((median(heights.collect()), period))
}

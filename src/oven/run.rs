//! A run of an oven's model under a controller, step by step, exact between the steps.

use std::collections::VecDeque;

use serde::{Deserialize, Serialize};

use super::controller::Pid;
use crate::error::{Error, Result};

/// How the integral is kept from winding up while the power is at its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum AntiWindup {
    /// Not at all.
    None,
    /// It stands while the power is at a limit and the error would drive it further (conditional integration).
    #[default]
    Conditional,
    /// What the limit cut off is fed back, with Tt = Ti, or √(Ti·Td).
    BackCalculation,
}

impl AntiWindup {
    /// From its name.
    ///
    /// # Errors
    /// [`Error::UnknownName`].
    pub fn named(name: &str) -> Result<Self> {
        match name {
            "none" => Ok(Self::None),
            "conditional" => Ok(Self::Conditional),
            "back-calculation" => Ok(Self::BackCalculation),
            other => Err(Error::UnknownName {
                kind: "anti-windup".into(),
                name: other.to_owned(),
                close: vec!["conditional".into(), "back-calculation".into(), "none".into()],
                hint: "\"conditional\" is the default".into(),
            }),
        }
    }
}

/// A model of an oven with its sensor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plant {
    /// Rise at full power, °C.
    pub gain: f64,
    /// Lag, s.
    pub tau_s: f64,
    /// Dead time, s.
    pub theta_s: f64,
    /// Lag of the sensor, s.
    pub sensor_lag_s: f64,
    /// Temperature with the heater off, and at the start.
    pub ambient_c: f64,
    /// Whether power lies between 0 and 1.
    pub limited: bool,
}

/// What a run came to.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RunMetrics {
    /// Highest temperature above the setpoint, °C; 0 where there is none.
    pub overshoot_delta_c: f64,
    /// First second at the setpoint; NaN if never.
    pub reached_s: f64,
    /// From when on it stays within the band; NaN if never.
    pub settled_s: f64,
    /// Integral of the error's size, °C s.
    pub absolute_error_c_s: f64,
}

/// A run.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Seconds.
    pub seconds: Vec<f64>,
    /// The air itself, °C.
    pub celsius: Vec<f64>,
    /// Share of full power.
    pub power: Vec<f64>,
    /// What it came to.
    pub metrics: RunMetrics,
}

/// Runs a controller from cold.
#[must_use]
pub fn run(
    plant: &Plant,
    pid: &Pid,
    setpoint_c: f64,
    anti_windup: AntiWindup,
    step_s: f64,
    until_s: f64,
    within_c: f64,
) -> Run {
    let controller = controller(plant, pid, setpoint_c, anti_windup, step_s);
    course(plant, plant.ambient_c, setpoint_c, step_s, until_s, within_c, controller)
}

/// What a controller at rest at its setpoint makes of a load: a change of power that it did not order, as a share of full
/// power. Power is not limited, and the load acts at once.
#[must_use]
pub fn run_load(plant: &Plant, pid: &Pid, load: f64, step_s: f64, until_s: f64) -> Run {
    // At rest at a level of zero; what the load does is a warmer or colder room.
    let rest = Plant { ambient_c: 0.0, limited: false, ..*plant };
    let controller = controller(&rest, pid, 0.0, AntiWindup::None, step_s);
    course(&Plant { ambient_c: load * plant.gain, ..rest }, 0.0, 0.0, step_s, until_s, 0.0, controller)
}

/// A controller: power from what is sensed. The derivative is taken of the measurement and filtered with Td/10.
fn controller(
    plant: &Plant,
    pid: &Pid,
    setpoint_c: f64,
    anti_windup: AntiWindup,
    step_s: f64,
) -> impl FnMut(f64) -> f64 {
    let (pid, limited) = (*pid, plant.limited);
    let mut integral = 0.0;
    let (mut filtered, mut sensed_before) = (0.0, plant.ambient_c);
    let filter = pid.td_s.map_or(0.0, |td| -(-10.0 * step_s / td).exp_m1());
    let back_s = match (pid.ti_s, pid.td_s) {
        (Some(ti), Some(td)) => (ti * td).sqrt(),
        (Some(ti), None) => ti,
        (None, _) => f64::INFINITY,
    };
    move |sensed| {
        let error = setpoint_c - sensed;
        filtered += filter * ((sensed - sensed_before) / step_s - filtered);
        sensed_before = sensed;
        let asked = pid.kc * (error - pid.td_s.unwrap_or(0.0) * filtered) + integral;
        let power = if limited { asked.clamp(0.0, 1.0) } else { asked };
        if let Some(ti) = pid.ti_s {
            let rate = pid.kc / ti * error;
            integral += step_s
                * match anti_windup {
                    AntiWindup::Conditional if (asked > power && error > 0.0) || (asked < power && error < 0.0) => 0.0,
                    AntiWindup::BackCalculation => rate + (power - asked) / back_s,
                    _ => rate,
                };
        }
        power
    }
}

/// Runs an on-off controller from cold; the hysteresis is the whole width about the setpoint.
#[must_use]
pub fn run_on_off(plant: &Plant, setpoint_c: f64, hysteresis_c: f64, step_s: f64, until_s: f64) -> Run {
    let mut on = true;
    course(plant, plant.ambient_c, setpoint_c, step_s, until_s, hysteresis_c, |sensed| {
        if sensed >= setpoint_c + 0.5 * hysteresis_c {
            on = false;
        } else if sensed <= setpoint_c - 0.5 * hysteresis_c {
            on = true;
        }
        f64::from(u8::from(on))
    })
}

fn course(
    plant: &Plant,
    start_c: f64,
    setpoint_c: f64,
    step_s: f64,
    until_s: f64,
    within_c: f64,
    mut controller: impl FnMut(f64) -> f64,
) -> Run {
    let steps = (until_s / step_s).ceil().clamp(1.0, 1e7) as usize;
    let fade = (-step_s / plant.tau_s).exp();
    let sensor_fade = if plant.sensor_lag_s > 0.0 { (-step_s / plant.sensor_lag_s).exp() } else { 0.0 };
    let mut waiting: VecDeque<f64> = std::iter::repeat_n(0.0, (plant.theta_s / step_s).round() as usize).collect();
    let (mut celsius, mut sensed) = (start_c, start_c);
    let mut made = Run {
        seconds: Vec::with_capacity(steps),
        celsius: Vec::with_capacity(steps),
        power: Vec::with_capacity(steps),
        metrics: RunMetrics { overshoot_delta_c: 0.0, reached_s: f64::NAN, settled_s: 0.0, absolute_error_c_s: 0.0 },
    };
    for step in 0..steps {
        let power = controller(sensed);
        waiting.push_back(power);
        let acting = waiting.pop_front().unwrap_or(power);
        let goal = plant.ambient_c + plant.gain * acting;
        celsius = goal + (celsius - goal) * fade;
        sensed = celsius + (sensed - celsius) * sensor_fade;
        let time = step_s * (step + 1) as f64;
        let error = celsius - setpoint_c;
        let metrics = &mut made.metrics;
        metrics.overshoot_delta_c = metrics.overshoot_delta_c.max(error);
        if metrics.reached_s.is_nan() && error >= 0.0 {
            metrics.reached_s = time;
        }
        if error.abs() > within_c {
            metrics.settled_s = time + step_s;
        }
        metrics.absolute_error_c_s += error.abs() * step_s;
        made.seconds.push(time);
        made.celsius.push(celsius);
        made.power.push(power);
    }
    if made.metrics.settled_s > step_s * steps as f64 {
        made.metrics.settled_s = f64::NAN;
    }
    made
}

/// What an on-off controller without hysteresis does to an oven of one lag and dead time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnOffSwing {
    /// Above the setpoint, °C.
    pub over_delta_c: f64,
    /// Below it.
    pub under_delta_c: f64,
    /// Period, s.
    pub period_s: f64,
    /// Share of the time that the air rises.
    pub duty: f64,
    /// Mean less setpoint.
    pub mean_delta_c: f64,
}

/// The closed form of the swing, by how many times the holding power the heater has and the rise that is held.
///
/// # Errors
/// [`Error::InvalidValue`] for a power ratio of 1 or less, or numbers that are not positive.
///
/// ```
/// let swing = afterquench::oven::on_off_swing(3.0, 60.0, 3600.0, 200.0).unwrap();
/// assert!((swing.over_delta_c - 6.6114).abs() < 5e-5 && (swing.under_delta_c - 3.3057).abs() < 5e-5);
/// ```
pub fn on_off_swing(power_ratio: f64, theta_s: f64, tau_s: f64, rise_delta_c: f64) -> Result<OnOffSwing> {
    for (argument, value, least) in [
        ("power_ratio", power_ratio, 1.0),
        ("theta_s", theta_s, 0.0),
        ("tau_s", tau_s, 0.0),
        ("rise_delta_c", rise_delta_c, 0.0),
    ] {
        check_above(argument, value, least)?;
    }
    let share = -(-theta_s / tau_s).exp_m1();
    let (over, under) = ((power_ratio - 1.0) * rise_delta_c * share, rise_delta_c * share);
    let (high, low, full) = (rise_delta_c + over, rise_delta_c - under, power_ratio * rise_delta_c);
    let on = tau_s * ((full - low) / (full - high)).ln();
    let off = tau_s * (high / low).ln();
    let duty = on / (on + off);
    Ok(OnOffSwing {
        over_delta_c: over,
        under_delta_c: under,
        period_s: on + off,
        duty,
        mean_delta_c: full * duty - rise_delta_c,
    })
}

/// Seconds to the setpoint at full power.
///
/// # Errors
/// As [`on_off_swing`].
pub fn heat_up_s(power_ratio: f64, theta_s: f64, tau_s: f64) -> Result<f64> {
    check_above("power_ratio", power_ratio, 1.0)?;
    check_above("tau_s", tau_s, 0.0)?;
    check_above("theta_s", theta_s, 0.0)?;
    Ok(tau_s * (power_ratio / (power_ratio - 1.0)).ln() + theta_s)
}

fn check_above(argument: &'static str, value: f64, least: f64) -> Result<()> {
    if value.is_finite() && value > least {
        return Ok(());
    }
    Err(Error::invalid(
        "oven.on_off",
        argument,
        (value, ""),
        format!("is not above {least}"),
        "Give seconds, degrees, and the heater's power over the power that holds the setpoint",
    ))
}

/// How a value answered a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StepMetrics {
    /// Above the step, % of it.
    pub overshoot_percent: f64,
    /// When the highest value came, s.
    pub peak_s: f64,
    /// From when on it stays within 2 and 5 % of the step, s.
    pub settled_2_s: f64,
    /// As above.
    pub settled_5_s: f64,
    /// From 10 to 90 % of the step, s.
    pub rise_s: f64,
    /// Integral of the error's size.
    pub absolute_error: f64,
}

/// How a value answered a step from `start` to `goal`, by its samples.
///
/// # Errors
/// [`Error::Refused`] for columns of unequal length or of fewer than two samples, or a step of nothing.
pub fn step_metrics(seconds: &[f64], values: &[f64], start: f64, goal: f64) -> Result<StepMetrics> {
    let (size, n) = (goal - start, values.len());
    if seconds.len() != n || n < 2 || size == 0.0 || !size.is_finite() {
        return Err(Error::Refused {
            what: "a step's answer".into(),
            why: "it takes two columns of equal length, and a step that is not zero".into(),
            instead: "Give seconds and values, and where the step began and was to end".into(),
        });
    }
    let finite = seconds.iter().chain(values).all(|value| value.is_finite());
    if !finite || seconds.windows(2).any(|pair| pair.first() >= pair.last()) {
        return Err(Error::Refused {
            what: "a step's answer".into(),
            why: "its times must rise, and every time and value must be a number".into(),
            instead: "Sort by time and leave out rows without a reading".into(),
        });
    }
    let share: Vec<f64> = values.iter().map(|value| (value - start) / size).collect();
    let at = |index: usize| seconds.get(index).copied().unwrap_or(f64::NAN);
    let first = |level: f64| share.iter().position(|&share| share >= level).map_or(f64::NAN, at);
    let settled =
        |band: f64| share.iter().rposition(|&share| (share - 1.0).abs() > band).map_or(at(0), |index| at(index + 1));
    let peak = (0..n).max_by(|&a, &b| share[a].total_cmp(&share[b])).unwrap_or(0);
    let pairs = seconds.iter().zip(&share).zip(seconds.iter().zip(&share).skip(1));
    let absolute_error = size.abs()
        * pairs.map(|((t0, s0), (t1, s1))| 0.5 * (t1 - t0) * ((s0 - 1.0).abs() + (s1 - 1.0).abs())).sum::<f64>();
    Ok(StepMetrics {
        overshoot_percent: 100.0 * (share.get(peak).copied().unwrap_or(1.0) - 1.0).max(0.0),
        peak_s: at(peak),
        settled_2_s: settled(0.02),
        settled_5_s: settled(0.05),
        rise_s: first(0.9) - first(0.1),
        absolute_error,
    })
}

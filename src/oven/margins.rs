//! What a control loop is worth before it is run: several lags as one, where it just keeps swinging, its margins.

use std::f64::consts::{PI, TAU};

use super::controller::{Pid, Rule};
use crate::error::{Error, Result};

const ID: &str = "oven.controller_settings";

fn positive(argument: &'static str, value: f64, unit: &'static str, allow_zero: bool) -> Result<()> {
    if value.is_finite() && (value > 0.0 || (allow_zero && value == 0.0)) {
        return Ok(());
    }
    Err(Error::invalid(
        ID,
        argument,
        (value, unit),
        "is not positive",
        "Give lags and dead times in seconds, gains above zero",
    ))
}

/// Several lags in a row as one lag with dead time, by Skogestad's half rule (S. Skogestad, J. Process Control 13 (2003)
/// 291): of the second lag half goes to the first and half to the dead time, of all further ones everything goes there.
///
/// `leads_s` are numerators `T s + 1`: a positive one shortens the dead time, a negative one (an answer that begins the
/// wrong way) lengthens it. Gives lag and dead time in s.
///
/// # Errors
/// [`Error::InvalidValue`] for lags that are not positive or a dead time below zero; [`Error::Refused`] without a lag, or
/// for leads that leave a negative dead time.
///
/// ```
/// let (tau, theta) = afterquench::oven::half_rule(&[1.0, 1.0, 1.0], 0.0, &[]).unwrap();
/// assert_eq!((tau, theta), (1.5, 1.5));
/// ```
pub fn half_rule(lags_s: &[f64], dead_time_s: f64, leads_s: &[f64]) -> Result<(f64, f64)> {
    lags_s.iter().try_for_each(|&lag| positive("lags_s", lag, "s", false))?;
    positive("dead_time_s", dead_time_s, "s", true)?;
    let mut lags = lags_s.to_vec();
    lags.sort_by(|a, b| b.total_cmp(a));
    let refuse = |why: &'static str| Error::Refused {
        what: "the half rule".into(),
        why: why.into(),
        instead: "Give the lags of the process, and leads shorter than they are".into(),
    };
    let (Some(first), rest) = (lags.first().copied(), lags.get(1..).unwrap_or_default()) else {
        return Err(refuse("there is no lag"));
    };
    let half = 0.5 * rest.first().copied().unwrap_or(0.0);
    let further: f64 = rest.iter().skip(1).sum();
    let theta = dead_time_s + half + further - leads_s.iter().sum::<f64>();
    if theta.is_nan() || theta < 0.0 {
        return Err(refuse("its leads leave no dead time that is positive"));
    }
    Ok((first + half, theta))
}

/// Gain and period in s at which a loop of several lags and a dead time just keeps swinging: Σ atan(ω τ) + ω θ = π.
///
/// # Errors
/// [`Error::InvalidValue`] for lags or a gain that are not positive; [`Error::Refused`] for fewer than three lags without
/// a dead time, which no gain makes swing.
///
/// ```
/// let (ku, pu) = afterquench::oven::ultimate_point_of_lags(1.0, &[1.0, 1.0, 1.0], 0.0).unwrap();
/// assert!((ku - 8.0).abs() < 1e-9 && (pu - 3.6276).abs() < 5e-5);
/// ```
pub fn ultimate_point_of_lags(gain: f64, lags_s: &[f64], dead_time_s: f64) -> Result<(f64, f64)> {
    positive("gain", gain, "", false)?;
    lags_s.iter().try_for_each(|&lag| positive("lags_s", lag, "s", false))?;
    positive("dead_time_s", dead_time_s, "s", true)?;
    if dead_time_s == 0.0 && lags_s.len() < 3 {
        return Err(Error::Refused {
            what: "an ultimate point".into(),
            why: "one or two lags without a dead time never swing by themselves".into(),
            instead: "Give the dead time, or the further lags".into(),
        });
    }
    let phase = |omega: f64| lags_s.iter().map(|lag| (omega * lag).atan()).sum::<f64>() + omega * dead_time_s;
    let mut high =
        lags_s.iter().copied().chain([dead_time_s]).filter(|&s| s > 0.0).fold(f64::INFINITY, f64::min).recip();
    while phase(high) < PI {
        high *= 2.0;
    }
    let mut low = 0.0;
    for _ in 0..120 {
        let middle = 0.5 * (low + high);
        if phase(middle) < PI { low = middle } else { high = middle }
    }
    let omega = 0.5 * (low + high);
    Ok((lags_s.iter().map(|lag| (omega * lag).hypot(1.0)).product::<f64>() / gain, TAU / omega))
}

impl Rule {
    /// A rule's settings from a measured ultimate gain and period.
    ///
    /// # Errors
    /// [`Error::Refused`] for a rule that takes a model instead; [`Error::InvalidValue`] for numbers that are not positive.
    ///
    /// ```
    /// use afterquench::oven::Rule;
    /// let pid = Rule::UltimatePid.of_ultimate(8.0, 3.6276).unwrap();
    /// assert_eq!((pid.kc, pid.ti_s, pid.td_s), (4.8, Some(1.8138), Some(0.45345)));
    /// ```
    pub fn of_ultimate(self, ku: f64, pu_s: f64) -> Result<Pid> {
        positive("ku", ku, "1/°C", false)?;
        positive("pu_s", pu_s, "s", false)?;
        self.by_ultimate(ku, pu_s).ok_or_else(|| Error::Refused {
            what: format!("{} from an ultimate point", self.name()).into(),
            why: "that rule takes a model of lag and dead time".into(),
            instead: "Ask controller_settings with a model, or a rule of Ziegler-Nichols ultimate or Tyreus-Luyben"
                .into(),
        })
    }
}

/// How far a loop is from swinging without end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoopMargins {
    /// How many times the gain could grow; infinite where no gain makes it swing.
    pub gain_margin: f64,
    /// How much later the loop could answer at its crossover, degrees; NaN where its gain never reaches one.
    pub phase_margin_deg: f64,
    /// The largest value of 1/|1 + L|: how near L passes to −1.
    pub peak_sensitivity: f64,
}

/// Margins of one lag with dead time (gain in °C at full power, s) under a controller in ideal form.
///
/// # Errors
/// [`Error::InvalidValue`] for numbers that are not positive; [`Error::Refused`] without dead time.
///
/// ```
/// use afterquench::oven::{Pid, loop_margins};
/// // SIMC with Ti = tau, tauc = theta: L = exp(-theta s)/(2 theta s), so that GM = pi.
/// let simc = Pid { kc: 2.5, ti_s: Some(1.0), td_s: None };
/// let margins = loop_margins(1.0, 1.0, 0.2, &simc).unwrap();
/// assert!((margins.gain_margin - std::f64::consts::PI).abs() < 1e-9);
/// ```
pub fn loop_margins(gain: f64, tau_s: f64, theta_s: f64, pid: &Pid) -> Result<LoopMargins> {
    for (argument, value, unit) in
        [("gain_c", gain, "°C"), ("tau_s", tau_s, "s"), ("theta_s", theta_s, "s"), ("kc", pid.kc, "1/°C")]
    {
        positive(argument, value, unit, false)?;
    }
    for (argument, value) in [("ti_s", pid.ti_s), ("td_s", pid.td_s)] {
        value.map_or(Ok(()), |value| positive(argument, value, "s", false))?;
    }
    // The controller is kc (1 + i x): x grows with ω and its phase goes from −90° (with an integral) to +90°.
    let x = |omega: f64| pid.td_s.map_or(0.0, |td| omega * td) - pid.ti_s.map_or(0.0, |ti| (omega * ti).recip());
    let size = |omega: f64| gain * pid.kc * x(omega).hypot(1.0) / (omega * tau_s).hypot(1.0);
    let phase = |omega: f64| x(omega).atan() - (omega * tau_s).atan() - omega * theta_s;
    // At 1e2/theta a dead time has turned the loop round sixteen times.
    let (lowest, highest) = (1e-5 / (tau_s + theta_s), 1e2 / theta_s);
    let grid = |i: usize| lowest * (highest / lowest).powf(i as f64 / STEPS as f64);
    let crossing = |beyond: &dyn Fn(f64) -> bool| -> Option<f64> {
        let at = (1..=STEPS).find(|&i| beyond(grid(i)) && !beyond(grid(i - 1)))?;
        let (mut low, mut high) = (grid(at - 1), grid(at));
        for _ in 0..80 {
            let middle = 0.5 * (low + high);
            if beyond(middle) { high = middle } else { low = middle }
        }
        Some(0.5 * (low + high))
    };
    let gain_margin = crossing(&|omega| phase(omega) < -PI).map_or(f64::INFINITY, |omega| size(omega).recip());
    let phase_margin = crossing(&|omega| size(omega) < 1.0).map_or(f64::NAN, |omega| PI + phase(omega));
    let distance = |omega: f64| {
        let (l, angle) = (size(omega), phase(omega));
        (1.0 + l * angle.cos()).hypot(l * angle.sin())
    };
    let nearest = (1..STEPS).min_by(|&a, &b| distance(grid(a)).total_cmp(&distance(grid(b)))).unwrap_or(1);
    let near = super::fit::smallest(distance, grid(nearest - 1), grid(nearest + 1));
    Ok(LoopMargins {
        gain_margin,
        phase_margin_deg: phase_margin.to_degrees(),
        peak_sensitivity: distance(near).recip(),
    })
}

/// Places on which the loop is looked at, even in the logarithm.
const STEPS: usize = 4000;

/// Overshoot in % of a step of a second-order answer, by its damping: 100 exp(−π ζ/√(1 − ζ²)); 0 from ζ = 1 on.
///
/// # Errors
/// [`Error::InvalidValue`] for a damping that is not positive.
///
/// ```
/// assert!((afterquench::oven::overshoot_percent(0.5).unwrap() - 16.3034).abs() < 5e-5);
/// ```
pub fn overshoot_percent(damping: f64) -> Result<f64> {
    positive("damping", damping, "", false)?;
    if damping >= 1.0 {
        return Ok(0.0);
    }
    Ok(100.0 * (-PI * damping / (1.0 - damping * damping).sqrt()).exp())
}

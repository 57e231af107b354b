//! Settings for a controller by published rules, tried on the oven's model before they are offered.

use serde::{Deserialize, Serialize};

use super::identify::OvenModel;
use super::run::{AntiWindup, Plant, RunMetrics, run};
use crate::error::{Error, Result};
use crate::record::{ModelRecord, Origin, Scatter, Source, check_number};

/// A published rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Rule {
    /// Skogestad's PI.
    Simc,
    /// Ziegler and Nichols, ultimate gain: P, PI, PID.
    UltimateP,
    /// As above.
    UltimatePi,
    /// As above.
    UltimatePid,
    /// Ziegler and Nichols, reaction curve: P, PI, PID.
    ReactionP,
    /// As above.
    ReactionPi,
    /// As above.
    ReactionPid,
    /// Cohen and Coon: P, PI, PID.
    CohenCoonP,
    /// As above.
    CohenCoonPi,
    /// As above.
    CohenCoonPid,
    /// Internal model control: PI, PID.
    ImcPi,
    /// As above.
    ImcPid,
    /// Tyreus and Luyben's PI.
    TyreusLuyben,
}

const SOURCES: [Source; 6] = [
    Source {
        cite: "S. Skogestad, Simple analytic rules for model reduction and PID controller tuning, J. Process Control 13 (2003) 291",
        at: "SIMC PI: Kc = tau/(K (tau_c + theta)), Ti = min(tau, 4 (tau_c + theta)), tight choice tau_c = theta",
        origin: Origin::Printed,
    },
    Source {
        cite: "J. G. Ziegler and N. B. Nichols, Optimum settings for automatic controllers, Trans. ASME 64 (1942) 759",
        at: "ultimate gain: P 0.5 Ku; PI 0.45 Ku, Pu/1.2; PID 0.6 Ku, Pu/2, Pu/8",
        origin: Origin::Printed,
    },
    Source {
        cite: "J. G. Ziegler and N. B. Nichols, Optimum settings for automatic controllers, Trans. ASME 64 (1942) 759",
        at: "reaction curve: P tau/(K theta); PI 0.9, theta/0.3; PID 1.2, 2 theta, theta/2",
        origin: Origin::FromMemory,
    },
    Source {
        cite: "G. H. Cohen and G. A. Coon, Theoretical consideration of retarded control, Trans. ASME 75 (1953) 827",
        at: "as an instrument maker's reference prints it, with 0.9 for PI",
        origin: Origin::Printed,
    },
    Source {
        cite: "D. E. Rivera, M. Morari and S. Skogestad, Internal model control: PID controller design, Ind. Eng. Chem. Process Des. Dev. 25 (1986) 252",
        at: "first order plus dead time; lambda = 2 theta here",
        origin: Origin::FromMemory,
    },
    Source {
        cite: "B. D. Tyreus and W. L. Luyben, Tuning PI controllers for integrator/dead time processes, Ind. Eng. Chem. Res. 31 (1992) 2625",
        at: "Kc = Ku/3.2, Ti = 2.2 Pu",
        origin: Origin::FromMemory,
    },
];

/// The record of [`controller_settings`].
pub static CONTROLLER_SETTINGS: ModelRecord = ModelRecord {
    id: "oven.controller_settings",
    gives: "gain, integral and derivative time of a controller",
    unit: "",
    formula: "u = Kc (e + 1/Ti integral of e dt - Td dT/dt) by a named rule from K, tau and theta",
    ranges: &[],
    scatter: Scatter::NotStated,
    sources: &SOURCES,
    errata: &[
        "a handbook table prints 1.1 for Cohen and Coon's 0.9 in the PI row",
        "some texts round Ziegler and Nichols' PI to 0.4 Ku and 0.8 Pu",
        "reaction curve, PI: Ti = theta/0.3, printed as 3.33 theta by most",
    ],
    not_for: "ovens whose power can't be stopped by something else than the controller",
};

/// What must be known before any of it is typed into a controller.
pub const CAUTIONS: [&str; 5] = [
    "mains voltage: wiring, and anything behind a cover, belongs to people licensed for it; local codes hold",
    "an over-temperature cut-out that does not depend on this controller or its sensor comes first",
    "rules are for linear loops; no real oven is one: try with an empty oven, low first, and stay with it",
    "write down the present settings before changing them",
    "a time-proportioned relay wants a cycle well below the dead time, about a tenth of Ti or less",
];

impl Rule {
    /// All of them.
    pub const ALL: [Self; 13] = [
        Self::Simc,
        Self::UltimateP,
        Self::UltimatePi,
        Self::UltimatePid,
        Self::ReactionP,
        Self::ReactionPi,
        Self::ReactionPid,
        Self::CohenCoonP,
        Self::CohenCoonPi,
        Self::CohenCoonPid,
        Self::ImcPi,
        Self::ImcPid,
        Self::TyreusLuyben,
    ];

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Simc => "SIMC PI",
            Self::UltimateP => "Ziegler-Nichols ultimate P",
            Self::UltimatePi => "Ziegler-Nichols ultimate PI",
            Self::UltimatePid => "Ziegler-Nichols ultimate PID",
            Self::ReactionP => "Ziegler-Nichols reaction P",
            Self::ReactionPi => "Ziegler-Nichols reaction PI",
            Self::ReactionPid => "Ziegler-Nichols reaction PID",
            Self::CohenCoonP => "Cohen-Coon P",
            Self::CohenCoonPi => "Cohen-Coon PI",
            Self::CohenCoonPid => "Cohen-Coon PID",
            Self::ImcPi => "IMC PI",
            Self::ImcPid => "IMC PID",
            Self::TyreusLuyben => "Tyreus-Luyben PI",
        }
    }

    /// From its name.
    ///
    /// # Errors
    /// [`Error::UnknownName`].
    pub fn named(name: &str) -> Result<Self> {
        Self::ALL.into_iter().find(|rule| rule.name() == name).ok_or_else(|| Error::UnknownName {
            kind: "tuning rule".into(),
            name: name.to_owned(),
            close: Self::ALL.iter().map(|rule| rule.name().to_owned()).collect(),
            hint: "\"SIMC PI\" is the default".into(),
        })
    }

    /// Whose it is.
    #[must_use]
    pub const fn source(self) -> &'static Source {
        match self {
            Self::Simc => &SOURCES[0],
            Self::UltimateP | Self::UltimatePi | Self::UltimatePid => &SOURCES[1],
            Self::ReactionP | Self::ReactionPi | Self::ReactionPid => &SOURCES[2],
            Self::CohenCoonP | Self::CohenCoonPi | Self::CohenCoonPid => &SOURCES[3],
            Self::ImcPi | Self::ImcPid => &SOURCES[4],
            Self::TyreusLuyben => &SOURCES[5],
        }
    }

    /// Of the rules that take an ultimate point.
    pub(super) fn by_ultimate(self, ku: f64, pu: f64) -> Option<Pid> {
        match self {
            Self::UltimateP => Some(Pid::proportional(0.5 * ku)),
            Self::UltimatePi => Some(Pid::with_integral(0.45 * ku, pu / 1.2)),
            Self::UltimatePid => Some(Pid::with_derivative(0.6 * ku, 0.5 * pu, 0.125 * pu)),
            Self::TyreusLuyben => Some(Pid::with_integral(ku / 3.2, 2.2 * pu)),
            _ => None,
        }
    }

    fn of(self, gain: f64, tau: f64, theta: f64) -> Pid {
        let (ku, pu) = ultimate_point(gain, tau, theta);
        self.by_ultimate(ku, pu).unwrap_or_else(|| self.by_model(gain, tau, theta))
    }

    fn by_model(self, gain: f64, tau: f64, theta: f64) -> Pid {
        let r = theta / tau;
        let k = tau / (gain * theta);
        match self {
            Self::Simc => Pid::with_integral(0.5 * k, tau.min(8.0 * theta)),
            Self::ReactionPi => Pid::with_integral(0.9 * k, theta / 0.3),
            Self::ReactionPid => Pid::with_derivative(1.2 * k, 2.0 * theta, 0.5 * theta),
            Self::CohenCoonP => Pid::proportional(k * (1.0 + r / 3.0)),
            Self::CohenCoonPi => Pid::with_integral(k * (0.9 + r / 12.0), theta * (30.0 + 3.0 * r) / (9.0 + 20.0 * r)),
            Self::CohenCoonPid => Pid::with_derivative(
                k * (4.0 / 3.0 + 0.25 * r),
                theta * (32.0 + 6.0 * r) / (13.0 + 8.0 * r),
                4.0 * theta / (11.0 + 2.0 * r),
            ),
            Self::ImcPi => Pid::with_integral(tau / (gain * 3.0 * theta), tau),
            Self::ImcPid => Pid::with_derivative(
                (tau + 0.5 * theta) / (gain * 2.5 * theta),
                tau + 0.5 * theta,
                tau * theta / (2.0 * tau + theta),
            ),
            // The rules of an ultimate point never come here: `by_ultimate` has them.
            Self::ReactionP | Self::UltimateP | Self::UltimatePi | Self::UltimatePid | Self::TyreusLuyben => {
                Pid::proportional(k)
            }
        }
    }
}

/// Gain and period at which a first-order lag with dead time just keeps swinging: atan(w tau) + w theta = pi.
#[must_use]
pub fn ultimate_point(gain: f64, tau_s: f64, theta_s: f64) -> (f64, f64) {
    use std::f64::consts::{FRAC_PI_2, PI, TAU};
    let (mut low, mut high) = (FRAC_PI_2 / theta_s, PI / theta_s);
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if (middle * tau_s).atan() + middle * theta_s < PI { low = middle } else { high = middle }
    }
    let omega = 0.5 * (low + high);
    ((1.0f64).hypot(omega * tau_s) / gain, TAU / omega)
}

/// The numbers of a controller in ideal form.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Pid {
    /// Gain: share of full power by °C.
    pub kc: f64,
    /// Integral time, s.
    pub ti_s: Option<f64>,
    /// Derivative time, s.
    pub td_s: Option<f64>,
}

impl Pid {
    const fn proportional(kc: f64) -> Self {
        Self { kc, ti_s: None, td_s: None }
    }

    const fn with_integral(kc: f64, ti_s: f64) -> Self {
        Self { kc, ti_s: Some(ti_s), td_s: None }
    }

    const fn with_derivative(kc: f64, ti_s: f64, td_s: f64) -> Self {
        Self { kc, ti_s: Some(ti_s), td_s: Some(td_s) }
    }
}

/// Settings by a rule, and what they did on the model.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ControllerSettings {
    /// The rule.
    pub rule: Rule,
    /// The numbers.
    pub pid: Pid,
    /// The model they are for.
    pub model: OvenModel,
    /// What a heat-up from cold to the setpoint did on the model.
    pub tried: RunMetrics,
    /// The same without anything against wind-up.
    pub tried_without: RunMetrics,
    /// How the integral is kept from winding up.
    pub anti_windup: AntiWindup,
    /// Where it was tried, °C.
    pub setpoint_c: f64,
    /// The lag of the sensor it was tried with, s.
    pub sensor_lag_s: f64,
}

/// Settings for an oven by a published rule, tried by a heat-up on its model.
///
/// The sensor's lag counts as dead time by half (Skogestad's half rule).
///
/// # Errors
/// [`Error::Refused`] for a model without dead time, of which these rules would make endless gain, or a setpoint that the
/// heater can't reach.
pub fn controller_settings(
    model: &OvenModel,
    rule: Rule,
    setpoint_c: f64,
    sensor_lag_s: f64,
    anti_windup: AntiWindup,
) -> Result<ControllerSettings> {
    check_number("oven.controller", "sensor_lag_s", "s", sensor_lag_s)?;
    if sensor_lag_s < 0.0 {
        return Err(Error::Refused {
            what: format!("a sensor lag of {sensor_lag_s} s").into(),
            why: "no sensor shows a temperature before it is there".into(),
            instead: "Give 0 or more seconds".into(),
        });
    }
    let (gain, tau, dead) = model.numbers();
    let theta = dead + 0.5 * sensor_lag_s;
    if theta < 1e-3 * tau {
        return Err(Error::Refused {
            what: "settings by a rule".into(),
            why: format!("a dead time of {theta:.1} s is less than a thousandth of the lag: the rules divide by it")
                .into(),
            instead: "Identify it from a record with shorter steps, or give sensor_lag_s".into(),
        });
    }
    if !setpoint_c.is_finite() || setpoint_c <= model.ambient_c || model.power_ratio(setpoint_c) <= 1.0 {
        return Err(Error::Refused {
            what: format!("a setpoint of {setpoint_c} °C").into(),
            why: format!("at full power this model ends at {:.0} °C", model.ambient_c + gain).into(),
            instead: "Choose a setpoint the heater can reach, above the room's temperature".into(),
        });
    }
    let pid = rule.of(gain, tau + 0.5 * sensor_lag_s, theta);
    let (plant, step) = on_the_model(model, sensor_lag_s);
    let until = (12.0 * tau).min(MOST_STEPS * step);
    let heat_up = |anti_windup| run(&plant, &pid, setpoint_c, anti_windup, step, until, 2.0).metrics;
    Ok(ControllerSettings {
        rule,
        pid,
        model: model.clone(),
        tried: heat_up(anti_windup),
        tried_without: heat_up(AntiWindup::None),
        anti_windup,
        setpoint_c,
        sensor_lag_s,
    })
}

/// A run is cut off here.
const MOST_STEPS: f64 = 2e5;

/// The model with its sensor, and the step it is run with in s.
fn on_the_model(model: &OvenModel, sensor_lag_s: f64) -> (Plant, f64) {
    let (gain, tau_s, theta_s) = model.numbers();
    let plant = Plant { gain, tau_s, theta_s, sensor_lag_s, ambient_c: model.ambient_c, limited: true };
    // A lag of days and a dead time of seconds: the longest step never falls below the shortest.
    let longest = 5.0f64.max(1e-4 * tau_s);
    (plant, (theta_s.max(sensor_lag_s) / 60.0).clamp(1e-4 * tau_s, longest))
}

impl ControllerSettings {
    /// The heat-up on the model: seconds, °C, share of full power.
    #[must_use]
    pub fn course(&self) -> (Vec<f64>, Vec<f64>, Vec<f64>) {
        let (plant, step) = on_the_model(&self.model, self.sensor_lag_s);
        let until = (4.0 * plant.tau_s).min(MOST_STEPS * step);
        let made = run(&plant, &self.pid, self.setpoint_c, self.anti_windup, step, until, 2.0);
        (made.seconds, made.celsius, made.power)
    }
}

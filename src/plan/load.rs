//! Several steels in one load: the temperatures that suit all of them, or the best compromise and what each then gets.

use serde::{Deserialize, Serialize};

use super::forward::Forward;
use super::request::Request;
use super::schedule::spread;
use super::spread::Fineness;
use super::window::{Window, windows};
use crate::curve::HardnessAfterTemper;
use crate::error::{Error, Result};
use crate::estimate::Estimate;
use crate::quantity::{HoldTime, Temperature};

/// What one steel of the load needs, and what it gets at the temperature of the load.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LoadPart {
    /// What the steel or curve is called.
    pub name: String,
    /// Its hardness window; HRC.
    pub target: (f64, f64),
    /// Temperatures whose nominal hardness lies in it, coolest first.
    pub windows: Vec<Window>,
    /// Hardness at the temperature of the load.
    pub hrc: Estimate,
    /// The chance of lying inside its own window there.
    pub p_inside: f64,
}

/// One temperature for several steels.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CommonWindow {
    /// Temperatures that suit all, nominally; absent where there are none.
    pub window: Option<Window>,
    /// Temperatures that suit all though every curve be off by twice its uncertainty.
    pub sure_window: Option<Window>,
    /// Where the smallest of the chances is largest.
    pub temperature: Temperature,
    /// Time of one cycle.
    pub time: HoldTime,
    /// Number of cycles.
    pub cycles: u32,
    /// Each steel.
    pub parts: Vec<LoadPart>,
    /// What to do, as sentences.
    pub advice: Vec<String>,
}

/// Stretches that lie in both lists.
fn both(a: &[Window], b: &[Window]) -> Vec<Window> {
    let mut made = Vec::new();
    for one in a {
        for other in b {
            let (low_c, high_c) = (one.low_c.max(other.low_c), one.high_c.min(other.high_c));
            if low_c <= high_c {
                made.push(Window { low_c, high_c });
            }
        }
    }
    made
}

fn widest(windows: &[Window]) -> Option<Window> {
    windows.iter().copied().max_by(|a, b| (a.high_c - a.low_c).total_cmp(&(b.high_c - b.low_c)))
}

struct Part<'a> {
    forward: Forward<'a>,
    request: &'a Request,
    name: &'a str,
    windows: Vec<Window>,
    sure: Vec<Window>,
}

impl Part<'_> {
    /// The chance of lying inside at a temperature, and how far from the middle of its window in half widths it is.
    fn standing(&self, celsius: f64, fineness: Fineness) -> Result<(f64, f64, Estimate)> {
        let made = spread(&self.forward, self.request, celsius, self.request.time.hours(), fineness)?;
        let (low, high) = self.request.target;
        let miss = (made.nominal() - 0.5 * (low + high)).abs() / (0.5 * (high - low));
        Ok((made.inside(low, high), miss, made.estimate("HRC")))
    }

    fn needs(&self) -> String {
        let texts: Vec<String> =
            self.windows.iter().map(|window| format!("{:.0} to {:.0}", window.low_c, window.high_c)).collect();
        format!("{} needs {} °C", self.name, texts.join(" or "))
    }
}

/// The temperatures that suit several steels at once. All requests share time, cycles and the oven.
///
/// # Errors
/// [`Error::MissingArgument`] for fewer than two steels; [`Error::NoAnswer`] for a window that a curve never passes
/// through; what a request refuses.
pub fn common_window(load: &[(&dyn HardnessAfterTemper, Request)]) -> Result<CommonWindow> {
    let Some((_, first)) = load.first().filter(|_| load.len() > 1) else {
        return Err(Error::MissingArgument {
            function: "common_window".into(),
            argument: "load".into(),
            why: "a common window takes two steels at least".into(),
            hint: "Give [(steel, (low, high)), (steel, (low, high))]; for one steel there is plan".into(),
        });
    };
    let mut parts = Vec::with_capacity(load.len());
    for (curve, request) in load {
        request.checked()?;
        let forward = Forward::new(*curve, request.as_quenched)?;
        let (total_h, c) = (request.time.hours() * f64::from(request.cycles), request.c.middle());
        let found = windows(&forward, request.target, total_h, c)?;
        if found.is_empty() {
            return Err(super::schedule::unreachable(&forward, request, total_h)?);
        }
        let at = found.first().map_or(f64::NAN, |window| window.middle_c());
        let guard = 2.0 * request.unknowns.u_curve_hrc.hypot(forward.u_as_quenched(at, total_h, c)?);
        let narrowed = (request.target.0 + guard, request.target.1 - guard);
        let sure = if narrowed.0 < narrowed.1 { windows(&forward, narrowed, total_h, c)? } else { Vec::new() };
        parts.push(Part { forward, request, name: curve.name(), windows: found, sure });
    }
    let intersected =
        |of: &dyn Fn(&Part<'_>) -> Vec<Window>| parts.iter().map(of).reduce(|a, b| both(&a, &b)).unwrap_or_default();
    let window = widest(&intersected(&|part| part.windows.clone()));
    let sure_window = widest(&intersected(&|part| part.sure.clone()));
    let celsius = aim(&parts, window)?.ok_or_else(|| no_compromise(&parts))?;
    let mut made = Vec::with_capacity(parts.len());
    for part in &parts {
        let (p_inside, _, hrc) = part.standing(celsius, Fineness::Answer)?;
        made.push(LoadPart {
            name: part.name.to_owned(),
            target: part.request.target,
            windows: part.windows.clone(),
            hrc: hrc.assuming(part.request.c.text()).assuming(part.request.unknowns.text()),
            p_inside,
        });
    }
    Ok(CommonWindow {
        window,
        sure_window,
        temperature: Temperature::from_celsius(celsius),
        time: first.time,
        cycles: first.cycles,
        advice: advice(&parts, window, sure_window, &made, celsius),
        parts: made,
    })
}

/// Why no temperature serves, not even as a compromise.
fn no_compromise(parts: &[Part<'_>]) -> Error {
    let needs: Vec<String> = parts.iter().map(Part::needs).collect();
    Error::NoAnswer {
        model: "plan.common_window".into(),
        asked: "one temperature for this load".into(),
        why: format!("none: {}; between them no temperature lies in the tables of all", needs.join(", ")).into(),
        hint: "Temper them apart, or change a target".into(),
    }
}

/// Where the smallest chance is largest; among equal chances, where the farthest is nearest to its middle. Nothing where
/// the steels' tables share no temperature between what they need.
fn aim(parts: &[Part<'_>], window: Option<Window>) -> Result<Option<f64>> {
    const STEPS: usize = 60;
    let all = || parts.iter().flat_map(|part| &part.windows);
    let (mut low, mut high) = window.map_or_else(
        || {
            let low = all().map(|window| window.high_c).fold(f64::INFINITY, f64::min);
            let high = all().map(|window| window.low_c).fold(f64::NEG_INFINITY, f64::max);
            (low.min(high), low.max(high))
        },
        |window| (window.low_c, window.high_c),
    );
    let score = |celsius: f64| -> Result<f64> {
        let (mut chance, mut miss) = (1.0f64, 0.0f64);
        for part in parts {
            let (p, far, _) = match part.standing(celsius, Fineness::Search) {
                // Off a table there is no compromise.
                Err(Error::OutOfRange { .. }) => return Ok(f64::NEG_INFINITY),
                known => known?,
            };
            chance = chance.min(p);
            miss = miss.max(far);
        }
        Ok(chance - 1e-3 * miss)
    };
    // A coarse look at the whole stretch, then a fine one around the best of it.
    for _ in 0..2 {
        let step = (high - low) / STEPS as f64;
        let mut best = (low, f64::NEG_INFINITY);
        for i in 0..=STEPS {
            let celsius = low + step * i as f64;
            let there = score(celsius)?;
            if there > best.1 + 1e-9 {
                best = (celsius, there);
            }
        }
        if best.1 == f64::NEG_INFINITY {
            return Ok(None);
        }
        (low, high) = ((best.0 - step).max(low), (best.0 + step).min(high));
    }
    let celsius = (0.5 * (low + high)).round();
    Ok((score(celsius)? > f64::NEG_INFINITY).then_some(celsius))
}

fn advice(
    parts: &[Part<'_>],
    window: Option<Window>,
    sure: Option<Window>,
    gets: &[LoadPart],
    celsius: f64,
) -> Vec<String> {
    let got: Vec<String> = gets
        .iter()
        .map(|part| format!("{} {:.1} HRC (chance inside {:.2})", part.name, part.hrc.value(), part.p_inside))
        .collect();
    let needs: Vec<String> = parts.iter().map(Part::needs).collect();
    let mut made = vec![match window {
        Some(window) => format!(
            "common window {:.0} to {:.0} °C, nominal: shrink it by the curves' uncertainty before promising",
            window.low_c, window.high_c
        ),
        None => format!("no common temperature: {}", needs.join(", ")),
    }];
    if let (Some(_), None) = (window, sure) {
        made.push(
            "no width of it is left once every curve may be off by twice its uncertainty: run coupons".to_owned(),
        );
    }
    let smallest = gets.iter().map(|part| part.p_inside).fold(1.0, f64::min);
    let what = if window.is_some() { "aim at" } else { "the best compromise is" };
    made.push(format!("{what} {celsius:.0} °C: {}", got.join(", ")));
    if window.is_none() {
        let hotter = parts
            .iter()
            .max_by(|a, b| {
                let low = |part: &Part<'_>| part.windows.iter().map(|w| w.low_c).fold(f64::INFINITY, f64::min);
                low(a).total_cmp(&low(b))
            })
            .map_or("the one that needs more", |part| part.name);
        made.push(format!(
            "better two loads, or all together at the cooler temperature and then {hotter} once more by itself, hotter"
        ));
    } else if smallest < 0.8 {
        made.push("a coupon of each steel in the load, or two loads, where that chance is too small".to_owned());
    }
    made
}

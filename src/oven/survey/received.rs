//! What a survey means for the steel: equivalents and hardness by place, and how good the oven would have to be.

use serde::{Deserialize, Serialize};

use super::Survey;
use crate::curve::{HardnessAfterTemper, Root};
use crate::error::{Error, Result};
use crate::estimate::{Estimate, Shape};
use crate::quantity::{HoldTime, Temperature};
use crate::temper::{ConstantBelief, History};

/// What a hardness window asks of the oven, beside what the survey found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OvenNeeded {
    /// Coolest temperature that keeps the window, °C.
    pub low_c: f64,
    /// Hottest temperature that keeps it, °C.
    pub high_c: f64,
    /// What the oven may be off the middle, plus and minus, if nothing else were uncertain; °C.
    pub allowed_delta_c: f64,
    /// Half of what the survey found between its coldest and hottest moment, °C.
    pub found_delta_c: f64,
    /// How much of the window the spread of the places' means takes, as a share.
    pub share: f64,
    /// What to add to the setting so that the middle of the means falls on the middle of the window, °C.
    pub setting_change_delta_c: f64,
    /// Places whose mean stays inside the window as the oven is set now, nearest to its middle first.
    pub places: Vec<String>,
    /// Places that would stay inside after the change of setting.
    pub places_after: Vec<String>,
    /// What was assumed.
    pub assumptions: Vec<String>,
}

impl Survey {
    /// The flat temperature that would have done the same as the pattern of each place, going on for `hold`, and then
    /// what that is as a two-hour equivalent; in the order of the places.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] for a hold that is not positive or a C that can't be.
    pub fn two_hour_equivalents(&self, hold: HoldTime, c: ConstantBelief) -> Result<Vec<Estimate>> {
        /// Below this many repeats of the pattern nothing is gained by joining them to one stretch.
        const MOST_REPEATS: f64 = 10_000.0;
        let end = hold.hours() * 3600.0;
        let length = self.until_s - self.from_s;
        if !(end > 0.0 && end.is_finite()) || end / length > MOST_REPEATS {
            return Err(Error::invalid(
                "oven.survey",
                "time_h",
                (hold.hours(), "h"),
                "is no hold that the survey's pattern could go on for",
                "Give hours, as 2.0",
            ));
        }
        self.places
            .iter()
            .zip(&self.traces)
            .map(|(place, trace)| {
                let mut history = History::for_belief(c)?;
                let samples: Vec<(f64, f64)> = self
                    .seconds
                    .iter()
                    .zip(trace)
                    .filter(|(_, celsius)| celsius.is_finite())
                    .map(|(time, celsius)| (time - self.from_s, *celsius))
                    .collect();
                let (mut start, mut last) = (0.0, None);
                'repeats: while start < end {
                    for &(offset, celsius) in &samples {
                        let time = start + offset;
                        if last.is_some_and(|(before, _)| time <= before) {
                            continue;
                        }
                        if time >= end {
                            break 'repeats;
                        }
                        history.push(time, Temperature::from_celsius(celsius))?;
                        last = Some((time, celsius));
                    }
                    start += length;
                }
                if let Some((_, celsius)) = last {
                    history.push(end, Temperature::from_celsius(celsius))?;
                }
                Ok(history
                    .estimate()
                    .with("sensor correction", place.u_delta_c)
                    .shaped(Shape::Normal)
                    .assuming(format!("what {} showed in the survey goes on for {} h", place.name, hold.hours()))
                    .assuming("the sensor's place is the part's place"))
            })
            .collect()
    }

    /// Hardness after `hold` at each place, HRC, in the order of the places: by its two-hour equivalent.
    ///
    /// # Errors
    /// As [`Survey::two_hour_equivalents`] and the curve's own; a place outside the curve is refused.
    pub fn hardness(
        &self,
        curve: &dyn HardnessAfterTemper,
        hold: HoldTime,
        c: ConstantBelief,
        as_quenched_hrc: Option<f64>,
    ) -> Result<Vec<f64>> {
        let two_hours = HoldTime::from_hours(2.0);
        self.two_hour_equivalents(hold, c)?
            .iter()
            .map(|estimate| {
                let temperature = Temperature::from_celsius(estimate.value());
                curve.hardness_after(temperature, two_hours, Some(c.middle()), as_quenched_hrc)
            })
            .collect()
    }

    /// How good the oven must be for a hardness window, beside what it is.
    ///
    /// # Errors
    /// [`Error::InvalidValue`] for a window that is none, and the curve's own where it never gives the window.
    pub fn needed(
        &self,
        curve: &dyn HardnessAfterTemper,
        (low_hrc, high_hrc): (f64, f64),
        hold: HoldTime,
        c: ConstantBelief,
        as_quenched_hrc: Option<f64>,
    ) -> Result<OvenNeeded> {
        if low_hrc.is_nan() || high_hrc.is_nan() || low_hrc >= high_hrc {
            return Err(Error::invalid(
                "oven.survey",
                "target_hrc",
                (high_hrc, "HRC"),
                format!("is not above the lower limit of {low_hrc} HRC"),
                "Give a window as (58, 60)",
            ));
        }
        let roots = |hrc: f64| curve.temperatures_for(hrc, hold, Some(c.middle()), as_quenched_hrc);
        let nearest = |roots: Vec<Root>| {
            let off = |root: &Root| (root.temperature.celsius() - self.setpoint_c).abs();
            roots.into_iter().min_by(|a, b| off(a).total_cmp(&off(b)))
        };
        let no_answer = || Error::NoAnswer {
            model: curve.name().to_owned().into(),
            asked: format!("the temperatures that keep {low_hrc} to {high_hrc} HRC").into(),
            why: "both ends do not lie on one stretch of the curve".into(),
            hint: "Ask for a window inside one branch".into(),
        };
        let soft = nearest(roots(low_hrc)?).ok_or_else(no_answer)?;
        let on_branch = roots(high_hrc)?.into_iter().filter(|root| root.side == soft.side).collect();
        let hard = nearest(on_branch).ok_or_else(no_answer)?;
        let (a, b) = (soft.temperature.celsius(), hard.temperature.celsius());
        let (low_c, high_c) = (a.min(b), a.max(b));
        let (coldest, hottest) = (self.coldest().mean_c, self.hottest().mean_c);
        let change = 0.5 * (low_c + high_c) - 0.5 * (coldest + hottest);
        let inside = |shift: f64| {
            let middle = 0.5 * (low_c + high_c);
            let mut kept: Vec<(f64, String)> = self
                .places
                .iter()
                .map(|place| (place.mean_c + shift, place))
                .filter(|(mean, _)| (low_c..=high_c).contains(mean))
                .map(|(mean, place)| ((mean - middle).abs(), place.name.clone()))
                .collect();
            kept.sort_by(|x, y| x.0.total_cmp(&y.0));
            kept.into_iter().map(|(_, name)| name).collect::<Vec<_>>()
        };
        Ok(OvenNeeded {
            low_c,
            high_c,
            allowed_delta_c: 0.5 * (high_c - low_c),
            found_delta_c: 0.5 * (self.above.delta_c - self.below.delta_c),
            share: (hottest - coldest) / (high_c - low_c),
            setting_change_delta_c: change,
            places: inside(0.0),
            places_after: inside(change),
            assumptions: vec![
                "curve, batch and tester are taken as exact here: what they need comes off the allowance".to_owned(),
                "the pattern of the places stays the same when the setting is changed".to_owned(),
            ],
        })
    }
}

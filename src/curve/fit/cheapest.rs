//! The cheapest plan of coupons that tells enough.

use super::design::{CouponDesign, CouponRun, DesignBasis, DesignGoal, refuse};
use crate::error::{Error, Result};
use crate::quantity::{HoldTime, Temperature};

/// Most coupons in one run that are thought of.
const MOST_EACH: usize = 400;

impl DesignBasis {
    /// The cheapest plan that reaches a goal, among evenly spaced temperatures and one or two holds.
    ///
    /// # Errors
    /// As [`Self::judge`]; [`Error::MissingArgument`] without a goal, [`Error::InvalidValue`] for limits that are none,
    /// [`Error::NoAnswer`] where no number of coupons reaches it.
    pub fn cheapest(&self, goal: &DesignGoal) -> Result<CouponDesign> {
        self.checked()?;
        let goals = [("u_level", goal.u_level), ("u_slope", goal.u_slope), ("u_c", goal.u_c)];
        if goals.iter().all(|(_, wanted)| wanted.is_none()) {
            return Err(Error::MissingArgument {
                function: "design_coupons".into(),
                argument: "plan".into(),
                why: "there is neither a plan to judge nor a goal to reach".into(),
                hint: "Give plan=[(temperature_c, time_h, coupons), …], or u_level=, u_slope= or u_c=".into(),
            });
        }
        for (argument, wanted) in goals {
            if let Some(value) = wanted.filter(|value| !(value.is_finite() && *value > 0.0)) {
                return Err(refuse(argument, value, "", "is no goal", "Give one standard uncertainty above zero"));
            }
        }
        let ((low, high), (short, long)) = (goal.temperature_c, goal.time_h);
        if !(low.is_finite() && high.is_finite() && low < high) {
            return Err(refuse("temperatures_c", low, "°C", "is not below the upper end", "Give (low, high)"));
        }
        if !(short.is_finite() && long.is_finite() && short > 0.0 && short <= long) {
            return Err(refuse("times_h", short, "h", "is not below the upper end", "Give (shortest, longest)"));
        }
        for (argument, value) in [
            ("cost_per_oven_hour", goal.cost_per_oven_hour),
            ("cost_per_coupon", goal.cost_per_coupon),
            ("warm_up_h", goal.warm_up_h),
        ] {
            if !(value.is_finite() && value >= 0.0) {
                return Err(refuse(argument, value, "", "is negative or no number", "Give zero or more"));
            }
        }
        let mut best: Option<CouponDesign> = None;
        for places in places(self, goal) {
            // No more coupons than the cheapest plan so far leaves money for.
            let oven: f64 =
                places.iter().map(|(_, hours)| hours + goal.warm_up_h).sum::<f64>() * goal.cost_per_oven_hour;
            let each = places.len() as f64 * goal.cost_per_coupon;
            let affordable = best.as_ref().map_or(MOST_EACH, |known| match known.cost - oven {
                left if left < 0.0 => 0,
                left if each > 0.0 => ((left / each + 1e-9) as usize).min(MOST_EACH),
                _ => MOST_EACH,
            });
            let Some(made) = self.enough(&places, goal, affordable) else { continue };
            let better = best.as_ref().is_none_or(|known| {
                made.cost < known.cost - 1e-9 || made.cost < known.cost + 1e-9 && made.coupons < known.coupons
            });
            if better {
                best = Some(made);
            }
        }
        best.ok_or_else(|| {
            let floor = if self.u_tester > 0.0 {
                format!("; the tester's bias alone leaves {:.2} HRC in the level", self.u_tester)
            } else {
                String::new()
            };
            Error::NoAnswer {
                model: "curve.coupons".into(),
                asked: "a plan of coupons for this goal".into(),
                why: format!(
                    "no {MOST_EACH} coupons a run between {low:.0} and {high:.0} °C and {short} and {long} h reach it{floor}"
                )
                .into(),
                hint: "Ask for less, or allow longer holds and a wider range of temperature".into(),
            }
        })
    }

    /// The fewest coupons a run at these places that reach the goal, if no more than `most` do.
    fn enough(&self, places: &[(f64, f64)], goal: &DesignGoal, most: usize) -> Option<CouponDesign> {
        let runs = |coupons: usize| -> Vec<CouponRun> {
            places
                .iter()
                .map(|&(celsius, hours)| CouponRun {
                    temperature: Temperature::from_celsius(celsius),
                    time: HoldTime::from_hours(hours),
                    coupons,
                })
                .collect()
        };
        let reached = |coupons: usize| {
            let (u_level, u_slope, u_c) = self.uncertainties(&runs(coupons));
            let met = |wanted: Option<f64>, u: f64| wanted.is_none_or(|wanted| u <= wanted * (1.0 + 1e-12));
            met(goal.u_level, u_level) && met(goal.u_slope, u_slope) && met(goal.u_c, u_c)
        };
        if most == 0 || !reached(most) {
            return None;
        }
        let (mut too_few, mut enough) = (0, most);
        while enough - too_few > 1 {
            let middle = usize::midpoint(too_few, enough);
            if reached(middle) { enough = middle } else { too_few = middle }
        }
        Some(self.judged(&runs(enough), goal))
    }
}

/// Sets of holds to choose among: one to five temperatures evenly over the range, at one hold or two.
fn places(basis: &DesignBasis, goal: &DesignGoal) -> Vec<Vec<(f64, f64)>> {
    let ((low, high), (short, long)) = (goal.temperature_c, goal.time_h);
    let own = basis.hold.hours().clamp(short, long);
    let mut times: Vec<f64> = [0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 24.0, 32.0, short, long]
        .into_iter()
        .filter(|t| *t >= short && *t <= long)
        .collect();
    times.sort_by(f64::total_cmp);
    times.dedup();
    let mut holds: Vec<Vec<f64>> = Vec::new();
    if goal.u_c.is_none() {
        holds.push(vec![own]);
    } else {
        for (i, &a) in times.iter().enumerate() {
            holds.extend(times.iter().skip(i + 1).map(|&b| vec![a, b]));
        }
        holds.extend(times.iter().map(|&t| vec![t]));
    }
    let fewest = match (goal.u_slope.is_some() || goal.u_c.is_some(), basis.parabola) {
        (true, true) => 3,
        (true, false) => 2,
        (false, _) => 1,
    };
    let spread = |count: usize| -> Vec<f64> {
        if count == 1 {
            return vec![basis.centre.celsius().clamp(low, high)];
        }
        (0..count).map(|i| low + (high - low) * i as f64 / (count - 1) as f64).collect()
    };
    (fewest..=5)
        .flat_map(|count| holds.iter().map(move |holds| (count, holds)))
        .map(|(count, holds)| {
            spread(count).into_iter().flat_map(|celsius| holds.iter().map(move |&hours| (celsius, hours))).collect()
        })
        .collect()
}

//! How far the sources of one steel lie apart, and what that says of a sheet that stands alone.

use std::collections::HashMap;
use std::sync::Arc;

use super::curves::SteelCurve;
use crate::curve::HardnessAfterTemper;
use crate::error::Result;
use crate::quantity::{HoldTime, Temperature};
use crate::record::Origin;
use crate::temper::UNKNOWN_STEEL;

/// Fewer common temperatures than this say nothing.
const FEWEST: usize = 3;

/// What the other sources of a steel say of one curve.
#[derive(Default)]
struct Apart {
    /// Differences, HRC, at every temperature shared with one of them.
    differences: Vec<f64>,
    sources: usize,
}

impl Apart {
    fn of(curve: &SteelCurve, others: &[SteelCurve], counts: impl Fn(&SteelCurve) -> bool) -> Self {
        let mut made = Self::default();
        for other in others.iter().filter(|other| counts(other)) {
            let before = made.differences.len();
            for &(celsius, hours, hrc) in &curve.points {
                let there = other.curve.hardness_with(
                    Temperature::from_celsius(celsius),
                    if other.fit.is_some() { HoldTime::from_hours(hours) } else { other.curve.reference_hold() },
                    other.curve.constant().unwrap_or(UNKNOWN_STEEL).middle(),
                );
                made.differences.extend(there.ok().map(|there| hrc - there));
            }
            made.sources += usize::from(made.differences.len() > before);
        }
        made
    }

    fn mean_square(&self) -> f64 {
        self.differences.iter().map(|difference| difference * difference).sum::<f64>() / self.differences.len() as f64
    }

    /// One standard deviation of a source: two draws of one population differ by √2 of it.
    fn spread(&self) -> Option<f64> {
        (self.differences.len() >= FEWEST).then(|| (0.5 * self.mean_square()).sqrt())
    }
}

/// Whether two curves are two words on the same thing: near hardening, different sources, neither doubtful, and what is
/// held against a curve not from memory.
fn comparable(a: &SteelCurve, b: &SteelCurve) -> bool {
    near(a, b)
        && a.doubt.is_none()
        && b.doubt.is_none()
        && b.origin != Origin::FromMemory
        && (a.fit.is_none() || b.fit.is_some())
        // Tables on one page come from one hand; the heats of one paper were hardened and measured one by one.
        && (a.source != b.source || a.origin == Origin::FromData && !same(a, b))
}

fn same(a: &SteelCurve, b: &SteelCurve) -> bool {
    Arc::ptr_eq(&a.curve, &b.curve)
}

fn near(a: &SteelCurve, b: &SteelCurve) -> bool {
    match (a.austenitize_c, b.austenitize_c) {
        (Some(a), Some(b)) => a.0 <= b.1 + 15.0 && b.0 <= a.1 + 15.0,
        _ => true,
    }
}

/// What printed sheets of one steel usually differ by, HRC: one standard deviation, over every steel with two or more.
pub(super) fn usual_spread(all: &HashMap<String, Vec<SteelCurve>>) -> f64 {
    let is_sheet = |curve: &SteelCurve| curve.origin == Origin::Printed && curve.fit.is_none();
    let mut differences = Vec::new();
    let mut steels: Vec<&String> = all.keys().collect();
    // A sum's last bit must not hang on the order in which a map gives its keys.
    steels.sort_unstable();
    for curves in steels.into_iter().filter_map(|name| all.get(name)) {
        for curve in curves.iter().filter(|curve| is_sheet(curve)) {
            let apart = Apart::of(curve, curves, |other| is_sheet(other) && comparable(curve, other));
            differences.extend(apart.differences);
        }
    }
    Apart { differences, sources: 0 }.spread().unwrap_or(0.0)
}

/// Gives every curve the uncertainty of its level: what the sources of its steel differ by where two or more of one
/// hardening overlap, `usual` where a sheet stands alone, the worst of its steel where the source is doubtful.
pub(super) fn spread_over_sources(curves: &mut [SteelCurve], usual: f64) -> Result<()> {
    let all: Vec<SteelCurve> = curves.to_vec();
    for curve in curves.iter_mut().filter(|curve| curve.doubt.is_none()) {
        let apart = Apart::of(curve, &all, |other| comparable(curve, other));
        let own = curve.curve.u_level();
        let fitted = curve.fit.is_some();
        let (u, found) = match apart.spread() {
            None if fitted => continue,
            None => (
                own.max(usual),
                format!(
                    "one source alone: {usual:.1} HRC, one standard deviation, is what sheets of the steels with several \
                     differ by"
                ),
            ),
            Some(spread) => {
                let others = apart.sources as f64;
                // Few that agree may do so by chance: what is usual counts as one source more.
                let shrunk = ((others * spread * spread + usual * usual) / (others + 1.0)).sqrt();
                let floor = if fitted { own } else { own.max(shrunk) };
                let mut found = format!(
                    "{} sources of this steel differ by {spread:.1} HRC (one standard deviation, {} common temperatures)",
                    apart.sources + 1,
                    apart.differences.len()
                );
                if floor > spread {
                    let why = if floor > own {
                        format!("{usual:.1} HRC is usual between sheets and counts as one source more")
                    } else {
                        curve.curve.u_level_found().to_owned()
                    };
                    found.push_str(&format!("; used is the larger {floor:.1}: {why}"));
                }
                (floor.max(spread), found)
            }
        };
        curve.curve = Arc::new((*curve.curve).clone().with_u_level(u, found)?);
    }
    let worst = curves.iter().filter(|curve| curve.doubt.is_none()).map(|curve| curve.curve.u_level());
    let worst = worst.fold(usual, f64::max);
    for curve in curves.iter_mut().filter(|curve| curve.doubt.is_some()) {
        let apart = Apart::of(curve, &all, |other| other.doubt.is_none() && near(curve, other));
        // The others are held to be right, so that the whole difference is its own.
        let off = if apart.differences.len() < FEWEST { 0.0 } else { apart.mean_square().sqrt() };
        let found = format!(
            "doubtful source: no better than the worst of this steel's others ({worst:.1} HRC), which it misses by {off:.1} \
             HRC"
        );
        curve.curve = Arc::new((*curve.curve).clone().with_u_level(worst.max(off), found)?);
    }
    Ok(())
}

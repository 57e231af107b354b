//! Coupons that do not belong: each is held against the line through the others.

use serde::{Deserialize, Serialize};

use super::model::{Fitted, Line, Row};
use crate::estimate::student_cdf;

/// A coupon that the others speak against.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CouponDoubt {
    /// The coupon.
    pub coupon: String,
    /// How far it lies from the line through the others, HRC; negative is softer.
    pub residual_hrc: f64,
    /// Whether the fit was made without it.
    pub left_out: bool,
    /// Why, as a sentence.
    pub why: String,
}

/// What is believed of the scatter of coupons before they speak, HRC (the root mean square over bars), and the degrees
/// of freedom that it counts for.
pub(super) const BELIEVED_SD: f64 = 0.4;
pub(super) const BELIEVED_DOF: f64 = 4.0;

/// Chance, over all coupons of a fit, that a sound one is left out.
const LEFT_OUT_AT: f64 = 0.01;

/// Chance for a coupon by itself: softer than this where its remark gives a cause, it is left out; where none does, it
/// is named and kept.
const WITH_CAUSE_AT: f64 = 0.05;
const NAMED_AT: f64 = 0.02;

/// Words of a remark that give a cause for a soft reading.
const CAUSES: &[&str] =
    &["edge", "scale", "decarb", "bevel", "skin", "as heat treated", "unground", "not ground", "corner", "soft spot"];

/// A row with little left over beside its own pull can't be held against the others.
const LEAST_FREE: f64 = 0.05;

/// How a coupon stands against the line through the others.
#[derive(Debug, Clone, Copy)]
struct Standing {
    place: usize,
    residual: f64,
    t: f64,
    dof: f64,
}

impl Standing {
    /// Chance of a sound coupon being as soft as this.
    fn softer(&self) -> f64 {
        student_cdf(self.t, self.dof)
    }

    fn either_way(&self) -> f64 {
        2.0 * student_cdf(-self.t.abs(), self.dof)
    }
}

/// What the search found: doubts, and which of the rows are kept.
pub(super) struct Sorted {
    pub(super) doubts: Vec<CouponDoubt>,
    pub(super) kept: Vec<usize>,
}

/// Sorts rows into those that are kept and those that are not. `named` gives each row's name and remark.
pub(super) fn sorted(
    line: &Line<'_>,
    rows: &[Row],
    named: &[(&str, &str)],
    fit: &dyn Fn(&[Row]) -> Option<Fitted>,
    c_is_free: bool,
) -> Sorted {
    let name = |index: usize| named.get(index).map_or("", |(name, _)| *name);
    let remark = |index: usize| named.get(index).map_or("", |(_, remark)| *remark);
    let mut kept: Vec<usize> = (0..rows.len()).collect();
    let mut doubts: Vec<CouponDoubt> = Vec::new();
    let standings = |kept: &[usize]| standings(line, rows, kept, fit, c_is_free);

    // Forward until a quarter is gone, then back to the last one that stands out: two spoiled coupons can hide each
    // other (Rosner's generalised extreme deviate).
    let most = (rows.len() / 4).max(1);
    let mut taken: Vec<(Standing, usize)> = Vec::new();
    let mut strong = 0;
    let mut left = kept.clone();
    while taken.len() < most && left.len() > 1 {
        let mut all = standings(&left);
        all.sort_by(|a, b| b.t.abs().total_cmp(&a.t.abs()));
        let Some(&first) = all.first() else { break };
        let chance = first.either_way() * left.len() as f64;
        // Two that lie equally far on either side contradict each other: which of them is spoiled nobody can tell.
        if let Some(second) = all.get(1).filter(|second| second.t.abs() > 0.98 * first.t.abs()) {
            if chance < LEFT_OUT_AT && taken.len() == strong {
                let (a, b) = (name(first.place), name(second.place));
                for one in [&first, second] {
                    doubts.push(CouponDoubt {
                        coupon: name(one.place).to_owned(),
                        residual_hrc: one.residual,
                        left_out: false,
                        why: format!(
                            "{a} and {b} contradict each other, and the rest can't tell which of them is wrong"
                        ),
                    });
                }
            }
            break;
        }
        left.retain(|&index| index != first.place);
        taken.push((first, left.len() + 1));
        if chance < LEFT_OUT_AT {
            strong = taken.len();
        }
    }
    for (standing, of) in taken.iter().take(strong) {
        kept.retain(|&index| index != standing.place);
        doubts.push(CouponDoubt {
            coupon: name(standing.place).to_owned(),
            residual_hrc: standing.residual,
            left_out: true,
            why: format!(
                "{:+.1} HRC from the line through the others: less than one sound coupon in {:.0} campaigns of {of} lies \
                 so far off{}; left out",
                standing.residual,
                (1.0 / (standing.either_way() * *of as f64)).clamp(1.0 / LEFT_OUT_AT, 1e6),
                cause_text(remark(standing.place), standing.residual),
            ),
        });
    }
    loop {
        let all = standings(&kept);
        let suspect = all
            .iter()
            .filter(|one| has_cause(remark(one.place)) && one.softer() < WITH_CAUSE_AT && kept.len() > 3)
            .min_by(|a, b| a.t.total_cmp(&b.t));
        let Some(one) = suspect else { break };
        kept.retain(|&index| index != one.place);
        doubts.push(CouponDoubt {
            coupon: name(one.place).to_owned(),
            residual_hrc: one.residual,
            left_out: true,
            why: format!(
                "{:+.1} HRC from the line through the others{}; left out",
                one.residual,
                cause_text(remark(one.place), one.residual)
            ),
        });
    }
    let softest = standings(&kept).into_iter().min_by(|a, b| a.t.total_cmp(&b.t));
    if let Some(one) = softest.filter(|one| one.softer() < NAMED_AT && kept.len() > 4) {
        if doubts.iter().all(|doubt| doubt.coupon != name(one.place)) {
            doubts.push(CouponDoubt {
                coupon: name(one.place).to_owned(),
                residual_hrc: one.residual,
                left_out: false,
                why: format!(
                    "{:+.1} HRC from the line through the others: by itself one sound coupon in {:.0} is so soft. Look at \
                     it; it was kept, leave_out= takes it out",
                    one.residual,
                    1.0 / one.softer().max(1e-6)
                ),
            });
        }
    }
    Sorted { doubts, kept }
}

fn has_cause(remark: &str) -> bool {
    let remark = remark.to_lowercase();
    CAUSES.iter().any(|cause| remark.contains(cause))
}

fn cause_text(remark: &str, residual: f64) -> String {
    if !remark.is_empty() {
        return format!(" (noted: {remark})");
    }
    if residual < 0.0 {
        " (a soft skin, an edge, a hot spot or a missed hardening would do it: grind and read again)".to_owned()
    } else {
        " (a colder place, a shorter hold or a mixed-up label would do it)".to_owned()
    }
}

/// Externally studentised residuals with the scatter of the others moderated by what is believed of it.
fn standings(
    line: &Line<'_>,
    rows: &[Row],
    kept: &[usize],
    fit: &dyn Fn(&[Row]) -> Option<Fitted>,
    c_is_free: bool,
) -> Vec<Standing> {
    let chosen: Vec<Row> = kept.iter().filter_map(|&index| rows.get(index).copied()).collect();
    let believed = BELIEVED_SD * BELIEVED_SD;
    let solved = fit(&chosen).and_then(|fitted| {
        let solved = line.linearised(&chosen, &fitted, believed, c_is_free).solve(true)?;
        Some((fitted, solved))
    });
    let Some((fitted, solved)) = solved else { return Vec::new() };
    let width = (line.degree + 1 + usize::from(c_is_free)) as f64;
    let others = chosen.len() as f64 - width - 1.0;
    if others < 0.0 {
        return Vec::new();
    }
    let scaled: Vec<(f64, f64)> = chosen
        .iter()
        .map(|row| {
            let residual = row.hrc - line.at(&fitted.a, fitted.c, row.celsius, row.hours);
            (residual, residual / line.variance(row, &fitted.a, fitted.c, believed).sqrt())
        })
        .collect();
    let sum: f64 = scaled.iter().map(|(_, scaled)| scaled * scaled).sum();
    let mut made = Vec::with_capacity(kept.len());
    for ((&place, &(residual, scaled)), &leverage) in kept.iter().zip(&scaled).zip(&solved.leverage) {
        let free = 1.0 - leverage;
        if free < LEAST_FREE {
            continue;
        }
        let without = (sum - scaled * scaled / free).max(0.0);
        let variance = (BELIEVED_DOF + without) / (BELIEVED_DOF + others);
        made.push(Standing {
            place,
            residual: residual / free,
            t: scaled / (free * variance).sqrt(),
            dof: BELIEVED_DOF + others,
        });
    }
    made
}

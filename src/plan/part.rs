//! A measured part on its curve: what it has had, how far it lies off, where a further hold takes it.

use super::earlier::{Earlier, held};
use super::forward::Forward;
use super::needed::SlopeDoubt;
use super::request::ID;
use super::retemper::RetemperRequest;
use super::spread::{flat_nodes, normal_nodes};
use crate::curve::HardnessAfterTemper;
use crate::error::{Error, Result};
use crate::quantity::{HoldTime, Temperature, ZERO_CELSIUS_K};
use crate::temper::{History, combine};

/// HRC over which an offset from the curve would fade, if it does: the length of the rule for as-quenched deviations.
const OFFSET_FADES_OVER_HRC: f64 = 10.0;

/// The worst that a reading names a temper by, in °C: where the curve is flat it names none.
const WIDEST_GUESS_DELTA_C: f64 = 30.0;

/// A measured part on its curve.
pub(super) struct Part<'a> {
    pub(super) forward: Forward<'a>,
    pub(super) request: &'a RetemperRequest,
    pub(super) reference: HoldTime,
    pub(super) earlier: Earlier,
    /// One standard uncertainty of the curve's slope, HRC/°C.
    u_slope: f64,
    /// How far the earlier temper may have been off: °C with weights.
    pub(super) off: Vec<(f64, f64)>,
}

/// The parameter that flat holds leave, for one C; it checks them.
pub(super) fn state(holds: &[(Temperature, HoldTime)], c: f64) -> Result<History> {
    combine(holds, History::for_constants(&[c])?)
}

impl<'a> Part<'a> {
    pub(super) fn new(curve: &'a dyn HardnessAfterTemper, request: &'a RetemperRequest) -> Result<Self> {
        let forward = Forward::new(curve, None)?;
        let reference = curve.reference_hold();
        let u_slope = curve.u_slope();
        let c = request.c.middle();
        request.earlier.checked(request.c)?;
        if !request.earlier.is_unknown() {
            let off = flat_nodes(request.earlier.u_delta_c(request.unknowns.hold.u_temperature()));
            return Ok(Self { forward, request, reference, u_slope, earlier: request.earlier.clone(), off });
        }
        let roots = forward.roots(request.measured_hrc, reference.hours(), c)?;
        let at = match roots.as_slice() {
            [one] => *one,
            [] => return Err(not_on_the_curve(&forward, request, reference)),
            several => {
                return Err(Error::SeveralAnswers {
                    model: ID.into(),
                    asked: format!("the temper behind {} HRC", request.measured_hrc).into(),
                    answers: several.to_vec(),
                    unit: "°C".into(),
                    hint: "Say what the part had: previous=[(temperature_c, time_h), ...]".into(),
                });
            }
        };
        // Not knowing level and batch of the curve, the reading names the earlier temper no better than this.
        let hardness = |t: f64| forward.hardness(t, reference.hours(), c);
        let slope = 0.5 * (hardness(at + 1.0)? - hardness(at - 1.0)?);
        let level = request.unknowns.u_curve_hrc.hypot(request.unknowns.u_batch_hrc);
        let off = normal_nodes((level / slope.abs()).min(WIDEST_GUESS_DELTA_C));
        let earlier = Earlier::holds(vec![(Temperature::from_celsius(at), reference)]);
        Ok(Self { forward, request, reference, u_slope, earlier, off })
    }

    /// The flat temperature at the curve's own hold that a parameter is worth, in °C.
    pub(super) fn on_curve(&self, m: f64, c: f64) -> f64 {
        m / (c + self.reference.hours().log10()) - ZERO_CELSIUS_K
    }

    pub(super) fn now(&self, c: f64, off: f64) -> f64 {
        self.on_curve(self.earlier.parameter(c, off), c)
    }

    pub(super) fn on_curve_after(&self, temperature_c: f64, hours: f64, c: f64, off: f64) -> f64 {
        self.on_curve(held(self.earlier.parameter(c, off), temperature_c + ZERO_CELSIUS_K, hours, c), c)
    }

    /// What the reading lies above the curve, had the earlier temper been hotter by `off`.
    pub(super) fn offset(&self, c: f64, off: f64) -> Result<f64> {
        Ok(self.request.measured_hrc - self.forward.hardness(self.now(c, off), self.reference.hours(), c)?)
    }

    /// Hardness after a further hold, the offset carried as a shift.
    pub(super) fn hardness(&self, temperature_c: f64, hours: f64, c: f64, off: f64) -> Result<f64> {
        let then = self.on_curve_after(temperature_c, hours, c, off);
        Ok(self.offset(c, off)? + self.forward.hardness(then, self.reference.hours(), c)?)
    }

    /// One standard uncertainty for not knowing whether the offset stays or fades on the way to a softer part.
    pub(super) fn u_offset(&self, hrc: f64) -> Result<f64> {
        let softer = (self.request.measured_hrc - hrc).max(0.0);
        let offset = self.offset(self.request.c.middle(), 0.0)?;
        Ok(offset.abs() * (1.0 - (-softer / OFFSET_FADES_OVER_HRC).exp()) / 3f64.sqrt())
    }

    /// What is not known of the curve's slope, over the stretch from the part's reading to what a further hold gives.
    pub(super) fn slope_doubt(&self, temperature_c: f64) -> SlopeDoubt {
        let (c, hours) = (self.request.c.middle(), self.request.time.hours());
        let stretch_delta_c = self.on_curve_after(temperature_c, hours, c, 0.0) - self.now(c, 0.0);
        SlopeDoubt { u: self.u_slope, stretch_delta_c }
    }

    /// Temperatures on the curve, beyond the present state, that give a hardness.
    pub(super) fn goals(&self, hrc: f64, c: f64) -> Result<Vec<f64>> {
        let now = self.now(c, 0.0);
        let roots = self.forward.roots(hrc - self.offset(c, 0.0)?, self.reference.hours(), c)?;
        Ok(roots.into_iter().filter(|&root| root > now + 1e-6).collect())
    }

    /// The temperature of a further hold that brings the part to a place on the curve: hotter always brings it farther.
    pub(super) fn temperature_to(&self, goal_c: f64, hours: f64, c: f64) -> f64 {
        let (mut low, mut high) = (-100.0, goal_c + 400.0);
        for _ in 0..80 {
            let middle = 0.5 * (low + high);
            if self.on_curve_after(middle, hours, c, 0.0) < goal_c { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    }

    /// Hours at the last temperature that would do it by time alone.
    pub(super) fn hours_to(&self, goal_c: f64, c: f64) -> f64 {
        let Some(last) = self.earlier.last(c) else { return f64::NAN };
        let hours = |m: f64| 10f64.powf(m / last.kelvin() - c);
        let goal = (goal_c + ZERO_CELSIUS_K) * (c + self.reference.hours().log10());
        hours(goal) - hours(self.earlier.parameter(c, 0.0))
    }
}

fn not_on_the_curve(forward: &Forward<'_>, request: &RetemperRequest, reference: HoldTime) -> Error {
    let (low, high) = forward.range(reference.hours(), request.c.middle());
    Error::NoAnswer {
        model: ID.into(),
        asked: format!("the temper behind {} HRC", request.measured_hrc).into(),
        why: format!("the curve gives no such hardness between {low:.0} and {high:.0} °C").into(),
        hint: "Say what the part had: previous=[(temperature_c, time_h), ...]".into(),
    }
}

impl Part<'_> {
    pub(super) fn assumptions(&self, curve: &dyn HardnessAfterTemper) -> Result<Vec<String>> {
        let request = self.request;
        let offset = self.offset(request.c.middle(), 0.0)?;
        let (from, known) = if request.earlier.is_unknown() {
            ("taken from the reading by the curve", "no better than the curve's level and batch allow")
        } else {
            ("as given", "as well as the oven, or the log, is known")
        };
        let mut made = vec![
            format!("curve: {}", curve.name()),
            format!("the part had {} ({from}); that is known {known}", self.earlier.text()),
            format!(
                "its offset of {offset:+.1} HRC from the curve is carried as a shift; whether it fades with further \
                 tempering (counted as if over {OFFSET_FADES_OVER_HRC} HRC), or is the tester's bias, is not known: \
                 correct the reading with a block first"
            ),
            format!("reading u = {} HRC; curve and batch are in the reading", request.u_measured_hrc),
            request.known_part().text(),
            request.c.text(),
            "distortion, toughness, edge life and retained austenite are not in these numbers".to_owned(),
        ];
        if self.u_slope > 0.0 {
            made.push(format!("the curve's slope is known to u = {:.4} HRC/°C, by its own coupons", self.u_slope));
        }
        Ok(made)
    }
}

//! The causes that may make a part softer or harder than planned, each with what it does to a reading.

use super::explain::ExplainRequest;
use super::forward::Forward;
use crate::curve::HardnessAfterTemper;
use crate::error::Result;
use crate::estimate::{Estimate, Shape, root_sum_of_squares};
use crate::oven::Thermocouple;
use crate::quantity::{Temperature, ZERO_CELSIUS_K};

/// How a size is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// It was found on this part: mend it before asking on.
    Found,
    /// Its size was measured on this part and load.
    Measured,
    /// What such a cause can do.
    Possible,
}

/// A cause before it is held against the difference.
pub(super) struct Candidate {
    pub(super) name: &'static str,
    pub(super) kind: Kind,
    pub(super) effect: Estimate,
    /// What it can do to a reading, HRC; one value twice where it was measured.
    pub(super) range: (f64, f64),
    pub(super) reading_only: bool,
    pub(super) why: String,
    pub(super) check: &'static str,
}

/// What every cause is worked out from.
pub(super) struct Frame<'a> {
    pub(super) curve: &'a dyn HardnessAfterTemper,
    pub(super) forward: &'a Forward<'a>,
    pub(super) request: &'a ExplainRequest,
    pub(super) at_c: f64,
    pub(super) total_h: f64,
    /// Why the hardening failed, if the as-quenched reading says so.
    pub(super) failed: Option<String>,
}

/// How far above its setting an oven may have gone without a log, as a two-hour equivalent; assumption.
const UNLOGGED_DELTA_C: (f64, f64) = (0.0, 40.0);

/// How far the part's place may be from the display without a survey; assumption, both ways.
const UNSURVEYED_DELTA_C: f64 = 9.0;

/// What the largest error permitted to a tester near 60 HRC is taken for where no block was read; HRC.
const UNCHECKED_TESTER_HRC: f64 = 1.0;

/// How much of the hold a part may lose while it heats through, hours: a 3 mm blade in still air loses 26 minutes.
const LATE_START_H: f64 = 0.43;

/// Terminals of a controller between ice and a warm room, °C.
const TERMINALS_C: (f64, f64) = (0.0, 25.0);

impl Frame<'_> {
    /// What a hold does against the planned one, HRC.
    fn against_plan(&self, temperature_c: f64, hours: f64) -> Result<f64> {
        let c = self.request.c.middle();
        Ok(self.forward.hardness(temperature_c, hours, c)? - self.forward.hardness(self.at_c, self.total_h, c)?)
    }

    /// The effect of a steel hotter by between two differences, the larger effect first.
    fn hotter_by(&self, (low, high): (f64, f64)) -> Result<(f64, f64)> {
        // The curve is continued straight past its end, not for ever.
        let most = self.forward.range(self.total_h, self.request.c.middle()).1 + 90.0 - self.at_c;
        let (a, b) = (
            self.against_plan(self.at_c + low.min(most), self.total_h)?,
            self.against_plan(self.at_c + high.min(most), self.total_h)?,
        );
        Ok((a.min(b), a.max(b)))
    }

    /// The flat temperature at the planned time that the log is worth, °C, for one C.
    fn logged_c(&self, c: f64) -> f64 {
        self.request.log.parameter(c, 0.0) / (c + self.total_h.log10()) - ZERO_CELSIUS_K
    }
}

/// A range of effects without preference.
fn between((low, high): (f64, f64)) -> Estimate {
    Estimate::new(0.5 * (low + high), "HRC")
        .with("range", (high - low) / 12f64.sqrt())
        .shaped(Shape::Bounds { low, high })
}

fn possible(name: &'static str, range: (f64, f64), why: impl Into<String>, check: &'static str) -> Candidate {
    let (kind, why) = (Kind::Possible, why.into());
    Candidate { name, kind, effect: between(range), range, reading_only: false, why, check }
}

fn on_the_reading(candidate: Candidate) -> Candidate {
    Candidate { reading_only: true, ..candidate }
}

/// Every cause, the commoner first, for a difference of this sign.
pub(super) fn candidates(frame: &Frame<'_>, difference: f64) -> Result<Vec<Candidate>> {
    let request = frame.request;
    let mut made = vec![hardening(frame)];
    if let Some(doubt) = request.doubts.first() {
        let found = possible("a spot that gives no reading", (-6.0, -1.0), doubt.clone(), "read on a ground flat");
        made.push(on_the_reading(Candidate { kind: Kind::Found, ..found }));
    }
    made.push(oven_log(frame)?);
    made.push(wrong_couple(frame, difference)?);
    let place = request.place_delta_c.unwrap_or((-UNSURVEYED_DELTA_C, UNSURVEYED_DELTA_C));
    made.push(possible(
        "hot or cold spot in the oven",
        frame.hotter_by(place)?,
        format!(
            "{:+.0} to {:+.0} °C against the display{}",
            place.0,
            place.1,
            if request.place_delta_c.is_some() { "" } else { ": assumed, no survey was given" }
        ),
        "survey the oven where the part lay",
    ));
    made.push(batch(frame));
    made.push(tester(request));
    let skin =
        possible("decarburised skin", (-5.0, -2.0), "in the reading only", "grind 0.2 to 0.3 mm away and read again");
    made.push(on_the_reading(skin));
    if request.doubts.is_empty() {
        let why = "the block reads right and the part does not";
        made.push(on_the_reading(possible(
            "thin or bevelled spot",
            (-6.0, -1.0),
            why,
            "give Readings its thickness_mm and place; read on a flat face",
        )));
    }
    let burn = possible(
        "grinding burn",
        (-10.0, -2.0),
        "the skin was tempered by the wheel",
        "colour, cracks; softness that goes with the skin",
    );
    made.push(on_the_reading(burn));
    made.push(possible(
        "retained austenite",
        (-4.0, -1.0),
        "high-carbon and high-alloy steel quenched from too hot",
        "cool below zero at once and temper again, on a coupon; a magnet tells little",
    ));
    made.push(time(frame)?);
    Ok(made)
}

fn hardening(frame: &Frame<'_>) -> Candidate {
    const NAME: &str = "hardening that failed";
    const CHECK: &str = "measure a part as quenched; look at austenitizing temperature, time and the quench";
    let size = (-20.0, -5.0);
    match (&frame.failed, frame.request.as_quenched, frame.curve.hardened()) {
        (Some(why), ..) => Candidate { kind: Kind::Found, ..possible(NAME, size, why.clone(), CHECK) },
        (None, Some(read), Some(expected)) => Candidate {
            kind: Kind::Measured,
            ..possible(
                NAME,
                (0.0, 0.0),
                format!(
                    "{} HRC as quenched lies in the band expected ({:.1} to {:.1})",
                    read.hrc,
                    expected.lowest(),
                    expected.highest()
                ),
                "none needed",
            )
        },
        _ => possible(
            NAME,
            size,
            "too cold, too short, quenched too slowly: 5 to 20 HRC, and the commonest cause",
            CHECK,
        ),
    }
}

/// What the log says the steel got, or what an oven without one may have done.
fn oven_log(frame: &Frame<'_>) -> Result<Candidate> {
    const CHECK: &str = "the log: its peak, and how long the steel was above the setting";
    let request = frame.request;
    if request.log.is_unknown() {
        let why = "no log was given: up to 40 °C hotter than set, as two hours at one temperature (assumption)";
        let check = "log the next load beside the part; O1 and its like forgive no overshoot";
        return Ok(possible("overshoot", frame.hotter_by(UNLOGGED_DELTA_C)?, why, check));
    }
    let c = request.c.middle();
    let effect = |c: f64| -> Result<f64> {
        let planned = frame.forward.hardness(frame.at_c, frame.total_h, c)?;
        Ok(frame.forward.hardness(frame.logged_c(c), frame.total_h, c)? - planned)
    };
    let (low, high) = request.c.ends();
    let u_c = 0.5 * (effect(high)? - effect(low)?).abs() / 3f64.sqrt();
    let got = frame.logged_c(c);
    let slope = 0.5 * (frame.against_plan(got + 1.0, frame.total_h)? - frame.against_plan(got - 1.0, frame.total_h)?);
    let u_log = slope * request.log.u_delta_c(0.0);
    let value = effect(c)?;
    let name = if got > frame.at_c { "overshoot" } else { "an oven that stayed cool" };
    Ok(Candidate {
        name,
        kind: Kind::Measured,
        effect: Estimate::new(value, "HRC").with("log", u_log).with("c", u_c),
        range: (value, value),
        reading_only: false,
        why: format!(
            "by the log the steel got the same as {got:.0} °C for {} h, {:.0} °C were planned",
            frame.total_h, frame.at_c
        ),
        check: CHECK,
    })
}

/// A controller set for one kind of thermocouple with another one wired.
fn wrong_couple(frame: &Frame<'_>, difference: f64) -> Result<Candidate> {
    let (wired, set) =
        if difference < 0.0 { (Thermocouple::K, Thermocouple::J) } else { (Thermocouple::J, Thermocouple::K) };
    let off = |terminals_c: f64| -> Result<f64> {
        let terminals = Temperature::from_celsius(terminals_c);
        let shown = set.emf_mv(Temperature::from_celsius(frame.at_c), terminals)?;
        Ok(wired.temperature(shown, terminals)?.celsius() - frame.at_c)
    };
    let (at_ice, at_room) = (off(TERMINALS_C.0)?, off(TERMINALS_C.1)?);
    let hotter = (at_ice.min(at_room), at_ice.max(at_room));
    let (wired, set) = (wired.letter(), set.letter());
    Ok(possible(
        "thermocouple of another type",
        frame.hotter_by(hotter)?,
        format!(
            "type {wired} wired to a controller set for {set} that shows {:.0} °C: the oven is {:+.0} to {:+.0} °C off; a \
             whole load is off alike",
            frame.at_c, hotter.0, hotter.1
        ),
        "read the couple's colours and the controller's setting; boiling water must read 100 °C",
    ))
}

fn batch(frame: &Frame<'_>) -> Candidate {
    let unknowns = frame.request.unknowns;
    let u = root_sum_of_squares([unknowns.u_curve_hrc, unknowns.u_batch_hrc]);
    let effect = Estimate::new(0.0, "HRC").with("curve", unknowns.u_curve_hrc).with("batch", unknowns.u_batch_hrc);
    let why = format!("curve u = {} HRC and batch u = {} HRC, twice that", unknowns.u_curve_hrc, unknowns.u_batch_hrc);
    let made = possible(
        "batch of the steel",
        (-2.0 * u, 2.0 * u),
        why,
        "temper a coupon of the same bar beside the next load",
    );
    Candidate { effect, ..made }
}

fn tester(request: &ExplainRequest) -> Candidate {
    let (size, why) = request.u_tester.map_or_else(
        || (UNCHECKED_TESTER_HRC, "no block was read: what ASTM E18 permits a tester below 60 HRC".to_owned()),
        |u| (2.0 * u, "corrected by a block: what is left of its uncertainty (k = 2)".to_owned()),
    );
    on_the_reading(possible("bias of the tester", (-size, size), why, "read a reference block near that hardness"))
}

/// Longer by a tenth, or started late: next to nothing, and that is worth showing.
fn time(frame: &Frame<'_>) -> Result<Candidate> {
    let longer = frame.against_plan(frame.at_c, 1.1 * frame.total_h)?;
    let late = frame.against_plan(frame.at_c, (frame.total_h - LATE_START_H).max(0.5 * frame.total_h))?;
    Ok(possible(
        "time",
        (longer.min(late), longer.max(late)),
        format!(
            "a tenth longer is {longer:+.2} HRC, a part that heats through late {late:+.2} HRC: practically never the cause"
        ),
        "none: a factor of tens would be needed",
    ))
}

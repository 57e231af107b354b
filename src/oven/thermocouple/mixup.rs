//! A controller set to another type than is wired, leads the wrong way round, terminals without compensation: what the
//! display then shows, and which of these explains a physical mark.

use serde::{Deserialize, Serialize};

use super::function::Thermocouple;
use crate::error::Result;
use crate::kernel::{ArrayModel, Lane};
use crate::quantity::Temperature;
use crate::record::{ModelRecord, Origin, Scatter, Source, check_finite};

/// The record of [`wrong_type_temperature`] and [`explain_sensor`].
pub static WRONG_TYPE: ModelRecord = ModelRecord {
    id: "oven.wrong_type",
    gives: "temperature of a thermocouple read by a controller that is set to another type",
    unit: "°C",
    formula: "E_wired(t) - E_wired(terminals) = E_set(shown) - E_set(terminals)",
    ranges: &[],
    scatter: Scatter::Exact,
    sources: &[Source {
        cite: "NIST ITS-90 Thermocouple Database, SRD 60 (NIST Monograph 175, 1993)",
        at: "reference functions of both types",
        origin: Origin::Printed,
    }],
    errata: &[],
    not_for: "a couple that is damaged, or extended with wire of a third type",
};

/// The temperature of the hot junction behind a display that reads a couple as another type.
///
/// # Errors
/// [`crate::Error::OutOfRange`] where one of the types does not reach, [`crate::Error::InvalidValue`] for infinite values.
///
/// ```
/// use afterquench::{Temperature, oven::{Thermocouple, wrong_type_temperature}};
/// let celsius = Temperature::from_celsius;
/// let oven = wrong_type_temperature(celsius(200.0), Thermocouple::K, Thermocouple::J, celsius(0.0)).unwrap();
/// assert!((oven.celsius() - 265.313).abs() < 1e-3);
/// ```
pub fn wrong_type_temperature(
    shown: Temperature,
    wired: Thermocouple,
    set_as: Thermocouple,
    terminals: Temperature,
) -> Result<Temperature> {
    wired.temperature(set_as.emf_mv(shown, terminals)?, terminals)
}

/// [`wrong_type_temperature`] over arrays of what is shown and of the terminals' temperature.
#[derive(Debug, Clone, Copy)]
pub struct WrongTypeOver {
    /// What is wired.
    pub wired: Thermocouple,
    /// What the controller is set to.
    pub set_as: Thermocouple,
}

impl WrongTypeOver {
    fn one(self, shown_c: f64, terminals_c: f64) -> Result<f64> {
        let celsius = Temperature::from_celsius;
        wrong_type_temperature(celsius(shown_c), self.wired, self.set_as, celsius(terminals_c))
            .map(Temperature::celsius)
    }
}

impl ArrayModel for WrongTypeOver {
    fn arguments(&self) -> &[&'static str] {
        &["shown_c", "terminals_c"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        let [shown, terminals] = arguments else {
            out.fill(f64::NAN);
            return;
        };
        for (index, out) in out.iter_mut().enumerate() {
            let (shown, terminals) = (shown.at(index), terminals.at(index));
            let known = !shown.is_nan() && !terminals.is_nan();
            *out = if known { self.one(shown, terminals).unwrap_or(f64::NAN) } else { f64::NAN };
        }
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        let [shown, terminals] = arguments else { return Ok(()) };
        self.one(*shown, *terminals).map(|_| ())
    }
}

/// One thing that would make a display show what it shows.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SensorExplanation {
    /// "no fault", "wrong type", "reversed" or "no compensation".
    pub kind: String,
    /// The couple that is wired.
    pub wired: Thermocouple,
    /// What the controller is set to.
    pub set_as: Thermocouple,
    /// Where the hot junction then is, °C.
    pub true_c: f64,
    /// That less the physical mark, °C.
    pub off_delta_c: f64,
    /// The working in words.
    pub why: String,
}

/// What explains that a display shows one temperature where a physical mark says another: nearest to the mark first,
/// empty where nothing comes within `within_delta_c` of it.
///
/// # Errors
/// [`crate::Error::InvalidValue`] for infinite values.
pub fn explain_sensor(
    mark: Temperature,
    shown: Temperature,
    terminals: Temperature,
    within_delta_c: f64,
) -> Result<Vec<SensorExplanation>> {
    for (argument, value) in [
        ("physical_mark_c", mark.celsius()),
        ("shown_c", shown.celsius()),
        ("terminals_c", terminals.celsius()),
        ("within_delta_c", within_delta_c),
    ] {
        check_finite(WRONG_TYPE.id, argument, "°C", value)?;
    }
    let mut found = Vec::new();
    let mut offer = |kind: &str, wired: Thermocouple, set_as: Thermocouple, at: Result<Temperature>, why: String| {
        // A pair that can't show this temperature at all explains nothing.
        let Ok(at) = at else { return };
        let off_delta_c = at.celsius() - mark.celsius();
        if off_delta_c.abs() <= within_delta_c {
            let why = format!("{why}, so the hot junction is at {:.1} °C", at.celsius());
            found.push(SensorExplanation {
                kind: kind.to_owned(),
                wired,
                set_as,
                true_c: at.celsius(),
                off_delta_c,
                why,
            });
        }
    };
    let (terminals_c, ice) = (terminals.celsius(), Temperature::from_celsius(0.0));
    offer(
        "no fault",
        Thermocouple::K,
        Thermocouple::K,
        Ok(shown),
        "display and mark agree, whatever the type".to_owned(),
    );
    for wired in Thermocouple::ALL {
        for set_as in Thermocouple::ALL.into_iter().filter(|set_as| *set_as != wired) {
            let why = format!(
                "type {} is wired and the controller is set to {}, terminals at {terminals_c} °C",
                wired.letter(),
                set_as.letter()
            );
            offer("wrong type", wired, set_as, wrong_type_temperature(shown, wired, set_as, terminals), why);
        }
        let shown_mv = wired.emf_mv(shown, terminals);
        let reversed = shown_mv.clone().and_then(|emf| wired.temperature(-emf, terminals));
        let why =
            format!("the leads of a type {} couple are reversed at terminals of {terminals_c} °C", wired.letter());
        offer("reversed", wired, wired, reversed, why);
        let uncompensated = wired.emf_mv(shown, ice).and_then(|emf| wired.temperature(emf, terminals));
        let why =
            format!("a type {} couple is read without compensation for terminals at {terminals_c} °C", wired.letter());
        offer("no compensation", wired, wired, uncompensated, why);
    }
    found.sort_by(|a, b| a.off_delta_c.abs().total_cmp(&b.off_delta_c.abs()));
    Ok(found)
}

//! What the work asks for beside a schedule: when the clock starts, what cycles do, what the numbers leave out.

use super::cautions::Band;
use super::forward::Forward;
use super::request::Request;
use super::schedule::Schedule;
use crate::curve::HardnessAfterTemper;
use crate::error::Result;
use crate::oven::{biot_number, lost_hold_min, time_constant_s};
use crate::quantity::{Length, SteelConstant};

/// What the work asks for with this steel and schedule, beyond the usual.
pub(super) fn work(curve: &dyn HardnessAfterTemper, request: &Request, chosen: &Schedule) -> Result<Vec<String>> {
    let mut made = vec![cycles_caution(curve, chosen)];
    made.extend(request.bands.iter().filter_map(Band::practice));
    let late = match request.thickness {
        Some(thickness) => format!("; {}", heating_through(request, chosen, thickness)?),
        None => String::new(),
    };
    made.push(format!("start the clock when the part is at temperature, not when the display is{late}"));
    Ok(made)
}

/// How much of the hold a part put in cold loses, over the band of what is known of the heat transfer.
fn heating_through(request: &Request, chosen: &Schedule, thickness: Length) -> Result<String> {
    const ROOM_C: f64 = 20.0;
    const LUMPED_BELOW_BIOT: f64 = 0.1;
    // Heated on both faces, a plate has half its thickness of volume by area.
    let by_area_mm = 0.5 * thickness.mm();
    let (slow, _, fast) = request.surroundings.h_w_m2k();
    let around = request.surroundings.name();
    if biot_number(by_area_mm, fast)? >= LUMPED_BELOW_BIOT {
        return Ok(format!(
            "{} mm in {around} is thick enough for the core to lag behind the skin: measure in the core, or allow an hour \
             for each 25 mm (common practice, no source)",
            thickness.mm()
        ));
    }
    let lost = |h: f64| {
        let tau = time_constant_s(by_area_mm, h)?;
        let c = SteelConstant::for_hours(request.c.middle());
        lost_hold_min(tau, chosen.temperature.celsius(), ROOM_C, chosen.time.hours(), c)
    };
    Ok(format!(
        "put in cold, a plate of {} mm in {around} loses {:.0} to {:.0} min of the hold (h = {fast} to {slow} W/m²K, not \
         known better without a sensor beside the part)",
        thickness.mm(),
        lost(fast)?,
        lost(slow)?
    ))
}

pub(super) fn cycles_caution(curve: &dyn HardnessAfterTemper, chosen: &Schedule) -> String {
    if curve.has_secondary_hardening() && chosen.temperature.celsius() >= 450.0 {
        "cycles: in high-alloy steel retained austenite transforms on cooling from 500 to 600 °C and must be tempered \
         again, so two cycles at least, cooled to room temperature in between; the parameter says nothing about it"
            .to_owned()
    } else {
        "cycles: the parameter says nothing about retained austenite; in plain and low-alloy steel at about 200 °C a \
         second cycle is mostly insurance; cool to room temperature in between"
            .to_owned()
    }
}

pub(super) fn assumptions(curve: &dyn HardnessAfterTemper, forward: &Forward<'_>, request: &Request) -> Vec<String> {
    let mut made = vec![format!("curve: {}", curve.name()), request.unknowns.text()];
    let total = request.time.hours() * f64::from(request.cycles);
    if total == curve.reference_hold().hours() {
        made.push(curve.without_constant().into_owned());
    } else {
        made.push(request.c.text());
    }
    if request.cycles > 1 {
        made.push(format!("{} cycles count as one hold of {total} h: equal parameter, equal hardness", request.cycles));
    }
    made.extend(forward.assumptions());
    made.push("distortion, toughness, edge life and retained austenite are not in these numbers".to_owned());
    made
}

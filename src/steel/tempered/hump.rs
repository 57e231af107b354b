//! A hump that readings put into a curve where steel of the composition has none.

use super::posterior::Posterior;
use super::range::ends_c;
use super::readings::OwnReading;
use crate::error::Text;

/// Hardness that must come back before it is called secondary hardening, HRC.
pub(super) const HUMP: f64 = 0.5;

/// Steps in which a curve is walked along, °C.
const STEP_C: f64 = 10.0;

/// The most by which the hardness comes back on the way up: HRC, from which temperature, to which.
fn comes_back(of: &Posterior, hours: f64) -> (f64, f64, f64) {
    let (low, high) = ends_c();
    let steps = ((high - low) / STEP_C).ceil() as usize;
    let mut lowest = (low, f64::INFINITY);
    let mut most = (0.0, low, low);
    for step in 0..=steps {
        let celsius = low + (high - low) * step as f64 / steps as f64;
        let hrc = of.mean(celsius, hours);
        if hrc < lowest.1 {
            lowest = (celsius, hrc);
        } else if hrc - lowest.1 > most.0 {
            most = (hrc - lowest.1, lowest.0, celsius);
        }
    }
    most
}

/// What is to be said where the curve after what was measured rises by more than the composition lets it: along the two-hour
/// curve, and those of the shortest and the longest hold among the readings.
pub(super) fn hump(composition: &Posterior, measured: &Posterior, readings: &[OwnReading]) -> Option<Text> {
    let held = readings.iter().map(|reading| reading.time.hours());
    let (short, long) = held.fold((2.0f64, 2.0f64), |(short, long), hours| (short.min(hours), long.max(hours)));
    let mut holds = vec![short, 2.0, long];
    holds.dedup();
    let worst = holds
        .into_iter()
        .map(|hours| {
            let (rise, from, to) = comes_back(measured, hours);
            (rise - comes_back(composition, hours).0, rise, from, to, hours)
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))?;
    let (beyond, rise, from, to, hours) = worst;
    (beyond > HUMP).then(|| {
        let lets = rise - beyond;
        let expected = if lets < 0.05 { "none".to_owned() } else { format!("{lets:.1} HRC") };
        format!(
            "with what was measured the curve rises by {rise:.1} HRC from {from:.0} to {to:.0} °C ({hours} h), where the \
             composition lets expect {expected}: such steel has no such hump. Check the readings around there: their tempers, \
             which bar they are of, retained austenite"
        )
        .into()
    })
}

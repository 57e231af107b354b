//! The room's laws over arrays. One formula each, in base 2, used for a single number and for a million alike.

use std::f64::consts::{LN_10, LOG2_10, LOG10_2};

use super::equivalence::{
    MOLAR_GAS_CONSTANT, TWO_HOURS, equivalent_temperature, equivalent_time, implied_activation_energy,
};
use super::parameter::temper_parameter;
use crate::error::Result;
use crate::kernel::{ArrayModel, BLOCK, Column, Lane, dispatched, exp2_inside, log2, map1, map3, map4, spread};
use crate::quantity::{HoldTime, SteelConstant, Temperature, ZERO_CELSIUS_K};

/// Kelvin of a temperature that can be; NaN for one at or below absolute zero, or infinite.
#[inline(always)]
fn kelvin(celsius: f64) -> f64 {
    let kelvin = celsius + ZERO_CELSIUS_K;
    if kelvin > 0.0 && kelvin < f64::INFINITY { kelvin } else { f64::NAN }
}

/// M from °C, log2 of hours, and C.
#[inline(always)]
pub(super) fn parameter_of(celsius: f64, log2_hours: f64, c: f64) -> f64 {
    let m = kelvin(celsius) * (c + log2_hours * LOG10_2);
    if m.is_finite() { m } else { f64::NAN }
}

/// Hours at `new_celsius`: with q = (T1 − T2)/T2 the exponent is log2 t + q (log2 t + C log2 10), in which nothing of
/// the size of C cancels.
#[inline(always)]
pub(super) fn time_of(celsius: f64, log2_hours: f64, new_celsius: f64, c: f64) -> f64 {
    let q = (celsius - new_celsius) * (1.0 / kelvin(new_celsius));
    let exponent = log2_hours + q * (log2_hours + c * LOG2_10);
    let good = exponent > -1021.0 && exponent < 1024.0 && celsius > -ZERO_CELSIUS_K;
    if good { exp2_inside(exponent) } else { f64::NAN }
}

/// °C for a new time: T2 = T1 + T1 (log2 t1 − log2 t2)/(C log2 10 + log2 t2), exact for equal times.
#[inline(always)]
pub(super) fn temperature_of(celsius: f64, log2_hours: f64, new_log2_hours: f64, c: f64) -> f64 {
    let base = c * LOG2_10;
    let (from, to) = (base + log2_hours, base + new_log2_hours);
    let made = celsius + kelvin(celsius) * ((log2_hours - new_log2_hours) / to);
    if from > 0.0 && to > 0.0 && made.is_finite() { made } else { f64::NAN }
}

/// R ln 10 M in kJ/mol.
#[inline(always)]
pub(super) fn activation_of(parameter: f64) -> f64 {
    MOLAR_GAS_CONSTANT * LN_10 * 1e-3 * parameter
}

dispatched! {
    fn logarithms(out: &mut [f64], hours: &[f64]) {
        map1(out, hours, log2);
    }
}

dispatched! {
    fn parameters<A: Column, B: Column, C: Column>(out: &mut [f64], celsius: A, log2_hours: B, c: C) {
        map3(out, celsius, log2_hours, c, parameter_of);
    }
}

dispatched! {
    fn times<A: Column, B: Column, C: Column, D: Column>(
        out: &mut [f64], celsius: A, log2_hours: B, new_celsius: C, c: D,
    ) {
        map4(out, celsius, log2_hours, new_celsius, c, time_of);
    }
}

dispatched! {
    fn temperatures<A: Column, B: Column, C: Column, D: Column>(
        out: &mut [f64], celsius: A, log2_hours: B, new_log2_hours: C, c: D,
    ) {
        map4(out, celsius, log2_hours, new_log2_hours, c, temperature_of);
    }
}

/// log2 of a lane of hours: once for a single value, into the buffer for many.
fn log2_lane<'a>(hours: Lane<'a>, buffer: &'a mut [f64; BLOCK]) -> Lane<'a> {
    match hours {
        Lane::One(value) => Lane::One(log2(value)),
        Lane::Each(values) => {
            let part = &mut buffer[..values.len().min(BLOCK)];
            logarithms(part, values);
            Lane::Each(part)
        }
    }
}

/// Hands the lanes on block by block, so that what a block needs on the way stays in the nearest cache.
fn in_blocks<const N: usize>(
    arguments: &[Lane<'_>; N],
    out: &mut [f64],
    mut work: impl FnMut([Lane<'_>; N], &mut [f64]),
) {
    for (index, block) in out.chunks_mut(BLOCK).enumerate() {
        let start = index * BLOCK;
        let end = start + block.len();
        work(arguments.map(|lane| lane.part(start, end)), block);
    }
}

/// The lanes of a model that has `N` of them; anything else gets NaN.
fn exactly<'a, const N: usize>(arguments: &[Lane<'a>], out: &mut [f64]) -> Option<[Lane<'a>; N]> {
    let lanes = arguments.get(..N).and_then(|lanes| <[Lane<'a>; N]>::try_from(lanes).ok());
    if lanes.is_none() {
        out.fill(f64::NAN);
    }
    lanes
}

/// The tempering parameter over arrays: `temperature_c`, `time_h`, `c`.
#[derive(Debug, Clone, Copy)]
pub struct TemperParameter;

/// [`equivalent_time`] over arrays: `temperature_c`, `time_h`, `new_temperature_c`, `c`.
#[derive(Debug, Clone, Copy)]
pub struct EquivalentTime;

/// [`equivalent_temperature`] over arrays: `temperature_c`, `time_h`, `new_time_h`, `c`.
#[derive(Debug, Clone, Copy)]
pub struct EquivalentTemperature;

/// [`super::two_hour_equivalent`] over arrays: `temperature_c`, `time_h`, `c`.
#[derive(Debug, Clone, Copy)]
pub struct TwoHourEquivalent;

/// [`implied_activation_energy`] over arrays: `temperature_c`, `time_h`, `c`.
#[derive(Debug, Clone, Copy)]
pub struct ImpliedActivationEnergy;

impl TemperParameter {
    /// With buffers on the stack, apart from the path of a single number, which then needs none.
    #[inline(never)]
    fn fill_arrays(lanes: &[Lane<'_>; 3], out: &mut [f64]) {
        let mut buffers = [[0.0; BLOCK]; 4];
        in_blocks(lanes, out, |[celsius, hours, c], out| {
            let [a, b, d, e] = &mut buffers;
            match (celsius, log2_lane(hours, a), c) {
                (Lane::Each(celsius), Lane::One(log2_hours), Lane::One(c)) => parameters(out, celsius, log2_hours, c),
                (Lane::Each(celsius), Lane::Each(log2_hours), Lane::One(c)) => parameters(out, celsius, log2_hours, c),
                (celsius, log2_hours, c) => {
                    let length = out.len();
                    parameters(out, spread(celsius, b, length), spread(log2_hours, d, length), spread(c, e, length));
                }
            }
        });
    }
}

impl ArrayModel for TemperParameter {
    fn arguments(&self) -> &[&'static str] {
        &["temperature_c", "time_h", "c"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        let Some(lanes) = exactly(arguments, out) else { return };
        if let [Lane::One(celsius), Lane::One(hours), Lane::One(c)] = lanes {
            return out.fill(parameter_of(celsius, log2(hours), c));
        }
        Self::fill_arrays(&lanes, out);
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        let &[celsius, hours, c] = arguments else { return Ok(()) };
        temper_parameter(Temperature::from_celsius(celsius), HoldTime::from_hours(hours), SteelConstant::for_hours(c))
            .map(|_| ())
    }
}

impl EquivalentTime {
    /// With buffers on the stack, apart from the path of a single number, which then needs none.
    #[inline(never)]
    fn fill_arrays(lanes: &[Lane<'_>; 4], out: &mut [f64]) {
        let mut buffers = [[0.0; BLOCK]; 5];
        in_blocks(lanes, out, |[celsius, hours, new, c], out| {
            let [a, b, d, e, f] = &mut buffers;
            match (celsius, log2_lane(hours, a), new, c) {
                (Lane::Each(celsius), Lane::One(logs), Lane::One(new), Lane::One(c)) => {
                    times(out, celsius, logs, new, c)
                }
                (Lane::Each(celsius), Lane::Each(logs), Lane::One(new), Lane::One(c)) => {
                    times(out, celsius, logs, new, c);
                }
                (celsius, logs, new, c) => {
                    let n = out.len();
                    times(out, spread(celsius, b, n), spread(logs, d, n), spread(new, e, n), spread(c, f, n));
                }
            }
        });
    }
}

impl ArrayModel for EquivalentTime {
    fn arguments(&self) -> &[&'static str] {
        &["temperature_c", "time_h", "new_temperature_c", "c"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        let Some(lanes) = exactly(arguments, out) else { return };
        if let [Lane::One(celsius), Lane::One(hours), Lane::One(new), Lane::One(c)] = lanes {
            return out.fill(time_of(celsius, log2(hours), new, c));
        }
        Self::fill_arrays(&lanes, out);
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        let &[celsius, hours, new, c] = arguments else { return Ok(()) };
        equivalent_time(
            Temperature::from_celsius(celsius),
            HoldTime::from_hours(hours),
            Temperature::from_celsius(new),
            SteelConstant::for_hours(c),
        )
        .map(|_| ())
    }
}

impl EquivalentTemperature {
    /// With buffers on the stack, apart from the path of a single number, which then needs none.
    #[inline(never)]
    fn fill_arrays(lanes: &[Lane<'_>; 4], out: &mut [f64]) {
        let mut buffers = [[0.0; BLOCK]; 6];
        in_blocks(lanes, out, |[celsius, hours, new, c], out| {
            let [a, b, d, e, f, g] = &mut buffers;
            match (celsius, log2_lane(hours, a), log2_lane(new, b), c) {
                (Lane::Each(celsius), Lane::One(logs), Lane::One(new), Lane::One(c)) => {
                    temperatures(out, celsius, logs, new, c);
                }
                (Lane::Each(celsius), Lane::Each(logs), Lane::One(new), Lane::One(c)) => {
                    temperatures(out, celsius, logs, new, c);
                }
                (celsius, logs, new, c) => {
                    let n = out.len();
                    temperatures(out, spread(celsius, d, n), spread(logs, e, n), spread(new, f, n), spread(c, g, n));
                }
            }
        });
    }
}

impl ArrayModel for EquivalentTemperature {
    fn arguments(&self) -> &[&'static str] {
        &["temperature_c", "time_h", "new_time_h", "c"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        let Some(lanes) = exactly(arguments, out) else { return };
        if let [Lane::One(celsius), Lane::One(hours), Lane::One(new), Lane::One(c)] = lanes {
            return out.fill(temperature_of(celsius, log2(hours), log2(new), c));
        }
        Self::fill_arrays(&lanes, out);
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        let &[celsius, hours, new, c] = arguments else { return Ok(()) };
        equivalent_temperature(
            Temperature::from_celsius(celsius),
            HoldTime::from_hours(hours),
            HoldTime::from_hours(new),
            SteelConstant::for_hours(c),
        )
        .map(|_| ())
    }
}

impl ArrayModel for TwoHourEquivalent {
    fn arguments(&self) -> &[&'static str] {
        &["temperature_c", "time_h", "c"]
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        let &[temperature, time, c] = arguments else { return out.fill(f64::NAN) };
        EquivalentTemperature.fill(&[temperature, time, Lane::One(TWO_HOURS.hours()), c], out);
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        let &[temperature, time, c] = arguments else { return Ok(()) };
        EquivalentTemperature.explain(&[temperature, time, TWO_HOURS.hours(), c])
    }
}

impl ArrayModel for ImpliedActivationEnergy {
    fn arguments(&self) -> &[&'static str] {
        TemperParameter.arguments()
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        TemperParameter.fill(arguments, out);
        for value in out {
            *value = activation_of(*value);
        }
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        let &[celsius, hours, c] = arguments else { return Ok(()) };
        implied_activation_energy(
            Temperature::from_celsius(celsius),
            HoldTime::from_hours(hours),
            SteelConstant::for_hours(c),
        )
        .map(|_| ())
    }
}

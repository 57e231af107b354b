//! The rival rule: one fixed activation energy instead of the parameter.

use super::equivalence::MOLAR_GAS_CONSTANT;
use super::parameter::check_temperature;
use crate::error::{Error, Result};
use crate::quantity::{HoldTime, Temperature, ZERO_CELSIUS_K};
use crate::record::{ModelRecord, Origin, Scatter, Source, check_finite};

/// The record of the fixed-activation rule.
pub static FIXED_ACTIVATION: ModelRecord = ModelRecord {
    id: "temper.fixed_activation",
    gives: "hours at a reference temperature by one fixed activation energy",
    unit: "h",
    formula: "t = ∫ exp(-(Q/R)(1/T - 1/Tref)) dt, T in K",
    ranges: &[],
    scatter: Scatter::NotStated,
    sources: &[Source {
        cite: "Arrhenius rate law; R = 8.314462618 J/(mol K), SI (2019)",
        at: "definition",
        origin: Origin::Definition,
    }],
    errata: &[],
    not_for: "reading it as better than the parameter: anchored at the plan it differs by degrees on an overshoot; show both",
};

const ID: &str = FIXED_ACTIVATION.id;

/// Five-point Gauss-Legendre on [0, 1]: abscissae and weights (Abramowitz & Stegun, table 25.4).
const GAUSS: [(f64, f64); 5] = [
    (0.046_910_077_030_668, 0.118_463_442_528_095),
    (0.230_765_344_947_158, 0.239_314_335_249_683),
    (0.5, 0.284_444_444_444_444),
    (0.769_234_655_052_842, 0.239_314_335_249_683),
    (0.953_089_922_969_332, 0.118_463_442_528_095),
];

/// The hours at `reference` that a trace of straight lines is worth by one activation energy in kJ/mol.
///
/// # Errors
/// [`Error::InvalidValue`] for an energy that is not positive, values that are not finite, time running backwards,
/// temperatures at or below absolute zero; [`Error::Refused`] for a trace of fewer than two samples or of unequal lengths.
pub fn equivalent_time_activation(
    time_s: &[f64],
    temperature_c: &[f64],
    activation_energy_kj_mol: f64,
    reference: Temperature,
) -> Result<HoldTime> {
    if time_s.len() != temperature_c.len() || time_s.len() < 2 {
        return Err(Error::Refused {
            what: "a trace".into(),
            why: format!("it has {} times and {} temperatures", time_s.len(), temperature_c.len()).into(),
            instead: "Give at least two samples, as many times as temperatures".into(),
        });
    }
    check_temperature(ID, "reference_c", reference.celsius())?;
    if !(activation_energy_kj_mol > 0.0 && activation_energy_kj_mol.is_finite()) {
        return Err(Error::invalid(
            ID,
            "activation_energy_kj_mol",
            (activation_energy_kj_mol, "kJ/mol"),
            "is not a positive energy",
            "Take implied_activation_energy of a hold, or a measured one",
        ));
    }
    let scale = activation_energy_kj_mol * 1e3 / MOLAR_GAS_CONSTANT;
    let rate = |kelvin: f64| (-scale * (kelvin.recip() - reference.kelvin().recip())).exp();
    let mut seconds = 0.0;
    for (times, celsius) in time_s.windows(2).zip(temperature_c.windows(2)) {
        let (&[t0, t1], &[c0, c1]) = (times, celsius) else { continue };
        for value in [c0, c1] {
            check_temperature(ID, "temperature_c", value)?;
        }
        for value in [t0, t1] {
            check_finite(ID, "time_s", "s", value)?;
        }
        if t1 < t0 || [t0, t1, c0, c1].iter().any(|value| value.is_nan()) {
            return Err(Error::invalid(
                ID,
                "time_s",
                (t1, "s"),
                "does not follow the sample before it",
                "Sort by elapsed time and leave missing samples out",
            ));
        }
        // Pieces of at most 5 K: ten digits with five points each.
        let pieces = ((c1 - c0).abs() / 5.0).ceil().clamp(1.0, 1e4);
        let from = Temperature::from_celsius(c0).kelvin();
        let mean: f64 = (0..pieces as usize)
            .flat_map(|piece| GAUSS.map(|(x, weight)| (piece as f64 + x, weight)))
            .map(|(place, weight)| weight * rate(from + (c1 - c0) * place / pieces))
            .sum::<f64>()
            / pieces;
        seconds += mean * (t1 - t0);
    }
    if !seconds.is_finite() {
        return Err(Error::NoAnswer {
            model: ID.into(),
            asked: format!("{activation_energy_kj_mol} kJ/mol at {} °C", reference.celsius()).into(),
            why: "the equivalent time is beyond all numbers".into(),
            hint: "Tempering has 100 to 300 kJ/mol: check the unit, and take a reference near the trace".into(),
        });
    }
    Ok(HoldTime::from_seconds(seconds))
}

/// The mean kinetic temperature: the flat one at which a process of one activation energy goes on as fast as it does on
/// average over these temperatures, each for its share of the time (none: even shares).
///
/// T = (Q/R) / −ln(Σ w exp(−Q/(R Tᵢ)) / Σ w), T in K.
///
/// # Errors
/// [`Error::InvalidValue`] for an energy or a weight that is not positive, for temperatures at or below absolute zero or
/// not finite; [`Error::Refused`] for none of them, or as many weights as do not match.
///
/// ```
/// let mkt = afterquench::temper::mean_kinetic_temperature(&[20.0, 25.0, 30.0], None, 83.144).unwrap();
/// assert!((mkt.celsius() - 25.858).abs() < 1e-3);
/// ```
pub fn mean_kinetic_temperature(
    temperature_c: &[f64],
    weights: Option<&[f64]>,
    activation_energy_kj_mol: f64,
) -> Result<Temperature> {
    let n = temperature_c.len();
    if n == 0 || weights.is_some_and(|weights| weights.len() != n) {
        return Err(Error::Refused {
            what: "a mean kinetic temperature".into(),
            why: format!("there are {n} temperatures and {} weights", weights.map_or(0, <[f64]>::len)).into(),
            instead: "Give temperatures, and a weight for each or none at all".into(),
        });
    }
    let invalid = |argument: &'static str, value: f64, unit: &'static str, why: &'static str| {
        Error::invalid(
            ID,
            argument,
            (value, unit),
            why,
            "Give finite temperatures in °C, and positive weights and energies",
        )
    };
    if !(activation_energy_kj_mol > 0.0 && activation_energy_kj_mol.is_finite()) {
        return Err(invalid(
            "activation_energy_kj_mol",
            activation_energy_kj_mol,
            "kJ/mol",
            "is not a positive energy",
        ));
    }
    let scale = activation_energy_kj_mol * 1e3 / MOLAR_GAS_CONSTANT;
    let hottest = temperature_c.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let top = Temperature::from_celsius(hottest).kelvin();
    let (mut sum, mut all) = (0.0, 0.0);
    for (index, &celsius) in temperature_c.iter().enumerate() {
        let weight = weights.and_then(|weights| weights.get(index)).copied().unwrap_or(1.0);
        if celsius.is_nan() {
            return Err(invalid("temperature_c", celsius, "°C", "is no temperature"));
        }
        check_temperature(ID, "temperature_c", celsius)?;
        if !(weight > 0.0 && weight.is_finite()) {
            return Err(invalid("weights", weight, "", "is not positive"));
        }
        // Against the hottest one: the exponentials themselves vanish below room temperature.
        sum += weight * (-scale * (Temperature::from_celsius(celsius).kelvin().recip() - top.recip())).exp();
        all += weight;
    }
    let kelvin = (top.recip() - (sum / all).ln() / scale).recip();
    Ok(Temperature::from_celsius(kelvin - ZERO_CELSIUS_K))
}

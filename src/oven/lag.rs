//! How late the steel is: a lumped body in air, and what that does to ramps, swings, dips and the clock.

use crate::error::{Error, Result};
use crate::kernel::{ArrayModel, Lane};
use crate::quantity::{SteelConstant, Temperature, ZERO_CELSIUS_K};
use crate::record::{ModelRecord, Origin, Scatter, Source, ValidRange, check_finite};
use crate::temper::History;

/// Density times specific heat of hardened steel, J/m³K: 7850 kg/m³ · 500 J/kgK, between 150 and 250 °C.
const HEAT_CAPACITY_J_M3K: f64 = 3.925e6;
/// Density of steel, kg/m³.
const DENSITY_KG_M3: f64 = 7850.0;
/// Conductivity of hardened high-carbon steel, pessimistic, W/mK.
pub(super) const CONDUCTIVITY_W_MK: f64 = 30.0;
/// Above this Biot number a body is not at one temperature.
pub(super) const LARGEST_BIOT: f64 = 0.1;
/// Stefan–Boltzmann constant, W/m²K⁴ (CODATA 2018).
const STEFAN_BOLTZMANN: f64 = 5.670_374_419e-8;

const LUMPED: Source = Source {
    cite: "lumped heat capacity, any heat transfer textbook",
    at: "T = T_air + (T_0 - T_air) exp(-t/tau), tau = rho c (V/A) / h, for Bi < 0.1",
    origin: Origin::FromMemory,
};

/// What is around the part, and with it the heat transfer coefficient.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Surroundings {
    /// An oven without a fan.
    StillAir,
    /// An oven with a fan.
    FanAir,
    /// Packed in hot sand.
    Sand,
    /// An oil bath.
    Oil,
    /// A salt bath.
    Salt,
}

impl Surroundings {
    /// All of them.
    pub const ALL: [Self; 5] = [Self::StillAir, Self::FanAir, Self::Sand, Self::Oil, Self::Salt];

    /// Its name in Python.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::StillAir => "still air",
            Self::FanAir => "fan air",
            Self::Sand => "sand",
            Self::Oil => "oil",
            Self::Salt => "salt",
        }
    }

    /// From its name.
    ///
    /// # Errors
    /// [`Error::UnknownName`].
    pub fn named(name: &str) -> Result<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name).ok_or_else(|| Error::UnknownName {
            kind: "surroundings".into(),
            name: name.to_owned(),
            close: Self::ALL.iter().map(|kind| kind.name().to_owned()).collect(),
            hint: "Or give h_w_m2k, a heat transfer coefficient of your own".into(),
        })
    }

    /// Heat transfer coefficient in W/m²K: low, likely, high. An assumption: nobody's oven is known better than to a
    /// factor of two without a probe beside the part. Air from practice, the baths from memory.
    #[must_use]
    pub const fn h_w_m2k(self) -> (f64, f64, f64) {
        match self {
            Self::StillAir => (8.0, 13.0, 20.0),
            Self::FanAir => (20.0, 35.0, 60.0),
            Self::Sand => (20.0, 50.0, 120.0),
            Self::Oil => (80.0, 200.0, 500.0),
            Self::Salt => (200.0, 500.0, 1200.0),
        }
    }
}

/// The record of [`time_constant_s`].
pub static TIME_CONSTANT: ModelRecord = ModelRecord {
    id: "oven.time_constant",
    gives: "time constant of a part in its surroundings",
    unit: "s",
    formula: "tau = rho c (V/A) / h with rho c = 3.925e6 J/m3K",
    ranges: &[],
    scatter: Scatter::NotStated,
    sources: &[LUMPED],
    errata: &["h is known to a factor of two at best; it rules the uncertainty"],
    not_for: "parts of Biot number above 0.1",
};

/// The record of [`biot_number`].
pub static BIOT_NUMBER: ModelRecord = ModelRecord {
    id: "oven.biot_number",
    gives: "Biot number: inner against outer resistance to heat",
    unit: "",
    formula: "Bi = h (V/A) / k with k = 30 W/mK, pessimistic for hardened high-carbon steel",
    ranges: &[],
    scatter: Scatter::Exact,
    sources: &[LUMPED],
    errata: &[],
    not_for: "saying how late a part is: that is the time constant",
};

/// The record of [`time_to_within_s`].
pub static TIME_TO_WITHIN: ModelRecord = ModelRecord {
    id: "oven.time_to_within",
    gives: "time until a cold part in a steady oven is within some degrees of it",
    unit: "s",
    formula: "t = integral of rho c(T) (V/A) / (h (T_oven - T)) dT; c constant, or 425 + 0.773 T - 1.69e-3 T^2 + \
              2.22e-6 T^3 J/kgK",
    ranges: &[
        ValidRange {
            argument: "start_c",
            unit: "°C",
            low: 0.0,
            high: 600.0,
            stated_by: "EN 1993-1-2, branch of c(T) below 600 °C",
        },
        ValidRange {
            argument: "oven_c",
            unit: "°C",
            low: 20.0,
            high: 600.0,
            stated_by: "EN 1993-1-2, branch of c(T) below 600 °C",
        },
    ],
    scatter: Scatter::NotStated,
    sources: &[
        LUMPED,
        Source {
            cite: "EN 1993-1-2:2005, Eurocode 3, structural fire design",
            at: "eq. 3.2a, specific heat of carbon steel",
            origin: Origin::Printed,
        },
    ],
    errata: &["c(T) is for carbon steel; hardened tool steel differs by a few percent"],
    not_for: "parts of Biot number above 0.1",
};

/// The record of [`lost_hold_min`].
pub static LOST_HOLD: ModelRecord = ModelRecord {
    id: "oven.lost_hold",
    gives: "minutes of hold lost while a cold part heats in a steady oven",
    unit: "min",
    formula: "hold minus the time at oven temperature that does what the lumped response does",
    ranges: &[],
    scatter: Scatter::NotStated,
    sources: &[LUMPED],
    errata: &["about 3.4 time constants for C = 20 and 3.1 for C = 15"],
    not_for: "ovens that are still heating",
};

/// The record of [`swing_amplitude_delta_c`].
pub static SWING_AMPLITUDE: ModelRecord = ModelRecord {
    id: "oven.swing_amplitude",
    gives: "what a part follows of a swing of the air",
    unit: "°C",
    formula: "A / sqrt(1 + (2 pi tau / period)^2)",
    ranges: &[],
    scatter: Scatter::Exact,
    sources: &[Source { cite: "first-order linear system", at: "its frequency response", origin: Origin::Definition }],
    errata: &[],
    not_for: "parts of Biot number above 0.1, or swings that are no sine",
};

/// The record of [`dip_delta_c`].
pub static DIP: ModelRecord = ModelRecord {
    id: "oven.dip",
    gives: "dip of a part when the air drops for a while, as behind an open door",
    unit: "°C",
    formula: "drop (1 - exp(-duration / tau))",
    ranges: &[],
    scatter: Scatter::Exact,
    sources: &[Source { cite: "first-order linear system", at: "its step response", origin: Origin::Definition }],
    errata: &["a square dip of the air; a real one is smaller"],
    not_for: "parts of Biot number above 0.1",
};

/// The record of [`radiation_offset_delta_c`].
pub static RADIATION_OFFSET: ModelRecord = ModelRecord {
    id: "oven.radiation_offset",
    gives: "how much hotter than the air a part gets that sees a glowing element on one side",
    unit: "°C",
    formula: "emissivity * view_factor * sigma (T_element^4 - T_part^4) / (2 h), T in K, part at air temperature",
    ranges: &[
        ValidRange {
            argument: "view_factor",
            unit: "",
            low: 0.0,
            high: 1.0,
            stated_by: "the meaning of a view factor",
        },
        ValidRange { argument: "emissivity", unit: "", low: 0.0, high: 1.0, stated_by: "the meaning of an emissivity" },
    ],
    scatter: Scatter::NotStated,
    sources: &[Source {
        cite: "Stefan-Boltzmann law",
        at: "linearised: both faces lose by h",
        origin: Origin::FromMemory,
    }],
    errata: &["an upper side where the rise is large: the part then radiates more itself"],
    not_for: "a part that is hotter than its air already, or shielded",
};

/// A formula of a few numbers over arrays.
#[derive(Debug, Clone, Copy)]
pub struct Formula<const N: usize> {
    names: [&'static str; N],
    function: fn([f64; N]) -> Result<f64>,
}

impl<const N: usize> Formula<N> {
    /// A formula by the names of its arguments.
    pub(super) const fn new(names: [&'static str; N], function: fn([f64; N]) -> Result<f64>) -> Self {
        Self { names, function }
    }
}

impl<const N: usize> ArrayModel for Formula<N> {
    fn arguments(&self) -> &[&'static str] {
        &self.names
    }

    fn fill(&self, arguments: &[Lane<'_>], out: &mut [f64]) {
        for (index, out) in out.iter_mut().enumerate() {
            let mut values = [f64::NAN; N];
            for (value, lane) in values.iter_mut().zip(arguments) {
                *value = lane.at(index);
            }
            *out = if values.iter().any(|value| value.is_nan()) {
                f64::NAN
            } else {
                (self.function)(values).unwrap_or(f64::NAN)
            };
        }
    }

    fn explain(&self, arguments: &[f64]) -> Result<()> {
        let mut values = [f64::NAN; N];
        values.iter_mut().zip(arguments).for_each(|(value, given)| *value = *given);
        (self.function)(values).map(|_| ())
    }
}

/// Volume by heated area of a plate by its thickness, or of a round bar by its diameter.
const fn volume_by_area<const ROUND: bool>(size_mm: f64) -> f64 {
    if ROUND { 0.25 * size_mm } else { 0.5 * size_mm }
}

const fn size_name<const ROUND: bool>() -> &'static str {
    if ROUND { "diameter_mm" } else { "thickness_mm" }
}

/// An error about the volume by area, told of the size that the caller gave.
fn of_size<const ROUND: bool>(result: Result<f64>) -> Result<f64> {
    result.map_err(|mut error| {
        if let Error::InvalidValue { argument, value, .. } = &mut error {
            if argument == "volume_by_area_mm" {
                *argument = size_name::<ROUND>().into();
                *value /= volume_by_area::<ROUND>(1.0);
            }
        }
        error
    })
}

/// [`time_constant_s`] over arrays of size and h.
#[must_use]
pub const fn time_constant_over<const ROUND: bool>() -> Formula<2> {
    Formula {
        names: [size_name::<ROUND>(), "h_w_m2k"],
        function: |[size, h]| of_size::<ROUND>(time_constant_s(volume_by_area::<ROUND>(size), h)),
    }
}

/// [`biot_number`] over arrays of size and h.
#[must_use]
pub const fn biot_number_over<const ROUND: bool>() -> Formula<2> {
    Formula {
        names: [size_name::<ROUND>(), "h_w_m2k"],
        function: |[size, h]| of_size::<ROUND>(biot_number(volume_by_area::<ROUND>(size), h)),
    }
}

/// [`time_to_within_s`] over arrays; with the heat capacity of EN 1993-1-2, or a constant one.
#[must_use]
pub const fn time_to_within_over<const ROUND: bool, const EN: bool>() -> Formula<5> {
    Formula {
        names: [size_name::<ROUND>(), "h_w_m2k", "start_c", "oven_c", "within_delta_c"],
        function: |[size, h, start, oven, within]| {
            let capacity = if EN { HeatCapacity::En1993 } else { HeatCapacity::Constant };
            of_size::<ROUND>(time_to_within_s(volume_by_area::<ROUND>(size), h, start, oven, within, capacity))
        },
    }
}

/// [`lost_hold_min`] over arrays.
pub const LOST_HOLD_OVER: Formula<5> = Formula {
    names: ["time_constant_s", "oven_c", "start_c", "hold_h", "c"],
    function: |[tau, oven, start, hold, c]| lost_hold_min(tau, oven, start, hold, SteelConstant::for_hours(c)),
};
/// [`swing_amplitude_delta_c`] over arrays.
pub const SWING_OVER: Formula<3> = Formula {
    names: ["air_amplitude_delta_c", "period_s", "time_constant_s"],
    function: |[amplitude, period, tau]| swing_amplitude_delta_c(amplitude, period, tau),
};
/// [`dip_delta_c`] over arrays.
pub const DIP_OVER: Formula<3> = Formula {
    names: ["air_drop_delta_c", "duration_s", "time_constant_s"],
    function: |[drop, duration, tau]| dip_delta_c(drop, duration, tau),
};
/// [`radiation_offset_delta_c`] over arrays.
pub const RADIATION_OVER: Formula<5> = Formula {
    names: ["element_c", "part_c", "view_factor", "emissivity", "h_w_m2k"],
    function: |[element, part, view, emissivity, h]| radiation_offset_delta_c(element, part, view, emissivity, h),
};

fn positive(record: &'static ModelRecord, argument: &'static str, unit: &'static str, value: f64) -> Result<()> {
    check_finite(record.id, argument, unit, value)?;
    if value <= 0.0 {
        return Err(Error::InvalidValue {
            model: record.id.into(),
            argument: argument.into(),
            value,
            unit: unit.into(),
            why: "is not positive".into(),
            failed: 1,
            of: 1,
            hint: "Check the unit, which is the last part of the argument's name".into(),
        });
    }
    Ok(())
}

/// Time constant of a part in s, from its volume by wetted area in mm and h in W/m²K.
///
/// A plate heated on both faces has half its thickness, a round bar a quarter of its diameter.
///
/// # Errors
/// [`Error::InvalidValue`] unless both are positive and finite.
///
/// ```
/// let tau = afterquench::oven::time_constant_s(1.5, 35.0).unwrap();
/// assert!((tau - 168.2).abs() < 0.1);
/// ```
pub fn time_constant_s(volume_by_area_mm: f64, h_w_m2k: f64) -> Result<f64> {
    positive(&TIME_CONSTANT, "volume_by_area_mm", "mm", volume_by_area_mm)?;
    positive(&TIME_CONSTANT, "h_w_m2k", "W/m2K", h_w_m2k)?;
    Ok(HEAT_CAPACITY_J_M3K * volume_by_area_mm * 1e-3 / h_w_m2k)
}

/// Biot number of a part: below 0.1 it is at one temperature.
///
/// # Errors
/// As [`time_constant_s`].
pub fn biot_number(volume_by_area_mm: f64, h_w_m2k: f64) -> Result<f64> {
    positive(&BIOT_NUMBER, "volume_by_area_mm", "mm", volume_by_area_mm)?;
    positive(&BIOT_NUMBER, "h_w_m2k", "W/m2K", h_w_m2k)?;
    Ok(h_w_m2k * volume_by_area_mm * 1e-3 / CONDUCTIVITY_W_MK)
}

/// How the heat capacity goes with temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum HeatCapacity {
    /// 3.925e6 J/m³K.
    #[default]
    Constant,
    /// 7850 kg/m³ times the specific heat of EN 1993-1-2, eq. 3.2a.
    En1993,
}

/// EN 1993-1-2:2005, eq. 3.2a: coefficients of T⁰ to T³ in J/kgK.
const EN_SPECIFIC_HEAT: [f64; 4] = [425.0, 7.73e-1, -1.69e-3, 2.22e-6];

/// Seconds until a part put cold into a steady oven is within `within_delta_c` of it.
///
/// # Errors
/// [`Error::InvalidValue`] for sizes that are not positive, [`Error::OutOfRange`] outside 0 to 600 °C,
/// [`Error::Refused`] for a part whose Biot number is above 0.1.
///
/// ```
/// use afterquench::oven::{HeatCapacity, time_to_within_s};
/// let s = time_to_within_s(1.5, 25.0, 20.0, 200.0, 5.0, HeatCapacity::En1993).unwrap();
/// assert!((s - 859.43).abs() < 0.01);
/// ```
pub fn time_to_within_s(
    volume_by_area_mm: f64,
    h_w_m2k: f64,
    start_c: f64,
    oven_c: f64,
    within_delta_c: f64,
    heat_capacity: HeatCapacity,
) -> Result<f64> {
    TIME_TO_WITHIN.check("start_c", start_c)?;
    TIME_TO_WITHIN.check("oven_c", oven_c)?;
    positive(&TIME_TO_WITHIN, "within_delta_c", "°C", within_delta_c)?;
    let tau = time_constant_s(volume_by_area_mm, h_w_m2k)?;
    lumped(biot_number(volume_by_area_mm, h_w_m2k)?)?;
    if oven_c - start_c <= within_delta_c {
        return Ok(0.0);
    }
    let goal = oven_c - within_delta_c;
    let times = ((oven_c - start_c) / within_delta_c).ln();
    if heat_capacity == HeatCapacity::Constant {
        return Ok(tau * times);
    }
    // c(T)/(a - T) = c(a)/(a - T) - q(T) with q the polynomial quotient, so the integral is closed.
    let [c0, c1, c2, c3] = EN_SPECIFIC_HEAT;
    let a = oven_c;
    let at_oven = c0 + a * (c1 + a * (c2 + a * c3));
    let quotient = |t: f64| t * (c1 + a * c2 + a * a * c3) + t * t * 0.5 * (c2 + a * c3) + t * t * t * c3 / 3.0;
    let heat = at_oven * times - (quotient(goal) - quotient(start_c));
    Ok(DENSITY_KG_M3 * volume_by_area_mm * 1e-3 / h_w_m2k * heat)
}

/// Refuses a part that is not at one temperature.
pub(super) fn lumped(biot: f64) -> Result<()> {
    if biot < LARGEST_BIOT {
        return Ok(());
    }
    Err(Error::Refused {
        what: "a part at one temperature".into(),
        why: format!("its Biot number is {biot:.2}, and above {LARGEST_BIOT} the core lags behind the skin").into(),
        instead: "Measure in the core with a thermocouple, or allow at least an hour for each 25 mm of section (common practice, no source)".into(),
    })
}

/// Minutes of a hold that are lost while the part heats from `start_c` in a steady oven.
///
/// # Errors
/// [`Error::InvalidValue`] for a time constant or a hold that is not positive, for temperatures that can't be, or for a
/// part that is hotter than its oven.
///
/// ```
/// use afterquench::{SteelConstant, oven::lost_hold_min};
/// let lost = lost_hold_min(168.2, 200.0, 20.0, 3.0, SteelConstant::for_hours(20.0)).unwrap();
/// assert!((lost - 9.5).abs() < 0.1);
/// ```
pub fn lost_hold_min(time_constant_s: f64, oven_c: f64, start_c: f64, hold_h: f64, c: SteelConstant) -> Result<f64> {
    positive(&LOST_HOLD, "time_constant_s", "s", time_constant_s)?;
    positive(&LOST_HOLD, "hold_h", "h", hold_h)?;
    if start_c > oven_c {
        return Err(Error::InvalidValue {
            model: LOST_HOLD.id.into(),
            argument: "start_c".into(),
            value: start_c,
            unit: "°C".into(),
            why: format!("is hotter than the oven at {oven_c} °C: a part that cools into its hold loses none").into(),
            failed: 1,
            of: 1,
            hint: "Check the order of oven_c and start_c; for a part that cools, give its trace to accumulate".into(),
        });
    }
    let end = hold_h * 3600.0;
    // Even steps of a twentieth of the time constant while it matters, then straight on.
    let steps = (20.0 * (end / time_constant_s).min(25.0)).ceil().max(2.0);
    let last = end.min(25.0 * time_constant_s);
    let mut seconds: Vec<f64> = (0..=steps as u32).map(|i| last * f64::from(i) / steps).collect();
    if last < end {
        seconds.push(end);
    }
    let mut history = History::for_constants(&[c.hours()])?;
    for time in seconds {
        let celsius = oven_c + (start_c - oven_c) * (-time / time_constant_s).exp();
        history.push(time, Temperature::from_celsius(celsius))?;
    }
    let equivalent = history.equivalent_times(Temperature::from_celsius(oven_c))?;
    Ok(60.0 * (hold_h - equivalent.first().map_or(0.0, |time| time.hours())))
}

/// Amplitude with which a part follows a swing of the air.
///
/// # Errors
/// [`Error::InvalidValue`] unless period and time constant are positive.
///
/// ```
/// let part = afterquench::oven::swing_amplitude_delta_c(15.0, 600.0, 168.214).unwrap();
/// assert!((part - 7.406).abs() < 1e-3);
/// ```
pub fn swing_amplitude_delta_c(air_amplitude_delta_c: f64, period_s: f64, time_constant_s: f64) -> Result<f64> {
    check_finite(SWING_AMPLITUDE.id, "air_amplitude_delta_c", "°C", air_amplitude_delta_c)?;
    positive(&SWING_AMPLITUDE, "period_s", "s", period_s)?;
    positive(&SWING_AMPLITUDE, "time_constant_s", "s", time_constant_s)?;
    Ok(air_amplitude_delta_c / (1.0f64).hypot(std::f64::consts::TAU * time_constant_s / period_s))
}

/// How far a part dips when the air drops for some seconds.
///
/// # Errors
/// [`Error::InvalidValue`] unless duration and time constant are positive.
pub fn dip_delta_c(air_drop_delta_c: f64, duration_s: f64, time_constant_s: f64) -> Result<f64> {
    check_finite(DIP.id, "air_drop_delta_c", "°C", air_drop_delta_c)?;
    positive(&DIP, "duration_s", "s", duration_s)?;
    positive(&DIP, "time_constant_s", "s", time_constant_s)?;
    Ok(air_drop_delta_c * -(-duration_s / time_constant_s).exp_m1())
}

/// How much hotter than the air a flat part gets that sees an element on one side and loses heat by h on both.
///
/// # Errors
/// [`Error::OutOfRange`] for a view factor or emissivity outside 0 to 1, [`Error::InvalidValue`] for the rest.
///
/// ```
/// let hotter = afterquench::oven::radiation_offset_delta_c(500.0, 200.0, 0.05, 0.8, 35.0).unwrap();
/// assert!((hotter - 9.95).abs() < 0.01);
/// ```
pub fn radiation_offset_delta_c(
    element_c: f64,
    part_c: f64,
    view_factor: f64,
    emissivity: f64,
    h_w_m2k: f64,
) -> Result<f64> {
    RADIATION_OFFSET.check("view_factor", view_factor)?;
    RADIATION_OFFSET.check("emissivity", emissivity)?;
    positive(&RADIATION_OFFSET, "h_w_m2k", "W/m2K", h_w_m2k)?;
    let kelvin = |argument: &'static str, celsius: f64| -> Result<f64> {
        check_finite(RADIATION_OFFSET.id, argument, "°C", celsius)?;
        positive(&RADIATION_OFFSET, argument, "K", celsius + ZERO_CELSIUS_K)?;
        Ok(celsius + ZERO_CELSIUS_K)
    };
    let (element, part) = (kelvin("element_c", element_c)?, kelvin("part_c", part_c)?);
    Ok(emissivity * view_factor * STEFAN_BOLTZMANN * (element.powi(4) - part.powi(4)) / (2.0 * h_w_m2k))
}

//! What heat needs to know of steel: density, specific heat and conductivity, constant or by EN 1993-1-2.

use super::formula::Formula;
use crate::error::Result;
use crate::record::{ModelRecord, Origin, Scatter, Source, ValidRange};

/// Density of steel, kg/m³.
pub(super) const DENSITY_KG_M3: f64 = 7850.0;
/// Specific heat of hardened steel between 150 and 250 °C, J/kgK.
const SPECIFIC_HEAT_J_KGK: f64 = 500.0;
/// Density times specific heat of hardened steel, J/m³K.
pub(super) const HEAT_CAPACITY_J_M3K: f64 = DENSITY_KG_M3 * SPECIFIC_HEAT_J_KGK;
/// Conductivity of hardened high-carbon steel, pessimistic, W/mK.
pub(super) const CONDUCTIVITY_W_MK: f64 = 30.0;

/// EN 1993-1-2:2005, eq. 3.2a: coefficients of T⁰ to T³ in J/kgK, below 600 °C.
pub(super) const EN_SPECIFIC_HEAT: [f64; 4] = [425.0, 7.73e-1, -1.69e-3, 2.22e-6];

const EN_RANGE: ValidRange =
    ValidRange {
        argument: "temperature_c", unit: "°C", low: 20.0, high: 1200.0, stated_by: "EN 1993-1-2:2005, 3.4.1"
    };

/// The record of [`specific_heat_j_kgk`].
pub static SPECIFIC_HEAT: ModelRecord = ModelRecord {
    id: "oven.specific_heat",
    gives: "specific heat of carbon steel",
    unit: "J/kgK",
    formula: "425 + 0.773 T - 1.69e-3 T^2 + 2.22e-6 T^3 below 600 °C; 666 + 13002/(738 - T) below 735; \
              545 + 17820/(T - 731) below 900; 650 above",
    ranges: &[EN_RANGE],
    scatter: Scatter::NotStated,
    sources: &[Source {
        cite: "EN 1993-1-2:2005, Eurocode 3, structural fire design",
        at: "eq. 3.2a to 3.2d",
        origin: Origin::Printed,
    }],
    errata: &["at 600 °C the two branches differ by 0.3 J/kgK; the second holds there"],
    not_for: "hardened tool steel to better than a few percent",
};

/// The record of [`conductivity_w_mk`].
pub static CONDUCTIVITY: ModelRecord = ModelRecord {
    id: "oven.conductivity",
    gives: "thermal conductivity of carbon steel",
    unit: "W/mK",
    formula: "54 - 3.33e-2 T below 800 °C, 27.3 above",
    ranges: &[EN_RANGE],
    scatter: Scatter::NotStated,
    sources: &[Source {
        cite: "EN 1993-1-2:2005, Eurocode 3, structural fire design",
        at: "3.4.1.3, thermal conductivity",
        origin: Origin::FromMemory,
    }],
    errata: &["a secondary text prints the slope as 3.3e-2: 0.2 W/mK apart at 600 °C"],
    not_for: "hardened high-carbon, tool and stainless steels, which conduct 15 to 30 W/mK",
};

/// Specific heat of carbon steel in J/kgK.
///
/// # Errors
/// [`crate::Error::OutOfRange`] outside 20 to 1200 °C.
///
/// ```
/// assert!((afterquench::oven::specific_heat_j_kgk(200.0).unwrap() - 529.76).abs() < 0.005);
/// ```
pub fn specific_heat_j_kgk(temperature_c: f64) -> Result<f64> {
    SPECIFIC_HEAT.check("temperature_c", temperature_c)?;
    Ok(en_specific_heat(temperature_c))
}

/// Thermal conductivity of carbon steel in W/mK.
///
/// # Errors
/// [`crate::Error::OutOfRange`] outside 20 to 1200 °C.
pub fn conductivity_w_mk(temperature_c: f64) -> Result<f64> {
    CONDUCTIVITY.check("temperature_c", temperature_c)?;
    Ok(en_conductivity(temperature_c))
}

/// [`specific_heat_j_kgk`] over arrays.
pub const SPECIFIC_HEAT_OVER: Formula<1> =
    Formula { names: ["temperature_c"], function: |[celsius]| specific_heat_j_kgk(celsius) };
/// [`conductivity_w_mk`] over arrays.
pub const CONDUCTIVITY_OVER: Formula<1> =
    Formula { names: ["temperature_c"], function: |[celsius]| conductivity_w_mk(celsius) };

fn en_specific_heat(t: f64) -> f64 {
    let [c0, c1, c2, c3] = EN_SPECIFIC_HEAT;
    if t < 600.0 {
        c0 + t * (c1 + t * (c2 + t * c3))
    } else if t < 735.0 {
        666.0 + 13002.0 / (738.0 - t)
    } else if t < 900.0 {
        545.0 + 17820.0 / (t - 731.0)
    } else {
        650.0
    }
}

fn en_conductivity(t: f64) -> f64 {
    if t < 800.0 { 54.0 - 3.33e-2 * t } else { 27.3 }
}

/// How the heat capacity goes with temperature, and the conductivity with it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
pub enum HeatCapacity {
    /// 3.925e6 J/m³K and 30 W/mK: hardened high-carbon steel.
    #[default]
    Constant,
    /// 7850 kg/m³ times the specific heat of EN 1993-1-2, and its conductivity: carbon steel.
    En1993,
}

impl HeatCapacity {
    /// J/m³K.
    pub(super) fn volumetric(self, celsius: f64) -> f64 {
        match self {
            Self::Constant => HEAT_CAPACITY_J_M3K,
            Self::En1993 => DENSITY_KG_M3 * en_specific_heat(celsius),
        }
    }

    /// W/mK.
    pub(super) fn conductivity(self, celsius: f64) -> f64 {
        match self {
            Self::Constant => CONDUCTIVITY_W_MK,
            Self::En1993 => en_conductivity(celsius),
        }
    }
}

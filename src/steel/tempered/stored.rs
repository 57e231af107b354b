//! A composition steel as it is stored: what it is made of, from which the rest is made again.

use std::sync::Arc;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::composition::Amounts;
use super::readings::OwnReading;
use super::steel::CompositionSteel;
use super::table::Table;
use crate::curve::{AsQuenched, AsQuenchedReading};

/// What a steel is made of: everything else follows.
#[derive(Serialize, Deserialize)]
struct Ingredients {
    name: String,
    remark: Option<String>,
    hardened: Option<AsQuenched>,
    composition: Vec<(String, f64)>,
    as_quenched: Option<AsQuenchedReading>,
    table: Option<Table>,
    readings: Vec<OwnReading>,
}

impl Serialize for CompositionSteel {
    fn serialize<S: Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        Ingredients {
            name: self.name.clone(),
            remark: self.remark.as_ref().map(ToString::to_string),
            hardened: self.hardened,
            composition: self.amounts.present().map(|(symbol, percent)| (symbol.to_owned(), percent)).collect(),
            as_quenched: self.as_quenched,
            table: self.table().cloned(),
            readings: self.readings.clone(),
        }
        .serialize(serializer)
    }
}

impl<'de> Deserialize<'de> for CompositionSteel {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> std::result::Result<Self, D::Error> {
        let from = Ingredients::deserialize(deserializer)?;
        let composition: Vec<(&str, f64)> = from.composition.iter().map(|(symbol, p)| (symbol.as_str(), *p)).collect();
        let made = Amounts::read(&composition)
            .and_then(|amounts| Self::of(amounts, from.as_quenched, from.table.map(Arc::new), from.readings));
        let made = made.map_err(serde::de::Error::custom)?.named(from.name);
        let made = match from.hardened {
            Some(band) => made.with_hardened(band),
            None => made,
        };
        Ok(match from.remark {
            Some(remark) => made.remarking(remark),
            None => made,
        })
    }
}

impl PartialEq for CompositionSteel {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
            && self.amounts == other.amounts
            && self.as_quenched == other.as_quenched
            && self.readings == other.readings
            && self.table == other.table
    }
}

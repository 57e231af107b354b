//! Where on a part readings were taken, and what is known of that place.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result};

/// Where on the part a reading was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Place {
    /// A flat face, clean and parallel to its back.
    Flat,
    /// A bevel.
    Bevel,
    /// Near an edge.
    Edge,
    /// A convex cylinder.
    Round,
    /// Oxide scale.
    Scaled,
    /// A skin that lost carbon.
    Decarburised,
    /// A surface as forged, blasted or milled.
    Rough,
    /// A place whose back shows a mark of the indentation.
    Marked,
}

impl Place {
    /// Reads a place as people write it.
    ///
    /// # Errors
    /// [`Error::UnknownName`].
    pub fn parse(text: &str) -> Result<Self> {
        let key = text.trim().to_ascii_lowercase();
        // Whole words, so that a "ground flat" is no round.
        let written: Vec<&str> = key.split(|letter: char| !letter.is_alphabetic()).collect();
        let has = |words: &[&str]| written.iter().any(|own| words.iter().any(|word| own.starts_with(word)));
        // Order matters: "on the bevel, behind the edge" is a bevel.
        Ok(if has(&["bevel", "slop"]) {
            Self::Bevel
        } else if has(&["decarb", "skin"]) {
            Self::Decarburised
        } else if has(&["scale"]) {
            Self::Scaled
        } else if has(&["mark", "bulge"]) {
            Self::Marked
        } else if has(&["edge", "rim"]) {
            Self::Edge
        } else if has(&["rough", "forged", "blasted", "unground", "milled"]) {
            Self::Rough
        } else if has(&["round", "cylinder", "shaft", "bar", "shank"]) {
            Self::Round
        } else if has(&["flat", "face"]) {
            Self::Flat
        } else {
            return Err(Error::UnknownName {
                kind: "place of a reading".into(),
                name: text.to_owned(),
                close: Vec::new(),
                hint: "Places are \"flat\", \"bevel\", \"edge\", \"round\", \"rough\", \"scale on\", \"decarburised\" and \
                       \"mark on the back\""
                    .into(),
            });
        })
    }
}

/// What is known of the place where readings were taken.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Spot {
    /// Thickness under the indenter.
    pub thickness_mm: Option<f64>,
    /// Diameter of a convex cylinder.
    pub diameter_mm: Option<f64>,
    /// Distance to the nearest edge.
    pub edge_distance_mm: Option<f64>,
    /// Roughness Ra of the surface.
    pub roughness_um: Option<f64>,
    /// One place for all readings, or one for each; empty where nothing is known.
    pub places: Vec<Place>,
    /// The step of the display; the scale's usual one where absent.
    pub resolution: Option<f64>,
}

impl Spot {
    /// The place of one reading, where it is known.
    #[must_use]
    pub fn place(&self, index: usize) -> Option<Place> {
        self.places.get(index).or_else(|| self.places.first()).copied()
    }

    /// Refuses lengths that are none, and a number of places that does not fit.
    pub(super) fn checked(&self, model: &'static str, readings: usize) -> Result<()> {
        for (argument, unit, length) in [
            ("thickness_mm", "mm", self.thickness_mm),
            ("diameter_mm", "mm", self.diameter_mm),
            ("edge_distance_mm", "mm", self.edge_distance_mm),
            ("roughness_um", "µm", self.roughness_um),
            ("resolution", "", self.resolution),
        ] {
            if let Some(length) = length.filter(|length| !(*length > 0.0 && length.is_finite())) {
                return Err(Error::invalid(
                    model,
                    argument,
                    (length, unit),
                    "is not a positive number",
                    "Leave it out where it is not known",
                ));
            }
        }
        if self.places.len() > 1 && self.places.len() != readings {
            return Err(Error::Refused {
                what: format!("{} places for {readings} readings", self.places.len()).into(),
                why: "it stays open which reading was taken where".into(),
                instead: "Give one place for all, or one for each reading".into(),
            });
        }
        Ok(())
    }
}

//! Which printed cautions apply to a steel of which only the composition is known.

use super::hazard::{Hazard, hazards};
use crate::error::{Error, Result};

/// The families, in the catalogue's words, that a composition belongs to; more than one where sources sort differently.
///
/// The limits are ours, drawn where trade lists draw them; no standard states them.
///
/// # Errors
/// [`Error::MissingArgument`] without carbon; [`Error::InvalidValue`] for a content that is negative or not finite.
pub fn families(composition: &[(&str, f64)]) -> Result<Vec<&'static str>> {
    const MODEL: &str = "steel.families";
    for &(element, value) in composition {
        if !value.is_finite() || value < 0.0 {
            return Err(Error::invalid(
                MODEL,
                element.to_owned(),
                (value, "%"),
                "is no content",
                "Give weight per cent",
            ));
        }
    }
    let given = |element: &str| composition.iter().find(|(name, _)| *name == element).map(|(_, value)| *value);
    let percent = |element: &str| given(element).unwrap_or(0.0);
    let Some(carbon) = given("C") else {
        return Err(Error::MissingArgument {
            function: "hazards_of_composition".into(),
            argument: "C".into(),
            why: "carbon decides the family".into(),
            hint: "Give the composition with \"C\"".into(),
        });
    };
    let (chromium, carbides) = (percent("Cr"), percent("Mo") + 0.5 * percent("W"));
    let plain = chromium < 0.3 && percent("Ni") < 0.3 && carbides < 0.1 && percent("V") < 0.1 && percent("Si") < 0.6;
    Ok(if chromium >= 10.5 {
        vec![if carbon >= 0.4 { "stainless knife" } else { "stainless" }]
    } else if carbides >= 4.0 {
        vec!["high speed"]
    } else if chromium >= 3.0 && carbides >= 1.0 && carbon < 0.6 {
        vec!["hot work air"]
    } else if chromium >= 3.0 {
        vec!["cold work air"]
    } else if plain && carbon >= 0.85 {
        vec!["carbon", "water hardening"]
    } else if plain {
        vec!["carbon"]
    } else if carbon >= 0.85 {
        vec!["engineering alloy", "cold work oil"]
    } else {
        vec!["engineering alloy"]
    })
}

/// The printed cautions for a composition, every source kept; above 1.5 % silicon those of tempered martensite embrittlement
/// say that the band lies higher.
///
/// # Errors
/// As [`families`]; [`Error::DataFile`] if the embedded file is damaged, which a test rules out.
pub fn hazards_of_composition(composition: &[(&str, f64)]) -> Result<Vec<Hazard>> {
    let families = families(composition)?;
    let silicon = composition.iter().find(|(name, _)| *name == "Si").map_or(0.0, |(_, value)| *value);
    let mut found: Vec<Hazard> =
        hazards()?.into_iter().filter(|hazard| families.iter().any(|family| hazard.is_for("", family))).collect();
    if silicon > 1.5 {
        // The textbook row of the file states the shift for such steels; the other rows do not know of silicon.
        for hazard in found.iter_mut().filter(|hazard| hazard.hazard == "tempered martensite embrittlement") {
            let shift = "silicon over 1.5 % shifts this band up by about 100 to 150 °C (textbooks, from memory)";
            hazard.rule = format!("{}; {shift}", hazard.rule);
        }
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::steel::steels;

    /// The families drawn from composition agree with the catalogue's groups in the cautions about embrittlement.
    #[test]
    fn embrittlement_is_told_as_the_catalogue_tells_it() {
        for name in ["1045", "1084", "4140", "4340", "5160", "W1"] {
            let known = steels().unwrap().iter().find(|steel| steel.name() == name).unwrap();
            let composition = known.composition();
            let borrowed: Vec<(&str, f64)> = composition.iter().map(|(name, value)| (name.as_str(), *value)).collect();
            let told: Vec<String> = hazards_of_composition(&borrowed).unwrap().iter().map(Hazard::text).collect();
            for hazard in known.hazards().iter().filter(|hazard| hazard.is_for("", known.group())) {
                assert!(
                    !hazard.hazard.contains("embrittlement") || told.contains(&hazard.text()),
                    "{name}: {hazard:?}"
                );
            }
        }
    }

    #[test]
    fn silicon_shifts_the_band() {
        let spring = hazards_of_composition(&[("C", 0.6), ("Si", 1.9), ("Mn", 0.85)]).unwrap();
        assert!(spring.iter().any(|hazard| hazard.rule.contains("shifts this band")));
        assert!(hazards_of_composition(&[("Mn", 0.5)]).is_err() && hazards_of_composition(&[("C", -1.0)]).is_err());
    }
}

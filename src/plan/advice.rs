//! Questions of the bench that a caution with its source answers, since no arithmetic does.

use serde::Deserialize;

use super::cautions::{FIRST_OF_ALL, all_cautions, embedded_rows};
use crate::error::{Error, Result};
use crate::steel::{Hazard, Steel, hazards};

const CSV: &str = include_str!("../data/advice_bench_2026.csv");

/// A question that people ask, and where its answer is kept.
struct Topic {
    name: &'static str,
    question: &'static str,
    /// Kinds of printed hazards that belong to it.
    hazards: &'static [&'static str],
    /// Cautions that belong to it, by number.
    cautions: &'static [u32],
    not_computed: &'static str,
}

const TOPICS: [Topic; 7] = [
    Topic {
        name: "how soon",
        question: "How soon after the quench must it be tempered?",
        hazards: &["timing"],
        cautions: &[25, 26],
        not_computed: "whether and when an as-quenched part cracks",
    },
    Topic {
        name: "cold treatment",
        question: "Cold treatment before or after the first temper?",
        hazards: &["sub-zero"],
        cautions: &[44, 45],
        not_computed: "how much retained austenite there is and what the cold makes of it",
    },
    Topic {
        name: "stainless",
        question: "A stainless steel: the low or the high temper?",
        hazards: &[
            "stainless: impact",
            "stainless: impact and corrosion",
            "stainless: corrosion",
            "stainless: corrosion and brittleness",
            "stainless: too low",
        ],
        cautions: &[],
        not_computed: "corrosion resistance; hardness alone must not choose between the two",
    },
    Topic {
        name: "grinding",
        question: "Did grinding draw its temper?",
        hazards: &["service/grinding limit"],
        cautions: &[26],
        not_computed: "the temperature that the skin saw",
    },
    Topic {
        name: "local temper",
        question: "A soft back and a hard edge?",
        hazards: &[],
        cautions: &[22, 23],
        not_computed: "the hardness of a part that was not one temperature all through: an oven temper is what is \
                       computed here",
    },
    Topic {
        name: "straightening",
        question: "Can it be straightened while it tempers?",
        hazards: &["blue brittleness"],
        cautions: &[23, 24, 26],
        not_computed: "how far a part can be bent before it breaks",
    },
    Topic {
        name: "unknown steel",
        question: "What can be done with a steel whose name is not known?",
        hazards: &[],
        cautions: &[],
        not_computed: "a hardness from a guess at the name",
    },
];

#[derive(Debug, Deserialize)]
struct Row {
    topic: String,
    statement: String,
    source: String,
    kind: String,
}

/// What is known about a question of the bench: rules beside their sources, and what is not computed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Advice {
    /// Its short name.
    pub topic: &'static str,
    /// The question in full.
    pub question: &'static str,
    /// The rules, each with its source. Where sources differ both stand here.
    pub says: Vec<String>,
    /// The sources of those rules, each once.
    pub sources: Vec<String>,
    /// What nobody can compute from what an oven and a tester know.
    pub not_computed: &'static str,
    /// What keeps people from harm while they do it.
    pub cautions: Vec<String>,
}

/// The names of the topics, in the order people ask.
#[must_use]
pub fn advice_topics() -> Vec<&'static str> {
    TOPICS.iter().map(|topic| topic.name).collect()
}

/// The advice on one topic; with a steel, the rules printed for it or its group only.
///
/// # Errors
/// [`Error::UnknownName`] for a topic that is not in [`advice_topics`].
pub fn advice(topic: &str, steel: Option<&Steel>) -> Result<Advice> {
    let wanted = topic.trim().to_lowercase();
    let found = TOPICS.iter().find(|topic| topic.name == wanted).ok_or_else(|| Error::UnknownName {
        kind: "topic".into(),
        name: topic.to_owned(),
        close: advice_topics().into_iter().map(str::to_owned).collect(),
        hint: "advice_topics() lists them".into(),
    })?;
    let printed: Vec<Hazard> = match steel {
        Some(steel) => steel.hazards().to_vec(),
        None => hazards()?,
    };
    let printed: Vec<&Hazard> =
        printed.iter().filter(|hazard| found.hazards.contains(&hazard.hazard.as_str())).collect();
    let rows = rows()?;
    let rules: Vec<&Row> = rows.iter().filter(|row| row.topic == found.name).collect();
    let mut sources: Vec<String> = Vec::new();
    for source in rules.iter().map(|row| row.cited()).chain(printed.iter().map(|hazard| hazard.cited())) {
        if !source.is_empty() && !sources.contains(&source) {
            sources.push(source);
        }
    }
    let all = all_cautions()?;
    let cautions = found.cautions.iter().filter_map(|number| all.iter().find(|one| one.number == *number));
    Ok(Advice {
        topic: found.name,
        question: found.question,
        says: rules.iter().map(|row| row.text()).chain(printed.iter().map(|hazard| hazard.text())).collect(),
        sources,
        not_computed: found.not_computed,
        cautions: std::iter::once(FIRST_OF_ALL.to_owned()).chain(cautions.map(|one| one.text())).collect(),
    })
}

impl Row {
    fn cited(&self) -> String {
        match (self.source.as_str(), self.kind.as_str()) {
            ("", _) => "common practice, no source".to_owned(),
            (source, "memory") => format!("{source}, from memory"),
            (source, _) => source.to_owned(),
        }
    }

    fn text(&self) -> String {
        format!("{} [{}]", self.statement, self.cited())
    }
}

fn rows() -> Result<Vec<Row>> {
    embedded_rows("advice_bench_2026.csv", CSV)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_topic_has_rules_and_every_rule_a_topic() {
        for topic in &TOPICS {
            let advice = advice(topic.name, None).unwrap();
            assert!(advice.says.len() >= 3, "{}: {}", topic.name, advice.says.len());
            assert_eq!(advice.cautions.len(), 1 + topic.cautions.len());
            for kind in topic.hazards {
                assert!(advice.says.iter().any(|text| text.starts_with(kind)), "{kind}");
            }
        }
        assert!(rows().unwrap().iter().all(|row| advice_topics().contains(&row.topic.as_str())));
    }

    #[test]
    fn a_steel_keeps_to_its_own_rules() {
        let steel = crate::steel::steel("AEB-L").unwrap();
        let own = advice("how soon", Some(steel)).unwrap();
        let all = advice("how soon", None).unwrap();
        assert!(own.says.len() < all.says.len());
        assert!(own.says.iter().any(|text| text.contains("knife stainless")));
    }
}

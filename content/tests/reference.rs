//! The shoulder's facts against three sources from outside: the `OpenStax` textbook, Gray 1918 and
//! Uberon. Their records, with licences, and our reading of each phrase stand in
//! `tests/reference/anatomy/`. The other muscles are in `course_reference.rs`, more coarsely.

use std::collections::BTreeSet;
use std::path::Path;

use myonym_content::catalogue::Catalogue;
use myonym_content::model::{
    Action, Attachment, LandmarkKey, Muscle, MuscleKey, Role, SourceKey, Span,
};

const SOURCES: [&str; 3] = ["openstax-ap2e", "gray1918", "uberon"];
const FIELDS: [&str; 5] = ["origin", "insertion", "action", "prose", "nerve"];

#[test]
fn every_word_of_the_sources_is_read() {
    let readings = readings();
    for source in SOURCES {
        for (muscle, record) in records(source).as_object().unwrap() {
            for field in FIELDS {
                let here = readings.iter().filter(|reading| {
                    reading.muscle == *muscle && reading.source == source && reading.field == field
                });
                let phrases: Vec<_> = here.map(|reading| reading.phrase.as_str()).collect();
                let text = record[field].as_str().unwrap_or_default();
                let left = unread(text, phrases);
                assert!(left.is_empty(), "{muscle}, {source}, {field}: {left:?} is not read");
            }
        }
    }
}

#[test]
fn every_reading_is_of_the_source() {
    for reading in readings() {
        let record = &records(&reading.source)[&reading.muscle];
        let text = record[&reading.field].as_str().unwrap_or_default();
        assert!(text.contains(&reading.phrase), "{reading:?} is not in {text:?}");
    }
}

#[test]
fn our_data_has_every_fact_of_the_sources() {
    for reading in readings() {
        let muscle = muscle(&reading.muscle);
        if let Some(reason) = reading.fact.strip_prefix("! ") {
            assert!(reason.len() > 5, "{reading:?} needs a reason");
        } else if let Some(coarse) = reading.fact.strip_prefix('~') {
            assert!(has_finer(muscle, &reading.field, coarse), "{reading:?}");
        } else {
            let found = told(muscle).iter().any(|fact| reading.confirms(fact));
            assert!(found, "{reading:?} is not in our data");
        }
    }
}

#[test]
fn our_data_credits_a_source_with_nothing_that_it_does_not_say() {
    let readings = readings();
    let read: BTreeSet<&str> = readings.iter().map(|reading| reading.muscle.as_str()).collect();
    assert_eq!(read.len(), 18, "the muscles of the shoulder; `course_reference.rs` has the others");
    for muscle in read.iter().map(|key| muscle(key)) {
        for fact in told(muscle).iter().filter(|fact| fact.source != "trade") {
            let mut own = readings.iter().filter(|reading| reading.muscle == muscle.key.as_str());
            let confirmed = own.any(|reading| reading.confirms(fact));
            assert!(confirmed, "{}: no reading for {fact:?}", muscle.key);
        }
    }
}

/// A phrase of a source, and our fact for it; see the head of `readings.toml`.
#[derive(Debug)]
struct Reading {
    muscle: String,
    source: String,
    field: String,
    phrase: String,
    fact: String,
}

/// A fact of our data as one source has it, in the words of `readings.toml`.
#[derive(Debug)]
struct Told {
    field: &'static str,
    fact: String,
    source: String,
}

impl Reading {
    /// Whether this is the fact read, or the fact with a span, part or roots that were not read.
    fn confirms(&self, told: &Told) -> bool {
        let field = if self.field == "prose" { "action" } else { &self.field };
        let same = told.fact == self.fact || told.fact.starts_with(&format!("{} ", self.fact));
        same && told.field == field && told.source == self.source
    }
}

/// Every fact of a muscle, once for each source that it credits.
fn told(muscle: &Muscle) -> Vec<Told> {
    let mut told = Vec::new();
    let mut add = |field, fact: String, sources: &[SourceKey]| {
        told.extend(sources.iter().map(|source| Told {
            field,
            fact: fact.trim_end().to_owned(),
            source: source.to_string(),
        }));
    };
    for (field, attachments) in [("origin", &muscle.origins), ("insertion", &muscle.insertions)] {
        for Attachment { landmark, span, sources, variants, .. } in attachments {
            add(field, place(landmark, span.as_ref()), sources);
            for variant in variants {
                add(field, place(&variant.landmark, variant.span.as_ref()), &variant.sources);
            }
        }
    }
    for action in &muscle.actions {
        let part = action.part.as_ref().map_or("", |part| part.as_str());
        let steadies = if action.role == Role::Stabilises { "stabilises" } else { "" };
        let Action { joint, movement, sources, .. } = action;
        add("action", format!("{joint} {movement} {part}{steadies}"), sources);
    }
    for supply in &muscle.innervation {
        let fact = |roots: &[String]| format!("{} {}", supply.nerve, roots.join(" "));
        add("nerve", fact(&supply.roots), &supply.sources);
        for variant in &supply.variants {
            add("nerve", fact(&variant.roots), &variant.sources);
        }
    }
    told
}

fn place(landmark: &LandmarkKey, span: Option<&Span>) -> String {
    format!("{landmark} {}", span.map(ToString::to_string).unwrap_or_default())
}

/// Whether the muscle has an attachment on this landmark or bone, or this nerve.
fn has_finer(muscle: &Muscle, field: &str, coarse: &str) -> bool {
    let vocabulary = &Catalogue::bundled().vocabulary;
    let attachments = match field {
        "origin" => &muscle.origins,
        "insertion" => &muscle.insertions,
        _ => return muscle.innervation.iter().any(|supply| supply.nerve.as_str() == coarse),
    };
    attachments.iter().any(|attachment| {
        let bone = vocabulary.bone_of(&attachment.landmark);
        let mut larger = vocabulary.with_larger(&attachment.landmark);
        bone.is_some_and(|bone| bone.as_str() == coarse)
            || larger.any(|(key, _)| key.as_str() == coarse)
    })
}

/// What is left of a text without the phrases read, less words that only join them.
fn unread(text: &str, mut phrases: Vec<&str>) -> Vec<String> {
    phrases.sort_by_key(|phrase| std::cmp::Reverse(phrase.len()));
    let left = phrases.iter().fold(text.to_owned(), |left, phrase| left.replace(phrase, " "));
    let words = left.split(|c: char| !c.is_alphanumeric()).map(str::to_owned);
    words.filter(|word| !["", "and", "also"].contains(&word.as_str())).collect()
}

fn muscle(key: &str) -> &'static Muscle {
    Catalogue::bundled().muscle(&MuscleKey::new(key)).expect("a muscle of ours")
}

fn readings() -> Vec<Reading> {
    let file: toml::Table = toml::from_str(&reference("readings.toml")).expect("TOML");
    let mut readings = Vec::new();
    for (muscle, sources) in &file {
        for (source, fields) in table(sources) {
            for (field, phrases) in table(fields) {
                for (phrase, facts) in table(phrases) {
                    let one = std::slice::from_ref(facts);
                    for fact in facts.as_array().map_or(one, Vec::as_slice) {
                        let [muscle, source, field, phrase] =
                            [muscle, source, field, phrase].map(Clone::clone);
                        let fact = fact.as_str().expect("a fact").to_owned();
                        readings.push(Reading { muscle, source, field, phrase, fact });
                    }
                }
            }
        }
    }
    readings
}

fn table(value: &toml::Value) -> &toml::Table {
    value.as_table().expect("a table")
}

/// The records of a source, by our muscle keys.
fn records(source: &str) -> serde_json::Value {
    let text = reference(&format!("{source}-shoulder.json"));
    let mut file: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    file["muscles"].take()
}

fn reference(name: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/reference/anatomy");
    std::fs::read_to_string(folder.join(name)).expect("a file of the reference folder")
}

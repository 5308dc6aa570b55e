//! The facts of the muscles outside the shoulder against the `OpenStax` textbook, Uberon and Gray
//! 1918, word by word. Coarser than `reference.rs`, which has every phrase of the shoulder read by
//! hand: here each word for a bone, landmark, movement or nerve in a source's record must stand in
//! our data at that end of the muscle, in its main form or a variant; words for a position or a
//! portion (`upper`, `lateral`) are not compared. Where our data differs, `words.toml` says why.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use myonym_content::catalogue::Catalogue;
use myonym_content::model::{Attachment, LandmarkKey, Muscle, MuscleKey, SourceKey};
use serde::Deserialize;

const SOURCES: [&str; 3] = ["openstax-ap2e", "gray1918", "uberon"];
const FIELDS: [&str; 4] = ["origin", "insertion", "action", "nerve"];

#[test]
fn our_data_has_every_word_of_the_sources_or_a_reason() {
    let book = Book::read();
    let mut lacking = Vec::new();
    for source in SOURCES {
        for muscle in muscles() {
            for field in FIELDS {
                let ours = ours(muscle, field, None);
                for word in book.telling(source, muscle, field) {
                    let place = format!("{}.{source}.{field}.{word}", muscle.key);
                    if !book.found(field, &word, &ours) && !book.differs.contains_key(&place) {
                        lacking.push(place);
                    }
                }
            }
        }
    }
    assert!(lacking.is_empty(), "neither in our data nor excused:\n{}", lacking.join("\n"));
}

#[test]
fn every_excuse_is_needed() {
    let book = Book::read();
    for (place, reason) in &book.differs {
        let parts: Vec<&str> = place.splitn(4, '.').collect();
        let [muscle, source, field, word] = parts[..] else { panic!("{place}: four parts") };
        assert!(reason.len() > 5, "{place} needs a reason");
        let muscle = Catalogue::bundled().muscle(&MuscleKey::new(muscle)).expect(place);
        let said = book.telling(source, muscle, field);
        assert!(said.contains(word), "{place}: the source does not say it");
        assert!(!book.found(field, word, &ours(muscle, field, None)), "{place}: our data has it");
    }
}

/// A credited fact has a record of that source, which shares a telling word with it.
#[test]
fn our_data_credits_a_source_with_nothing_that_it_does_not_say() {
    let book = Book::read();
    let mut wrong = Vec::new();
    for source in SOURCES {
        for muscle in muscles() {
            for field in FIELDS {
                let mut said = book.telling(source, muscle, field);
                if field == "action" {
                    said.extend(book.telling(source, muscle, "movement"));
                }
                for fact in credited(muscle, field, source) {
                    if !said.iter().any(|word| book.found(field, word, &fact)) {
                        wrong.push(format!("{}.{source}.{field}: {fact:?}", muscle.key));
                    }
                }
            }
        }
    }
    assert!(wrong.is_empty(), "credited with what it does not say:\n{}", wrong.join("\n"));
}

/// The records of each source and the words to read them with.
struct Book {
    records: BTreeMap<&'static str, serde_json::Value>,
    words: Words,
    differs: BTreeMap<String, String>,
}

/// See the head of `words.toml`.
#[derive(Deserialize)]
struct Words {
    not_compared: BTreeSet<String>,
    same: BTreeMap<String, Vec<String>>,
    movement: BTreeMap<String, Vec<String>>,
    nerve: BTreeMap<String, Vec<String>>,
    differs: BTreeMap<String, BTreeMap<String, String>>,
}

impl Book {
    fn read() -> Self {
        let mut words: Words = toml::from_str(&reference("words.toml")).expect("the words");
        let mut differs = BTreeMap::new();
        for (muscle, reasons) in std::mem::take(&mut words.differs) {
            for (places, reason) in reasons {
                // `source.field.word word`: one reason for several words.
                let (at, all) = places.rsplit_once('.').expect("source.field.words");
                for word in all.split(' ') {
                    differs.insert(format!("{muscle}.{at}.{word}"), reason.clone());
                }
            }
        }
        let record = |source| {
            let text = reference(&format!("{source}-course.json"));
            let mut file: serde_json::Value = serde_json::from_str(&text).expect("JSON");
            (source, file["muscles"].take())
        };
        Self { records: SOURCES.map(record).into(), words, differs }
    }

    /// The words of a record that are compared: those of `words.toml` for movements, the labels
    /// for nerves, all words but those that name no place for attachments.
    fn telling(&self, source: &str, muscle: &Muscle, field: &str) -> BTreeSet<String> {
        let text = self.records[source][muscle.key.as_str()][field].as_str().unwrap_or_default();
        match field {
            "action" | "movement" => self.movements(text),
            "nerve" => {
                let labels = text.split("; ").filter(|label| !label.is_empty());
                labels.map(|label| label.replace(' ', "-")).collect()
            }
            _ => split(text).filter(|word| !self.words.not_compared.contains(word)).collect(),
        }
    }

    /// Longer phrases first: `plantar flexion` is no `flexion`.
    fn movements(&self, text: &str) -> BTreeSet<String> {
        let mut left = format!(" {} ", split(text).collect::<Vec<_>>().join(" "));
        let mut phrases: Vec<&String> = self.words.movement.keys().collect();
        phrases.sort_by_key(|phrase| std::cmp::Reverse(phrase.len()));
        let mut found = BTreeSet::new();
        for phrase in phrases {
            let words = format!(" {phrase} ");
            if left.contains(&words) {
                left = left.replace(&words, " | ");
                found.insert(phrase.replace(' ', "-"));
            }
        }
        found
    }

    fn found(&self, field: &str, word: &str, ours: &BTreeSet<String>) -> bool {
        let same = match field {
            "action" => self.words.movement.get(&word.replace('-', " ")),
            "nerve" => self.words.nerve.get(word),
            _ => self.words.same.get(word),
        };
        let same = same.into_iter().flatten();
        let own = [word.to_owned(), singular(word)];
        own.iter().chain(same).any(|word| ours.contains(word))
    }
}

fn muscles() -> impl Iterator<Item = &'static Muscle> {
    let shoulder: serde_json::Value =
        serde_json::from_str(&reference("openstax-ap2e-shoulder.json")).expect("JSON");
    let others = move |muscle: &&Muscle| shoulder["muscles"].get(muscle.key.as_str()).is_none();
    Catalogue::bundled().muscles().filter(others)
}

/// The words of all facts of a field, or only of those that credit a source.
fn ours(muscle: &Muscle, field: &str, source: Option<&str>) -> BTreeSet<String> {
    facts(muscle, field, source).into_iter().flatten().collect()
}

fn credited(muscle: &Muscle, field: &str, source: &str) -> Vec<BTreeSet<String>> {
    facts(muscle, field, Some(source))
}

fn facts(muscle: &Muscle, field: &str, source: Option<&str>) -> Vec<BTreeSet<String>> {
    let counts = |sources: &[SourceKey]| {
        source.is_none_or(|source| sources.iter().any(|own| own.as_str() == source))
    };
    match field {
        "origin" => attachments(&muscle.origins, &counts),
        "insertion" => attachments(&muscle.insertions, &counts),
        "action" => {
            let actions = muscle.actions.iter().filter(|action| counts(&action.sources));
            actions.map(|action| BTreeSet::from([action.movement.to_string()])).collect()
        }
        _ => {
            let nerves = muscle.innervation.iter().filter(|supply| counts(&supply.sources));
            nerves.map(|supply| BTreeSet::from([supply.nerve.to_string()])).collect()
        }
    }
}

fn attachments(
    attachments: &[Attachment],
    counts: &dyn Fn(&[SourceKey]) -> bool,
) -> Vec<BTreeSet<String>> {
    let mut facts = Vec::new();
    for Attachment { landmark, portion, sources, variants, .. } in attachments {
        let portion = portion.iter().flat_map(|portion| split(portion));
        if counts(sources) {
            facts.push(place(landmark).into_iter().chain(portion).collect());
        }
        let variants = variants.iter().filter(|variant| counts(&variant.sources));
        facts.extend(variants.map(|variant| place(&variant.landmark)));
    }
    facts
}

/// All words for a place: its names, those of the larger ones that hold it, and its bone's.
fn place(landmark: &LandmarkKey) -> BTreeSet<String> {
    let vocabulary = &Catalogue::bundled().vocabulary;
    let mut names = Vec::new();
    for (_, landmark) in vocabulary.with_larger(landmark) {
        names.push(&landmark.name);
        names.extend(&landmark.also);
    }
    let bone = vocabulary.bone_of(landmark).and_then(|bone| vocabulary.bones.get(bone));
    names.extend(bone.map(|bone| &bone.name));
    names
        .into_iter()
        .flat_map(|name| split(name))
        .flat_map(|word| [singular(&word), word])
        .collect()
}

fn split(text: &str) -> impl Iterator<Item = String> {
    let words = text.split(|c: char| !c.is_alphabetic()).filter(|word| !word.is_empty());
    words.map(str::to_lowercase)
}

/// Good enough for the plurals of anatomy.
fn singular(word: &str) -> String {
    let endings =
        [("esses", "ess"), ("phalanges", "phalanx"), ("ae", "a"), ("rami", "ramus"), ("s", "")];
    let one =
        endings.iter().find_map(|(many, one)| Some(word.strip_suffix(many)?.to_owned() + one));
    one.unwrap_or_else(|| word.to_owned())
}

fn reference(name: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/reference/anatomy");
    std::fs::read_to_string(folder.join(name)).expect("a file of the reference folder")
}

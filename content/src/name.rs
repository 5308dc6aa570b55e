//! Which muscle a typed name means.
//!
//! An index of every form that names a muscle (English and Latin names, synonyms, abbreviations,
//! full names of parts), built over all muscles of the catalogue and not only those of one list:
//! a name of a muscle outside the list is a wrong answer, never a misspelling of a right one.
//! How a typed text is looked up stands in [`NameIndex::resolve`].

use std::collections::{BTreeMap, BTreeSet};

use crate::catalogue::Catalogue;
use crate::edit::Spelt;
pub use crate::fold::fold;
use crate::model::{Muscle, MuscleKey};

/// What a typed text names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Resolution {
    /// One muscle, with no letter wrong: a complete form, or words that belong to it alone and
    /// tell it from all others (`latissimus`, `serratus ant`).
    Exact {
        /// The muscle.
        muscle: MuscleKey,
    },
    /// One muscle, a few letters off.
    Misspelt {
        /// The muscle.
        muscle: MuscleKey,
        /// Edits to the form meant.
        distance: usize,
    },
    /// Several muscles fit equally well (`teres`, `teres manor`): ask which one.
    WhichOne {
        /// At least two, equally near, by name.
        among: Vec<MuscleKey>,
    },
    /// No muscle.
    Unknown {
        /// Up to three names that resemble it, the nearest first; may be empty.
        nearest: Vec<MuscleKey>,
    },
    /// Nothing that could be read.
    Empty,
}

/// Every form that names a muscle, ready for look-up.
#[derive(Debug, Clone, Default)]
pub struct NameIndex {
    pub(crate) muscles: Vec<Named>,
    keys: BTreeMap<MuscleKey, usize>,
    /// Complete forms, abbreviations among them, with the spaces left out.
    pub(crate) whole: BTreeMap<String, BTreeSet<usize>>,
    /// Complete forms as sorted words, for `minor teres`.
    pub(crate) bags: BTreeMap<Vec<String>, BTreeSet<usize>>,
    /// Complete forms that may be shortened and misspelt: all but abbreviations.
    pub(crate) forms: Vec<Form>,
    /// All words of `forms`. One of them is never taken for a misspelling of another.
    pub(crate) known: BTreeMap<String, Spelt>,
}

/// A muscle of the index.
#[derive(Debug, Clone)]
pub(crate) struct Named {
    pub(crate) key: MuscleKey,
    pub(crate) name: String,
    /// The words that can stand for the muscle: the nouns of its names, such as `teres`.
    pub(crate) nouns: BTreeSet<String>,
}

/// A complete form of a muscle's name.
#[derive(Debug, Clone)]
pub(crate) struct Form {
    /// Place in `muscles`.
    pub(crate) muscle: usize,
    pub(crate) words: Vec<String>,
    /// The words with no space between.
    pub(crate) glued: String,
    /// The same, letter by letter.
    pub(crate) spelt: Spelt,
}

impl NameIndex {
    /// The index of all muscles of a catalogue, with and without facts.
    pub fn of(catalogue: &Catalogue) -> Self {
        let mut index = Self::default();
        for muscle in catalogue.muscles() {
            index.add_muscle(muscle);
        }
        for other in catalogue.others() {
            let names = other.latin.iter().chain(&other.synonyms).map(String::as_str);
            index.add(&other.key, &other.name, names, &other.abbreviations);
        }
        index
    }

    /// Adds names that a course accepts for a muscle.
    pub(crate) fn add_names(&mut self, muscle: &MuscleKey, names: &[String]) {
        let Some(&at) = self.keys.get(muscle) else { return };
        for name in names {
            self.add_form(at, name);
        }
    }

    /// The English name of a muscle.
    pub fn name_of(&self, key: &MuscleKey) -> Option<&str> {
        self.keys.get(key).map(|&at| self.muscles[at].name.as_str())
    }

    fn add_muscle(&mut self, muscle: &Muscle) {
        let names = std::iter::once(&muscle.latin).chain(&muscle.synonyms).map(String::as_str);
        let at = self.add(&muscle.key, &muscle.name, names, &muscle.abbreviations);
        for part in &muscle.parts {
            self.add_form(at, &format!("{} {}", part.name, muscle.name));
            for form in &part.accepted {
                self.add_form(at, form);
            }
        }
    }

    fn add<'a>(
        &mut self,
        key: &MuscleKey,
        name: &'a str,
        other_names: impl Iterator<Item = &'a str>,
        abbreviations: &[String],
    ) -> usize {
        let at = self.muscles.len();
        self.keys.insert(key.clone(), at);
        let name_words = name.to_owned();
        self.muscles.push(Named { key: key.clone(), name: name_words, nouns: BTreeSet::new() });
        for name in std::iter::once(name).chain(other_names) {
            let words = words(name);
            self.muscles[at].nouns.extend(noun_of(&words).cloned());
            self.add_words(at, words);
        }
        for abbreviation in abbreviations {
            self.whole.entry(words(abbreviation).concat()).or_default().insert(at);
        }
        at
    }

    fn add_form(&mut self, at: usize, name: &str) {
        self.add_words(at, words(name));
    }

    fn add_words(&mut self, at: usize, words: Vec<String>) {
        let glued = words.concat();
        if !self.whole.entry(glued.clone()).or_default().insert(at) {
            return;
        }
        let mut bag = words.clone();
        bag.sort();
        self.bags.entry(bag).or_default().insert(at);
        self.known.extend(words.iter().map(|word| (word.clone(), Spelt::of(word))));
        let spelt = Spelt::of(&glued);
        self.forms.push(Form { muscle: at, words, glued, spelt });
    }
}

/// The words of a name in the spelling that the index compares: folded, `of` left out, letters
/// and endings that writers of Latin names mix up made one (`maior`, `levator scapula`).
pub(crate) fn words(name: &str) -> Vec<String> {
    let folded = fold(name);
    folded.split(' ').filter(|word| !word.is_empty() && *word != "of").map(latin).collect()
}

fn latin(word: &str) -> String {
    let alike = |letter| match letter {
        'j' => 'i',
        'v' => 'u',
        other => other,
    };
    let mut word: String = word.chars().map(alike).collect();
    if word.len() > 4 && (word.ends_with("ae") || word.ends_with("ii")) {
        word.pop();
    }
    word
}

/// The noun of a name: in Latin names the first word; English names may put adjectives before it.
pub(crate) fn noun(name: &str) -> Option<String> {
    noun_of(&words(name)).cloned()
}

fn noun_of(words: &[String]) -> Option<&String> {
    let noun = words.iter().find(|word| !QUALIFIERS.contains(&word.as_str()));
    noun.or_else(|| words.first())
}

const QUALIFIERS: [&str; 18] = [
    "anterior",
    "middle",
    "posterior",
    "superior",
    "inferior",
    "lateral",
    "medial",
    "external",
    "internal",
    "superficial",
    "deep",
    "palmar",
    "dorsal",
    "plantar",
    "transverse",
    "greater",
    "lesser",
    "common",
];

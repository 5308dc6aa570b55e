//! Names of movements: alone, or with what moves or the joint.
//!
//! An index of every form that names a movement (noun, verb, other words for it) and of every form
//! that names a place where things move (joints, segments, other words for them). All forms are
//! data; what stands here is grammar alone: word order, endings and little words do not matter, so
//! that `flexion of the forearm`, `flexes the forearm` and `forearm flexion` are one. How a typed
//! text is looked up stands in [`MovementIndex::resolve`].

use std::collections::{BTreeMap, BTreeSet};

use crate::edit::Spelt;
use crate::fold::fold;
use crate::model::{JointKey, MovementKey};
use crate::vocabulary::Vocabulary;

/// A movement as it was named.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct NamedMovement {
    /// In words: `lateral rotation of the arm`, or `lateral rotation` where no joint was named.
    pub name: String,
    /// The movement.
    pub movement: MovementKey,
    /// The joints that may be meant, in order; empty for any.
    pub joints: Vec<JointKey>,
}

/// What a typed text names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum MovementResolution {
    /// One movement, with no letter wrong.
    Exact {
        /// The movement.
        movement: NamedMovement,
    },
    /// One movement, a few letters off.
    Misspelt {
        /// The movement.
        movement: NamedMovement,
        /// Edits to the form meant.
        distance: usize,
    },
    /// Several movements fit equally well (`rotation of the arm`): ask which one.
    WhichOne {
        /// At least two, by name.
        among: Vec<NamedMovement>,
    },
    /// No movement, or one that the joint named has not.
    Unknown {
        /// Up to three that resemble it; may be empty.
        nearest: Vec<NamedMovement>,
    },
    /// Nothing that could be read.
    Empty,
}

/// Every form that names a movement or a place, ready for look-up.
#[derive(Debug, Clone, Default)]
pub struct MovementIndex {
    pub(crate) forms: Vec<Form>,
    pub(crate) movements: BTreeMap<MovementKey, Known>,
    pub(crate) places: BTreeMap<Words, Place>,
    /// What moves at each joint, and the joint's name.
    joints: BTreeMap<JointKey, [String; 2]>,
    /// Every word of a form as it stands in the data.
    pub(crate) known: BTreeMap<String, Word>,
}

/// Stems of words, sorted: word order does not matter.
pub(crate) type Words = Vec<String>;

/// A form that names a movement.
#[derive(Debug, Clone)]
pub(crate) struct Form {
    pub(crate) movement: MovementKey,
    pub(crate) words: Words,
    /// The joints at which alone it means this movement.
    pub(crate) only: Option<BTreeSet<JointKey>>,
}

/// A movement of the index.
#[derive(Debug, Clone)]
pub(crate) struct Known {
    pub(crate) name: String,
    /// The joints that have it.
    pub(crate) joints: BTreeSet<JointKey>,
}

/// Where something moves.
#[derive(Debug, Clone)]
pub(crate) struct Place {
    pub(crate) name: String,
    pub(crate) joints: BTreeSet<JointKey>,
}

/// A word of a form.
#[derive(Debug, Clone)]
pub(crate) struct Word {
    pub(crate) stem: String,
    pub(crate) spelt: Spelt,
}

impl Word {
    fn of(word: &str) -> Self {
        Self { stem: stem(word), spelt: Spelt::of(word) }
    }
}

impl MovementIndex {
    /// The index of all movements and joints of a vocabulary.
    pub fn of(v: &Vocabulary) -> Self {
        let mut index = Self::default();
        for (key, joint) in &v.joints {
            index.joints.insert(key.clone(), [joint.segment.clone(), joint.name.clone()]);
            for name in [&joint.segment, &joint.name].into_iter().chain(&joint.also) {
                index.add_place(name, key);
            }
        }
        for (key, movement) in &v.movements {
            let has = v.joints.iter().filter(|(_, joint)| joint.movements.contains(key));
            let joints = has.map(|(joint, _)| joint.clone()).collect();
            index.movements.insert(key.clone(), Known { name: movement.name.clone(), joints });
            for form in [&movement.name, &movement.verb].into_iter().chain(&movement.also) {
                index.add_form(form, key);
            }
        }
        index
    }

    fn add_place(&mut self, name: &str, joint: &JointKey) {
        let words = self.learn(name);
        let new = || Place { name: name.to_owned(), joints: BTreeSet::new() };
        self.places.entry(words).or_insert_with(new).joints.insert(joint.clone());
    }

    fn add_form(&mut self, form: &str, movement: &MovementKey) {
        let (form, place) = split(form);
        let only = place.map(|place| self.places.get(&stems(place)).map(|it| it.joints.clone()));
        // A form whose place is unknown is reported when the data are loaded.
        if only != Some(None) {
            let (movement, words) = (movement.clone(), self.learn(form));
            self.forms.push(Form { movement, words, only: only.flatten() });
        }
    }

    fn learn(&mut self, name: &str) -> Words {
        self.known.extend(tokens(name).into_iter().map(|word| (word.clone(), Word::of(&word))));
        stems(name)
    }

    /// The place that a form is bound to, if no joint has that name.
    pub(crate) fn unknown_place<'a>(&self, form: &'a str) -> Option<&'a str> {
        split(form).1.filter(|place| !self.places.contains_key(&stems(place)))
    }

    /// A movement at these joints (any if there are none), in words; `place` is what they were
    /// called.
    pub(crate) fn named(
        &self,
        movement: &MovementKey,
        joints: BTreeSet<JointKey>,
        place: Option<&str>,
    ) -> NamedMovement {
        let known = self.movements.get(movement);
        let mut name = known.map_or_else(|| movement.to_string(), |known| known.name.clone());
        // What moves says most; but it must name these joints and no other that has the movement.
        let first = joints.first().and_then(|joint| self.joints.get(joint));
        let (segment, joint) =
            first.map(|[segment, joint]| (segment.as_str(), joint.as_str())).unzip();
        let mut called = [segment, place, joint].into_iter().flatten();
        let just = |called: &&str| {
            let place = self.places.get(&stems(called));
            place.zip(known).is_some_and(|(place, known)| &place.joints & &known.joints == joints)
        };
        if let Some(called) = called.find(just).or(place) {
            name = format!("{name} of the {called}");
        }
        NamedMovement { name, movement: movement.clone(), joints: joints.into_iter().collect() }
    }
}

/// A form and the place that it is bound to: `radial deviation of the hand`.
fn split(form: &str) -> (&str, Option<&str>) {
    match form.split_once(" of the ") {
        Some((form, place)) => (form, Some(place)),
        None => (form, None),
    }
}

/// The words of a text that say something, as typed.
pub(crate) fn tokens(text: &str) -> Vec<String> {
    let folded = fold(text);
    let words = folded.split(' ').filter(|word| !word.is_empty() && !LITTLE.contains(word));
    words.map(ToOwned::to_owned).collect()
}

fn stems(text: &str) -> Words {
    let mut words: Words = tokens(text).iter().map(|word| stem(word)).collect();
    words.sort();
    words
}

/// A word without the ending that its part of speech gives it: `rotates`, `rotating` and `rotation`
/// alike, `laterally` as `lateral`, `fingers` as `finger`.
pub(crate) fn stem(word: &str) -> String {
    let cut = |word: &str, ending: &str| {
        let stem = word.strip_suffix(ending)?;
        (stem.chars().count() >= SHORTEST_STEM).then(|| stem.to_owned())
    };
    let mut stem = cut(word, "ly").unwrap_or_else(|| word.to_owned());
    if !stem.ends_with("ss") {
        stem = cut(&stem, "s").unwrap_or(stem);
    }
    ["ing", "ion", "ed", "e"].iter().find_map(|ending| cut(&stem, ending)).unwrap_or(stem)
}

/// Words that carry no meaning here. `joint` is one: `elbow joint` is `elbow`.
const LITTLE: [&str; 16] = [
    "the", "a", "an", "of", "at", "in", "on", "to", "it", "its", "and", "joint", "joints", "helps",
    "help", "is",
];
const SHORTEST_STEM: usize = 3;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn endings_do_not_matter() {
        let check = |words: &str, expected: &str| {
            for word in words.split(' ') {
                assert_eq!(stem(word), expected, "{word}");
            }
        };
        check("flexion flexes flex flexing flexed", "flex");
        check("rotation rotates rotate rotating", "rotat");
        check("depression depresses depress", "depress");
        check("laterally lateral", "lateral");
        check("outwards outward", "outward");
        check("toes toe", "toe");
        check("sides side", "sid");
        check("ring", "ring");
    }
}

//! Looking up a typed movement: exact forms, misspellings, and what to ask when in doubt.

use std::collections::{BTreeMap, BTreeSet};

use crate::edit::{Counter, Spelt};
use crate::model::{JointKey, MovementKey};
use crate::movement_name::{
    Form, MovementIndex, MovementResolution, NamedMovement, Word, Words, stem, tokens,
};
use crate::spelling::{budget, edits, letters, slips};

impl MovementIndex {
    /// Which movement a typed text names, as an instructor would mark it.
    ///
    /// In this order, and the first that finds something decides:
    /// 1. a form of a movement, alone or with the name of a joint or of what moves (or both:
    ///    `flexes the arm at the shoulder`) that has this movement. A form that is bound to a place
    ///    counts there, and alone only where nothing else is meant: `abduction` is never taken for
    ///    that of the scapula, which is protraction;
    /// 2. a misspelling of 1 within the budget of slips. Only words of no form are taken for
    ///    misspelt, so `abduction` never becomes `adduction`;
    /// 3. half a form (`rotation of the arm`), only to ask which one.
    ///
    /// Whatever fits two movements equally well is asked about, never decided. A movement that the
    /// joint named has not is unknown. Any text is safe; an overlong one is unknown.
    pub fn resolve(&self, typed: &str) -> MovementResolution {
        let typed_words = tokens(typed);
        if typed_words.is_empty() {
            return MovementResolution::Empty;
        }
        if letters(typed) > MOST_LETTERS || typed_words.len() > MOST_WORDS {
            return MovementResolution::Unknown { nearest: Vec::new() };
        }
        let words = sorted(typed_words.iter().map(|word| stem(word)));
        let found = self.exact(&words);
        if !found.is_empty() {
            return answer(found, 0);
        }
        if let Some((distance, found)) = self.respelt(&typed_words) {
            return answer(found, distance);
        }
        let found = self.half(&words);
        if found.len() > 1 {
            return answer(found, 0);
        }
        let mut nearest: Vec<NamedMovement> = found.into_iter().collect();
        if nearest.is_empty() {
            nearest = self.misplaced(&words);
        }
        if nearest.is_empty() {
            nearest = self.alike(&typed_words);
        }
        nearest.truncate(MOST_SUGGESTIONS);
        MovementResolution::Unknown { nearest }
    }

    /// The movements that these words name with no letter wrong.
    fn exact(&self, words: &[String]) -> BTreeSet<NamedMovement> {
        let (mut meant, mut bound) = (BTreeSet::new(), BTreeSet::new());
        for form in &self.forms {
            let Some(rest) = without(words, &form.words) else { continue };
            if rest.is_empty() {
                let at = form.only.clone().unwrap_or_default();
                let found = if form.only.is_some() { &mut bound } else { &mut meant };
                found.insert(self.named(&form.movement, self.having(form, &at), None));
            } else if let Some((joints, place)) = self.place(&rest) {
                let fits = form.only.as_ref().is_none_or(|only| joints.is_subset(only));
                let at = self.having(form, &joints);
                if fits && !at.is_empty() {
                    meant.insert(self.named(&form.movement, at, place.as_deref()));
                }
            }
        }
        if meant.is_empty() { bound } else { meant }
    }

    /// Those of `joints` that have the movement of a form.
    fn having(&self, form: &Form, joints: &BTreeSet<JointKey>) -> BTreeSet<JointKey> {
        let known = self.movements.get(&form.movement);
        known.map(|known| &known.joints & joints).unwrap_or_default()
    }

    /// The joints that these words name, and what they call them; two names must mean the same
    /// joint: `the arm at the shoulder`.
    fn place(&self, words: &Words) -> Option<(BTreeSet<JointKey>, Option<String>)> {
        if let Some(place) = self.places.get(words) {
            return Some((place.joints.clone(), Some(place.name.clone())));
        }
        self.places.iter().find_map(|(first, place)| {
            let second = self.places.get(&without(words, first)?)?;
            let joints = &place.joints & &second.joints;
            (!joints.is_empty()).then_some((joints, None))
        })
    }

    /// The movements that the words name after the fewest corrections within the budget.
    fn respelt(&self, words: &[String]) -> Option<(usize, BTreeSet<NamedMovement>)> {
        let most = budget(words.iter().map(|word| letters(word)).sum());
        let mut texts: Vec<(usize, Words)> = vec![(0, Vec::new())];
        for word in words {
            let choices = self.spellings(word);
            let longer = texts.iter().flat_map(|(cost, text)| {
                choices.iter().map(move |(choice, extra)| {
                    (cost + extra, text.iter().chain([choice]).cloned().collect())
                })
            });
            texts = longer.filter(|(cost, _)| *cost <= most).collect();
        }
        (1..=most).find_map(|distance| {
            let of_cost = texts.iter().filter(|(cost, _)| *cost == distance);
            let found: BTreeSet<_> =
                of_cost.flat_map(|(_, text)| self.exact(&sorted(text.iter().cloned()))).collect();
            (!found.is_empty()).then_some((distance, found))
        })
    }

    /// The stems that a word may have, with the edits that each takes.
    fn spellings(&self, word: &str) -> BTreeMap<String, usize> {
        let own = stem(word);
        if self.known.values().any(|known| known.stem == own) {
            return BTreeMap::from([(own, 0)]);
        }
        let mut spellings: BTreeMap<String, usize> = BTreeMap::new();
        let (word, mut counter) = (Spelt::of(word), Counter::default());
        for Word { stem, spelt } in self.known.values() {
            if let Some(cost) = slips(&mut counter, word.letters(), spelt.letters()) {
                let least = spellings.entry(stem.clone()).or_insert(cost);
                *least = cost.min(*least);
            }
        }
        spellings
    }

    /// Movements with a form that has all these words and more, at the place that is named with
    /// them, if one is.
    fn half(&self, words: &Words) -> BTreeSet<NamedMovement> {
        let alone = (words.clone(), None);
        let beside = self.places.iter().filter_map(|(place, at)| {
            let rest = without(words, place).filter(|rest| !rest.is_empty())?;
            Some((rest, Some(at)))
        });
        let mut found = BTreeSet::new();
        for (half, place) in std::iter::once(alone).chain(beside) {
            for form in self.forms.iter().filter(|form| form.only.is_none()) {
                let at = place.map(|place| self.having(form, &place.joints));
                let fits = at.as_ref().is_none_or(|at| !at.is_empty());
                if fits && without(&form.words, &half).is_some() {
                    let name = place.map(|place| place.name.as_str());
                    found.insert(self.named(&form.movement, at.unwrap_or_default(), name));
                }
            }
        }
        found
    }

    /// Movements that are named well, with a place that has them not.
    fn misplaced(&self, words: &[String]) -> Vec<NamedMovement> {
        let named = |form: &&Form| {
            let rest = without(words, &form.words);
            rest.is_some_and(|rest| self.place(&rest).is_some())
        };
        let named = self.forms.iter().filter(|form| form.only.is_none()).filter(named);
        let found: BTreeSet<_> =
            named.map(|form| self.named(&form.movement, BTreeSet::new(), None)).collect();
        found.into_iter().collect()
    }

    /// Movements whose name resembles a text, the nearest first.
    fn alike(&self, words: &[String]) -> Vec<NamedMovement> {
        let of_place = |stem: &String| self.places.keys().any(|place| place.contains(stem));
        let typed = words.iter().map(|word| stem(word)).filter(|stem| !of_place(stem));
        let typed: String = typed.collect();
        let far = |name: &str| {
            let name: String = tokens(name).iter().map(|word| stem(word)).collect();
            let longest = typed.chars().count().max(name.chars().count()).max(1);
            edits(&typed, &name) * 1000 / longest
        };
        let mut alike: Vec<(usize, &MovementKey)> =
            self.movements.iter().map(|(key, known)| (far(&known.name), key)).collect();
        alike.retain(|(far, _)| *far <= FARTHEST);
        alike.sort();
        alike.into_iter().map(|(_, key)| self.named(key, BTreeSet::new(), None)).collect()
    }
}

fn answer(found: BTreeSet<NamedMovement>, distance: usize) -> MovementResolution {
    let mut found: Vec<NamedMovement> = found.into_iter().collect();
    match (found.len(), distance) {
        (1, 0) => MovementResolution::Exact { movement: found.remove(0) },
        (1, _) => MovementResolution::Misspelt { movement: found.remove(0), distance },
        _ => MovementResolution::WhichOne { among: found },
    }
}

fn sorted(words: impl Iterator<Item = String>) -> Words {
    let mut words: Words = words.collect();
    words.sort();
    words
}

/// What is left of words, both sorted, without others; `None` unless they hold all of those.
fn without(words: &[String], others: &[String]) -> Option<Words> {
    let mut left = words.to_vec();
    for other in others {
        left.remove(left.binary_search(other).ok()?);
    }
    Some(left)
}

/// Longest text that is looked up; the longest name of a movement has about 70 letters.
const MOST_LETTERS: usize = 80;
const MOST_WORDS: usize = 10;
const MOST_SUGGESTIONS: usize = 3;
/// Edits per thousand letters up to which a name resembles another.
const FARTHEST: usize = 400;

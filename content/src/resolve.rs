//! Looking up a typed name: exact forms, half names, misspellings, and what to ask when in doubt.

use std::collections::BTreeSet;
use std::ops::Bound;

use crate::edit::{Counter, Spelt};
use crate::fold::fold;
use crate::model::MuscleKey;
use crate::name::{Form, NameIndex, Resolution, words};
use crate::spelling::{Closest, budget, closest_of, edits, letters, nearest, slips};

impl NameIndex {
    /// What a typed text names, as an instructor would mark it.
    ///
    /// In this order, and the first that finds something decides:
    /// 1. a complete form; spaces, word order and an English plural do not matter;
    /// 2. a half name: words of one form, its noun among them, other words perhaps clipped
    ///    (`serratus ant`);
    /// 3. a misspelling of 1 or 2 within the budget of slips. Only words that no muscle's name has
    ///    are taken for misspelt, so `abductor` never becomes `adductor`;
    /// 4. the start of a noun or the end of a one-word name (`spinatus`), only to ask which one.
    ///
    /// Whatever fits two muscles equally well is asked about, never decided. Any text is safe;
    /// an overlong one is unknown.
    pub fn resolve(&self, typed: &str) -> Resolution {
        if fold(typed).is_empty() {
            return Resolution::Empty;
        }
        let typed_words = words(typed);
        let glued = typed_words.concat();
        if glued.chars().count() > MOST_LETTERS || typed_words.len() > MOST_WORDS {
            return Resolution::Unknown { nearest: Vec::new() };
        }
        if let Some(found) = self.whole.get(&glued) {
            return self.answer(found, 0);
        }
        let words: Vec<String> = typed_words.iter().map(|word| self.singular(word)).collect();
        let (found, clipped) = self.exact(&words);
        let as_typed = || (words != typed_words).then(|| self.respelt(&typed_words)).flatten();
        let respelt = || self.respelt(&words).or_else(as_typed);
        if !found.is_empty() {
            // A clip may as well be a slip in a shorter word: `longis` of `longissimus`, `longus`.
            let slip = clipped.then(respelt).flatten().filter(|slip| slip.distance == 1);
            let found = slip.map_or_else(|| found.clone(), |slip| &found | &slip.owners);
            return self.answer(&found, 0);
        }
        if let Some(Closest { distance, owners }) = respelt() {
            return self.answer(&owners, distance);
        }
        let found = self.fragment(&words);
        if found.len() > 1 {
            return self.answer(&found, 0);
        }
        Resolution::Unknown { nearest: self.nearest(&words, &found) }
    }

    fn answer(&self, found: &BTreeSet<usize>, distance: usize) -> Resolution {
        let mut among: Vec<_> = found.iter().map(|&at| &self.muscles[at]).collect();
        among.sort_by(|a, b| a.name.cmp(&b.name));
        match (among.as_slice(), distance) {
            ([one], 0) => Resolution::Exact { muscle: one.key.clone() },
            ([one], _) => Resolution::Misspelt { muscle: one.key.clone(), distance },
            _ => Resolution::WhichOne { among: among.iter().map(|one| one.key.clone()).collect() },
        }
    }

    /// `deltoids` as `deltoid`, and the common false singular `bicep` as `biceps`.
    fn singular(&self, word: &str) -> String {
        if self.known.contains_key(word) {
            return word.to_owned();
        }
        let other = match word.strip_suffix('s') {
            Some(stem) if !stem.ends_with('s') => stem.to_owned(),
            None if word.ends_with("cep") => format!("{word}s"),
            _ => return word.to_owned(),
        };
        if self.known.contains_key(&other) { other } else { word.to_owned() }
    }

    /// Muscles that these words name with no letter wrong, and whether words had to be clipped ones.
    fn exact(&self, words: &[String]) -> (BTreeSet<usize>, bool) {
        let mut bag = words.to_vec();
        bag.sort();
        if let Some(found) = self.whole.get(&words.concat()).or_else(|| self.bags.get(&bag)) {
            return (found.clone(), false);
        }
        let found = self.half(words, false);
        let clip = found.is_empty() && words.len() > 1;
        (if clip { self.half(words, true) } else { found }, clip)
    }

    /// Muscles with a form that has all these words, a noun of the muscle among them.
    fn half(&self, words: &[String], clipped: bool) -> BTreeSet<usize> {
        // No form has a word that is not known; most texts that name nothing have one.
        let starts_one = |word: &String| {
            let next = self.known.range::<String, _>(word..).next();
            next.is_some_and(|(known, _)| is_clip(word, known))
        };
        let may_be = |word: &String| self.known.contains_key(word) || (clipped && starts_one(word));
        if !words.iter().all(may_be) {
            return BTreeSet::new();
        }
        let fits = self.forms.iter().filter(|form| self.is_half(words, form, clipped));
        fits.map(|form| form.muscle).collect()
    }

    fn is_half(&self, words: &[String], form: &Form, clipped: bool) -> bool {
        // The words of the form that are taken, a bit each: a list for each form would be slow.
        let (mut taken, mut has_noun) = (0_u64, false);
        for word in words {
            let left = || {
                let all = form.words.iter().enumerate().take(64);
                all.filter(|(at, _)| taken & (1 << at) == 0)
            };
            let same = left().find(|(_, other)| *other == word);
            let clip = || left().find(|(_, other)| is_clip(word, other)).filter(|_| clipped);
            let Some((at, found)) = same.or_else(clip) else { return false };
            taken |= 1 << at;
            has_noun |= self.muscles[form.muscle].nouns.contains(found);
        }
        has_noun
    }

    /// Muscles that the words name after the fewest corrections within the budget.
    fn respelt(&self, words: &[String]) -> Option<Closest<usize>> {
        if words.iter().any(|word| BONES.contains(&word.as_str())) {
            return None;
        }
        match (self.respelt_whole(&words.concat()), self.respelt_words(words)) {
            (Some(whole), Some(by_word)) if whole.distance == by_word.distance => {
                let owners = &whole.owners | &by_word.owners;
                Some(Closest { distance: whole.distance, owners })
            }
            (Some(whole), Some(by_word)) if by_word.distance < whole.distance => Some(by_word),
            (whole, by_word) => whole.or(by_word),
        }
    }

    /// Corrects a complete form wherever its spaces were put.
    fn respelt_whole(&self, glued: &str) -> Option<Closest<usize>> {
        let right = self.known_within(glued);
        let has = |form: &Form, word: &str| {
            form.glued.contains(word) || form.words.iter().any(|own| same_stem(own, word))
        };
        let keeps = |form: &Form| right.iter().all(|word| has(form, word));
        let typed = Spelt::of(glued);
        let mut counter = Counter::default();
        nearest(self.forms.iter().filter_map(|form| {
            let slips = slips(&mut counter, typed.letters(), form.spelt.letters())?;
            keeps(form).then_some((slips, form.muscle))
        }))
    }

    /// Known words in a text without spaces, from left to right and the longest first. What starts
    /// within another one is there by chance (`risorius` in `orbicularisoris`).
    fn known_within<'a>(&'a self, glued: &str) -> Vec<&'a str> {
        let mut found = Vec::new();
        let mut rest = glued;
        while let Some(first) = rest.chars().next() {
            // Of the words that it may start with, the longest stands last in the order of words.
            let start = &rest[..rest.ceil_char_boundary(SHORTEST_WITHIN)];
            let between = (Bound::Included(start), Bound::Included(rest));
            let words = self.known.range::<str, _>(between).rev().map(|(word, _)| word);
            let mut long = words.filter(|word| word.len() >= SHORTEST_WITHIN);
            let longest = long.find(|word| rest.starts_with(word.as_str()));
            found.extend(longest.map(String::as_str));
            rest = &rest[longest.map_or_else(|| first.len_utf8(), String::len)..];
        }
        found
    }

    /// Corrects word by word, so that half names may be misspelt too.
    fn respelt_words(&self, words: &[String]) -> Option<Closest<usize>> {
        let mut texts: Vec<(usize, Vec<String>)> = vec![(0, Vec::new())];
        for word in words {
            let choices = self.spellings(word, words.len() == 1);
            let longer = texts.iter().flat_map(|(cost, text)| {
                choices.iter().map(move |(extra, choice)| {
                    (cost + extra, text.iter().chain([choice]).cloned().collect())
                })
            });
            texts = longer.filter(|(cost, _)| *cost <= budget(usize::MAX)).collect();
        }
        texts.retain(|(cost, text)| *cost > 0 && *cost <= budget(letters(&text.concat())));
        (1..=budget(usize::MAX)).find_map(|distance| {
            let of_cost = texts.iter().filter(|(cost, _)| *cost == distance);
            let owners: BTreeSet<usize> =
                of_cost.flat_map(|(_, text)| self.exact(text).0).collect();
            (!owners.is_empty()).then_some(Closest { distance, owners })
        })
    }

    /// A word as typed, and the known words that it, or what it is the plural of, may be a
    /// misspelling of. A known word is right, but beside
    /// others perhaps with the wrong ending (`breves`).
    fn spellings(&self, word: &String, alone: bool) -> Vec<(usize, String)> {
        let mut spellings = vec![(0, word.clone())];
        if self.known.contains_key(word) {
            let others = self.known.keys().filter(|other| *other != word && same_stem(word, other));
            if !alone {
                spellings.extend(others.map(|other| (1, other.clone())));
            }
            return spellings;
        }
        let one = Spelt::of(word.strip_suffix('s').unwrap_or(word));
        let (whole, mut counter) = (Spelt::of(word), Counter::default());
        for (to, spelt) in &self.known {
            let mut slips = |from: &Spelt| slips(&mut counter, from.letters(), spelt.letters());
            let as_plural = slips(&one).filter(|cost| *cost == 1);
            let cost = as_plural.or_else(|| slips(&whole));
            spellings.extend(cost.map(|cost| (cost, to.clone())));
        }
        spellings
    }

    /// Muscles whose noun starts with a lone word, or whose one-word name ends with it.
    fn fragment(&self, words: &[String]) -> BTreeSet<usize> {
        let [word] = words else { return BTreeSet::new() };
        // A word of a name is whole, unless it is so short that it is a clip itself (`pec`).
        if self.known.contains_key(word) && budget(letters(word)) > 0 {
            return BTreeSet::new();
        }
        let muscles = self.muscles.iter().enumerate();
        let starts = muscles.filter(|(_, muscle)| muscle.nouns.iter().any(|it| is_clip(word, it)));
        let starts: BTreeSet<usize> = starts.map(|(at, _)| at).collect();
        let count = word.chars().count();
        if !starts.is_empty() || count < SHORTEST_END {
            return starts;
        }
        let one_word = self.forms.iter().filter(|form| form.words.len() == 1);
        let ends = one_word.filter_map(|form| Some((form.muscle, form.spelt.end(count)?)));
        closest_of(Spelt::of(word).letters(), ends)
            .map(|closest| closest.owners)
            .unwrap_or_default()
    }

    /// Suggestions for an unknown name: muscles with these very words, then likenesses.
    fn nearest(&self, words: &[String], fragment: &BTreeSet<usize>) -> Vec<MuscleKey> {
        let has_all = |form: &&Form| words.iter().all(|word| form.words.contains(word));
        let with: BTreeSet<usize> = self
            .forms
            .iter()
            .filter(has_all)
            .map(|form| form.muscle)
            .chain(fragment.iter().copied())
            .collect();
        let name = |at: usize| self.muscles[at].name.as_str();
        let mut near: Vec<(usize, &str, usize)> = self.alike(&words.concat());
        if with.len() <= MOST_SUGGESTIONS {
            near.extend(with.into_iter().map(|at| (0, name(at), at)));
        }
        near.sort_unstable();
        let mut seen = BTreeSet::new();
        near.retain(|(_, _, at)| seen.insert(*at));
        near.truncate(MOST_SUGGESTIONS);
        near.into_iter().map(|(_, _, at)| self.muscles[at].key.clone()).collect()
    }

    /// Edits per thousand letters, name and place of every muscle that resembles a text.
    fn alike(&self, glued: &str) -> Vec<(usize, &str, usize)> {
        let (typed, mut counter) = (Spelt::of(glued), Counter::default());
        let typed = typed.letters();
        let far = |form: &Form| {
            let spelt = form.spelt.letters();
            let longer = typed.count().max(spelt.count()).max(1);
            let most = (longer * (FARTHEST + 1) - 1) / 1000;
            let edits = counter.within(most, typed, spelt)?;
            Some((edits * 1000 / longer, self.muscles[form.muscle].name.as_str(), form.muscle))
        };
        self.forms.iter().filter_map(far).collect()
    }
}

fn is_clip(word: &str, of: &str) -> bool {
    word.chars().count() >= SHORTEST_CLIP && of.starts_with(word)
}

/// Whether two words of the trade are one with different endings, as a case, a number or the other
/// language asks for: `brevis` and `breves`, `palpebrae` and `palpebral`.
fn same_stem(a: &str, b: &str) -> bool {
    let same = a.chars().zip(b.chars()).take_while(|(a, b)| a == b).count();
    let ends = [a, b].into_iter().all(|word| word.chars().count() - same <= LONGEST_ENDING);
    ends && (same >= SHORTEST_STEM || (same + 1 >= SHORTEST_STEM && edits(a, b) == 1))
}

/// Longest text that is looked up; the longest name of a muscle has about 40 letters.
const MOST_LETTERS: usize = 80;
const MOST_WORDS: usize = 8;
const MOST_SUGGESTIONS: usize = 3;
/// Letters of a clipped word, such as `ant`.
const SHORTEST_CLIP: usize = 3;
/// Bytes of a known word that is looked for in a text without spaces.
const SHORTEST_WITHIN: usize = 5;
/// Letters of the end of a name, such as `spinatus`; `hyoid` is a bone.
const SHORTEST_END: usize = 6;
/// Letters of a stem that speaks for itself; with one letter less, the endings differ by one edit.
const SHORTEST_STEM: usize = 5;
/// Letters of an ending, such as `is`.
const LONGEST_ENDING: usize = 2;
/// Edits per thousand letters up to which a name resembles another.
const FARTHEST: usize = 400;
/// Bones that are a slip or two away from a muscle's name.
const BONES: [&str; 2] = ["trapezium", "trapezoid"];

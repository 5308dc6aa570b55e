//! Clues for a choice between two muscles.

use std::collections::BTreeSet;

use crate::clue::{Clue, ClueKind};
use crate::contrast::TELLING_FIRST;
use crate::course::{Course, MOST_CLUES};
use crate::model::{Muscle, MuscleKey};
use crate::name::words;
use crate::place::Placed;
use crate::statement::{Names, Naming, Statement, rewords};

impl Course {
    /// What is told of a muscle where it or one `other` is to be chosen, at most [`MOST_CLUES`].
    ///
    /// Clues that are untrue of the other by every source come first: main actions and attachments,
    /// then lesser facts, each in the order in which the list tells them, and behind them those that
    /// the name alone gives away, as `infraspinous fossa` does for infraspinatus. Other clues of the
    /// list follow. None has the noun of the muscle's name in it, as both names are on the screen.
    /// Empty if no clue tells the two apart, or the facts of either are not in.
    pub fn clues_beside(&self, muscle: &MuscleKey, other: &MuscleKey) -> Vec<Clue> {
        let (Some(own), Some(against)) = (self.muscle(muscle), self.muscle(other)) else {
            return Vec::new();
        };
        let v = self.vocabulary();
        let names = Names::of(own);
        let own_stems: BTreeSet<String> = &stems_of(own) - &stems_of(against);
        let mut said = self.said(muscle);
        said.retain(|statement| statement.naming(&names) == Naming::None);
        let placed = [Placed::new(v, against)];
        let tells = |statement: &Statement| {
            let in_own_words = statement.is_own() || self.reworded(other, statement.clue.kind);
            !in_own_words && statement.fits(v, &placed).is_empty()
        };
        let listed: Vec<&Clue> = self
            .item(muscle)
            .map(|item| item.clues.iter().map(|ordered| &ordered.clue).collect())
            .unwrap_or_default();
        let (mut telling, others): (Vec<_>, Vec<_>) = said.into_iter().partition(tells);
        telling.sort_by_key(|one| {
            let at = listed.iter().position(|clue| **clue == one.clue).unwrap_or(listed.len());
            let kind = TELLING_FIRST.iter().position(|kind| *kind == one.clue.kind);
            let given_away = !stems(&one.clue.text).is_disjoint(&own_stems);
            (given_away, one.rank, at, kind)
        });
        if telling.is_empty() {
            return Vec::new();
        }
        let mut told = each_aspect_once(telling, &listed);
        let open = |clue: &&&Clue| others.iter().any(|one| one.clue == ***clue);
        told.extend(listed.iter().filter(open).map(|clue| (*clue).clone()));
        told.truncate(MOST_CLUES);
        told
    }

    /// Whether the course says in words of its own what a kind of clue would say of a muscle.
    fn reworded(&self, muscle: &MuscleKey, kind: ClueKind) -> bool {
        let mut facts = self.words().facts.iter().filter(|fact| fact.muscle == *muscle);
        facts.any(|fact| rewords(fact.about, kind))
    }
}

/// The stems of the words of a muscle's names.
fn stems_of(muscle: &Muscle) -> BTreeSet<String> {
    stems(&format!("{} {}", muscle.name, muscle.latin))
}

/// What the words of a text begin with: as much as flexor and flexes, ulnaris and ulna share.
fn stems(text: &str) -> BTreeSet<String> {
    let words = words(text).into_iter();
    words.filter_map(|word| word.get(..STEM).map(ToOwned::to_owned)).collect()
}

/// Letters of a stem.
const STEM: usize = 4;

/// The clues of the list, and of the others one of each aspect that these lack: who is told where a
/// muscle arises need not be told on which bone that is.
fn each_aspect_once(telling: Vec<Statement>, listed: &[&Clue]) -> Vec<Clue> {
    let is_listed = |clue: &Clue| listed.contains(&clue);
    let mut told: Vec<Clue> = telling.into_iter().map(|one| one.clue).collect();
    let mut aspects: BTreeSet<&str> =
        told.iter().filter(|clue| is_listed(clue)).map(|clue| clue.kind.as_str()).collect();
    told.retain(|clue| is_listed(clue) || aspects.insert(clue.kind.as_str()));
    told
}

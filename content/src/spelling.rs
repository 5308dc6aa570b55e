//! How far a spelling may stray: edit distance, the budget of slips, the nearest name.
//!
//! Spelling decides only *which* name was meant; what the name is worth is not its business.

use std::collections::BTreeSet;

use crate::edit::{Counter, Letters, Spelt};

/// Edits between two texts: insertions, deletions, substitutions and swaps of neighbours, each
/// counting 1, with no limit to edits of one place (Damerau 1964; Lowrance & Wagner 1975, JACM
/// 22:177-183). Unlike the restricted form it is a metric.
pub fn edits(a: &str, b: &str) -> usize {
    let (a, b) = (Spelt::of(a), Spelt::of(b));
    let most = a.letters().count().max(b.letters().count());
    Counter::default().within(most, a.letters(), b.letters()).unwrap_or(most)
}

/// Edits forgiven in a word or name with this many letters.
pub const fn budget(letters: usize) -> usize {
    match letters {
        0..=4 => 0,
        5..=8 => 1,
        _ => 2,
    }
}

/// The owners of the forms nearest to a typed text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Closest<K> {
    /// Edits to the nearest form.
    pub distance: usize,
    /// Who owns a form at that distance; more than one is a tie, to be asked about.
    pub owners: BTreeSet<K>,
}

/// Edits between a typed word and the one it is meant for, neither with a space in it, if the form's budget allows them.
pub(crate) fn slips(counter: &mut Counter, typed: Letters<'_>, form: Letters<'_>) -> Option<usize> {
    counter.within(budget(form.count()), typed, form)
}

/// The nearest forms within their budgets, or `None`.
///
/// A nearest neighbour with a reject option (Chow 1970): one owner is accepted, since the next
/// one is at least one edit further; several owners are never decided between.
pub fn closest<'a, K: Ord>(
    typed: &str,
    forms: impl IntoIterator<Item = (K, &'a str)>,
) -> Option<Closest<K>> {
    let (typed, mut counter) = (Spelt::of(typed), Counter::default());
    nearest(forms.into_iter().filter_map(|(owner, text)| {
        let form = Spelt::of(text);
        Some((counter.within(budget(letters(text)), typed.letters(), form.letters())?, owner))
    }))
}

/// The same of forms without spaces, made ready before.
pub(crate) fn closest_of<'a, K: Ord>(
    typed: Letters<'_>,
    forms: impl IntoIterator<Item = (K, Letters<'a>)>,
) -> Option<Closest<K>> {
    let mut counter = Counter::default();
    nearest(
        forms
            .into_iter()
            .filter_map(|(owner, form)| Some((slips(&mut counter, typed, form)?, owner))),
    )
}

/// The owners at the least distance.
pub(crate) fn nearest<K: Ord>(near: impl Iterator<Item = (usize, K)>) -> Option<Closest<K>> {
    near.fold(None, |best: Option<Closest<K>>, (distance, owner)| match best {
        Some(best) if best.distance < distance => Some(best),
        Some(mut best) if best.distance == distance => {
            best.owners.insert(owner);
            Some(best)
        }
        _ => Some(Closest { distance, owners: BTreeSet::from([owner]) }),
    })
}

/// Letters of a name, spaces not counted.
pub(crate) fn letters(text: &str) -> usize {
    text.chars().filter(|c| !c.is_whitespace()).count()
}

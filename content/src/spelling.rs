//! How far a spelling may stray: edit distance, the budget of slips, the nearest name.
//!
//! Spelling decides only *which* name was meant; what the name is worth is not its business.

use std::collections::BTreeSet;

/// Edits between two texts: insertions, deletions, substitutions and swaps of neighbours, each
/// counting 1, with no limit to edits of one place (Damerau 1964; Lowrance & Wagner 1975, JACM
/// 22:177-183). Unlike the restricted form it is a metric.
pub fn edits(a: &str, b: &str) -> usize {
    strsim::damerau_levenshtein(a, b)
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

/// Edits between a typed text and the form it is meant for, if the form's budget allows them.
pub fn slips(typed: &str, form: &str) -> Option<usize> {
    let limit = budget(letters(form));
    let least = form.chars().count().abs_diff(typed.chars().count()).max(strange(typed, form));
    (least <= limit).then(|| edits(typed, form)).filter(|distance| *distance <= limit)
}

/// The nearest forms within their budgets, or `None`.
///
/// A nearest neighbour with a reject option (Chow 1970): one owner is accepted, since the next
/// one is at least one edit further; several owners are never decided between.
pub fn closest<'a, K: Ord>(
    typed: &str,
    forms: impl IntoIterator<Item = (K, &'a str)>,
) -> Option<Closest<K>> {
    let near = forms.into_iter().filter_map(|(owner, form)| Some((slips(typed, form)?, owner)));
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

/// Kinds of Latin letter that only one of the texts has, the larger of both counts: a quick lower
/// bound of the edits, since an edit brings in or takes away one kind at most.
fn strange(a: &str, b: &str) -> usize {
    let (a, b) = (alphabet(a), alphabet(b));
    (a & !b).count_ones().max((b & !a).count_ones()) as usize
}

fn alphabet(text: &str) -> u32 {
    text.bytes().filter(u8::is_ascii_lowercase).fold(0, |set, letter| set | 1 << (letter - b'a'))
}

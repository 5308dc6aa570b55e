//! What chooses rounds. A stand-in: nothing is chosen, and every review stays as it was drawn.

use myonym_content::{Catalogue, Course, MuscleKey};
use myonym_insight::observe::Observations;

/// One round of a proposed review.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Proposed {
    /// The muscle to ask.
    pub(crate) muscle: MuscleKey,
    /// The other one offered, where one of two is to be chosen.
    pub(crate) beside: Option<MuscleKey>,
    /// Why, as a sentence.
    pub(crate) why: String,
}

/// Proposes a review of so many rounds from what a table holds.
pub(crate) fn propose(
    _catalogue: &Catalogue,
    _course: &Course,
    _table: &Observations,
    _rounds: usize,
    _seed: u64,
) -> Vec<Proposed> {
    Vec::new()
}

/// The round to ask next after those `asked` in this review, which is in the table as far as it has
/// gone.
pub(crate) fn next_round(
    _catalogue: &Catalogue,
    _course: &Course,
    _table: &Observations,
    _asked: &[MuscleKey],
    _seed: u64,
) -> Option<Proposed> {
    None
}

//! The next review, chosen from what earlier ones showed.

mod deck;
mod evidence;
mod occasions;

use std::collections::BTreeSet;

use myonym_content::{Catalogue, Course, MuscleKey};
use serde::{Deserialize, Serialize};

pub use deck::{Shares, propose};

use crate::observe::Observations;
use evidence::Evidence;

/// One round of a proposed review.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Proposed {
    /// The muscle to ask.
    pub muscle: MuscleKey,
    /// For a contrast round: the muscle that it is offered beside.
    pub beside: Option<MuscleKey>,
    /// Why it is in.
    pub reason: Reason,
    /// The same in one plain sentence, with the count that it rests on.
    pub why: String,
}

/// Why a round is in a review.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Reason {
    /// The class confuses it.
    Weak,
    /// Too little is known of it, or it was long ago.
    Uncertain,
    /// The class knows it: every review has something to succeed at.
    Known,
}

/// The best next round of a review under way; `None` if the list has nothing left to ask.
///
/// `table` holds the earlier reviews and this one so far, `asked` what this one has asked. Rounds
/// take turns in the shares of a proposed review. The same seed gives the same choice.
pub fn next_round(
    catalogue: &Catalogue,
    course: &Course,
    table: &Observations,
    asked: &[MuscleKey],
    seed: u64,
) -> Option<Proposed> {
    let evidence = Evidence::gather(catalogue, course, table);
    let number = u64::try_from(asked.len()).unwrap_or(u64::MAX);
    let reason = deck::turn(number);
    let last = asked.last();
    let seed = seed.wrapping_add(number.wrapping_mul(0x9e37_79b9_7f4a_7c15));
    let often = |muscle: &MuscleKey| asked.iter().filter(|one| *one == muscle).count();
    let closed: BTreeSet<MuscleKey> = (course.items().iter())
        .map(|item| item.muscle.clone())
        .filter(|muscle| Some(muscle) == last || often(muscle) >= deck::MOST_OFTEN)
        .collect();
    let order = [reason, Reason::Weak, Reason::Uncertain, Reason::Known];
    order.into_iter().find_map(|reason| evidence.best(reason, &closed, seed))
}

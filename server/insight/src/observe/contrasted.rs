//! Choices between two muscles, kept apart from names: where two are on the screen, a right answer
//! does not show that the name would have come to mind, and a wrong one is half a matter of luck.

use std::collections::BTreeMap;

use super::table::{MuscleId, Observations, Outcome, Row};

/// How one muscle was chosen where another was offered beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Contrasted {
    /// The muscle described.
    pub asked: MuscleId,
    /// The other one offered.
    pub beside: MuscleId,
    /// Students asked, once for each round.
    pub of: u32,
    /// Those who chose the right one.
    pub right: u32,
    /// Those who chose the other one.
    pub wrong: u32,
    /// Those who were there and chose neither.
    pub silent: u32,
}

/// One student's choice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Choice {
    /// As in a round that asks for a name; it has no round in the table.
    pub(super) row: Row,
    /// The other muscle offered.
    pub(super) beside: MuscleId,
}

/// In the place of a round in the table.
pub(super) const NO_ROUND: u32 = u32::MAX;

impl Observations {
    /// Choices between two, by muscle described and muscle offered beside it.
    pub fn contrasted(&self) -> Vec<Contrasted> {
        counted(self.choices.iter())
    }

    /// Those of one review, by its place.
    pub fn contrasted_in(&self, review: u32) -> Vec<Contrasted> {
        counted(self.choices.iter().filter(|choice| choice.row.review == review))
    }
}

fn counted<'c>(choices: impl Iterator<Item = &'c Choice>) -> Vec<Contrasted> {
    let mut counts: BTreeMap<(MuscleId, MuscleId), Contrasted> = BTreeMap::new();
    for Choice { row, beside } in choices {
        let (asked, beside) = (row.asked, *beside);
        let none = Contrasted { asked, beside, of: 0, right: 0, wrong: 0, silent: 0 };
        let counted = counts.entry((asked, beside)).or_insert(none);
        counted.of += 1;
        match row.outcome {
            Outcome::Right => counted.right += 1,
            Outcome::Near(_) | Outcome::Said(_) | Outcome::NoName => counted.wrong += 1,
            Outcome::TimedOut | Outcome::Omitted => counted.silent += 1,
        }
    }
    counts.into_values().collect()
}

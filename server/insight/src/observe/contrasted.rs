//! Choices between two muscles, kept apart from names: where two are on the screen, a right answer
//! does not show that the name would have come to mind, and a wrong one is half a matter of luck.

use std::collections::BTreeMap;

use super::table::{MuscleId, Observations, Row};

/// How one muscle was chosen where another was offered beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Contrasted {
    /// The muscle described.
    pub asked: MuscleId,
    /// The other one offered.
    pub beside: MuscleId,
    /// Students who chose the right one.
    pub right: u32,
    /// Students asked: silence is not right.
    pub of: u32,
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
        let mut counts: BTreeMap<(MuscleId, MuscleId), (u32, u32)> = BTreeMap::new();
        for Choice { row, beside } in &self.choices {
            let (right, of) = counts.entry((row.asked, *beside)).or_default();
            *right += u32::from(row.right());
            *of += 1;
        }
        let count = |((asked, beside), (right, of))| Contrasted { asked, beside, right, of };
        counts.into_iter().map(count).collect()
    }
}

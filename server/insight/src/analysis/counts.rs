//! Answers counted by muscle asked and muscle answered.

use std::collections::BTreeMap;

use myonym_stats::Tally;

use crate::observe::{MuscleId, Observations, Outcome};

/// Who was taken for whom, and how often each was asked. One answer a student and round.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Counts {
    /// Answers by muscle asked and muscle answered, right ones among them.
    pub(super) cells: BTreeMap<(MuscleId, MuscleId), u32>,
    /// Answers given when a muscle was asked; silence is none.
    pub(super) given: BTreeMap<MuscleId, u32>,
    /// Answers that named another muscle, by muscle asked.
    pub(super) wrong: BTreeMap<MuscleId, u32>,
    /// How often a muscle was answered wrongly, whatever was asked.
    pub(super) guessed: BTreeMap<MuscleId, u32>,
}

impl Counts {
    pub(super) fn of(table: &Observations) -> Self {
        let mut counts = Self::default();
        for row in table.rows() {
            let said = match row.outcome {
                Outcome::Right => Some(row.asked),
                Outcome::Said(said) => Some(said),
                Outcome::NoName => None,
                Outcome::TimedOut | Outcome::Omitted => continue,
            };
            *counts.given.entry(row.asked).or_default() += 1;
            if let Some(said) = said {
                *counts.cells.entry((row.asked, said)).or_default() += 1;
                if said != row.asked {
                    *counts.wrong.entry(row.asked).or_default() += 1;
                    *counts.guessed.entry(said).or_default() += 1;
                }
            }
        }
        counts
    }

    pub(super) fn count(&self, asked: MuscleId, said: MuscleId) -> u32 {
        self.cells.get(&(asked, said)).copied().unwrap_or_default()
    }

    pub(super) fn given(&self, asked: MuscleId) -> u32 {
        self.given.get(&asked).copied().unwrap_or_default()
    }

    /// How often one muscle was answered for another, of the answers given when it was asked.
    pub(super) fn tally(&self, asked: MuscleId, said: MuscleId) -> Option<Tally> {
        Tally::new(self.count(asked, said), self.given(asked))
    }

    /// The pairs that were confused at least once, this way round.
    pub(super) fn confused(&self) -> impl Iterator<Item = (MuscleId, MuscleId, u32)> + '_ {
        let pairs = self.cells.iter().filter(|((asked, said), _)| asked != said);
        pairs.map(|((asked, said), count)| (*asked, *said, *count))
    }
}

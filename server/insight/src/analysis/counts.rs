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

/// Answers to one muscle while they are counted: by place, as a term has a million.
#[derive(Clone, Default)]
struct Asked {
    given: u32,
    /// By the muscle answered.
    said: Vec<u32>,
}

impl Counts {
    pub(super) fn of(table: &Observations) -> Self {
        let mut all = vec![Asked::default(); table.muscle_count()];
        for row in table.rows() {
            let said = match row.outcome {
                Outcome::Right => Some(row.asked),
                Outcome::Near(said) | Outcome::Said(said) => Some(said),
                Outcome::NoName => None,
                Outcome::TimedOut | Outcome::Omitted => continue,
            };
            let Some(asked) = all.get_mut(usize::from(row.asked.0)) else { continue };
            asked.given += 1;
            // Most muscles of a long list are answered only: they need no row.
            asked.said.resize(table.muscle_count(), 0);
            if let Some(count) = said.and_then(|said| asked.said.get_mut(usize::from(said.0))) {
                *count += 1;
            }
        }
        let mut counts = Self::default();
        for (asked, of) in table.muscles().zip(all).filter(|(_, of)| of.given > 0) {
            counts.add(asked, of);
        }
        counts
    }

    fn add(&mut self, asked: MuscleId, Asked { given, said }: Asked) {
        self.given.insert(asked, given);
        for (said, count) in (0..).map(MuscleId).zip(said).filter(|(_, count)| *count > 0) {
            self.cells.insert((asked, said), count);
            if said != asked {
                *self.wrong.entry(asked).or_default() += count;
                *self.guessed.entry(said).or_default() += count;
            }
        }
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

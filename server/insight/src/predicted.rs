//! Rounds that ask for a movement, counted apart: they tell nothing of a muscle's name.

use std::collections::BTreeMap;

use myonym_content::MuscleKey;
use myonym_engine::{Answer, SpellingFound, score};
use myonym_wire::Verdict;
use serde::{Deserialize, Serialize};

use crate::estimate::{Estimate, wilson};

/// How the movement of one muscle was answered when it was asked for.
///
/// `right`, `near` and `silent` never add up to more than `asked`; what is left are wrong answers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Predicted {
    /// The muscle whose attachments were told.
    pub muscle: MuscleKey,
    /// Its English name.
    pub name: String,
    /// Right answers, spelt as the review asked.
    pub right: u32,
    /// Near-misses.
    pub near: u32,
    /// Students who gave no answer.
    pub silent: u32,
    /// Students asked.
    pub asked: u32,
    /// The share right of those asked.
    pub rate_right: Estimate,
    /// What was said instead of a right movement, commonest first, near-misses among it.
    pub instead: Vec<Instead>,
}

/// A movement that was said instead of a right one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Instead {
    /// The movement in words.
    pub movement: String,
    /// Students who said it, once for each round.
    pub count: u32,
}

/// Counts by muscle.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Movements(BTreeMap<MuscleKey, Counts>);

#[derive(Debug, Clone, PartialEq, Default)]
struct Counts {
    right: u32,
    near: u32,
    silent: u32,
    asked: u32,
    instead: BTreeMap<String, u32>,
}

impl Movements {
    /// Counts students who gave no answer.
    pub(crate) fn count_silent(&mut self, muscle: &MuscleKey, silent: u32) {
        let counts = self.0.entry(muscle.clone()).or_default();
        counts.silent += silent;
        counts.asked += silent;
    }

    /// Counts an answer. `strict` says that a misspelt one was wrong for its spelling alone.
    pub(crate) fn count_answer(&mut self, muscle: &MuscleKey, answer: &Answer, strict: bool) {
        let counts = self.0.entry(muscle.clone()).or_default();
        counts.asked += 1;
        match score::verdict(answer.exact, answer.credit) {
            Verdict::Right => {
                counts.right += 1;
                return;
            }
            Verdict::Near => counts.near += 1,
            Verdict::Wrong | Verdict::Silent => {}
        }
        // What no movement is called is only counted as wrong: it may be anything.
        if let Some(name) = &answer.said_name {
            let misspelt = strict && answer.spelling == SpellingFound::Misspelt;
            let said = if misspelt { format!("{name}, misspelt") } else { name.clone() };
            *counts.instead.entry(said).or_default() += 1;
        }
    }

    /// Adds what was counted elsewhere.
    pub(crate) fn absorb(&mut self, other: Self) {
        for (muscle, more) in other.0 {
            let counts = self.0.entry(muscle).or_default();
            counts.right += more.right;
            counts.near += more.near;
            counts.silent += more.silent;
            counts.asked += more.asked;
            for (movement, count) in more.instead {
                *counts.instead.entry(movement).or_default() += count;
            }
        }
    }

    /// The muscles asked about, hardest first: by the upper end of the interval of the share right,
    /// as [`Tally::hardest`](crate::Tally::hardest) has it.
    pub(crate) fn rows(&self, name: impl Fn(&MuscleKey) -> String) -> Vec<Predicted> {
        let row = |(muscle, counts): (&MuscleKey, &Counts)| {
            let mut instead: Vec<Instead> = (counts.instead.iter())
                .map(|(movement, count)| Instead { movement: movement.clone(), count: *count })
                .collect();
            instead.sort_by(|a, b| b.count.cmp(&a.count).then_with(|| a.movement.cmp(&b.movement)));
            Some(Predicted {
                muscle: muscle.clone(),
                name: name(muscle),
                right: counts.right,
                near: counts.near,
                silent: counts.silent,
                asked: counts.asked,
                rate_right: wilson(counts.right, counts.asked)?,
                instead,
            })
        };
        let mut rows: Vec<Predicted> = self.0.iter().filter_map(row).collect();
        rows.sort_by(|a, b| {
            (a.rate_right.high.total_cmp(&b.rate_right.high)).then_with(|| a.name.cmp(&b.name))
        });
        rows
    }
}

//! One student's own results. Whose they are is not known here.

use std::collections::BTreeMap;

use myonym_content::{Catalogue, Difference, Level, contrast::contrast};
use myonym_wire::{RoundNo, Task, Verdict};
use serde::Serialize;

use crate::analysis::Named;

/// What one student did in one round that was revealed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OwnRound {
    /// Join word of the review.
    pub word: String,
    /// Date and time of its opening, as text for people.
    pub opened: String,
    /// The round.
    pub round: RoundNo,
    /// What it asked for.
    pub task: Task,
    /// The muscle asked, or whose movement was.
    pub asked: Named,
    /// The muscle or movement answered; `None` for silence, or a name that there is not.
    pub said: Option<Named>,
    /// How it was marked.
    pub verdict: Verdict,
    /// Elapsed time credited, in milliseconds; `None` for silence.
    pub elapsed_ms: Option<u64>,
    /// Points, to one hundredth.
    pub points: f64,
}

/// One student's results in numbers.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct OwnTotals {
    /// Rounds in which the student was asked.
    pub asked: u32,
    /// Right answers.
    pub right: u32,
    /// Near-misses.
    pub near: u32,
    /// Wrong answers.
    pub wrong: u32,
    /// Rounds without an answer.
    pub silent: u32,
    /// Points, to one hundredth.
    pub points: f64,
}

/// A muscle to look at again.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LookAgain {
    /// The muscle.
    pub muscle: Named,
    /// Whether a movement was asked for, not the name.
    pub movement: bool,
    /// How often it was not right.
    pub missed: u32,
    /// What was said instead, each once; empty if nothing was.
    pub said: Vec<Named>,
    /// What separates it from the muscle said instead; `first` is the muscle asked.
    pub apart: Option<Difference>,
}

impl OwnTotals {
    /// The sum of rounds.
    pub fn of<'a>(rounds: impl IntoIterator<Item = &'a OwnRound>) -> Self {
        let mut totals = Self::default();
        for round in rounds {
            totals.asked += 1;
            let count = match round.verdict {
                Verdict::Right => &mut totals.right,
                Verdict::Near => &mut totals.near,
                Verdict::Wrong => &mut totals.wrong,
                Verdict::Silent => &mut totals.silent,
            };
            *count += 1;
            totals.points += round.points;
        }
        totals
    }
}

/// What a student has to look at again: all that was not right, the most often missed first.
pub fn look_again(catalogue: &Catalogue, rounds: &[OwnRound]) -> Vec<LookAgain> {
    let mut missed: BTreeMap<(Named, bool), LookAgain> = BTreeMap::new();
    for round in rounds.iter().filter(|round| round.verdict != Verdict::Right) {
        let movement = round.task == Task::Movement;
        let key = (round.asked.clone(), movement);
        let again = missed.entry(key).or_insert_with(|| LookAgain {
            muscle: round.asked.clone(),
            movement,
            missed: 0,
            said: Vec::new(),
            apart: None,
        });
        again.missed += 1;
        let said = round.said.iter().filter(|said| **said != round.asked);
        for said in said {
            if !again.said.contains(said) {
                again.said.push(said.clone());
            }
            if again.apart.is_none() && !movement {
                again.apart = apart(catalogue, &round.asked, said);
            }
        }
    }
    let mut missed: Vec<LookAgain> = missed.into_values().collect();
    missed.sort_by(|a, b| b.missed.cmp(&a.missed).then_with(|| a.muscle.name.cmp(&b.muscle.name)));
    missed
}

fn apart(catalogue: &Catalogue, asked: &Named, said: &Named) -> Option<Difference> {
    let (asked, said) = (catalogue.muscle(&asked.key)?, catalogue.muscle(&said.key)?);
    let found = contrast(&catalogue.vocabulary, Level::Introductory, asked, said);
    found.apart.into_iter().next()
}

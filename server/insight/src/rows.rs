//! What a tally comes to, row by row.

use myonym_content::MuscleKey;
use myonym_engine::AskedAgainWhy;
use serde::{Deserialize, Serialize};

use crate::estimate::Estimate;

/// How much was counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Totals {
    /// Rounds revealed.
    pub rounds: u32,
    /// Answers in those rounds.
    pub answers: u32,
    /// Silences in those rounds: students who were there and gave no answer.
    pub silent: u32,
}

/// How one muscle was answered when its name was asked for, from clues or from a picture.
///
/// `right`, `near` and `silent` never add up to more than `asked`; what is left are wrong answers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Hard {
    /// The muscle described.
    pub muscle: MuscleKey,
    /// Its English name.
    pub name: String,
    /// Right answers, spelt as the review asked.
    pub right: u32,
    /// Near-misses: wrong answers that earned some credit.
    pub near: u32,
    /// Students who gave no answer.
    pub silent: u32,
    /// Students asked.
    pub asked: u32,
    /// The share right of those asked.
    pub rate_right: Estimate,
}

/// How often one muscle was answered when another was asked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ConfusedPair {
    /// The muscle described.
    pub asked: MuscleKey,
    /// Its English name.
    pub asked_name: String,
    /// The muscle answered.
    pub said: MuscleKey,
    /// Its English name.
    pub said_name: String,
    /// Students who did so, once for each round.
    pub count: u32,
    /// Students asked, the silent among them.
    pub of: u32,
    /// `count` of `of`.
    pub rate: Estimate,
}

/// A typed name that fits several muscles or none.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Unclear {
    /// The muscle described.
    pub asked: MuscleKey,
    /// Its English name.
    pub asked_name: String,
    /// What was typed, in lower case, letters and digits only.
    pub typed: String,
    /// Why it was no answer.
    pub why: AskedAgainWhy,
    /// Students who typed it, once for each round.
    pub count: u32,
}

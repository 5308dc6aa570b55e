//! One answer as it leaves the program.

use myonym_wire::{ReviewId, RoundNo, Task};

use crate::analysis::Named;

/// What one student answered in one round. Silence is no answer and has no record.
#[derive(Debug, Clone, PartialEq)]
pub struct AnswerRecord {
    /// Stands for the student: the same in every record of theirs, told to nobody, and not to be
    /// guessed. Never a name.
    pub pseudonym: String,
    /// The review.
    pub review: ReviewId,
    /// When the review opened, in seconds since 1970, UTC.
    pub opened_s: i64,
    /// The section that it was held for.
    pub section: Option<String>,
    /// Name of its muscle list.
    pub list: String,
    /// The round in the review.
    pub round: RoundNo,
    /// What was asked for.
    pub task: Task,
    /// The muscle asked, or whose movement was.
    pub asked: Named,
    /// The muscle or movement answered, as the course calls it; `None` if what was typed is none.
    pub answer: Option<String>,
    /// Whether it was right.
    pub right: bool,
    /// What it earned.
    pub score: Score,
    /// Elapsed time credited, in milliseconds.
    pub elapsed_ms: u64,
    /// When it came, in milliseconds since the review opened.
    pub at_ms: u64,
}

impl AnswerRecord {
    /// When it came, in milliseconds since 1970, UTC.
    pub(super) fn moment_ms(&self) -> i64 {
        let into = i64::try_from(self.at_ms).unwrap_or(i64::MAX);
        self.opened_s.saturating_mul(1_000).saturating_add(into)
    }

    /// The task in one word.
    pub(super) fn task_key(&self) -> &'static str {
        match self.task {
            Task::Name => "name",
            Task::Picture => "picture",
            Task::Movement => "movement",
            Task::Contrast => "contrast",
        }
    }
}

/// Points with the range that they are of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Score {
    raw: f64,
    min: f64,
    max: f64,
    scaled: f64,
}

impl Score {
    /// A score, if `min` < `max`, `raw` lies between them and `scaled` between -1 and 1. None of
    /// them may be infinite or no number.
    pub fn new(raw: f64, min: f64, max: f64, scaled: f64) -> Option<Self> {
        let finite = [raw, min, max, scaled].iter().all(|number| number.is_finite());
        let fits = min < max && (min..=max).contains(&raw) && (-1.0..=1.0).contains(&scaled);
        (finite && fits).then_some(Self { raw, min, max, scaled })
    }

    /// Points earned.
    pub fn raw(&self) -> f64 {
        self.raw
    }

    /// The fewest points that could be earned.
    pub fn min(&self) -> f64 {
        self.min
    }

    /// The most.
    pub fn max(&self) -> f64 {
        self.max
    }

    /// The same from -1 to 1.
    pub fn scaled(&self) -> f64 {
        self.scaled
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_score_lies_in_its_range() {
        assert!(Score::new(40.0, -100.0, 100.0, 0.4).is_some());
        assert!(Score::new(-100.0, -100.0, 100.0, -1.0).is_some());
        assert_eq!(Score::new(101.0, -100.0, 100.0, 1.0), None);
        assert_eq!(Score::new(0.0, 1.0, 1.0, 0.0), None);
        assert_eq!(Score::new(0.0, -1.0, 1.0, 1.5), None);
        assert_eq!(Score::new(f64::NAN, 0.0, 1.0, 0.0), None);
        assert_eq!(Score::new(0.0, f64::NEG_INFINITY, 1.0, 0.0), None);
    }
}

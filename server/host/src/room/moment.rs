//! Where a review stands, for someone who joins, returns, or has to be brought up to date.

use myonym_engine::{Offered, OpenRound, Phase};
use myonym_wire::{Coming, Given, JoinWord, Millis, Moment, ReviewInfo, StudentId};

use super::translate::View;

impl View<'_> {
    /// What a newcomer has to know of the review.
    pub(super) fn info(&self, word: &JoinWord) -> ReviewInfo {
        let settings = self.review.settings();
        ReviewInfo {
            review: self.review.id(),
            word: word.clone(),
            list: settings.list_name.clone(),
            rounds: self.review.of(),
            limit_ms: settings.limit_ms,
            tasks: self.review.tasks().into_iter().collect(),
            rule: settings.rule,
            spelling: settings.spelling,
            pace: settings.pace,
            adaptive: settings.adaptive,
        }
    }

    /// Where the review stands at `now`, as `student` (or an instructor) may see it.
    pub(super) fn moment(&self, now: Millis, student: Option<StudentId>) -> Moment {
        let of = self.review.of();
        match self.review.phase() {
            Phase::Gathering => Moment::Gathering {},
            Phase::Open(round) => self.open_moment(round, now, student),
            Phase::Closed(record) => Moment::Closed {
                round: record.round,
                of,
                task: record.task,
                offered: names(&record.offered),
                why: record.why,
                clues: self.clues(record.round, &record.clues, record.shown),
                given: student.and_then(|student| record.answers.get(&student)).map(given),
            },
            Phase::Revealed => self.revealed_moment(student),
            Phase::Skipped { round, .. } => Moment::Skipped { round: *round, of },
            Phase::Ended(why) => {
                let places = self.places.of(self.review);
                let own = places.iter().find(|place| Some(place.student) == student);
                Moment::Ended {
                    why: *why,
                    summary: own.map(|place| self.summary(*place, places.len())),
                    standings: self.standing_rows(&places),
                }
            }
        }
    }

    /// What is planned of the round at hand, or between rounds of the next, and why.
    pub(super) fn coming(&self) -> Option<Coming> {
        let round = match self.review.phase() {
            Phase::Open(round) => round.round,
            Phase::Closed(record) => record.round,
            Phase::Gathering | Phase::Revealed | Phase::Skipped { .. } => self.review.coming()?.0,
            Phase::Ended(_) => return None,
        };
        let planned = self.review.plan().get(usize::from(round.0).checked_sub(1)?)?;
        let name = |muscle| self.course.name_of(muscle);
        Some(Coming {
            round,
            task: planned.task,
            muscle: name(&planned.muscle)?,
            beside: planned.beside.as_ref().and_then(name),
            why: self.review.why(round)?.to_owned(),
        })
    }

    fn open_moment(&self, round: &OpenRound, now: Millis, student: Option<StudentId>) -> Moment {
        Moment::Open {
            round: round.round,
            of: self.review.of(),
            task: round.task,
            example: self.example(round),
            offered: names(&round.offered),
            limit_ms: round.limit_ms,
            elapsed_ms: self.review.elapsed(now).0,
            paused: self.review.is_paused(),
            clues: self.clues(round.round, &round.clues, round.shown),
            clue_count: u8::try_from(round.clues.len()).unwrap_or(u8::MAX),
            given: student.and_then(|student| round.answers.get(&student)).map(given),
        }
    }

    fn revealed_moment(&self, student: Option<StudentId>) -> Moment {
        let Some(record) = self.review.rounds().last() else { return Moment::Gathering {} };
        let places = self.places.of(self.review);
        let own = places.iter().find(|place| Some(place.student) == student);
        Moment::Revealed {
            round: record.round,
            of: self.review.of(),
            reveal: Box::new(self.reveal(record)),
            result: own.and_then(|place| self.result(record, *place, places.len())),
            standings: self.standing_rows(&places),
        }
    }
}

/// The names of two muscles to choose between, or none.
pub(super) fn names(offered: &[Offered]) -> Vec<String> {
    offered.iter().map(|one| one.name.clone()).collect()
}

/// A student's own answer. A moment is told once its events are on disk, so it is recorded.
fn given(answer: &myonym_engine::Answer) -> Given {
    Given { attempt: answer.attempt, text: answer.typed.clone(), recorded: true }
}

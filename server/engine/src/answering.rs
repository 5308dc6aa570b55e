//! Taking an answer.

use myonym_content::Course;
use myonym_wire::{AttemptId, Millis, RoundNo, StudentId};

use crate::event::{Answer, Event};
use crate::input::{Answering, Decision, Refusal, Reply};
use crate::marking::{self, Marked, Said};
use crate::review::{Phase, Review};
use crate::round::OpenRound;
use crate::timing::{self, GRACE_MS};

impl Review {
    pub(crate) fn decide_answer(
        &self,
        course: &Course,
        now: Millis,
        answering: Answering,
    ) -> Decision {
        let Answering { student, round: number, attempt, .. } = answering;
        if !self.seats.contains_key(&student) {
            return Refusal::NoSuchStudent.into();
        }
        let Phase::Open(round) = &self.phase else {
            return self.late(student, number, attempt);
        };
        if round.round != number {
            return self.late(student, number, attempt);
        }
        if let Some(taken) = round.answers.get(&student) {
            return again(taken, attempt);
        }
        if let Some((before, why, among)) = round.asked.get(&student)
            && *before == attempt
        {
            let (why, among) = (*why, among.clone());
            return Reply::AskedBefore { round: number, attempt, why, among }.into();
        }
        if self.paused.is_some_and(|since| now.minus(since) > Millis(GRACE_MS)) {
            return Refusal::NotNow.into();
        }
        self.mark(course, round, now, answering)
    }

    fn mark(
        &self,
        course: &Course,
        round: &OpenRound,
        now: Millis,
        answering: Answering,
    ) -> Decision {
        let Answering { student, round: number, attempt, text: typed, claimed, sight } = answering;
        let server = self.elapsed(now).minus(sight.held);
        let credited = timing::credited(claimed, server, sight.round_trip);
        let limit_ms = round.limit_of(student);
        if limit_ms.is_some_and(|limit| credited > Millis(u64::from(limit))) {
            return Refusal::TooLate.into();
        }
        match marking::mark(course, self.settings.spelling, round, &typed) {
            Marked::Empty => Refusal::NothingTyped.into(),
            Marked::AskAgain { why, among } => {
                Event::AskedAgain { round: number, student, attempt, typed, why, among }.into()
            }
            Marked::Answer(Said { muscle, movement, name, spelling, exact, credit }) => {
                // One of two is chosen with a single key.
                let letters = match round.offered.len() {
                    0 => typed.chars().filter(|c| c.is_alphanumeric()).count(),
                    _ => 1,
                };
                let least = timing::human_least(letters).min(server);
                let answer = Answer {
                    round: number,
                    student,
                    attempt,
                    typed,
                    said: muscle,
                    movement,
                    said_name: name,
                    spelling,
                    exact,
                    credit,
                    elapsed_ms: credited.max(least).0,
                    limit_ms,
                    clues: round.shown,
                    hasty: credited < least,
                };
                Decision {
                    events: vec![Event::Answered(answer)],
                    reply: Some(Reply::Received { round: number, attempt }),
                }
            }
        }
    }

    /// An answer to a round that is not open: taken before, or too late.
    fn late(&self, student: StudentId, number: RoundNo, attempt: AttemptId) -> Decision {
        let closed = match &self.phase {
            Phase::Closed(record) => Some(&**record),
            Phase::Gathering
            | Phase::Open(_)
            | Phase::Revealed
            | Phase::Skipped { .. }
            | Phase::Ended(_) => None,
        };
        let record = closed.into_iter().chain(&self.rounds).find(|r| r.round == number);
        match record.and_then(|record| record.answers.get(&student)) {
            Some(taken) => again(taken, attempt),
            None => Refusal::RoundNotOpen.into(),
        }
    }
}

fn again(taken: &Answer, attempt: AttemptId) -> Decision {
    if taken.attempt == attempt {
        Reply::Taken { round: taken.round, attempt }.into()
    } else {
        Refusal::AlreadyAnswered.into()
    }
}

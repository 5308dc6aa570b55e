//! What each student did in each round, read from the log with all that marks hang on.

use std::collections::{BTreeMap, BTreeSet};

use myonym_engine::{Answer, Event, Logged, Points, Review, RoundRecord};
use myonym_insight::analysis::Named;
use myonym_insight::export::{AnswerRecord, Score};
use myonym_insight::own::OwnRound;
use myonym_wire::{Millis, ScoreRule, Seq, StudentId, Verdict};

use crate::clock;
use crate::names;
use crate::pseudonyms::{Pseudonyms, Who};
use crate::reading::Held;
use crate::store::{Log as _, SeatRow, SqliteLog, StoreError};

/// A review read in full.
pub(crate) struct Read {
    /// The review as it was held.
    pub(crate) held: Held,
    /// Its seats.
    pub(crate) seats: BTreeMap<StudentId, SeatRow>,
    rounds: Vec<RoundRecord>,
    /// When each answer of a round came.
    came: BTreeMap<(u16, StudentId), Millis>,
}

/// What one student did in one round.
struct Did<'a> {
    student: StudentId,
    record: &'a RoundRecord,
    verdict: Verdict,
    points: Points,
    answer: Option<&'a Answer>,
}

impl Read {
    /// Reads a review; of a group alone if one is named.
    pub(crate) fn of(
        log: &SqliteLog,
        held: &Held,
        group: Option<&str>,
    ) -> Result<Self, StoreError> {
        let review = held.header.review;
        let events = log.read(review, Seq(0))?;
        let replayed = Review::replay(&events)
            .ok_or_else(|| log.damaged(review, 1, &"it does not begin as a review does"))?;
        let inside = |seat: &SeatRow| {
            let of = seat.group.as_deref();
            group.is_none_or(|group| of.is_some_and(|of| names::alike(of, group)))
        };
        let seats = log.seats(review)?.into_iter().filter(inside);
        Ok(Self {
            held: held.clone(),
            seats: seats.map(|seat| (seat.student, seat)).collect(),
            rounds: replayed.rounds().to_vec(),
            came: came(&events),
        })
    }

    /// Who sits on a seat, in all reviews.
    pub(crate) fn who(seat: &SeatRow) -> Who {
        Who::of(seat.student, seat.person)
    }

    /// The rounds of some of its students, in order.
    pub(crate) fn own_rounds(&self, students: &BTreeSet<StudentId>) -> Vec<(StudentId, OwnRound)> {
        let opened = clock::wall_text(self.held.header.opened);
        let own = |did: Did<'_>| {
            let round = OwnRound {
                word: self.held.header.word.to_string(),
                opened: opened.clone(),
                round: did.record.round,
                task: did.record.task,
                asked: asked(did.record),
                said: did.answer.and_then(said),
                verdict: did.verdict,
                elapsed_ms: did.answer.map(|answer| answer.elapsed_ms),
                points: did.points.as_f64(),
            };
            (did.student, round)
        };
        self.done().filter(|did| students.contains(&did.student)).map(own).collect()
    }

    /// Its answers as they leave the program.
    pub(crate) fn records(&self, pseudonyms: &Pseudonyms) -> Vec<AnswerRecord> {
        let names: BTreeMap<StudentId, String> = (self.seats.values())
            .map(|seat| (seat.student, pseudonyms.pseudonym(Self::who(seat))))
            .collect();
        let record = |did: Did<'_>| {
            let answer = did.answer?;
            Some(AnswerRecord {
                pseudonym: names.get(&did.student)?.clone(),
                review: self.held.header.review,
                opened_s: self.held.header.opened,
                section: self.held.settings.section.clone(),
                list: self.held.settings.list_name.clone(),
                round: did.record.round,
                task: did.record.task,
                asked: asked(did.record),
                answer: answer.said_name.clone(),
                right: answer.exact,
                score: score(self.held.settings.rule, did.points)?,
                elapsed_ms: answer.elapsed_ms,
                at_ms: self.came.get(&(did.record.round.0, did.student))?.0,
            })
        };
        self.done().filter_map(record).collect()
    }

    /// What those with a seat did, round after round.
    fn done(&self) -> impl Iterator<Item = Did<'_>> {
        let rule = self.held.settings.rule;
        self.rounds.iter().flat_map(move |record| {
            self.seats.keys().filter_map(move |student| {
                let (verdict, points) = record.result(*student, rule)?;
                let answer = record.answers.get(student);
                Some(Did { student: *student, record, verdict, points, answer })
            })
        })
    }
}

fn came(events: &[Logged]) -> BTreeMap<(u16, StudentId), Millis> {
    let mut came = BTreeMap::new();
    for logged in events {
        if let Event::Answered(answer) = &logged.event {
            came.entry((answer.round.0, answer.student)).or_insert(logged.at);
        }
    }
    came
}

fn asked(record: &RoundRecord) -> Named {
    Named { key: record.muscle.clone(), name: record.name.clone() }
}

fn said(answer: &Answer) -> Option<Named> {
    let name = answer.said_name.clone()?;
    let key = answer.said.clone().unwrap_or_else(|| myonym_content::MuscleKey::new(""));
    Some(Named { key, name })
}

/// Points with the range that the rule gives them.
fn score(rule: ScoreRule, points: Points) -> Option<Score> {
    let least = match rule {
        ScoreRule::SpeedWeighted => 0.0,
        ScoreRule::SignedResidualTime => -100.0,
    };
    let raw = points.as_f64().clamp(least, 100.0);
    Score::new(raw, least, 100.0, raw / 100.0)
}

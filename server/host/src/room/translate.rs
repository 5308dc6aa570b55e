//! From an event to what is told of it, and to whom. This is the one place that decides it:
//! nothing that a student hears before a reveal holds the answer.

use std::collections::BTreeMap;

use myonym_content::{Clue, Course, Difference, MuscleKey};
use myonym_engine::{
    Event, Logged, Phase, Refusal, RevealContrast, Review, RoundRecord, Seat, SpellingFound,
    Standing, standings,
};
use myonym_insight::Tally;
use myonym_wire::limits::close;
use myonym_wire::{
    Again, ClueShown, ContrastShown, DifferenceShown, ErrorCode, NamePair, OwnResult, Reveal,
    RollRow, RoundNo, Seq, SpreadRow, StandingRow, StudentId, Summary, SummaryRow, ToInstructor,
    ToStudent, Verdict, WeakSpots,
};

use super::audience::{To, Told};

/// Lines of the standings that the class sees.
const STANDINGS: usize = 10;
/// Muscles that a summary asks a student to look at again.
const AGAIN: usize = 6;
/// Weak spots shown to the instructor.
const WEAK_SPOTS: usize = 8;

/// A review just after an event, with what is needed to speak of it.
#[derive(Debug, Clone, Copy)]
pub(super) struct View<'a> {
    pub(super) review: &'a Review,
    pub(super) course: &'a Course,
    pub(super) names: &'a BTreeMap<StudentId, String>,
    pub(super) tally: &'a Tally,
}

impl View<'_> {
    /// What is told of an event, in order.
    pub(super) fn tell(&self, logged: &Logged) -> Vec<Told> {
        let seq = logged.seq;
        match &logged.event {
            // What changes on the roll is told of many students together.
            Event::Opened { .. }
            | Event::Restarted {}
            | Event::Seated { .. }
            | Event::Back { .. }
            | Event::Away { .. } => Vec::new(),
            Event::Removed { student } => removed(*student),
            Event::Stretched { student, time } => {
                let own = ToStudent::TimeChanged { time: *time };
                vec![Told::text(To::Student(*student), &own)]
            }
            Event::RoundOpened { round, clues, limit_ms, .. } => {
                self.round_opened(seq, *round, clues, *limit_ms)
            }
            Event::ClueShown { round, number } => self.clue(seq, *round, *number),
            Event::Answered(answer) => {
                let (round, attempt) = (answer.round, answer.attempt);
                let own = ToStudent::Recorded { round, attempt };
                vec![Told::text(To::Student(answer.student), &own)]
            }
            Event::AskedAgain { round, student, attempt, why, among, .. } => {
                let again = asked_again(*round, *attempt, *why, among.clone());
                vec![Told::text(To::Student(*student), &again)]
            }
            Event::Paused {} => {
                let elapsed_ms = self.review.elapsed(logged.at).0;
                vec![Told::text(To::All, &ToStudent::Paused { seq, elapsed_ms })]
            }
            Event::Resumed {} => {
                let elapsed_ms = self.review.elapsed(logged.at).0;
                vec![Told::text(To::All, &ToStudent::Resumed { seq, elapsed_ms })]
            }
            Event::RoundClosed { round, why, .. } => self.round_closed(seq, *round, *why),
            Event::RoundSkipped { round } => {
                vec![Told::text(To::All, &ToStudent::RoundSkipped { seq, round: *round })]
            }
            Event::Revealed { round, .. } => self.revealed(seq, *round),
            Event::Ended { why } => {
                let mut told = vec![Told::text(To::All, &ToStudent::Ended { seq, why: *why })];
                told.extend(self.farewells());
                told
            }
        }
    }

    /// A student's line on the roll.
    pub(super) fn roll_row(&self, student: StudentId) -> Option<RollRow> {
        Some(self.row(student, self.review.seats().get(&student)?))
    }

    /// Everyone with a seat.
    pub(super) fn roll(&self) -> Vec<RollRow> {
        self.review.seats().iter().map(|(student, seat)| self.row(*student, seat)).collect()
    }

    fn row(&self, student: StudentId, seat: &Seat) -> RollRow {
        let answered = match self.review.phase() {
            Phase::Open(round) => round.answers.contains_key(&student),
            Phase::Gathering
            | Phase::Closed(_)
            | Phase::Revealed
            | Phase::Skipped { .. }
            | Phase::Ended(_) => false,
        };
        let name = self.name(student);
        RollRow { student, name, present: seat.present, answered, time: seat.time }
    }

    pub(super) fn name(&self, student: StudentId) -> String {
        self.names.get(&student).cloned().unwrap_or_default()
    }

    fn round_opened(&self, seq: Seq, round: RoundNo, clues: &[Clue], limit_ms: u32) -> Vec<Told> {
        let Some(first) = clues.first() else { return Vec::new() };
        let clue_count = u8::try_from(clues.len()).unwrap_or(u8::MAX);
        let of = self.review.of();
        let clue = clue_shown(first);
        vec![Told::text(
            To::All,
            &ToStudent::RoundOpened { seq, round, of, limit_ms, clue_count, clue },
        )]
    }

    fn clue(&self, seq: Seq, round: RoundNo, number: u8) -> Vec<Told> {
        let Phase::Open(open) = self.review.phase() else { return Vec::new() };
        let clue = open.clues.get(usize::from(number).saturating_sub(1)).map(clue_shown);
        let message = clue.map(|clue| ToStudent::Clue { seq, round, number, clue });
        message.map(|message| Told::text(To::All, &message)).into_iter().collect()
    }

    fn round_closed(&self, seq: Seq, round: RoundNo, why: myonym_wire::CloseWhy) -> Vec<Told> {
        let Phase::Closed(record) = self.review.phase() else { return Vec::new() };
        let message = ToStudent::RoundClosed {
            seq,
            round,
            why,
            answered: count(record.answers.len()),
            seated: count(self.review.seats().len()),
        };
        vec![Told::text(To::All, &message)]
    }

    fn revealed(&self, seq: Seq, round: RoundNo) -> Vec<Told> {
        let Some(record) = self.review.rounds().last() else { return Vec::new() };
        let reveal = Box::new(reveal(record));
        let mut told = vec![Told::text(To::All, &ToStudent::Revealed { seq, round, reveal })];
        let places = standings(self.review);
        for standing in &places {
            if let Some(result) = self.result(record, *standing, places.len()) {
                told.push(Told::text(To::Student(standing.student), &ToStudent::Result(result)));
            }
        }
        let (rows, of) = (self.standing_rows(&places), count(places.len()));
        told.push(Told::text(To::All, &ToStudent::Standings { seq, rows, of }));
        told.push(Told::text(To::Instructors, &ToInstructor::WeakSpots(self.weak_spots())));
        told
    }

    /// Each student's own summary and the standings, the weak spots, then the end.
    fn farewells(&self) -> Vec<Told> {
        let places = standings(self.review);
        let mut told = Vec::new();
        for standing in &places {
            let summary = self.summary(*standing, places.len());
            told.push(Told::text(To::Student(standing.student), &ToStudent::Summary(summary)));
        }
        told.push(Told::text(To::Instructors, &ToInstructor::WeakSpots(self.weak_spots())));
        for standing in &places {
            told.push(Told::close(
                To::Student(standing.student),
                close::NORMAL,
                "the review is over",
            ));
        }
        told
    }

    /// One student's result of a round; `None` for one who was not here.
    pub(super) fn result(
        &self,
        record: &RoundRecord,
        standing: Standing,
        of: usize,
    ) -> Option<OwnResult> {
        let (verdict, points) = record.result(standing.student, self.review.settings().rule)?;
        Some(OwnResult {
            round: record.round,
            verdict,
            answer: answer_name(record, standing.student),
            points: points.as_f64(),
            total: standing.points.as_f64(),
            place: standing.place,
            of: count(of),
        })
    }

    /// The first places, with the names of those who asked to be listed.
    pub(super) fn standing_rows(&self, places: &[Standing]) -> Vec<StandingRow> {
        let listed =
            |student: &StudentId| self.review.seats().get(student).is_some_and(|seat| seat.listed);
        places
            .iter()
            .take(STANDINGS)
            .map(|standing| StandingRow {
                place: standing.place,
                name: listed(&standing.student).then(|| self.name(standing.student)),
                points: standing.points.as_f64(),
            })
            .collect()
    }

    /// One student's review, looked back on.
    pub(super) fn summary(&self, standing: Standing, of: usize) -> Summary {
        let student = standing.student;
        let rule = self.review.settings().rule;
        let rounds: Vec<SummaryRow> = self
            .review
            .rounds()
            .iter()
            .filter_map(|record| {
                let (verdict, points) = record.result(student, rule)?;
                Some(SummaryRow {
                    round: record.round,
                    asked: record.name.clone(),
                    verdict,
                    answer: answer_name(record, student),
                    points: points.as_f64(),
                })
            })
            .collect();
        Summary {
            rounds,
            again: self.again(student),
            total: standing.points.as_f64(),
            place: standing.place,
            of: count(of),
        }
    }

    /// What a student got wrong: confusions first, then silence; each muscle once.
    fn again(&self, student: StudentId) -> Vec<Again> {
        let mut confused = Vec::new();
        let mut silent = Vec::new();
        for record in self.review.rounds() {
            match record.answers.get(&student) {
                Some(answer) if !answer.exact => {
                    let said = answer.said.as_ref().filter(|said| **said != record.muscle);
                    confused.push(Again {
                        muscle: record.name.clone(),
                        said: answer.said_name.clone(),
                        apart: said.and_then(|said| self.apart(&record.muscle, said)),
                    });
                }
                None if record.silent.contains(&student) => {
                    silent.push(Again { muscle: record.name.clone(), said: None, apart: None });
                }
                Some(_) | None => {}
            }
        }
        let mut again: Vec<Again> = Vec::new();
        for row in confused.into_iter().chain(silent) {
            if !again.iter().any(|kept| kept.muscle == row.muscle) {
                again.push(row);
            }
        }
        again.truncate(AGAIN);
        again
    }

    /// The feature that most tells two muscles apart.
    fn apart(&self, asked: &MuscleKey, said: &MuscleKey) -> Option<DifferenceShown> {
        let contrast = self.course.contrast(asked, said)?;
        contrast.apart.first().map(difference)
    }

    /// The class's weak spots so far.
    pub(super) fn weak_spots(&self) -> WeakSpots {
        let contrast = |asked: &MuscleKey, said: &MuscleKey| self.course.contrast(asked, said);
        myonym_insight::weak_spots(contrast, self.tally, WEAK_SPOTS)
    }
}

/// The reveal of a round.
pub(super) fn reveal(record: &RoundRecord) -> Reveal {
    let spread = myonym_engine::spread(&record.answers);
    Reveal {
        answer: NamePair { name: record.name.clone(), latin: record.latin.clone() },
        clues: record.clues.iter().map(clue_shown).collect(),
        spread: spread_rows(spread),
        silent: count(record.silent.len()),
        contrast: record.contrast.as_ref().map(|contrast| contrast_shown(record, contrast)),
    }
}

/// Whose line on the roll an event changes.
pub(super) fn roll_change(event: &Event) -> Option<StudentId> {
    match event {
        Event::Seated { student, .. }
        | Event::Back { student }
        | Event::Away { student, .. }
        | Event::Stretched { student, .. }
        | Event::AskedAgain { student, .. } => Some(*student),
        Event::Answered(answer) => Some(answer.student),
        Event::Opened { .. }
        | Event::Removed { .. }
        | Event::RoundOpened { .. }
        | Event::ClueShown { .. }
        | Event::Paused {}
        | Event::Resumed {}
        | Event::RoundClosed { .. }
        | Event::RoundSkipped { .. }
        | Event::Revealed { .. }
        | Event::Restarted {}
        | Event::Ended { .. } => None,
    }
}

/// What a student hears whose typed name is no answer yet.
pub(super) fn asked_again(
    round: RoundNo,
    attempt: myonym_wire::AttemptId,
    why: myonym_engine::AskedAgainWhy,
    names: Vec<String>,
) -> ToStudent {
    match why {
        myonym_engine::AskedAgainWhy::WhichOne => {
            ToStudent::WhichOne { round, attempt, among: names }
        }
        myonym_engine::AskedAgainWhy::UnknownName => {
            ToStudent::UnknownName { round, attempt, nearest: names }
        }
    }
}

/// A refusal as code and sentence.
pub(super) fn refused(refusal: Refusal) -> (ErrorCode, &'static str) {
    match refusal {
        Refusal::ReviewOver => (ErrorCode::ReviewOver, "the review is over"),
        Refusal::NotNow => (ErrorCode::NotNow, "this cannot be done at this moment of the review"),
        Refusal::RoundNotOpen => {
            (ErrorCode::RoundNotOpen, "that round takes no answers now; wait for the next")
        }
        Refusal::TooLate => (ErrorCode::TooLate, "your time for this round has passed"),
        Refusal::AlreadyAnswered => {
            (ErrorCode::AlreadyAnswered, "this round already has your answer")
        }
        Refusal::NoSuchStudent => (ErrorCode::NoSuchStudent, "no such student has a seat here"),
        Refusal::BadTime => {
            (ErrorCode::BadField, "time is stretched by 150 to 1000 percent, or untimed")
        }
        Refusal::NothingTyped => (ErrorCode::BadField, "type the name of a muscle"),
    }
}

/// A clue as it is shown.
pub(super) fn clue_shown(clue: &Clue) -> ClueShown {
    ClueShown { kind: clue.kind.as_str().to_owned(), text: clue.text.clone() }
}

/// Rows of a spread as they are shown.
pub(super) fn spread_rows(
    spread: Vec<(String, Option<MuscleKey>, u32, Verdict)>,
) -> Vec<SpreadRow> {
    spread.into_iter().map(|(name, _, count, verdict)| SpreadRow { name, count, verdict }).collect()
}

/// A number of things as the wire counts them.
pub(super) fn count(things: usize) -> u32 {
    u32::try_from(things).unwrap_or(u32::MAX)
}

fn removed(student: StudentId) -> Vec<Told> {
    vec![
        Told::text(To::Student(student), &ToStudent::Removed {}),
        Told::close(To::Student(student), close::POLICY, "removed by the instructor"),
        Told::text(To::Instructors, &ToInstructor::Gone { student }),
    ]
}

fn answer_name(record: &RoundRecord, student: StudentId) -> Option<String> {
    let answer = record.answers.get(&student)?;
    match (answer.spelling, answer.exact) {
        // In strict spelling the slip itself is what the student has to see.
        (SpellingFound::Misspelt | SpellingFound::NoSuchName, false)
            if answer.said.as_ref() == Some(&record.muscle) || answer.said.is_none() =>
        {
            Some(answer.typed.clone())
        }
        _ => answer.said_name.clone(),
    }
}

fn contrast_shown(record: &RoundRecord, shown: &RevealContrast) -> ContrastShown {
    ContrastShown {
        asked: record.name.clone(),
        said: shown.said_name.clone(),
        count: shown.count,
        shared: shown.contrast.shared.clone(),
        apart: shown.contrast.apart.iter().map(difference).collect(),
    }
}

fn difference(difference: &Difference) -> DifferenceShown {
    DifferenceShown {
        aspect: difference.aspect.clone(),
        asked: difference.first.clone(),
        said: difference.second.clone(),
    }
}

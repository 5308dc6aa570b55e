//! From an event to what is told of it, and to whom. This is the one place that decides it:
//! nothing that a student hears before a reveal holds the answer.

use std::collections::BTreeMap;

use myonym_content::{Clue, ClueKind, Course, MuscleKey};
use myonym_engine::{Event, Logged, OpenRound, Phase, Refusal, Review, Seat, Standing};
use myonym_insight::Tally;
use myonym_wire::limits::close;
use myonym_wire::{
    Again, ClueShown, DifferenceShown, ErrorCode, RollRow, RoundNo, Seq, SpreadRow, StandingRow,
    StudentId, Summary, SummaryRow, Task, ToBoard, ToInstructor, ToStudent, Verdict, WeakSpots,
};

use super::audience::{To, Told};
use super::moment::names;
use super::picture::Pictures;
use super::places::Places;
use super::reveal::difference;

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
    pub(super) pictures: &'a Pictures,
    pub(super) places: &'a Places,
}

impl View<'_> {
    /// What is told of an event, in order.
    pub(super) fn tell(&self, logged: &Logged) -> Vec<Told> {
        let seq = logged.seq;
        match &logged.event {
            // What changes on the roll is told of many students together.
            Event::Opened { .. }
            | Event::Restarted {}
            | Event::Forgotten {}
            | Event::Seated { .. }
            | Event::Back { .. }
            | Event::Away { .. }
            // How all votes stand is told after each event.
            | Event::Voted { .. } => Vec::new(),
            Event::Removed { student } => removed(*student),
            Event::Stretched { student, time } => {
                let own = ToStudent::TimeChanged { time: *time };
                vec![Told::text(To::Student(*student), &own)]
            }
            Event::Renamed { student } => self.renamed(seq, *student),
            Event::RoundOpened { .. } => self.round_opened(seq),
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
                let skipped = ToStudent::RoundSkipped { seq, round: *round };
                vec![Told::text(To::All, &skipped)].into_iter().chain(self.comes()).collect()
            }
            Event::Revealed { round, .. } => {
                self.revealed(seq, *round).into_iter().chain(self.comes()).collect()
            }
            Event::Replanned { .. } => self.comes().into_iter().collect(),
            Event::Ended { why } => {
                let mut told = vec![Told::text(To::All, &ToStudent::Ended { seq, why: *why })];
                told.extend(self.farewells());
                told
            }
        }
    }

    /// What comes next, where it was planned; the class must not hear of it.
    fn comes(&self) -> Option<Told> {
        let coming = ToInstructor::Coming(self.coming()?);
        Some(Told::text(To::Instructors, &coming))
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

    fn round_opened(&self, seq: Seq) -> Vec<Told> {
        let Phase::Open(open) = self.review.phase() else { return Vec::new() };
        let Some(clue) = self.clues(open.round, &open.clues, 1).pop() else { return Vec::new() };
        let message = ToStudent::RoundOpened {
            seq,
            round: open.round,
            of: self.review.of(),
            task: open.task,
            example: self.example(open),
            offered: names(&open.offered),
            limit_ms: open.limit_ms,
            clue_count: u8::try_from(open.clues.len()).unwrap_or(u8::MAX),
            clue,
        };
        vec![Told::text(To::All, &message)]
    }

    /// A movement in the form wanted, where one is asked for.
    pub(super) fn example(&self, open: &OpenRound) -> Option<String> {
        let is_wanted = open.task == Task::Movement;
        is_wanted.then(|| myonym_engine::example(self.course, &open.muscle, open.round.0)).flatten()
    }

    /// The first clues of a round as they are shown before its reveal.
    pub(super) fn clues(&self, round: RoundNo, clues: &[Clue], shown: u8) -> Vec<ClueShown> {
        let with_picture = |clue: &Clue| {
            let picture = self.pictures.clue(round).filter(|_| clue.kind == ClueKind::Picture);
            ClueShown { picture: picture.cloned().map(Box::new), ..clue_shown(clue) }
        };
        clues.iter().take(usize::from(shown)).map(with_picture).collect()
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

    /// Each student's own summary and the standings, the weak spots, then the end.
    fn farewells(&self) -> Vec<Told> {
        let places = self.places.of(self.review);
        let mut told = Vec::new();
        for standing in &*places {
            let summary = self.summary(*standing, places.len());
            told.push(Told::text(To::Student(standing.student), &ToStudent::Summary(summary)));
        }
        let weak_spots = self.weak_spots();
        told.push(Told::text(To::Boards, &ToBoard::WeakSpots(weak_spots.clone())));
        told.push(Told::text(To::Instructors, &ToInstructor::WeakSpots(weak_spots)));
        for standing in &*places {
            told.push(Told::close(
                To::Student(standing.student),
                close::NORMAL,
                "the review is over",
            ));
        }
        told
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
                    task: record.task,
                    asked: record.name.clone(),
                    verdict,
                    answer: self.answer_name(record, student),
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

    /// What a student got wrong: confusions first, then silence; the name and the movement of each
    /// muscle once.
    fn again(&self, student: StudentId) -> Vec<Again> {
        let mut confused = Vec::new();
        let mut silent = Vec::new();
        for record in self.review.rounds() {
            match record.answers.get(&student) {
                Some(answer) if !answer.exact => {
                    let said = answer.said.as_ref().filter(|said| **said != record.muscle);
                    confused.push(Again {
                        task: record.task,
                        muscle: record.name.clone(),
                        said: answer.said_name.clone(),
                        apart: said.and_then(|said| self.apart(&record.muscle, said)),
                    });
                }
                None if record.silent.contains(&student) => {
                    let (task, muscle) = (record.task, record.name.clone());
                    silent.push(Again { task, muscle, said: None, apart: None });
                }
                Some(_) | None => {}
            }
        }
        let mut again: Vec<Again> = Vec::new();
        for row in confused.into_iter().chain(silent) {
            let moves = |again: &Again| again.task == Task::Movement;
            let same = |kept: &Again| kept.muscle == row.muscle && moves(kept) == moves(&row);
            if !again.iter().any(same) {
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

/// Whose line on the roll an event changes.
pub(super) fn roll_change(event: &Event) -> Option<StudentId> {
    match event {
        Event::Seated { student, .. }
        | Event::Back { student }
        | Event::Away { student, .. }
        | Event::Stretched { student, .. }
        | Event::Renamed { student }
        | Event::AskedAgain { student, .. } => Some(*student),
        Event::Answered(answer) => Some(answer.student),
        Event::Opened { .. }
        | Event::Replanned { .. }
        | Event::Removed { .. }
        | Event::Voted { .. }
        | Event::RoundOpened { .. }
        | Event::ClueShown { .. }
        | Event::Paused {}
        | Event::Resumed {}
        | Event::RoundClosed { .. }
        | Event::RoundSkipped { .. }
        | Event::Revealed { .. }
        | Event::Restarted {}
        | Event::Forgotten {}
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
        Refusal::NoSuchMuscle => (ErrorCode::BadField, "no such muscle is on the list"),
        Refusal::NoGroup => {
            (ErrorCode::NotAllowed, "only the members of a study group may do this")
        }
        Refusal::NothingTyped => (ErrorCode::BadField, "type an answer"),
    }
}

/// A clue as it is shown, without a picture.
pub(super) fn clue_shown(clue: &Clue) -> ClueShown {
    ClueShown { kind: clue.kind.as_str().to_owned(), text: clue.text.clone(), picture: None }
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

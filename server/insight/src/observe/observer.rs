//! From logs to observations.

use std::collections::BTreeMap;

use myonym_content::Clue;
use myonym_content::name::fold;
use myonym_engine::{Event, Offered, SpellingFound, score};
use myonym_wire::{CloseWhy, RoundNo, StudentId, Task, Verdict};

use super::contrasted::{Choice, NO_ROUND};
use super::lean::LeanAnswer;
use super::table::{MuscleId, Observations, Outcome, PersonId, ReviewTag, RoundTag, Row};

/// A student's seat in one review.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sitting {
    /// The number in the log.
    pub student: StudentId,
    /// A number that is the same in all reviews of one device; `None` where it was not kept.
    pub person: Option<[u8; 32]>,
    /// The group that the student gave, such as a bench of the lab.
    pub group: Option<String>,
}

/// Reads reviews one after another, each event in order, and fills the table.
///
/// Only rounds that were revealed count. Who was absent is not asked; a student has at most one row
/// in a round. Rounds that ask for a movement are no evidence of a name and are left out; those that
/// offer two are kept apart ([`Observations::contrasted`]).
#[derive(Debug, Default)]
pub struct Observer {
    pub(super) table: Observations,
    pub(super) persons: BTreeMap<[u8; 32], PersonId>,
    seats: Seats,
    review: u32,
    pub(super) pending: Option<Pending>,
}

/// A round that is not revealed yet.
#[derive(Debug)]
pub(super) struct Pending {
    round: RoundNo,
    asked: MuscleId,
    /// The other muscle offered, where one of two was to be chosen.
    beside: Option<MuscleId>,
    picture: bool,
    clues: Vec<Clue>,
    shown: u8,
    rows: Vec<Row>,
    answered: Answered,
    misspelt: Vec<(MuscleId, String)>,
}

/// Who sits where in the review at hand, in order of the students' numbers. A term has a million
/// look-ups and few seats in a review, so they lie side by side.
#[derive(Debug, Default)]
struct Seats(Vec<(u128, PersonId)>);

impl Seats {
    /// Of a student who sits twice the later seat counts.
    fn of(mut seats: Vec<(u128, PersonId)>) -> Self {
        seats.reverse();
        seats.sort_by_key(|seat| seat.0);
        seats.dedup_by_key(|seat| seat.0);
        Self(seats)
    }

    /// The student's place in the order, or where it would be.
    fn find(&self, student: StudentId) -> Result<PersonId, usize> {
        let found = self.0.binary_search_by_key(&student.0.as_u128(), |seat| seat.0);
        found.map(|at| self.0[at].1)
    }
}

/// Who has answered, by the person's number.
#[derive(Debug, Default)]
struct Answered(Vec<bool>);

impl Answered {
    /// Whether it is the person's first answer.
    fn insert(&mut self, person: PersonId) -> bool {
        let Ok(at) = usize::try_from(person.0) else { return false };
        if at >= self.0.len() {
            self.0.resize(at + 1, false);
        }
        !std::mem::replace(&mut self.0[at], true)
    }
}

impl Observer {
    /// Begins a review.
    pub fn begin(&mut self, tag: ReviewTag, seats: impl IntoIterator<Item = Sitting>) {
        self.pending = None;
        self.review = self.table.add_review(tag);
        let seat = |Sitting { student, person, group }: Sitting| {
            let id = match person.and_then(|person| self.persons.get(&person)) {
                Some(known) => *known,
                None => self.table.add_person(group),
            };
            if let Some(person) = person {
                self.persons.insert(person, id);
            }
            (student.0.as_u128(), id)
        };
        self.seats = Seats::of(seats.into_iter().map(seat).collect());
    }

    /// Takes an event of the review that was begun. One that does not fit changes nothing.
    pub fn event(&mut self, event: &Event) {
        match event {
            Event::Opened { settings, .. } if settings.adaptive => {
                self.table.mark_adaptive(self.review);
            }
            Event::RoundOpened { round, task, muscle, name, clues, offered, .. } => {
                let other = offered.iter().find(|other| other.muscle != *muscle);
                self.open(*round, *task, (muscle.as_str(), name), clues, other);
            }
            Event::ClueShown { round, number } => {
                if let Some(open) = self.open_round(*round) {
                    open.shown = *number;
                }
            }
            Event::Answered(answer) => self.answer(&LeanAnswer::from(answer)),
            Event::RoundClosed { round, why, silent, .. } => self.close(*round, *why, silent),
            Event::RoundSkipped { round } => {
                self.pending.take_if(|open| open.round == *round);
            }
            Event::Revealed { round, .. } => self.reveal(*round),
            Event::Ended { .. } => self.pending = None,
            Event::Opened { .. }
            | Event::Replanned { .. }
            | Event::Seated { .. }
            | Event::Back { .. }
            | Event::Away { .. }
            | Event::Removed { .. }
            | Event::Stretched { .. }
            | Event::Renamed { .. }
            | Event::AskedAgain { .. }
            | Event::Voted { .. }
            | Event::Paused {}
            | Event::Resumed {}
            | Event::Restarted {}
            | Event::Forgotten {} => {}
        }
    }

    /// Takes an answer: the same as its event, read faster.
    pub fn answer(&mut self, answer: &LeanAnswer<'_>) {
        let person = self.person(answer.student);
        let said = answer.said.as_deref();
        let said = said.and_then(|key| match self.asked(key) {
            Some(asked) => Some(asked),
            None => self.table.intern(key, answer.said_name.as_deref()),
        });
        let review = self.review;
        let Some(open) = self.open_round(answer.round) else { return };
        if !open.answered.insert(person) {
            return;
        }
        let misspelt = answer.spelling == SpellingFound::Misspelt;
        let outcome = match said {
            Some(said) if said != open.asked => match score::verdict(answer.exact, answer.credit) {
                Verdict::Near => Outcome::Near(said),
                Verdict::Right | Verdict::Wrong | Verdict::Silent => Outcome::Said(said),
            },
            Some(_) if answer.exact => Outcome::Right,
            Some(_) | None => Outcome::NoName,
        };
        if let Some(said) = said.filter(|_| misspelt) {
            open.misspelt.push((said, fold(&answer.typed)));
        }
        open.rows.push(Row {
            review,
            person,
            round: 0,
            asked: open.asked,
            outcome,
            clues: answer.clues,
            misspelt,
            elapsed_ms: u32::try_from(answer.elapsed_ms).unwrap_or(u32::MAX),
        });
    }

    /// The table of what was read so far, the round that is not revealed left out.
    pub fn so_far(&self) -> &Observations {
        &self.table
    }

    /// The table of all that was read.
    pub fn finish(self) -> Observations {
        self.table
    }

    fn open(
        &mut self,
        round: RoundNo,
        task: Task,
        (key, name): (&str, &str),
        clues: &[Clue],
        other: Option<&Offered>,
    ) {
        self.pending = None;
        let asked = self.table.intern(key, Some(name));
        let other =
            other.and_then(|other| self.table.intern(other.muscle.as_str(), Some(&other.name)));
        let is_counted = match task {
            Task::Name | Task::Picture => true,
            Task::Contrast => other.is_some(),
            Task::Movement => false,
        };
        if let Some(asked) = asked.filter(|_| is_counted) {
            self.pending = Some(Pending {
                round,
                asked,
                beside: other,
                picture: task == Task::Picture,
                clues: clues.to_vec(),
                shown: 1,
                rows: Vec::new(),
                answered: Answered::default(),
                misspelt: Vec::new(),
            });
        }
    }

    fn close(&mut self, round: RoundNo, why: CloseWhy, silent: &[StudentId]) {
        let persons: Vec<PersonId> = silent.iter().map(|student| self.person(*student)).collect();
        let review = self.review;
        let Some(open) = self.open_round(round) else { return };
        let outcome = match why {
            CloseWhy::TimeUp => Outcome::TimedOut,
            CloseWhy::AllAnswered | CloseWhy::Instructor => Outcome::Omitted,
        };
        for person in persons {
            if open.answered.insert(person) {
                open.rows.push(Row {
                    review,
                    person,
                    round: 0,
                    asked: open.asked,
                    outcome,
                    clues: open.shown,
                    misspelt: false,
                    elapsed_ms: 0,
                });
            }
        }
    }

    fn reveal(&mut self, round: RoundNo) {
        let Some(open) = self.pending.take_if(|open| open.round == round) else { return };
        if let Some(beside) = open.beside {
            let choices = open.rows.into_iter();
            let choice = |row| Choice { row: Row { round: NO_ROUND, ..row }, beside };
            self.table.choices.extend(choices.map(choice));
            return;
        }
        let Pending { asked, picture, clues, .. } = open;
        let (review, number) = (self.review, round.0);
        let tag = RoundTag { review, number, asked, picture, clues };
        let round = self.table.add_round(tag);
        for row in open.rows {
            self.table.push(Row { round, ..row });
        }
        for form in open.misspelt {
            *self.table.misspelt.entry(form).or_default() += 1;
        }
    }

    /// The muscle that the open round asks, if this is its key: most answers are right, and comparing
    /// is quicker than looking up.
    fn asked(&self, key: &str) -> Option<MuscleId> {
        let asked = self.pending.as_ref()?.asked;
        self.table.key(asked).filter(|known| known.as_str() == key).map(|_| asked)
    }

    fn open_round(&mut self, round: RoundNo) -> Option<&mut Pending> {
        self.pending.as_mut().filter(|open| open.round == round)
    }

    /// The person of a seat; a seat that was not announced is somebody new.
    fn person(&mut self, student: StudentId) -> PersonId {
        self.seats.find(student).unwrap_or_else(|at| {
            let person = self.table.add_person(None);
            self.seats.0.insert(at, (student.0.as_u128(), person));
            person
        })
    }
}

//! Logs of invented reviews.

use std::iter::repeat_n;

use myonym_content::{Catalogue, ListKey, MovementKey, MuscleKey, problem::SourceFile};
use myonym_engine::{
    Answer, AskedAgainWhy, Event, Logged, Offered, SCHEMA, SaidMovement, Settings, SpellingFound,
};
use myonym_insight::analysis::{Analysis, ReviewWords, analyse};
use myonym_insight::observe::{Observations, Observer, ReviewTag};
use myonym_insight::{ReviewInfo, Tally};
use myonym_wire::{
    AttemptId, CloseWhy, EndWhy, Millis, Pace, ReviewId, RoundNo, ScoreRule, Seq, Spelling,
    StudentId, Task,
};

/// What one student did in a round.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Turn {
    /// The right muscle after so many milliseconds.
    Right(u64),
    /// The right muscle, spelt so; counts as right.
    Misspelt(&'static str),
    /// The right muscle, spelt so in a review with strict spelling; counts as wrong.
    MisspeltStrict(&'static str),
    /// Another muscle, with so much credit.
    Said(&'static str, f64),
    /// A name that no muscle has, in a review with strict spelling.
    NoSuch(&'static str),
    /// A movement, with so much credit.
    Moves(&'static str, f64),
    /// There, and no answer.
    Silent,
    /// Not there.
    Absent,
}

/// How a round ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    Revealed,
    SkippedOpen,
    SkippedClosed,
    Closed,
    Open,
}

/// A name typed that was no answer yet: by which student, what, why.
pub type Again = (usize, &'static str, AskedAgainWhy);

/// A log being written.
#[derive(Debug, Clone)]
pub struct Log {
    review: u128,
    rounds: u16,
    task: Task,
    /// What is offered beside each muscle asked, where one of two is to be chosen.
    beside: Option<&'static str>,
    pub events: Vec<Logged>,
}

impl Log {
    /// A review of the list `shoulder` that has just opened.
    pub fn open(review: u128) -> Self {
        let settings = Settings {
            list: ListKey::new("shoulder"),
            list_name: "shoulder".to_owned(),
            limit_ms: 45_000,
            rule: ScoreRule::SpeedWeighted,
            spelling: Spelling::Tolerant,
            pace: Pace::Instructor,
            adaptive: false,
            section: None,
        };
        let review_id = ReviewId(uuid::Uuid::from_u128(review));
        let mut log =
            Self { review, rounds: 0, task: Task::Name, beside: None, events: Vec::new() };
        log.push(Event::Opened {
            schema: SCHEMA,
            review: review_id,
            settings,
            seed: 1,
            plan: Vec::new(),
            tasks: Vec::new(),
            beside: Vec::new(),
            why: Vec::new(),
        });
        log
    }

    /// From here on rounds ask for this.
    pub fn asking(mut self, task: Task) -> Self {
        self.task = task;
        self
    }

    /// From here on rounds offer this muscle beside the one asked.
    pub fn offering(self, beside: &'static str) -> Self {
        Self { task: Task::Contrast, beside: Some(beside), ..self }
    }

    fn offered(&self, asked: &str) -> Vec<Offered> {
        let offer = |name: &str| Offered { muscle: key(name), name: name.to_owned() };
        let beside = self.beside.filter(|_| self.task == Task::Contrast);
        beside.map(|beside| vec![offer(beside), offer(asked)]).unwrap_or_default()
    }

    /// A round that was revealed.
    pub fn round(self, asked: &str, turns: &[Turn]) -> Self {
        self.round_with(asked, turns, &[], End::Revealed)
    }

    /// A round; `again` comes before the answers.
    pub fn round_with(mut self, asked: &str, turns: &[Turn], again: &[Again], end: End) -> Self {
        self.rounds += 1;
        let round = RoundNo(self.rounds);
        self.push(Event::RoundOpened {
            round,
            task: self.task,
            muscle: key(asked),
            name: asked.to_owned(),
            latin: format!("musculus {asked}"),
            offered: self.offered(asked),
            clues: Vec::new(),
            limit_ms: 45_000,
        });
        for (number, (student, typed, why)) in again.iter().enumerate() {
            self.push(Event::AskedAgain {
                round,
                student: self.student(*student),
                attempt: AttemptId(uuid::Uuid::from_u128(1_000 + number as u128)),
                typed: (*typed).to_owned(),
                why: *why,
                among: Vec::new(),
            });
        }
        for (number, turn) in turns.iter().enumerate() {
            if let Some(answer) = answer(round, self.student(number), asked, *turn) {
                self.push(Event::Answered(answer));
            }
        }
        self.end_round(round, turns, end);
        self
    }

    pub fn ended(mut self) -> Self {
        self.push(Event::Ended { why: EndWhy::Finished });
        self
    }

    pub fn push(&mut self, event: Event) {
        let number = self.events.len() as u64 + 1;
        self.events.push(Logged { seq: Seq(number), at: Millis(number * 1_000), event });
    }

    fn end_round(&mut self, round: RoundNo, turns: &[Turn], end: End) {
        let silent =
            |(number, turn): (usize, &Turn)| (*turn == Turn::Silent).then(|| self.student(number));
        let silent = turns.iter().enumerate().filter_map(silent).collect();
        if matches!(end, End::Revealed | End::SkippedClosed | End::Closed) {
            self.push(Event::RoundClosed { round, why: CloseWhy::TimeUp, silent });
        }
        match end {
            End::Revealed => self.push(Event::Revealed { round, contrast: None }),
            End::SkippedOpen | End::SkippedClosed => self.push(Event::RoundSkipped { round }),
            End::Closed | End::Open => {}
        }
    }

    fn student(&self, number: usize) -> StudentId {
        StudentId(uuid::Uuid::from_u128((self.review << 32) + number as u128))
    }
}

/// The key of a muscle with this name.
pub fn key(name: &str) -> MuscleKey {
    MuscleKey::new(name.replace(' ', "-"))
}

/// The count of these logs, one after the other.
pub fn tally(logs: &[Log]) -> Tally {
    let mut tally = Tally::default();
    logs.iter().flat_map(|log| &log.events).for_each(|logged| tally.add(logged));
    tally
}

/// These logs as a table, one after the other.
pub fn observed(logs: &[Log]) -> Observations {
    let mut observer = Observer::default();
    for (number, log) in (1..).zip(logs) {
        let tag = ReviewTag {
            review: ReviewId(uuid::Uuid::from_u128(number)),
            section: None,
            opened_s: 0,
            list: ListKey::new("shoulder"),
            adaptive: false,
        };
        observer.begin(tag, []);
        log.events.iter().for_each(|logged| observer.event(&logged.event));
    }
    observer.finish()
}

/// What these logs come to, put together as a host does it.
pub fn reported(logs: &[Log]) -> Analysis {
    let tally = tally(logs);
    let words = ReviewWords {
        word: "radius-talus".to_owned(),
        opened: "2026-03-02 09:15".to_owned(),
        list: "shoulder, introductory course".to_owned(),
    };
    let words = vec![words; logs.len()];
    let (table, movements) = (observed(logs), tally.movements());
    let mut found = analyse(&catalogue(), &table, &words, movements, Vec::new());
    found.unclear = tally.unclear_of_several();
    found
}

/// What a table comes to.
pub fn analysed(table: &Observations) -> Analysis {
    let words = ReviewWords { word: String::new(), opened: String::new(), list: String::new() };
    analyse(&catalogue(), table, &[words], Vec::new(), Vec::new())
}

/// `(8, Turn::Silent)` is eight silent students.
pub fn turns(groups: &[(usize, Turn)]) -> Vec<Turn> {
    groups.iter().flat_map(|(count, turn)| repeat_n(*turn, *count)).collect()
}

/// Four muscles of the shoulder.
pub fn catalogue() -> Catalogue {
    let text = include_str!("shoulder.toml").to_owned();
    let file = SourceFile { path: "shoulder.toml".to_owned(), text };
    Catalogue::load(&[file]).unwrap_or_else(|problems| panic!("{problems:#?}"))
}

/// A review as the host would describe it.
pub fn info(review: u128, students: u32, rounds: u32) -> ReviewInfo {
    ReviewInfo {
        review: ReviewId(uuid::Uuid::from_u128(review)),
        word: "radius-talus".to_owned(),
        opened: "2026-03-02 09:15".to_owned(),
        section: (review > 1).then(|| "Lab A".to_owned()),
        list: "shoulder, introductory course".to_owned(),
        students,
        rounds,
        ended: true,
        rehearsal: false,
    }
}

/// A class of 24 that takes teres minor for teres major, in five rounds of which one is skipped.
pub fn class_of_24() -> Log {
    use AskedAgainWhy::{UnknownName, WhichOne};
    let minor = [
        (6, Turn::Right(8_200)),
        (1, Turn::Right(20_400)),
        (1, Turn::Misspelt("teres miner")),
        (9, Turn::Said("teres major", 0.125)),
        (3, Turn::Said("infraspinatus", 0.2)),
        (3, Turn::Silent),
        (1, Turn::Absent),
        (1, Turn::Said("deltoid", 0.0)),
    ];
    let major =
        [(19, Turn::Right(6_900)), (2, Turn::Said("teres minor", 0.125)), (3, Turn::Silent)];
    let infra = [
        (10, Turn::Right(11_300)),
        (5, Turn::Misspelt("infraspinutus")),
        (2, Turn::Misspelt("infraspinatous")),
        (4, Turn::Said("supraspinatus", 0.05)),
        (3, Turn::Silent),
    ];
    let deltoid = [(24, Turn::Right(4_050))];
    let again = [
        (0, "Teres", WhichOne),
        (0, " teres ", WhichOne),
        (1, "teres", WhichOne),
        (2, "Rotator-cuff", UnknownName),
        (3, "rotator cuff", UnknownName),
        (4, "rotator cuff!", UnknownName),
        (5, "=HYPERLINK(1)", UnknownName),
    ];
    Log::open(1)
        .round_with("teres minor", &turns(&minor), &again, End::Revealed)
        .round("teres major", &turns(&major))
        .round_with("deltoid", &turns(&[(24, Turn::Silent)]), &[], End::SkippedClosed)
        .round("infraspinatus", &turns(&infra))
        .round("deltoid", &turns(&deltoid))
        .ended()
}

fn answer(round: RoundNo, student: StudentId, asked: &str, turn: Turn) -> Option<Answer> {
    let exact = SpellingFound::Exact;
    let misspelt = SpellingFound::Misspelt;
    let movement = |name: &str| SaidMovement {
        movement: MovementKey::new(name.replace(' ', "-")),
        joints: Vec::new(),
    };
    let (typed, said, spelling, right, credit, elapsed_ms) = match turn {
        Turn::Right(ms) => (asked, Some(asked), exact, true, 1.0, ms),
        Turn::Misspelt(typed) => (typed, Some(asked), misspelt, true, 1.0, 9_000),
        Turn::MisspeltStrict(typed) => (typed, Some(asked), misspelt, false, 0.0, 9_000),
        Turn::Said(name, credit) => (name, Some(name), exact, false, credit, 12_000),
        Turn::NoSuch(typed) => (typed, None, SpellingFound::NoSuchName, false, 0.0, 9_000),
        Turn::Moves(typed, credit) => (typed, None, exact, credit >= 1.0, credit, 12_000),
        Turn::Silent | Turn::Absent => return None,
    };
    let moves = if let Turn::Moves(name, _) = turn { Some(name) } else { None };
    Some(Answer {
        round,
        student,
        attempt: AttemptId(uuid::Uuid::from_u128(u128::from(round.0))),
        typed: typed.to_owned(),
        said: said.map(key),
        movement: moves.map(movement),
        said_name: said.or(moves).map(ToOwned::to_owned),
        spelling,
        exact: right,
        credit,
        elapsed_ms,
        limit_ms: Some(45_000),
        clues: 1,
        hasty: false,
    })
}

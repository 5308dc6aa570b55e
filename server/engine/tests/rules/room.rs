//! A review driven as its host drives it: decide, number, apply, then tick until nothing happens.

use std::sync::LazyLock;

use myonym_content::catalogue::Catalogue;
use myonym_content::problem::SourceFile;
use myonym_content::{Course, ListKey, MuscleKey};
use myonym_engine::timing::Sight;
use myonym_engine::{
    Answering, Command, Event, Input, Logged, Planned, Reply, Review, SCHEMA, Settings,
};
use myonym_wire::{
    AttemptId, Millis, Pace, ReviewId, RoundNo, ScoreRule, Seq, Spelling, StudentId,
};
use uuid::Uuid;

/// The muscles of `course.toml`.
pub(crate) static FOUR: LazyLock<Course> = LazyLock::new(|| own_course("four"));
/// The first of them alone.
pub(crate) static ONE: LazyLock<Course> = LazyLock::new(|| own_course("one"));
/// The bundled introductory course on the shoulder.
pub(crate) static SHOULDER: LazyLock<Course> =
    LazyLock::new(|| course(Catalogue::bundled(), "shoulder"));

/// Steps within which the host expects time to have made everything happen.
const SETTLE_MOST: usize = 64;

/// A review with its log.
#[derive(Debug)]
pub(crate) struct Room {
    course: &'static Course,
    pub(crate) review: Review,
    pub(crate) log: Vec<Logged>,
    /// Time since the review opened; a restart loses what ran after the last event.
    pub(crate) now: Millis,
}

impl Room {
    /// A review that opens with these settings and asks for the names of these muscles.
    pub(crate) fn open(course: &'static Course, settings: Settings, plan: Vec<MuscleKey>) -> Self {
        let plan = plan.into_iter().map(Planned::name).collect();
        Self::open_with(course, settings, plan)
    }

    /// A review that opens with these settings and this plan, taken as it is.
    pub(crate) fn open_with(
        course: &'static Course,
        settings: Settings,
        plan: Vec<Planned>,
    ) -> Self {
        let review = ReviewId(Uuid::from_u128(1));
        let tasks = plan.iter().map(|planned| planned.task).collect();
        let beside = plan.iter().map(|planned| planned.beside.clone()).collect();
        let plan = plan.into_iter().map(|planned| planned.muscle).collect();
        let (schema, seed, why) = (SCHEMA, 0, Vec::new());
        let event = Event::Opened { schema, review, settings, seed, plan, tasks, beside, why };
        let first = Logged { seq: Seq(1), at: Millis(0), event };
        let review = Review::first(&first).expect("a first event");
        Self { course, review, log: vec![first], now: Millis(0) }
    }

    /// Lets time pass until `at`, then hands in `input`.
    pub(crate) fn tell(&mut self, at: u64, input: Input) -> Option<Reply> {
        self.wait(at);
        self.tell_late(at, input)
    }

    /// Hands in `input` although things may be due that have not happened yet: a host may be slow.
    pub(crate) fn tell_late(&mut self, at: u64, input: Input) -> Option<Reply> {
        self.now = Millis(at);
        let decision = self.review.decide(self.course, self.now, input);
        self.make(decision.events);
        self.settle();
        decision.reply
    }

    /// Lets time pass, waking up whenever the review asks for it, and no more often.
    pub(crate) fn wait(&mut self, until: u64) {
        while let Some(due) = self.review.next_wakeup().filter(|due| *due <= Millis(until)) {
            self.now = self.now.max(due);
            let before = self.log.len();
            self.settle();
            let moved = self.review.next_wakeup() != Some(due);
            assert!(moved || self.log.len() > before, "woken at {due:?} for nothing");
        }
        self.now = self.now.max(Millis(until));
    }

    /// The server stops and comes back from its log.
    pub(crate) fn restart(&mut self) {
        self.check_replay();
        let text: Vec<String> = self.lines();
        let log: Vec<Logged> = text.iter().map(|line| parse(line)).collect();
        self.review = Review::replay(&log).expect("a whole log");
        self.tell_late(self.review.at().0, Input::Restarted);
    }

    /// The log as written, a line per event.
    pub(crate) fn lines(&self) -> Vec<String> {
        self.log.iter().map(|logged| serde_json::to_string(logged).expect("JSON")).collect()
    }

    /// The log, written and read again, tells the same review.
    pub(crate) fn check_replay(&self) {
        let read: Vec<Logged> = self.lines().iter().map(|line| parse(line)).collect();
        assert_eq!(read, self.log, "the log as read");
        assert_eq!(Review::replay(&read).as_ref(), Some(&self.review), "the review as replayed");
    }

    fn settle(&mut self) {
        for _ in 0..SETTLE_MOST {
            let events = self.review.decide(self.course, self.now, Input::Tick).events;
            if events.is_empty() {
                return;
            }
            self.make(events);
        }
        panic!("the rules do not settle");
    }

    fn make(&mut self, events: Vec<Event>) {
        for event in events {
            let logged = Logged { seq: self.review.seq().next(), at: self.now, event };
            self.review.apply(&logged);
            self.log.push(logged);
        }
    }
}

/// Settings with a limit of 20 s and nothing out of the ordinary.
pub(crate) fn settings() -> Settings {
    Settings {
        list: ListKey::new("four"),
        list_name: "four muscles".to_owned(),
        limit_ms: 20_000,
        rule: ScoreRule::SpeedWeighted,
        spelling: Spelling::Tolerant,
        pace: Pace::Instructor,
        adaptive: false,
        section: None,
    }
}

/// The plan with these muscles.
pub(crate) fn plan(muscles: &[&str]) -> Vec<MuscleKey> {
    muscles.iter().map(|muscle| MuscleKey::new(*muscle)).collect()
}

/// A student by letter.
pub(crate) fn student(letter: char) -> StudentId {
    StudentId(Uuid::from_u128(u128::from(u32::from(letter))))
}

/// A try by number.
pub(crate) fn attempt(number: usize) -> AttemptId {
    AttemptId(Uuid::from_u128(number as u128))
}

/// An honest answer over a network without delay, at `elapsed` of the round.
pub(crate) fn answering(
    student: StudentId,
    round: RoundNo,
    attempt: AttemptId,
    elapsed: Millis,
    text: &str,
) -> Input {
    let (text, sight) = (text.to_owned(), Sight::default());
    Input::Answer(Answering { student, round, attempt, text, claimed: elapsed, sight })
}

/// A student takes a seat.
pub(crate) fn seat(student: StudentId) -> Input {
    Input::Seat { student, listed: true }
}

/// What the instructor says.
pub(crate) fn say(command: Command) -> Input {
    Input::Command(command)
}

/// An event as written in a log.
pub(crate) fn parse(line: &str) -> Logged {
    serde_json::from_str(line).unwrap_or_else(|error| panic!("{error}: {line}"))
}

fn own_course(list: &str) -> Course {
    let text = include_str!("course.toml").to_owned();
    let file = SourceFile { path: "course.toml".to_owned(), text };
    let catalogue = Catalogue::load(&[file]).expect("a catalogue without problems");
    course(&catalogue, list)
}

fn course(catalogue: &Catalogue, list: &str) -> Course {
    let list = catalogue.list(&ListKey::new(list)).expect("the list");
    Course::new(catalogue, list).expect("a list that can be asked")
}

//! What happened in a review. This is what the log holds and what every reader folds.
//!
//! A field may be added with a default; none may change its meaning. [`SCHEMA`] goes up when an
//! old reader could misread a new log.

use myonym_content::{Clue, Contrast, JointKey, ListKey, MovementKey, MuscleKey};
use myonym_wire::{
    AttemptId, CloseWhy, EndWhy, Millis, Motion, Pace, ReviewId, RoundNo, ScoreRule, Seq, Spelling,
    StudentId, Task, TimeAllowance,
};
use serde::{Deserialize, Serialize};

use crate::planned::Planned;

/// The number of this form of the log.
///
/// Form 3 has rounds that offer two muscles, and rounds that are planned anew while the review runs. A
/// reader of form 2 would take the choice between two for a name, and rounds still to come for what
/// they were at first. Form 2 has rounds that ask for something else than a name in words. A reader of form 1 would take
/// their answers for names of muscles: movements for names that no muscle has, and rounds still to
/// come for rounds with clues. A log of form 1 is read as one that asks for names alone.
///
/// [`Event::Forgotten`] and [`Event::Renamed`] may stand in a log of any form, and so may the pace of a
/// study group with its [`Event::Voted`]: a reader that does not know them refuses the log, and cannot
/// misread it.
pub const SCHEMA: u16 = 3;

/// One event with its place in the review.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Logged {
    /// Number in the review, from 1, with no gap.
    pub seq: Seq,
    /// Time since the review opened. Order is by `seq`, never by this.
    pub at: Millis,
    /// What happened.
    pub event: Event,
}

/// How a review runs, fixed when it opens.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Settings {
    /// The muscle list.
    pub list: ListKey,
    /// Its name.
    pub list_name: String,
    /// Time limit of a round, in milliseconds.
    pub limit_ms: u32,
    /// How points are given.
    pub rule: ScoreRule,
    /// How typed names are marked.
    pub spelling: Spelling,
    /// Who moves the review on.
    pub pace: Pace,
    /// Whether rounds may be planned anew by what was answered so far.
    #[serde(default)]
    pub adaptive: bool,
    /// The section of the course that it is held for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub section: Option<String>,
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Event {
    /// The review opened; always the first.
    Opened {
        /// The form of the log, see [`SCHEMA`].
        schema: u16,
        /// The review.
        review: ReviewId,
        /// How it runs.
        settings: Settings,
        /// What was drawn with.
        seed: u64,
        /// What was drawn or planned: the muscle of each round.
        plan: Vec<MuscleKey>,
        /// What was dealt or planned: the task of each round; a name where it says nothing.
        #[serde(default)]
        tasks: Vec<Task>,
        /// The other muscle offered in each round, where one of two is to be chosen.
        #[serde(default)]
        beside: Vec<Option<MuscleKey>>,
        /// What the plan says to the instructor of each round; nothing where it was drawn.
        #[serde(default)]
        why: Vec<String>,
    },
    /// The round that comes next was planned anew.
    Replanned {
        /// Which.
        round: RoundNo,
        /// As what.
        planned: Planned,
        /// What is said of it to the instructor.
        #[serde(default)]
        why: String,
    },
    /// A student took a seat.
    Seated {
        /// Who.
        student: StudentId,
        /// Whether the class may see the name.
        listed: bool,
    },
    /// A student's connection came back.
    Back {
        /// Who.
        student: StudentId,
    },
    /// A student's connection ended.
    Away {
        /// Who.
        student: StudentId,
        /// Whether the student chose to leave (so that nobody waits).
        left: bool,
    },
    /// The instructor took a student out.
    Removed {
        /// Who.
        student: StudentId,
    },
    /// The instructor changed a student's time.
    Stretched {
        /// Who.
        student: StudentId,
        /// From the next round on.
        time: TimeAllowance,
    },
    /// The instructor gave a student another name; like every name it stands beside the log.
    Renamed {
        /// Who.
        student: StudentId,
    },
    /// A round opened with its first clue.
    RoundOpened {
        /// Which.
        round: RoundNo,
        /// What it asks for.
        #[serde(default)]
        task: Task,
        /// The muscle described.
        muscle: MuscleKey,
        /// Its English name.
        name: String,
        /// Its Latin name.
        latin: String,
        /// The two muscles to choose between, in the order shown; else none.
        #[serde(default)]
        offered: Vec<Offered>,
        /// All clues, vague to telling.
        clues: Vec<Clue>,
        /// Time limit for the class, in milliseconds.
        limit_ms: u32,
    },
    /// A further clue was shown.
    ClueShown {
        /// Which round.
        round: RoundNo,
        /// Number of the clue, from 1; the first comes with [`Event::RoundOpened`].
        number: u8,
    },
    /// A student's answer was taken.
    Answered(Answer),
    /// A typed name was not an answer yet, and the student was asked again.
    AskedAgain {
        /// Which round.
        round: RoundNo,
        /// Who.
        student: StudentId,
        /// Which try.
        attempt: AttemptId,
        /// As typed.
        typed: String,
        /// Why it was no answer.
        why: AskedAgainWhy,
        /// Names offered: to choose from, or merely alike.
        among: Vec<String>,
    },
    /// A member of a study group voted, or took a vote back.
    Voted {
        /// Who.
        student: StudentId,
        /// On what.
        motion: Motion,
        /// Whether for it.
        yes: bool,
    },
    /// The time stands still.
    Paused {},
    /// The time runs again.
    Resumed {},
    /// The round takes no more answers.
    RoundClosed {
        /// Which.
        round: RoundNo,
        /// Why.
        why: CloseWhy,
        /// Who was here and gave no answer. Who was absent is not listed.
        silent: Vec<StudentId>,
    },
    /// The round does not count.
    RoundSkipped {
        /// Which.
        round: RoundNo,
    },
    /// The answer was shown.
    Revealed {
        /// Which round.
        round: RoundNo,
        /// The contrast with the commonest wrong answer.
        contrast: Option<RevealContrast>,
    },
    /// The server came back after a stop; nobody is connected.
    Restarted {},
    /// The review is over; always the last.
    Ended {
        /// Why.
        why: EndWhy,
    },
    /// Something of a student whose records were removed; what it was is gone, and it changes
    /// nothing.
    Forgotten {},
}

impl Event {
    /// An opening with what the instructor is told of each of its rounds; any other event as it is.
    #[must_use]
    pub fn because(mut self, reasons: Vec<String>) -> Self {
        if let Self::Opened { why, .. } = &mut self {
            *why = reasons;
        }
        self
    }
}

/// A muscle to choose.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Offered {
    /// Which.
    pub muscle: MuscleKey,
    /// Its English name.
    pub name: String,
}

/// A student's answer with all that any scoring rule needs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Answer {
    /// Which round.
    pub round: RoundNo,
    /// Who.
    pub student: StudentId,
    /// Which try.
    pub attempt: AttemptId,
    /// As typed.
    pub typed: String,
    /// The muscle that was meant; `None` if no muscle has that name (strict spelling only), or where
    /// a movement was asked for.
    pub said: Option<MuscleKey>,
    /// The movement that was meant, where one was asked for; `None` if there is none of that name
    /// (strict spelling only).
    #[serde(default)]
    pub movement: Option<SaidMovement>,
    /// English name of the muscle, or the movement in words.
    pub said_name: Option<String>,
    /// How it was spelt.
    pub spelling: SpellingFound,
    /// Whether it is the muscle described, or a movement that it makes, spelt as the review asks.
    /// The only thing that ratings and item analysis may look at.
    pub exact: bool,
    /// Credit from 0 to 1; see [`crate::score::credit`].
    pub credit: f64,
    /// Elapsed time credited, in milliseconds.
    pub elapsed_ms: u64,
    /// The student's own limit in milliseconds; `None` is untimed.
    pub limit_ms: Option<u32>,
    /// Number of clues that were on the screen.
    pub clues: u8,
    /// Whether the time was shorter than a person can read and type (see [`crate::timing`]).
    pub hasty: bool,
}

/// A movement as a student named it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct SaidMovement {
    /// The movement.
    pub movement: MovementKey,
    /// The joints that may be meant; empty for any.
    pub joints: Vec<JointKey>,
}

/// How a typed name was spelt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SpellingFound {
    /// An accepted form.
    Exact,
    /// Close enough to one muscle or movement alone.
    Misspelt,
    /// Like no name.
    NoSuchName,
}

/// Why a typed name is not an answer yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AskedAgainWhy {
    /// It fits several muscles or movements.
    WhichOne,
    /// It fits none.
    UnknownName,
}

/// The contrast shown at a reveal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RevealContrast {
    /// The commonest wrong answer, or the other one of two that were offered.
    pub said: MuscleKey,
    /// Its English name.
    pub said_name: String,
    /// How many gave it.
    pub count: u32,
    /// What the muscle asked (first) and the answer (second) share, and what separates them.
    pub contrast: Contrast,
}

//! What asks for a decision, and what a decision is.

use myonym_wire::{AttemptId, Millis, RoundNo, StudentId, TimeAllowance};

use crate::event::{AskedAgainWhy, Event};
use crate::group::Wish;
use crate::planned::Planned;
use crate::timing::Sight;

/// Something that asks for a decision.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Input {
    /// A student takes a seat.
    Seat {
        /// Who: a fresh id.
        student: StudentId,
        /// Whether the class may see the name.
        listed: bool,
    },
    /// A student's connection came back.
    Back(StudentId),
    /// A student's connection ended.
    Away {
        /// Who.
        student: StudentId,
        /// Whether the student chose to leave.
        left: bool,
    },
    /// A student answers.
    Answer(Answering),
    /// A member of a study group wishes so.
    Member {
        /// Who.
        student: StudentId,
        /// What.
        wish: Wish,
    },
    /// The instructor says so.
    Command(Command),
    /// The round that comes next was chosen by what was answered so far.
    Replan {
        /// As what.
        planned: Planned,
        /// Why, for the instructor.
        why: String,
    },
    /// Time has passed.
    Tick,
    /// The server came back after a stop.
    Restarted,
    /// Nobody came back.
    Abandon,
}

/// A student's try at answering. `now` of [`Review::decide`](crate::Review::decide) is when it
/// reached the socket.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answering {
    /// Who.
    pub student: StudentId,
    /// The round meant.
    pub round: RoundNo,
    /// Which try.
    pub attempt: AttemptId,
    /// As typed.
    pub text: String,
    /// The client's own elapsed time.
    pub claimed: Millis,
    /// What the server saw of the connection.
    pub sight: Sight,
}

/// What an instructor may say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Command {
    /// Open the first round.
    Start,
    /// Open the next round, or end after the last.
    Next,
    /// Take no more answers.
    CloseRound,
    /// Show the answer.
    Reveal,
    /// Leave this round out.
    Skip,
    /// Stop the time.
    Pause,
    /// Let the time run.
    Resume,
    /// Take a student out.
    Remove(StudentId),
    /// Give a student another name, which the rules never hear.
    Rename(StudentId),
    /// Change a student's time from the next round on.
    Stretch(StudentId, TimeAllowance),
    /// End the review.
    End,
}

/// What was decided: events to log and apply, and a word to whoever asked.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Decision {
    /// What happens, in order. They are to be logged and applied before the next decision.
    pub events: Vec<Event>,
    /// A reply that rests on no event.
    pub reply: Option<Reply>,
}

/// A reply to whoever asked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reply {
    /// It cannot be done.
    Refused(Refusal),
    /// The answer is taken (its event is among the decision's).
    Received {
        /// Which round.
        round: RoundNo,
        /// Which try.
        attempt: AttemptId,
    },
    /// The answer was taken before.
    Taken {
        /// Which round.
        round: RoundNo,
        /// Which try.
        attempt: AttemptId,
    },
    /// This try was no answer before, and is none now.
    AskedBefore {
        /// Which round.
        round: RoundNo,
        /// Which try.
        attempt: AttemptId,
        /// Why.
        why: AskedAgainWhy,
        /// Names offered.
        among: Vec<String>,
    },
}

/// Why something cannot be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refusal {
    /// The review is over.
    ReviewOver,
    /// Not at this moment.
    NotNow,
    /// That round is not open.
    RoundNotOpen,
    /// The student's own limit has passed.
    TooLate,
    /// The round has this student's answer.
    AlreadyAnswered,
    /// No such student.
    NoSuchStudent,
    /// A muscle that is not on the list, or of which nothing is known.
    NoSuchMuscle,
    /// A time allowance out of range.
    BadTime,
    /// Nothing was typed.
    NothingTyped,
    /// Only members of a study group may do this.
    NoGroup,
}

impl From<Vec<Event>> for Decision {
    fn from(events: Vec<Event>) -> Self {
        Self { events, reply: None }
    }
}

impl From<Event> for Decision {
    fn from(event: Event) -> Self {
        vec![event].into()
    }
}

impl From<Refusal> for Decision {
    fn from(refusal: Refusal) -> Self {
        Reply::Refused(refusal).into()
    }
}

impl From<Reply> for Decision {
    fn from(reply: Reply) -> Self {
        Self { events: Vec::new(), reply: Some(reply) }
    }
}

//! Messages between a student's client and the server.

use serde::{Deserialize, Serialize};

use crate::class::class_messages;
use crate::{
    AttemptId, CloseWhy, ClueShown, EndWhy, ErrorCode, Moment, OwnResult, Reveal, ReviewInfo,
    RoundNo, SeatToken, Seq, StandingRow, StudentId, Summary, TimeAllowance, Trouble,
};

/// What a student's client may send after `seated`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "type", rename_all = "snake_case", deny_unknown_fields)]
pub enum FromStudent {
    /// A name for the muscle of the open round. Answered by `received` and later `recorded`; or by
    /// `which_one` or `unknown_name`, after which the student may answer again; or by `error`.
    Answer {
        /// The round that is answered.
        round: RoundNo,
        /// A fresh id for each try; the same id for a repeated sending of the same try.
        attempt: AttemptId,
        /// The name as typed, at most 80 characters.
        #[schemars(length(min = 1, max = 80))]
        text: String,
        /// Milliseconds, by the client's own monotonic clock, from the round's first clue on the
        /// screen to the answer, less pauses. The server holds it to what it saw itself.
        elapsed_ms: u64,
    },
    /// The student leaves; the seat is kept and `return` takes it again.
    Leave {},
}

class_messages! {
    /// What the server tells a student. More types may be added: a client ignores those unknown
    /// to it.
    pub enum ToStudent {
        /// You have a seat. Also sent to bring a client up to date: it replaces all that went before.
        Seated {
            /// The last event told.
            seq: Seq,
            /// Your number in this review.
            student: StudentId,
            /// The token to come back with; only in answer to `join`.
            seat: Option<SeatToken>,
            /// Your name after cleaning.
            name: String,
            /// The review.
            review: ReviewInfo,
            /// Your own time.
            time: TimeAllowance,
            /// Your points so far.
            total: f64,
            /// Students connected now.
            present: u32,
            /// Where the review stands.
            moment: Box<Moment>,
        },
        /// The server has your answer and your time has stopped. It is not on disk yet.
        Received {
            /// The round.
            round: RoundNo,
            /// The attempt.
            attempt: AttemptId,
        },
        /// Your answer is on disk and will count.
        Recorded {
            /// The round.
            round: RoundNo,
            /// The attempt.
            attempt: AttemptId,
        },
        /// The name fits several muscles. It is not an answer yet; nothing but time is lost.
        WhichOne {
            /// The round.
            round: RoundNo,
            /// The attempt.
            attempt: AttemptId,
            /// Names to choose from; answer with one of them.
            among: Vec<String>,
        },
        /// No muscle has this name. It is not an answer; nothing but time is lost.
        UnknownName {
            /// The round.
            round: RoundNo,
            /// The attempt.
            attempt: AttemptId,
            /// Names that look alike; may be empty.
            nearest: Vec<String>,
        },
        /// Your own result of the round revealed.
        Result(OwnResult),
        /// Your own review, looked back on.
        Summary(Summary),
        /// Your own time was changed.
        TimeChanged {
            /// Your time from now on.
            time: TimeAllowance,
        },
        /// The instructor has taken you out of the review; the server closes the connection.
        Removed {},
    }
}

//! Messages between a student's client and the server.

use serde::{Deserialize, Serialize};

use crate::class::class_messages;
use crate::{
    AttemptId, CloseWhy, ClueShown, EndWhy, ErrorCode, Moment, Motion, OwnResult, Reveal,
    ReviewInfo, RoundNo, SeatToken, Seq, StandingRow, StudentId, Summary, Task, TimeAllowance,
    Trouble, VoteRow,
};

/// What a student's client may send after `seated`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "type", rename_all = "snake_case", deny_unknown_fields)]
pub enum FromStudent {
    /// A name for the muscle of the open round, or a movement where the round asks for one. Answered
    /// by `received` and later `recorded`; or by `which_one` or `unknown_name`, after which the
    /// student may answer again; or by `error`.
    ///
    /// Sent again with the same `attempt` it is answered again as the first time, whatever its
    /// text, even after the round; that is what a client does that came back before it saw
    /// `recorded`.
    Answer {
        /// The round that is answered.
        round: RoundNo,
        /// A fresh id for each try; the same id for a repeated sending of the same try.
        attempt: AttemptId,
        /// The name as typed, at most 80 characters, with a letter or digit. Capitals, spaces and a
        /// leading `m.` or `musculus` do not matter; English and Latin names are known. A movement
        /// may come alone or with what moves or the joint, as noun or verb: `flexion`, `flexes the
        /// elbow`, `external rotation of the arm`; alone, it stands for any joint.
        #[schemars(length(min = 1, max = 80))]
        text: String,
        /// Milliseconds, by the client's own monotonic clock, from the round's first clue on the
        /// screen to the answer, less pauses; after a return, `elapsed_ms` of the moment and the
        /// time since. The server holds it to what it saw itself: never more, less by the network's
        /// round trip and 40 ms at most (together 250 ms), and never less than typing takes.
        elapsed_ms: u64,
    },
    /// Opens the first round of a study group. Only there, while its members gather.
    Start {},
    /// Votes in a study group, or takes the vote back. Only there; answered to all by `votes`, or by
    /// what it brings about. A vote given twice counts once.
    Vote {
        /// On what.
        motion: Motion,
        /// Whether for it; `false` takes a vote back.
        yes: bool,
    },
    /// Sets one's own time in a study group, from the next round on. Only there; elsewhere it is the
    /// instructor's to give. Answered by `time_changed`, if it changes.
    OwnTime {
        /// How much.
        time: TimeAllowance,
    },
    /// The student leaves; the seat is kept and `return` takes it again. The server closes with
    /// 1000, and no round waits for the student.
    Leave {},
}

class_messages! {
    /// What the server tells a student. More types and fields may be added: a client ignores those
    /// unknown to it.
    ///
    /// A round goes `round_opened`, any number of `clue`, `round_closed`, `revealed`, `result`,
    /// `standings`, or at any time before the reveal `round_skipped`. Nothing is missed while a
    /// connection lasts, and `seated` makes up for all that went before it.
    pub enum ToStudent {
        /// You have a seat. Also sent in the middle of a connection, to bring a client up to date:
        /// it replaces all that went before. If the review is over, the server closes after it.
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
            /// Your own time; a change during a round counts from the next.
            time: TimeAllowance,
            /// Your points so far.
            total: f64,
            /// Students connected now, you among them.
            present: u32,
            /// Where the review stands.
            moment: Box<Moment>,
        },
        /// The server has your answer and your time has stopped. It is not on disk yet: `recorded`
        /// follows, or `trouble`.
        Received {
            /// The round.
            round: RoundNo,
            /// The attempt.
            attempt: AttemptId,
        },
        /// Your answer is on disk and will count, unless the round is skipped.
        Recorded {
            /// The round.
            round: RoundNo,
            /// The attempt.
            attempt: AttemptId,
        },
        /// The name fits several muscles or movements. It is not an answer yet; nothing but time is lost. Answer
        /// again with a new `attempt`.
        WhichOne {
            /// The round.
            round: RoundNo,
            /// The attempt.
            attempt: AttemptId,
            /// Names to choose from.
            among: Vec<String>,
        },
        /// No muscle, or no movement, has this name (tolerant spelling only). It is not an answer; nothing but time
        /// is lost. Answer again with a new `attempt`.
        UnknownName {
            /// The round.
            round: RoundNo,
            /// The attempt.
            attempt: AttemptId,
            /// Names that look alike; may be empty.
            nearest: Vec<String>,
        },
        /// Your own result of the round revealed. Not sent to one who neither answered nor was
        /// connected when the round closed.
        Result(OwnResult),
        /// Your own review, looked back on.
        Summary(Summary),
        /// Your own time was changed.
        TimeChanged {
            /// Your time from the next round on.
            time: TimeAllowance,
        },
        /// The instructor has given you another name.
        Renamed {
            /// Your name from now on.
            name: String,
        },
        /// The instructor has taken you out of the review; the server closes the connection with
        /// 1008. The seat is gone.
        Removed {},
    }
}

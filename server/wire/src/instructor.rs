//! Messages between an instructor's console and the server.

use serde::{Deserialize, Serialize};

use crate::class::class_messages;
use crate::{
    CloseWhy, ClueShown, EndWhy, ErrorCode, HostKey, Moment, Reveal, ReviewInfo, RoundNo, Seq,
    SpreadRow, StandingRow, StudentId, Task, TimeAllowance, Trouble, VoteRow,
};

/// What an instructor may send after `conducting`. What a command brings about is told to all as it
/// happens; nothing else confirms it. At the wrong moment the answer is `error` with `not_now`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "type", rename_all = "snake_case", deny_unknown_fields)]
pub enum FromInstructor {
    /// Opens the first round. Only while students gather.
    Start {},
    /// Opens the next round; after the last, ends the review. Only after a reveal or a skip.
    Next {},
    /// Takes no more answers in this round. Only while it is open.
    CloseRound {},
    /// Shows the answer. Only after the round has closed.
    Reveal {},
    /// Leaves this round out: it does not count. While it is open or closed, not once revealed.
    Skip {},
    /// Stops the time: of the open round, or after a reveal or a skip until the next opens by
    /// itself. Not twice.
    Pause {},
    /// Lets the time run again. Only after `pause`.
    Resume {},
    /// Takes a student out of the review, at any time; answered by `gone`. Answers already recorded
    /// stay in the log. Whoever has the join word may join anew, as another student.
    Remove {
        /// Who.
        student: StudentId,
    },
    /// Gives a student more time, privately, from the next round on; at any time. The student is
    /// told by `time_changed`, the instructors by `roll`; if nothing changes, nobody is told
    /// anything.
    Stretch {
        /// Who.
        student: StudentId,
        /// How much.
        time: TimeAllowance,
    },
    /// Ends the review now, at any time. An open round is skipped, a closed one revealed first.
    End {},
}

class_messages! {
    /// What the server tells an instructor: what the class is told, and what only the instructor
    /// may see (but no `result` and no `summary`). More types and fields may be added: a client
    /// ignores those unknown to it.
    pub enum ToInstructor {
        /// You conduct this review. Also sent in the middle of a connection, to bring a console up
        /// to date: it replaces all that went before.
        Conducting {
            /// The last event told.
            seq: Seq,
            /// The key of this review, which conducts it and no other; only in answer to `open`.
            key: Option<HostKey>,
            /// The review.
            review: ReviewInfo,
            /// Addresses at which students reach the server, such as `192.0.2.7:7645`.
            addresses: Vec<String>,
            /// Whether students reach it by TLS.
            #[serde(default)]
            secure: bool,
            /// Where the review stands.
            moment: Box<Moment>,
            /// Who has a seat.
            roll: Vec<RollRow>,
            /// What was confused so far.
            weak_spots: WeakSpots,
            /// As in `coming`: of the round at hand, or between rounds of the next; absent where
            /// the rounds were merely drawn.
            #[serde(default)]
            coming: Option<Box<Coming>>,
        },
        /// Students who joined, left, returned, answered, or have other time since this was last
        /// told. Sent after a change, at most four times a second; after a round for all who had
        /// answered.
        Roll {
            /// Their lines as they are now.
            rows: Vec<RollRow>,
        },
        /// A student was taken out.
        Gone {
            /// Who.
            student: StudentId,
        },
        /// How the open round stands. Sent after a change, at most four times a second.
        Tally {
            /// The round.
            round: RoundNo,
            /// Answers recorded.
            answered: u32,
            /// Students who were here at some time of this round and have not been removed.
            here: u32,
            /// What was answered, commonest first.
            spread: Vec<SpreadRow>,
            /// Times that a name was half or unknown and the student was asked again.
            asked_again: u32,
        },
        /// The class's weak spots so far; sent after each reveal and at the end.
        WeakSpots(WeakSpots),
        /// What the next round will ask, and why, where rounds were planned or are chosen as the
        /// review goes. Sent when it comes to stand next; another one for the same round takes its
        /// place. Not for the class to see.
        Coming(Coming),
    }
}

/// One student on the instructor's roll.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct RollRow {
    /// Number in this review.
    pub student: StudentId,
    /// Name.
    pub name: String,
    /// Whether connected now.
    pub present: bool,
    /// Whether the open round has this student's answer.
    pub answered: bool,
    /// This student's time.
    pub time: TimeAllowance,
}

/// A round that was planned, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Coming {
    /// Which round.
    pub round: RoundNo,
    /// What it asks for.
    #[serde(default)]
    pub task: Task,
    /// The muscle that it describes.
    pub muscle: String,
    /// The other one offered, where one of two is to be chosen.
    pub beside: Option<String>,
    /// Why, as a sentence for the instructor.
    pub why: String,
}

/// Which muscles the class finds hard to name and which it confuses. Rounds that ask for a movement,
/// or for one of two, are not counted here.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, schemars::JsonSchema)]
pub struct WeakSpots {
    /// Muscles, hardest first, at most eight.
    pub hardest: Vec<HardRow>,
    /// Confused pairs, commonest first, at most eight.
    pub pairs: Vec<PairRow>,
    /// Every muscle answered for another, at most 400, commonest first; right answers are not among
    /// them.
    #[serde(default)]
    pub map: Vec<MapCell>,
}

/// How often one muscle was answered for another, for a map of all.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct MapCell {
    /// The muscle described.
    pub asked: String,
    /// The muscle answered.
    pub said: String,
    /// Students who did so.
    pub count: u32,
    /// Students asked.
    pub of: u32,
}

/// How the class did on one muscle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct HardRow {
    /// The muscle.
    pub muscle: String,
    /// Right answers.
    pub right: u32,
    /// Students asked (an answer or silence; absent students are not counted).
    pub asked: u32,
    /// Lower end of the 95 % Wilson interval of the share right, a probability.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// How often one muscle was answered when another was asked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct PairRow {
    /// The muscle described.
    pub asked: String,
    /// The muscle answered.
    pub said: String,
    /// Students who did so.
    pub count: u32,
    /// Students asked.
    pub of: u32,
    /// What separates the two, most telling feature.
    pub apart: Option<crate::DifferenceShown>,
}

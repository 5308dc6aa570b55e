//! Messages to a board: a screen for the whole room, such as a projector's.

use serde::{Deserialize, Serialize};

use crate::class::class_messages;
use crate::{
    CloseWhy, ClueShown, EndWhy, ErrorCode, Moment, Reveal, ReviewInfo, RoundNo, Seq, StandingRow,
    Task, Trouble, VoteRow, WeakSpots,
};

class_messages! {
    /// What the server tells a board: what the class is told, and how many have answered, never whose
    /// answers or what. More types and fields may be added: a client ignores those unknown to it.
    pub enum ToBoard {
        /// You follow this review. Also sent in the middle of a connection: it replaces all that went
        /// before.
        Watching {
            /// The last event told.
            seq: Seq,
            /// The review.
            review: ReviewInfo,
            /// Addresses at which students reach the server, such as `192.0.2.7:7645`.
            addresses: Vec<String>,
            /// Whether students reach it by TLS.
            secure: bool,
            /// Where the review stands.
            moment: Box<Moment>,
            /// Who is here.
            here: Here,
            /// Answers recorded in the open round; 0 where none is open.
            answered: u32,
            /// What was confused, once the review is over.
            weak_spots: Option<WeakSpots>,
        },
        /// Who is here. Sent after a change, at most four times a second.
        Here(Here),
        /// How many have answered. Sent after a change, at most four times a second.
        Answers {
            /// The round.
            round: RoundNo,
            /// Answers recorded.
            answered: u32,
            /// Students who were here at some time of this round and have not been removed.
            here: u32,
        },
        /// What the class confused; sent at the end.
        WeakSpots(WeakSpots),
    }
}

/// Students connected now.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Here {
    /// Names of those who may be shown, in the order of their coming, at most 400.
    pub names: Vec<String>,
    /// How many more are here.
    pub others: u32,
}

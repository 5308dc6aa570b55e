//! The first message of a connection.

use serde::{Deserialize, Serialize};

use crate::{HostKey, JoinWord, Pace, ScoreRule, SeatToken, Spelling};

/// The first message, sent within five seconds of the handshake. It says who this is.
///
/// The handshake is a WebSocket (RFC 6455, version 13) at path `/live` of the server's address,
/// naming the subprotocol `myonym.v1`. Every message is one JSON object in one text message; a
/// client's has at most 16 KiB, a server's may be larger. The server pings; a client answers with pong, as RFC 6455 has it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "type", rename_all = "snake_case", deny_unknown_fields)]
pub enum Hello {
    /// A student takes a seat. Answered by `seated`, or by `error` and the connection closes.
    Join {
        /// The join word, as the instructor says it.
        word: JoinWord,
        /// What the student wants to be called: 1 to 24 characters after cleaning.
        #[schemars(length(min = 1, max = 24))]
        name: String,
        /// Whether the name may be shown to the class in the standings.
        #[serde(default)]
        listed: bool,
        /// A seat token of the client's own making, of 128 random bits: if the connection is lost
        /// before `seated`, the same `join` sent again takes the same seat. Left out, the server
        /// makes one.
        #[serde(default)]
        seat: Option<SeatToken>,
    },
    /// A student comes back to the same seat. Answered by `seated`.
    Return {
        /// The join word.
        word: JoinWord,
        /// The token that `seated` gave.
        seat: SeatToken,
    },
    /// An instructor takes the review in hand. Answered by `conducting`.
    Conduct {
        /// The join word; may be left out where the server has a single review.
        #[serde(default)]
        word: Option<JoinWord>,
        /// The server's key, or that of the review.
        key: HostKey,
    },
    /// An instructor opens another review on this server. Answered by `conducting`.
    Open {
        /// The server's key.
        key: HostKey,
        /// How the review is to run.
        settings: ReviewSettings,
    },
}

/// How a review runs. Everything may be left out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct ReviewSettings {
    /// Key of the muscle list, such as `shoulder`.
    pub list: String,
    /// Number of rounds; 0 asks each muscle of the list once.
    #[schemars(range(max = 500))]
    pub rounds: u16,
    /// Time limit of a round in milliseconds.
    #[schemars(range(min = 1000, max = 600_000))]
    pub limit_ms: u32,
    /// How points are given.
    pub rule: ScoreRule,
    /// How typed names are marked.
    pub spelling: Spelling,
    /// Who moves the review on.
    pub pace: Pace,
}

impl Default for ReviewSettings {
    fn default() -> Self {
        Self {
            list: "shoulder".to_owned(),
            rounds: 0,
            limit_ms: 45_000,
            rule: ScoreRule::default(),
            spelling: Spelling::default(),
            pace: Pace::default(),
        }
    }
}

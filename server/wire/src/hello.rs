//! The first message of a connection.

use serde::{Deserialize, Serialize};

use crate::{HostKey, JoinWord, Pace, PersonToken, ScoreRule, SeatToken, Spelling, Task};

/// The first message, sent within five seconds of the handshake. It says who this is.
///
/// Handshake: a WebSocket (RFC 6455, version 13) at path `/live` of the server's address, naming
/// the subprotocol `myonym.v1`; without it the answer is HTTP 400, to a page of another server 403.
///
/// Messages: one JSON object in one text message. A client's has at most 16 KiB, no field but those
/// named here, numbers within their `format`, and whole numbers without fraction or exponent. A
/// server's may be larger and may come to have more fields; a field that is `null` or left out
/// means the same. Any answer to a first message but `seated`, `conducting` or `watching` is an `error`, and
/// the connection closes.
///
/// Keeping in touch: the server pings every 10 s (a client answers with pong, as RFC 6455 has it)
/// and gives up a connection that it has not heard for 30 s. A client that has heard nothing, not
/// even a ping, for 15 s takes the connection for lost.
///
/// How much: a student may send 20 messages at once and 2 a second in the long run, an instructor
/// 40 and 10; pings and pongs count. Beyond that the server closes with 1008; so it does after the
/// third message that it cannot read as one of these.
///
/// Close codes: 1000 the review is over, or the student left; 1001 the server stops, or has not
/// heard the client; 1002, 1003 (binary), 1007 and 1009 as RFC 6455 has them; 1008 refused,
/// removed, or too many messages; 1011 a fault in the server; 1013 the client reads too slowly;
/// 4001 another connection took the seat. After 1001, 1011, 1013 or an end without close frame a
/// client comes back by itself, `return` for a student, `conduct` for an instructor and `watch` for a board, waiting
/// longer after each try; after the others it does not. Seats, answers and reviews outlast a stop
/// of the server.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "type", rename_all = "snake_case", deny_unknown_fields)]
pub enum Hello {
    /// A student takes a seat, also in the middle of a review. Answered by `seated`.
    Join {
        /// The join word, as the instructor says it.
        word: JoinWord,
        /// What the student wants to be called. It is cleaned: control, direction and invisible
        /// characters go, spaces become single, at most two combining marks in a row stay. After
        /// that it has 1 to 24 characters, combining marks not counted. Two students may have the
        /// same one, unless the server keeps to a roster: then only a name of it may be taken
        /// (capitals and spaces do not matter), once; else `not_allowed`.
        #[schemars(length(min = 1, max = 192))]
        name: String,
        /// Whether the name may be shown to the class in the standings. The instructor sees it
        /// anyway.
        #[serde(default)]
        listed: bool,
        /// A seat token of the client's own making, of 128 random bits: if the connection is lost
        /// before `seated`, the same `join` sent again takes the same seat. Left out, the server
        /// makes one.
        #[serde(default)]
        seat: Option<SeatToken>,
        /// A secret of 128 random bits that one device keeps and sends in every review, so that its
        /// student's progress can be followed from one to the next without an account. The server
        /// keeps a keyed hash of it and of `name`, which tells nothing outside this server; who
        /// comes under another name is somebody else. Left out, each review stands for itself.
        #[serde(default)]
        person: Option<PersonToken>,
        /// The group that the student works in, such as a bench of the lab. It is cleaned as `name`
        /// is, and then has 1 to 24 characters.
        #[serde(default)]
        #[schemars(length(min = 1, max = 192))]
        group: Option<String>,
    },
    /// A student comes back to the same seat. Answered by `seated`. If the seat is still connected
    /// elsewhere, that connection is closed with 4001. A `not_allowed` means that the seat is gone.
    Return {
        /// The join word.
        word: JoinWord,
        /// The token that `seated` gave, or that `join` chose.
        seat: SeatToken,
    },
    /// An instructor takes the review in hand. Answered by `conducting`. Several may do so at once,
    /// also after the end. Nothing stops while no instructor is connected.
    Conduct {
        /// The join word. With the server's key it may be left out where the server keeps a single
        /// review; one that is over is kept for ten minutes, and as long as an instructor is
        /// connected.
        #[serde(default)]
        word: Option<JoinWord>,
        /// The server's key, or that of the review.
        key: HostKey,
    },
    /// An instructor opens another review on this server. Answered by `conducting`, whose `review`
    /// has the new join word.
    Open {
        /// The server's key.
        key: HostKey,
        /// How the review is to run; `{}` is enough.
        settings: ReviewSettings,
        /// The text of a plan file (TOML) such as `myonym plan` writes; its rounds are held, and
        /// `list`, `rounds`, `tasks` and `adaptive` of the settings are not used, nor `limit_ms` if it
        /// has a limit. What is wrong with it is told in the `message` of a `bad_field`.
        #[serde(default)]
        plan: Option<String>,
        /// The text of a muscle list of one's own, in place of `list`; as for `plan`.
        #[serde(default)]
        own_list: Option<String>,
    },
    /// A student opens a study group and takes the first seat in it. It needs no key; a server may
    /// take no study groups (`not_allowed`) or no more of them (`slow_down`). Answered by `seated`,
    /// whose `review` has the join word for the others.
    Gather {
        /// How it is to run; `pace` must be `group`, and it is not adaptive and of no section.
        settings: ReviewSettings,
        /// As in `join`.
        #[schemars(length(min = 1, max = 192))]
        name: String,
        /// As in `join`.
        #[serde(default)]
        listed: bool,
        /// As in `join`. The same `gather` sent again with it takes the same seat, and opens nothing
        /// anew.
        #[serde(default)]
        seat: Option<SeatToken>,
        /// As in `join`.
        #[serde(default)]
        person: Option<PersonToken>,
    },
    /// A board, a screen for the whole room, follows the review. It needs no key, since it is told no more
    /// than the class sees. Answered by `watching`; after that it says nothing.
    Watch {
        /// The join word.
        word: JoinWord,
    },
}

/// How a review runs. Everything may be left out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct ReviewSettings {
    /// Key of the muscle list, such as `shoulder`. To one that the server does not have it answers
    /// with `bad_field` and a `message` that names those it has.
    pub list: String,
    /// Number of rounds; 0 asks each muscle of the list once.
    #[schemars(range(max = 500))]
    pub rounds: u16,
    /// Time limit of a round for the class, in milliseconds.
    #[schemars(range(min = 1000, max = 600_000))]
    pub limit_ms: u32,
    /// What rounds ask for: each in turn, in a drawn order; at least one. A muscle that cannot be
    /// asked for in the way whose turn it is (no picture of it, no action taught, no clue that tells
    /// it from its nearest neighbour) is asked for by name.
    #[schemars(length(min = 1))]
    pub tasks: Vec<Task>,
    /// How points are given.
    pub rule: ScoreRule,
    /// How typed names are marked.
    pub spelling: Spelling,
    /// Who moves the review on.
    pub pace: Pace,
    /// Whether each round is chosen by what was answered before it. The number of rounds stands; where
    /// nothing is chosen in time, the round that was drawn is held.
    pub adaptive: bool,
    /// The section of the course that it is held for, such as `Lab A`. It is cleaned as a student's
    /// name is, and then has 1 to 40 characters.
    #[schemars(length(min = 1, max = 320))]
    pub section: Option<String>,
}

impl Default for ReviewSettings {
    fn default() -> Self {
        Self {
            list: "shoulder".to_owned(),
            rounds: 0,
            limit_ms: 45_000,
            tasks: vec![Task::default()],
            rule: ScoreRule::default(),
            spelling: Spelling::default(),
            pace: Pace::default(),
            adaptive: false,
            section: None,
        }
    }
}

//! Ids and messages on the wire: plain data, nothing else.
//!
//! A connection is a WebSocket at [`PATH`] with the subprotocol [`SUBPROTOCOL`]. The first text
//! message is a [`Hello`]; after that a student's connection carries [`FromStudent`] and
//! [`ToStudent`], an instructor's [`FromInstructor`] and [`ToInstructor`], a
//! board's [`ToBoard`] alone. Each message is one
//! JSON object in one text message, told apart by its `type`. This crate knows no rule, no socket
//! and no muscle.

mod board;
mod class;
mod codec;
mod hello;
mod ids;
mod instructor;
pub mod limits;
mod link;
mod picture;
pub mod schema;
mod shown;
mod student;
mod terms;

pub use board::{Here, ToBoard};
pub use codec::{DecodeError, decode, encode};
pub use hello::{Hello, ReviewSettings};
pub use ids::{
    AttemptId, BadJoinWord, BadToken, HostKey, JoinWord, Millis, PersonToken, ReviewId, RoundNo,
    SeatToken, Seq, StudentId,
};
pub use instructor::{
    Coming, FromInstructor, HardRow, MapCell, PairRow, RollRow, ToInstructor, WeakSpots,
};
pub use link::{BadLink, JoinLink};
pub use picture::{Label, Part, Picture, Stroke, View};
pub use shown::{
    Again, ClueShown, ContrastShown, DifferenceShown, Given, Moment, NamePair, OwnResult, Reveal,
    ReviewInfo, SpreadRow, StandingRow, Summary, SummaryRow, VoteRow,
};
pub use student::{FromStudent, ToStudent};
pub use terms::{
    CloseWhy, EndWhy, ErrorCode, Motion, Pace, ScoreRule, Spelling, Task, TimeAllowance, Trouble,
    Verdict,
};

/// The WebSocket subprotocol that both sides name in the handshake.
pub const SUBPROTOCOL: &str = "myonym.v1";

/// The path of the WebSocket on the server.
pub const PATH: &str = "/live";

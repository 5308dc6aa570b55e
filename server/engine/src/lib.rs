//! The rules of a review, and nothing else.
//!
//! A [`Review`] is the fold of its [`Event`]s. [`Review::decide`] looks at an [`Input`] and says
//! what happens; [`Review::apply`] makes it so and is dull. This crate has no clock (time comes in
//! as [`Millis`](myonym_wire::Millis) since the review opened), no random source (a seed comes
//! in), no lock, no file, no socket and no message of the wire: of `myonym-wire` it uses ids and
//! shared terms.

mod answering;
mod contrast;
mod decide;
mod draw;
mod event;
mod forget;
mod group;
mod input;
mod marking;
mod movement;
mod planned;
mod review;
mod round;
pub mod score;
mod standings;
mod task;
pub mod timing;
mod waiting;

pub use draw::{OpenError, open, open_planned};
pub use event::{
    Answer, AskedAgainWhy, Event, Logged, Offered, RevealContrast, SCHEMA, SaidMovement, Settings,
    SpellingFound,
};
pub use forget::{forget, whose};
pub use group::{DESERTED_MS, Vote, Wish};
pub use input::{Answering, Command, Decision, Input, Refusal, Reply};
pub use movement::{Makes, example};
pub use planned::Planned;
pub use review::{Phase, Review, Seat};
pub use round::{OpenRound, RoundRecord, spread};
pub use score::Points;
pub use standings::{Standing, standings};

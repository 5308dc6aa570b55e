//! Statistics for a class: shares, pairs that are confused, items, abilities, memory.
//!
//! Numbers in, numbers out. Nothing here knows a muscle, a student or an event; students and items
//! are rows and columns, and a pair is two tallies. There is no I/O, no random source and no clock
//! to read: a seed or a time comes in. What is undefined is `None`, an error that says why, or
//! [`Discrimination::NoInformation`]; it is never a NaN unless one went in, and no input makes it
//! panic unless a function says so.
//!
//! Probabilities and shares are from 0 to 1; abilities and difficulties are in logits; entropies
//! are in nats.
//!
//! | question | module |
//! | --- | --- |
//! | how far can a share be trusted? | [`proportion`] |
//! | how do many small tallies steady each other? | [`shrink`] |
//! | is a given for b more often than b for a? | [`direction`], [`symmetry`] |
//! | which of many tests still stand? | [`false_discovery`] |
//! | alike, or only a favourite answer? | [`similarity`] |
//! | is an item hard, and does it tell strong from weak? | [`items`], [`options`], [`reliability`] |
//! | how able, whatever was asked? | [`rasch`], [`two_parameter`] |
//! | what are speed and credit worth? | [`speed_accuracy`] |
//! | what does old evidence weigh? | [`forget`] |
//! | what to ask next? | [`thompson`], [`chance`], [`information`] |
//! | how far are two clocks apart? | [`clocks`] |

#![allow(clippy::doc_markdown, reason = "McNemar and DasGupta are people")]

mod beta;
pub mod chance;
mod chi_square;
pub mod clocks;
mod concave;
pub mod direction;
mod discrimination;
pub mod false_discovery;
pub mod forget;
mod hermite;
pub mod information;
pub mod items;
mod level;
mod linear;
mod logistic;
pub mod options;
pub mod proportion;
pub mod rasch;
pub mod reliability;
mod responses;
pub mod shrink;
pub mod similarity;
pub mod speed_accuracy;
mod square;
pub mod symmetry;
mod tally;
pub mod thompson;
mod trigamma;
pub mod two_parameter;

pub use beta::Beta;
pub use chi_square::ChiSquare;
pub use discrimination::Discrimination;
pub use level::{Interval, Level};
pub use responses::Responses;
pub use square::Square;
pub use tally::Tally;

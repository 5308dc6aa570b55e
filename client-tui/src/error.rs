//! How a program run ends.

use std::io;

/// How the screens were left.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// The person left; a review that runs goes on without them and their seat is kept.
    Left,
    /// The review is over.
    Ended,
    /// The instructor took the student out of the review.
    Removed,
    /// The same seat was taken from another terminal.
    SeatTaken,
    /// The server refused; a sentence says why and what to do.
    Refused(String),
}

/// What keeps the screens from running at all.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// Input or output is not a terminal.
    #[error("input and output must be a terminal")]
    NoTerminal,
    /// The terminal cannot be drawn on.
    #[error("failed to use the terminal: {0}")]
    Terminal(#[source] io::Error),
}

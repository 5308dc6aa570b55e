//! What a student is given, and what it writes down.

use std::collections::BTreeMap;
use std::net::{IpAddr, SocketAddr};

use rand::rngs::ChaCha8Rng;
use tokio::time::Instant;

/// How a student behaves.
#[derive(Debug, Clone)]
pub(crate) struct Habits {
    /// Shortest and longest time from a clue to the answer, in milliseconds.
    pub(crate) think_ms: (u64, u64),
    /// Leaves in good order after each so many rounds, and comes back at once.
    pub(crate) leaves_every: Option<u16>,
    /// What is claimed of the elapsed time, given the true one, both in milliseconds.
    pub(crate) claims: fn(u64, &mut ChaCha8Rng) -> u64,
}

impl Default for Habits {
    fn default() -> Self {
        Self { think_ms: (100, 1_000), leaves_every: None, claims: |truth, _| truth }
    }
}

/// Where students go, and by which way.
#[derive(Debug, Clone)]
pub(crate) struct Way {
    /// The host, or a proxy before it.
    pub(crate) to: SocketAddr,
    /// The address of this machine to come from; `None` leaves it to the system.
    pub(crate) from: Option<IpAddr>,
    /// The join word.
    pub(crate) word: String,
}

/// What a student went through.
#[derive(Debug, Default)]
pub(crate) struct Diary {
    /// The student's number.
    pub(crate) student: Option<String>,
    /// Attempts that it was told are recorded, each once, and when it was first told.
    pub(crate) recorded: BTreeMap<String, Instant>,
    /// Answers given, each counted once however often it was sent.
    pub(crate) answers: usize,
    /// Answers that were refused, by round and code.
    pub(crate) refused: Vec<(u16, String)>,
    /// When it took its seat, each time.
    pub(crate) seatings: Vec<Instant>,
    /// When it lost its connection in its seat, each time, and the close code if there was one.
    pub(crate) losses: Vec<(Instant, Option<u16>)>,
    /// Points of the whole review in hundredths, as it was told.
    pub(crate) total: Option<i64>,
}

/// What all students of a cohort have seen so far.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Seen {
    /// How many have a seat and a connection.
    pub(crate) seated: usize,
    /// The latest round that any was told of.
    pub(crate) round: u16,
    /// How often one has taken its seat.
    pub(crate) seatings: usize,
    /// Answers of that round that somebody was told are recorded.
    pub(crate) of_round: usize,
    /// All answers of which somebody was told that.
    pub(crate) recorded: usize,
}

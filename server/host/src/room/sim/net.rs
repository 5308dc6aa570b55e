//! A simulated connection: what is sent on it comes later and in order, or not at all.

use myonym_wire::Millis;
use rand::RngExt as _;
use rand::rngs::ChaCha8Rng;

use super::ear::{Ear, Peer};
use crate::room::{Entrant, LineEnd, Out, Post, Said};

/// What a client sends.
#[derive(Debug)]
pub(super) enum Up {
    Enter(Entrant),
    Said(Said),
    /// Nothing more: the connection is closed, or the host finds it dead.
    Gone,
}

#[derive(Debug)]
pub(super) struct Conn {
    pub(super) ear: Ear,
    /// The host's end, while the host knows the connection.
    pub(super) line: Option<LineEnd>,
    /// Which process of the host it leads to.
    pub(super) process: u32,
    /// Whether the client still holds it for open.
    pub(super) up: bool,
    /// What is under way either way is lost.
    pub(super) lost: bool,
    /// Until when the client reads nothing.
    pub(super) stalled: Millis,
    pub(super) round_trip: Option<Millis>,
    delay_ms: u64,
    jitter_ms: u64,
    /// When the last message each way comes in: none overtakes another.
    up_by: Millis,
    down_by: Millis,
    posted_by: Millis,
}

impl Conn {
    pub(super) fn new(
        peer: Peer,
        own_name: Option<String>,
        process: u32,
        random: &mut ChaCha8Rng,
    ) -> Self {
        let delay_ms = if random.random_bool(0.1) {
            random.random_range(80..400)
        } else {
            random.random_range(1..40)
        };
        Self {
            ear: Ear::new(peer, own_name),
            line: None,
            process,
            up: true,
            lost: false,
            stalled: Millis(0),
            round_trip: None,
            delay_ms,
            jitter_ms: random.random_range(1..30),
            up_by: Millis(0),
            down_by: Millis(0),
            posted_by: Millis(0),
        }
    }

    /// When what is sent now reaches the host.
    pub(super) fn up_at(&mut self, now: Millis, random: &mut ChaCha8Rng) -> Millis {
        self.up_by = self.up_by.max(self.delayed(now, random));
        self.up_by
    }

    /// When what the host sends now reaches the client.
    pub(super) fn down_at(&mut self, now: Millis, random: &mut ChaCha8Rng) -> Millis {
        self.down_by = self.down_by.max(self.delayed(now, random));
        self.down_by
    }

    /// When a post stamped now gets into the room's inbox: the host's tasks take turns.
    pub(super) fn posted_at(&mut self, now: Millis, random: &mut ChaCha8Rng) -> Millis {
        let wait = if random.random_bool(0.05) { random.random_range(0..60) } else { 0 };
        self.posted_by = self.posted_by.max(now.plus(Millis(wait)));
        self.posted_by
    }

    /// When something goes out, as the room's messages stand: a first pong tells the round trip.
    pub(super) fn pong(&mut self) {
        self.round_trip.get_or_insert(Millis(2 * self.delay_ms));
    }

    fn delayed(&self, now: Millis, random: &mut ChaCha8Rng) -> Millis {
        now.plus(Millis(self.delay_ms + random.random_range(0..=self.jitter_ms)))
    }
}

/// Something that is due at some time.
#[derive(Debug)]
pub(super) enum Due {
    /// A client's message reaches the host's socket.
    Arrive(u64, Up),
    /// A stamped post gets into the room's inbox.
    Inbox(u32, Post),
    /// A message, or the end, reaches a client.
    Deliver(u64, Out),
    Student(usize, super::student::Step),
    Instructor(usize),
    Board(usize),
    /// Something goes wrong.
    Weather,
    DiskHeals,
    /// A power cut once something is handed to the disk, or is on it and the room not told; looked
    /// for so often at most.
    KillSoon {
        untold: bool,
        looks: u32,
    },
    /// A reader reads again.
    Wakes,
    HostStarts,
    /// An instructor says these, whatever else there is to say.
    Pauses(u32),
    /// All is well from here on.
    Calm,
    End,
    Last,
    Done,
}

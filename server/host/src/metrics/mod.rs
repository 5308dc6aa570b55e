//! What is counted of a running host, for whoever watches over it (`/metrics`) and its operations
//! log.
//!
//! Counting is like logging: one program is one host, so the counts are the program's, and nothing
//! has to be handed through. All labels are among a few known here; none tells of a student, a join
//! word, an address or a review.

mod held;
mod page;
mod process;
#[cfg(test)]
mod tests;

use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

use myonym_wire::limits::close;
use myonym_wire::{EndWhy, ErrorCode};

pub(crate) use held::{Connected, Open, Role, RoomShare};
use held::{RoomKind, RoomPhase};
pub(crate) use page::{CONTENT_TYPE, Waiting, page};
pub(crate) use process::remember_start;

/// All counts of this program.
pub(crate) static COUNTS: Counts = Counts::new();

/// A count that only goes up, or of things that are there now.
#[derive(Debug)]
pub(crate) struct Count(AtomicU64);

impl Count {
    const fn new() -> Self {
        Self(AtomicU64::new(0))
    }

    /// One more.
    pub(crate) fn one(&self) {
        self.more(1);
    }

    /// So many more.
    pub(crate) fn more(&self, by: u64) {
        self.0.fetch_add(by, Ordering::Relaxed);
    }

    /// So many fewer, of what was counted before.
    fn less(&self, by: u64) {
        self.0.fetch_sub(by, Ordering::Relaxed);
    }

    fn get(&self) -> u64 {
        self.0.load(Ordering::Relaxed)
    }
}

/// Counts apart by what each is of.
#[derive(Debug)]
pub(crate) struct Family<K: 'static, const N: usize> {
    kinds: [K; N],
    counts: [Count; N],
}

impl<K: Copy + PartialEq, const N: usize> Family<K, N> {
    const fn new(kinds: [K; N]) -> Self {
        Self { kinds, counts: [const { Count::new() }; N] }
    }

    /// The count of one kind; a kind that is not known here is not counted.
    pub(crate) fn of(&self, kind: K) -> Option<&Count> {
        self.counts.get(self.kinds.iter().position(|known| *known == kind)?)
    }

    /// One more of this kind.
    pub(crate) fn one(&self, kind: K) {
        if let Some(count) = self.of(kind) {
            count.one();
        }
    }

    fn rows(&self) -> impl Iterator<Item = (K, u64)> + '_ {
        self.kinds.iter().zip(&self.counts).map(|(kind, count)| (*kind, count.get()))
    }
}

/// How long something took, in steps.
#[derive(Debug)]
pub(crate) struct Durations {
    counts: [Count; STEPS.len()],
    longer: Count,
    micros: Count,
}

/// Upper ends of the steps, in microseconds: from a disk that is a chip to one that hangs.
const STEPS: [u64; 12] = [
    500, 1_000, 2_500, 5_000, 10_000, 25_000, 50_000, 100_000, 250_000, 1_000_000, 2_500_000,
    10_000_000,
];

impl Durations {
    const fn new() -> Self {
        Self {
            counts: [const { Count::new() }; STEPS.len()],
            longer: Count::new(),
            micros: Count::new(),
        }
    }

    /// Counts one that took so long.
    pub(crate) fn took(&self, time: Duration) {
        let micros = u64::try_from(time.as_micros()).unwrap_or(u64::MAX);
        let step = STEPS.iter().position(|end| micros <= *end);
        step.and_then(|step| self.counts.get(step)).unwrap_or(&self.longer).one();
        self.micros.more(micros);
    }
}

/// Makes an enum of labels that knows all of them.
macro_rules! labels {
    (
        $(#[$what:meta])*
        $name:ident { $($(#[$each:meta])* $kind:ident = $text:literal,)+ }
    ) => {
        $(#[$what])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub(crate) enum $name {
            $($(#[$each])* $kind,)+
        }

        impl $name {
            /// All of them.
            pub(crate) const ALL: [Self; [$($text),+].len()] = [$(Self::$kind),+];

            /// As a label.
            pub(crate) fn as_str(self) -> &'static str {
                match self {
                    $(Self::$kind => $text,)+
                }
            }
        }
    };
}
pub(crate) use labels;

labels! {
    /// A limit that was reached: a row of the table in DEVELOPERS.md.
    Limit {
        /// A message or frame was too big (1009).
        Message = "message",
        /// The head of an HTTP request did not come in time.
        Request = "request",
        /// The TLS handshake did not come about in time.
        TlsHandshake = "tls_handshake",
        /// The first message did not come in time.
        Hello = "hello",
        /// Nothing was heard for too long.
        Silence = "silence",
        /// A write took too long (1013).
        Write = "write",
        /// The last faulty message that a connection is allowed.
        Faults = "faults",
        /// Too many messages in a short time.
        Flood = "flood",
        /// An address had too many wrong join words or keys, and has to wait.
        Misses = "misses",
        /// Too many messages waited for one connection (1013).
        Line = "line",
        /// A connection had to wait, since too many posts waited for its room.
        Inbox = "inbox",
        /// A room had to wait, since too much of it waited for the disk.
        Unsaved = "unsaved",
        /// An address opened too many study groups, and has to wait.
        Gatherings = "gatherings",
        /// There were as many study groups as there may be.
        Groups = "groups",
        /// A room had as many boards as it may.
        Boards = "boards",
        /// There were as many connections as there may be.
        Connections = "connections",
        /// There were as many rooms as there may be.
        Rooms = "rooms",
        /// A room had as many seats as it may.
        Seats = "seats",
        /// A name was empty or too long.
        Name = "name",
        /// So was the name of a group.
        Group = "group",
        /// So was the name of a section.
        Section = "section",
        /// An answer was too long.
        Answer = "answer",
    }
}

labels! {
    /// What was tried in vain at the door.
    Miss {
        /// A join word that no review has.
        Word = "word",
        /// A key that conducts nothing here.
        Key = "key",
    }
}

labels! {
    /// Which way something went.
    Way {
        /// To the host.
        In = "in",
        /// From the host.
        Out = "out",
    }
}

labels! {
    /// A WebSocket frame beside those of messages. Pongs that the library answers pings with are not
    /// counted.
    Control {
        /// A ping that came.
        PingIn = "ping_in",
        /// A pong that came.
        PongIn = "pong_in",
        /// A ping that went out.
        PingOut = "ping_out",
    }
}

/// Close codes that this host uses.
const CLOSES: [u16; 10] = [
    close::NORMAL,
    close::AWAY,
    close::PROTOCOL,
    close::UNSUPPORTED,
    close::NOT_UTF8,
    close::POLICY,
    close::TOO_BIG,
    close::INTERNAL,
    close::TOO_SLOW,
    close::SEAT_TAKEN,
];

/// All refusals that the wire knows.
const CODES: [ErrorCode; 17] = [
    ErrorCode::NotReadable,
    ErrorCode::UnknownType,
    ErrorCode::BadField,
    ErrorCode::HelloFirst,
    ErrorCode::NoSuchReview,
    ErrorCode::NotAllowed,
    ErrorCode::BadName,
    ErrorCode::RoomFull,
    ErrorCode::ReviewOver,
    ErrorCode::NotNow,
    ErrorCode::RoundNotOpen,
    ErrorCode::TooLate,
    ErrorCode::AlreadyAnswered,
    ErrorCode::NoSuchStudent,
    ErrorCode::TooMany,
    ErrorCode::SlowDown,
    ErrorCode::CannotSave,
];

/// Everything that is counted.
#[derive(Debug)]
pub(crate) struct Counts {
    /// TCP connections that are open.
    open: Count,
    /// Connections that are in a room.
    connected: Family<Role, { Role::ALL.len() }>,
    /// Rooms where an instructor conducts, by phase; then study groups.
    rooms: [Family<RoomPhase, { RoomPhase::ALL.len() }>; RoomKind::ALL.len()],
    seated: Count,
    present: Count,
    /// TCP connections that were taken.
    pub(crate) accepted: Count,
    /// Handshakes of a WebSocket that were refused, by status.
    pub(crate) handshakes_refused: Family<u16, 3>,
    /// TLS handshakes that failed.
    pub(crate) tls_failed: Count,
    /// HTTP in the clear at a door of TLS.
    pub(crate) in_the_clear: Count,
    /// Certificates read anew after a look at their files.
    pub(crate) certificate_reads: Count,
    /// What was tried in vain at the door.
    pub(crate) misses: Family<Miss, { Miss::ALL.len() }>,
    /// Limits reached.
    pub(crate) limits: Family<Limit, { Limit::ALL.len() }>,
    /// Messages that could not be read as one of ours.
    pub(crate) faulty: Count,
    /// Refusals told, by code.
    pub(crate) refused: Family<ErrorCode, 17>,
    /// Closes by the host, by code.
    pub(crate) closed: Family<u16, 10>,
    /// Connections that the other side ended.
    pub(crate) left: Count,
    /// Seats taken over from another connection.
    pub(crate) taken_over: Count,
    /// Messages.
    pub(crate) messages: Family<Way, { Way::ALL.len() }>,
    /// Bytes of their texts.
    pub(crate) bytes: Family<Way, { Way::ALL.len() }>,
    /// Frames beside those of messages.
    pub(crate) control: Family<Control, { Control::ALL.len() }>,
    /// Answers that were taken.
    pub(crate) received: Count,
    /// Answers that are on disk.
    pub(crate) recorded: Count,
    /// Events that are on disk.
    pub(crate) events: Count,
    /// Commits that succeeded, and how long each took.
    pub(crate) commits: Durations,
    /// How long each of them had gathered before.
    pub(crate) gathered: Durations,
    /// Commits that failed.
    pub(crate) commits_failed: Count,
    /// Reviews opened.
    pub(crate) opened: Count,
    /// Reviews that ended, by why.
    pub(crate) ended: Family<EndWhy, 3>,
    /// Reviews taken up after a restart of the host.
    pub(crate) taken_up: Count,
    /// Times that a room went back to what is on disk.
    pub(crate) fallen_back: Count,
    /// Times that a room could save again after that.
    pub(crate) recovered: Count,
    /// Rooms that broke.
    pub(crate) broken: Count,
}

impl Counts {
    const fn new() -> Self {
        Self {
            open: Count::new(),
            connected: Family::new(Role::ALL),
            rooms: [const { Family::new(RoomPhase::ALL) }; RoomKind::ALL.len()],
            seated: Count::new(),
            present: Count::new(),
            accepted: Count::new(),
            handshakes_refused: Family::new([400, 403, 426]),
            tls_failed: Count::new(),
            in_the_clear: Count::new(),
            certificate_reads: Count::new(),
            misses: Family::new(Miss::ALL),
            limits: Family::new(Limit::ALL),
            faulty: Count::new(),
            refused: Family::new(CODES),
            closed: Family::new(CLOSES),
            left: Count::new(),
            taken_over: Count::new(),
            messages: Family::new(Way::ALL),
            bytes: Family::new(Way::ALL),
            control: Family::new(Control::ALL),
            received: Count::new(),
            recorded: Count::new(),
            events: Count::new(),
            commits: Durations::new(),
            gathered: Durations::new(),
            commits_failed: Count::new(),
            opened: Count::new(),
            ended: Family::new([EndWhy::Finished, EndWhy::Instructor, EndWhy::Abandoned]),
            taken_up: Count::new(),
            fallen_back: Count::new(),
            recovered: Count::new(),
            broken: Count::new(),
        }
    }

    /// Counts a message and the length of its text.
    pub(crate) fn message(&self, way: Way, bytes: usize) {
        self.messages.one(way);
        if let Some(count) = self.bytes.of(way) {
            count.more(u64::try_from(bytes).unwrap_or(u64::MAX));
        }
    }
}

/// A term of the wire as it is written there, such as `no_such_review`.
pub(crate) fn term(term: &impl serde::Serialize) -> String {
    myonym_wire::encode(term).trim_matches('"').to_owned()
}

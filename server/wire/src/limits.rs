//! Limits and close codes that both sides keep.

/// Largest message or frame, in bytes; a larger one is closed with [`close::TOO_BIG`].
pub const MESSAGE_BYTES: usize = 16 * 1024;
/// Longest name of a student, in characters.
pub const NAME_CHARS: usize = 24;
/// Longest name of a student's group, in characters.
pub const GROUP_CHARS: usize = 24;
/// Longest name of a section, in characters.
pub const SECTION_CHARS: usize = 40;
/// Most bones in a join word; it has two at least.
pub const JOIN_WORD_BONES: usize = 5;
/// Longest typed answer, in characters.
pub const ANSWER_CHARS: usize = 80;
/// Time for the handshake, and again for the first message, in milliseconds.
pub const HELLO_MS: u64 = 5_000;
/// Time without any frame after which the server forgets a connection (the seat is kept).
pub const IDLE_MS: u64 = 30_000;
/// The server pings each connection this often, in milliseconds.
pub const PING_MS: u64 = 10_000;
/// A client that has heard nothing for this long takes the connection for lost, in milliseconds.
pub const SILENCE_MS: u64 = 15_000;
/// Faulty messages after which a connection is closed with [`close::POLICY`].
pub const FAULTS: u32 = 3;

/// WebSocket close codes (RFC 6455 section 7.4) as this protocol uses them.
pub mod close {
    /// The review is over, or the client left.
    pub const NORMAL: u16 = 1000;
    /// The server stops, or heard nothing for too long. Come back.
    pub const AWAY: u16 = 1001;
    /// The frames break RFC 6455.
    pub const PROTOCOL: u16 = 1002;
    /// A binary message.
    pub const UNSUPPORTED: u16 = 1003;
    /// Text that is not UTF-8.
    pub const NOT_UTF8: u16 = 1007;
    /// Refused, removed, too many faults, or too many messages.
    pub const POLICY: u16 = 1008;
    /// Larger than [`super::MESSAGE_BYTES`].
    pub const TOO_BIG: u16 = 1009;
    /// The server made a mistake in this room.
    pub const INTERNAL: u16 = 1011;
    /// The client reads too slowly. Come back: the seat is kept.
    pub const TOO_SLOW: u16 = 1013;
    /// The same seat was taken from another connection (private range).
    pub const SEAT_TAKEN: u16 = 4001;
}

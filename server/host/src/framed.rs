//! A text message in its frame, made once for everyone who gets it.

use std::fmt;

use serde::Serialize;
use tokio_tungstenite::tungstenite::Bytes;
use tokio_tungstenite::tungstenite::protocol::frame::FrameHeader;
use tokio_tungstenite::tungstenite::protocol::frame::coding::{Control, Data, OpCode};

/// Most bytes before the text of a frame that is not masked.
const HEAD: usize = 10;

/// A whole frame (RFC 6455 section 5.2: final, text, not masked). What a server sends is not masked,
/// so the bytes are the same on every connection and are shared.
#[derive(Clone)]
pub(crate) struct Framed {
    bytes: Bytes,
    head: usize,
}

impl Framed {
    /// Encodes a message and puts it in its frame.
    pub(crate) fn new(message: &impl Serialize) -> Self {
        Self::of(OpCode::Data(Data::Text), myonym_wire::encode(message).as_bytes())
    }

    /// A ping that carries a stamp.
    pub(crate) fn ping(stamp: [u8; 8]) -> Self {
        Self::of(OpCode::Control(Control::Ping), &stamp)
    }

    fn of(opcode: OpCode, payload: &[u8]) -> Self {
        let header = FrameHeader { opcode, ..FrameHeader::default() };
        let length = u64::try_from(payload.len()).unwrap_or(u64::MAX);
        let mut frame = Vec::with_capacity(payload.len() + HEAD);
        // A vector takes whatever is written to it.
        let _ = header.format(length, &mut frame);
        let head = frame.len();
        frame.extend_from_slice(payload);
        Self { bytes: frame.into(), head }
    }

    /// The frame.
    pub(crate) fn bytes(&self) -> &Bytes {
        &self.bytes
    }

    /// Bytes of the text within.
    pub(crate) fn text_len(&self) -> usize {
        self.bytes.len() - self.head
    }

    /// The text within.
    #[cfg(test)]
    pub(crate) fn text(&self) -> &str {
        std::str::from_utf8(&self.bytes[self.head..]).unwrap_or_default()
    }
}

impl fmt::Debug for Framed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a frame with {} bytes of text", self.text_len())
    }
}

//! A connection whose input is measured from one message to the next.
//!
//! A message may come in any number of fragments, and fragments may be empty (RFC 6455 section
//! 5.4): whoever never ends one would be read for ever and never heard. So only so many bytes may
//! come before the next whole message.

use std::io;
use std::pin::Pin;
use std::task::{Context, Poll};

use myonym_wire::limits::MESSAGE_BYTES;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};

/// Bytes before a whole message: enough for the largest one in fragments of a single byte, which
/// take seven each.
const MOST: usize = 8 * MESSAGE_BYTES;

/// A stream that gives up on a message without end.
#[derive(Debug)]
pub(crate) struct Metered<S> {
    stream: S,
    since_message: usize,
    is_over: bool,
}

impl<S> Metered<S> {
    /// Measures what comes in from now on.
    pub(crate) fn new(stream: S) -> Self {
        Self { stream, since_message: 0, is_over: false }
    }

    /// A whole message came in.
    pub(crate) fn message(&mut self) {
        self.since_message = 0;
    }

    /// Whether more came than any message has: it was ended for that.
    pub(crate) fn is_over(&self) -> bool {
        self.is_over
    }

    /// The stream within, no longer measured.
    pub(crate) fn bare(&mut self) -> &mut S {
        &mut self.stream
    }
}

impl<S: AsyncRead + Unpin> AsyncRead for Metered<S> {
    fn poll_read(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
        into: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        let this = self.get_mut();
        if this.since_message > MOST {
            this.is_over = true;
            return Poll::Ready(Err(io::Error::other("a message without end")));
        }
        let before = into.filled().len();
        let read = Pin::new(&mut this.stream).poll_read(context, into);
        this.since_message += into.filled().len().saturating_sub(before);
        read
    }
}

impl<S: AsyncWrite + Unpin> AsyncWrite for Metered<S> {
    fn poll_write(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        Pin::new(&mut self.get_mut().stream).poll_write(context, bytes)
    }

    fn poll_flush(self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.get_mut().stream).poll_flush(context)
    }

    fn poll_shutdown(self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.get_mut().stream).poll_shutdown(context)
    }
}

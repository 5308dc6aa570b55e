//! A connection's bytes, in the clear or through TLS: one type, so that whoever takes a connection
//! out of the HTTP library knows what it was.

use std::io::{self, IoSlice};
use std::pin::Pin;
use std::task::{Context, Poll};

use socket2::SockRef;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::TcpStream;
use tokio_rustls::server::TlsStream;

/// A connection that was accepted.
#[derive(Debug)]
pub(crate) enum Stream {
    /// As it comes.
    Plain(TcpStream),
    /// Through TLS, after the handshake.
    Secure(Box<TlsStream<TcpStream>>),
}

/// A stream past whose runtime bytes can be sent.
pub(crate) trait SendNow: AsyncWrite {
    /// Gives the system what it takes at once, past the runtime.
    ///
    /// # Errors
    ///
    /// `WouldBlock` if it takes nothing at once, or if the stream cannot be gone past.
    fn send_now(&self, _bytes: &[u8]) -> io::Result<usize> {
        Err(io::ErrorKind::WouldBlock.into())
    }
}

impl SendNow for Stream {
    fn send_now(&self, bytes: &[u8]) -> io::Result<usize> {
        match self {
            Self::Plain(stream) => SockRef::from(stream).send(bytes),
            Self::Secure(_) => Err(io::ErrorKind::WouldBlock.into()),
        }
    }
}

#[cfg(test)]
impl SendNow for tokio::io::DuplexStream {}

impl AsyncRead for Stream {
    fn poll_read(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
        into: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Self::Plain(stream) => Pin::new(stream).poll_read(context, into),
            Self::Secure(stream) => Pin::new(stream).poll_read(context, into),
        }
    }
}

impl AsyncWrite for Stream {
    fn poll_write(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        match self.get_mut() {
            Self::Plain(stream) => Pin::new(stream).poll_write(context, bytes),
            Self::Secure(stream) => Pin::new(stream).poll_write(context, bytes),
        }
    }

    fn poll_write_vectored(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
        parts: &[IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        match self.get_mut() {
            Self::Plain(stream) => Pin::new(stream).poll_write_vectored(context, parts),
            Self::Secure(stream) => Pin::new(stream).poll_write_vectored(context, parts),
        }
    }

    fn is_write_vectored(&self) -> bool {
        match self {
            Self::Plain(stream) => stream.is_write_vectored(),
            Self::Secure(stream) => stream.is_write_vectored(),
        }
    }

    fn poll_flush(self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Self::Plain(stream) => Pin::new(stream).poll_flush(context),
            Self::Secure(stream) => Pin::new(stream).poll_flush(context),
        }
    }

    fn poll_shutdown(self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        match self.get_mut() {
            Self::Plain(stream) => Pin::new(stream).poll_shutdown(context),
            Self::Secure(stream) => Pin::new(stream).poll_shutdown(context),
        }
    }
}

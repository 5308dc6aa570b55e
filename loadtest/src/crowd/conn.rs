//! One connection of a client: TCP, with TLS or without, the handshake, and frames.

use std::io::{Read, Write};
use std::net::SocketAddr;
use std::str;
use std::sync::Arc;

use anyhow::{Context, bail, ensure};
use mio::event::Event;
use mio::net::TcpStream;
use mio::{Interest, Registry, Token};
use myonym_wire::{PATH, SUBPROTOCOL};
use tokio_rustls::rustls::pki_types::ServerName;
use tokio_rustls::rustls::{ClientConfig, ClientConnection};

use super::is_dry;
use crate::frame;

/// One connection.
#[derive(Debug)]
pub(super) struct Conn {
    stream: TcpStream,
    connected: bool,
    tls: Option<Box<ClientConnection>>,
    /// What is said first; gone once it is said.
    hello: Option<Box<str>>,
    /// The beginning of what is not all there yet.
    held: Vec<u8>,
    /// What the socket did not take.
    unsent: Vec<u8>,
}

impl Conn {
    /// Begins to connect.
    pub(super) fn open(
        address: SocketAddr,
        trust: Option<Arc<ClientConfig>>,
        registry: &Registry,
        token: Token,
        hello: &str,
    ) -> anyhow::Result<Self> {
        let mut stream = TcpStream::connect(address)?;
        registry.register(&mut stream, token, Interest::READABLE | Interest::WRITABLE)?;
        let name = ServerName::IpAddress(address.ip().into());
        let tls = trust.map(|trust| ClientConnection::new(trust, name)).transpose()?.map(Box::new);
        let (hello, held, unsent) = (Some(hello.into()), Vec::new(), Vec::new());
        let mut conn = Self { stream, connected: false, tls, hello, held, unsent };
        // The key of RFC 6455 section 1.3: one is as good as another to who checks no answer.
        let request = format!(
            "GET {PATH} HTTP/1.1\r\nHost: {address}\r\nUpgrade: websocket\r\n\
             Connection: Upgrade\r\nSec-WebSocket-Version: 13\r\n\
             Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\
             Sec-WebSocket-Protocol: {SUBPROTOCOL}\r\n\r\n"
        );
        conn.give(request.into_bytes())?;
        Ok(conn)
    }

    /// Sends a message.
    pub(super) fn say(&mut self, text: &str, mask: [u8; 4]) -> anyhow::Result<()> {
        let mut bytes = Vec::with_capacity(text.len() + 8);
        frame::from_client(&mut bytes, frame::TEXT, text.as_bytes(), mask);
        self.give(bytes)
    }

    /// Does what the socket is ready for, and hands on each whole message.
    ///
    /// # Errors
    /// The connection has ended; why.
    pub(super) fn go_on(
        &mut self,
        event: &Event,
        mask: [u8; 4],
        buffer: &mut [u8],
        hear: &mut dyn FnMut(&str),
    ) -> anyhow::Result<()> {
        if event.is_writable() {
            if !self.connected {
                if let Some(fault) = self.stream.take_error()? {
                    return Err(fault).context("no connection comes about");
                }
                self.stream.set_nodelay(true)?;
                self.connected = true;
            }
            self.send()?;
        }
        if !event.is_readable() {
            return Ok(());
        }
        loop {
            let (count, last) = self.read(buffer)?;
            self.take(&buffer[..count], mask, hear)?;
            if last {
                return Ok(());
            }
        }
    }

    /// Reads what there is, and whether that was all.
    fn read(&mut self, buffer: &mut [u8]) -> anyhow::Result<(usize, bool)> {
        let Some(tls) = &mut self.tls else {
            return match self.stream.read(buffer) {
                Ok(0) => bail!("the server closed the connection"),
                // Less than was asked for: nothing is left (epoll(7), questions and answers).
                Ok(count) => Ok((count, count < buffer.len())),
                Err(fault) if is_dry(&fault) => Ok((0, true)),
                Err(fault) => Err(fault).context("the connection broke"),
            };
        };
        let mut last = false;
        match tls.read_tls(&mut self.stream) {
            Ok(0) => bail!("the server closed the connection"),
            Ok(_) => {}
            Err(fault) if is_dry(&fault) => last = true,
            Err(fault) => return Err(fault).context("the connection broke"),
        }
        tls.process_new_packets().context("TLS does not come about")?;
        let mut count = 0;
        while count < buffer.len() {
            match tls.reader().read(&mut buffer[count..]) {
                Ok(0) => break,
                Ok(more) => count += more,
                Err(fault) if is_dry(&fault) => break,
                Err(fault) => return Err(fault).context("the connection broke"),
            }
        }
        self.send()?;
        Ok((count, last && count == 0))
    }

    fn take(
        &mut self,
        fresh: &[u8],
        mask: [u8; 4],
        hear: &mut dyn FnMut(&str),
    ) -> anyhow::Result<()> {
        if self.held.is_empty() {
            let used = self.use_up(fresh, mask, hear)?;
            self.held.extend_from_slice(&fresh[used..]);
        } else {
            let mut held = std::mem::take(&mut self.held);
            held.extend_from_slice(fresh);
            let used = self.use_up(&held, mask, hear)?;
            self.held.extend_from_slice(&held[used..]);
        }
        Ok(())
    }

    /// Does what whole messages say: how many bytes they were.
    fn use_up(
        &mut self,
        bytes: &[u8],
        mask: [u8; 4],
        hear: &mut dyn FnMut(&str),
    ) -> anyhow::Result<usize> {
        let mut used = 0;
        if self.hello.is_some() {
            let Some(end) = bytes.windows(4).position(|four| four == b"\r\n\r\n") else {
                return Ok(0);
            };
            let line = String::from_utf8_lossy(&bytes[..end]);
            let line = line.lines().next().unwrap_or_default();
            ensure!(line.starts_with("HTTP/1.1 101"), "the server answered `{line}`");
            used = end + 4;
            if let Some(hello) = self.hello.take() {
                self.say(&hello, mask)?;
            }
        }
        while let Some(cut) = frame::cut(&bytes[used..])? {
            let payload = &bytes[used..][cut.payload.clone()];
            match cut.kind {
                frame::TEXT => hear(str::from_utf8(payload)?),
                frame::PING => {
                    let mut pong = Vec::with_capacity(payload.len() + 8);
                    frame::from_client(&mut pong, frame::PONG, payload, mask);
                    self.give(pong)?;
                }
                frame::CLOSE => bail!("{}", farewell(payload)),
                _ => {}
            }
            used += cut.payload.end;
        }
        Ok(used)
    }

    fn give(&mut self, bytes: Vec<u8>) -> anyhow::Result<()> {
        if let Some(tls) = &mut self.tls {
            tls.writer().write_all(&bytes)?;
        } else if self.unsent.is_empty() {
            self.unsent = bytes;
        } else {
            self.unsent.extend_from_slice(&bytes);
        }
        self.send()
    }

    /// Writes what the socket takes.
    fn send(&mut self) -> anyhow::Result<()> {
        loop {
            let written = match &mut self.tls {
                Some(tls) if tls.wants_write() => tls.write_tls(&mut self.stream).map(|_| ()),
                Some(_) => return Ok(()),
                None if self.unsent.is_empty() => return Ok(()),
                None => self.stream.write(&self.unsent).map(|taken| {
                    // Nearly always all of it: then the memory goes too.
                    if taken == self.unsent.len() {
                        self.unsent = Vec::new();
                    } else {
                        self.unsent.drain(..taken);
                    }
                }),
            };
            match written {
                Ok(()) => {}
                Err(fault) if is_dry(&fault) => return Ok(()),
                Err(fault) => return Err(fault).context("the connection broke"),
            }
        }
    }
}

/// A close frame in words (RFC 6455 section 5.5.1).
fn farewell(payload: &[u8]) -> String {
    match payload.split_first_chunk::<2>() {
        Some((code, why)) => {
            let (code, why) = (u16::from_be_bytes(*code), String::from_utf8_lossy(why));
            format!("the server closed with {code}: {why}")
        }
        None => "the server closed the connection".to_owned(),
    }
}

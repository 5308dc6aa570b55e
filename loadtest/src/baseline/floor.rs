//! The floor: one thread, one `epoll`, and ready-made frames written straight to each socket.
//!
//! It shakes hands with the least effort, takes the mask off what comes, parses an answer's JSON
//! and copies its attempt into two frames that were made before. Nothing that speaks RFC 6455 does
//! with much less.

use std::io::{self, ErrorKind, Read, Write};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};
use std::{slice, str};

use anyhow::{Context, bail, ensure};
use mio::event::Event;
use mio::net::{TcpListener, TcpStream};
use mio::{Events, Interest, Poll, Token, Waker};
use myonym_wire::{FromStudent, SUBPROTOCOL, decode};
use tokio_tungstenite::tungstenite::handshake::derive_accept_key;

use super::{Hall, PING_EVERY, Peer, Seat};
use crate::frame;

const DOOR: Token = Token(0);
const STOP: Token = Token(1);
/// Tokens of connections begin here.
const FIRST: usize = 2;
/// Most bytes held for one connection that does not read.
const BACKLOG_BYTES: usize = 1_024 * 1_024;
/// Longest beginning of a message that is held.
const HELD_BYTES: usize = 16 * 1_024;
/// Pings go out in so many parts, so that they never come all at once.
const PING_PARTS: u32 = 100;

/// The server.
#[derive(Debug)]
pub(super) struct Floor {
    poll: Poll,
    /// Held here too: once it is closed, nobody is woken by it.
    _stop: Arc<Waker>,
    door: TcpListener,
    hall: Hall<FloorPeer>,
    conns: Vec<Option<Conn>>,
    free: Vec<usize>,
    acknowledgement: Acknowledgement,
    ping: Arc<[u8]>,
}

/// One connection, to which bytes are written straight from whoever tells something.
#[derive(Debug)]
pub(super) struct FloorPeer {
    stream: TcpStream,
    /// Bytes that the socket did not take, oldest first.
    backlog: Mutex<Vec<u8>>,
}

#[derive(Debug)]
struct Conn {
    peer: Arc<FloorPeer>,
    /// The beginning of what is not all there yet: an idle connection holds no buffer.
    held: Vec<u8>,
    stage: Stage,
}

#[derive(Debug, Clone, Copy)]
enum Stage {
    ShakingHands,
    Greeting,
    Seated(Seat),
}

impl Floor {
    /// A server at a door, and what stops it.
    pub(super) fn new(
        door: std::net::TcpListener,
        hall: Hall<FloorPeer>,
    ) -> anyhow::Result<(Self, StopOnDrop)> {
        door.set_nonblocking(true)?;
        let mut door = TcpListener::from_std(door);
        let poll = Poll::new()?;
        poll.registry().register(&mut door, DOOR, Interest::READABLE)?;
        let stop = Arc::new(Waker::new(poll.registry(), STOP)?);
        let ping = frame::from_server(frame::PING, &[0; 8]).into();
        let (conns, free, acknowledgement) = (Vec::new(), Vec::new(), Acknowledgement::new());
        let floor =
            Self { poll, _stop: Arc::clone(&stop), door, hall, conns, free, acknowledgement, ping };
        Ok((floor, StopOnDrop(stop)))
    }

    /// Serves until it is stopped.
    pub(super) fn run(mut self) -> anyhow::Result<()> {
        let mut events = Events::with_capacity(1_024);
        let mut buffer = vec![0; 64 * 1_024];
        let part = PING_EVERY / PING_PARTS;
        let (mut next, mut turn) = (Instant::now() + part, 0);
        loop {
            let wait = next.saturating_duration_since(Instant::now()) + Duration::from_millis(1);
            match self.poll.poll(&mut events, Some(wait)) {
                Err(fault) if fault.kind() == ErrorKind::Interrupted => continue,
                done => done?,
            }
            for event in &events {
                match event.token() {
                    STOP => return Ok(()),
                    DOOR => self.accept()?,
                    Token(token) => self.attend(token - FIRST, event, &mut buffer),
                }
            }
            if Instant::now() >= next {
                self.ping(turn);
                (next, turn) = (next + part, (turn + 1) % PING_PARTS as usize);
            }
        }
    }

    fn accept(&mut self) -> anyhow::Result<()> {
        loop {
            let mut stream = match self.door.accept() {
                Ok((stream, _)) => stream,
                Err(fault) if fault.kind() == ErrorKind::WouldBlock => return Ok(()),
                Err(fault) => return Err(fault.into()),
            };
            stream.set_nodelay(true)?;
            let index = self.free.pop().unwrap_or_else(|| {
                self.conns.push(None);
                self.conns.len() - 1
            });
            let both = Interest::READABLE | Interest::WRITABLE;
            self.poll.registry().register(&mut stream, Token(index + FIRST), both)?;
            let peer = Arc::new(FloorPeer { stream, backlog: Mutex::default() });
            let (held, stage) = (Vec::new(), Stage::ShakingHands);
            self.conns[index] = Some(Conn { peer, held, stage });
        }
    }

    fn attend(&mut self, index: usize, event: &Event, buffer: &mut [u8]) {
        let Some(conn) = self.conns.get_mut(index).and_then(Option::as_mut) else { return };
        let written = if event.is_writable() { conn.peer.catch_up() } else { Ok(()) };
        let mut read = || conn.take_in(buffer, &self.hall, &mut self.acknowledgement);
        let open = written.is_ok() && (!event.is_readable() || matches!(read(), Ok(true)));
        // A connection that breaks is missed by the client, which says so.
        if !open && let Some(conn) = self.conns[index].take() {
            if let Stage::Seated(seat) = conn.stage {
                self.hall.leave(seat, &conn.peer);
            }
            self.free.push(index);
        }
    }

    fn ping(&self, turn: usize) {
        for conn in self.conns.iter().skip(turn).step_by(PING_PARTS as usize).flatten() {
            if matches!(conn.stage, Stage::Seated(_)) {
                conn.peer.send(&self.ping);
            }
        }
    }
}

impl Peer for FloorPeer {
    type Parcel = Arc<[u8]>;

    fn pack(text: &str) -> Arc<[u8]> {
        frame::from_server(frame::TEXT, text.as_bytes()).into()
    }

    fn send(&self, parcel: &Arc<[u8]>) {
        self.write(parcel);
    }
}

impl FloorPeer {
    fn write(&self, bytes: &[u8]) {
        let mut backlog = self.backlog();
        let taken = if backlog.is_empty() { (&self.stream).write(bytes).unwrap_or(0) } else { 0 };
        if taken < bytes.len() && backlog.len() <= BACKLOG_BYTES {
            backlog.extend_from_slice(&bytes[taken..]);
        }
    }

    /// Writes of the backlog what the socket takes.
    fn catch_up(&self) -> anyhow::Result<()> {
        let mut backlog = self.backlog();
        while !backlog.is_empty() {
            match (&self.stream).write(&backlog) {
                Ok(taken) => drop(backlog.drain(..taken)),
                Err(fault) if fault.kind() == ErrorKind::WouldBlock => break,
                Err(fault) => return Err(fault.into()),
            }
        }
        ensure!(backlog.len() <= BACKLOG_BYTES, "the other side does not read");
        Ok(())
    }

    fn backlog(&self) -> MutexGuard<'_, Vec<u8>> {
        self.backlog.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Conn {
    /// Reads what there is and does what it asks for: whether more may come.
    fn take_in(
        &mut self,
        buffer: &mut [u8],
        hall: &Hall<FloorPeer>,
        reply: &mut Acknowledgement,
    ) -> anyhow::Result<bool> {
        loop {
            let count = match (&self.peer.stream).read(buffer) {
                Ok(0) => return Ok(false),
                Ok(count) => count,
                Err(fault) if fault.kind() == ErrorKind::WouldBlock => return Ok(true),
                Err(fault) => return Err(fault.into()),
            };
            if self.held.is_empty() {
                let used = self.use_up(&mut buffer[..count], hall, reply)?;
                self.held.extend_from_slice(&buffer[used..count]);
            } else {
                let mut held = std::mem::take(&mut self.held);
                held.extend_from_slice(&buffer[..count]);
                let used = self.use_up(&mut held, hall, reply)?;
                self.held.extend_from_slice(&held[used..]);
            }
            ensure!(self.held.len() <= HELD_BYTES, "a message is too long");
            // Less than was asked for: nothing is left (epoll(7), questions and answers).
            if count < buffer.len() {
                return Ok(true);
            }
        }
    }

    /// Does what whole messages say: how many bytes they were.
    fn use_up(
        &mut self,
        bytes: &mut [u8],
        hall: &Hall<FloorPeer>,
        reply: &mut Acknowledgement,
    ) -> anyhow::Result<usize> {
        let mut used = 0;
        if matches!(self.stage, Stage::ShakingHands) {
            let Some(end) = bytes.windows(4).position(|four| four == b"\r\n\r\n") else {
                return Ok(0);
            };
            self.peer.write(&upgraded(str::from_utf8(&bytes[..end])?)?);
            (self.stage, used) = (Stage::Greeting, end + 4);
        }
        while let Some(cut) = frame::cut(&bytes[used..])? {
            let payload = &mut bytes[used..][cut.payload.clone()];
            frame::mix(payload, cut.mask.context("a client's frame has a mask")?);
            match cut.kind {
                frame::TEXT => self.do_text(str::from_utf8(payload)?, hall, reply)?,
                frame::CLOSE => bail!("closed"),
                _ => {}
            }
            used += cut.payload.end;
        }
        Ok(used)
    }

    fn do_text(
        &mut self,
        text: &str,
        hall: &Hall<FloorPeer>,
        reply: &mut Acknowledgement,
    ) -> anyhow::Result<()> {
        match self.stage {
            Stage::Seated(Seat::Instructor(room)) => hall.obey(room, text)?,
            Stage::Seated(Seat::Student(room)) => {
                let FromStudent::Answer { attempt, .. } = decode(text)? else {
                    bail!("a baseline takes answers only");
                };
                let mut digits = [0; ATTEMPT_BYTES];
                attempt.0.hyphenated().encode_lower(&mut digits);
                let (received, both) = reply.to(&digits);
                if hall.keeps() {
                    self.peer.write(&both[..received]);
                    hall.tell(text, slice::from_ref(&self.peer), &both[received..].into())?;
                } else {
                    self.peer.write(both);
                }
                hall.count_answer(room)?;
            }
            Stage::ShakingHands | Stage::Greeting => {
                self.stage = Stage::Seated(hall.greet(text, &self.peer)?);
            }
        }
        Ok(())
    }
}

/// The answer to a handshake (RFC 6455 section 4.2.2).
fn upgraded(request: &str) -> anyhow::Result<Vec<u8>> {
    let named = |line: &str| {
        let (name, value) = line.split_once(':')?;
        name.eq_ignore_ascii_case("sec-websocket-key").then(|| value.trim().to_owned())
    };
    let key = request.lines().find_map(named).context("a handshake without a key")?;
    let accept = derive_accept_key(key.as_bytes());
    let mut reply = Vec::with_capacity(200);
    write!(
        reply,
        "HTTP/1.1 101 Switching Protocols\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n\
         Sec-WebSocket-Accept: {accept}\r\nSec-WebSocket-Protocol: {SUBPROTOCOL}\r\n\r\n"
    )?;
    Ok(reply)
}

/// Digits and hyphens of an attempt.
const ATTEMPT_BYTES: usize = 36;

/// `received` and `recorded` for one write, ready-made but for the attempt. The round in them is
/// always 1: clients here go by the attempt.
#[derive(Debug)]
struct Acknowledgement {
    frames: Vec<u8>,
    /// Bytes of the first.
    received: usize,
    /// Where the attempt stands, twice.
    at: [usize; 2],
}

impl Acknowledgement {
    fn new() -> Self {
        let frame = |kind: &str| {
            let blank = "0".repeat(ATTEMPT_BYTES);
            let text = format!(r#"{{"type":"{kind}","round":1,"attempt":"{blank}"}}"#);
            frame::from_server(frame::TEXT, text.as_bytes())
        };
        let (received, recorded) = (frame("received"), frame("recorded"));
        let tail = ATTEMPT_BYTES + 2;
        let at = [received.len() - tail, received.len() + recorded.len() - tail];
        Self { received: received.len(), frames: [received, recorded].concat(), at }
    }

    /// Both frames, and how many bytes the first has.
    fn to(&mut self, digits: &[u8; ATTEMPT_BYTES]) -> (usize, &[u8]) {
        for at in self.at {
            self.frames[at..at + ATTEMPT_BYTES].copy_from_slice(digits);
        }
        (self.received, &self.frames)
    }
}

/// Stops a server when dropped.
#[derive(Debug)]
pub(super) struct StopOnDrop(Arc<Waker>);

impl Drop for StopOnDrop {
    fn drop(&mut self) {
        // A server that is gone already cannot be woken.
        let _: io::Result<()> = self.0.wake();
    }
}

#[cfg(test)]
mod tests {
    use myonym_wire::{AttemptId, RoundNo, ToStudent, encode};
    use uuid::Uuid;

    use super::*;

    #[test]
    fn ready_made_acknowledgements_are_those_of_the_wire() {
        let (round, attempt) = (RoundNo(1), AttemptId(Uuid::from_u128(77)));
        let mut digits = [0; ATTEMPT_BYTES];
        attempt.0.hyphenated().encode_lower(&mut digits);
        let told =
            |message| frame::from_server(frame::TEXT, encode::<ToStudent>(&message).as_bytes());
        let want = [
            told(ToStudent::Received { round, attempt }),
            told(ToStudent::Recorded { round, attempt }),
        ];
        let mut made = Acknowledgement::new();
        assert_eq!(made.to(&digits), (want[0].len(), &want.concat()[..]));
    }

    #[test]
    fn the_handshake_is_that_of_the_standard() {
        // RFC 6455 section 1.3.
        let request = "GET /live HTTP/1.1\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n";
        let reply = String::from_utf8(upgraded(request).unwrap()).unwrap();
        assert!(reply.contains("\r\nSec-WebSocket-Accept: s3pPLMBiTxaQ9kYGzzhZRbK+xOo=\r\n"));
        assert!(upgraded("GET /live HTTP/1.1\r\n").is_err());
    }
}

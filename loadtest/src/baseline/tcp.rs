//! The floor: lines over TCP on one thread, ready-made bytes out, nothing of an answer parsed.

use std::io::ErrorKind;
use std::str;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use anyhow::{Context, ensure};
use tokio::net::{TcpListener, TcpStream};
use tokio::select;
use tokio::sync::Notify;

use super::{Hall, Peer, Seat};

/// Longest line that is read.
const LINE_BYTES: usize = 16 * 1_024;
/// Most bytes held for one connection that does not read.
const BACKLOG_BYTES: usize = 1_024 * 1_024;
/// What stands before an attempt's digits in an answer.
const ATTEMPT: &[u8] = b"\"attempt\":\"";
/// Digits and hyphens of an attempt.
const ATTEMPT_BYTES: usize = 36;

/// Serves every connection that comes.
pub(super) async fn serve(listener: TcpListener, hall: Arc<Hall<LinePeer>>) -> anyhow::Result<()> {
    loop {
        let (stream, _) = listener.accept().await?;
        stream.set_nodelay(true)?;
        let hall = Arc::clone(&hall);
        tokio::spawn(async move {
            let peer = Arc::new(LinePeer::new(stream));
            // A connection that breaks is missed by the client, which says so.
            let _ = attend(&peer, &hall).await;
            hall.leave(&peer);
        });
    }
}

/// One connection, to which bytes are written straight from whoever tells something.
#[derive(Debug)]
pub(super) struct LinePeer {
    stream: TcpStream,
    /// Bytes that the socket did not take, oldest first.
    backlog: Mutex<Vec<u8>>,
    /// Woken when there is a backlog.
    behind: Notify,
}

impl Peer for LinePeer {
    type Parcel = Arc<[u8]>;

    fn pack(text: &str) -> Arc<[u8]> {
        [text.as_bytes(), b"\n"].concat().into()
    }

    fn send(&self, parcel: &Arc<[u8]>) {
        self.write(parcel);
    }
}

impl LinePeer {
    fn new(stream: TcpStream) -> Self {
        Self { stream, backlog: Mutex::default(), behind: Notify::new() }
    }

    fn write(&self, bytes: &[u8]) {
        let mut backlog = self.backlog();
        let taken = if backlog.is_empty() { self.stream.try_write(bytes).unwrap_or(0) } else { 0 };
        if taken < bytes.len() {
            backlog.extend_from_slice(&bytes[taken..]);
            self.behind.notify_one();
        }
    }

    /// Writes the backlog as the socket takes it.
    async fn catch_up(&self) -> anyhow::Result<()> {
        loop {
            {
                let mut backlog = self.backlog();
                ensure!(backlog.len() <= BACKLOG_BYTES, "the other side does not read");
                match self.stream.try_write(&backlog) {
                    Ok(taken) => drop(backlog.drain(..taken)),
                    Err(error) if error.kind() == ErrorKind::WouldBlock => {}
                    Err(error) => return Err(error.into()),
                }
                if backlog.is_empty() {
                    return Ok(());
                }
            }
            self.stream.writable().await?;
        }
    }

    /// Reads what there is and hands on whole lines: whether more may come. `rest` holds the
    /// beginning of a line between calls, so an idle connection holds no buffer.
    fn take_in(
        &self,
        rest: &mut Vec<u8>,
        mut each: impl FnMut(&[u8]) -> anyhow::Result<()>,
    ) -> anyhow::Result<bool> {
        let mut buffer = [0; 4 * 1_024];
        let mut fresh = match self.stream.try_read(&mut buffer) {
            Ok(0) => return Ok(false),
            Ok(count) => &buffer[..count],
            Err(error) if error.kind() == ErrorKind::WouldBlock => return Ok(true),
            Err(error) => return Err(error.into()),
        };
        while let Some(end) = fresh.iter().position(|byte| *byte == b'\n') {
            if rest.is_empty() {
                each(&fresh[..end])?;
            } else {
                rest.extend_from_slice(&fresh[..end]);
                each(&std::mem::take(rest))?;
            }
            fresh = &fresh[end + 1..];
        }
        rest.extend_from_slice(fresh);
        ensure!(rest.len() <= LINE_BYTES, "a line is too long");
        Ok(true)
    }

    fn backlog(&self) -> MutexGuard<'_, Vec<u8>> {
        self.backlog.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

async fn attend(peer: &Arc<LinePeer>, hall: &Hall<LinePeer>) -> anyhow::Result<()> {
    let mut rest = Vec::new();
    let mut seat = None;
    loop {
        select! {
            ready = peer.stream.readable() => ready?,
            () = peer.behind.notified() => {
                peer.catch_up().await?;
                continue;
            }
        }
        let open = peer.take_in(&mut rest, |line| {
            match seat {
                None => seat = Some(hall.greet(str::from_utf8(line)?, peer)?),
                Some(Seat::Instructor(room)) => hall.obey(room, str::from_utf8(line)?)?,
                Some(Seat::Student(room)) => {
                    peer.write(&acknowledge(line).context("not an answer")?);
                    hall.count_answer(room);
                }
            }
            Ok(())
        })?;
        if !open {
            return Ok(());
        }
    }
}

/// `received` and `recorded` in one write: ready-made but for the attempt, whose digits are
/// copied. The round in them is always 1: clients here go by the attempt.
fn acknowledge(answer: &[u8]) -> Option<Vec<u8>> {
    let start = answer.windows(ATTEMPT.len()).position(|bytes| bytes == ATTEMPT)? + ATTEMPT.len();
    let attempt = answer.get(start..start + ATTEMPT_BYTES)?;
    Some(
        [
            b"{\"type\":\"received\",\"round\":1,\"attempt\":\"",
            attempt,
            b"\"}\n{\"type\":\"recorded\",\"round\":1,\"attempt\":\"",
            attempt,
            b"\"}\n",
        ]
        .concat(),
    )
}

#[cfg(test)]
mod tests {
    use myonym_wire::{AttemptId, FromStudent, RoundNo, ToStudent, encode};
    use uuid::Uuid;

    use super::*;

    #[test]
    fn ready_made_acknowledgements_are_those_of_the_wire() {
        let (round, attempt) = (RoundNo(1), AttemptId(Uuid::from_u128(77)));
        let text = "teres minor".to_owned();
        let answer = encode(&FromStudent::Answer { round, attempt, text, elapsed_ms: 12 });
        let received = encode(&ToStudent::Received { round, attempt });
        let recorded = encode(&ToStudent::Recorded { round, attempt });
        let want = format!("{received}\n{recorded}\n");
        assert_eq!(acknowledge(answer.as_bytes()), Some(want.into_bytes()));
        assert_eq!(acknowledge(b"{\"attempt\":\"7\"}"), None);
    }

    #[tokio::test]
    async fn lines_are_put_together_from_pieces() {
        use tokio::io::AsyncWriteExt;

        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let mut near = TcpStream::connect(listener.local_addr().unwrap()).await.unwrap();
        let peer = LinePeer::new(listener.accept().await.unwrap().0);
        let (mut rest, mut lines) = (Vec::new(), Vec::new());
        for piece in ["on", "e\ntwo\nth", "ree", "\n"] {
            near.write_all(piece.as_bytes()).await.unwrap();
            peer.stream.readable().await.unwrap();
            let mut each = |line: &[u8]| {
                lines.push(String::from_utf8(line.to_vec())?);
                anyhow::Ok(())
            };
            assert!(peer.take_in(&mut rest, &mut each).unwrap());
        }
        assert_eq!(lines, ["one", "two", "three"]);
    }
}

//! One WebSocket connection: it says who it is, then messages go both ways until it ends.
//!
//! One task does both ways, so that an idle connection costs one small buffer. Whatever the other
//! side sends can end this connection and nothing else.

use std::net::IpAddr;
use std::sync::Arc;
use std::time::Duration;

use futures_util::{SinkExt as _, StreamExt as _};
use myonym_wire::limits::{self, close};
use myonym_wire::{
    DecodeError, ErrorCode, FromInstructor, FromStudent, Hello, JoinWord, Millis, ToStudent,
};
use tokio::io::{AsyncRead, AsyncWrite, AsyncWriteExt as _};
use tokio::time::{self, timeout};
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::error::{CapacityError, Error, ProtocolError};
use tokio_tungstenite::tungstenite::protocol::frame::coding::CloseCode;
use tokio_tungstenite::tungstenite::protocol::{CloseFrame, WebSocketConfig};
use tokio_tungstenite::tungstenite::{Bytes, Message, Utf8Bytes};
use tracing::debug;

use crate::groups::Gathering;
use crate::limits::{Bucket, Tries};
use crate::names;
use crate::opening;
use crate::reach::Reach;
use crate::reviews::Reviews;
use crate::room::{ConnId, Entrant, Line, LineEnd, Out, Post, RoomHandle, Said};

/// Time for one write before the connection is given up.
const WRITE: Duration = Duration::from_secs(5);
/// Time for the other side to answer a close.
const LINGER: Duration = Duration::from_secs(1);

/// Buffers and limits of the WebSocket: a connection must stay small, and nothing is unlimited.
pub(crate) fn socket_config() -> WebSocketConfig {
    WebSocketConfig::default()
        .read_buffer_size(4 * 1024)
        .write_buffer_size(0)
        .max_write_buffer_size(64 * 1024)
        .max_message_size(Some(limits::MESSAGE_BYTES))
        .max_frame_size(Some(limits::MESSAGE_BYTES))
}

/// What connections share.
#[derive(Debug)]
pub(crate) struct Gate {
    /// The reviews.
    pub(crate) reviews: Arc<Reviews>,
    /// Wrong join words and keys.
    pub(crate) misses: Tries,
    /// Study groups opened.
    gatherings: Tries,
}

impl Gate {
    /// A gate to these reviews.
    pub(crate) fn new(reviews: Arc<Reviews>) -> Self {
        Self { reviews, misses: Tries::misses(), gatherings: Tries::gatherings() }
    }
}

/// Serves a connection to its end.
pub(crate) async fn serve<S>(
    socket: WebSocketStream<S>,
    peer: IpAddr,
    reach: Option<Reach>,
    gate: &Gate,
) where
    S: AsyncRead + AsyncWrite + Unpin,
{
    let mut wire = Wire { socket, reach, round_trip: None };
    let end = match timeout(Duration::from_millis(limits::HELLO_MS), hello(&mut wire)).await {
        Err(_elapsed) => End::Close(close::POLICY, "say who you are within five seconds"),
        Ok(Err(end)) => end,
        Ok(Ok(hello)) => match admit(hello, peer, gate) {
            Err((code, why)) => {
                let _ = wire.error(code, why).await;
                End::Close(close::POLICY, "refused")
            }
            Ok((room, role, entrant)) => talk(&mut wire, gate, &room, role, entrant).await,
        },
    };
    debug!(?end, "connection ends");
    wire.end(end).await;
}

/// Who is on a connection.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Role {
    Student,
    Instructor,
    Board,
}

/// How a connection ends.
#[derive(Debug)]
enum End {
    /// The other side closed or vanished.
    Theirs,
    /// We close it.
    Close(u16, &'static str),
}

struct Wire<S> {
    socket: WebSocketStream<S>,
    /// How the other side reached the server, where that is not how students are told to.
    reach: Option<Reach>,
    /// The least round trip of our pings. Held to a whole connection, so that a client gains
    /// nothing by answering late once.
    round_trip: Option<Millis>,
}

impl<S: AsyncRead + AsyncWrite + Unpin> Wire<S> {
    async fn send(&mut self, message: Message) -> Result<(), End> {
        match timeout(WRITE, self.socket.send(message)).await {
            Ok(Ok(())) => Ok(()),
            Ok(Err(_)) => Err(End::Theirs),
            Err(_elapsed) => Err(End::Close(close::TOO_SLOW, "reading too slowly; come back")),
        }
    }

    async fn error(&mut self, code: ErrorCode, why: impl Into<String>) -> Result<(), End> {
        let error = ToStudent::Error { code, message: why.into() };
        self.send(Message::Text(myonym_wire::encode(&error).into())).await
    }

    async fn ping(&mut self, now: Millis) -> Result<(), End> {
        let stamp = Bytes::copy_from_slice(&now.0.to_be_bytes());
        self.send(Message::Ping(stamp)).await
    }

    /// Takes a pong's stamp for the round trip; one that is not ours, or from the future, is
    /// passed by.
    fn pong(&mut self, stamp: &Bytes, now: Millis) {
        let Ok(stamp) = <[u8; 8]>::try_from(stamp.as_ref()) else { return };
        let sent = Millis(u64::from_be_bytes(stamp));
        if sent <= now {
            let trip = now.minus(sent);
            self.round_trip = Some(self.round_trip.map_or(trip, |least| least.min(trip)));
        }
    }

    /// Closes: our close frame, then a moment for theirs, so that it is not lost in a reset.
    async fn end(&mut self, end: End) {
        self.say_goodbye(end).await;
        // TLS has a goodbye of its own (RFC 8446 section 6.1).
        let _ = timeout(LINGER, self.socket.get_mut().shutdown()).await;
    }

    async fn say_goodbye(&mut self, end: End) {
        let End::Close(code, why) = end else {
            // The library has its answer to their close frame ready; only sending is left.
            let _ = timeout(LINGER, self.socket.flush()).await;
            return;
        };
        let frame = CloseFrame { code: CloseCode::from(code), reason: Utf8Bytes::from(why) };
        let _ = timeout(LINGER, self.socket.close(Some(frame))).await;
        let _ =
            timeout(LINGER, async { while let Some(Ok(_)) = self.socket.next().await {} }).await;
    }
}

/// Reads the first message.
async fn hello<S: AsyncRead + AsyncWrite + Unpin>(wire: &mut Wire<S>) -> Result<Hello, End> {
    loop {
        match wire.socket.next().await {
            Some(Ok(Message::Text(text))) => match myonym_wire::decode(&text) {
                Ok(hello) => return Ok(hello),
                Err(DecodeError { code, message }) => {
                    let unknown = code == ErrorCode::UnknownType;
                    let code = if unknown { ErrorCode::HelloFirst } else { code };
                    wire.error(code, message).await?;
                    return Err(End::Close(close::POLICY, "the first message says who you are"));
                }
            },
            Some(Ok(Message::Ping(_) | Message::Pong(_) | Message::Frame(_))) => {}
            other => return Err(end_of(other)),
        }
    }
}

/// Finds the room and checks the key or the name. Wrong words and keys slow their address down.
fn admit(
    hello: Hello,
    peer: IpAddr,
    gate: &Gate,
) -> Result<(RoomHandle, Role, Entrant), (ErrorCode, String)> {
    let now = gate.reviews.clock().now();
    if gate.misses.must_wait(peer, now) {
        let why = "too many wrong join words or keys from here; wait a few seconds";
        return Err((ErrorCode::SlowDown, why.to_owned()));
    }
    let find = |word: &JoinWord| {
        gate.reviews.room(word).ok_or_else(|| {
            gate.misses.count(peer, now);
            let why = format!("no review here is called {word}; check the join word");
            (ErrorCode::NoSuchReview, why)
        })
    };
    let wrong_key = || {
        gate.misses.count(peer, now);
        (ErrorCode::NotAllowed, "that key does not conduct this review".to_owned())
    };
    match hello {
        Hello::Join { word, name, listed, seat, person, group } => {
            let room = find(&word)?;
            let name = clean_name(&name)?;
            let group = group.map(|group| clean_group(&group)).transpose()?;
            // What the device keeps goes no further than here.
            let person = person.map(|token| gate.reviews.person(&token, &name));
            Ok((room, Role::Student, Entrant::Join { name, listed, seat, person, group }))
        }
        Hello::Return { word, seat } => Ok((find(&word)?, Role::Student, Entrant::Return { seat })),
        Hello::Conduct { word: Some(word), key } => {
            let room = find(&word)?;
            let own = crate::secrets::TokenHash::of(key.reveal()).matches(&room.key);
            if !(own | gate.reviews.is_host_key(&key)) {
                return Err(wrong_key());
            }
            Ok((room, Role::Instructor, Entrant::Conduct { key: None }))
        }
        Hello::Conduct { word: None, key } => {
            if !gate.reviews.is_host_key(&key) {
                return Err(wrong_key());
            }
            let room = gate.reviews.only_room().ok_or_else(|| {
                let why = "say which review by its join word: none or several are open";
                (ErrorCode::NoSuchReview, why.to_owned())
            })?;
            Ok((room, Role::Instructor, Entrant::Conduct { key: None }))
        }
        Hello::Open { key, settings, plan, own_list } => {
            if !gate.reviews.is_host_key(&key) {
                return Err(wrong_key());
            }
            let (room, key) = opening::open(&gate.reviews, &settings, plan, own_list)?;
            Ok((room, Role::Instructor, Entrant::Conduct { key: Some(key) }))
        }
        Hello::Gather { settings, name, listed, seat, person } => {
            let name = clean_name(&name)?;
            let is_fast = gate.gatherings.must_wait(peer, now);
            let gathered = gate.reviews.gather(&settings, seat.as_ref(), is_fast);
            let Gathering { room, is_new } =
                gathered.map_err(|fault| (fault.code(), fault.to_string()))?;
            if is_new {
                gate.gatherings.count(peer, now);
            }
            let person = person.map(|token| gate.reviews.person(&token, &name));
            Ok((room, Role::Student, Entrant::Join { name, listed, seat, person, group: None }))
        }
        Hello::Watch { word } => Ok((find(&word)?, Role::Board, Entrant::Watch)),
    }
}

fn clean_name(name: &str) -> Result<String, (ErrorCode, String)> {
    let why = "a name has 1 to 24 characters";
    names::clean(name).ok_or_else(|| (ErrorCode::BadName, why.to_owned()))
}

fn clean_group(group: &str) -> Result<String, (ErrorCode, String)> {
    names::clean_group(group).ok_or_else(|| {
        (ErrorCode::BadField, "a group has 1 to 24 characters, or is left out".to_owned())
    })
}

/// Carries messages both ways until one side ends.
async fn talk<S: AsyncRead + AsyncWrite + Unpin>(
    wire: &mut Wire<S>,
    gate: &Gate,
    room: &RoomHandle,
    role: Role,
    entrant: Entrant,
) -> End {
    let clock = gate.reviews.clock();
    let conn = gate.reviews.number_connection();
    let (line, line_end) = Line::new();
    let line = line.by(wire.reach.take());
    if !room.post(Post::Enter { conn, line, entrant, at: clock.now() }).await {
        return End::Close(close::AWAY, "the review closed just now");
    }
    let now = clock.now();
    let bucket = match role {
        Role::Student | Role::Board => Bucket::student(now),
        Role::Instructor => Bucket::instructor(now),
    };
    let mut talker = Talker { wire, gate, room, role, conn, bucket, faults: 0, heard: now };
    let end = talker.run(line_end).await;
    room.post(Post::Gone { conn, at: clock.now() }).await;
    end
}

struct Talker<'a, S> {
    wire: &'a mut Wire<S>,
    gate: &'a Gate,
    room: &'a RoomHandle,
    role: Role,
    conn: ConnId,
    bucket: Bucket,
    faults: u32,
    heard: Millis,
}

impl<S: AsyncRead + AsyncWrite + Unpin> Talker<'_, S> {
    fn now(&self) -> Millis {
        self.gate.reviews.clock().now()
    }

    async fn run(&mut self, mut line: LineEnd) -> End {
        // The first ping goes at once: the round trip must be known before the first answer.
        let mut pings = time::interval(Duration::from_millis(limits::PING_MS));
        pings.set_missed_tick_behavior(time::MissedTickBehavior::Delay);
        loop {
            let step = tokio::select! {
                out = line.queue.recv() => match out {
                    Some(Out::Text(text)) => self.wire.send(Message::Text(text)).await,
                    Some(Out::Close(code, why)) => Err(End::Close(code, why)),
                    None if line.too_slow() => {
                        Err(End::Close(close::TOO_SLOW, "reading too slowly; come back"))
                    }
                    None => Err(End::Close(close::INTERNAL, "the room closed; come back")),
                },
                read = self.wire.socket.next() => self.on_read(read).await,
                _ = pings.tick() => self.on_ping().await,
            };
            if let Err(end) = step {
                return end;
            }
        }
    }

    async fn on_ping(&mut self) -> Result<(), End> {
        let now = self.now();
        if now.minus(self.heard) >= Millis(limits::IDLE_MS) {
            return Err(End::Close(close::AWAY, "nothing heard for too long; come back"));
        }
        self.wire.ping(now).await
    }

    async fn on_read(&mut self, read: Option<Result<Message, Error>>) -> Result<(), End> {
        let now = self.now();
        self.heard = now;
        match read {
            Some(Ok(Message::Text(text))) => self.on_text(&text, now).await,
            Some(Ok(Message::Pong(stamp))) => {
                self.wire.pong(&stamp, now);
                self.pay(now)
            }
            // The library answers pings; they cost a token like any message.
            Some(Ok(Message::Ping(_) | Message::Frame(_))) => self.pay(now),
            other => Err(end_of(other)),
        }
    }

    fn pay(&mut self, now: Millis) -> Result<(), End> {
        if self.bucket.take(now) {
            Ok(())
        } else {
            Err(End::Close(close::POLICY, "too many messages; slow down"))
        }
    }

    async fn on_text(&mut self, text: &Utf8Bytes, now: Millis) -> Result<(), End> {
        if !self.bucket.take(now) {
            self.wire.error(ErrorCode::TooMany, "too many messages in a short time").await?;
            return Err(End::Close(close::POLICY, "too many messages; slow down"));
        }
        let said = match self.role {
            Role::Student => myonym_wire::decode::<FromStudent>(text).map(Said::Student),
            Role::Instructor => myonym_wire::decode::<FromInstructor>(text).map(Said::Instructor),
            Role::Board => Err(DecodeError {
                code: ErrorCode::UnknownType,
                message: "a board only listens".to_owned(),
            }),
        };
        match said {
            Ok(said) => {
                let round_trip = self.wire.round_trip;
                let post = Post::Said { conn: self.conn, said, at: now, round_trip };
                if self.room.post(post).await {
                    Ok(())
                } else {
                    Err(End::Close(close::AWAY, "the review closed just now"))
                }
            }
            Err(DecodeError { code, message }) => {
                self.faults += 1;
                self.wire.error(code, message).await?;
                if self.faults >= limits::FAULTS {
                    return Err(End::Close(close::POLICY, "too many messages that are not ours"));
                }
                Ok(())
            }
        }
    }
}

/// What the end of reading means, as RFC 6455 has it.
fn end_of(read: Option<Result<Message, Error>>) -> End {
    let fault = match read {
        Some(Ok(Message::Binary(_))) => {
            return End::Close(close::UNSUPPORTED, "text messages only");
        }
        None | Some(Ok(_)) => return End::Theirs,
        Some(Err(fault)) => fault,
    };
    match fault {
        Error::Capacity(CapacityError::MessageTooLong { .. }) => {
            End::Close(close::TOO_BIG, "a message has at most 16 KiB")
        }
        Error::Utf8(_) => End::Close(close::NOT_UTF8, "text is UTF-8"),
        Error::Protocol(ProtocolError::ResetWithoutClosingHandshake)
        | Error::ConnectionClosed
        | Error::AlreadyClosed
        | Error::Io(_)
        | Error::Tls(_)
        | Error::WriteBufferFull(_)
        | Error::AttackAttempt
        | Error::Url(_)
        | Error::Http(_)
        | Error::HttpFormat(_) => End::Theirs,
        Error::Protocol(_) | Error::Capacity(_) => {
            End::Close(close::PROTOCOL, "that frame breaks RFC 6455")
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use proptest::prelude::*;
    use tokio::io::{AsyncReadExt as _, duplex};
    use tokio_tungstenite::WebSocketStream;
    use tokio_tungstenite::tungstenite::protocol::Role;

    use super::*;
    use crate::clock::Clock;
    use crate::store::SqliteLog;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        /// Whatever bytes come in, the connection ends by itself once the other side has gone.
        #[test]
        fn random_bytes_end_the_connection_and_nothing_else(
            bytes in prop::collection::vec(any::<u8>(), 0..2_000),
        ) {
            let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
            runtime.block_on(async {
                let folder = tempfile::tempdir().unwrap();
                let log = Arc::new(SqliteLog::open(folder.path()).unwrap());
                let gate = Gate::new(
                    Reviews::new(log, Clock::start(), Reach::default(), Vec::new(), true).unwrap(),
                );
                let (mut ours, theirs) = duplex(64 * 1024);
                let socket =
                    WebSocketStream::from_raw_socket(theirs, Role::Server, Some(socket_config())).await;
                ours.write_all(&bytes).await.unwrap();
                ours.shutdown().await.unwrap();
                serve(socket, IpAddr::from([127, 0, 0, 1]), None, &gate).await;
                let mut said = Vec::new();
                ours.read_to_end(&mut said).await.unwrap();
                // At most an error and a close frame, never an open door.
                assert!(said.len() < 1_024);
            });
        }
    }

    /// RFC 6455 section 5.5.1: who receives a close frame, and sent none, sends one in answer.
    #[tokio::test]
    async fn a_close_is_answered_with_its_own_code() {
        let folder = tempfile::tempdir().unwrap();
        let log = Arc::new(SqliteLog::open(folder.path()).unwrap());
        let gate = Gate::new(
            Reviews::new(log, Clock::start(), Reach::default(), Vec::new(), true).unwrap(),
        );
        let (ours, theirs) = duplex(64 * 1024);
        let config = Some(socket_config());
        let server = WebSocketStream::from_raw_socket(theirs, Role::Server, config).await;
        let mut client = WebSocketStream::from_raw_socket(ours, Role::Client, config).await;
        let bye = CloseFrame { code: CloseCode::from(close::AWAY), reason: "bye".into() };
        client.close(Some(bye)).await.unwrap();
        serve(server, IpAddr::from([127, 0, 0, 1]), None, &gate).await;
        let Some(Ok(Message::Close(Some(answer)))) = client.next().await else {
            panic!("no answer to the close")
        };
        assert_eq!(u16::from(answer.code), close::AWAY);
    }
}

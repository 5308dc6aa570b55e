//! One WebSocket connection: it says who it is, then messages go both ways until it ends.
//!
//! Its task reads, and waits for what the room says; the room writes to the socket itself
//! (`pipe.rs`). Whatever the other side sends can end this connection and nothing else.

use std::fmt;
use std::net::IpAddr;
use std::pin::pin;
use std::time::Duration;

use futures_util::{SinkExt as _, StreamExt as _};
use myonym_wire::limits::{self, close};
use myonym_wire::{DecodeError, ErrorCode, FromInstructor, FromStudent, Hello, Millis, ToStudent};
use serde::de::DeserializeOwned;
use tokio::io::{AsyncRead, AsyncReadExt as _, AsyncWriteExt as _};
use tokio::time::{self, timeout};
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::error::{CapacityError, Error, ProtocolError};
use tokio_tungstenite::tungstenite::protocol::frame::coding::CloseCode;
use tokio_tungstenite::tungstenite::protocol::{CloseFrame, WebSocketConfig};
use tokio_tungstenite::tungstenite::{Bytes, Message, Utf8Bytes};
use tracing::{debug, info};

use crate::clock::Clock;
use crate::framed::Framed;
use crate::gate::{Gate, REFUSED};
use crate::limits::Bucket;
use crate::metered::Metered;
use crate::metrics::{COUNTS, Connected, Control, Limit, Role, Way, term};
use crate::oplog;
use crate::pipe::{Ending, Pipe};
use crate::reach::Reach;
use crate::room::{ConnId, Entrant, Line, Post, RoomHandle, Said};
use crate::stream::SendNow;

/// Time for the other side to answer a close.
const LINGER: Duration = Duration::from_secs(1);

const TOO_SLOW: &str = "reading too slowly; come back";

/// Buffers and limits of the WebSocket: a connection must stay small, and nothing is unlimited.
pub(crate) fn socket_config() -> WebSocketConfig {
    WebSocketConfig::default()
        .read_buffer_size(1_024)
        .write_buffer_size(0)
        .max_write_buffer_size(64 * 1024)
        .max_message_size(Some(limits::MESSAGE_BYTES))
        .max_frame_size(Some(limits::MESSAGE_BYTES))
}

/// What a connection runs over.
pub(crate) trait Carrier: AsyncRead + SendNow + fmt::Debug + Unpin + Send + 'static {}

impl<S: AsyncRead + SendNow + fmt::Debug + Unpin + Send + 'static> Carrier for S {}

/// Serves a connection to its end.
pub(crate) async fn serve<S>(
    mut socket: WebSocketStream<Metered<Pipe<S>>>,
    peer: IpAddr,
    reach: Option<Reach>,
    gate: &Gate,
) where
    S: Carrier,
{
    let conn = gate.reviews.number_connection();
    let pipe = socket.get_mut().bare().clone();
    let mut wire = Wire { socket, pipe, peer, reach, round_trip: None };
    // At once: the round trip must be known before the first answer, and costs no write of its own
    // where it goes out with the handshake.
    wire.ping(gate.reviews.clock().now());
    // Each part in a box of its own: for hours a connection sits in a room, and then holds no place
    // for what came before or comes after.
    let end = match Box::pin(greet(&mut wire, gate, conn)).await {
        Ok((room, role, entrant)) => {
            Box::pin(talk(&mut wire, gate, &room, (conn, role), entrant)).await
        }
        Err(end) => end,
    };
    end.tell(conn, peer);
    Box::pin(wire.end(end)).await;
}

/// Hears who it is, and lets them in or not.
async fn greet<S: Carrier>(
    wire: &mut Wire<S>,
    gate: &Gate,
    conn: ConnId,
) -> Result<(RoomHandle, Role, Box<Entrant>), End> {
    let peer = wire.peer;
    let clock = gate.reviews.clock();
    let heard = timeout(Duration::from_millis(limits::HELLO_MS), hello(wire, clock)).await;
    let Ok(hello) = heard else {
        oplog::reached(Limit::Hello, peer);
        return Err(End::Close(close::POLICY, "say who you are within five seconds"));
    };
    match gate.admit(hello?, peer, clock.now()) {
        Ok((room, role, entrant)) => Ok((room, role, Box::new(entrant))),
        Err((code, why)) => {
            let from = oplog::network(peer);
            info!(conn = conn.0, %from, code = term(&code), "refused at the door");
            wire.error(code, why);
            Err(End::Close(close::POLICY, REFUSED))
        }
    }
}

/// How a connection ends.
#[derive(Debug)]
enum End {
    /// The other side closed or vanished.
    Theirs,
    /// We close it.
    Close(u16, &'static str),
}

impl End {
    /// Counts it, and tells the operations log.
    fn tell(&self, conn: ConnId, peer: IpAddr) {
        let from = oplog::network(peer);
        match self {
            Self::Theirs => {
                COUNTS.left.one();
                debug!(conn = conn.0, %from, "they closed");
            }
            Self::Close(code, why) => {
                COUNTS.closed.one(*code);
                info!(conn = conn.0, %from, code, why, "closed");
            }
        }
    }
}

struct Wire<S> {
    socket: WebSocketStream<Metered<Pipe<S>>>,
    /// The way out, which the room shares.
    pipe: Pipe<S>,
    /// Whom limits are held against.
    peer: IpAddr,
    /// How the other side reached the server, where that is not how students are told to.
    reach: Option<Reach>,
    /// The least round trip of our pings. Held to a whole connection, so that a client gains
    /// nothing by answering late once.
    round_trip: Option<Millis>,
}

impl<S: Carrier> Wire<S> {
    fn error(&self, code: ErrorCode, why: impl Into<String>) {
        COUNTS.refused.one(code);
        self.pipe.send(&Framed::new(&ToStudent::Error { code, message: why.into() }));
    }

    fn ping(&self, now: Millis) {
        COUNTS.control.one(Control::PingOut);
        self.pipe.send(&Framed::ping(now.0.to_be_bytes()));
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

    /// What the end of reading means.
    fn end_of(&self, read: Option<Result<Message, Error>>) -> End {
        if self.socket.get_ref().is_over() {
            return End::Close(close::POLICY, "a message without end");
        }
        end_of(read, self.peer)
    }

    /// Closes: our close frame, then a moment for theirs, so that it is not lost in a reset.
    async fn end(&mut self, end: End) {
        self.say_goodbye(end).await;
        // TLS has a goodbye of its own (RFC 8446 section 6.1).
        let stream = self.socket.get_mut().bare();
        let _ = timeout(LINGER, stream.shutdown()).await;
        // What is still coming is read, or a reset would take our close frame with it.
        let rest = async { while let Ok(1..) = stream.read(&mut [0; 1_024]).await {} };
        let _ = timeout(LINGER, rest).await;
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

/// Reads a message, and counts it.
fn read<T: DeserializeOwned>(text: &str) -> Result<T, DecodeError> {
    COUNTS.message(Way::In, text.len());
    let read = myonym_wire::decode(text);
    if read.is_err() {
        COUNTS.faulty.one();
    }
    read
}

/// Reads the first message.
async fn hello<S: Carrier>(wire: &mut Wire<S>, clock: Clock) -> Result<Hello, End> {
    loop {
        match wire.socket.next().await {
            Some(Ok(Message::Text(text))) => match read(&text) {
                Ok(hello) => return Ok(hello),
                Err(DecodeError { code, message }) => {
                    let unknown = code == ErrorCode::UnknownType;
                    let code = if unknown { ErrorCode::HelloFirst } else { code };
                    wire.error(code, message);
                    return Err(End::Close(close::POLICY, "the first message says who you are"));
                }
            },
            Some(Ok(Message::Pong(stamp))) => {
                COUNTS.control.one(Control::PongIn);
                wire.pong(&stamp, clock.now());
            }
            Some(Ok(Message::Ping(_) | Message::Frame(_))) => {}
            other => return Err(wire.end_of(other)),
        }
    }
}

/// Carries messages both ways until one side ends.
async fn talk<S: Carrier>(
    wire: &mut Wire<S>,
    gate: &Gate,
    room: &RoomHandle,
    (conn, role): (ConnId, Role),
    entrant: Box<Entrant>,
) -> End {
    let clock = gate.reviews.clock();
    let line = Line::new(wire.pipe.outlet(), wire.reach.take());
    if !room.post(Post::Enter { conn, line, entrant, at: clock.now() }).await {
        return End::Close(close::AWAY, "the review closed just now");
    }
    let _counted = Connected::new(role);
    let now = clock.now();
    let bucket = match role {
        Role::Student | Role::Board => Bucket::student(now),
        Role::Instructor => Bucket::instructor(now),
    };
    let mut talker = Talker { wire, gate, room, role, conn, bucket, faults: 0, heard: now };
    let end = talker.run().await;
    wire.pipe.hang_up();
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

impl<S: Carrier> Talker<'_, S> {
    fn now(&self) -> Millis {
        self.gate.reviews.clock().now()
    }

    async fn run(&mut self) -> End {
        let between = Duration::from_millis(limits::PING_MS);
        let mut pings = time::interval_at(time::Instant::now() + between, between);
        pings.set_missed_tick_behavior(time::MissedTickBehavior::Delay);
        let pipe = self.wire.pipe.clone();
        let mut writing = pin!(pipe.write_rest());
        loop {
            let step = tokio::select! {
                ending = &mut writing => Err(self.end_by(ending)),
                read = self.wire.socket.next() => self.on_read(read).await,
                _ = pings.tick() => self.on_ping(),
            };
            if let Err(end) = step {
                return end;
            }
        }
    }

    /// What the end of writing means.
    fn end_by(&self, ending: Ending) -> End {
        match ending {
            Ending::Said(code, why) => End::Close(code, why),
            Ending::TooFarBehind => End::Close(close::TOO_SLOW, TOO_SLOW),
            Ending::Stuck => {
                oplog::reached(Limit::Write, self.wire.peer);
                End::Close(close::TOO_SLOW, TOO_SLOW)
            }
            Ending::LetGo if self.gate.reviews.is_stopping() => {
                End::Close(close::AWAY, "the server stops; come back when it is up again")
            }
            Ending::LetGo => End::Close(close::INTERNAL, "the room closed; come back"),
            Ending::Broken => End::Theirs,
        }
    }

    fn on_ping(&self) -> Result<(), End> {
        let now = self.now();
        if now.minus(self.heard) >= Millis(limits::IDLE_MS) {
            oplog::reached(Limit::Silence, self.wire.peer);
            return Err(End::Close(close::AWAY, "nothing heard for too long; come back"));
        }
        self.wire.ping(now);
        Ok(())
    }

    async fn on_read(&mut self, read: Option<Result<Message, Error>>) -> Result<(), End> {
        let now = self.now();
        self.heard = now;
        self.wire.socket.get_mut().message();
        match read {
            Some(Ok(Message::Text(text))) => self.on_text(&text, now).await,
            Some(Ok(Message::Pong(stamp))) => {
                COUNTS.control.one(Control::PongIn);
                self.wire.pong(&stamp, now);
                self.pay(now)
            }
            // The library answers pings; they cost a token like any message.
            Some(Ok(Message::Ping(_) | Message::Frame(_))) => {
                COUNTS.control.one(Control::PingIn);
                self.pay(now)
            }
            other => Err(self.wire.end_of(other)),
        }
    }

    fn pay(&mut self, now: Millis) -> Result<(), End> {
        if self.bucket.take(now) {
            Ok(())
        } else {
            oplog::reached(Limit::Flood, self.wire.peer);
            Err(End::Close(close::POLICY, "too many messages; slow down"))
        }
    }

    async fn on_text(&mut self, text: &Utf8Bytes, now: Millis) -> Result<(), End> {
        if !self.bucket.take(now) {
            oplog::reached(Limit::Flood, self.wire.peer);
            self.wire.error(ErrorCode::TooMany, "too many messages in a short time");
            return Err(End::Close(close::POLICY, "too many messages; slow down"));
        }
        let said = match self.role {
            Role::Student => read::<FromStudent>(text).map(Said::Student),
            Role::Instructor => read::<FromInstructor>(text).map(Said::Instructor),
            Role::Board => {
                COUNTS.message(Way::In, text.len());
                COUNTS.faulty.one();
                let message = "a board only listens".to_owned();
                Err(DecodeError { code: ErrorCode::UnknownType, message })
            }
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
                self.wire.error(code, message);
                if self.faults >= limits::FAULTS {
                    oplog::reached(Limit::Faults, self.wire.peer);
                    return Err(End::Close(close::POLICY, "too many messages that are not ours"));
                }
                Ok(())
            }
        }
    }
}

/// What the end of reading means, as RFC 6455 has it.
fn end_of(read: Option<Result<Message, Error>>, peer: IpAddr) -> End {
    let fault = match read {
        Some(Ok(Message::Binary(_))) => {
            return End::Close(close::UNSUPPORTED, "text messages only");
        }
        None | Some(Ok(_)) => return End::Theirs,
        Some(Err(fault)) => fault,
    };
    match fault {
        Error::Capacity(CapacityError::MessageTooLong { .. }) => {
            oplog::reached(Limit::Message, peer);
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
    use tokio::io::duplex;
    use tokio_tungstenite::WebSocketStream;
    use tokio_tungstenite::tungstenite::protocol::Role;

    use super::*;
    use crate::clock::Clock;
    use crate::reviews::Reviews;
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
                    WebSocketStream::from_raw_socket(
                    Metered::new(Pipe::new(theirs)), Role::Server, Some(socket_config()),
                ).await;
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
        let theirs = Metered::new(Pipe::new(theirs));
        let server = WebSocketStream::from_raw_socket(theirs, Role::Server, config).await;
        let mut client = WebSocketStream::from_raw_socket(ours, Role::Client, config).await;
        let bye = CloseFrame { code: CloseCode::from(close::AWAY), reason: "bye".into() };
        client.close(Some(bye)).await.unwrap();
        serve(server, IpAddr::from([127, 0, 0, 1]), None, &gate).await;
        let Some(Ok(Message::Ping(_))) = client.next().await else { panic!("no first ping") };
        let Some(Ok(Message::Close(Some(answer)))) = client.next().await else {
            panic!("no answer to the close")
        };
        assert_eq!(u16::from(answer.code), close::AWAY);
    }
}

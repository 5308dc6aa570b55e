//! A bare tokio-tungstenite server, tuned: a task for each connection, small buffers, what the
//! whole room hears encoded once, and waiting messages written together. With TLS if asked for.

use std::slice;
use std::sync::Arc;

use anyhow::bail;
use futures_util::{SinkExt, StreamExt};
use myonym_wire::{FromStudent, SUBPROTOCOL, ToStudent, decode, encode};
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::TcpListener;
use tokio::sync::mpsc;
use tokio::{select, time};
use tokio_rustls::TlsAcceptor;
use tokio_tungstenite::tungstenite::handshake::server::{ErrorResponse, Request, Response};
use tokio_tungstenite::tungstenite::http::HeaderValue;
use tokio_tungstenite::tungstenite::protocol::WebSocketConfig;
use tokio_tungstenite::tungstenite::{Bytes, Message, Utf8Bytes};
use tokio_tungstenite::{WebSocketStream, accept_hdr_async_with_config};

use super::{Hall, PING_EVERY, Peer, Seat};

/// Messages that may wait for one connection: those of several rounds.
const WAITING: usize = 64;

/// Buffers of a connection: the library's defaults take 136 KiB for each.
fn small_buffers() -> WebSocketConfig {
    WebSocketConfig::default()
        .read_buffer_size(1_024)
        .write_buffer_size(4 * 1_024)
        .max_write_buffer_size(256 * 1_024)
        .max_message_size(Some(1_024 * 1_024))
        .max_frame_size(Some(1_024 * 1_024))
}

/// Serves every connection that comes.
pub(super) async fn serve(
    listener: TcpListener,
    hall: Arc<Hall<FramePeer>>,
    secure: Option<TlsAcceptor>,
) -> anyhow::Result<()> {
    loop {
        let (stream, _) = listener.accept().await?;
        stream.set_nodelay(true)?;
        let (hall, secure) = (Arc::clone(&hall), secure.clone());
        tokio::spawn(async move {
            // A connection that breaks is missed by the client, which says so.
            let _ = match secure {
                None => serve_one(stream, &hall).await,
                Some(secure) => match Box::pin(secure.accept(stream)).await {
                    Ok(stream) => serve_one(stream, &hall).await,
                    Err(fault) => Err(fault.into()),
                },
            };
        });
    }
}

/// One connection, reached through the queue of its task.
#[derive(Debug)]
pub(super) struct FramePeer {
    give: mpsc::Sender<Utf8Bytes>,
}

impl Peer for FramePeer {
    type Parcel = Utf8Bytes;

    fn pack(text: &str) -> Utf8Bytes {
        Utf8Bytes::from(text)
    }

    fn send(&self, parcel: &Utf8Bytes) {
        // A client that is a whole queue behind misses the message, and the report says so.
        let _ = self.give.try_send(parcel.clone());
    }
}

async fn serve_one<S>(stream: S, hall: &Hall<FramePeer>) -> anyhow::Result<()>
where
    S: AsyncRead + AsyncWrite + Unpin,
{
    // The handshake's state is large and soon over: it is not to be part of the task's.
    let config = Some(small_buffers());
    let mut socket =
        Box::pin(accept_hdr_async_with_config(stream, name_subprotocol, config)).await?;
    let (give, mut queue) = mpsc::channel(WAITING);
    let peer = Arc::new(FramePeer { give });
    let mut seat = None;
    let ended = attend(&mut socket, &peer, &mut queue, hall, &mut seat).await;
    if let Some(seat) = seat {
        hall.leave(seat, &peer);
    }
    ended
}

async fn attend<S>(
    socket: &mut WebSocketStream<S>,
    peer: &Arc<FramePeer>,
    queue: &mut mpsc::Receiver<Utf8Bytes>,
    hall: &Hall<FramePeer>,
    seat: &mut Option<Seat>,
) -> anyhow::Result<()>
where
    S: AsyncRead + AsyncWrite + Unpin,
{
    let mut pings = time::interval(PING_EVERY);
    loop {
        select! {
            Some(parcel) = queue.recv() => {
                socket.feed(Message::Text(parcel)).await?;
                while let Ok(parcel) = queue.try_recv() {
                    socket.feed(Message::Text(parcel)).await?;
                }
                socket.flush().await?;
            }
            message = socket.next() => {
                let Some(message) = message.transpose()? else { return Ok(()) };
                let Message::Text(text) = message else { continue };
                match *seat {
                    None => *seat = Some(hall.greet(&text, peer)?),
                    Some(Seat::Instructor(room)) => hall.obey(room, &text)?,
                    Some(Seat::Student(room)) => {
                        acknowledge(socket, &text, hall, peer).await?;
                        hall.count_answer(room)?;
                    }
                }
            }
            _ = pings.tick() => socket.send(Message::Ping(Bytes::from_static(&[0; 8]))).await?,
        }
    }
}

/// `received` and `recorded`, written together unless the second waits for the disk.
async fn acknowledge<S>(
    socket: &mut WebSocketStream<S>,
    text: &str,
    hall: &Hall<FramePeer>,
    peer: &Arc<FramePeer>,
) -> anyhow::Result<()>
where
    S: AsyncRead + AsyncWrite + Unpin,
{
    let FromStudent::Answer { round, attempt, .. } = decode(text)? else {
        bail!("a baseline takes answers only");
    };
    socket.feed(Message::text(encode(&ToStudent::Received { round, attempt }))).await?;
    let recorded = Utf8Bytes::from(encode(&ToStudent::Recorded { round, attempt }));
    if hall.keeps() {
        socket.flush().await?;
        return hall.tell(text, slice::from_ref(peer), &recorded);
    }
    socket.feed(Message::Text(recorded)).await?;
    Ok(socket.flush().await?)
}

#[expect(clippy::result_large_err, clippy::unnecessary_wraps, reason = "the library's signature")]
fn name_subprotocol(_: &Request, mut response: Response) -> Result<Response, ErrorResponse> {
    let name = HeaderValue::from_static(SUBPROTOCOL);
    response.headers_mut().insert("Sec-WebSocket-Protocol", name);
    Ok(response)
}

//! A bare tokio-tungstenite server: a task for each connection, small buffers, what the whole
//! room hears encoded once, and waiting messages written together.

use std::sync::Arc;

use anyhow::bail;
use futures_util::{SinkExt, StreamExt};
use myonym_wire::{FromStudent, SUBPROTOCOL, ToStudent, decode, encode};
use tokio::net::{TcpListener, TcpStream};
use tokio::select;
use tokio::sync::mpsc;
use tokio_tungstenite::tungstenite::handshake::server::{ErrorResponse, Request, Response};
use tokio_tungstenite::tungstenite::http::HeaderValue;
use tokio_tungstenite::tungstenite::{Message, Utf8Bytes};
use tokio_tungstenite::{WebSocketStream, accept_hdr_async_with_config};

use super::{Hall, Peer, Seat};
use crate::link::small_buffers;

/// Messages that may wait for one connection: those of several rounds.
const WAITING: usize = 64;

/// Serves every connection that comes.
pub(super) async fn serve(listener: TcpListener, hall: Arc<Hall<FramePeer>>) -> anyhow::Result<()> {
    loop {
        let (stream, _) = listener.accept().await?;
        stream.set_nodelay(true)?;
        let hall = Arc::clone(&hall);
        tokio::spawn(async move {
            let (give, queue) = mpsc::channel(WAITING);
            let peer = Arc::new(FramePeer { give });
            // A connection that breaks is missed by the client, which says so.
            let _ = attend(stream, &peer, queue, &hall).await;
            hall.leave(&peer);
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

async fn attend(
    stream: TcpStream,
    peer: &Arc<FramePeer>,
    mut queue: mpsc::Receiver<Utf8Bytes>,
    hall: &Hall<FramePeer>,
) -> anyhow::Result<()> {
    let config = Some(small_buffers());
    let mut socket = accept_hdr_async_with_config(stream, name_subprotocol, config).await?;
    let mut seat = None;
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
                match seat {
                    None => seat = Some(hall.greet(&text, peer)?),
                    Some(Seat::Instructor(room)) => hall.obey(room, &text)?,
                    Some(Seat::Student(room)) => {
                        acknowledge(&mut socket, &text).await?;
                        hall.count_answer(room);
                    }
                }
            }
        }
    }
}

/// `received` and `recorded`, written together.
async fn acknowledge(socket: &mut WebSocketStream<TcpStream>, text: &str) -> anyhow::Result<()> {
    let FromStudent::Answer { round, attempt, .. } = decode(text)? else {
        bail!("a baseline takes answers only");
    };
    socket.feed(Message::text(encode(&ToStudent::Received { round, attempt }))).await?;
    socket.feed(Message::text(encode(&ToStudent::Recorded { round, attempt }))).await?;
    Ok(socket.flush().await?)
}

#[expect(clippy::result_large_err, clippy::unnecessary_wraps, reason = "the library's signature")]
fn name_subprotocol(_: &Request, mut response: Response) -> Result<Response, ErrorResponse> {
    let name = HeaderValue::from_static(SUBPROTOCOL);
    response.headers_mut().insert("Sec-WebSocket-Protocol", name);
    Ok(response)
}

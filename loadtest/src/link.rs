//! One connection of a client, in either framing.

use std::net::SocketAddr;

use anyhow::{Context, bail};
use futures_util::{SinkExt, StreamExt};
use myonym_wire::{Hello, PATH, SUBPROTOCOL, encode, limits};
use tokio::io::{AsyncBufReadExt, AsyncWriteExt, BufReader, Lines};
use tokio::net::TcpStream;
use tokio::net::tcp::{OwnedReadHalf, OwnedWriteHalf};
use tokio_tungstenite::tungstenite::client::ClientRequestBuilder;
use tokio_tungstenite::tungstenite::protocol::WebSocketConfig;
use tokio_tungstenite::tungstenite::{Message, Utf8Bytes};
use tokio_tungstenite::{WebSocketStream, client_async_with_config};

/// How messages are cut out of the byte stream.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Framing {
    /// RFC 6455 frames.
    WebSocket,
    /// One line each: the floor.
    Lines,
}

/// A connection that says and hears texts.
#[derive(Debug)]
pub(crate) enum Link {
    /// RFC 6455 frames.
    WebSocket(Box<WebSocketStream<TcpStream>>),
    /// One line each.
    Lines { hear: Lines<BufReader<OwnedReadHalf>>, say: OwnedWriteHalf },
}

/// Buffers of a connection, on both sides: the library's defaults take 136 KiB for each.
pub(crate) fn small_buffers() -> WebSocketConfig {
    WebSocketConfig::default()
        .read_buffer_size(1_024)
        .write_buffer_size(4 * 1_024)
        .max_write_buffer_size(256 * 1_024)
        .max_message_size(Some(1_024 * 1_024))
        .max_frame_size(Some(1_024 * 1_024))
}

impl Link {
    /// Connects and says who this is.
    pub(crate) async fn open(
        address: SocketAddr,
        framing: Framing,
        hello: &Hello,
    ) -> anyhow::Result<Self> {
        let stream = TcpStream::connect(address)
            .await
            .with_context(|| format!("cannot connect to {address}: does the server run?"))?;
        stream.set_nodelay(true)?;
        let mut link = match framing {
            Framing::WebSocket => Self::shake_hands(address, stream).await?,
            Framing::Lines => {
                let (hear, say) = stream.into_split();
                Self::Lines { hear: BufReader::with_capacity(4 * 1_024, hear).lines(), say }
            }
        };
        link.say(encode(hello)).await?;
        Ok(link)
    }

    async fn shake_hands(address: SocketAddr, stream: TcpStream) -> anyhow::Result<Self> {
        let url = format!("ws://{address}{PATH}").parse().context("an address makes a URL")?;
        let request = ClientRequestBuilder::new(url).with_sub_protocol(SUBPROTOCOL);
        let (socket, _) = client_async_with_config(request, stream, Some(small_buffers()))
            .await
            .with_context(|| format!("{address} refused the WebSocket at {PATH}"))?;
        Ok(Self::WebSocket(Box::new(socket)))
    }

    /// Sends one message.
    pub(crate) async fn say(&mut self, mut text: String) -> anyhow::Result<()> {
        debug_assert!(text.len() <= limits::MESSAGE_BYTES, "a client keeps the server's limit");
        match self {
            Self::WebSocket(socket) => socket.send(Message::text(text)).await?,
            Self::Lines { say, .. } => {
                text.push('\n');
                say.write_all(text.as_bytes()).await?;
            }
        }
        Ok(())
    }

    /// The next message; `None` once the connection has ended. Safe to drop and call again.
    ///
    /// # Errors
    /// The connection broke, or the server closed it with a code and a reason.
    pub(crate) async fn hear(&mut self) -> anyhow::Result<Option<Utf8Bytes>> {
        match self {
            Self::WebSocket(socket) => loop {
                match socket.next().await.transpose()? {
                    Some(Message::Text(text)) => return Ok(Some(text)),
                    Some(Message::Ping(_) | Message::Pong(_) | Message::Frame(_)) => {}
                    Some(Message::Close(Some(frame))) => {
                        bail!("the server closed with {}: {}", u16::from(frame.code), frame.reason)
                    }
                    Some(Message::Binary(_) | Message::Close(None)) | None => return Ok(None),
                }
            },
            Self::Lines { hear, .. } => Ok(hear.next_line().await?.map(Utf8Bytes::from)),
        }
    }
}

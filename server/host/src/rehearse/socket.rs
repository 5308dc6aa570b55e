//! A plain client for the rehearsal: one socket to this machine's own server.

use std::net::SocketAddr;

use anyhow::Context as _;
use futures_util::{SinkExt as _, StreamExt as _};
use serde::Serialize;
use serde::de::DeserializeOwned;
use tokio::net::TcpStream;
use tokio_tungstenite::tungstenite::Message;
use tokio_tungstenite::tungstenite::client::IntoClientRequest as _;
use tokio_tungstenite::tungstenite::http::HeaderValue;
use tokio_tungstenite::tungstenite::http::header::SEC_WEBSOCKET_PROTOCOL;
use tokio_tungstenite::{WebSocketStream, client_async_with_config};

use crate::connection::socket_config;

/// A connected client.
#[derive(Debug)]
pub(super) struct Socket {
    stream: WebSocketStream<TcpStream>,
}

impl Socket {
    /// Connects and says `hello`.
    pub(super) async fn connect(
        server: SocketAddr,
        hello: &myonym_wire::Hello,
    ) -> anyhow::Result<Self> {
        let tcp = TcpStream::connect(server).await.context("cannot reach our own server")?;
        tcp.set_nodelay(true)?;
        let mut request = format!("ws://{server}{}", myonym_wire::PATH).into_client_request()?;
        let protocol = HeaderValue::from_static(myonym_wire::SUBPROTOCOL);
        request.headers_mut().insert(SEC_WEBSOCKET_PROTOCOL, protocol);
        // A reveal may be larger than what a client may send.
        let config = socket_config().max_message_size(None).max_frame_size(None);
        let (stream, _) = client_async_with_config(request, tcp, Some(config)).await?;
        let mut socket = Self { stream };
        socket.send(hello).await?;
        Ok(socket)
    }

    pub(super) async fn send(&mut self, message: &impl Serialize) -> anyhow::Result<()> {
        let text = myonym_wire::encode(message);
        Ok(self.stream.send(Message::Text(text.into())).await?)
    }

    /// The next message; `None` once the connection is over.
    pub(super) async fn next<T: DeserializeOwned>(&mut self) -> anyhow::Result<Option<T>> {
        loop {
            match self.stream.next().await {
                Some(Ok(Message::Text(text))) => return Ok(Some(myonym_wire::decode(&text)?)),
                Some(Ok(Message::Close(_)) | Err(_)) | None => return Ok(None),
                Some(Ok(_)) => {}
            }
        }
    }
}

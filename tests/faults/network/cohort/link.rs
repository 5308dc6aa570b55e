//! A connection that is cheap to hold: of a message it reads only what a student acts on.

use std::net::{IpAddr, SocketAddr};

use anyhow::{Context as _, Result};
use futures_util::{SinkExt as _, StreamExt as _};
use serde::Deserialize;
use serde_json::Value;
use tokio::net::{TcpSocket, TcpStream};
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::Message;
use tokio_tungstenite::tungstenite::client::ClientRequestBuilder;
use tokio_tungstenite::tungstenite::protocol::WebSocketConfig;

/// A connection to the host.
#[derive(Debug)]
pub(super) struct Link {
    socket: WebSocketStream<TcpStream>,
}

/// What comes from the other side.
#[derive(Debug)]
pub(super) enum Heard {
    /// A message.
    Told(Box<Told>),
    /// A sign of life that says nothing.
    Stir,
    /// The end, with its close code if there was a close frame.
    End(Option<u16>),
}

/// What a student acts on, of any message.
#[derive(Debug, Deserialize)]
pub(super) struct Told {
    #[serde(rename = "type")]
    pub(super) kind: String,
    pub(super) round: Option<u16>,
    pub(super) attempt: Option<String>,
    pub(super) code: Option<String>,
    pub(super) student: Option<String>,
    pub(super) total: Option<f64>,
    pub(super) moment: Option<Stands>,
}

/// Where the review stands, for one who comes in.
#[derive(Debug, Deserialize)]
pub(super) struct Stands {
    pub(super) phase: String,
    pub(super) round: Option<u16>,
    pub(super) given: Option<Given>,
    pub(super) summary: Option<Total>,
}

/// An answer that the server knows of.
#[derive(Debug, Deserialize)]
pub(super) struct Given {
    pub(super) attempt: String,
    pub(super) recorded: bool,
}

/// The points of a whole review.
#[derive(Debug, Deserialize)]
pub(super) struct Total {
    pub(super) total: f64,
}

impl Link {
    /// Connects, from an address of this machine if one is given, and says the first message.
    pub(super) async fn open(to: SocketAddr, from: Option<IpAddr>, hello: &Value) -> Result<Self> {
        let socket = if to.is_ipv4() { TcpSocket::new_v4() } else { TcpSocket::new_v6() }?;
        if let Some(from) = from {
            socket.bind(SocketAddr::new(from, 0))?;
        }
        let stream = socket.connect(to).await?;
        stream.set_nodelay(true)?;
        let uri = format!("ws://{to}/live").parse().context("an address makes a URL")?;
        let request = ClientRequestBuilder::new(uri).with_sub_protocol("myonym.v1");
        // The library's own buffers take 136 KiB for each connection.
        let small = WebSocketConfig::default().read_buffer_size(2_048).write_buffer_size(0);
        let shaken = tokio_tungstenite::client_async_with_config(request, stream, Some(small));
        let (socket, _) = shaken.await?;
        let mut link = Self { socket };
        link.say(hello).await?;
        Ok(link)
    }

    /// Sends a message.
    pub(super) async fn say(&mut self, message: &Value) -> Result<()> {
        Ok(self.socket.send(Message::text(message.to_string())).await?)
    }

    /// What comes next. Safe to drop and call again.
    ///
    /// # Errors
    /// What came is no message of the server's.
    pub(super) async fn hear(&mut self) -> Result<Heard> {
        Ok(match self.socket.next().await {
            Some(Ok(Message::Text(text))) => {
                let told = serde_json::from_str(&text).with_context(|| text.to_string())?;
                Heard::Told(told)
            }
            Some(Ok(Message::Close(frame))) => Heard::End(frame.map(|frame| frame.code.into())),
            Some(Ok(_)) => Heard::Stir,
            Some(Err(_)) | None => Heard::End(None),
        })
    }
}

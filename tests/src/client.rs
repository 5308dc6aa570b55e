//! A scripted WebSocket client that knows the JSON Schema and none of the project's types.

use std::fmt::Debug;
use std::net::SocketAddr;
use std::time::Duration;

use anyhow::{Context as _, Result, bail, ensure};
use futures_util::{SinkExt as _, StreamExt as _};
use serde_json::Value;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::{TcpSocket, TcpStream};
use tokio::time::timeout;
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::client::ClientRequestBuilder;
use tokio_tungstenite::tungstenite::{Error, Message};

use crate::DEADLINE;
use crate::schema::{self, Role};

/// What a connection is carried by: TCP, or TLS over it.
pub trait Carrier: AsyncRead + AsyncWrite + Debug + Unpin + Send {}

impl<S: AsyncRead + AsyncWrite + Debug + Unpin + Send> Carrier for S {}

/// A connection.
#[derive(Debug)]
pub struct Client {
    socket: WebSocketStream<Box<dyn Carrier>>,
    role: Role,
    heard: Vec<Value>,
    seq: u64,
}

/// What comes from the server.
#[derive(Debug, Clone, PartialEq)]
pub enum Heard {
    /// A message.
    Message(Value),
    /// The end.
    Closed(Closed),
}

/// How a connection ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Closed {
    /// The close code; `None` if the connection ended without a close frame.
    pub code: Option<u16>,
    /// The reason given.
    pub reason: String,
}

impl Client {
    /// Opens a connection, with nothing said yet.
    pub async fn open(address: SocketAddr, role: Role) -> Result<Self> {
        Self::open_with(address, role, &[]).await
    }

    /// Opens a connection with further headers in its handshake.
    pub async fn open_with(
        address: SocketAddr,
        role: Role,
        headers: &[(&str, &str)],
    ) -> Result<Self> {
        let stream = TcpStream::connect(address).await?;
        stream.set_nodelay(true)?;
        Self::through(Box::new(stream), address, role, headers).await
    }

    /// Opens a connection whose receive buffer is as small as the system has it, to play a client
    /// that reads too slowly.
    pub async fn open_narrow(address: SocketAddr, role: Role) -> Result<Self> {
        let socket = TcpSocket::new_v4()?;
        socket.set_recv_buffer_size(1)?;
        let stream = socket.connect(address).await?;
        stream.set_nodelay(true)?;
        Self::through(Box::new(stream), address, role, &[]).await
    }

    /// Opens a connection through a stream to the host that stands already.
    pub async fn through(
        stream: Box<dyn Carrier>,
        address: SocketAddr,
        role: Role,
        headers: &[(&str, &str)],
    ) -> Result<Self> {
        let uri = format!("ws://{address}/live").parse()?;
        let mut request = ClientRequestBuilder::new(uri).with_sub_protocol("myonym.v1");
        for (name, value) in headers {
            request = request.with_header(*name, *value);
        }
        let handshake = tokio_tungstenite::client_async(request, stream);
        let (socket, _) = within(DEADLINE, "handshake", handshake).await??;
        Ok(Self { socket, role, heard: Vec::new(), seq: 0 })
    }

    /// Sends the first message.
    pub async fn hello(&mut self, message: Value) -> Result<()> {
        schema::check_hello(&message)?;
        self.say_text(message.to_string()).await
    }

    /// Sends a message that keeps to the schema.
    pub async fn say(&mut self, message: Value) -> Result<()> {
        schema::check_said(self.role, &message)?;
        self.say_text(message.to_string()).await
    }

    /// Sends any text.
    pub async fn say_text(&mut self, text: impl Into<String>) -> Result<()> {
        self.send(Message::Text(text.into().into())).await
    }

    async fn send(&mut self, message: Message) -> Result<()> {
        within(DEADLINE, "sending", self.socket.send(message)).await?.context("cannot send")
    }

    /// The next message or the end, checked against the schema. Events never run backwards.
    pub async fn hear(&mut self) -> Result<Heard> {
        within(DEADLINE, "anything", self.read()).await?
    }

    /// The same, however long it takes: for clients that have nothing to wait for. Nothing is lost if
    /// it is given up.
    pub async fn hear_whenever(&mut self) -> Result<Heard> {
        self.read().await
    }

    /// Reads with no deadline of its own: pings go on for ever, so whoever waits sets one for the
    /// whole wait.
    async fn read(&mut self) -> Result<Heard> {
        loop {
            let read = self.socket.next().await;
            let nothing = Closed { code: None, reason: String::new() };
            match read {
                Some(Ok(Message::Text(text))) => return self.take(&text).map(Heard::Message),
                Some(Ok(Message::Close(frame))) => {
                    let told = |frame: tokio_tungstenite::tungstenite::protocol::CloseFrame| {
                        Closed { code: Some(frame.code.into()), reason: frame.reason.to_string() }
                    };
                    return Ok(Heard::Closed(frame.map_or(nothing, told)));
                }
                Some(Ok(Message::Ping(_) | Message::Pong(_) | Message::Frame(_))) => {}
                Some(Ok(Message::Binary(_))) => bail!("the server sent a binary message"),
                Some(Err(Error::Io(_) | Error::Protocol(_))) | None => {
                    return Ok(Heard::Closed(nothing));
                }
                Some(Err(fault)) => return Err(fault.into()),
            }
        }
    }

    fn take(&mut self, text: &str) -> Result<Value> {
        let message: Value = serde_json::from_str(text).context("not JSON from the server")?;
        schema::check_heard(self.role, &message)?;
        if let Some(seq) = message["seq"].as_u64() {
            ensure!(seq >= self.seq, "event {seq} after event {}: {message}", self.seq);
            self.seq = seq;
        }
        self.heard.push(message.clone());
        Ok(message)
    }

    /// The next message of a type. Others are passed by (and kept), but an unexpected error,
    /// trouble or end is a failure.
    pub async fn expect(&mut self, kind: &str) -> Result<Value> {
        within(DEADLINE, kind, self.read_until(kind)).await?
    }

    async fn read_until(&mut self, kind: &str) -> Result<Value> {
        loop {
            match self.read().await.with_context(|| format!("waiting for {kind}"))? {
                Heard::Message(message) if message["type"] == kind => return Ok(message),
                Heard::Message(message) => {
                    let bad = ["error", "trouble", "removed"];
                    let is_bad = bad.iter().any(|bad| message["type"] == *bad);
                    ensure!(!is_bad, "heard {message} while waiting for {kind}");
                }
                Heard::Closed(end) => bail!("closed ({end:?}) while waiting for {kind}"),
            }
        }
    }

    /// The next word on the votes of a study group that tells this: motion, for it, and needed.
    pub async fn expect_votes(&mut self, wanted: &[(&str, u32, u32)]) -> Result<()> {
        let row = |(motion, yes, needed): &(&str, u32, u32)| serde_json::json!({ "motion": motion, "yes": yes, "needed": needed });
        let wanted: Vec<Value> = wanted.iter().map(row).collect();
        loop {
            let told = self.expect("votes").await.with_context(|| format!("{wanted:?}"))?;
            if told["rows"] == Value::from(wanted.clone()) {
                return Ok(());
            }
        }
    }

    /// The next refusal, which must have this code.
    pub async fn expect_error(&mut self, code: &str) -> Result<Value> {
        let error = self.expect("error").await.with_context(|| format!("the code {code}"))?;
        ensure!(error["code"] == code, "refused with {error}, not with {code}");
        Ok(error)
    }

    /// The end; messages on the way to it are kept.
    pub async fn until_closed(&mut self) -> Result<Closed> {
        let end = async {
            loop {
                if let Heard::Closed(end) = self.read().await? {
                    return Ok(end);
                }
            }
        };
        within(DEADLINE, "end of the connection", end).await?
    }

    /// The end, which must have this close code.
    pub async fn expect_close(&mut self, code: u16) -> Result<()> {
        let end = self.until_closed().await?;
        ensure!(end.code == Some(code), "closed with {end:?}, not with {code}");
        Ok(())
    }

    /// Everything heard so far, in order.
    pub fn heard(&self) -> &[Value] {
        &self.heard
    }

    /// What was heard of one type, in order.
    pub fn heard_of(&self, kind: &str) -> Vec<&Value> {
        self.heard.iter().filter(|message| message["type"] == kind).collect()
    }
}

async fn within<T>(time: Duration, what: &str, future: impl Future<Output = T>) -> Result<T> {
    timeout(time, future).await.with_context(|| format!("no {what} within {time:?}"))
}

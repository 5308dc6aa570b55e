//! HTTP and WebSocket frames written by hand, for what no well-behaved library would send.

use std::net::SocketAddr;

use anyhow::{Context as _, Result, bail, ensure};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::TcpStream;
use tokio::time::timeout;

use crate::DEADLINE;
use crate::client::{Carrier, Closed};

/// An answer to an HTTP request.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Response {
    /// The status code.
    pub status: u16,
    /// The status line and headers in lower case.
    pub head: String,
    /// The body, as far as it is text.
    pub body: String,
}

/// A WebSocket connection of hand-written frames (RFC 6455 section 5.2).
#[derive(Debug)]
pub struct RawSocket {
    stream: Box<dyn Carrier>,
    read: Vec<u8>,
}

/// A frame as the server sent it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RawFrame {
    /// FIN, reserved bits and opcode.
    pub first: u8,
    /// What it carries.
    pub payload: Vec<u8>,
}

/// Sends an HTTP request: its first line and headers, with no line end. `Host` is added.
pub async fn http(address: SocketAddr, request: &str) -> Result<Response> {
    let (first, headers) = request.split_once("\r\n").unwrap_or((request, ""));
    let tail = if headers.is_empty() { "" } else { "\r\n" };
    let text = format!("{first}\r\nHost: {address}\r\n{headers}{tail}\r\n");
    http_exactly(address, &text).await
}

/// Sends a request as it is written, and reads the answer.
pub async fn http_exactly(address: SocketAddr, request: &str) -> Result<Response> {
    let mut stream = TcpStream::connect(address).await?;
    stream.write_all(request.as_bytes()).await?;
    let mut read = Vec::new();
    respond(&mut stream, &mut read).await
}

/// Sends a form as a browser does (HTML, URL-encoded form data), from a page of `origin`.
pub async fn post(
    address: SocketAddr,
    path: &str,
    origin: &str,
    fields: &[(&str, &str)],
) -> Result<Response> {
    let fields: Vec<String> =
        fields.iter().map(|(name, value)| format!("{name}={}", encoded(value))).collect();
    let body = fields.join("&");
    let head = format!(
        "POST {path} HTTP/1.1\r\nHost: {address}\r\nOrigin: {origin}\r\nContent-Length: {}\r\n\
         Content-Type: application/x-www-form-urlencoded\r\n\r\n",
        body.len()
    );
    let mut stream = TcpStream::connect(address).await?;
    stream.write_all(format!("{head}{body}").as_bytes()).await?;
    respond(&mut stream, &mut Vec::new()).await
}

/// A text as part of a URL or form (RFC 3986 section 2.1).
pub fn encoded(text: &str) -> String {
    let sign = |byte: u8| match byte {
        b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => {
            char::from(byte).to_string()
        }
        _ => format!("%{byte:02X}"),
    };
    text.bytes().map(sign).collect()
}

/// Reads one answer; what follows its body stays in `read`.
async fn respond(stream: &mut dyn Carrier, read: &mut Vec<u8>) -> Result<Response> {
    let head_end = loop {
        if let Some(at) = read.windows(4).position(|four| four == b"\r\n\r\n") {
            break at + 4;
        }
        ensure!(more(stream, read).await?, "no whole answer: {:?}", String::from_utf8_lossy(read));
    };
    let head = String::from_utf8(read.drain(..head_end).collect())?.to_ascii_lowercase();
    let status = head.split(' ').nth(1).context("no status")?.parse()?;
    let length = head.lines().find_map(|line| line.strip_prefix("content-length: "));
    let length: usize = length.unwrap_or("0").trim().parse()?;
    while read.len() < length {
        ensure!(more(stream, read).await?, "a body cut short");
    }
    let bytes: Vec<u8> = read.drain(..length).collect();
    let body = String::from_utf8_lossy(&bytes).into_owned();
    Ok(Response { status, head, body })
}

async fn more(stream: &mut dyn Carrier, read: &mut Vec<u8>) -> Result<bool> {
    let got = timeout(DEADLINE, stream.read_buf(read)).await.context("no more bytes")?;
    Ok(got? > 0)
}

impl RawSocket {
    /// Opens a connection with a proper handshake. The key and its answer are those of RFC 6455
    /// section 1.3.
    pub async fn open(address: SocketAddr) -> Result<Self> {
        let stream = TcpStream::connect(address).await?;
        stream.set_nodelay(true)?;
        Self::through(Box::new(stream), address).await
    }

    /// Opens one through a stream to the host that stands already.
    pub async fn through(mut stream: Box<dyn Carrier>, address: SocketAddr) -> Result<Self> {
        let request = format!(
            "GET /live HTTP/1.1\r\nHost: {address}\r\nUpgrade: websocket\r\n\
             Connection: Upgrade\r\nSec-WebSocket-Version: 13\r\n\
             Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\
             Sec-WebSocket-Protocol: myonym.v1\r\n\r\n"
        );
        stream.write_all(request.as_bytes()).await?;
        let mut read = Vec::new();
        let response = respond(&mut *stream, &mut read).await?;
        ensure!(response.status == 101, "no handshake: {}", response.head);
        let accept = "s3pPLMBiTxaQ9kYGzzhZRbK+xOo=".to_ascii_lowercase();
        ensure!(response.head.contains(&accept), "a wrong answer to the key: {}", response.head);
        Ok(Self { stream, read })
    }

    /// Sends a frame: first byte (FIN, RSV, opcode), payload, masked or not.
    pub async fn frame(&mut self, first: u8, payload: &[u8], masked: bool) -> Result<()> {
        let mask_bit = if masked { 0x80 } else { 0 };
        let mut frame = vec![first];
        match u8::try_from(payload.len()) {
            Ok(length) if length < 126 => frame.push(mask_bit + length),
            _ => {
                frame.push(mask_bit + 126);
                frame.extend(u16::try_from(payload.len())?.to_be_bytes());
            }
        }
        if masked {
            // A mask of zeros changes nothing and is a mask all the same.
            frame.extend([0; 4]);
        }
        frame.extend(payload);
        self.bytes(&frame).await
    }

    /// Sends any bytes.
    pub async fn bytes(&mut self, bytes: &[u8]) -> Result<()> {
        timeout(DEADLINE, self.stream.write_all(bytes)).await.context("cannot write")??;
        Ok(())
    }

    /// The next frame; `None` once the server has ended the connection in good order. A connection
    /// that is reset, or ends within a frame, is an error; so is a frame that a server may not send
    /// (RFC 6455 sections 5.1, 5.2): masked, with reserved bits, or a length that is too long.
    pub async fn hear(&mut self) -> Result<Option<RawFrame>> {
        loop {
            if let Some((head, length)) = self.head()?
                && self.read.len() >= head + length
            {
                let frame: Vec<u8> = self.read.drain(..head + length).collect();
                return Ok(Some(RawFrame { first: frame[0], payload: frame[head..].to_vec() }));
            }
            if !more(&mut *self.stream, &mut self.read).await? {
                ensure!(self.read.is_empty(), "it ends within a frame: {:?}", self.read);
                return Ok(None);
            }
        }
    }

    /// Bytes of the next frame's head and of its payload.
    fn head(&self) -> Result<Option<(usize, usize)>> {
        let [first, second, ..] = self.read[..] else { return Ok(None) };
        ensure!(first & 0x70 == 0, "reserved bits from the server: {first:#x}");
        ensure!(second & 0x80 == 0, "a masked frame from the server");
        let long = self.read.get(2..4).and_then(|two| two.first_chunk());
        match (second, long) {
            (126, None) => Ok(None),
            (126, Some(length)) => {
                let length = usize::from(u16::from_be_bytes(*length));
                ensure!(length > 125, "a length of {length} in three bytes");
                Ok(Some((4, length)))
            }
            (127, _) => bail!("a message of more than 64 KiB from the server"),
            (short, _) => Ok(Some((2, usize::from(short)))),
        }
    }

    /// Reads to the end: the close frame, if there was one. Other frames are passed by.
    pub async fn until_closed(&mut self) -> Result<Closed> {
        while let Some(RawFrame { first, payload }) = self.hear().await.context("to the end")? {
            if first & 0x0f == 8 {
                let code = payload.first_chunk().map(|code| u16::from_be_bytes(*code));
                let reason = payload.get(2..).unwrap_or_default();
                return Ok(Closed { code, reason: String::from_utf8(reason.to_vec())? });
            }
        }
        Ok(Closed { code: None, reason: String::new() })
    }
}

//! The WebSocket's handshake (RFC 6455 section 4.2): what makes a good one, and a short way for it.
//!
//! A class comes in all at once, and nearly every handshake is in order, comes in one piece and in
//! the clear. Such a one is answered here, in one write with the first ping. Whatever is otherwise
//! goes to the HTTP library as it came: this way only looks at what waits in the socket, and takes
//! it when all of it is as it should be.

use std::future::poll_fn;
use std::task::ready;

use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use tokio::io::ReadBuf;
use tokio::net::TcpStream;
use tokio_tungstenite::tungstenite::Bytes;
use tokio_tungstenite::tungstenite::handshake::derive_accept_key;

/// Bytes of a request that are looked at: a browser's has some 500.
const LOOKED_AT: usize = 2_048;
/// Its headers.
const HEADERS: usize = 32;

/// A request for the WebSocket that waits in a socket, whole.
#[derive(Debug)]
pub(crate) struct Request {
    /// How many bytes of the socket it is.
    length: usize,
    pub(crate) headers: HeaderMap,
}

impl Request {
    /// Waits until something has come, and leaves it where it is; `None` if it is anything but the
    /// whole head of a GET for the WebSocket.
    pub(crate) async fn look(stream: &TcpStream) -> Option<Self> {
        // The bytes are on the stack for this look only: a connection that waits holds none.
        poll_fn(|context| {
            let mut bytes = [0; LOOKED_AT];
            let mut bytes = ReadBuf::new(&mut bytes);
            let came = ready!(stream.poll_peek(context, &mut bytes));
            came.map(|_count| Self::read(bytes.filled())).into()
        })
        .await
        .ok()?
    }

    fn read(bytes: &[u8]) -> Option<Self> {
        let mut headers = [httparse::EMPTY_HEADER; HEADERS];
        let mut request = httparse::Request::new(&mut headers);
        let httparse::Status::Complete(length) = request.parse(bytes).ok()? else { return None };
        let is_ours = request.method == Some("GET")
            && request.version == Some(1)
            && request.path == Some(myonym_wire::PATH);
        if !is_ours {
            return None;
        }
        let mut named = HeaderMap::with_capacity(request.headers.len());
        for field in &*request.headers {
            let name = HeaderName::from_bytes(field.name.as_bytes()).ok()?;
            named.append(name, HeaderValue::from_bytes(field.value).ok()?);
        }
        // What has a body (RFC 9112 section 6.3) or expects something is not for this way.
        let others = [header::CONTENT_LENGTH, header::TRANSFER_ENCODING, header::EXPECT];
        let is_plain = others.iter().all(|name| !named.contains_key(name));
        is_plain.then_some(Self { length, headers: named })
    }

    /// Takes it out of its socket; false if it is not there any more.
    pub(crate) fn take(&self, stream: &TcpStream) -> bool {
        let mut bytes = [0; LOOKED_AT];
        let taken = bytes.get_mut(..self.length).map(|bytes| stream.try_read(bytes));
        matches!(taken, Some(Ok(taken)) if taken == self.length)
    }
}

/// What opens the WebSocket, for the HTTP library.
pub(crate) fn opening(accept: HeaderValue) -> Response {
    (StatusCode::SWITCHING_PROTOCOLS, fields(accept)).into_response()
}

/// The same in bytes.
pub(crate) fn opened(accept: HeaderValue) -> Bytes {
    let mut bytes = b"HTTP/1.1 101 Switching Protocols\r\n".to_vec();
    for (name, value) in fields(accept) {
        bytes.extend([name.as_str().as_bytes(), b": ", value.as_bytes(), b"\r\n"].concat());
    }
    bytes.extend(b"\r\n");
    bytes.into()
}

fn fields(accept: HeaderValue) -> [(HeaderName, HeaderValue); 4] {
    [
        (header::CONNECTION, HeaderValue::from_static("upgrade")),
        (header::UPGRADE, HeaderValue::from_static("websocket")),
        (header::SEC_WEBSOCKET_ACCEPT, accept),
        (header::SEC_WEBSOCKET_PROTOCOL, HeaderValue::from_static(myonym_wire::SUBPROTOCOL)),
    ]
}

/// A handshake that is refused.
#[derive(Debug)]
pub(crate) struct Refused {
    pub(crate) status: StatusCode,
    /// What would have been right.
    header: Option<(HeaderName, &'static str)>,
    pub(crate) why: &'static str,
}

impl IntoResponse for Refused {
    fn into_response(self) -> Response {
        let headers: HeaderMap = self
            .header
            .map(|(name, value)| (name, HeaderValue::from_static(value)))
            .into_iter()
            .collect();
        (self.status, headers, self.why).into_response()
    }
}

/// The accept key of a good handshake, or the answer to a bad one.
pub(crate) fn check(
    headers: &HeaderMap,
    is_own: impl Fn(&str) -> bool,
) -> Result<HeaderValue, Refused> {
    let refuse = |status, why: &'static str| Err(Refused { status, header: None, why });
    let text = |name| headers.get(name).and_then(|value: &HeaderValue| value.to_str().ok());
    let has = |name, want: &str| {
        text(name)
            .is_some_and(|list| list.split(',').any(|item| item.trim().eq_ignore_ascii_case(want)))
    };
    if !has(header::UPGRADE, "websocket") || !has(header::CONNECTION, "upgrade") {
        let header = Some((header::UPGRADE, "websocket"));
        let why = "this path is a WebSocket";
        return Err(Refused { status: StatusCode::UPGRADE_REQUIRED, header, why });
    }
    if text(header::SEC_WEBSOCKET_VERSION) != Some("13") {
        let header = Some((header::SEC_WEBSOCKET_VERSION, "13"));
        let why = "WebSocket version 13 is spoken here";
        return Err(Refused { status: StatusCode::UPGRADE_REQUIRED, header, why });
    }
    // RFC 9112 section 3.2.
    if text(header::HOST).is_none() || headers.get_all(header::HOST).iter().count() > 1 {
        return refuse(StatusCode::BAD_REQUEST, "there is one Host header, and no second one");
    }
    if headers.contains_key(header::ORIGIN) && !text(header::ORIGIN).is_some_and(is_own) {
        return refuse(StatusCode::FORBIDDEN, "pages of other servers may not connect here");
    }
    if !has(header::SEC_WEBSOCKET_PROTOCOL, myonym_wire::SUBPROTOCOL) {
        return refuse(StatusCode::BAD_REQUEST, "name the subprotocol myonym.v1");
    }
    let Some(key) = text(header::SEC_WEBSOCKET_KEY).filter(|key| is_nonce(key)) else {
        return refuse(StatusCode::BAD_REQUEST, "Sec-WebSocket-Key is 16 bytes in base64");
    };
    HeaderValue::from_str(&derive_accept_key(key.as_bytes()))
        .or_else(|_fault| refuse(StatusCode::BAD_REQUEST, "Sec-WebSocket-Key cannot be used"))
}

/// Whether a text is 16 bytes in base64: 22 digits and two signs of filling.
fn is_nonce(key: &str) -> bool {
    let digit = |b: u8| b.is_ascii_alphanumeric() || b == b'+' || b == b'/';
    key.len() == 24 && key.ends_with("==") && key.bytes().take(22).all(digit)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The request and the answer of RFC 6455 section 1.3, with our subprotocol and path.
    const REQUEST: &str = "GET /live HTTP/1.1\r\nHost: server.example.com\r\nUpgrade: websocket\r\n\
        Connection: Upgrade\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\
        Origin: http://server.example.com\r\nSec-WebSocket-Protocol: myonym.v1\r\n\
        Sec-WebSocket-Version: 13\r\n\r\n";

    #[test]
    fn the_standards_own_handshake_takes_the_short_way() {
        let request = Request::read(format!("{REQUEST}rest").as_bytes()).unwrap();
        assert_eq!(request.length, REQUEST.len());
        let accept =
            check(&request.headers, |origin| origin == "http://server.example.com").unwrap();
        assert_eq!(accept, "s3pPLMBiTxaQ9kYGzzhZRbK+xOo=");
        let said = opened(accept);
        let mut headers = [httparse::EMPTY_HEADER; 8];
        let mut response = httparse::Response::new(&mut headers);
        assert_eq!(response.parse(&said), Ok(httparse::Status::Complete(said.len())));
        assert_eq!((response.version, response.code), (Some(1), Some(101)));
        // Section 4.2.2, point 5.
        let fields: Vec<_> = response
            .headers
            .iter()
            .map(|field| (field.name, std::str::from_utf8(field.value).unwrap()))
            .collect();
        let wanted = [
            ("connection", "upgrade"),
            ("upgrade", "websocket"),
            ("sec-websocket-accept", "s3pPLMBiTxaQ9kYGzzhZRbK+xOo="),
            ("sec-websocket-protocol", "myonym.v1"),
        ];
        assert_eq!(fields, wanted);
    }

    #[test]
    fn whatever_is_otherwise_is_left_to_the_library() {
        let with = |old: &str, new: &str| {
            let changed = REQUEST.replacen(old, new, 1);
            assert_ne!(changed, REQUEST);
            Request::read(changed.as_bytes()).is_none()
        };
        assert!(with("GET", "HEAD"));
        assert!(with("/live", "/"));
        assert!(with("/live", "/live?a=b"));
        assert!(with("HTTP/1.1", "HTTP/1.0"));
        assert!(with("Origin", "Content-Length: 3\r\nOrigin"));
        assert!(with("Origin", "Transfer-Encoding: chunked\r\nOrigin"));
        assert!(with("Origin", "Expect: 100-continue\r\nOrigin"));
        assert!(with("Host:", "Host :"));
        assert!(with("Origin", &"A: b\r\n".repeat(HEADERS)));
        assert!(with("\r\n\r\n", "\r\n"));
        for end in 0..REQUEST.len() {
            assert!(Request::read(&REQUEST.as_bytes()[..end]).is_none());
        }
    }
}

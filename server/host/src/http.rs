//! The HTTP side: a page that says how to join, health, and the way into the WebSocket.

use std::io;
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;

use axum::extract::{ConnectInfo, Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use axum::routing::get;
use axum::{Extension, Router};
use hyper::upgrade::{OnUpgrade, Upgraded};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use myonym_wire::limits::HELLO_MS;
use tokio::net::{TcpListener, TcpSocket, TcpStream};
use tokio::sync::Semaphore;
use tokio::time;
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::handshake::derive_accept_key;
use tokio_tungstenite::tungstenite::protocol::Role;
use tracing::{debug, warn};

use crate::connection::{self, Gate};

/// Connections at once, whoever they are.
const CONNECTIONS: u16 = 20_000;
/// Time for the last connections to end once their rooms are closed.
const GOODBYES: Duration = Duration::from_secs(2);
/// What the system may hold of one connection's output, in bytes (some systems double it). Left to
/// itself it grows to megabytes, and a student who stopped reading would be noticed that much later.
const SEND_BUFFER: u32 = 32 * 1024;
/// Connections that may wait to be accepted: a large class that comes back at once.
const BACKLOG: u32 = 1_024;

/// The connections of a server that takes no more.
#[derive(Debug)]
pub(crate) struct Connections(Arc<Semaphore>);

impl Connections {
    /// Waits until all have ended, for a moment at most: a program that ends before its last
    /// messages are sent takes them with it.
    pub(crate) async fn ended(self) {
        let _ = time::timeout(GOODBYES, self.0.acquire_many(CONNECTIONS.into())).await;
    }
}

/// Accepts connections until `shutdown` ends. The caller owns the listener and the signal.
pub(crate) async fn run(
    listener: TcpListener,
    gate: Arc<Gate>,
    shutdown: impl Future<Output = ()>,
) -> Connections {
    let app = router(gate);
    let room = Arc::new(Semaphore::new(CONNECTIONS.into()));
    tokio::pin!(shutdown);
    loop {
        let accepted = tokio::select! {
            accepted = listener.accept() => accepted,
            () = &mut shutdown => return Connections(room),
        };
        match accepted {
            Ok((stream, peer)) => accept(stream, peer, &app, &room),
            Err(fault) => {
                // Out of descriptors, say: those in use are not harmed by waiting a little.
                warn!(%fault, "cannot accept a connection just now");
                time::sleep(Duration::from_millis(50)).await;
            }
        }
    }
}

fn accept(stream: TcpStream, peer: SocketAddr, app: &Router, room: &Arc<Semaphore>) {
    // Over the limit the connection is dropped before it costs anything.
    let Ok(permit) = room.clone().try_acquire_owned() else { return };
    if stream.set_nodelay(true).is_err() {
        return;
    }
    let app = app.clone().layer(Extension(ConnectInfo(peer))).layer(Extension(Arc::new(permit)));
    tokio::spawn(async move {
        let served = hyper::server::conn::http1::Builder::new()
            .timer(TokioTimer::new())
            .header_read_timeout(Duration::from_millis(HELLO_MS))
            .max_headers(64)
            .max_buf_size(16 * 1024)
            .keep_alive(true)
            .serve_connection(TokioIo::new(stream), TowerToHyperService::new(app))
            .with_upgrades()
            .await;
        if let Err(fault) = served {
            debug!(%fault, "connection ended");
        }
    });
}

fn router(gate: Arc<Gate>) -> Router {
    Router::new()
        .route("/", get(page))
        .route("/healthz", get(health))
        .route(myonym_wire::PATH, get(live))
        .with_state(gate)
}

async fn page() -> Html<&'static str> {
    Html(include_str!("page.html"))
}

async fn health(State(gate): State<Arc<Gate>>) -> String {
    format!("ok\nreviews {}\n", gate.reviews.count())
}

/// Checks the handshake (RFC 6455 section 4.2) and hands the connection over.
async fn live(
    State(gate): State<Arc<Gate>>,
    Extension(ConnectInfo(peer)): Extension<ConnectInfo<SocketAddr>>,
    Extension(permit): Extension<Arc<tokio::sync::OwnedSemaphorePermit>>,
    mut request: Request,
) -> Response {
    let accept = match check(request.headers()) {
        Ok(accept) => accept,
        Err(refused) => return refused.into_response(),
    };
    let Some(upgrade) = request.extensions_mut().remove::<OnUpgrade>() else {
        return (StatusCode::BAD_REQUEST, "this connection cannot be upgraded").into_response();
    };
    tokio::spawn(async move {
        match upgrade.await {
            Ok(upgraded) => serve(upgraded, peer.ip(), &gate).await,
            Err(fault) => debug!(%fault, "upgrade failed"),
        }
        drop(permit);
    });
    let headers = [
        (header::CONNECTION, HeaderValue::from_static("upgrade")),
        (header::UPGRADE, HeaderValue::from_static("websocket")),
        (header::SEC_WEBSOCKET_ACCEPT, accept),
        (header::SEC_WEBSOCKET_PROTOCOL, HeaderValue::from_static(myonym_wire::SUBPROTOCOL)),
    ];
    (StatusCode::SWITCHING_PROTOCOLS, headers).into_response()
}

/// Takes the TCP stream back out of the HTTP library, so that nothing stands in between.
async fn serve(upgraded: Upgraded, peer: IpAddr, gate: &Gate) {
    let config = Some(connection::socket_config());
    match upgraded.downcast::<TokioIo<TcpStream>>() {
        Ok(parts) => {
            let (stream, early) = (parts.io.into_inner(), parts.read_buf.to_vec());
            let socket =
                WebSocketStream::from_partially_read(stream, early, Role::Server, config).await;
            connection::serve(socket, peer, gate).await;
        }
        Err(upgraded) => {
            let stream = TokioIo::new(upgraded);
            let socket = WebSocketStream::from_raw_socket(stream, Role::Server, config).await;
            connection::serve(socket, peer, gate).await;
        }
    }
}

/// A handshake that is refused.
struct Refused {
    status: StatusCode,
    /// What would have been right.
    header: Option<(HeaderName, &'static str)>,
    why: &'static str,
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
fn check(headers: &HeaderMap) -> Result<HeaderValue, Refused> {
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
    let Some(host) = text(header::HOST) else {
        return refuse(StatusCode::BAD_REQUEST, "the Host header is missing");
    };
    if let Some(origin) = text(header::ORIGIN)
        && origin.split_once("://").is_none_or(|(_, from)| !from.eq_ignore_ascii_case(host))
    {
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

/// Binds the address that students reach. Must be called within the runtime.
pub(crate) fn bind(address: IpAddr, port: u16) -> io::Result<TcpListener> {
    let socket = if address.is_ipv4() { TcpSocket::new_v4() } else { TcpSocket::new_v6() }?;
    // On other systems this would let a second server take the port from the first.
    #[cfg(unix)]
    socket.set_reuseaddr(true)?;
    // Accepted connections inherit it.
    socket.set_send_buffer_size(SEND_BUFFER)?;
    socket.bind(SocketAddr::new(address, port))?;
    socket.listen(BACKLOG)
}

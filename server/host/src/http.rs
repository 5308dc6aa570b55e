//! The HTTP side: health, the pages (`pages.rs`), and the way into the WebSocket.

use std::io;
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;

use axum::extract::{ConnectInfo, Request, State};
use axum::http::uri::PathAndQuery;
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use axum::{Extension, Router, middleware};
use hyper::body::Incoming;
use hyper::service::{Service as _, service_fn};
use hyper::upgrade::{OnUpgrade, Upgraded};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use myonym_wire::JoinLink;
use myonym_wire::limits::HELLO_MS;
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::{TcpListener, TcpSocket, TcpStream};
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tokio::time;
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::protocol::Role;
use tracing::{debug, info, warn};

use crate::connection;
use crate::gate::Gate;
use crate::handshake;
use crate::metered::Metered;
use crate::metrics::{self, COUNTS, Limit};
use crate::oplog;
use crate::pages;
use crate::pipe::Pipe;
use crate::proxy::{Caller, Site};
use crate::reach::Reach;
use crate::stream::Stream;
use crate::tls::{Opened, Tls};

/// Connections at once through one door, whoever they are, unless an option says otherwise.
pub(crate) const CONNECTIONS: u16 = 20_000;
/// Connections beyond them that are told so at once; those beyond these are dropped.
const TOLD: usize = 64;
/// What they are told (RFC 9110 section 15.6.4).
const FULL: &[u8] = b"HTTP/1.1 503 Service Unavailable\r\nRetry-After: 5\r\nConnection: close\r\n\
    Content-Type: text/plain\r\nContent-Length: 41\r\n\r\nno more connections just now; come back\r\n";
/// Time for one who is told to have read it.
const TELLING: Duration = Duration::from_secs(1);
/// Time for the last connections to end once their rooms are closed.
const GOODBYES: Duration = Duration::from_secs(2);
/// What the system may hold of one connection's output, in bytes (some systems double it). Left to
/// itself it grows to megabytes, and a student who stopped reading would be noticed that much later.
const SEND_BUFFER: u32 = 32 * 1024;
/// Connections that may wait to be accepted: a large class that comes back at once.
const BACKLOG: u32 = 1_024;

/// The connections of a server that takes no more.
#[derive(Debug)]
pub(crate) struct Connections {
    room: Arc<Semaphore>,
    most: u16,
}

impl Connections {
    /// Waits until all have ended, for a moment at most: a program that ends before its last
    /// messages are sent takes them with it.
    pub(crate) async fn ended(self) {
        let _ = time::timeout(GOODBYES, self.room.acquire_many(self.most.into())).await;
    }
}

/// A way into the server.
#[derive(Debug)]
pub(crate) struct Door {
    /// Where connections come in.
    pub(crate) listener: TcpListener,
    /// What shakes hands, where TLS is spoken.
    pub(crate) tls: Option<Arc<Tls>>,
    /// How it looks from outside.
    pub(crate) site: Site,
    /// Connections at once.
    pub(crate) most: u16,
}

/// What an open connection holds as long as it lasts, whoever carries it.
struct Permit {
    _place: OwnedSemaphorePermit,
    _open: metrics::Open,
}

/// What every connection of a door needs.
#[derive(Clone)]
struct Hall {
    app: Router,
    tls: Option<Arc<Tls>>,
    site: Arc<Site>,
    gate: Arc<Gate>,
    /// Room for those who are told that there is none.
    porch: Arc<Semaphore>,
}

/// Accepts connections until `shutdown` ends. The caller owns the door and the signal.
pub(crate) async fn run(
    door: Door,
    gate: Arc<Gate>,
    shutdown: impl Future<Output = ()>,
) -> Connections {
    let Door { listener, tls, site, most } = door;
    let porch = Arc::new(Semaphore::new(TOLD));
    let site = Arc::new(site);
    let hall = Hall { app: router(gate.clone(), site.clone()), tls, site, gate, porch };
    let room = Arc::new(Semaphore::new(most.into()));
    tokio::pin!(shutdown);
    loop {
        let accepted = tokio::select! {
            accepted = listener.accept() => accepted,
            () = &mut shutdown => return Connections { room, most },
        };
        match accepted {
            Ok((stream, peer)) => accept(stream, peer, &hall, &room),
            Err(fault) => {
                // Out of descriptors, say: those in use are not harmed by waiting a little.
                warn!(%fault, "cannot accept a connection just now");
                time::sleep(Duration::from_millis(50)).await;
            }
        }
    }
}

fn accept(stream: TcpStream, peer: SocketAddr, hall: &Hall, room: &Arc<Semaphore>) {
    let Ok(place) = room.clone().try_acquire_owned() else {
        oplog::reached(Limit::Connections, peer.ip());
        return turn_away(stream, hall);
    };
    let permit = Arc::new(Permit { _place: place, _open: metrics::Open::new() });
    if stream.set_nodelay(true).is_err() {
        return;
    }
    let hall = hall.clone();
    tokio::spawn(async move {
        // In boxes: a connection that is in a room holds no place for what came before.
        match hall.tls.clone() {
            None => match Box::pin(hall.look(&stream, peer)).await {
                First::Nothing => {}
                First::Opens(accept, caller) => {
                    let pipe = Pipe::with(Stream::Plain(stream), handshake::opened(accept));
                    let reach = hall.site.reach(&caller);
                    Box::pin(serve(pipe, Vec::new(), caller.address, reach, &hall.gate)).await;
                }
                First::Other => {
                    let stream = Stream::Plain(stream);
                    Box::pin(converse(stream, peer, hall.app, permit.clone())).await;
                }
            },
            Some(tls) => Box::pin(converse_by_tls(tls, stream, peer, hall, permit.clone())).await,
        }
        drop(permit);
    });
}

/// What comes first on a connection in the clear.
enum First {
    /// Nothing, within the time for it.
    Nothing,
    /// A good handshake, which is taken: its accept key, and who asks.
    Opens(HeaderValue, Caller),
    /// Anything else, which is still there.
    Other,
}

impl Hall {
    async fn look(&self, stream: &TcpStream, peer: SocketAddr) -> First {
        let time = Duration::from_millis(HELLO_MS);
        let Ok(looked) = time::timeout(time, handshake::Request::look(stream)).await else {
            oplog::reached(Limit::Request, peer.ip());
            return First::Nothing;
        };
        let Some(request) = looked else { return First::Other };
        let caller = self.site.caller(peer.ip(), &request.headers);
        match handshake::check(&request.headers, |origin| self.site.is_own(origin, &caller)) {
            Ok(accept) if request.take(stream) => First::Opens(accept, caller),
            Ok(_) | Err(_) => First::Other,
        }
    }
}

/// The same where TLS is spoken, which costs so much that no short way is worth it.
async fn converse_by_tls(
    tls: Arc<Tls>,
    stream: TcpStream,
    peer: SocketAddr,
    hall: Hall,
    permit: Arc<Permit>,
) {
    tls.look(hall.gate.reviews.clock().now());
    match time::timeout(Duration::from_millis(HELLO_MS), tls.open(stream)).await {
        Ok(Ok(Opened::Secure(stream))) => converse(stream, peer, hall.app, permit).await,
        Ok(Ok(Opened::InTheClear(stream))) => {
            COUNTS.in_the_clear.one();
            converse(stream, peer, Router::new().fallback(ask_for_tls), permit).await;
        }
        Ok(Err(fault)) => {
            COUNTS.tls_failed.one();
            let from = oplog::network(peer.ip());
            info!(%from, %fault, "no TLS came about");
        }
        Err(_elapsed) => oplog::reached(Limit::TlsHandshake, peer.ip()),
    }
}

/// Over the limit a connection costs next to nothing: it is told so and let go, or let go.
fn turn_away(mut stream: TcpStream, hall: &Hall) {
    let Ok(place) = hall.porch.clone().try_acquire_owned() else { return };
    if hall.tls.is_some() {
        return;
    }
    tokio::spawn(async move {
        let told = async {
            stream.write_all(FULL).await?;
            stream.shutdown().await?;
            // What was asked is read, or the reset would take the answer with it.
            while stream.read(&mut [0; 1_024]).await? > 0 {}
            io::Result::Ok(())
        };
        let _ = time::timeout(TELLING, told).await;
        drop(place);
    });
}

/// Speaks HTTP on a connection until it ends or is taken over.
async fn converse(stream: Stream, peer: SocketAddr, app: Router, permit: Arc<Permit>) {
    // Not as layers: these would make the whole router anew for each connection.
    let app = TowerToHyperService::new(app);
    let service = service_fn(move |mut request: hyper::Request<Incoming>| {
        let extensions = request.extensions_mut();
        extensions.insert(ConnectInfo(peer));
        extensions.insert(permit.clone());
        app.call(request)
    });
    let served = hyper::server::conn::http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(Duration::from_millis(HELLO_MS))
        .max_headers(64)
        .max_buf_size(16 * 1024)
        .keep_alive(true)
        .serve_connection(TokioIo::new(stream), service)
        .with_upgrades()
        .await;
    if let Err(fault) = served {
        if fault.is_timeout() {
            oplog::reached(Limit::Request, peer.ip());
        }
        debug!(%fault, "connection ended");
    }
}

fn router(gate: Arc<Gate>, site: Arc<Site>) -> Router {
    Router::new()
        .route("/healthz", get(health))
        .route("/metrics", get(counts))
        .route(myonym_wire::PATH, get(live))
        .merge(pages::routes())
        .layer(middleware::map_request_with_state(site, introduce))
        .with_state(gate)
}

/// Says who asks: from here on the address is that of the caller, whoever brought the request.
async fn introduce(State(site): State<Arc<Site>>, mut request: Request) -> Request {
    if let Some(ConnectInfo(peer)) = request.extensions().get::<ConnectInfo<SocketAddr>>().copied()
    {
        let caller = site.caller(peer.ip(), request.headers());
        let address = SocketAddr::new(caller.address, peer.port());
        let extensions = request.extensions_mut();
        extensions.insert(ConnectInfo(address));
        extensions.insert(caller);
    }
    request.extensions_mut().insert(site);
    request
}

/// The answer to HTTP in the clear where TLS is spoken: the same address with `https`. Not for
/// ever, as another day the server may run without.
async fn ask_for_tls(request: Request) -> Response {
    let host = request.headers().get(header::HOST).and_then(|host| host.to_str().ok());
    let link = host.and_then(|host| host.parse::<JoinLink>().ok());
    let close = (header::CONNECTION, HeaderValue::from_static("close"));
    let Some(JoinLink { address, .. }) = link else {
        return (StatusCode::BAD_REQUEST, [close], TLS_HERE).into_response();
    };
    let path = request.uri().path_and_query().map_or("/", PathAndQuery::as_str);
    match HeaderValue::try_from(format!("https://{address}{path}")) {
        Ok(link) => {
            let headers = [close, (header::LOCATION, link)];
            (StatusCode::TEMPORARY_REDIRECT, headers, TLS_HERE).into_response()
        }
        Err(_) => (StatusCode::BAD_REQUEST, [close], TLS_HERE).into_response(),
    }
}

const TLS_HERE: &str = "TLS is spoken here: use the link that begins with https://\n";

async fn health(State(gate): State<Arc<Gate>>) -> String {
    format!("ok\nreviews {}\n", gate.reviews.count())
}

/// What is counted, for callers of this machine, or for all if that was asked for.
async fn counts(
    State(gate): State<Arc<Gate>>,
    Extension(caller): Extension<Caller>,
    headers: HeaderMap,
) -> Response {
    if gate.shows_counts || caller.is_here(&headers) {
        let headers = [(header::CONTENT_TYPE, HeaderValue::from_static(metrics::CONTENT_TYPE))];
        (headers, metrics::page(gate.reviews.waiting())).into_response()
    } else {
        StatusCode::NOT_FOUND.into_response()
    }
}

/// Checks the handshake (RFC 6455 section 4.2) and hands the connection over.
async fn live(
    State(gate): State<Arc<Gate>>,
    Extension(caller): Extension<Caller>,
    Extension(site): Extension<Arc<Site>>,
    Extension(permit): Extension<Arc<Permit>>,
    mut request: Request,
) -> Response {
    // What answers GET is asked for HEAD as well; section 4.2.1 knows GET alone.
    if request.method() != Method::GET {
        return (StatusCode::METHOD_NOT_ALLOWED, [(header::ALLOW, "GET")]).into_response();
    }
    let accept = match handshake::check(request.headers(), |origin| site.is_own(origin, &caller)) {
        Ok(accept) => accept,
        Err(refused) => {
            COUNTS.handshakes_refused.one(refused.status.as_u16());
            let (from, status) = (oplog::network(caller.address), refused.status.as_u16());
            info!(%from, status, why = refused.why, "handshake refused");
            return refused.into_response();
        }
    };
    let Some(upgrade) = request.extensions_mut().remove::<OnUpgrade>() else {
        return (StatusCode::BAD_REQUEST, "this connection cannot be upgraded").into_response();
    };
    tokio::spawn(async move {
        match upgrade.await {
            Ok(upgraded) => {
                let Some((pipe, early)) = taken_back(upgraded) else { return };
                let reach = site.reach(&caller);
                Box::pin(serve(pipe, early, caller.address, reach, &gate)).await;
            }
            Err(fault) => debug!(%fault, "upgrade failed"),
        }
        drop(permit);
    });
    handshake::opening(accept)
}

/// Takes the stream back out of the HTTP library, so that nothing stands in between, and what came
/// already.
fn taken_back(upgraded: Upgraded) -> Option<(Pipe<Stream>, Vec<u8>)> {
    let Ok(parts) = upgraded.downcast::<TokioIo<Stream>>() else {
        debug!("a connection is not of the kind that was accepted");
        return None;
    };
    // A copy: the HTTP library's whole buffer, of 8 KiB, would be kept as long as the connection.
    Some((Pipe::new(parts.io.into_inner()), parts.read_buf.to_vec()))
}

async fn serve(
    pipe: Pipe<Stream>,
    early: Vec<u8>,
    address: IpAddr,
    reach: Option<Reach>,
    gate: &Gate,
) {
    let (stream, config) = (Metered::new(pipe), Some(connection::socket_config()));
    let socket = WebSocketStream::from_partially_read(stream, early, Role::Server, config).await;
    connection::serve(socket, address, reach, gate).await;
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

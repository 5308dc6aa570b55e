//! One connection from its first byte to its last.

use std::io::ErrorKind;
use std::time::Duration;

use futures_util::{SinkExt as _, StreamExt as _};
use myonym_wire::limits::{self, close};
use myonym_wire::{Hello, JoinLink, SUBPROTOCOL};
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::TcpStream;
use tokio::sync::mpsc;
use tokio::time::{interval, timeout};
use tokio_tungstenite::tungstenite::http::{self, Uri};
use tokio_tungstenite::tungstenite::protocol::frame::coding::CloseCode;
use tokio_tungstenite::tungstenite::protocol::{CloseFrame, WebSocketConfig};
use tokio_tungstenite::tungstenite::{ClientRequestBuilder, Error, Message};
use tokio_tungstenite::{WebSocketStream, client_async_with_config};

use super::role::Sort;
use super::tls::Guard;
use super::{Closed, News, Order, Role};
use crate::text;

/// How a connection ended.
#[derive(Debug)]
pub(super) enum End {
    /// The program wanted it.
    Stopped,
    /// For good.
    Closed(Closed),
    /// To be tried again.
    Lost { why: String, welcomed: bool },
}

/// Why no connection came about.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Miss {
    /// It may work later.
    Lost(String),
    /// It will not work later either.
    Unusable(String),
    /// The server's certificate is not to be trusted.
    Untrusted {
        /// Why, as a fragment.
        what: String,
        /// What to do, as sentences.
        todo: &'static str,
    },
}

/// What a connection is carried by, in the clear or encrypted.
pub(super) trait Carrier: AsyncRead + AsyncWrite + Unpin + Send {}

impl<S: AsyncRead + AsyncWrite + Unpin + Send> Carrier for S {}

/// Opens the socket and does the WebSocket handshake, within [`limits::HELLO_MS`].
pub(super) async fn open(
    link: &JoinLink,
    guard: &Guard,
) -> Result<WebSocketStream<Box<dyn Carrier>>, Miss> {
    if guard.insists() && !link.secure {
        return Err(Miss::Unusable(IN_THE_CLEAR.to_owned()));
    }
    let shaking = async {
        let stream = carrier(link, guard).await?;
        let uri: Uri = link
            .socket_url()
            .parse()
            .map_err(|fault| miss(&Error::from(http::Error::from(fault))))?;
        let request = ClientRequestBuilder::new(uri).with_sub_protocol(SUBPROTOCOL);
        let opened = client_async_with_config(request, stream, Some(config())).await;
        opened.map(|(socket, _)| socket).map_err(|error| miss(&error))
    };
    let opened = timeout(Duration::from_millis(limits::HELLO_MS), shaking).await;
    opened.unwrap_or_else(|_elapsed| Err(Miss::Lost("no answer in time".to_owned())))
}

async fn carrier(link: &JoinLink, guard: &Guard) -> Result<Box<dyn Carrier>, Miss> {
    let lost = |fault: &std::io::Error| Miss::Lost(of_io(fault));
    let place = host_and_port(&link.address, link.secure);
    let stream = TcpStream::connect(place).await.map_err(|fault| lost(&fault))?;
    stream.set_nodelay(true).map_err(|fault| lost(&fault))?;
    if link.secure {
        return Ok(Box::new(guard.secure(stream, &link.address).await?));
    }
    Ok(Box::new(stream))
}

/// Says hello and carries messages both ways until the end.
pub(super) async fn talk<R: Role, S: AsyncRead + AsyncWrite + Unpin>(
    socket: WebSocketStream<S>,
    hello: &mut Hello,
    orders: &mut mpsc::Receiver<Order<R::Said>>,
    news: &mpsc::Sender<News<R::Heard>>,
) -> End {
    let mut talk = Talk { socket, standing: Standing::default() };
    if let Err(why) = talk.send(myonym_wire::encode(&*hello)).await {
        return End::Lost { why, welcomed: false };
    }
    let mut silence = interval(Duration::from_millis(limits::SILENCE_MS));
    silence.reset();
    loop {
        let step = tokio::select! {
            frame = talk.socket.next() => {
                silence.reset();
                talk.frame::<R>(frame, hello, news).await
            }
            order = orders.recv() => talk.order(order).await,
            _ = silence.tick() => Step::End(talk.standing.lost("nothing heard for too long")),
        };
        if let Step::End(end) = step {
            talk.finish(&end).await;
            return end;
        }
    }
}

/// Whether to go on.
enum Step {
    On,
    End(End),
}

struct Talk<S> {
    socket: WebSocketStream<S>,
    standing: Standing,
}

/// How far the talk has come; decides what an end means.
#[derive(Debug, Clone, Copy, Default)]
struct Standing {
    /// Whether the hello was taken.
    welcomed: bool,
    /// Whether the server has said its last word.
    last: bool,
}

impl Standing {
    fn lost(self, why: &str) -> End {
        if self.last {
            End::Closed(Closed::Over)
        } else {
            End::Lost { why: why.to_owned(), welcomed: self.welcomed }
        }
    }

    /// What a close frame means, see [`limits::close`].
    fn closed(self, frame: Option<CloseFrame>) -> End {
        let Some(frame) = frame else { return self.lost("the server closed the connection") };
        match u16::from(frame.code) {
            close::NORMAL => End::Closed(Closed::Over),
            _ if self.last => End::Closed(Closed::Over),
            close::SEAT_TAKEN => End::Closed(Closed::SeatTaken),
            close::POLICY => End::Closed(Closed::Policy(text::clean(&frame.reason))),
            close::AWAY => self.lost("the server went away"),
            close::TOO_SLOW => self.lost("this connection was too slow"),
            code => self.lost(&format!("the server closed with code {code}")),
        }
    }
}

impl<S: AsyncRead + AsyncWrite + Unpin> Talk<S> {
    async fn frame<R: Role>(
        &mut self,
        frame: Option<Result<Message, Error>>,
        hello: &mut Hello,
        news: &mpsc::Sender<News<R::Heard>>,
    ) -> Step {
        match frame {
            Some(Ok(Message::Text(text))) => self.message::<R>(&text, hello, news).await,
            Some(Ok(Message::Close(frame))) => Step::End(self.standing.closed(frame)),
            // The library answers pings; any frame at all has ended the silence.
            Some(Ok(
                Message::Ping(_) | Message::Pong(_) | Message::Binary(_) | Message::Frame(_),
            )) => Step::On,
            Some(Err(error)) => Step::End(self.standing.lost(&in_words(&error))),
            None => Step::End(self.standing.lost("the server closed the connection")),
        }
    }

    async fn message<R: Role>(
        &mut self,
        text: &str,
        hello: &mut Hello,
        news: &mpsc::Sender<News<R::Heard>>,
    ) -> Step {
        let heard: R::Heard = match read(text) {
            Ok(heard) => heard,
            Err(error) => {
                tracing::warn!(%error, "a message was not understood");
                return Step::On;
            }
        };
        match R::sort(&heard, hello) {
            Sort::Welcome => self.standing.welcomed = true,
            Sort::WelcomeToTheEnd => self.standing = Standing { welcomed: true, last: true },
            Sort::Last => self.standing.last = true,
            Sort::Refusal(code, message) if !self.standing.welcomed => {
                return Step::End(End::Closed(Closed::Refused { code, message }));
            }
            Sort::Refusal(..) | Sort::Other => {}
        }
        if news.send(News::Heard(heard)).await.is_err() {
            return Step::End(End::Stopped);
        }
        Step::On
    }

    async fn order<M: serde::Serialize>(&mut self, order: Option<Order<M>>) -> Step {
        match order {
            // What was said before the seat was taken (again) is said anew by the program.
            Some(Order::Say(_)) if !self.standing.welcomed => Step::On,
            Some(Order::Say(message)) => match self.send(myonym_wire::encode(&message)).await {
                Ok(()) => Step::On,
                Err(why) => Step::End(self.standing.lost(&why)),
            },
            Some(Order::Stop) | None => Step::End(End::Stopped),
        }
    }

    async fn send(&mut self, message: String) -> Result<(), String> {
        match timeout(WRITE_WAIT, self.socket.send(Message::text(message))).await {
            Ok(sent) => sent.map_err(|error| in_words(&error)),
            Err(_) => Err("the server takes no more messages".to_owned()),
        }
    }

    /// Takes leave: a close frame of our own where we end it, then reads for a moment, because
    /// closing with unread bytes could take back what was sent last.
    async fn finish(&mut self, end: &End) {
        let ours = matches!(end, End::Stopped | End::Closed(Closed::Refused { .. }));
        let leave = async {
            if ours {
                let frame = CloseFrame { code: CloseCode::Normal, reason: "".into() };
                self.socket.close(Some(frame)).await.ok();
            }
            if !matches!(end, End::Lost { .. }) {
                while let Some(Ok(_)) = self.socket.next().await {}
            }
        };
        if timeout(LEAVE_WAIT, leave).await.is_err() {
            tracing::debug!("the server did not close in time");
        }
    }
}

/// A message with all its text cleaned.
fn read<T: serde::de::DeserializeOwned>(text: &str) -> serde_json::Result<T> {
    let mut value = serde_json::from_str(text)?;
    text::clean_json(&mut value);
    serde_json::from_value(value)
}

#[expect(clippy::wildcard_enum_match_arm, reason = "any other fault is a fault of the network")]
fn miss(error: &Error) -> Miss {
    match error {
        Error::Http(response) if response.status().is_server_error() => {
            Miss::Lost(format!("the server is busy ({})", response.status().as_u16()))
        }
        Error::Http(response) if is_sent_to_tls(response) => Miss::Unusable(ONLY_TLS.to_owned()),
        Error::Http(response) => {
            Miss::Unusable(format!("{NOT_OURS} (HTTP status {})", response.status().as_u16()))
        }
        Error::Protocol(_) => Miss::Unusable(NOT_OURS.to_owned()),
        Error::HttpFormat(_) | Error::Url(_) => Miss::Unusable(NO_ADDRESS.to_owned()),
        other => Miss::Lost(in_words(other)),
    }
}

/// What happened, for people who know no sockets; the system's own words where we have no better.
#[expect(clippy::wildcard_enum_match_arm, reason = "only the common faults have words of ours")]
fn in_words(error: &Error) -> String {
    match error {
        Error::Io(io) => of_io(io),
        Error::ConnectionClosed | Error::AlreadyClosed | Error::Protocol(_) => BROKE.to_owned(),
        other => text::clean(&other.to_string()),
    }
}

/// The same for what the system says.
#[expect(clippy::wildcard_enum_match_arm, reason = "only the common faults have words of ours")]
pub(super) fn of_io(io: &std::io::Error) -> String {
    let said = match io.kind() {
        ErrorKind::ConnectionRefused => "nothing answers there",
        ErrorKind::HostUnreachable | ErrorKind::NetworkUnreachable | ErrorKind::NetworkDown => {
            "the network does not reach it"
        }
        ErrorKind::TimedOut => "no answer in time",
        ErrorKind::ConnectionReset
        | ErrorKind::ConnectionAborted
        | ErrorKind::BrokenPipe
        | ErrorKind::UnexpectedEof => BROKE,
        // The standard library has no kind for it.
        _ if io.to_string().starts_with("failed to lookup") => "there is no such address",
        _ => return text::clean(&io.to_string()),
    };
    said.to_owned()
}

/// Whether an answer over HTTP says that the same is to be had by HTTPS.
fn is_sent_to_tls(response: &http::Response<Option<Vec<u8>>>) -> bool {
    let to = response.headers().get(http::header::LOCATION);
    let is_https = |to: &http::HeaderValue| to.as_bytes().starts_with(b"https://");
    response.status().is_redirection() && to.is_some_and(is_https)
}

/// The address with the port of HTTP or HTTPS where it names none.
fn host_and_port(address: &str, secure: bool) -> String {
    let behind_host = address.rsplit(']').next().unwrap_or(address);
    let usual = if secure { 443 } else { 80 };
    if behind_host.contains(':') { address.to_owned() } else { format!("{address}:{usual}") }
}

fn config() -> WebSocketConfig {
    WebSocketConfig::default()
        .read_buffer_size(4 * 1024)
        .write_buffer_size(0)
        .max_write_buffer_size(256 * 1024)
        .max_message_size(Some(HEARD_BYTES))
        .max_frame_size(Some(HEARD_BYTES))
}

/// Largest message taken from a server. Clients are held to [`limits::MESSAGE_BYTES`], but the
/// roll of a large class or the summary of a long review is longer: 20,000 lines are some 2.5 MiB.
const HEARD_BYTES: usize = 4 * 1024 * 1024;
const WRITE_WAIT: Duration = Duration::from_secs(5);
const LEAVE_WAIT: Duration = Duration::from_secs(1);
const NOT_OURS: &str = "something answers at this address, but not a review server";
const BROKE: &str = "the connection broke";
const ONLY_TLS: &str = "it is reached by the link that begins with https://";
const IN_THE_CLEAR: &str = "--certificate and --fingerprint need an encrypted connection; use the link that begins with https://";
pub(super) const NO_ADDRESS: &str = "this is not an address that can be called";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_missing_port_is_that_of_http_or_https() {
        let check = |address: &str, secure: bool, want: &str| {
            assert_eq!(host_and_port(address, secure), want);
        };
        check("192.0.2.7:7645", false, "192.0.2.7:7645");
        check("lab.example", false, "lab.example:80");
        check("lab.example", true, "lab.example:443");
        check("lab.example:7645", true, "lab.example:7645");
        check("[2001:db8::7]", false, "[2001:db8::7]:80");
        check("[2001:db8::7]:7645", false, "[2001:db8::7]:7645");
    }

    #[test]
    fn faults_of_the_network_are_told_in_plain_words() {
        let check = |fault: std::io::Error, want: &str| {
            assert_eq!(in_words(&Error::Io(fault)), want);
        };
        check(ErrorKind::ConnectionRefused.into(), "nothing answers there");
        check(ErrorKind::NetworkUnreachable.into(), "the network does not reach it");
        check(ErrorKind::BrokenPipe.into(), BROKE);
        check(std::io::Error::other("something\u{1b}[2J else"), "something [2J else");
        let lookup = "failed to lookup address information: Name or service not known";
        check(std::io::Error::other(lookup), "there is no such address");
        assert_eq!(in_words(&Error::ConnectionClosed), BROKE);
    }

    #[test]
    fn close_codes_end_or_retry() {
        let check = |code: u16, last: bool, want: Option<Closed>| {
            let frame = CloseFrame { code: CloseCode::from(code), reason: "r".into() };
            let end = Standing { welcomed: true, last }.closed(Some(frame));
            let got = if let End::Closed(closed) = end { Some(closed) } else { None };
            assert_eq!(got, want, "{code} {last}");
        };
        check(close::NORMAL, false, Some(Closed::Over));
        check(close::AWAY, false, None);
        check(close::AWAY, true, Some(Closed::Over));
        check(close::POLICY, false, Some(Closed::Policy("r".to_owned())));
        check(close::POLICY, true, Some(Closed::Over));
        check(close::SEAT_TAKEN, false, Some(Closed::SeatTaken));
        check(close::TOO_SLOW, false, None);
        check(close::INTERNAL, false, None);
        check(close::TOO_BIG, false, None);
    }
}

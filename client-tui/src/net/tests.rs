//! The connection against a server of a few lines, over a real socket on the loopback.

#![expect(clippy::wildcard_enum_match_arm, reason = "a test names only what it is about")]

use std::time::Duration;

use futures_util::{SinkExt as _, StreamExt as _};
use myonym_wire::limits::close;
use myonym_wire::*;
use serde::de::DeserializeOwned;
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::{TcpListener, TcpStream};
use tokio_tungstenite::tungstenite::Message;
use tokio_tungstenite::tungstenite::handshake::server::{Request, Response};
use tokio_tungstenite::tungstenite::protocol::frame::coding::CloseCode;
use tokio_tungstenite::tungstenite::protocol::{CloseFrame, Role as Side};
use tokio_tungstenite::{WebSocketStream, accept_hdr_async};

use super::*;
use crate::samples;

/// A server that does what the test says.
pub(crate) struct Server(TcpListener);

impl Server {
    pub(crate) async fn start() -> Self {
        Self(TcpListener::bind("127.0.0.1:0").await.unwrap())
    }

    pub(crate) fn link(&self) -> JoinLink {
        let address = self.0.local_addr().unwrap().to_string();
        JoinLink { address, secure: false, word: Some(samples::review().word) }
    }

    pub(crate) async fn accept(&self) -> Peer {
        #[expect(
            clippy::unnecessary_wraps,
            clippy::result_large_err,
            reason = "the library's signature"
        )]
        fn shake(
            request: &Request,
            mut response: Response,
        ) -> Result<Response, tokio_tungstenite::tungstenite::handshake::server::ErrorResponse>
        {
            assert_eq!(request.uri().path(), PATH);
            let offered = request.headers()["sec-websocket-protocol"].clone();
            assert_eq!(offered, SUBPROTOCOL);
            response.headers_mut().insert("sec-websocket-protocol", offered);
            Ok(response)
        }
        let (stream, _) = self.0.accept().await.unwrap();
        Peer(accept_hdr_async(stream, shake).await.unwrap())
    }
}

/// The server's end of one connection. Dropping it cuts the connection without a word.
pub(crate) struct Peer(WebSocketStream<TcpStream>);

impl Peer {
    /// The next message.
    pub(crate) async fn hear<T: DeserializeOwned>(&mut self) -> T {
        loop {
            match self.0.next().await.expect("a message").expect("a frame") {
                Message::Text(text) => return decode(&text).unwrap(),
                Message::Ping(_) | Message::Pong(_) => {}
                other => panic!("not a message: {other:?}"),
            }
        }
    }

    pub(crate) async fn say<T: serde::Serialize>(&mut self, message: &T) {
        self.0.send(Message::text(encode(message))).await.unwrap();
    }

    async fn close(&mut self, code: u16) {
        let frame = CloseFrame { code: CloseCode::from(code), reason: "so it is".into() };
        self.0.close(Some(frame)).await.unwrap();
    }

    /// Waits until the other end has closed; says with which code.
    pub(crate) async fn closed(&mut self) -> Option<u16> {
        loop {
            match self.0.next().await {
                Some(Ok(Message::Close(frame))) => return frame.map(|frame| frame.code.into()),
                Some(Ok(_)) => {}
                Some(Err(_)) | None => return None,
            }
        }
    }
}

/// A guard against hanging, not a measurement.
pub(crate) async fn in_time<T>(work: impl Future<Output = T>) -> T {
    tokio::time::timeout(Duration::from_secs(30), Box::pin(work)).await.expect("nothing hangs")
}

fn student(server: &Server) -> Connection<Student> {
    let hello = samples::join("Ana", false);
    Connection::open(Call { link: server.link(), hello }, Arc::default(), || 0)
}

async fn expect(line: &mut Connection<Student>, want: News<ToStudent>) {
    assert_eq!(line.news().await, Some(want));
}

async fn expect_lost<R: Role>(line: &mut Connection<R>) {
    let news = line.news().await;
    assert!(matches!(news, Some(News::Lost { retry_ms: 0, .. })), "{news:?}");
}

fn welcome(seat: Option<SeatToken>) -> ToStudent {
    samples::seated(seat, Moment::Gathering {})
}

#[tokio::test]
async fn a_student_who_is_cut_off_returns_to_the_same_seat() {
    in_time(async {
        let server = Server::start().await;
        let mut line = student(&server);
        let mut peer = server.accept().await;
        assert!(matches!(peer.hear::<Hello>().await, Hello::Join { .. }));
        let seat = SeatToken::from_bits(9);
        peer.say(&welcome(Some(seat.clone()))).await;
        expect(&mut line, News::Trying).await;
        expect(&mut line, News::Heard(welcome(Some(seat.clone())))).await;
        for _ in 0..2 {
            drop(peer);
            expect_lost(&mut line).await;
            expect(&mut line, News::Trying).await;
            peer = server.accept().await;
            let hello = Hello::Return { word: samples::review().word, seat: seat.clone() };
            assert_eq!(peer.hear::<Hello>().await, hello);
            // The token is told only once.
            peer.say(&welcome(None)).await;
            expect(&mut line, News::Heard(welcome(None))).await;
        }
        line.say(FromStudent::Leave {});
        tokio::join!(line.stop(), async {
            assert_eq!(peer.hear::<FromStudent>().await, FromStudent::Leave {});
            assert_eq!(peer.closed().await, Some(close::NORMAL));
        });
    })
    .await;
}

#[tokio::test]
async fn a_join_whose_answer_is_lost_is_sent_again_for_the_same_seat() {
    in_time(async {
        let server = Server::start().await;
        let mut line = student(&server);
        let mut peer = server.accept().await;
        let first = peer.hear::<Hello>().await;
        assert!(matches!(first, Hello::Join { seat: Some(_), .. }), "{first:?}");
        expect(&mut line, News::Trying).await;
        drop(peer);
        expect_lost(&mut line).await;
        let mut peer = server.accept().await;
        assert_eq!(peer.hear::<Hello>().await, first);
    })
    .await;
}

#[tokio::test]
async fn a_console_that_is_cut_off_conducts_what_it_opened() {
    in_time(async {
        let server = Server::start().await;
        let key = |bits| HostKey::from_bits(bits);
        let hello = Hello::Open {
            key: key(1),
            settings: ReviewSettings::default(),
            plan: None,
            own_list: None,
        };
        let mut line: Connection<Instructor> = Connection::open(
            Call { link: server.link(), hello: hello.clone() },
            Arc::default(),
            || 0,
        );
        let mut peer = server.accept().await;
        assert_eq!(peer.hear::<Hello>().await, hello);
        let mut message = samples::conducting(Moment::Gathering {});
        if let ToInstructor::Conducting { key: told, .. } = &mut message {
            *told = Some(key(2));
        }
        peer.say(&message).await;
        assert_eq!(line.news().await, Some(News::Trying));
        assert_eq!(line.news().await, Some(News::Heard(message)));
        drop(peer);
        let mut peer = server.accept().await;
        let want = Hello::Conduct { word: Some(samples::review().word), key: key(2) };
        assert_eq!(peer.hear::<Hello>().await, want);
    })
    .await;
}

#[tokio::test]
async fn what_is_said_before_the_welcome_is_dropped() {
    in_time(async {
        let server = Server::start().await;
        let mut line = student(&server);
        line.say(FromStudent::Leave {});
        let mut peer = server.accept().await;
        peer.hear::<Hello>().await;
        line.say(FromStudent::Leave {});
        peer.say(&welcome(None)).await;
        expect(&mut line, News::Trying).await;
        expect(&mut line, News::Heard(welcome(None))).await;
        let attempt = AttemptId(uuid::Uuid::from_u128(1));
        let answer = FromStudent::Answer {
            round: RoundNo(1),
            attempt,
            text: "deltoid".to_owned(),
            elapsed_ms: 5,
        };
        line.say(answer.clone());
        assert_eq!(peer.hear::<FromStudent>().await, answer);
    })
    .await;
}

#[tokio::test]
async fn some_ends_are_for_good() {
    let check = async |says: Option<ToStudent>, code: u16, want: Closed| {
        let server = Server::start().await;
        let mut line = student(&server);
        let mut peer = server.accept().await;
        peer.hear::<Hello>().await;
        expect(&mut line, News::Trying).await;
        peer.say(&welcome(None)).await;
        expect(&mut line, News::Heard(welcome(None))).await;
        if let Some(message) = says {
            peer.say(&message).await;
            expect(&mut line, News::Heard(message)).await;
        }
        peer.close(code).await;
        peer.closed().await;
        expect(&mut line, News::Closed(want)).await;
        assert_eq!(line.news().await, None);
    };
    let ended = ToStudent::Ended { seq: Seq(9), why: EndWhy::Finished };
    in_time(async {
        check(Some(ended.clone()), close::NORMAL, Closed::Over).await;
        // A server that stops right after the end need not be tried again.
        check(Some(ended), close::AWAY, Closed::Over).await;
        check(Some(ToStudent::Removed {}), close::POLICY, Closed::Over).await;
        check(None, close::NORMAL, Closed::Over).await;
        check(None, close::POLICY, Closed::Policy("so it is".to_owned())).await;
        check(None, close::SEAT_TAKEN, Closed::SeatTaken).await;
    })
    .await;
}

#[tokio::test]
async fn other_ends_are_tried_again() {
    in_time(async {
        for code in [close::AWAY, close::INTERNAL, close::TOO_SLOW] {
            let server = Server::start().await;
            let mut line = student(&server);
            let mut peer = server.accept().await;
            peer.say(&welcome(None)).await;
            peer.close(code).await;
            expect(&mut line, News::Trying).await;
            expect(&mut line, News::Heard(welcome(None))).await;
            expect_lost(&mut line).await;
            server.accept().await;
        }
    })
    .await;
}

#[tokio::test]
async fn a_refused_hello_is_not_tried_again() {
    in_time(async {
        let server = Server::start().await;
        let mut line = student(&server);
        let mut peer = server.accept().await;
        peer.hear::<Hello>().await;
        let (code, message) = (ErrorCode::NoSuchReview, "No review has this word.".to_owned());
        peer.say(&ToStudent::Error { code, message: message.clone() }).await;
        expect(&mut line, News::Trying).await;
        assert_eq!(peer.closed().await, Some(close::NORMAL));
        drop(peer);
        expect(&mut line, News::Closed(Closed::Refused { code, message })).await;
        assert_eq!(line.news().await, None);
    })
    .await;
}

#[tokio::test]
async fn a_later_refusal_is_only_a_message() {
    in_time(async {
        let server = Server::start().await;
        let mut line = student(&server);
        let mut peer = server.accept().await;
        let error = ToStudent::Error { code: ErrorCode::NotNow, message: "Not now.".to_owned() };
        peer.say(&welcome(None)).await;
        peer.say(&error).await;
        expect(&mut line, News::Trying).await;
        expect(&mut line, News::Heard(welcome(None))).await;
        expect(&mut line, News::Heard(error)).await;
    })
    .await;
}

#[tokio::test]
async fn what_is_not_understood_is_passed_over_and_text_is_cleaned() {
    in_time(async {
        let server = Server::start().await;
        let mut line = student(&server);
        let mut peer = server.accept().await;
        let clue = samples::clue("action", "\u{1b}[31mAbducts\u{202e} the arm.");
        let said = ToStudent::Clue { seq: Seq(1), round: RoundNo(1), number: 1, clue };
        for text in ["", "[1]", "{\"type\":\"class\"}"] {
            peer.0.send(Message::text(text)).await.unwrap();
        }
        peer.0.send(Message::binary(vec![1, 2])).await.unwrap();
        peer.say(&said).await;
        let clue = samples::clue("action", " [31mAbducts the arm.");
        let want = ToStudent::Clue { seq: Seq(1), round: RoundNo(1), number: 1, clue };
        expect(&mut line, News::Trying).await;
        expect(&mut line, News::Heard(want)).await;
    })
    .await;
}

#[tokio::test]
async fn what_is_not_a_review_server_is_told_apart_from_one_that_is_down() {
    let first = async |line: &mut Connection<Student>| {
        expect(line, News::Trying).await;
        line.news().await
    };
    in_time(async {
        for (status, busy) in [("404 Not Found", false), ("503 Service Unavailable", true)] {
            let server = Server::start().await;
            let mut line = student(&server);
            let (mut stream, _) = server.0.accept().await.unwrap();
            let mut head = [0; 2_048];
            assert!(stream.read(&mut head).await.unwrap() > 0);
            let answer = format!("HTTP/1.1 {status}\r\nContent-Length: 0\r\n\r\n");
            stream.write_all(answer.as_bytes()).await.unwrap();
            let news = first(&mut line).await;
            let lost = matches!(news, Some(News::Lost { .. }));
            let closed = matches!(news, Some(News::Closed(Closed::Unusable(_))));
            assert_eq!((lost, closed), (busy, !busy), "{status}: {news:?}");
        }
        // Redirected to TLS: RFC 9110 section 15.4.8.
        let server = Server::start().await;
        let mut line = student(&server);
        let (mut stream, _) = server.0.accept().await.unwrap();
        let to = "Location: https://lab.example/live\r\nContent-Length: 0\r\n\r\n";
        let answer = format!("HTTP/1.1 307 Temporary Redirect\r\n{to}");
        stream.write_all(answer.as_bytes()).await.unwrap();
        let Some(News::Closed(Closed::Unusable(why))) = first(&mut line).await else {
            panic!("not told apart")
        };
        assert!(why.contains("https://"), "{why}");
        let gone = Server::start().await;
        let place = gone.link();
        drop(gone);
        let hello = Hello::Return { word: samples::review().word, seat: SeatToken::from_bits(1) };
        let call = |link| Call { link, hello: hello.clone() };
        let mut down = Connection::open(call(place), Arc::default(), || 0);
        assert!(matches!(first(&mut down).await, Some(News::Lost { .. })));
    })
    .await;
}

#[tokio::test(start_paused = true)]
async fn silence_is_noticed_and_a_ping_breaks_it() {
    let (near, far) = tokio::io::duplex(4_096);
    let near = WebSocketStream::from_raw_socket(near, Side::Client, None).await;
    let mut far = WebSocketStream::from_raw_socket(far, Side::Server, None).await;
    let (_orders, mut orders_out) = mpsc::channel(4);
    let (news_in, _news) = mpsc::channel(4);
    let mut hello = Hello::Conduct { word: None, key: HostKey::from_bits(1) };
    let begun = tokio::time::Instant::now();
    let pings = async {
        for _ in 0..3 {
            tokio::time::sleep(Duration::from_millis(limits::PING_MS)).await;
            far.send(Message::Ping(Vec::new().into())).await.unwrap();
        }
        std::future::pending::<()>().await;
    };
    let end = tokio::select! {
        end = socket::talk::<Instructor, _>(near, &mut hello, &mut orders_out, &news_in) => end,
        () = pings => unreachable!("pings go on for ever"),
    };
    assert!(matches!(end, End::Lost { welcomed: false, .. }), "{end:?}");
    // The clock is the test's own: it jumps, so the length is exact.
    let want = Duration::from_millis(3 * limits::PING_MS + limits::SILENCE_MS);
    assert!(begun.elapsed() >= want && begun.elapsed() < want + Duration::from_secs(5));
}

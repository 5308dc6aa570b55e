//! Ways in for the fuzz targets of `tests/fuzz`. No other build has them.

use std::net::{IpAddr, Ipv4Addr};
use std::path::Path;
use std::sync::Arc;

use myonym_content::Catalogue;
use myonym_content::problem::SourceFile;
use myonym_engine::Review;
use myonym_wire::{ReviewSettings, SeatToken, Seq};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _, duplex};
use tokio::runtime::{self, Runtime};
use tokio_tungstenite::WebSocketStream;
use tokio_tungstenite::tungstenite::protocol::Role;

use crate::clock::Clock;
use crate::connection::{self, socket_config};
use crate::gate::Gate;
use crate::metered::Metered;
use crate::plan_file;
use crate::reach::Reach;
use crate::reviews::Reviews;
use crate::store::{Log as _, SqliteLog};

/// A host without a socket.
pub struct Host {
    runtime: Runtime,
    log: Arc<SqliteLog>,
    gate: Gate,
    hello: String,
}

impl Host {
    /// A host with one review, whose data file is in this folder.
    pub fn start(folder: &Path) -> Self {
        let runtime = runtime::Builder::new_current_thread().enable_all().build();
        let runtime = runtime.expect("a runtime");
        let _in = runtime.enter();
        let log = Arc::new(SqliteLog::open(folder).expect("a data file"));
        let reviews = Reviews::new(log.clone(), Clock::start(), Reach::default(), Vec::new(), true);
        let reviews = reviews.expect("reviews");
        let (room, _) = reviews.open(&ReviewSettings::default(), None).expect("a review");
        let seat = SeatToken::from_bits(7);
        let hello = format!(
            r#"{{"type":"join","word":"{}","name":"A","seat":"{}"}}"#,
            room.word,
            seat.reveal()
        );
        drop(_in);
        Self { runtime, log, gate: Gate::new(reviews), hello }
    }

    /// Hears these bytes as what a client sends after its handshake, and perhaps after it took its
    /// seat, before it ends TCP. The connection has to end by itself, with frames that are whole.
    pub fn hear(&self, bytes: &[u8], seated: bool) {
        self.runtime.block_on(async {
            let (mut ours, theirs) = duplex(1 << 20);
            let (theirs, config) = (Metered::new(theirs), Some(socket_config()));
            let socket = WebSocketStream::from_raw_socket(theirs, Role::Server, config).await;
            if seated {
                ours.write_all(&masked(&self.hello)).await.expect("room in the pipe");
            }
            ours.write_all(bytes).await.expect("room in the pipe");
            ours.shutdown().await.expect("an end");
            let peer = IpAddr::V4(Ipv4Addr::LOCALHOST);
            connection::serve(socket, peer, None, &self.gate).await;
            let mut said = Vec::new();
            ours.read_to_end(&mut said).await.expect("an end");
            whole(&said);
        });
    }

    /// Reads a review whose events have these texts, and says what is wrong with it or goes on with
    /// it.
    pub fn recover(&self, bodies: &[&str]) {
        let review = self.log.put(bodies);
        match self.log.read(review, Seq(0)) {
            Ok(events) => {
                assert_eq!(events.len(), bodies.len());
                let _ = Review::replay(&events);
            }
            Err(fault) => assert!(!fault.to_string().is_empty()),
        }
        let _in = self.runtime.enter();
        // As at a start: what was broken off is taken up, or left with a word in the log.
        let _ = self.gate.reviews.take_up(true);
        self.runtime.block_on(tokio::task::yield_now());
    }
}

/// Reads a text as a plan file: what is wrong is told with its place.
pub fn plan(text: &str) {
    let file = SourceFile { path: "plan.toml".to_owned(), text: text.to_owned() };
    let lines = file.text.lines().count() + 1;
    if let Err(problems) = plan_file::read(&file, Catalogue::bundled(), |_| Ok(None)) {
        assert!(!problems.is_empty());
        for problem in problems {
            assert!((1..=lines).contains(&problem.line) && problem.column >= 1, "{problem}");
        }
    }
}

fn masked(text: &str) -> Vec<u8> {
    let length = u8::try_from(text.len()).ok().filter(|length| *length < 126).expect("short");
    [&[0x81, 0x80 | length, 0, 0, 0, 0], text.as_bytes()].concat()
}

/// Every frame said is a server's: not masked, nothing reserved, and whole; a close is the last but
/// for pongs (RFC 6455 sections 5.1, 5.2, 5.5).
fn whole(mut said: &[u8]) {
    let mut is_over = false;
    while let [first, second, rest @ ..] = said {
        assert_eq!((first & 0xf0, second & 0x80), (0x80, 0), "{said:?}");
        let (length, rest) = match (second, rest) {
            (126, [high, low, rest @ ..]) => (usize::from(u16::from_be_bytes([*high, *low])), rest),
            (127, _) => panic!("more than 64 KiB"),
            (short, rest) => (usize::from(*short), rest),
        };
        assert!(rest.len() >= length, "cut short: {said:?}");
        assert!(!is_over || first & 0xf == 0xa, "after a close: {said:?}");
        is_over |= first & 0xf == 8;
        said = &rest[length..];
    }
    assert!(said.is_empty(), "cut short: {said:?}");
}

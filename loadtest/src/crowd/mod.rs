//! All connections of the clients on one thread: one `epoll`, frames read by hand, so that the
//! clients take as little as they can of the machine that they share with the server.

mod conn;

use std::io::{self, ErrorKind};
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;

use anyhow::Context;
use mio::{Events, Poll, Token, Waker};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt as _, SeedableRng as _};
use tokio_rustls::rustls::ClientConfig;

use conn::Conn;

const WAKE: Token = Token(0);
/// Tokens of connections begin here.
const FIRST: usize = 1;

/// What a connection has to tell.
#[derive(Debug)]
pub(crate) enum News<'a> {
    /// A message.
    Text(&'a str),
    /// It has ended, for this reason.
    Lost(String),
}

/// The connections, by a number that their owner chose.
#[derive(Debug)]
pub(crate) struct Crowd {
    address: SocketAddr,
    trust: Option<Arc<ClientConfig>>,
    poll: Poll,
    events: Events,
    waker: Arc<Waker>,
    conns: Vec<Option<Conn>>,
    buffer: Vec<u8>,
    /// Makes masks. They protect a network's proxies, and there are none here, so they come from a
    /// seed.
    random: ChaCha8Rng,
}

impl Crowd {
    /// Nobody yet. With `trust` connections speak TLS.
    pub(crate) fn new(
        address: SocketAddr,
        trust: Option<Arc<ClientConfig>>,
    ) -> anyhow::Result<Self> {
        let poll = Poll::new().context("cannot wait for sockets")?;
        let waker = Arc::new(Waker::new(poll.registry(), WAKE)?);
        let events = Events::with_capacity(1_024);
        let (conns, buffer) = (Vec::new(), vec![0; 64 * 1_024]);
        let random = ChaCha8Rng::seed_from_u64(0);
        Ok(Self { address, trust, poll, events, waker, conns, buffer, random })
    }

    /// Opens a connection that says `hello` once hands are shaken. It takes the place of the one
    /// that had this number.
    pub(crate) fn enter(&mut self, who: usize, hello: &str) -> anyhow::Result<()> {
        if self.conns.len() <= who {
            self.conns.resize_with(who + 1, || None);
        }
        let registry = self.poll.registry();
        let token = Token(who + FIRST);
        let conn = Conn::open(self.address, self.trust.clone(), registry, token, hello)
            .with_context(|| format!("cannot connect to {}", self.address))?;
        self.conns[who] = Some(conn);
        Ok(())
    }

    /// Ends a connection without a word.
    pub(crate) fn drop_out(&mut self, who: usize) {
        if let Some(place) = self.conns.get_mut(who) {
            *place = None;
        }
    }

    /// Sends a message; false if the connection is gone.
    pub(crate) fn say(&mut self, who: usize, text: &str) -> bool {
        let mask = self.random.random();
        let conn = self.conns.get_mut(who).and_then(Option::as_mut);
        conn.is_some_and(|conn| conn.say(text, mask).is_ok())
    }

    /// What ends a wait from another thread.
    pub(crate) fn waker(&self) -> Arc<Waker> {
        Arc::clone(&self.waker)
    }

    /// Waits for something to happen, and tells all that did.
    pub(crate) fn turn(
        &mut self,
        wait: Duration,
        tell: &mut dyn FnMut(usize, News<'_>),
    ) -> anyhow::Result<()> {
        match self.poll.poll(&mut self.events, Some(wait)) {
            Err(fault) if fault.kind() == ErrorKind::Interrupted => return Ok(()),
            done => done.context("cannot wait for sockets")?,
        }
        for event in &self.events {
            let Some(who) = event.token().0.checked_sub(FIRST) else { continue };
            let Some(conn) = self.conns.get_mut(who).and_then(Option::as_mut) else { continue };
            let mask = self.random.random();
            let mut hear = |text: &str| tell(who, News::Text(text));
            let done = conn.go_on(event, mask, &mut self.buffer, &mut hear);
            if let Err(fault) = done {
                self.conns[who] = None;
                tell(who, News::Lost(format!("{fault:#}")));
            }
        }
        Ok(())
    }
}

/// Whether a socket has no more for now; any other fault is one.
fn is_dry(fault: &io::Error) -> bool {
    matches!(fault.kind(), ErrorKind::WouldBlock | ErrorKind::NotConnected)
}

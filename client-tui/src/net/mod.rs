//! The connection: a task that opens the socket, says hello, carries messages both ways, notices
//! silence, and comes back by itself. It knows no screen and no rule of a review.
//!
//! Two bounded queues join it to the program: orders in, news out. What is said while no seat is
//! held is dropped here; the program says it again once it is seated, if it still matters.

mod role;
mod socket;
mod tls;

use std::sync::Arc;
use std::time::Duration;

use myonym_wire::{ErrorCode, Hello, JoinLink, SeatToken};
use rand::TryRng as _;
use rand::rngs::SysRng;
use tokio::sync::mpsc;
use tokio::task::JoinHandle;

pub(crate) use role::{Instructor, Role, Student};
pub(crate) use tls::Guard;

use crate::backoff;
use socket::{End, Miss};

/// Where to connect and what to say first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Call {
    /// The server.
    pub(crate) link: JoinLink,
    /// The first message; replaced by one that returns to the same place once that is known.
    pub(crate) hello: Hello,
}

/// What the connection tells the program.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum News<M> {
    /// A try to connect begins.
    Trying,
    /// A message came; its text is cleaned.
    Heard(M),
    /// The connection is gone and will be tried again by itself.
    Lost {
        /// What happened, as a fragment.
        why: String,
        /// Wait before the next try, in milliseconds.
        retry_ms: u64,
    },
    /// The connection is gone for good.
    Closed(Closed),
}

/// Why a connection is not tried again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Closed {
    /// The review is over, or the server has said its last word to this client.
    Over,
    /// The first message was refused.
    Refused {
        /// Why.
        code: ErrorCode,
        /// The same in a sentence.
        message: String,
    },
    /// The server closed for a breach of its rules; a reason may stand in it.
    Policy(String),
    /// The seat was taken from another terminal.
    SeatTaken,
    /// What answers at the address is not a server that this program can use.
    Unusable(String),
    /// The server's certificate is not to be trusted.
    Untrusted {
        /// Why, as a fragment.
        what: String,
        /// What to do, as sentences.
        todo: &'static str,
    },
}

/// A connection that runs in its own task.
#[derive(Debug)]
pub(crate) struct Connection<R: Role> {
    orders: mpsc::Sender<Order<R::Said>>,
    news: mpsc::Receiver<News<R::Heard>>,
    task: JoinHandle<()>,
}

impl<R: Role> Connection<R> {
    /// Starts to connect where the guard lets it. `jitter` draws evenly from all of `u32`, see
    /// [`backoff::wait`].
    pub(crate) fn open(call: Call, guard: Arc<Guard>, jitter: fn() -> u32) -> Self {
        let (orders, orders_out) = mpsc::channel(ORDERS);
        let (news_in, news) = mpsc::channel(NEWS);
        let task = tokio::spawn(keep_up::<R>(call, guard, jitter, orders_out, news_in));
        Self { orders, news, task }
    }

    /// Says a message if the connection stands; otherwise it is dropped.
    pub(crate) fn say(&self, message: R::Said) {
        if self.orders.try_send(Order::Say(message)).is_err() {
            tracing::debug!("a message was dropped: the connection is down or full");
        }
    }

    /// The next news; `None` once the connection has told that it is closed.
    pub(crate) async fn news(&mut self) -> Option<News<R::Heard>> {
        self.news.recv().await
    }

    /// Closes in good order, after what was said before.
    pub(crate) async fn stop(self) {
        let Self { orders, news, task } = self;
        // Nobody listens any more, so the task cannot wait for room in the queue.
        drop(news);
        let last = async {
            if orders.send(Order::Stop).await.is_ok() && task.await.is_err() {
                tracing::warn!("the connection task failed");
            }
        };
        if tokio::time::timeout(STOP_WAIT, last).await.is_err() {
            tracing::debug!("the server did not take its leave in time");
        }
    }
}

/// Jitter from the operating system's entropy.
pub(crate) fn os_jitter() -> u32 {
    SysRng.try_next_u32().unwrap_or(u32::MAX / 2)
}

/// Puts a token of our own making into a `join` or `gather`, so that one that is sent again, because the
/// connection was lost before its answer, takes the same seat and not a second one.
fn bring_a_seat(hello: &mut Hello) {
    let mut bits = [0; 16];
    if let Hello::Join { seat: seat @ None, .. } | Hello::Gather { seat: seat @ None, .. } = hello
        && SysRng.try_fill_bytes(&mut bits).is_ok()
    {
        *seat = Some(SeatToken::from_bits(u128::from_le_bytes(bits)));
    }
}

/// What the program asks of the connection.
#[derive(Debug)]
enum Order<M> {
    Say(M),
    Stop,
}

async fn keep_up<R: Role>(
    mut call: Call,
    guard: Arc<Guard>,
    jitter: fn() -> u32,
    mut orders: mpsc::Receiver<Order<R::Said>>,
    news: mpsc::Sender<News<R::Heard>>,
) {
    bring_a_seat(&mut call.hello);
    let mut retry = 0;
    loop {
        if news.send(News::Trying).await.is_err() {
            return;
        }
        let (why, welcomed) = match one_try::<R>(&mut call, &guard, &mut orders, &news).await {
            End::Stopped => return,
            End::Closed(closed) => {
                tracing::debug!(?closed, "closed for good");
                // Nobody may listen any more; then nobody needs to know.
                drop(news.send(News::Closed(closed)).await);
                return;
            }
            End::Lost { why, welcomed } => (why, welcomed),
        };
        retry = if welcomed { 1 } else { retry + 1 };
        let wait = backoff::wait(retry, jitter());
        tracing::debug!(why, retry, ?wait, "connection lost");
        let retry_ms = u64::try_from(wait.as_millis()).unwrap_or(u64::MAX);
        if news.send(News::Lost { why, retry_ms }).await.is_err() || pause(wait, &mut orders).await
        {
            return;
        }
    }
}

/// Connects and stays connected for as long as it lasts.
async fn one_try<R: Role>(
    call: &mut Call,
    guard: &Guard,
    orders: &mut mpsc::Receiver<Order<R::Said>>,
    news: &mpsc::Sender<News<R::Heard>>,
) -> End {
    let opened = tokio::select! {
        opened = socket::open(&call.link, guard) => opened,
        () = stop_of(orders) => return End::Stopped,
    };
    match opened {
        Ok(socket) => socket::talk::<R, _>(socket, &mut call.hello, orders, news).await,
        Err(Miss::Lost(why)) => End::Lost { why, welcomed: false },
        Err(Miss::Unusable(why)) => End::Closed(Closed::Unusable(why)),
        Err(Miss::Untrusted { what, todo }) => End::Closed(Closed::Untrusted { what, todo }),
    }
}

/// Waits; `true` if the program wants to stop instead.
async fn pause<M>(wait: Duration, orders: &mut mpsc::Receiver<Order<M>>) -> bool {
    tokio::time::timeout(wait, stop_of(orders)).await.is_ok()
}

/// Drops what is said until the program wants to stop.
async fn stop_of<M>(orders: &mut mpsc::Receiver<Order<M>>) {
    while let Some(Order::Say(_)) = orders.recv().await {}
}

/// A person types a few messages a minute; more than this waiting means that nothing gets through.
const ORDERS: usize = 32;
/// A burst, such as a reveal with its result and standings, is a handful of messages.
const NEWS: usize = 64;
const STOP_WAIT: Duration = Duration::from_secs(2);

#[cfg(test)]
pub(crate) mod tests;

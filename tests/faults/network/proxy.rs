//! A proxy on the loopback between a class and its host, in which the faults of a network are made.

use std::net::{Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

use anyhow::Result;
use rand::rngs::ChaCha8Rng;
use rand::{RngExt as _, SeedableRng as _};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::tcp::{ReadHalf, WriteHalf};
use tokio::net::{TcpListener, TcpStream};
use tokio::select;
use tokio::sync::{mpsc, watch};
use tokio::task::{JoinHandle, JoinSet};
use tokio::time::{Instant, sleep_until};

/// A piece of a stream that is under way, and when it arrives; nothing is the end.
type UnderWay = (Instant, Vec<u8>);

/// Bytes of one piece, and pieces that may be under way at a time in one direction.
const PIECE: usize = 2_048;
const PIECES: usize = 32;

/// How long pieces take, each way: drawn for each connection, and around that for each piece, so that
/// what one student sends overtakes what another sent before.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Delays {
    /// Least and most of a connection, in milliseconds.
    pub(crate) of_connection_ms: (u64, u64),
    /// The most that a piece takes beyond that, in milliseconds.
    pub(crate) jitter_ms: u64,
}

/// A proxy. Dropping it breaks what it carries.
#[derive(Debug)]
pub(crate) struct Proxy {
    /// Where it listens.
    pub(crate) address: SocketAddr,
    taken: Arc<AtomicU64>,
    fate: watch::Sender<Fate>,
    task: JoinHandle<()>,
}

/// What becomes of connections, by number: those below these.
#[derive(Debug, Clone, Copy, Default)]
struct Fate {
    stalled: u64,
    reset: u64,
}

impl Proxy {
    /// Starts one before a host.
    pub(crate) async fn before(host: SocketAddr, delays: Delays, seed: u64) -> Result<Self> {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).await?;
        let address = listener.local_addr()?;
        let (fate, told) = watch::channel(Fate::default());
        let taken = Arc::new(AtomicU64::new(0));
        let counter = Arc::clone(&taken);
        let task = tokio::spawn(async move {
            let mut carried = JoinSet::new();
            while let Ok((near, _)) = listener.accept().await {
                let number = counter.fetch_add(1, Ordering::Relaxed);
                let mut random = ChaCha8Rng::seed_from_u64(seed);
                random.set_stream(number);
                carried.spawn(carry(near, host, number, told.clone(), (delays, random)));
                while carried.try_join_next().is_some() {}
            }
        });
        Ok(Self { address, taken, fate, task })
    }

    /// How many connections it has taken.
    pub(crate) fn taken(&self) -> u64 {
        self.taken.load(Ordering::Relaxed)
    }

    /// From now on nothing gets through the connections that there are, and neither side is told.
    pub(crate) fn stall(&self) {
        let all = self.taken();
        self.fate.send_modify(|fate| fate.stalled = all);
    }

    /// Breaks all connections that there are off with a reset (RST) on both sides.
    pub(crate) fn reset(&self) {
        let all = self.taken();
        self.fate.send_modify(|fate| fate.reset = all);
    }
}

impl Drop for Proxy {
    fn drop(&mut self) {
        self.task.abort();
    }
}

async fn carry(
    mut near: TcpStream,
    host: SocketAddr,
    number: u64,
    mut fate: watch::Receiver<Fate>,
    (delays, mut random): (Delays, ChaCha8Rng),
) {
    let Ok(mut far) = TcpStream::connect(host).await else { return };
    let _ = (near.set_nodelay(true), far.set_nodelay(true));
    let (least, most) = delays.of_connection_ms;
    let base = random.random_range(least..=most);
    let mut slow =
        || Slow { base, jitter: delays.jitter_ms, random: ChaCha8Rng::from_rng(&mut random) };
    let (out, back) = (slow(), slow());
    {
        let ((near_in, near_out), (far_in, far_out)) = (near.split(), far.split());
        let both =
            async { tokio::join!(pass(near_in, far_out, out), pass(far_in, near_out, back)) };
        let cut = async { drop(fate.wait_for(|fate| number < fate.stalled.max(fate.reset)).await) };
        select! {
            _ = both => return,
            () = cut => {}
        }
    }
    // A stalled connection stays open, unread, for as long as there is the proxy.
    if fate.wait_for(|fate| number < fate.reset).await.is_ok() {
        let _ = (near.set_zero_linger(), far.set_zero_linger());
    }
}

/// How long each piece takes.
struct Slow {
    base: u64,
    jitter: u64,
    random: ChaCha8Rng,
}

impl Slow {
    fn draw(&mut self) -> Duration {
        Duration::from_millis(self.base + self.random.random_range(0..=self.jitter))
    }
}

/// Carries one direction to its end, each piece in its time and none before another.
async fn pass(from: ReadHalf<'_>, to: WriteHalf<'_>, slow: Slow) {
    let (send, receive) = mpsc::channel(PIECES);
    tokio::join!(take_in(from, send, slow), give_out(to, receive));
}

async fn take_in(mut from: ReadHalf<'_>, send: mpsc::Sender<UnderWay>, mut slow: Slow) {
    let mut last = Instant::now();
    let mut piece = vec![0; PIECE];
    while let Ok(length @ 1..) = from.read(&mut piece).await {
        last = last.max(Instant::now() + slow.draw());
        if send.send((last, piece[..length].to_vec())).await.is_err() {
            return;
        }
    }
}

async fn give_out(mut to: WriteHalf<'_>, mut receive: mpsc::Receiver<UnderWay>) {
    while let Some((due, piece)) = receive.recv().await {
        sleep_until(due).await;
        if to.write_all(&piece).await.is_err() {
            return;
        }
    }
    let _ = to.shutdown().await;
}

//! A connection's bytes, written to by the room itself.
//!
//! **The fast path of the server.** What a room tells goes to each socket at once, from the room's
//! own task: a frame made once, a write for each connection. No queue and no other task stands in
//! between, as waking one costs as much as the write. Only what a socket has no room for waits
//! here, and then the connection's task is woken to write the rest. All that goes out takes this
//! way, pings and the library's own control frames too, so that frames never mix.

use std::collections::VecDeque;
use std::future::poll_fn;
use std::io;
use std::mem;
use std::pin::Pin;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::task::{Context, Poll, Waker, ready};
use std::time::Duration;
use std::{fmt, hint};

use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::time::timeout;
use tokio_tungstenite::tungstenite::Bytes;

use crate::framed::Framed;
use crate::metrics::{COUNTS, Limit, Way};
use crate::room::{LINE, Out, Outlet};
use crate::stream::SendNow;

/// Time for one frame to be written before the connection is given up.
const WRITE: Duration = Duration::from_secs(5);

/// Why a connection is to end, seen from whoever writes to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ending {
    /// The room says so, with a close code and why.
    Said(u16, &'static str),
    /// More waits for it than may.
    TooFarBehind,
    /// A frame was not taken in time.
    Stuck,
    /// The room closed.
    LetGo,
    /// The other side is gone.
    Broken,
}

/// A connection's bytes. Clones share them.
#[derive(Debug)]
pub(crate) struct Pipe<S>(Arc<Shared<S>>);

/// What a write looks at lies in one line of the processor's cache: in a room of thousands each has
/// to come from far.
#[derive(Debug)]
#[repr(align(64))]
struct Shared<S>(Mutex<State<S>>);

#[derive(Debug)]
struct State<S> {
    stream: S,
    /// Empty for most, most of the time.
    rest: Option<Box<Rest>>,
    /// The connection's task, while it waits for something to do here.
    task: Option<Waker>,
}

/// What a connection has that lags, that is soon told more, or that ends.
#[derive(Debug, Default)]
struct Rest {
    /// What the stream had no room for; the first may be written in part.
    behind: VecDeque<Bytes>,
    /// What goes out with the next frame; empty if nothing does.
    kept: Bytes,
    /// Whether the stream holds something back that it took (TLS does).
    is_unflushed: bool,
    /// Set once nothing more is to be told.
    ending: Option<Ending>,
}

impl Rest {
    fn is_behind(&self) -> bool {
        self.is_unflushed || !self.behind.is_empty()
    }

    fn is_nothing(&self) -> bool {
        !self.is_behind() && self.kept.is_empty() && self.ending.is_none()
    }
}

impl<S> Shared<S> {
    fn lock(&self) -> MutexGuard<'_, State<S>> {
        // A panic between two lines below would leave a frame cut short at worst.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl<S> State<S> {
    fn wake(&mut self) {
        if let Some(task) = self.task.take() {
            task.wake();
        }
    }

    fn rest(&mut self) -> &mut Rest {
        self.rest.get_or_insert_default()
    }

    /// Holds no place for a rest that is none.
    fn tidy(&mut self) {
        self.rest.take_if(|rest| rest.is_nothing());
    }

    fn end(&mut self, ending: Ending) {
        let rest = self.rest();
        if !rest.kept.is_empty() {
            rest.behind.push_back(mem::take(&mut rest.kept));
        }
        rest.ending.get_or_insert(ending);
        self.wake();
    }

    fn ending(&self) -> Option<Ending> {
        self.rest.as_ref()?.ending
    }

    fn is_behind(&self) -> bool {
        self.rest.as_ref().is_some_and(|rest| rest.is_behind())
    }

    /// How many frames wait.
    fn waiting(&self) -> usize {
        self.rest.as_ref().map_or(0, |rest| rest.behind.len())
    }

    fn has_kept(&self) -> bool {
        self.rest.as_ref().is_some_and(|rest| !rest.kept.is_empty())
    }

    fn take_kept(&mut self) -> Bytes {
        let kept = self.rest.as_mut().map(|rest| mem::take(&mut rest.kept)).unwrap_or_default();
        self.tidy();
        kept
    }
}

impl<S: SendNow + Unpin> State<S> {
    /// Writes a whole frame, or as much as the socket takes now; the rest waits for the task.
    fn write(&mut self, frame: &[u8], from: impl FnOnce(usize) -> Bytes) -> io::Result<()> {
        if self.waiting() >= LINE {
            COUNTS.limits.one(Limit::Line);
            self.end(Ending::TooFarBehind);
            return Err(io::Error::other("reading too slowly"));
        }
        if self.is_behind() {
            self.rest().behind.push_back(from(0));
            return Ok(());
        }
        // Whoever writes does not wait: if the socket is full, the task will.
        let mut context = Context::from_waker(Waker::noop());
        let mut written = 0;
        while written < frame.len() {
            let left = frame.get(written..).unwrap_or_default();
            match self.poll_write(&mut context, left) {
                Poll::Ready(Ok(0)) => return Err(self.broken(io::ErrorKind::WriteZero.into())),
                Poll::Ready(Ok(more)) => written += more,
                Poll::Ready(Err(fault)) => return Err(self.broken(fault)),
                Poll::Pending => {
                    self.rest().behind.push_back(from(written));
                    self.wake();
                    return Ok(());
                }
            }
        }
        match Pin::new(&mut self.stream).poll_flush(&mut context) {
            Poll::Ready(Ok(())) => Ok(()),
            Poll::Ready(Err(fault)) => Err(self.broken(fault)),
            Poll::Pending => {
                self.rest().is_unflushed = true;
                self.wake();
                Ok(())
            }
        }
    }

    /// Asks the socket itself, and the runtime only where that is full: it notes down who waits.
    fn poll_write(&mut self, context: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        match self.stream.send_now(bytes) {
            Err(fault) if fault.kind() == io::ErrorKind::WouldBlock => {
                Pin::new(&mut self.stream).poll_write(context, bytes)
            }
            done => Poll::Ready(done),
        }
    }

    fn write_whole(&mut self, bytes: &Bytes) -> bool {
        self.write(bytes, |written| bytes.slice(written..)).is_ok()
    }

    fn broken(&mut self, fault: io::Error) -> io::Error {
        self.end(Ending::Broken);
        fault
    }

    /// Writes until a frame is out; true if nothing is left.
    fn poll_one(&mut self, context: &mut Context<'_>) -> Poll<io::Result<bool>> {
        let Self { stream, rest, .. } = self;
        let Some(rest) = rest else { return Poll::Ready(Ok(true)) };
        if let Some(frame) = rest.behind.front_mut() {
            while !frame.is_empty() {
                let written = ready!(Pin::new(&mut *stream).poll_write(context, frame))?;
                if written == 0 {
                    return Poll::Ready(Err(io::ErrorKind::WriteZero.into()));
                }
                let _out = frame.split_to(written);
            }
            rest.behind.pop_front();
            rest.is_unflushed = true;
        }
        if rest.behind.is_empty() {
            ready!(Pin::new(stream).poll_flush(context))?;
            rest.is_unflushed = false;
        }
        let is_all = rest.behind.is_empty();
        self.tidy();
        Poll::Ready(Ok(is_all))
    }
}

impl<S> Clone for Pipe<S> {
    fn clone(&self) -> Self {
        Self(self.0.clone())
    }
}

impl<S> Pipe<S> {
    /// A pipe over a stream.
    pub(crate) fn new(stream: S) -> Self {
        Self::with(stream, Bytes::new())
    }

    /// A pipe over a stream on which something goes out with the first frame.
    pub(crate) fn with(stream: S, kept: Bytes) -> Self {
        let rest = (!kept.is_empty()).then(|| Box::new(Rest { kept, ..Rest::default() }));
        Self(Arc::new(Shared(Mutex::new(State { stream, rest, task: None }))))
    }

    /// From here on nothing is told on it.
    pub(crate) fn hang_up(&self) {
        self.0.lock().rest().ending.get_or_insert(Ending::LetGo);
    }

    fn poll_wanted(&self, context: &Context<'_>) -> Poll<()> {
        let mut state = self.0.lock();
        if state.is_behind() || state.ending().is_some() {
            return Poll::Ready(());
        }
        if !state.task.as_ref().is_some_and(|task| task.will_wake(context.waker())) {
            state.task = Some(context.waker().clone());
        }
        Poll::Pending
    }
}

impl<S: SendNow + Unpin> Pipe<S> {
    /// Sends a frame now; false if the connection is to end.
    pub(crate) fn send(&self, frame: &Framed) -> bool {
        self.0.send(frame)
    }

    /// Writes what the socket had no room for, until the connection is to end. This is what the
    /// connection's task is for, beside reading.
    pub(crate) async fn write_rest(&self) -> Ending {
        loop {
            poll_fn(|context| self.poll_wanted(context)).await;
            while self.0.lock().is_behind() {
                match timeout(WRITE, poll_fn(|context| self.0.lock().poll_one(context))).await {
                    Ok(Ok(_all)) => {}
                    Ok(Err(_)) => return Ending::Broken,
                    Err(_elapsed) => return Ending::Stuck,
                }
            }
            if let Some(ending) = self.0.lock().ending() {
                return ending;
            }
        }
    }
}

impl<S: SendNow + Unpin> Shared<S> {
    fn send(&self, frame: &Framed) -> bool {
        let mut state = self.lock();
        if let Some(ending) = state.ending() {
            // After the room's own last word nothing is told, and nobody is lost by it.
            return matches!(ending, Ending::Said(..));
        }
        COUNTS.message(Way::Out, frame.text_len());
        if !state.has_kept() {
            return state.write_whole(frame.bytes());
        }
        let both = [state.take_kept(), frame.bytes().clone()].concat();
        state.write_whole(&both.into())
    }
}

impl<S: SendNow + Unpin + Send + fmt::Debug> Outlet for Shared<S> {
    fn fetch(&self) {
        hint::black_box(self.0.is_poisoned());
    }

    fn put(&self, out: &Out) -> bool {
        match out {
            Out::Text(frame) => self.send(frame),
            Out::Close(code, why) => {
                self.lock().end(Ending::Said(*code, why));
                true
            }
        }
    }

    fn keep(&self, out: &Out) -> bool {
        let Out::Text(frame) = out else { return self.put(out) };
        let mut state = self.lock();
        if state.ending().is_some() || state.has_kept() {
            drop(state);
            return self.send(frame);
        }
        COUNTS.message(Way::Out, frame.text_len());
        state.rest().kept = frame.bytes().clone();
        true
    }

    fn put_kept(&self) -> bool {
        let mut state = self.lock();
        let kept = state.take_kept();
        kept.is_empty() || state.write_whole(&kept)
    }

    fn let_go(&self) {
        self.lock().end(Ending::LetGo);
    }
}

impl<S: SendNow + Unpin + Send + fmt::Debug + 'static> Pipe<S> {
    /// The room's end of it.
    pub(crate) fn outlet(&self) -> Arc<dyn Outlet> {
        self.0.clone()
    }
}

impl<S: AsyncRead + Unpin> AsyncRead for Pipe<S> {
    fn poll_read(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
        into: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        Pin::new(&mut self.0.lock().stream).poll_read(context, into)
    }
}

impl<S: SendNow + Unpin> AsyncWrite for Pipe<S> {
    /// Takes all of it or nothing, so that a control frame of the library's is not cut by a frame of
    /// the room's. The library waits where the room does not.
    fn poll_write(
        self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        let mut state = self.0.lock();
        while state.waiting() >= LINE / 2 {
            ready!(state.poll_one(context))?;
        }
        let from = |written| Bytes::copy_from_slice(bytes.get(written..).unwrap_or_default());
        Poll::Ready(state.write(bytes, from).map(|()| bytes.len()))
    }

    fn poll_flush(self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        let mut state = self.0.lock();
        while state.is_behind() {
            ready!(state.poll_one(context))?;
        }
        Pin::new(&mut state.stream).poll_flush(context)
    }

    fn poll_shutdown(self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        let this = self.get_mut();
        ready!(Pin::new(&mut *this).poll_flush(context))?;
        Pin::new(&mut this.0.lock().stream).poll_shutdown(context)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _, DuplexStream, duplex};

    use super::*;

    /// A pipe to someone who has room for so many bytes at first.
    fn pipe(room: usize) -> (Pipe<DuplexStream>, DuplexStream) {
        let (ours, theirs) = duplex(room);
        (Pipe::new(ours), theirs)
    }

    fn frame(length: usize) -> Framed {
        Framed::new(&"a".repeat(length))
    }

    fn put(pipe: &Pipe<DuplexStream>, out: &Out) -> bool {
        pipe.outlet().put(out)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        /// RFC 6455 section 5.4: frames of the room's and of the library's come whole and in order,
        /// however little of each the socket takes.
        #[test]
        fn frames_never_mix(
            room in 1..200_usize,
            frames in prop::collection::vec((0..300_usize, any::<bool>()), 1..LINE),
        ) {
            let runtime = tokio::runtime::Builder::new_current_thread().enable_time().build().unwrap();
            let (sent, heard) = runtime.block_on(async {
                let (pipe, mut theirs) = pipe(room);
                let write = async {
                    let mut sent = Vec::new();
                    for (length, is_rooms) in frames {
                        let frame = frame(length);
                        sent.extend_from_slice(frame.bytes());
                        if is_rooms {
                            assert!(put(&pipe, &Out::Text(frame)));
                        } else {
                            pipe.clone().write_all(frame.bytes()).await.unwrap();
                        }
                    }
                    assert!(put(&pipe, &Out::Close(1000, "bye")));
                    assert_eq!(pipe.write_rest().await, Ending::Said(1000, "bye"));
                    pipe.clone().shutdown().await.unwrap();
                    sent
                };
                let mut heard = Vec::new();
                let (sent, read) = tokio::join!(write, theirs.read_to_end(&mut heard));
                read.unwrap();
                (sent, heard)
            });
            assert!(sent == heard);
        }
    }

    /// A line of cache has 64 bytes (common practice, no source), a stream 32 where it is built with
    /// optimisation.
    #[test]
    fn what_a_write_looks_at_lies_in_one_line_of_cache() {
        assert_eq!(size_of::<Shared<[u64; 4]>>(), 64);
    }

    #[tokio::test]
    async fn who_reads_nothing_is_given_up_when_a_line_is_full() {
        let (pipe, _theirs) = pipe(16);
        let taken = (0..2 * LINE).take_while(|_| put(&pipe, &Out::Text(frame(100)))).count();
        assert_eq!(taken, LINE);
        assert!(!put(&pipe, &Out::Text(frame(1))));
        assert_eq!(pipe.0.lock().ending(), Some(Ending::TooFarBehind));
    }

    #[tokio::test(start_paused = true)]
    async fn a_frame_that_is_not_taken_in_time_ends_it() {
        let (pipe, _theirs) = pipe(16);
        assert!(put(&pipe, &Out::Text(frame(100))));
        assert_eq!(pipe.write_rest().await, Ending::Stuck);
    }

    #[tokio::test]
    async fn after_the_last_word_nothing_is_told_and_nobody_is_lost() {
        let (pipe, mut theirs) = pipe(1_000);
        assert!(put(&pipe, &Out::Close(1000, "bye")));
        assert!(put(&pipe, &Out::Text(frame(1))));
        assert_eq!(pipe.write_rest().await, Ending::Said(1000, "bye"));
        pipe.clone().shutdown().await.unwrap();
        let mut heard = Vec::new();
        theirs.read_to_end(&mut heard).await.unwrap();
        assert!(heard.is_empty());
    }

    /// Kept frames go out before what follows, and with it; alone if nothing follows; before the end.
    #[tokio::test]
    async fn what_is_kept_goes_out_first() {
        let (pipe, mut theirs) = pipe(1_000);
        let frames: Vec<Framed> = (1..=4).map(frame).collect();
        let outlet = pipe.outlet();
        let out = |n: usize| Out::Text(frames[n].clone());
        assert!(outlet.keep(&out(0)) && outlet.put(&out(1)));
        assert!(outlet.keep(&out(2)) && outlet.put_kept() && outlet.put_kept());
        assert!(outlet.keep(&out(3)));
        outlet.let_go();
        assert_eq!(pipe.write_rest().await, Ending::LetGo);
        pipe.clone().shutdown().await.unwrap();
        let mut heard = Vec::new();
        theirs.read_to_end(&mut heard).await.unwrap();
        let sent: Vec<u8> = frames.iter().flat_map(|frame| frame.bytes().to_vec()).collect();
        assert!(heard == sent);
    }

    #[tokio::test]
    async fn who_has_gone_is_lost_to_the_room_and_to_the_task() {
        let (pipe, theirs) = pipe(1_000);
        drop(theirs);
        assert!(!put(&pipe, &Out::Text(frame(1))));
        assert_eq!(pipe.write_rest().await, Ending::Broken);
    }
}

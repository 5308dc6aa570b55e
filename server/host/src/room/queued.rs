//! A line that leads to a queue, for whoever plays the other side in a test.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use tokio::sync::mpsc;

use super::{LINE, Line, Out, Outlet};

#[derive(Debug)]
struct Queue {
    sender: mpsc::Sender<Out>,
    too_slow: Arc<AtomicBool>,
}

/// The other end of a line.
#[derive(Debug)]
pub(crate) struct LineEnd {
    /// What was sent, until the room lets go.
    pub(crate) queue: mpsc::Receiver<Out>,
    too_slow: Arc<AtomicBool>,
}

impl Line {
    /// A line that holds as much as a socket's does, and its other end.
    pub(crate) fn queued() -> (Self, LineEnd) {
        let (sender, queue) = mpsc::channel(LINE);
        let too_slow = Arc::new(AtomicBool::new(false));
        let outlet = Queue { sender, too_slow: too_slow.clone() };
        (Self::new(Arc::new(outlet), None), LineEnd { queue, too_slow })
    }
}

impl Outlet for Queue {
    fn put(&self, out: &Out) -> bool {
        match self.sender.try_send(out.clone()) {
            Ok(()) => true,
            Err(fault) => {
                let is_full = matches!(fault, mpsc::error::TrySendError::Full(_));
                self.too_slow.store(is_full, Ordering::Relaxed);
                false
            }
        }
    }

    /// The queue ends when it is dropped.
    fn let_go(&self) {}
}

impl LineEnd {
    /// Whether the room let go of this connection because it reads too slowly.
    pub(crate) fn too_slow(&self) -> bool {
        self.too_slow.load(Ordering::Relaxed)
    }
}

//! What a room takes from outside itself beside its clock and its log: entropy, and threads for work
//! that may take long. A room that is given another outside is repeated to the last byte.

use std::fmt;

use tokio::sync::oneshot;

use crate::secrets;

/// Entropy and threads.
pub(crate) trait Outside: Send + Sync + fmt::Debug {
    /// 128 fresh random bits.
    fn bits(&self) -> u128;

    /// Does work that may take long, away from the room's own task.
    fn work(&self, work: Box<dyn FnOnce() + Send>);
}

/// The operating system's entropy, and the runtime's threads.
#[derive(Debug, Clone, Copy)]
pub(crate) struct System;

impl Outside for System {
    fn bits(&self) -> u128 {
        secrets::bits()
    }

    fn work(&self, work: Box<dyn FnOnce() + Send>) {
        tokio::task::spawn_blocking(work);
    }
}

/// Has something worked out away from the room's own task. Where the work breaks, nothing is sent.
pub(crate) fn aside<T: Send + 'static>(
    outside: &dyn Outside,
    work: impl FnOnce() -> T + Send + 'static,
) -> oneshot::Receiver<T> {
    let (tell, told) = oneshot::channel();
    outside.work(Box::new(move || {
        // Nobody waits any more: the room has gone.
        let _ = tell.send(work());
    }));
    told
}

//! Two steps of an analysis at once.

use std::panic::resume_unwind;
use std::thread;

/// Runs both, the first on a thread of its own, and gives what each found: a machine with two cores
/// is done sooner, and the findings are the same on any.
pub(super) fn abreast<A: Send, B>(
    first: impl FnOnce() -> A + Send,
    second: impl FnOnce() -> B,
) -> (A, B) {
    thread::scope(|scope| {
        let first = scope.spawn(first);
        let second = second();
        (first.join().unwrap_or_else(|panic| resume_unwind(panic)), second)
    })
}

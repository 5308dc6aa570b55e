//! The one place that reads a clock: what is timed is reported, and decides nothing.

use std::time::Instant;

/// The moment at hand.
#[expect(clippy::disallowed_methods, reason = "times are reported, and nothing rests on them")]
pub(crate) fn now() -> Instant {
    Instant::now()
}

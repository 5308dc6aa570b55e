//! The terminal's monotonic clock: the only place that reads one.

use std::time::Instant;

use myonym_wire::Millis;

/// Counts milliseconds since it was started. Never a wall clock.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Clock {
    start: Instant,
}

impl Clock {
    /// A clock that stands at zero now.
    #[expect(clippy::disallowed_methods, reason = "this is the terminal's clock")]
    pub(crate) fn start() -> Self {
        Self { start: Instant::now() }
    }

    /// Milliseconds since the start.
    pub(crate) fn now(&self) -> Millis {
        Millis(u64::try_from(self.start.elapsed().as_millis()).unwrap_or(u64::MAX))
    }
}

//! The only place that reads a clock.

use std::time::Duration;

use myonym_wire::Millis;
use tokio::time::Instant;

/// Monotonic time since the program started. It is the runtime's, so that where that is simulated
/// this is as well.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Clock {
    started: Instant,
}

impl Clock {
    /// A clock that starts now.
    pub(crate) fn start() -> Self {
        Self { started: Instant::now() }
    }

    /// Milliseconds since the clock started.
    pub(crate) fn now(&self) -> Millis {
        Millis(u64::try_from(self.started.elapsed().as_millis()).unwrap_or(u64::MAX))
    }

    /// Time since the clock started.
    pub(crate) fn elapsed(&self) -> Duration {
        self.started.elapsed()
    }

    /// The runtime's instant at which this clock shows `at`, for a timer.
    pub(crate) fn instant(&self, at: Millis) -> Instant {
        self.started + Duration::from_millis(at.0)
    }
}

/// Wall-clock time in seconds since 1970, for the log's headers. It never enters a score.
pub(crate) fn wall_seconds() -> i64 {
    jiff::Timestamp::now().as_second()
}

/// When a day begins in the local zone, in seconds since 1970.
pub(crate) fn start_of(date: jiff::civil::Date) -> i64 {
    let begins = date.to_zoned_datetime(jiff::tz::TimeZone::system());
    begins.map_or(i64::MAX, |begins| begins.timestamp().as_second())
}

/// When the day after it begins.
pub(crate) fn end_of(date: jiff::civil::Date) -> i64 {
    date.tomorrow().map_or(i64::MAX, start_of)
}

/// A wall-clock time for the name of a file, in universal time, such as `2026-11-25-093000`.
pub(crate) fn wall_name(seconds: i64) -> String {
    jiff::Timestamp::from_second(seconds).map_or_else(
        |_| seconds.to_string(),
        |stamp| {
            stamp.to_zoned_datetime(jiff::tz::TimeZone::UTC).strftime("%Y-%m-%d-%H%M%S").to_string()
        },
    )
}

/// A wall-clock time as date and time in the local zone, such as `2026-11-25 09:30`.
pub(crate) fn wall_text(seconds: i64) -> String {
    jiff::Timestamp::from_second(seconds).map_or_else(
        |_| "(unknown time)".to_owned(),
        |stamp| {
            stamp
                .to_zoned_datetime(jiff::tz::TimeZone::system())
                .strftime("%Y-%m-%d %H:%M")
                .to_string()
        },
    )
}

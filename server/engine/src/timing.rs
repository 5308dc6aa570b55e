//! What elapsed time an answer is credited with, over networks that lag and clients that may lie.
//!
//! With `s` the server's own elapsed time (arrival less sending), `c` the client's claim, `Rmin` the
//! least round trip of the connection, `J` a jitter allowance and `Cap` a hard limit, the credit is
//! `clamp(c, s - min(Rmin + J, Cap), s)`. An honest student whose network delay stays within the
//! allowance is credited the true time. A client that lies about its own time gains at most
//! J = 40 ms; one that also delays its pongs gains at most Cap = 250 ms less its true delay. Of a
//! 45 s limit that is 0.09 % and 0.56 %: at most 0.05 and 0.28 points a round under the
//! speed-weighted rule, twice that under signed residual time.

use myonym_wire::Millis;

/// Jitter allowance J, in milliseconds.
pub const JITTER_MS: u64 = 40;
/// The most that lag can be credited, in milliseconds.
pub const LAG_CAP_MS: u64 = 250;
/// How long after a limit an answer may still arrive that was given within it, in milliseconds.
pub const GRACE_MS: u64 = LAG_CAP_MS + JITTER_MS;

/// What the server saw of an answer's time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Sight {
    /// How long the round's first clue was held back from the class (for the disk).
    pub held: Millis,
    /// The least round trip seen on the connection; `None` before the first pong.
    pub round_trip: Option<Millis>,
}

/// The elapsed time credited where the server saw `server` and the client claims `claimed`.
pub fn credited(claimed: Millis, server: Millis, round_trip: Option<Millis>) -> Millis {
    let round_trip = round_trip.unwrap_or_default().0;
    let allowance = round_trip.saturating_add(JITTER_MS).min(LAG_CAP_MS);
    let least = server.minus(Millis(allowance));
    claimed.clamp(least, server)
}

/// The least time in which a person reads a clue and types `letters` letters: 0.1 s and 15 letters
/// a second. A shorter one is raised to it (never above what the server saw) and flagged.
/// From memory of typing-speed tables; generous on purpose.
pub fn human_least(letters: usize) -> Millis {
    Millis(100 + u64::try_from(letters).unwrap_or(u64::MAX).saturating_mul(1000) / 15)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_credited() {
        let check = |claimed, server, round_trip: Option<u64>, expected| {
            let found = credited(Millis(claimed), Millis(server), round_trip.map(Millis));
            assert_eq!(found, Millis(expected), "{claimed} of {server}, {round_trip:?}");
        };
        // Within the allowance the claim holds.
        check(5_000, 5_000, Some(80), 5_000);
        check(4_900, 5_000, Some(80), 4_900);
        check(4_880, 5_000, Some(80), 4_880);
        // Beyond it, the allowance.
        check(4_879, 5_000, Some(80), 4_880);
        check(0, 5_000, Some(80), 4_880);
        check(0, 5_000, Some(210), 4_750);
        check(0, 5_000, Some(u64::MAX), 4_750);
        // Before the first pong, the jitter alone.
        check(0, 5_000, None, 4_960);
        // Never more than the server saw, never less than nothing.
        check(u64::MAX, 5_000, Some(80), 5_000);
        check(0, 30, Some(80), 0);
        check(70, 30, Some(80), 30);
    }

    /// An honest student is credited the true time as long as the network takes no longer than the
    /// allowance, and whatever is claimed gains no more than the allowance.
    #[test]
    fn honest_lag_is_free_and_a_lie_is_bounded() {
        for (network, round_trip) in [(0, 0), (40, 80), (90, 80), (110, 90), (250, 400), (300, 500)]
        {
            let allowance = (round_trip + JITTER_MS).min(LAG_CAP_MS);
            let (truth, server) = (Millis(2_000), Millis(2_000 + network));
            let found = |claimed| credited(claimed, server, Some(Millis(round_trip)));
            assert_eq!(found(truth) == truth, network <= allowance, "{network} {round_trip}");
            for claimed in (0..3_000).step_by(50) {
                let gain = truth.minus(found(Millis(claimed))).0;
                assert!(gain <= allowance.saturating_sub(network), "{network} {round_trip}");
            }
        }
    }

    #[test]
    fn the_least_time_to_read_and_type() {
        assert_eq!(human_least(0), Millis(100));
        assert_eq!(human_least(15), Millis(1_100));
        assert_eq!(human_least(10), Millis(766));
        assert!(human_least(usize::MAX) > Millis(1_000_000));
    }
}

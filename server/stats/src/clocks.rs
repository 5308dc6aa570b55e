//! How far two clocks are apart, from messages that take an unknown time.
//!
//! Times in any one unit. Points need none of this: they go by elapsed time, which no offset
//! touches. It is for putting the logs of two machines side by side.

/// How far the other clock is ahead, and how sure that is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offset {
    /// The other clock less one's own.
    pub ahead: f64,
    /// How long the messages were under way, there and back.
    pub delay: f64,
}

impl Offset {
    /// From one exchange: sent at `sent`, received there at `received`, answered there at
    /// `answered`, back at `back`. ahead = ((T2 - T1) + (T3 - T4)) / 2, delay =
    /// (T4 - T1) - (T3 - T2). Mills D et al. 2010, RFC 5905, section 8.
    pub fn of_exchange(sent: f64, received: f64, answered: f64, back: f64) -> Self {
        Self {
            ahead: f64::midpoint(received - sent, answered - back),
            delay: (back - sent) - (answered - received),
        }
    }

    /// The most by which `ahead` can be wrong: all delay lay on one side.
    pub fn bound(self) -> f64 {
        self.delay / 2.0
    }

    /// The most by which it can be wrong if no message takes less than `least`: delay/2 - least.
    /// Cristian F 1989, Distributed Computing 3:146-158.
    pub fn bound_if(self, least: f64) -> f64 {
        (self.bound() - least).max(0.0)
    }

    /// The one of least delay, as it has the least bound; `None` of none. RFC 5905, section 10, keeps
    /// the last eight to choose from.
    pub fn best(of: &[Self]) -> Option<Self> {
        of.iter().copied().min_by(|a, b| a.delay.total_cmp(&b.delay))
    }
}

/// What the other clock shows now, if it showed `told` when it answered a question that took `delay`
/// there and back: told + delay/2 (Cristian 1989).
pub fn now_there(told: f64, delay: f64) -> f64 {
    told + delay / 2.0
}

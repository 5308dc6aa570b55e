//! What may happen to the bytes of a log when the power goes.

use rand::RngExt as _;
use rand::rngs::ChaCha8Rng;

/// What is done to a log.
#[derive(Debug, Clone, Copy)]
pub(super) struct Damage {
    kind: Kind,
    /// The first byte that is not what it was.
    pub(super) at: usize,
}

#[derive(Debug, Clone, Copy)]
enum Kind {
    /// The tail is missing.
    Cut,
    /// The tail was never written: the file has its length, and zeros.
    Zeroed,
    /// One bit is another.
    Turned(u32),
}

impl Damage {
    /// Something, somewhere in so many bytes.
    pub(super) fn draw(random: &mut ChaCha8Rng, bytes: usize) -> Self {
        let kind = match random.random_range(0..3) {
            0 => Kind::Cut,
            1 => Kind::Zeroed,
            _ => Kind::Turned(random.random_range(0..8)),
        };
        Self { kind, at: random.random_range(0..bytes) }
    }

    /// A log after it.
    pub(super) fn done_to(self, log: &[u8]) -> Vec<u8> {
        let (whole, tail) = log.split_at(self.at);
        let mut done = whole.to_vec();
        match self.kind {
            Kind::Cut => {}
            Kind::Zeroed => done.resize(log.len(), 0),
            Kind::Turned(bit) => {
                done.extend_from_slice(tail);
                done[self.at] ^= 1 << bit;
            }
        }
        done
    }
}

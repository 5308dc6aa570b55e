//! Acknowledgements that go out with what follows them.
//!
//! When a whole class answers at once, the disk is as fast as the room: *received* and *recorded*
//! are due within a millisecond of each other, and every write saved lets the next student be
//! heard sooner. So in a crowd the first waits for the second, for a moment at most. One student's
//! answer alone is acknowledged at once.

use myonym_wire::Millis;

use super::ConnId;
use super::audience::Told;
use super::task::Room;

/// Most that is waited, in milliseconds: a disk that is slower than this is not waited for.
const KEPT_MS: u64 = 5;

/// Whose acknowledgement is kept back.
#[derive(Debug, Default)]
pub(super) struct Kept {
    /// Whether so many speak at once that it pays.
    pub(super) is_crowded: bool,
    conns: Vec<ConnId>,
    due: Option<Millis>,
}

impl Kept {
    /// When at the latest they go out.
    pub(super) fn due(&self) -> Option<Millis> {
        self.due
    }
}

impl Room {
    /// Tells one connection something that is followed soon by more.
    pub(super) fn tell_soon(&mut self, conn: ConnId, told: &Told) {
        if !self.kept.is_crowded {
            return self.send(None, told);
        }
        if self.audience.keep(conn, &told.out) {
            self.kept.conns.push(conn);
            let due = self.clock.now().plus(Millis(KEPT_MS));
            self.kept.due.get_or_insert(due);
        } else {
            self.lost(conn);
        }
    }

    /// Sends what was kept and not followed by anything yet.
    pub(super) fn send_kept(&mut self) {
        self.kept.due = None;
        for conn in std::mem::take(&mut self.kept.conns) {
            if !self.audience.send_kept(conn) {
                self.lost(conn);
            }
        }
    }
}

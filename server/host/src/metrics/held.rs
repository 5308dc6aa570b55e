//! Counts of what is there now: whoever holds one of these is counted until it is dropped, however
//! that comes about.

use myonym_engine::{Phase, Review};

use super::{COUNTS, Count, labels};

labels! {
    /// Who is on a connection that is in a room.
    Role {
        /// A student.
        Student = "student",
        /// An instructor.
        Instructor = "instructor",
        /// A board.
        Board = "board",
    }
}

labels! {
    /// Where a review stands.
    RoomPhase {
        /// Students take their seats.
        Gathering = "gathering",
        /// A round takes answers.
        Open = "open",
        /// A round takes no more.
        Closed = "closed",
        /// It is revealed.
        Revealed = "revealed",
        /// It was left out.
        Skipped = "skipped",
        /// The review is over; its room answers for a while.
        Ended = "ended",
    }
}

labels! {
    /// Who moves the review on.
    RoomKind {
        /// An instructor, or time.
        Class = "class",
        /// The members of a study group.
        Group = "study_group",
    }
}

/// A TCP connection.
#[derive(Debug)]
pub(crate) struct Open(());

impl Open {
    /// One more.
    pub(crate) fn new() -> Self {
        COUNTS.accepted.one();
        COUNTS.open.one();
        Self(())
    }
}

impl Drop for Open {
    fn drop(&mut self) {
        COUNTS.open.less(1);
    }
}

/// A connection that is in a room.
#[derive(Debug)]
pub(crate) struct Connected(Role);

impl Connected {
    /// One more of this role.
    pub(crate) fn new(role: Role) -> Self {
        COUNTS.connected.one(role);
        Self(role)
    }
}

impl Drop for Connected {
    fn drop(&mut self) {
        if let Some(count) = COUNTS.connected.of(self.0) {
            count.less(1);
        }
    }
}

/// What one room has a share of.
#[derive(Debug, Default)]
pub(crate) struct RoomShare(Option<Share>);

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Share {
    kind: RoomKind,
    phase: RoomPhase,
    seated: usize,
    present: u32,
}

impl RoomShare {
    /// Counts the room as it is now, in place of what it was. `present` is what the class was told
    /// last, a quarter of a second ago, or somewhat more in a large room.
    pub(crate) fn follow(&mut self, review: &Review, present: u32) {
        let kind = if review.is_group() { RoomKind::Group } else { RoomKind::Class };
        let phase = match review.phase() {
            Phase::Gathering => RoomPhase::Gathering,
            Phase::Open(_) => RoomPhase::Open,
            Phase::Closed(_) => RoomPhase::Closed,
            Phase::Revealed => RoomPhase::Revealed,
            Phase::Skipped { .. } => RoomPhase::Skipped,
            Phase::Ended(_) => RoomPhase::Ended,
        };
        let now = Some(Share { kind, phase, seated: review.seats().len(), present });
        if self.0 != now {
            // What is new comes first, so that no sum is ever below nothing.
            count(now, Count::more);
            count(std::mem::replace(&mut self.0, now), Count::less);
        }
    }
}

impl Drop for RoomShare {
    fn drop(&mut self) {
        count(self.0, Count::less);
    }
}

fn count(share: Option<Share>, add: fn(&Count, u64)) {
    let Some(Share { kind, phase, seated, present }) = share else { return };
    let rooms = RoomKind::ALL.iter().zip(&COUNTS.rooms).find(|(known, _)| **known == kind);
    if let Some(rooms) = rooms.and_then(|(_, phases)| phases.of(phase)) {
        add(rooms, 1);
    }
    add(&COUNTS.seated, u64::try_from(seated).unwrap_or(u64::MAX));
    add(&COUNTS.present, present.into());
}

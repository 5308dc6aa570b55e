//! Places by points, put in order once and looked at often: everyone who comes back after a reveal
//! is told of theirs.

use std::cell::RefCell;
use std::sync::Arc;

use myonym_engine::{Event, Review, Standing, standings};

/// The places as they were last asked for, until an event changes them.
#[derive(Debug, Default)]
pub(super) struct Places(RefCell<Option<Arc<[Standing]>>>);

impl Places {
    /// All seated students, most points first.
    pub(super) fn of(&self, review: &Review) -> Arc<[Standing]> {
        let mut kept = self.0.borrow_mut();
        kept.get_or_insert_with(|| standings(review).into()).clone()
    }

    /// Forgets them if an event may change who has a seat, or points.
    pub(super) fn follow(&self, event: &Event) {
        let may_change = match event {
            Event::Back { .. }
            | Event::Away { .. }
            | Event::Stretched { .. }
            | Event::ClueShown { .. }
            | Event::Answered(_)
            | Event::AskedAgain { .. }
            | Event::Voted { .. }
            | Event::Paused {}
            | Event::Resumed {} => false,
            Event::Opened { .. }
            | Event::Replanned { .. }
            | Event::Seated { .. }
            | Event::Removed { .. }
            | Event::Renamed { .. }
            | Event::RoundOpened { .. }
            | Event::RoundClosed { .. }
            | Event::RoundSkipped { .. }
            | Event::Revealed { .. }
            | Event::Restarted {}
            | Event::Ended { .. }
            | Event::Forgotten {} => true,
        };
        if may_change {
            *self.0.borrow_mut() = None;
        }
    }
}

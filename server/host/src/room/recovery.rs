//! When events cannot be saved: going back to what is on disk, and trying again.

use myonym_engine::{Event, Phase, Review};
use myonym_insight::Tally;
use myonym_wire::limits::close;
use myonym_wire::{Millis, Seq, ToStudent, Trouble};
use tracing::info;

use super::audience::{To, Told, Who};
use super::task::{Fresh, Room, Seats, saved};
use crate::metrics::COUNTS;
use crate::outside::aside;
use crate::store::StoreError;

/// How long to wait before saving is tried again, in milliseconds.
const RETRY_MS: u64 = 1_000;
/// What is said to those who speak meanwhile.
pub(super) const CANNOT_SAVE: &str =
    "answers cannot be saved just now; wait a moment and try again";

impl Room {
    /// Goes back to what is on disk after an append failed, and tells everyone.
    pub(super) async fn fall_back(&mut self) {
        COUNTS.fallen_back.one();
        // What waits behind the failed batch follows events that are not there.
        self.fresh = Fresh::default();
        self.held.clear();
        self.counts_since = None;
        self.retry = Some(self.clock.now().plus(Millis(RETRY_MS)));
        self.reload().await;
        let told = Told::text(To::All, &ToStudent::Trouble { trouble: Trouble::CannotSave });
        self.audience.send(None, &told);
    }

    /// Reads the review back from the log; if that fails too, it is tried again later.
    pub(super) async fn reload(&mut self) {
        let (log, review) = (self.log.clone(), self.handle.review);
        let read = aside(&*self.outside, move || {
            Ok::<_, StoreError>((log.read(review, Seq(0))?, log.seats(review)?))
        });
        let Ok(Ok((events, seats))) = read.await else { return };
        let Some(back) = Review::replay(&events) else { return };
        self.tally = Tally::default();
        for logged in &events {
            self.tally.add(logged);
            self.choosing.follow(logged.seq, &logged.event);
        }
        self.seats = Seats::default();
        for seat in seats {
            self.seats.add(seat);
        }
        self.durable = back.seq();
        self.ended_at = None;
        self.review = back;
        self.pictures.follow(&self.course, &self.review);
        self.drop_unseated();
    }

    /// Students whose seat did not reach the disk have to join anew.
    pub(super) fn drop_unseated(&mut self) {
        for (conn, who) in self.audience.everyone() {
            if let Who::Student(student) = who
                && !self.review.seats().contains_key(&student)
            {
                let told = Told::close(To::Conn(conn), close::AWAY, "not saved; join anew");
                self.audience.send(None, &told);
                self.audience.leave(conn);
            }
        }
    }

    /// Tries to save again: the round that lost answers is skipped, and presence is set right.
    pub(super) async fn try_again(&mut self) {
        self.reload().await;
        // Nothing that was held since rests on what is there now.
        self.held.clear();
        let now = self.review_time(self.clock.now());
        let mut events = match self.review.phase() {
            Phase::Open(round) => vec![Event::RoundSkipped { round: round.round }],
            Phase::Gathering
            | Phase::Closed(_)
            | Phase::Revealed
            | Phase::Skipped { .. }
            | Phase::Ended(_) => Vec::new(),
        };
        events.push(Event::Restarted {});
        events.extend(self.audience.students().map(|student| Event::Back { student }));
        self.make(now, events);
        self.hand_to_log();
        if saved(&mut self.under_way).await.is_err() {
            self.fresh = Fresh::default();
            self.held.clear();
            self.retry = Some(self.clock.now().plus(Millis(RETRY_MS)));
            return self.reload().await;
        }
        COUNTS.recovered.one();
        info!(word = %self.handle.word, "saving works again");
        self.retry = None;
        self.durable = self.review.seq();
        self.told_anew();
        let again = ToStudent::Trouble { trouble: Trouble::SavingAgain };
        for (conn, who) in self.audience.everyone() {
            self.hold(Told::text(To::Conn(conn), &again));
            match who {
                Who::Student(student) => self.tell_seated(conn, student, now, None),
                Who::Instructor => self.tell_conducting(conn, now, None),
                Who::Board => self.tell_watching(conn, now),
            }
            self.tell_beside(conn);
            self.audience.renew(conn, self.review.seq());
        }
    }

    /// What was held when saving failed was never told, so that counts are told again.
    fn told_anew(&mut self) {
        self.class_told = (0, 0);
        self.boards_told = (None, None);
        self.votes_told = self.view().votes();
        self.counts_soon();
    }
}

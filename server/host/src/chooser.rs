//! Choosing the next round of an adaptive review, from what classes answered so far.

use std::fmt;
use std::sync::Arc;

use myonym_content::{Catalogue, Course, MuscleKey};
use myonym_engine::Event;
use myonym_insight::observe::{Observer, ReviewTag, Sitting};
use myonym_insight::plan::{Proposed, next_round};
use myonym_wire::{ReviewId, Seq};
use tracing::warn;

use crate::names;
use crate::reading::{self, Held};
use crate::store::{Log as _, SeatRow, SqliteLog, StoreError};

/// Chooses the rounds of one review. It may take long, so that no room's own task calls it.
pub(crate) trait Chooser: Send + fmt::Debug {
    /// The round to ask next; `None` leaves it as it was drawn.
    fn choose(&mut self) -> Option<Proposed>;
}

/// A chooser that goes by the log: this review so far, and all that were held before it for the same
/// section of the course.
#[derive(Debug)]
pub(crate) struct FromLog {
    log: Arc<SqliteLog>,
    review: ReviewId,
    course: Arc<Course>,
    seed: u64,
    /// What was read so far, once something was.
    read: Option<Read>,
}

#[derive(Debug)]
struct Read {
    observer: Observer,
    /// The last event of the review that was read.
    last: Seq,
    /// The muscles asked in it.
    asked: Vec<MuscleKey>,
}

impl FromLog {
    /// A chooser for a review that was opened with this seed.
    pub(crate) fn new(
        log: Arc<SqliteLog>,
        review: ReviewId,
        course: Arc<Course>,
        seed: u64,
    ) -> Self {
        Self { log, review, course, seed, read: None }
    }

    /// Reads what was written since it last looked.
    fn read_on(&mut self) -> Result<&Read, StoreError> {
        let mut read = match self.read.take() {
            Some(read) => read,
            None => self.earlier()?,
        };
        for logged in self.log.read(self.review, read.last)? {
            if let Event::RoundOpened { muscle, .. } = &logged.event {
                read.asked.push(muscle.clone());
            }
            read.observer.event(&logged.event);
            read.last = logged.seq;
        }
        Ok(self.read.insert(read))
    }

    /// The reviews before this one, and this one begun.
    fn earlier(&self) -> Result<Read, StoreError> {
        let mut held = reading::held(&self.log)?;
        held.sort_by_key(|held| (held.header.opened, held.header.review));
        let own = held.iter().position(|held| held.header.review == self.review);
        let own = own.map(|at| held.split_off(at).swap_remove(0));
        let same = |one: &Held| match own.as_ref().and_then(|own| own.settings.section.as_deref()) {
            Some(section) => {
                one.settings.section.as_deref().is_some_and(|other| names::alike(section, other))
            }
            None => true,
        };
        held.retain(|held| !held.is_group() && same(held));
        let mut observer = reading::observer(&self.log, &held)?;
        if let Some(Held { header, settings }) = own {
            let seats = self.log.seats(self.review)?;
            let sitting = |seat: SeatRow| Sitting {
                student: seat.student,
                person: seat.person.map(|person| person.0),
                group: seat.group,
            };
            let tag = ReviewTag {
                review: self.review,
                section: settings.section,
                opened_s: header.opened,
                list: settings.list,
                adaptive: settings.adaptive,
            };
            observer.begin(tag, seats.into_iter().map(sitting));
        }
        Ok(Read { observer, last: Seq(0), asked: Vec::new() })
    }
}

impl Chooser for FromLog {
    fn choose(&mut self) -> Option<Proposed> {
        let (course, seed) = (self.course.clone(), self.seed);
        match self.read_on() {
            Ok(Read { observer, asked, .. }) => {
                let (catalogue, table) = (Catalogue::bundled(), observer.so_far());
                next_round(catalogue, &course, table, asked, seed)
            }
            Err(fault) => {
                warn!(%fault, "no round is chosen; it stays as it was drawn");
                None
            }
        }
    }
}

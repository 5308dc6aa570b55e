//! The log: events of reviews, durable before anyone is told.
//!
//! [`Log`] is what a room needs; nothing above it may assume one file or one machine.

mod copying;
mod folder;
mod forgetting;
#[cfg(fuzzing)]
mod found;
#[cfg(test)]
pub(crate) mod memory;
mod order;
mod schema;
mod sqlite;
#[cfg(test)]
mod tests;
mod walk;
mod writer;

use std::fmt;

use myonym_engine::Logged;
use myonym_wire::{JoinWord, ReviewId, Seq, StudentId};

use crate::pseudonyms::PersonHash;
use crate::secrets::TokenHash;

pub(crate) use copying::{Whole, beside, check, restore, sync_folder};
pub(crate) use folder::{Export, ExportKind};
pub(crate) use forgetting::Gone;
#[cfg(test)]
pub(crate) use order::{Order, order};
pub(crate) use order::{Saving, UNSAVED};
pub(crate) use schema::VERSION as FORM;
pub(crate) use sqlite::{Header, SqliteLog, StoreError};
pub(crate) use walk::Line;

/// Where events go.
pub(crate) trait Log: Send + Sync + fmt::Debug {
    /// Appends events after `batch.after`, all or none. The answer comes once they are durable; until
    /// the log takes the batch, more may follow in it.
    fn append(&self, batch: Batch) -> Saving;

    /// The events of a review with a number greater than `after`.
    fn read(&self, review: ReviewId, after: Seq) -> Result<Vec<Logged>, StoreError>;

    /// The seats of a review.
    fn seats(&self, review: ReviewId) -> Result<Vec<SeatRow>, StoreError>;
}

/// Events to append to one review, with what must be kept beside them.
#[derive(Debug)]
pub(crate) struct Batch {
    /// The review.
    pub(crate) review: ReviewId,
    /// The number of the event that these follow; another there is a conflict.
    pub(crate) after: Seq,
    /// The events, numbered on from `after`.
    pub(crate) events: Vec<Logged>,
    /// Seats that these events give.
    pub(crate) seats: Vec<SeatRow>,
    /// Other names that they give to seats.
    pub(crate) names: Vec<(StudentId, String)>,
    /// The review itself, if these events open it.
    pub(crate) opens: Option<NewReview>,
}

/// A seat: kept apart from the events, so that names can be removed while the log stays whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct SeatRow {
    /// The student's number.
    pub(crate) student: StudentId,
    /// Hash of the seat token.
    pub(crate) token: TokenHash,
    /// Name after cleaning.
    pub(crate) name: String,
    /// Who this is in all reviews, where the device told.
    pub(crate) person: Option<PersonHash>,
    /// The group, where the student named one.
    pub(crate) group: Option<String>,
}

/// What is kept of a review beside its events.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct NewReview {
    /// Its join word.
    pub(crate) word: JoinWord,
    /// Hash of its own key.
    pub(crate) key: TokenHash,
    /// When it opened: wall-clock seconds since 1970.
    pub(crate) opened: i64,
    /// Text of the instructor's own muscle list.
    pub(crate) own_list: Option<String>,
}

/// Why events were not appended. Nothing of the batch is kept.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub(crate) enum AppendError {
    /// The review's last event is another than expected: someone else writes to it.
    #[error("review {review} stands at event {found}, not {expected}")]
    Conflict {
        /// The review.
        review: ReviewId,
        /// What the batch follows.
        expected: u64,
        /// What is there.
        found: u64,
    },
    /// The disk did not take it.
    #[error("cannot write to the data file: {0}")]
    Disk(String),
    /// The log is closed or overrun.
    #[error("the log takes no more events just now")]
    Closed,
}

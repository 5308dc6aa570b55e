//! Removing records: a student out of a review, or a review whole.

use std::collections::BTreeSet;
use std::ops::AddAssign;

use myonym_engine::{Event, Logged, forget, whose};
use myonym_wire::{ReviewId, Seq, StudentId};
use rusqlite::{Transaction, params};

use super::{SqliteLog, StoreError, writer};
use crate::secrets;

/// What was removed, or would be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Gone {
    /// Reviews, whole.
    pub(crate) reviews: u64,
    /// Seats, each with its name.
    pub(crate) seats: u64,
    /// Answers.
    pub(crate) answers: u64,
}

impl AddAssign for Gone {
    fn add_assign(&mut self, other: Self) {
        self.reviews += other.reviews;
        self.seats += other.seats;
        self.answers += other.answers;
    }
}

/// An event as it will be.
struct Rewritten {
    logged: Logged,
    body: String,
    chain: [u8; 32],
}

impl SqliteLog {
    /// What there is of a review.
    pub(crate) fn count_review(&self, review: ReviewId) -> Result<Gone, StoreError> {
        self.ask(|file| {
            let query = "SELECT (SELECT COUNT(*) FROM seat WHERE review = ?1), \
                         (SELECT COUNT(*) FROM event WHERE review = ?1 AND kind = 'answered')";
            file.query_row(query, [review.0.as_bytes()], |row| {
                let count = |at| row.get::<_, i64>(at).map(i64::unsigned_abs);
                Ok(Gone { reviews: 1, seats: count(0)?, answers: count(1)? })
            })
        })
    }

    /// What there is of some students in a review.
    pub(crate) fn count_students(
        &self,
        review: ReviewId,
        students: &BTreeSet<StudentId>,
    ) -> Result<Gone, StoreError> {
        let (_, gone) = self.rewritten(review, students)?;
        Ok(gone)
    }

    /// Removes a review with all that is kept of it.
    pub(crate) fn remove_review(&self, review: ReviewId) -> Result<Gone, StoreError> {
        let gone = self.count_review(review)?;
        self.change(|change| {
            for remove in [
                "DELETE FROM event WHERE review = ?1",
                "DELETE FROM seat WHERE review = ?1",
                "DELETE FROM review WHERE id = ?1",
            ] {
                change.execute(remove, [review.0.as_bytes()])?;
            }
            Ok(())
        })?;
        Ok(gone)
    }

    /// Takes students out of a review: what tells of them is replaced in its log, which is chained
    /// anew, and their seats go. Nothing of the review may have been appended since this log was
    /// opened: the writer knows where it ended then.
    pub(crate) fn remove_students(
        &self,
        review: ReviewId,
        students: &BTreeSet<StudentId>,
    ) -> Result<Gone, StoreError> {
        let (events, gone) = self.rewritten(review, students)?;
        self.change(|change| {
            for event in &events {
                rewrite(change, review, event)?;
            }
            let mut unseat =
                change.prepare("DELETE FROM seat WHERE review = ?1 AND student = ?2")?;
            for student in students {
                unseat.execute(params![review.0.as_bytes(), student.0.as_bytes()])?;
            }
            Ok(())
        })?;
        Ok(gone)
    }

    /// Gives the folder another key of pseudonyms: those in files that were made before can no
    /// longer be told whose they are.
    pub(crate) fn change_pseudonyms(&self) -> Result<(), StoreError> {
        self.change(|change| {
            let key = secrets::pseudonym_key();
            change.execute("UPDATE folder SET pseudonym_key = ?1", [key]).map(|_rows| ())
        })
    }

    /// Builds the file anew without what was removed, and empties its write-ahead log. False if
    /// another program reads the file just now, so that the log could not be emptied.
    pub(crate) fn build_anew(&self) -> Result<bool, StoreError> {
        self.ask(|file| {
            file.execute_batch("VACUUM")?;
            emptied(file)
        })
    }

    /// Empties the write-ahead log as far as no other program reads it.
    pub(crate) fn empty_write_ahead(&self) -> Result<bool, StoreError> {
        self.ask(emptied)
    }

    /// The log of a review without some students. What does not change keeps its very text.
    fn rewritten(
        &self,
        review: ReviewId,
        students: &BTreeSet<StudentId>,
    ) -> Result<(Vec<Rewritten>, Gone), StoreError> {
        let texts: Vec<String> = self.query(
            "SELECT body FROM event WHERE review = ?1 ORDER BY seq",
            [review.0.as_bytes()],
            |row| row.get(0),
        )?;
        let events = super::Log::read(self, review, Seq(0))?;
        let mut left = events.clone();
        forget(&mut left, students);
        let (mut chain, mut rewritten) = ([0; 32], Vec::with_capacity(texts.len()));
        for ((before, after), text) in events.iter().zip(left).zip(texts) {
            let body = if before.event == after.event { text } else { writer::body(&after) };
            chain = writer::link(&chain, &body);
            rewritten.push(Rewritten { logged: after, body, chain });
        }
        let theirs = |event: &Event| whose(event).is_some_and(|who| students.contains(&who));
        let answers = (events.iter())
            .filter(|logged| matches!(logged.event, Event::Answered(_)) && theirs(&logged.event))
            .count();
        let seated = super::Log::seats(self, review)?;
        let seats = seated.iter().filter(|seat| students.contains(&seat.student)).count();
        let count = |things: usize| u64::try_from(things).unwrap_or(u64::MAX);
        Ok((rewritten, Gone { reviews: 0, seats: count(seats), answers: count(answers) }))
    }
}

fn rewrite(change: &Transaction<'_>, review: ReviewId, event: &Rewritten) -> rusqlite::Result<()> {
    let Rewritten { logged: Logged { seq, at, event: told }, body, chain } = event;
    let mut update = change.prepare_cached(
        "UPDATE event SET at_ms = ?3, kind = ?4, body = ?5, chain = ?6 \
         WHERE review = ?1 AND seq = ?2",
    )?;
    let (seq, at) = (writer::signed(seq.0), writer::signed(at.0));
    update
        .execute(params![review.0.as_bytes(), seq, at, writer::kind(told), body, chain])
        .map(|_rows| ())
}

fn emptied(file: &rusqlite::Connection) -> rusqlite::Result<bool> {
    let busy: i64 = file.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| row.get(0))?;
    Ok(busy == 0)
}

//! Walking through a log: each event is shown as it lies in the file, and nothing is kept.

use myonym_wire::ReviewId;
use rusqlite::types::FromSqlError;

use super::{SqliteLog, StoreError, writer};

/// An event as it lies in the file.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Line<'a> {
    /// Its kind.
    pub(crate) kind: &'a str,
    /// The event as JSON.
    pub(crate) body: &'a str,
}

impl SqliteLog {
    /// Another reader of the same file, for another thread.
    pub(crate) fn another_reader(&self) -> Result<Self, StoreError> {
        Self::open_file_to_read(self.path())
    }

    /// Shows the events of a review in order, and finds what is missing or changed as
    /// [`Log::read`](super::Log::read) does.
    pub(crate) fn walk(
        &self,
        review: ReviewId,
        mut each: impl FnMut(Line<'_>) -> Result<(), String>,
    ) -> Result<(), StoreError> {
        let told = self.ask(|file| {
            let mut query = file.prepare_cached(
                "SELECT seq, kind, body, chain FROM event WHERE review = ?1 ORDER BY seq",
            )?;
            let mut rows = query.query([review.0.as_bytes()])?;
            let mut chain = [0; 32];
            let mut expected = 1;
            while let Some(row) = rows.next()? {
                let text = |at| row.get_ref(at)?.as_str().map_err(conversion);
                let (seq, kind, body) = (row.get::<_, i64>(0)?.unsigned_abs(), text(1)?, text(2)?);
                if seq != expected {
                    return Ok(Err(self.damaged(review, expected, &"it is missing")));
                }
                chain = writer::link(&chain, body);
                if row.get_ref(3)?.as_blob().map_err(conversion)? != chain {
                    return Ok(Err(self.damaged(review, seq, &"its text was changed")));
                }
                if let Err(what) = each(Line { kind, body }) {
                    return Ok(Err(self.damaged(review, seq, &what)));
                }
                expected += 1;
            }
            Ok(Ok(()))
        });
        told?
    }

    /// The first event of each review: which review, and how it opens, as JSON.
    pub(crate) fn openings(&self) -> Result<Vec<(ReviewId, String)>, StoreError> {
        self.query(
            // CROSS JOIN keeps this order; the other way round would read every event of the file.
            "SELECT review.id, event.body FROM review \
             CROSS JOIN event ON event.review = review.id AND event.seq = 1",
            [],
            |row| Ok((ReviewId(uuid::Uuid::from_bytes(row.get(0)?)), row.get(1)?)),
        )
    }

    /// How many rounds of each review were revealed, and how many seats it has.
    pub(crate) fn sizes(&self) -> Result<Vec<(ReviewId, u32, u32)>, StoreError> {
        self.query(
            "SELECT id, (SELECT COUNT(*) FROM event WHERE review = id AND kind = 'revealed'), \
             (SELECT COUNT(*) FROM seat WHERE review = id) FROM review",
            [],
            |row| Ok((ReviewId(uuid::Uuid::from_bytes(row.get(0)?)), row.get(1)?, row.get(2)?)),
        )
    }
}

fn conversion(fault: FromSqlError) -> rusqlite::Error {
    rusqlite::Error::FromSqlConversionFailure(0, rusqlite::types::Type::Text, fault.into())
}

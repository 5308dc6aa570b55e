//! Walking through a log: each event is shown as it lies in the file, and nothing is kept.

use std::borrow::Cow;

use myonym_wire::ReviewId;
use rusqlite::types::FromSqlError;
use serde::Deserialize;

use super::{SqliteLog, StoreError, writer};

/// An event as it lies in the file.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Line<'a> {
    /// The event as JSON.
    pub(crate) body: &'a str,
}

impl<'a> Line<'a> {
    /// The event's kind, from the event itself: the column beside it says the same, but is not in
    /// the chain. This program writes it first, where it is found without a parser.
    pub(crate) fn kind(self) -> serde_json::Result<Cow<'a, str>> {
        let written = self.body.strip_prefix(r#"{"kind":""#).and_then(|rest| {
            let length = rest.bytes().take_while(|b| matches!(b, b'a'..=b'z' | b'_')).count();
            let (kind, rest) = rest.split_at_checked(length)?;
            rest.starts_with('"').then_some(kind)
        });
        match written {
            Some(kind) => Ok(Cow::Borrowed(kind)),
            None => Ok(serde_json::from_str::<Kind<'a>>(self.body)?.kind),
        }
    }
}

#[derive(Deserialize)]
struct Kind<'a> {
    #[serde(borrow)]
    kind: Cow<'a, str>,
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
                "SELECT seq, body, chain FROM event WHERE review = ?1 ORDER BY seq",
            )?;
            let mut rows = query.query([review.0.as_bytes()])?;
            let mut chain = [0; 32];
            let mut expected = 1;
            while let Some(row) = rows.next()? {
                let seq = row.get::<_, i64>(0)?.unsigned_abs();
                let body = row.get_ref(1)?.as_str().map_err(conversion)?;
                if seq != expected {
                    return Ok(Err(self.damaged(review, expected, &"it is missing")));
                }
                chain = writer::link(&chain, body);
                if row.get_ref(2)?.as_blob().map_err(conversion)? != chain {
                    return Ok(Err(self.damaged(review, seq, &"its text was changed")));
                }
                if let Err(what) = each(Line { body }) {
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

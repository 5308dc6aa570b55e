//! A review that is found in the data file, whoever wrote it there. For fuzz targets alone.

use myonym_wire::ReviewId;
use rusqlite::{Connection, params};
use uuid::Uuid;

use super::{SqliteLog, writer};

impl SqliteLog {
    /// Puts a review into the file whose events have these texts, in the place of the one that was
    /// put there before. The chain is right: what was changed on the disk is found before anything
    /// is read of it.
    pub(crate) fn put(&self, bodies: &[&str]) -> ReviewId {
        let review = ReviewId(Uuid::from_u128(1));
        let id = review.0.as_bytes();
        let file = Connection::open(self.path()).expect("the data file");
        file.execute_batch("PRAGMA synchronous = OFF; BEGIN").expect("a transaction");
        for table in ["event", "seat"] {
            file.execute(&format!("DELETE FROM {table} WHERE review = ?1"), [id]).expect("gone");
        }
        file.execute(
            "INSERT OR REPLACE INTO review VALUES (?1, 'rib-rib', zeroblob(32), ?2, ?2, 0, NULL)",
            params![id, crate::clock::wall_seconds()],
        )
        .expect("a review");
        let mut chain = [0; 32];
        for (seq, body) in (1_i64..).zip(bodies) {
            chain = writer::link(&chain, body);
            file.execute(
                "INSERT INTO event (review, seq, at_ms, kind, body, chain) \
                 VALUES (?1, ?2, ?2, 'any', ?3, ?4)",
                params![id, seq, body, chain],
            )
            .expect("an event");
        }
        file.execute_batch("COMMIT").expect("a commit");
        review
    }
}

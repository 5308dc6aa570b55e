//! The log as it lies on the disk, read beside the host that writes it.

use std::path::Path;

use anyhow::{Context as _, Result, ensure};
use myonym_engine::Logged;
use rusqlite::{Connection, OpenFlags, Row};
use serde_json::{Value, json};
use uuid::Uuid;

use crate::muscles::Named;

/// Everything in a data file.
#[derive(Debug)]
pub struct Log {
    /// Its reviews, oldest first.
    pub reviews: Vec<ReviewLog>,
}

/// One review in the log.
#[derive(Debug)]
pub struct ReviewLog {
    /// The join word.
    pub word: String,
    /// Whether it is over.
    pub ended: bool,
    /// Its events, in order.
    pub rows: Vec<LogRow>,
}

/// One event.
#[derive(Debug, Clone, PartialEq)]
pub struct LogRow {
    /// Number in the review, from 1.
    pub seq: u64,
    /// Milliseconds since the review opened.
    pub at_ms: u64,
    /// What kind of event.
    pub kind: String,
    /// The event as JSON.
    pub body: Value,
}

impl Log {
    /// Reads the data file of a folder.
    pub fn read(folder: &Path) -> Result<Self> {
        let path = folder.join("myonym.sqlite");
        let file = Connection::open_with_flags(&path, OpenFlags::SQLITE_OPEN_READ_ONLY)
            .with_context(|| path.display().to_string())?;
        let mut query = file.prepare("SELECT id, word, ended FROM review ORDER BY opened_s, id")?;
        let headers = query
            .query_map([], |row| Ok((row.get::<_, [u8; 16]>(0)?, row.get(1)?, row.get(2)?)))?;
        let mut reviews = Vec::new();
        for header in headers {
            let (id, word, ended) = header?;
            reviews.push(ReviewLog { word, ended, rows: rows(&file, id)? });
        }
        Ok(Self { reviews })
    }

    /// The review with this join word.
    pub fn review(&self, word: &str) -> Result<&ReviewLog> {
        let found = self.reviews.iter().find(|review| review.word == word);
        found.with_context(|| format!("no review {word} in the log"))
    }
}

impl ReviewLog {
    /// Events of one kind, in order.
    pub fn of(&self, kind: &str) -> impl Iterator<Item = &Value> {
        self.rows.iter().filter(move |row| row.kind == kind).map(|row| &row.body)
    }

    /// The muscle of the round opened last.
    pub fn asked(&self) -> Result<(u16, Named)> {
        let opened = self.of("round_opened").last().context("no round was opened")?;
        let text = |field: &str| opened[field].as_str().map(ToOwned::to_owned).context("no text");
        let round = opened["round"].as_u64().context("no round")?;
        let named = Named { key: text("muscle")?, name: text("name")?, latin: text("latin")? };
        Ok((u16::try_from(round)?, named))
    }

    /// The attempts that were recorded, each with student and round; fails if one was recorded
    /// twice, or if a student has two answers in a round.
    pub fn recorded(&self) -> Result<Vec<(String, u64, String)>> {
        let mut recorded: Vec<(String, u64, String)> = Vec::new();
        for answer in self.of("answered") {
            let text = |field: &str| answer[field].as_str().unwrap_or_default().to_owned();
            let (student, attempt) = (text("student"), text("attempt"));
            let round = answer["round"].as_u64().context("no round")?;
            let doubled = recorded
                .iter()
                .find(|(who, when, which)| *which == attempt || *who == student && *when == round);
            ensure!(doubled.is_none(), "{doubled:?} and {answer}");
            recorded.push((student, round, attempt));
        }
        Ok(recorded)
    }

    /// The events as the rules read them back; fails if they are not numbered on without a gap.
    pub fn replayable(&self) -> Result<Vec<Logged>> {
        for (expected, row) in (1..).zip(&self.rows) {
            ensure!(row.seq == expected, "event {} where {expected} should be", row.seq);
            ensure!(row.body["kind"] == row.kind.as_str(), "kinds differ: {row:?}");
        }
        let logged = |row: &LogRow| {
            let logged = json!({ "seq": row.seq, "at": row.at_ms, "event": row.body });
            serde_json::from_value(logged).with_context(|| format!("{row:?}"))
        };
        self.rows.iter().map(logged).collect()
    }
}

fn rows(file: &Connection, review: [u8; 16]) -> Result<Vec<LogRow>> {
    let mut query =
        file.prepare("SELECT seq, at_ms, kind, body FROM event WHERE review = ?1 ORDER BY seq")?;
    let read = |row: &Row<'_>| {
        let number = |at| row.get::<_, i64>(at).map(i64::unsigned_abs);
        Ok((number(0)?, number(1)?, row.get(2)?, row.get::<_, String>(3)?))
    };
    let rows = query.query_map([review], read)?;
    let parsed = rows.map(|row| {
        let (seq, at_ms, kind, body) = row?;
        let body = serde_json::from_str(&body)
            .with_context(|| format!("event {seq} of {}", Uuid::from_bytes(review)))?;
        Ok(LogRow { seq, at_ms, kind, body })
    });
    parsed.collect()
}

//! The files of a running host, copied, and what they hold.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{DEADLINE, Seat, TestHost};
use rusqlite::Connection;
use serde_json::Value;
use tempfile::TempDir;

use super::frames;
use crate::crowd::{Crowd, Place, Since, Tempo, take_seats};
use crate::stopwatch;

const STUDENTS: usize = 12;
const FILE: &str = "myonym.sqlite";
const LOG: &str = "myonym.sqlite-wal";

/// A data file and its write-ahead log.
#[derive(Debug)]
pub(super) struct Copied {
    file: Vec<u8>,
    /// The write-ahead log.
    pub(super) log: Vec<u8>,
    /// Where each commit ends in the log, and how many events there are then.
    pub(super) commits: Vec<(usize, usize)>,
    /// How many events were in the file itself.
    before: usize,
    /// All events, in order.
    pub(super) events: Vec<Event>,
    /// Where the class plays that left them; the address is the dead host's.
    pub(super) place: Place,
    /// Its seats.
    pub(super) seats: Vec<Seat>,
}

/// An event as it lies in the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Event {
    seq: i64,
    body: String,
    chain: Vec<u8>,
}

impl Event {
    /// The attempt, if it is an answer.
    pub(super) fn attempt(&self) -> Option<String> {
        let body: Value = serde_json::from_str(&self.body).ok()?;
        let answered = body["kind"] == "answered";
        body["attempt"].as_str().filter(|_| answered).map(ToOwned::to_owned)
    }
}

impl Copied {
    /// Lets a class play until this many commits are in the log, and copies the files from under it.
    pub(super) async fn make(commits: usize, seed: u64) -> Result<Self> {
        let host = TestHost::start(&["--rounds", "500"]).await?;
        let place = Place::of(&host);
        let seats = take_seats(&place, STUDENTS).await?;
        // A reader keeps the log from being moved into the file and begun anew.
        let reader = Connection::open(host.data().join(FILE))?;
        reader.busy_timeout(DEADLINE)?;
        reader.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))?;
        reader.execute_batch("BEGIN")?;
        reader.query_row("SELECT count(*) FROM event", [], |_| Ok(()))?;
        let crowd = Crowd::seated(place.clone(), seats.clone(), Tempo::default(), seed);
        let log = host.data().join(LOG);
        while !log.exists() || frames::commits(&fs::read(&log)?)?.len() < commits {
            let on = crowd.goes_on(Since::Any(stopwatch::now())).await?;
            ensure!(on.is_some(), "the class does not play");
        }
        let told = crowd.ledger().attempts().clone();
        let file = fs::read(host.data().join(FILE))?;
        let log = fs::read(log)?;
        Self { file, log, commits: Vec::new(), before: 0, events: Vec::new(), place, seats }
            .understood(&told)
    }

    /// Finds out what each commit brought, from copies that end there; what students were told is
    /// recorded when the copy was made must be in it.
    fn understood(mut self, told: &BTreeSet<String>) -> Result<Self> {
        let folder = TempDir::new()?;
        let held = |log: &[u8]| {
            self.put(folder.path(), log)?;
            opened(folder.path())
        };
        let before = held(&[])?.len();
        let mut commits = Vec::new();
        for end in frames::commits(&self.log)? {
            commits.push((end, held(&self.log[..end])?.len()));
        }
        let events = held(&self.log)?;
        let kept: BTreeSet<_> = events.iter().filter_map(Event::attempt).collect();
        ensure!(
            told.is_subset(&kept),
            "recorded, and not in the copy: {:?}",
            told.difference(&kept)
        );
        ensure!(!kept.is_empty(), "no answers in the copy");
        (self.before, self.commits, self.events) = (before, commits, events);
        Ok(self)
    }

    /// How many events were committed before this byte of the log.
    pub(super) fn held_at(&self, byte: usize) -> usize {
        let before = self.commits.partition_point(|(end, _)| *end <= byte);
        before.checked_sub(1).map_or(self.before, |last| self.commits[last].1)
    }

    /// Writes the file and a log into a folder, in place of any others.
    pub(super) fn put(&self, folder: &Path, log: &[u8]) -> Result<()> {
        let _ = fs::remove_file(folder.join("myonym.sqlite-shm"));
        fs::write(folder.join(FILE), &self.file)?;
        Ok(fs::write(folder.join(LOG), log)?)
    }
}

/// Opens what lies in a folder as any program with `SQLite` would, and gives its events if the file is
/// whole.
pub(super) fn opened(folder: &Path) -> Result<Vec<Event>> {
    let file = Connection::open(folder.join(FILE))?;
    let whole: String = file.query_row("PRAGMA integrity_check", [], |row| row.get(0))?;
    ensure!(whole == "ok", "the file is not whole: {whole}");
    let mut query = file.prepare("SELECT seq, body, chain FROM event ORDER BY review, seq")?;
    let rows = query.query_map([], |row| {
        Ok(Event { seq: row.get(0)?, body: row.get(1)?, chain: row.get(2)? })
    })?;
    rows.collect::<Result<_, _>>().context("it cannot be read")
}

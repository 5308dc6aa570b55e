//! A class at a host: what the faults of the network break, and what everyone was told in the end.

use std::time::Duration;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Instructor, TestHost, http};
use serde_json::json;
use tokio::time::Instant;

use super::cohort::{Cohort, Desk, Diary, Habits, Seen, Way};
use crate::crowd::{Audit, Ledger};
use crate::table::Row;

/// How long something may take that has to happen at all. Reported is how long it took.
pub(crate) const PATIENCE: Duration = Duration::from_mins(2);

/// A class in a review that moves itself on.
#[derive(Debug)]
pub(crate) struct Hall {
    /// The students.
    pub(crate) cohort: Cohort,
    /// The way that they take.
    pub(crate) way: Way,
    desk: Desk,
}

impl Hall {
    /// A class of the review at the end of this way, by which the instructor comes as well.
    pub(crate) async fn gather(
        way: Way,
        key: &str,
        students: usize,
        habits: &Habits,
        seed: u64,
    ) -> Result<Self> {
        let mut hall = Self::empty(way, key, seed)?;
        hall.join(students, habits).await?;
        hall.start();
        Ok(hall)
    }

    /// The review in hand, and nobody there yet.
    pub(crate) fn empty(way: Way, key: &str, seed: u64) -> Result<Self> {
        let desk = Desk::take(way.clone(), key);
        Ok(Self { cohort: Cohort::new(seed)?, way, desk })
    }

    /// More students come, and are waited for.
    pub(crate) async fn join(&mut self, students: usize, habits: &Habits) -> Result<()> {
        let all = self.cohort.seen().seated + students;
        self.cohort.call(students, &self.way, habits);
        self.cohort.until("everyone seated", PATIENCE, |seen| seen.seated == all).await?;
        Ok(())
    }

    /// Opens the first round.
    pub(crate) fn start(&self) {
        self.desk.start();
    }

    /// Opens another review at the same host, which moves itself on as well.
    pub(crate) async fn another(host: &TestHost) -> Result<Way> {
        let settings = json!({
            "list": "shoulder", "rounds": 500, "limit_ms": 10_000,
            "pace": { "kind": "automatic", "reveal_ms": 1_000 },
        });
        let opened = Instructor::open(host.address, &host.key, settings).await?;
        Ok(Way { to: host.address, from: None, word: opened.word()? })
    }

    /// Waits for an answer that is recorded from now on, and gives how long it took.
    pub(crate) async fn goes_on(&mut self) -> Result<Duration> {
        let (since, before) = (Instant::now(), self.cohort.seen().recorded);
        let more = |seen: Seen| seen.recorded > before;
        self.cohort.until("an answer recorded", PATIENCE, more).await?;
        Ok(since.elapsed())
    }

    /// Waits until so many rounds have been played from now on, and times in each how long it takes to
    /// an answer recorded.
    pub(crate) async fn plays(&mut self, rounds: usize, row: &mut Row) -> Result<()> {
        for _ in 0..=rounds {
            let before = self.cohort.seen().round;
            let next = |seen: Seen| seen.round > before;
            self.cohort.until("the next round", PATIENCE, next).await?;
            row.went_on.push(self.goes_on().await?);
        }
        Ok(())
    }

    /// Waits for a round of which some answers are recorded and others are not.
    pub(crate) async fn mid_round(&mut self, students: usize) -> Result<()> {
        let before = self.cohort.seen().round;
        let under_way =
            |seen: Seen| seen.round > before && (students / 3..students).contains(&seen.of_round);
        self.cohort.until("a round under way", PATIENCE, under_way).await?;
        Ok(())
    }

    /// Ends the review, hears everyone to the end, and counts it into the row.
    pub(crate) async fn end(self, host: &TestHost, row: &mut Row) -> Result<Vec<Diary>> {
        let word = self.way.word.clone();
        let diaries = self.finish().await?;
        count(row, audit(&diaries, host.log()?.review(&word)?)?);
        Ok(diaries)
    }

    /// Ends the review and hears everyone to the end.
    pub(crate) async fn finish(mut self) -> Result<Vec<Diary>> {
        self.desk.end(PATIENCE).await?;
        self.cohort.end(PATIENCE).await
    }
}

/// The way to a host's own review without anything in between.
pub(crate) fn straight(host: &TestHost) -> Way {
    Way { to: host.address, from: None, word: host.word.clone() }
}

/// Adds what was counted of a review.
pub(crate) fn count(row: &mut Row, audit: Audit) {
    row.acknowledged += audit.acknowledged;
    row.lost += audit.lost;
    row.doubled += audit.doubled;
}

/// Holds what the students were told against the log.
pub(crate) fn audit(diaries: &[Diary], log: &myonym_tests::ReviewLog) -> Result<Audit> {
    let mut ledger = Ledger::default();
    for diary in diaries {
        let student = diary.student.as_ref().context("a student without a seat")?;
        let total = diary.total.context("a student who was not told its points")?;
        ledger.total(student, total);
        for attempt in diary.recorded.keys() {
            ledger.acknowledge(attempt);
        }
    }
    ledger.audit(log)
}

/// A number on the host's page of counts, by name and labels as they stand there.
pub(crate) async fn counted(host: &TestHost, row: &str) -> Result<u64> {
    let page = http(host.address, "GET /metrics HTTP/1.1").await?;
    ensure!(page.status == 200, "{page:?}");
    let line = page.body.lines().find_map(|line| line.strip_prefix(row)?.strip_prefix(' '));
    line.with_context(|| format!("no {row} on the page"))?.parse().context("no number")
}

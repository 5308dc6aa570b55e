//! What a class has heard, and how it is held against the log.

use std::collections::{BTreeMap, BTreeSet};
use std::time::{Duration, Instant};

use anyhow::{Context as _, Result, ensure};
use myonym_engine::{Review, standings};
use myonym_tests::{Recount, ReviewLog};
use serde_json::Value;

use super::Since;
use crate::stopwatch;

/// What a class has heard.
#[derive(Debug, Default)]
pub(crate) struct Ledger {
    /// Attempts that their students were told are recorded.
    acknowledged: BTreeSet<String>,
    /// Those of them that were not there any more when their student came back, though it would send
    /// them again.
    lost: BTreeSet<String>,
    /// Totals told at the end, in hundredths of a point, by student.
    totals: BTreeMap<String, i64>,
    signs: Vec<Sign>,
    wrong: Vec<String>,
    /// Times that the instructor was told that answers cannot be saved.
    pub(crate) instructor_troubles: usize,
    /// Times that a student in a seat was sent away to come back.
    pub(crate) sent_away: usize,
    /// Times that the connection of a student in a seat ended without a word.
    pub(crate) cut_off: usize,
    /// How long each answer took from its sending until its student was told that it is recorded, where
    /// both were on one connection.
    pub(crate) waits: Vec<Duration>,
}

/// Something heard that shows that the review goes on.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sign {
    /// When its connection was opened.
    pub(super) opened: Instant,
    /// When it was heard.
    pub(super) at: Instant,
}

/// What the log holds of what was heard.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Audit {
    /// Answers acknowledged as recorded.
    pub(crate) acknowledged: usize,
    /// Those of them that are not in the log.
    pub(crate) lost: usize,
    /// Answers in the log beside the only one of their student and round.
    pub(crate) doubled: usize,
}

impl Ledger {
    /// Attempts that were acknowledged so far.
    pub(crate) fn attempts(&self) -> &BTreeSet<String> {
        &self.acknowledged
    }

    /// An answer was told to be recorded; whether that was not known before.
    pub(crate) fn acknowledge(&mut self, attempt: &str) -> bool {
        self.acknowledged.insert(attempt.to_owned())
    }

    /// A student comes back to a round and is told that an attempt of its own is not recorded.
    pub(super) fn not_there(&mut self, attempt: &str) {
        if self.acknowledged.contains(attempt) {
            self.lost.insert(attempt.to_owned());
        }
    }

    pub(super) fn shows(&mut self, opened: Instant) {
        self.signs.push(Sign { opened, at: stopwatch::now() });
    }

    pub(crate) fn total(&mut self, student: &str, total: i64) {
        self.totals.insert(student.to_owned(), total);
    }

    /// Something was told that must not be, or somebody cannot go on.
    pub(super) fn wrong(&mut self, what: String) {
        self.wrong.push(what);
    }

    /// Fails if something went wrong.
    pub(super) fn is_right(&self) -> Result<()> {
        ensure!(self.wrong.is_empty(), "{}", self.wrong.join("; "));
        Ok(())
    }

    /// The first sign since; fails if something went wrong.
    pub(super) fn sign(&self, since: Since) -> Result<Option<Instant>> {
        self.is_right()?;
        let counts = |sign: &&Sign| match since {
            Since::Any(since) => sign.at > since,
            Since::Anew(since) => sign.opened > since && sign.at > since,
        };
        Ok(self.signs.iter().find(counts).map(|sign| sign.at))
    }

    /// Counts what is lost and doubled; fails if the log does not replay, or to other standings than
    /// those counted again from its raw answers, or if a student was told another total.
    pub(crate) fn audit(&self, log: &ReviewLog) -> Result<Audit> {
        self.is_right()?;
        let mut attempts = BTreeSet::new();
        let mut places = BTreeSet::new();
        for answer in log.of("answered") {
            attempts.insert(text(answer, "attempt")?);
            places.insert((text(answer, "student")?, answer["round"].as_u64()));
        }
        let all = log.of("answered").count();
        let gone = self.acknowledged.difference(&attempts);
        let lost = gone.chain(&self.lost).collect::<BTreeSet<_>>().len();
        let doubled = all - attempts.len().min(places.len());
        self.check_standings(log)?;
        Ok(Audit { acknowledged: self.acknowledged.len(), lost, doubled })
    }

    fn check_standings(&self, log: &ReviewLog) -> Result<()> {
        let recount = Recount::of(log)?;
        let rounds = recount.rounds.len();
        let review = Review::replay(&log.replayable()?).context("the log does not replay")?;
        let counted = recount.standings_after(rounds)?;
        let counted: BTreeMap<_, _> =
            counted.iter().map(|line| (line.student.as_str(), (line.place, line.points))).collect();
        let replayed = standings(&review);
        ensure!(replayed.len() == counted.len(), "{replayed:?} beside {counted:?}");
        for line in replayed {
            let (student, points) = (line.student.0.to_string(), line.points.0);
            let own = counted.get(student.as_str());
            ensure!(own == Some(&(u64::from(line.place), points)), "{line:?} beside {own:?}");
        }
        for (student, total) in &self.totals {
            let counted = recount.total_after(rounds, student)?;
            ensure!(*total == counted, "{student} was told {total}, the log comes to {counted}");
        }
        Ok(())
    }
}

fn text(body: &Value, field: &str) -> Result<String> {
    body[field].as_str().map(ToOwned::to_owned).with_context(|| format!("no {field} in {body}"))
}

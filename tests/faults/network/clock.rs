//! Clocks that jump: students claim any elapsed time, and the host's wall clock is set an hour and a day
//! forth and back while rounds are open. Rounds last as long as they should by the monotonic clock, and
//! the log is numbered on without a gap.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Client, ReviewLog, Role, TestHost};
use rand::RngExt as _;
use rand::rngs::ChaCha8Rng;
use tempfile::TempDir;
use tokio::time::{Instant, sleep};

use super::cohort::{Habits, Seen};
use super::hall::{Hall, PATIENCE, straight};
use crate::options::Given;
use crate::table::{Outcome, Row};

const STUDENTS: usize = 12;
const LIMIT_MS: u64 = 3_000;
/// That somebody came or went is for the level `debug`.
const OPTIONS: [&str; 10] = [
    "--pace",
    "automatic",
    "--reveal",
    "200ms",
    "--limit",
    "3s",
    "--rounds",
    "100",
    "--log-level",
    "debug",
];
/// Where the wall clock is set, from where it was at first; the last is right again.
const JUMPS: [&str; 5] = ["+1h", "-1h", "+1d", "-1d", "+0"];
/// A round that is late by this much was closed by another clock: the least jump is an hour.
const FAR_OUT_MS: u64 = 1_800_000;

/// Sets the host's wall clock, a jump a round, where the library for it is installed; claims are drawn
/// in any case.
pub(crate) async fn run(given: Given) -> Result<Outcome> {
    let Some(library) = library() else {
        let why = "libfaketime is not installed (package faketime)";
        return Ok(Outcome::NotHere(why.to_owned()));
    };
    let folder = TempDir::new()?;
    let clock = folder.path().join("clock");
    fs::write(&clock, "+0")?;
    let host = start(&library, &clock).await?;
    let lying = Habits { think_ms: (200, 4_000), claims, ..Habits::default() };
    let began = Instant::now();
    let mut hall = Hall::gather(straight(&host), &host.key, STUDENTS, &lying, given.seed).await?;
    hall.mid_round(3).await?;
    let inner = Instant::now();
    let jumps: Vec<_> = JUMPS.into_iter().cycle().take(JUMPS.len() * given.pick(1, 2)).collect();
    let mut row = Row { tried: jumps.len(), ..Row::default() };
    for jump in jumps {
        let round = hall.cohort.seen().round;
        let open = |seen: Seen| seen.round > round;
        hall.cohort.until("the next round", PATIENCE, open).await?;
        row.went_on.push(hall.goes_on().await?);
        fs::write(&clock, jump)?;
        date_a_line(&host).await?;
    }
    hall.goes_on().await?;
    let inner = inner.elapsed();
    hall.end(&host, &mut row).await?;
    let log = host.log()?;
    check_rounds(log.review(&host.word)?, inner, began.elapsed())?;
    check_jumped(&host)?;
    row.note.push_str("the time is that from a round's clue to an answer recorded in it");
    host.is_sound()?;
    Ok(Outcome::Tried(row))
}

/// What a student claims: the truth, or anything.
fn claims(truth: u64, random: &mut ChaCha8Rng) -> u64 {
    const HOUR: u64 = 3_600_000;
    let lies = [0, truth, truth + HOUR, truth + 24 * HOUR, u64::MAX, u64::MAX - HOUR, 1 << 63];
    lies[random.random_range(0..lies.len())]
}

fn library() -> Option<PathBuf> {
    let folders = fs::read_dir("/usr/lib").ok()?.flatten().map(|entry| entry.path());
    let in_folder = |folder: PathBuf| folder.join("faketime/libfaketimeMT.so.1");
    folders
        .map(in_folder)
        .chain([PathBuf::from("/usr/lib/faketime/libfaketimeMT.so.1")])
        .find(|path| path.exists())
}

/// A host whose wall clock is what a file says; its monotonic clock is the system's.
async fn start(library: &Path, clock: &Path) -> Result<TestHost> {
    let mut host = TestHost::start_to_be_restarted(&OPTIONS).await?;
    host.stop().await?;
    let text = |path: &Path| path.to_str().map(ToOwned::to_owned).context("an odd path");
    host.run_with(&[
        ("LD_PRELOAD", &text(library)?),
        ("FAKETIME_TIMESTAMP_FILE", &text(clock)?),
        ("FAKETIME_NO_CACHE", "1"),
        ("FAKETIME_DONT_FAKE_MONOTONIC", "1"),
        ("DONT_FAKE_MONOTONIC", "1"),
    ]);
    host.restart().await?;
    Ok(host)
}

/// Each round by the log's own clock, and all of them by ours: the log's time from the first answer that
/// we heard of to the end lies between what we saw of it and the whole that we waited.
fn check_rounds(log: &ReviewLog, inner: Duration, whole: Duration) -> Result<()> {
    log.replayable()?;
    let mut opened_at = None;
    let mut first = None;
    let mut last = 0;
    for row in &log.rows {
        ensure!(row.at_ms >= last, "event {} is before the one before it", row.seq);
        last = row.at_ms;
        let since = |at: Option<u64>| at.map(|at| row.at_ms - at).context("no round is open");
        match row.kind.as_str() {
            "round_opened" => {
                opened_at = Some(row.at_ms);
                first = first.or(opened_at);
            }
            "answered" => {
                let (seen, credited) = (since(opened_at)?, row.body["elapsed_ms"].as_u64());
                let credited = credited.context("no elapsed time")?;
                ensure!(credited <= seen, "{credited} ms credited after {seen}");
            }
            "round_closed" if row.body["why"] == "time_up" => {
                let lasted = since(opened_at)?;
                ensure!(lasted >= LIMIT_MS, "a round was closed early, after {lasted} ms");
                ensure!(lasted < LIMIT_MS + FAR_OUT_MS, "a round was closed after {lasted} ms");
            }
            _ => {}
        }
    }
    let span = Duration::from_millis(last - first.context("no round")?);
    ensure!(inner <= span && span <= whole, "{span:?} in the log, not from {inner:?} to {whole:?}");
    Ok(())
}

/// Has the host write a line into its operations log, which has the date of its wall clock.
async fn date_a_line(host: &TestHost) -> Result<()> {
    let lines = || Ok::<_, anyhow::Error>(host.operations_log()?.lines().count());
    let (before, since) = (lines()?, Instant::now());
    // One who comes and goes without a word.
    drop(Client::open(host.address, Role::Student).await?);
    while lines()? == before {
        ensure!(since.elapsed() < PATIENCE, "the host does not write of a connection that ended");
        sleep(Duration::from_millis(10)).await;
    }
    Ok(())
}

/// The operations log, which is dated by the wall clock, tells of three days.
fn check_jumped(host: &TestHost) -> Result<()> {
    let said = host.operations_log()?;
    let days: BTreeSet<_> =
        said.lines().filter_map(|line| line.split_once('T')).map(|(day, _)| day).collect();
    ensure!(days.len() >= 3, "the wall clock did not jump: {days:?}");
    Ok(())
}

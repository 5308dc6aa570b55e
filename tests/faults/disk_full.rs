//! The disk fills up in the middle of a round, and has room again some time later.

use std::fs::{self, File};
use std::io::{ErrorKind, Write as _};
use std::path::{Path, PathBuf};
use std::time::Duration;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{DEADLINE, TestHost};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt as _, SeedableRng as _};
use rusqlite::Connection;
use tempfile::TempDir;
use tokio::time::sleep;

use crate::crowd::{Audit, Crowd, Place, Since, Tempo};
use crate::mount::Mount;
use crate::options::Given;
use crate::stopwatch;
use crate::table::{Outcome, Row};

const STUDENTS: usize = 12;
const MIB: u64 = 8;

/// Fills the disk as often as the size asks for.
pub(crate) async fn run(given: Given) -> Result<Outcome> {
    let mount = match Mount::small(MIB) {
        Ok(mount) => mount,
        Err(why) => return Ok(Outcome::NotHere(format!("{why:#}"))),
    };
    let times = given.pick(2, 20);
    let mut random = ChaCha8Rng::seed_from_u64(given.seed);
    let folder = TempDir::with_prefix("myonym-test-")?;
    mount.is_also_at(&folder.path().join("data"))?;
    let host = TestHost::start_in_to_be_restarted(folder, &["--rounds", "500"]).await?;
    let place = Place::of(&host);
    let mut crowd = Crowd::gather(place, STUDENTS, Tempo::default(), random.random()).await?;
    let mut row = Row::default();
    for time in 1..=times {
        crowd.some_moment(&mut random).await?;
        let full_for = Duration::from_millis(random.random_range(0..2_500));
        fill_up(&mut row, &host, &crowd, full_for).await.with_context(|| format!("time {time}"))?;
        given.say(&format!("full {time} times, {} answers", crowd.ledger().attempts().len()));
    }
    let audit = finished(host, &mut crowd).await?;
    row.count(audit);
    row.note = format!(
        "{MIB} MiB of {}; each time the instructor was told that nothing can be saved; the time is that \
         from room on the disk to the first clue or newly recorded answer",
        mount.kind
    );
    Ok(Outcome::Tried(row))
}

async fn fill_up(row: &mut Row, host: &TestHost, crowd: &Crowd, full_for: Duration) -> Result<()> {
    let data = host.data();
    empty_log(&data)?;
    let told = crowd.ledger().instructor_troubles;
    let ballast = fill(&data)?;
    crowd.heard(|ledger| ledger.instructor_troubles > told).await.context("no word of it")?;
    sleep(full_for).await;
    // Nothing was shown as recorded that is not there, full as it is.
    let shown = crowd.ledger().attempts().clone();
    let log = host.log()?;
    let kept = log.review(&host.word)?.recorded()?;
    let missing = shown.iter().find(|shown| !kept.iter().any(|(_, _, kept)| kept == *shown));
    ensure!(missing.is_none(), "{missing:?} was shown as recorded and is not");
    let freed = stopwatch::now();
    fs::remove_file(ballast)?;
    row.tried += 1;
    match crowd.goes_on(Since::Any(freed)).await? {
        Some(took) => row.went_on.push(took),
        None => row.stuck += 1,
    }
    Ok(())
}

/// Moves all of the write-ahead log into the file and leaves it empty, so that the very next commit
/// needs room.
pub(crate) fn empty_log(data: &Path) -> Result<()> {
    let file = Connection::open(data.join("myonym.sqlite"))?;
    file.busy_timeout(DEADLINE)?;
    file.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).context("a checkpoint")
}

/// Takes all room there is, to the last byte.
fn fill(data: &Path) -> Result<PathBuf> {
    let path = data.join("ballast");
    let mut ballast = File::create_new(&path)?;
    for size in [1 << 16, 1 << 12, 1] {
        let bytes = vec![7; size];
        let full = loop {
            if let Err(fault) = ballast.write_all(&bytes) {
                break fault;
            }
        };
        ensure!(full.kind() == ErrorKind::StorageFull, "cannot fill the disk: {full}");
    }
    Ok(path)
}

/// The end of a review whose host may rightly have complained, but not panicked: what was told is held
/// against what the next host finds.
pub(crate) async fn finished(mut host: TestHost, crowd: &mut Crowd) -> Result<Audit> {
    crowd.end().await?;
    ensure!(!host.operations_log()?.contains("panicked"), "the host panicked");
    host.kill9().await?;
    let log = host.log()?;
    crowd.audit(log.review(&host.word)?)
}

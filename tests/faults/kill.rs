//! The host is killed again and again, as a power cut would, while the class answers.

use std::time::{Duration, Instant};

use anyhow::{Context as _, Result};
use myonym_tests::TestHost;
use rand::rngs::ChaCha8Rng;
use rand::{RngExt as _, SeedableRng as _};
use tokio::time::sleep;

use crate::crowd::{Crowd, Place, Since, Tempo};
use crate::options::Given;
use crate::shim::Shim;
use crate::stopwatch;
use crate::table::{Outcome, Row};

const STUDENTS: usize = 20;
/// Kills of one review, on one data folder; a review has 500 rounds at most.
const OF_A_REVIEW: usize = 100;
/// A kill comes this long after a start, in milliseconds: before anyone is back, or in a round.
const AFTER: std::ops::Range<u64> = 20..250;
/// What is added to each sync, in milliseconds, so that a kill meets answers on their way to the disk:
/// a fast disk would have them before it comes.
const SLOW_MS: &str = "20";

/// Kills as often as the size asks for.
pub(crate) async fn run(given: Given) -> Result<Outcome> {
    let mut left = given.pick(10, 300);
    let mut row = Row::default();
    let mut random = ChaCha8Rng::seed_from_u64(given.seed);
    let mut early = 0;
    let shim = Shim::build();
    while left > 0 {
        let kills = left.min(OF_A_REVIEW);
        early += review(&mut row, &mut random, kills, (shim.as_ref().ok(), &given)).await?;
        left -= kills;
    }
    let slow = match shim {
        Ok(_) => format!("{SLOW_MS} ms more for each sync"),
        Err(why) => format!("a kill hardly meets an answer on its way to the disk, for {why:#}"),
    };
    row.note = format!(
        "{slow}; the time is that from the start of the process to the first clue or newly recorded \
         answer; {early} kills came before that, and are not in it"
    );
    Ok(Outcome::Tried(row))
}

/// One review with so many kills; gives how many came before it had gone on.
async fn review(
    row: &mut Row,
    random: &mut ChaCha8Rng,
    kills: usize,
    (shim, given): (Option<&Shim>, &Given),
) -> Result<usize> {
    let mut host = TestHost::start_to_be_restarted(&["--rounds", "500"]).await?;
    if let Some(shim) = shim {
        shim.stands_before(&mut host, SLOW_MS)?;
    }
    let tempo = Tempo { reveal: Duration::from_millis(30), thinks: Duration::from_millis(30) };
    let mut crowd = Crowd::gather(Place::of(&host), STUDENTS, tempo, random.random()).await?;
    let mut started = stopwatch::now();
    let mut early = 0;
    for kill in 1..=kills {
        // Half of the kills wait until the review has gone on, for its time and a round under way.
        let waits = random.random() || kill == 1;
        if waits {
            went_on(row, &crowd, started)
                .await
                .with_context(|| format!("after kill {}", kill - 1))?;
        } else {
            early += 1;
        }
        sleep(Duration::from_millis(random.random_range(AFTER))).await;
        host.kill9().await?;
        row.tried += 1;
        started = stopwatch::now();
        host.restart().await.with_context(|| format!("after kill {kill}"))?;
        if kill % 20 == 0 {
            given.say(&format!("{} kills, {} answers", row.tried, crowd.ledger().attempts().len()));
        }
    }
    went_on(row, &crowd, started).await?;
    crowd.end().await?;
    host.is_sound()?;
    let log = host.log()?;
    let audit = crowd.audit(log.review(&host.word)?)?;
    row.count(audit);
    Ok(early)
}

async fn went_on(row: &mut Row, crowd: &Crowd, started: Instant) -> Result<()> {
    let first = row.tried == 0;
    match crowd.goes_on(Since::Anew(started)).await? {
        Some(took) if !first => row.went_on.push(took),
        Some(_) => {}
        None => row.stuck += 1,
    }
    Ok(())
}

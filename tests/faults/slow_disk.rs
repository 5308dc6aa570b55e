//! A disk that is slow to sync, and one whose sync fails.

use anyhow::{Context as _, Result};
use myonym_tests::TestHost;
use rand::SeedableRng as _;
use rand::rngs::ChaCha8Rng;

use crate::crowd::{Crowd, Place, Since, Tempo};
use crate::disk_full::{empty_log, finished};
use crate::options::Given;
use crate::shim::Shim;
use crate::stopwatch;
use crate::table::{Outcome, Row};

const STUDENTS: usize = 20;
/// What is added to each sync, in milliseconds.
const SLOW_MS: &str = "30";

/// Every sync takes longer. Each answer is a try, and the time is its own: from its sending until it
/// was told to be recorded.
pub(crate) async fn slow(given: Given) -> Result<Outcome> {
    let shim = match Shim::build() {
        Ok(shim) => shim,
        Err(why) => return Ok(Outcome::NotHere(format!("{why:#}"))),
    };
    let (host, mut crowd) = play(&shim, SLOW_MS, given.seed).await?;
    let answers = given.pick(5, 40) * STUDENTS;
    crowd.heard(|ledger| ledger.attempts().len() >= answers).await?;
    let mut row = Row { went_on: crowd.ledger().waits.clone(), ..Row::default() };
    row.count(finished(host, &mut crowd).await?);
    row.tried = row.acknowledged;
    let mut waits = row.went_on.clone();
    waits.sort_unstable();
    let p99 = waits.get(waits.len() * 99 / 100).context("no answer")?;
    row.note = format!(
        "{SLOW_MS} ms more for each sync; the time is that from an answer's sending until it was \
         recorded, 99 of 100 within {} ms",
        p99.as_millis()
    );
    Ok(Outcome::Tried(row))
}

/// A sync fails now and then. The host may not go on as if nothing was: it says that it cannot save,
/// reads back what is there and goes on from that.
pub(crate) async fn failing(given: Given) -> Result<Outcome> {
    let shim = match Shim::build() {
        Ok(shim) => shim,
        Err(why) => return Ok(Outcome::NotHere(format!("{why:#}"))),
    };
    let (host, mut crowd) = play(&shim, "0", given.seed).await?;
    let mut random = ChaCha8Rng::seed_from_u64(given.seed);
    let mut row = Row::default();
    for time in 1..=given.pick(2, 30) {
        crowd.some_moment(&mut random).await?;
        // No checkpoint comes in between, whose sync is another matter: it loses nothing, and is tried
        // again.
        empty_log(&host.data())?;
        let told = crowd.ledger().instructor_troubles;
        shim.fail_once()?;
        let no_word = || format!("no word of failure {time}");
        crowd.heard(|ledger| ledger.instructor_troubles > told).await.with_context(no_word)?;
        row.tried += 1;
        match crowd.goes_on(Since::Any(stopwatch::now())).await? {
            Some(took) => row.went_on.push(took),
            None => row.stuck += 1,
        }
        if time % 10 == 0 {
            given.say(&format!("{time} failures, {} answers", crowd.ledger().attempts().len()));
        }
    }
    row.count(finished(host, &mut crowd).await?);
    "one sync fails with EIO; the time is that from the word that nothing can be saved to the first \
     clue or newly recorded answer"
        .clone_into(&mut row.note);
    Ok(Outcome::Tried(row))
}

/// A host with such a disk, and a class that plays there.
async fn play(shim: &Shim, slow_ms: &str, seed: u64) -> Result<(TestHost, Crowd)> {
    let mut host = TestHost::start_to_be_restarted(&["--rounds", "500"]).await?;
    host.stop().await?;
    shim.stands_before(&mut host, slow_ms)?;
    host.restart().await?;
    let crowd = Crowd::gather(Place::of(&host), STUDENTS, Tempo::default(), seed).await?;
    Ok((host, crowd))
}

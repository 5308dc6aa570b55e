//! What a power cut leaves: the tail of the write-ahead log cut off or zeroed, or a bit of it turned.
//!
//! The files are copied from under a running host. A commit is whole when its last frame and all
//! before it are, so what must be there after the damage is known from the bytes alone.

mod copied;
mod damage;
mod frames;

use std::fs;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::TestHost;
use rand::rngs::ChaCha8Rng;
use rand::{RngExt as _, SeedableRng as _};
use tempfile::TempDir;

use crate::crowd::{Crowd, Place, Since, Tempo};
use crate::options::Given;
use crate::stopwatch;
use crate::table::{Outcome, Row};
use copied::{Copied, Event, opened};
use damage::Damage;

/// Damages copies as often as the size asks for, and starts the real program on some of them.
pub(crate) async fn run(given: Given) -> Result<Outcome> {
    let (commits, trials, started) = given.pick((60, 200, 2), (300, 2_500, 60));
    let mut random = ChaCha8Rng::seed_from_u64(given.seed);
    let copied = Copied::make(commits, random.random()).await?;
    given.say(&format!("{} commits, {} bytes", copied.commits.len(), copied.log.len()));
    let folder = TempDir::new()?;
    let mut row = Row::default();
    for trial in 0..trials {
        let damage = Damage::draw(&mut random, copied.log.len());
        let log = damage.done_to(&copied.log);
        let at_least = copied.held_at(damage.at);
        let tried = if trial % (trials / started) == 0 {
            start(&mut row, &copied, &log, at_least, random.random()).await
        } else {
            copied.put(folder.path(), &log)?;
            opened(folder.path()).and_then(|held| compare(&mut row, &copied, &held, at_least))
        };
        tried.with_context(|| format!("trial {trial}, {damage:?}"))?;
        row.tried += 1;
        if trial % 250 == 249 {
            given.say(&format!("{} trials", trial + 1));
        }
    }
    row.note = format!(
        "{} commits; acknowledged are the answers committed before the damage, over all trials; the \
         time is that from the program's start to the first clue or newly recorded answer",
        copied.commits.len()
    );
    Ok(Outcome::Tried(row))
}

/// What is held must be the first of what there was, and at least so many.
fn compare(row: &mut Row, copied: &Copied, held: &[Event], at_least: usize) -> Result<()> {
    ensure!(copied.events.starts_with(held), "what is held was never written so");
    let answers = |events: &[Event]| events.iter().filter_map(Event::attempt).count();
    row.acknowledged += answers(&copied.events[..at_least]);
    row.lost += answers(copied.events.get(held.len()..at_least).unwrap_or_default());
    ensure!(held.len() >= at_least, "{} events of {at_least} that were committed", held.len());
    Ok(())
}

/// Starts the program on it; the class comes back to its seats and plays on to an end.
async fn start(
    row: &mut Row,
    copied: &Copied,
    log: &[u8],
    at_least: usize,
    seed: u64,
) -> Result<()> {
    let folder = TempDir::with_prefix("myonym-test-")?;
    let data = folder.path().join("data");
    fs::create_dir(&data)?;
    copied.put(&data, log)?;
    let begun = stopwatch::now();
    let Place { key, word, .. } = &copied.place;
    let host = TestHost::start_from(folder, key.clone(), &["--rounds", "500"]).await?;
    ensure!(host.word == *word, "another review was opened");
    let held = opened(&data)?;
    // What the program has added since comes after it.
    let same = held.iter().zip(&copied.events).take_while(|(held, was)| held == was).count();
    compare(row, copied, &held[..same], at_least)?;
    let seats = copied.seats.clone();
    let mut crowd = Crowd::seated(Place::of(&host), seats, Tempo::default(), seed);
    match crowd.goes_on(Since::Any(begun)).await? {
        Some(took) => row.went_on.push(took),
        None => row.stuck += 1,
    }
    crowd.end().await?;
    host.is_sound()?;
    let audit = crowd.audit(host.log()?.review(word)?)?;
    row.count(audit);
    Ok(())
}

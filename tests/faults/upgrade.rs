//! Another program takes over in the middle of a review, as on the day of an upgrade.

use std::fs;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Client, OLD_FILES, OldFile, Program, Role, Seat, TestHost, put_old_file};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt as _, SeedableRng as _};
use rusqlite::Connection;
use serde_json::json;
use tempfile::TempDir;

use crate::crowd::{Crowd, Place, Since, Tempo};
use crate::options::Given;
use crate::stopwatch;
use crate::table::{Outcome, Row};

const STUDENTS: usize = 20;

/// Stops a host in good order and starts another program in its place, on the same folder and port,
/// again and again; then opens a file of every older form, and one of a form to come.
pub(crate) async fn run(given: Given) -> Result<Outcome> {
    let mut row = Row::default();
    let mut random = ChaCha8Rng::seed_from_u64(given.seed);
    let times = given.pick(2, 30);
    in_review(&mut row, &mut random, times, &given).await?;
    given.say("older forms");
    for file in &OLD_FILES {
        let form = file.form;
        older(&mut row, file, random.random()).await.with_context(|| format!("form {form}"))?;
    }
    newer(&mut row).await.context("a form to come")?;
    row.note = format!(
        "{times} times another copy of the program takes over, {} times a review in a file of an older \
         form goes on, one file of a form to come is refused and stays as it is; the time is that from \
         the start of the process to the first clue or newly recorded answer",
        OLD_FILES.len()
    );
    Ok(Outcome::Tried(row))
}

async fn in_review(
    row: &mut Row,
    random: &mut ChaCha8Rng,
    times: usize,
    given: &Given,
) -> Result<()> {
    let place = TempDir::with_prefix("myonym-next-")?;
    let copies = ["one", "other"].map(|name| place.path().join(name));
    for copy in &copies {
        fs::copy(&Program::built()?.host, copy)?;
    }
    let mut host = TestHost::start_to_be_restarted(&["--rounds", "500"]).await?;
    let tempo = Tempo::default();
    let mut crowd = Crowd::gather(Place::of(&host), STUDENTS, tempo, random.random()).await?;
    for time in 0..times {
        crowd.some_moment(random).await?;
        host.stop().await?;
        host.run_by(&copies[time % 2]);
        row.tried += 1;
        let begun = stopwatch::now();
        host.restart().await?;
        went_on(row, &crowd, Since::Anew(begun)).await?;
        if time % 10 == 9 {
            given.say(&format!("{} upgrades", time + 1));
        }
    }
    crowd.end().await?;
    let told = crowd.ledger().sent_away;
    let cut_off = crowd.ledger().cut_off;
    ensure!(cut_off == 0, "{cut_off} of those in their seats were cut off without a word");
    ensure!(told > 0, "nobody was sent away to come back");
    host.is_sound()?;
    row.count(crowd.audit(host.log()?.review(&host.word)?)?);
    Ok(())
}

/// A review in the midst of which a program of long ago was killed.
async fn older(row: &mut Row, file: &OldFile, seed: u64) -> Result<()> {
    let folder = TempDir::with_prefix("myonym-test-")?;
    put_old_file(file.form, folder.path())?;
    row.tried += 1;
    let begun = stopwatch::now();
    let host = TestHost::start_from(folder, file.key.to_owned(), &[]).await?;
    ensure!(host.word == file.word, "another review was opened");
    let mut seats = Vec::new();
    for token in file.seats {
        seats.push(seat(&host, token).await?);
    }
    let mut crowd = Crowd::seated(Place::of(&host), seats, Tempo::default(), seed);
    went_on(row, &crowd, Since::Any(begun)).await?;
    crowd.end().await?;
    host.is_sound()?;
    row.count(crowd.audit(host.log()?.review(&host.word)?)?);
    Ok(())
}

/// What belongs to a token.
async fn seat(host: &TestHost, token: &str) -> Result<Seat> {
    let mut client = Client::open(host.address, Role::Student).await?;
    client.hello(json!({ "type": "return", "word": host.word, "seat": token })).await?;
    let seated = client.expect("seated").await?;
    let text = |field: &str| seated[field].as_str().map(ToOwned::to_owned).context("no text");
    let (id, name) = (text("student")?, text("name")?);
    Ok(Seat { word: host.word.clone(), id, token: token.to_owned(), name })
}

/// An older program must not write into what it does not know.
async fn newer(row: &mut Row) -> Result<()> {
    let folder = TempDir::with_prefix("myonym-test-")?;
    let path = put_old_file(3, folder.path())?;
    Connection::open(&path)?.execute_batch("PRAGMA user_version = 99")?;
    let before = fs::read(&path)?;
    row.tried += 1;
    let data = folder.path().join("data");
    let data = data.to_str().context("a path that is not text")?;
    let ran = Program::run(&["host", "--headless", "--port", "0", "--data", data]).await?;
    ensure!(ran.code == Some(1) && ran.err.contains("was made by a newer myonym"), "{ran:?}");
    ensure!(fs::read(&path)? == before, "it was changed");
    Ok(())
}

async fn went_on(row: &mut Row, crowd: &Crowd, since: Since) -> Result<()> {
    match crowd.goes_on(since).await? {
        Some(took) => row.went_on.push(took),
        None => row.stuck += 1,
    }
    Ok(())
}

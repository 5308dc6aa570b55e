//! Thousands of students in rounds that go on and on, some of whom leave and come back all the time: the
//! host's memory and descriptors must not grow with time.
//!
//! What may grow: a room keeps each answer in memory until its review is over (`engine::Answer`: two
//! names and a key as texts, some 200 bytes beside them), as results, summaries and a new snapshot rest on it; so an
//! answer has a budget of bytes. The log grows on the disk alone.

use std::net::IpAddr;
use std::time::Duration;

use anyhow::{Context as _, Result, bail, ensure};
use myonym_tests::TestHost;
use tokio::time::{Instant, sleep};

use super::cohort::{Habits, Seen, Way};
use super::hall::{Hall, PATIENCE, audit, count, straight};
use super::process::Size;
use crate::options::Given;
use crate::table::{Outcome, Row};

const OPTIONS: [&str; 8] =
    ["--pace", "automatic", "--reveal", "1s", "--limit", "10s", "--rounds", "500"];
const ROOM: usize = 250;
/// One of so many leaves every other round.
const RESTLESS: usize = 20;
/// What an answer may add to the host's memory while its review lasts, in bytes.
const OF_AN_ANSWER: u64 = 640;
/// What memory may vary by without growing, in bytes: allocators keep pages for later.
const SLACK: u64 = 4 * 1_024 * 1_024;

/// A look at the host while everyone is seated.
#[derive(Debug, Clone, Copy)]
struct Look {
    size: Size,
    recorded: usize,
    rounds: usize,
}

/// Seats everyone, and compares what the host takes up after each third of the time.
pub(crate) async fn run(given: Given) -> Result<Outcome> {
    let rooms = given.pick(1, 8);
    let whole = given.minutes.map_or_else(
        || Duration::from_secs(given.pick(9, 90)),
        |minutes| Duration::from_secs(60 * minutes),
    );
    let host = TestHost::start(&OPTIONS).await?;
    let process = host.process().context("the host has ended")?;
    let empty = Size::of(process)?;
    let halls = gather(&host, rooms, &given).await?;
    let seated = ROOM * rooms;
    let expected = empty.descriptors + seated + rooms;
    let mut looks = Vec::new();
    for _third in 0..3 {
        let began = Instant::now();
        while began.elapsed() < whole / 3 {
            sleep(Duration::from_secs(10).min((whole / 3).saturating_sub(began.elapsed()))).await;
            given.say(&format!("{:?}", Size::of(process)?));
        }
        looks.push(look(&halls, process, expected).await?);
        given.say(&format!("{seated} seated: {:?}", looks.last()));
    }
    let rounds = looks.last().map_or(0, |look| look.rounds);
    let mut row = Row { tried: rounds, ..Row::default() };
    let mut ended = Vec::new();
    for hall in halls {
        ended.push((hall.way.word.clone(), hall.finish().await?));
    }
    gone(process, empty.descriptors).await?;
    let log = host.log()?;
    for (word, diaries) in ended {
        count(&mut row, audit(&diaries, log.review(&word)?)?);
    }
    row.note = told(seated, rooms, &looks)?;
    host.is_sound()?;
    Ok(Outcome::Tried(row))
}

/// Rooms of students who come from addresses of their own, where the loopback has more than one.
async fn gather(host: &TestHost, rooms: usize, given: &Given) -> Result<Vec<Hall>> {
    let mut halls = Vec::new();
    for room in 0..rooms {
        let own = room == 0;
        let way = if own { straight(host) } else { Hall::another(host).await? };
        let address = IpAddr::from([127, 0, 1, u8::try_from(room)?]);
        let way = Way { from: cfg!(target_os = "linux").then_some(address), ..way };
        let steady =
            Habits { think_ms: given.pick((300, 1_500), (500, 6_000)), ..Habits::default() };
        let restless = Habits { leaves_every: Some(2), ..steady.clone() };
        let mut hall = Hall::empty(way, &host.key, given.seed + room as u64)?;
        hall.join(ROOM - ROOM / RESTLESS, &steady).await?;
        hall.join(ROOM / RESTLESS, &restless).await?;
        hall.start();
        halls.push(hall);
    }
    Ok(halls)
}

/// Waits for a moment in which everyone is seated and every connection of before is closed.
async fn look(halls: &[Hall], process: u32, descriptors: usize) -> Result<Look> {
    let since = Instant::now();
    loop {
        let seen: Vec<Seen> = halls.iter().map(|hall| hall.cohort.seen()).collect();
        let size = Size::of(process)?;
        if size.descriptors == descriptors && seen.iter().all(|seen| seen.seated == ROOM) {
            let recorded = seen.iter().map(|seen| seen.recorded).sum();
            let rounds = seen.iter().map(|seen| usize::from(seen.round)).sum();
            return Ok(Look { size, recorded, rounds });
        }
        ensure!(
            since.elapsed() < PATIENCE,
            "never {descriptors} descriptors with all seated, but {} and {seen:?}",
            size.descriptors
        );
        sleep(Duration::from_millis(50)).await;
    }
}

/// Waits until no descriptor is left over.
async fn gone(process: u32, empty: usize) -> Result<()> {
    let since = Instant::now();
    loop {
        let left = Size::of(process)?.descriptors;
        if left <= empty {
            return Ok(());
        }
        ensure!(since.elapsed() < PATIENCE, "{left} descriptors are left, {empty} there were");
        sleep(Duration::from_millis(50)).await;
    }
}

/// Holds memory against its budget, and puts it into words. The first third is for buffers and caches to
/// fill; what grows with time grows in both that follow, and what only settles later in one of them.
fn told(seated: usize, rooms: usize, looks: &[Look]) -> Result<String> {
    let &[first, second, last] = looks else { bail!("not three looks but {looks:?}") };
    let over = [(first, second), (second, last)].map(|(before, after)| {
        let answers = (after.recorded - before.recorded) as u64;
        let grown = after.size.memory.saturating_sub(before.size.memory);
        answers == 0 || grown > SLACK + OF_AN_ANSWER * answers
    });
    ensure!(over != [true, true], "memory grows beyond its budget, or nothing goes on: {looks:?}");
    let (rounds, answers) = (last.rounds - first.rounds, last.recorded - first.recorded);
    let grown = last.size.memory.saturating_sub(first.size.memory);
    let kib = |bytes: u64| bytes / 1_024;
    Ok(format!(
        "{seated} seated in {rooms} rooms, {} of them restless; after the first third {rounds} rounds \
         and {answers} answers: resident memory from {} to {} KiB, {} bytes an answer; descriptors {} \
         each time",
        seated / RESTLESS,
        kib(first.size.memory),
        kib(last.size.memory),
        grown / answers.max(1) as u64,
        last.size.descriptors
    ))
}

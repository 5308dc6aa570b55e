//! The link between a class and its host is down for a while, and up again: the class goes on where it
//! was, in its seats.

use std::time::Duration;

use anyhow::{Context as _, Result};
use tokio::time::{Instant, sleep};

use super::cohort::{Habits, Way};
use super::hall::Hall;
use super::inside::outside;
use super::lan::Lan;
use crate::options::Given;
use crate::table::{Outcome, Row};

const OPTIONS: [&str; 8] =
    ["--pace", "automatic", "--reveal", "300ms", "--limit", "10s", "--rounds", "100"];

/// Partitions of several lengths at the same time, each in a network of its own.
pub(crate) async fn run(given: Given) -> Result<Outcome> {
    let Some(inside) = given.inside.clone() else {
        let parts: &[&str] = given.pick(&["1"], &["1", "5", "20"]);
        let note = "the time is that from the link's return to an answer newly recorded";
        return outside(&given, parts, note).await;
    };
    let lan = Lan::laid(&inside.of_host, &inside.of_class);
    let down = Duration::from_secs(inside.part.parse().context("a number of seconds")?);
    let (students, times) = (given.pick(15, 30), given.pick(1, 2));
    let host = lan.host(&OPTIONS).await?;
    let way = Way { to: host.address, from: None, word: host.word.clone() };
    let habits = Habits { think_ms: (100, 1_500), ..Habits::default() };
    let mut hall = Hall::gather(way, &host.key, students, &habits, given.seed).await?;
    let mut row = Row { tried: times, ..Row::default() };
    for _ in 0..times {
        hall.mid_round(students).await?;
        lan.link(false).await?;
        // The length of the fault, not a wait for anything.
        sleep(down).await;
        lan.link(true).await?;
        let healed = Instant::now();
        hall.goes_on().await?;
        row.went_on.push(healed.elapsed());
    }
    hall.plays(1, &mut Row::default()).await?;
    let diaries = hall.end(&host, &mut row).await?;
    let lost = diaries.iter().map(|diary| diary.losses.len()).sum::<usize>();
    row.note = format!(
        "down for {} s, {times} times: {students} students lost {lost} connections",
        down.as_secs()
    );
    host.is_sound()?;
    Ok(Outcome::Tried(row))
}

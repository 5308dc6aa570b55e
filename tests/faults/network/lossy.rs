//! Bad Wi-Fi: packets are lost at random, each way. TCP brings them again, later; at 2 % nobody may lose
//! the connection by it.

use anyhow::{Context as _, Result, ensure};

use super::cohort::{Habits, Way};
use super::hall::Hall;
use super::inside::outside;
use super::lan::Lan;
use crate::options::Given;
use crate::table::{Outcome, Row};

const OPTIONS: [&str; 8] =
    ["--pace", "automatic", "--reveal", "300ms", "--limit", "10s", "--rounds", "100"];

/// Two losses at the same time, each in a network of its own.
pub(crate) async fn run(given: Given) -> Result<Outcome> {
    let Some(inside) = given.inside.clone() else {
        let note = "the time is that from a round's clue to an answer recorded in it";
        return outside(&given, &["2", "20"], note).await;
    };
    let lan = Lan::laid(&inside.of_host, &inside.of_class);
    let percent = inside.part.parse().context("a number of packets")?;
    let (students, rounds) = (given.pick(15, 30), given.pick(2, 8));
    let host = lan.host(&OPTIONS).await?;
    let way = Way { to: host.address, from: None, word: host.word.clone() };
    let habits = Habits { think_ms: (100, 1_500), ..Habits::default() };
    let mut hall = Hall::gather(way, &host.key, students, &habits, given.seed).await?;
    lan.lose(percent).await?;
    let mut row = Row { tried: rounds, ..Row::default() };
    hall.plays(rounds, &mut row).await?;
    let dropped = lan.lost().await?;
    ensure!(dropped > 0, "no packet was lost");
    let diaries = hall.end(&host, &mut row).await?;
    let lost = diaries.iter().map(|diary| diary.losses.len()).sum::<usize>();
    ensure!(percent > 2 || lost == 0, "{lost} connections lost at {percent} %");
    row.note = format!(
        "{percent} % each way ({dropped} packets): {students} students lost {lost} connections"
    );
    host.is_sound()?;
    Ok(Outcome::Tried(row))
}

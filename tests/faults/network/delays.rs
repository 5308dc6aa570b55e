//! A network on which everything takes its time, and what one student sent overtakes what another sent
//! before.

use anyhow::{Result, ensure};
use myonym_tests::TestHost;

use super::cohort::{Habits, Way};
use super::hall::{Hall, straight};
use super::proxy::{Delays, Proxy};
use crate::options::Given;
use crate::table::{Outcome, Row};

const OPTIONS: [&str; 8] =
    ["--pace", "automatic", "--reveal", "300ms", "--limit", "8s", "--rounds", "100"];
/// A connection's own delay each way, and what a piece may take beyond it.
const DELAYS: Delays = Delays { of_connection_ms: (0, 400), jitter_ms: 300 };

/// A class behind slow ways; nobody may lose its connection by them.
pub(crate) async fn run(given: Given) -> Result<Outcome> {
    let (students, rounds) = (given.pick(20, 60), given.pick(2, 6));
    let host = TestHost::start(&OPTIONS).await?;
    let proxy = Proxy::before(host.address, DELAYS, given.seed).await?;
    let way = Way { to: proxy.address, ..straight(&host) };
    let habits = Habits { think_ms: (100, 1_500), ..Habits::default() };
    let mut hall = Hall::gather(way, &host.key, students, &habits, given.seed).await?;
    let mut row = Row { tried: students, ..Row::default() };
    hall.plays(rounds, &mut row).await?;
    let diaries = hall.end(&host, &mut row).await?;
    let lost = diaries.iter().map(|diary| diary.losses.len()).sum::<usize>();
    ensure!(lost == 0, "{lost} connections lost on a network that is slow and nothing else");
    row.note.push_str(
        "the time is that from a round's clue to the first answer recorded; each way takes 0 to 700 ms",
    );
    host.is_sound()?;
    Ok(Outcome::Tried(row))
}

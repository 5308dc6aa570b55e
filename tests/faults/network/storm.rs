//! A whole class loses its network in the middle of a round and comes back by the reconnect rule, while
//! another class goes on.

use anyhow::{Result, ensure};
use myonym_tests::TestHost;
use tokio::time::Instant;

use super::cohort::{Diary, Habits, Seen, Way};
use super::hall::{Hall, PATIENCE, straight};
use super::proxy::{Delays, Proxy};
use crate::options::Given;
use crate::table::{Outcome, Row};

const OPTIONS: [&str; 8] =
    ["--pace", "automatic", "--reveal", "300ms", "--limit", "8s", "--rounds", "500"];
/// Students of the class that nothing happens to.
const BESIDE: usize = 20;

/// Storms over one class.
pub(crate) async fn run(given: Given) -> Result<Outcome> {
    let (students, storms) = (given.pick(60, 300), given.pick(2, 6));
    let host = TestHost::start(&OPTIONS).await?;
    let proxy = Proxy::before(host.address, Delays::default(), given.seed).await?;
    let way = Way { to: proxy.address, ..straight(&host) };
    let habits = Habits { think_ms: (200, 2_500), ..Habits::default() };
    let other = Hall::another(&host).await?;
    let mut beside = Hall::gather(other, &host.key, BESIDE, &habits, given.seed + 1).await?;
    let mut hall = Hall::gather(way, &host.key, students, &habits, given.seed).await?;
    let mut struck = Vec::new();
    for storm in 1..=storms {
        hall.mid_round(students).await?;
        let before = hall.cohort.seen().seatings;
        struck.push(Instant::now());
        proxy.reset();
        let back = |seen: Seen| seen.seated == students && seen.seatings >= before + students;
        hall.cohort.until("everyone back", PATIENCE, back).await?;
        beside.goes_on().await?;
        hall.goes_on().await?;
        given.say(&format!("{storm} storms"));
    }
    let mut row = Row { tried: storms, ..Row::default() };
    let others = beside.end(&host, &mut row).await?;
    let diaries = hall.end(&host, &mut row).await?;
    let untouched = others.iter().all(|diary| diary.losses.is_empty());
    ensure!(untouched, "a student of the other class lost its connection");
    for at in struck {
        row.went_on.extend(diaries.iter().filter_map(|diary| Some(back(diary, at)? - at)));
    }
    row.note = format!(
        "{students} connections reset at once; the time is that of each student from the reset to \
         its seat, drawn waits among it; {BESIDE} students of another class noticed nothing"
    );
    host.is_sound()?;
    Ok(Outcome::Tried(row))
}

/// When a student was first in its seat again.
fn back(diary: &Diary, since: Instant) -> Option<Instant> {
    diary.seatings.iter().copied().find(|at| *at > since)
}

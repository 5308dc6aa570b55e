//! Connections that die without a word: neither side is told that nothing gets through any more. The
//! client notices the silence and comes back to its seat; where none comes back, the server forgets the
//! connection within its own limit and keeps the seat.

use std::fmt::Write as _;

use anyhow::{Result, ensure};
use myonym_tests::{Seat, Student, TestHost};
use tokio::time::Instant;

use super::cohort::{Habits, Seen, Way};
use super::hall::{Hall, PATIENCE, counted, straight};
use super::proxy::{Delays, Proxy};
use crate::options::Given;
use crate::table::{Outcome, Row};

const OPTIONS: [&str; 8] =
    ["--pace", "automatic", "--reveal", "300ms", "--limit", "25s", "--rounds", "100"];

/// Stalls all connections of a class once; in a whole run with some whom nobody brings back.
pub(crate) async fn run(given: Given) -> Result<Outcome> {
    let (students, forgotten) = (given.pick(20, 60), given.pick(0, 20));
    let host = TestHost::start(&OPTIONS).await?;
    let proxy = Proxy::before(host.address, Delays::default(), given.seed).await?;
    let way = Way { to: proxy.address, ..straight(&host) };
    let asleep = sleepers(&way, forgotten).await?;
    let habits = Habits { think_ms: (200, 2_500), ..Habits::default() };
    let mut hall = Hall::gather(way, &host.key, students, &habits, given.seed).await?;
    hall.mid_round(students).await?;
    let before = hall.cohort.seen().seatings;
    let at = Instant::now();
    proxy.stall();
    let back = |seen: Seen| seen.seated == students && seen.seatings >= before + students;
    hall.cohort.until("everyone back", PATIENCE, back).await?;
    hall.goes_on().await?;
    let mut row = Row { tried: students + forgotten, ..Row::default() };
    forgets(&host, asleep.len(), at, &mut row).await?;
    for (seat, _connection) in asleep {
        // Checks that it is the same student, under the same name.
        seat.take(host.address).await?;
    }
    for diary in hall.end(&host, &mut row).await? {
        row.went_on.extend(diary.seatings.iter().find(|seated| **seated > at).map(|t| *t - at));
    }
    host.is_sound()?;
    Ok(Outcome::Tried(row))
}

/// Students who sit there and never notice.
async fn sleepers(way: &Way, many: usize) -> Result<Vec<(Seat, Student)>> {
    let mut asleep = Vec::new();
    for number in 1..=many {
        let student = Student::join(way.to, &way.word, &format!("Asleep {number}")).await?;
        asleep.push((student.seat.clone(), student));
    }
    Ok(asleep)
}

/// Waits until the server has let those go, for their silence.
async fn forgets(host: &TestHost, many: usize, at: Instant, row: &mut Row) -> Result<()> {
    let silent = "myonym_limits_reached_total{limit=\"silence\"}";
    while counted(host, silent).await? < many as u64 {
        ensure!(at.elapsed() < PATIENCE, "the server still holds connections that are dead");
        tokio::time::sleep(std::time::Duration::from_millis(250)).await;
    }
    row.note.push_str(
        "the time is that of each student from the last byte to its seat: 15 s of silence are taken \
         for a loss",
    );
    if many > 0 {
        let seconds = at.elapsed().as_secs();
        write!(row.note, "; {many} whom nobody brought back were forgotten within {seconds} s")?;
    }
    Ok(())
}

//! Students who stop reading while the class goes on. The server lets them go alone and keeps their
//! seats; nobody else waits for them, and nobody's answer is missing.

use std::collections::BTreeSet;

use anyhow::{Context as _, Result, ensure};
use futures_util::future::try_join_all;
use myonym_tests::{Client, Heard, Instructor, Role, Student, TestHost};
use myonym_wire::limits::close;
use serde_json::{Value, json};
use tokio::time::{Instant, timeout};

use super::cohort::{Cohort, Habits, Seen};
use super::hall::{PATIENCE, audit, count, straight};
use crate::options::Given;
use crate::table::{Outcome, Row};

/// More rounds than any buffer between the two holds.
const MOST_ROUNDS: u16 = 500;
/// Students who go on.
const LIVELY: usize = 20;

/// Students who stop reading, all at once, each time until all are let go.
pub(crate) async fn run(given: Given) -> Result<Outcome> {
    let (slow, times) = (given.pick(5, 20), given.pick(1, 2));
    let host = TestHost::start(&["--rounds", &MOST_ROUNDS.to_string()]).await?;
    let mut class = Class::gather(&host, given.seed).await?;
    let mut row = Row { tried: slow * times, ..Row::default() };
    let mut rounds = Vec::new();
    for _ in 0..times {
        let stopped = stop_reading(&host, slow).await?;
        let before = class.round;
        let left = class.play_until_gone(&stopped).await?;
        rounds.push((class.round - before).to_string());
        let back = stopped.into_iter().zip(left);
        let back = back.map(async |(student, left)| {
            come_back(&host, student).await?;
            Ok::<_, anyhow::Error>(left.elapsed())
        });
        row.went_on.extend(try_join_all(back).await?);
    }
    class.end(&mut row).await?;
    row.note = format!(
        "the time is that from the server's word that a slow student is away to its seat, with what was left to read; {LIVELY} \
         others answered each round meanwhile ({} rounds)",
        rounds.join(", ")
    );
    host.is_sound()?;
    Ok(Outcome::Tried(row))
}

/// Students who take their seats and read no more.
async fn stop_reading(host: &TestHost, many: usize) -> Result<Vec<Student>> {
    let mut stopped = Vec::new();
    for number in 1..=many {
        let mut client = Client::open_narrow(host.address, Role::Student).await?;
        let name = format!("Slow {number}");
        client.hello(json!({ "type": "join", "word": host.word, "name": name })).await?;
        stopped.push(Student::seated(client, &host.word).await?);
    }
    Ok(stopped)
}

/// Reads what is left, sees how it ended, and takes the seat again.
async fn come_back(host: &TestHost, mut slow: Student) -> Result<()> {
    // It still reads through a keyhole, so that takes its time.
    let end = async {
        loop {
            if let Heard::Closed(end) = slow.client.hear_whenever().await? {
                return Ok::<_, anyhow::Error>(end);
            }
        }
    };
    let end = timeout(PATIENCE, end).await.context("a slow student is never let go")??;
    let known = [None, Some(close::TOO_SLOW), Some(close::AWAY)];
    ensure!(known.contains(&end.code), "let go with {end:?}");
    slow.seat.take(host.address).await?;
    Ok(())
}

/// The class that goes on, and its instructor.
struct Class<'a> {
    host: &'a TestHost,
    cohort: Cohort,
    instructor: Instructor,
    round: u16,
    away: BTreeSet<String>,
}

impl<'a> Class<'a> {
    async fn gather(host: &'a TestHost, seed: u64) -> Result<Self> {
        let mut cohort = Cohort::new(seed)?;
        // A student may say two things a second for ever, and twenty at once.
        let habits = Habits { think_ms: (250, 500), ..Habits::default() };
        cohort.call(LIVELY, &straight(host), &habits);
        cohort.until("everyone seated", PATIENCE, |seen| seen.seated == LIVELY).await?;
        let instructor = Self::conduct(host).await?;
        Ok(Self { host, cohort, instructor, round: 0, away: BTreeSet::new() })
    }

    async fn conduct(host: &TestHost) -> Result<Instructor> {
        Instructor::conduct(host.address, Some(&host.word), &host.key).await
    }

    /// Round after round, answered by all who read, until the instructor is told that the others are
    /// away. Gives when that was.
    async fn play_until_gone(&mut self, slow: &[Student]) -> Result<Vec<Instant>> {
        self.away.clear();
        let mut left = Vec::new();
        while left.len() < slow.len() {
            ensure!(self.round < MOST_ROUNDS, "students who do not read still count as present");
            self.play().await?;
            let gone = slow.iter().filter(|student| self.away.contains(&student.seat.id)).count();
            left.resize(gone, Instant::now());
        }
        Ok(left)
    }

    async fn play(&mut self) -> Result<()> {
        self.say(if self.round == 0 { "start" } else { "next" }, "round_opened").await?;
        self.round += 1;
        let all = LIVELY * usize::from(self.round);
        let answered = |seen: Seen| seen.recorded >= all;
        self.cohort.until("every answer recorded", PATIENCE, answered).await?;
        self.say("close_round", "round_closed").await?;
        self.say("reveal", "standings").await?;
        Ok(())
    }

    /// Sends a command and listens until it is done.
    async fn say(&mut self, command: &str, until: &str) -> Result<()> {
        self.instructor.say(command).await?;
        loop {
            let Heard::Message(told) = self.instructor.client.hear().await? else {
                anyhow::bail!("the instructor's connection ended at {command}")
            };
            // A round may close by itself just before it is told to.
            let refused = told["type"] == "error" && told["code"] != "not_now";
            ensure!(!refused, "{command} was refused: {told}");
            self.note_away(&told);
            if told["type"] == until {
                return Ok(());
            }
        }
    }

    fn note_away(&mut self, told: &Value) {
        let rows = told["rows"].as_array().filter(|_| told["type"] == "roll");
        for row in rows.into_iter().flatten().filter(|row| row["present"] == false) {
            self.away.extend(row["student"].as_str().map(ToOwned::to_owned));
        }
    }

    async fn end(mut self, row: &mut Row) -> Result<()> {
        self.instructor.say("end").await?;
        let diaries = self.cohort.end(PATIENCE).await?;
        let whole = diaries.iter().all(|diary| diary.losses.is_empty());
        ensure!(whole, "a student who reads was let go");
        let log = self.host.log()?;
        count(row, audit(&diaries, log.review(&self.host.word)?)?);
        let answers = LIVELY * usize::from(self.round);
        let kept = diaries.iter().map(|diary| diary.recorded.len()).sum::<usize>();
        (kept == answers).then_some(()).with_context(|| format!("{kept} of {answers} recorded"))
    }
}

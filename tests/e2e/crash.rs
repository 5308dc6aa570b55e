//! The host is killed as a power cut would, and started again on what is on the disk.

use std::collections::BTreeMap;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Class, Heard, Recount, Student, TestHost, hundredths};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt as _, SeedableRng as _};
use serde_json::Value;
use uuid::Uuid;

#[tokio::test]
async fn a_round_goes_on_after_a_kill_with_every_recorded_answer() -> Result<()> {
    let host = TestHost::start_to_be_restarted(&["--rounds", "3"]).await?;
    let mut class = Class::gather_at(host, 3).await?;
    let asked = class.open_round().await?;
    for student in &mut class.students {
        student.answer_recorded(asked.round, &asked.muscle.name).await?;
    }
    class.everyone("round_closed").await?;
    class.reveal().await?;
    let asked = class.open_round().await?;
    let kept = class.students[0].answer_recorded(asked.round, &asked.muscle.name).await?;
    class.students[1].answer_recorded(asked.round, "deltoid").await?;

    class.host.kill9().await?;
    class.host.restart().await?;
    class.come_back().await?;
    let moment = &class.instructor.conducting["moment"];
    assert_eq!((moment["phase"].as_str(), moment["round"].as_u64()), (Some("open"), Some(2)));
    let given = |student: usize| &class.students[student].seated["moment"]["given"];
    assert_eq!(given(0)["attempt"], kept.as_str());
    assert_eq!((&given(0)["recorded"], given(1)["text"].as_str()), (&true.into(), Some("deltoid")));
    assert!(given(2).is_null());
    check_totals(&class)?;

    // The same try again changes nothing; another one is refused; who has not answered still may.
    class.students[0].answer_as(2, &kept, &asked.muscle.name).await?;
    class.students[0].expect_recorded(&kept).await?;
    class.students[1].answer(2, &asked.muscle.name).await?;
    class.students[1].client.expect_error("already_answered").await?;
    class.students[2].answer_recorded(2, &asked.muscle.latin).await?;
    assert_eq!(class.everyone("round_closed").await?["why"], "all_answered");
    class.reveal().await?;
    let log = class.review_log()?;
    assert_eq!(log.recorded()?.len(), 6);
    assert_eq!(log.of("restarted").count(), 1);
    class.end().await?;
    check_summaries(&class)?;
    class.host.is_sound()
}

/// While another program keeps the disk from taking anything: everyone is sent away all the same, seats
/// are kept, and the host ends.
#[tokio::test]
async fn a_stop_while_the_disk_hangs_ends_all_the_same() -> Result<()> {
    let host = TestHost::start_to_be_restarted(&["--rounds", "1"]).await?;
    let mut class = Class::gather_at(host, 2).await?;
    let asked = class.open_round().await?;
    let held = class.host.hold_disk()?;
    class.students[0].answer(asked.round, &asked.muscle.name).await?;
    class.students[0].client.expect("received").await?;
    // Fails if it takes longer than the harness waits for anything.
    class.host.stop().await?;
    for student in &mut class.students {
        assert_eq!(student.client.until_closed().await?.code, Some(1001));
    }
    drop(held);
    class.host.restart().await?;
    class.come_back().await?;
    assert_eq!(class.students[0].seated["moment"]["phase"], "open");
    Ok(())
}

#[tokio::test]
async fn an_orderly_stop_sends_everyone_away_to_come_back() -> Result<()> {
    let host = TestHost::start_to_be_restarted(&["--rounds", "1"]).await?;
    let mut class = Class::gather_at(host, 2).await?;
    let asked = class.open_round().await?;
    class.students[0].answer_recorded(asked.round, &asked.muscle.name).await?;
    class.host.stop().await?;
    for student in &mut class.students {
        student.client.expect_close(1001).await?;
    }
    class.instructor.client.expect_close(1001).await?;
    class.host.restart().await?;
    class.come_back().await?;
    assert_eq!(class.students[0].seated["moment"]["given"]["recorded"], true);
    class.students[1].answer_recorded(asked.round, &asked.muscle.name).await?;
    class.everyone("round_closed").await?;
    class.host.is_sound()
}

/// Ten kills in two reviews at moments counted in messages, with every answer sent again under its
/// first attempt.
#[tokio::test]
async fn no_recorded_answer_is_lost_or_doubled_by_ten_kills() -> Result<()> {
    for seed in [1, 2] {
        let trial = Trial::begin(seed).await?;
        trial.run().await.with_context(|| format!("seed {seed}"))?;
    }
    Ok(())
}

const KILLS: u32 = 5;
const ROUNDS: u16 = 4;
const STUDENTS: usize = 5;

/// A review in which the host is killed again and again.
struct Trial {
    class: Class,
    random: ChaCha8Rng,
    kills: u32,
    /// Each student's attempt of each round, the same however often it is sent.
    attempts: BTreeMap<(usize, u16), String>,
    /// Answers that a student was told are recorded: who and which attempt.
    acknowledged: Vec<(String, String)>,
}

/// What the instructor sees of a review.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Stands {
    phase: String,
    round: u16,
}

impl Trial {
    async fn begin(seed: u64) -> Result<Self> {
        let rounds = ROUNDS.to_string();
        let host = TestHost::start_to_be_restarted(&["--rounds", &rounds]).await?;
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut attempt = |student, round| {
            let attempt = Uuid::from_u128(random.random()).to_string();
            ((student, round), attempt)
        };
        let attempts = (0..STUDENTS).flat_map(|student| (1..=ROUNDS).map(move |r| (student, r)));
        let attempts = attempts.map(|(student, round)| attempt(student, round)).collect();
        let class = Class::gather_at(host, STUDENTS).await?;
        Ok(Self { class, random, kills: 0, attempts, acknowledged: Vec::new() })
    }

    async fn run(mut self) -> Result<()> {
        let mut stands = Stands { phase: "gathering".to_owned(), round: 0 };
        while stands.phase != "ended" {
            stands = self.step(&stands).await.with_context(|| format!("in {stands:?}"))?;
        }
        assert_eq!(self.kills, KILLS, "the review was over before the kills were");
        self.check_log()?;
        self.class.host.is_sound()
    }

    /// Does what comes next, and kills the host in the middle of it or does not.
    async fn step(&mut self, stands: &Stands) -> Result<Stands> {
        // The kills must all find room before the last round ends.
        let last = stands.round == ROUNDS && stands.phase == "revealed";
        let kill = self.kills < KILLS && !last && (stands.round == ROUNDS || self.random.random());
        if stands.phase == "open" {
            return self.answers(stands.round, kill).await;
        }
        let (command, told, phase) = match stands.phase.as_str() {
            "gathering" => ("start", "round_opened", "open"),
            "closed" => ("reveal", "revealed", "revealed"),
            _ if last => ("next", "ended", "ended"),
            _ => ("next", "round_opened", "open"),
        };
        self.class.instructor.say(command).await?;
        if kill {
            // Before the command has done anything, or after it has been told.
            if self.random.random() {
                self.class.instructor.client.expect(told).await?;
            }
            return self.kill().await;
        }
        if phase == "ended" {
            self.class.everyone_to_the_end().await?;
        } else {
            self.class.everyone(told).await?;
        }
        let opens = u16::from(phase == "open");
        Ok(Stands { phase: phase.to_owned(), round: stands.round + opens })
    }

    /// Everyone sends an answer. Each hears at least two messages of it, so that up to twice as
    /// many as there are students can be waited for before the kill.
    async fn answers(&mut self, round: u16, kill: bool) -> Result<Stands> {
        let (_, muscle) = self.class.review_log()?.asked()?;
        for (number, student) in self.class.students.iter_mut().enumerate() {
            let attempt = &self.attempts[&(number, round)];
            student.answer_as(round, attempt, &muscle.name).await?;
        }
        if kill {
            let mut wanted = self.random.random_range(0..=2 * STUDENTS);
            for student in &mut self.class.students {
                for _ in 0..wanted.min(2) {
                    student.client.hear().await?;
                }
                wanted = wanted.saturating_sub(2);
            }
            return self.kill().await;
        }
        for (number, student) in self.class.students.iter_mut().enumerate() {
            student.expect_recorded(&self.attempts[&(number, round)]).await?;
        }
        self.class.everyone("round_closed").await?;
        Ok(Stands { phase: "closed".to_owned(), round })
    }

    /// Kills the host, hears what was still under way, starts it again, and everyone comes back.
    async fn kill(&mut self) -> Result<Stands> {
        self.kills += 1;
        self.class.host.kill9().await?;
        let mut revealed = 0;
        for student in &mut self.class.students {
            student.client.until_closed().await?;
            revealed = revealed.max(last_round(student.client.heard(), "revealed"));
            self.acknowledged.extend(acknowledged(student));
        }
        self.class.host.restart().await?;
        self.class.come_back().await?;
        let kept = check_totals(&self.class)?;
        ensure!(kept.rounds.len() >= revealed, "round {revealed} was revealed and is lost");
        let moment = &self.class.instructor.conducting["moment"];
        let phase = moment["phase"].as_str().context("no phase")?.to_owned();
        let round = u16::try_from(moment["round"].as_u64().unwrap_or(0))?;
        Ok(Stands { phase, round })
    }

    fn check_log(&mut self) -> Result<()> {
        for student in &self.class.students {
            self.acknowledged.extend(acknowledged(student));
        }
        let log = self.class.review_log()?;
        let recorded = log.recorded()?;
        for (student, attempt) in &self.acknowledged {
            let kept = recorded.iter().any(|(who, _, which)| (who, which) == (student, attempt));
            ensure!(kept, "the answer {attempt} was recorded and is lost");
        }
        assert_eq!(recorded.len(), STUDENTS * usize::from(ROUNDS));
        assert_eq!(log.of("restarted").count(), usize::try_from(KILLS)?);
        let events = log.replayable()?;
        ensure!(myonym_engine::Review::replay(&events).is_some(), "the log does not replay");
        check_summaries(&self.class)
    }
}

/// Everyone was told the total that the log comes to.
fn check_totals(class: &Class) -> Result<Recount> {
    let recount = class.recount()?;
    for Student { seat, seated, .. } in &class.students {
        let told = seated["total"].as_f64().map(hundredths);
        assert_eq!(told, Some(recount.total_after(recount.rounds.len(), &seat.id)?));
    }
    Ok(recount)
}

fn check_summaries(class: &Class) -> Result<()> {
    let recount = class.recount()?;
    for student in &class.students {
        let told = student.client.heard_of("summary");
        let told = told.last().context("no summary")?["total"].as_f64().map(hundredths);
        let total = recount.total_after(recount.rounds.len(), &student.seat.id)?;
        assert_eq!(told, Some(total));
    }
    Ok(())
}

fn acknowledged(student: &Student) -> Vec<(String, String)> {
    let told = student.client.heard_of("recorded").into_iter();
    let attempt = |told: &Value| told["attempt"].as_str().map(ToOwned::to_owned);
    told.filter_map(attempt).map(|attempt| (student.seat.id.clone(), attempt)).collect()
}

fn last_round(heard: &[Value], kind: &str) -> usize {
    let rounds = heard.iter().filter(|message| message["type"] == kind);
    let round = rounds.filter_map(|message| message["round"].as_u64()).max().unwrap_or(0);
    usize::try_from(round).unwrap_or(usize::MAX)
}

/// What is heard after a kill is a connection's end and no message made up.
#[tokio::test]
async fn a_kill_ends_connections_without_a_close_frame() -> Result<()> {
    let mut class = Class::gather(&[], 1).await?;
    class.host.kill9().await?;
    let end = class.students[0].client.until_closed().await?;
    assert_eq!(end.code, None);
    assert!(matches!(class.students[0].client.hear().await?, Heard::Closed(_)));
    Ok(())
}

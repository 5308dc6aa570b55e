//! Everything that students send comes up to three times, or not at all until they are back, late, and
//! in another order. The log must hold the same answers with the same points as that of a class whose
//! messages came once and in order.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Class, Heard, ReviewLog, Seat, TestHost, shoulder};
use rand::rngs::ChaCha8Rng;
use rand::seq::{IndexedRandom as _, SliceRandom as _};
use rand::{RngExt as _, SeedableRng as _};
use serde_json::{Value, json};
use tempfile::TempDir;
use uuid::Uuid;

use super::hall::count;
use crate::crowd::{Audit, Ledger};
use crate::options::Given;
use crate::table::{Outcome, Row};

const STUDENTS: usize = 8;
const ROUNDS: usize = 10;
/// Messages on one connection: a student may say twenty at once.
const A_CONNECTION: usize = 15;
/// What is no answer yet: a name of several muscles, and no name of any.
const SLIPS: [&str; 2] = ["teres", "hippocampus"];

/// What one student says.
#[derive(Debug, Clone)]
struct Message {
    student: usize,
    round: usize,
    attempt: String,
    text: String,
    is_answer: bool,
}

/// What a class of one seed is asked and says.
struct Script {
    plan: String,
    rounds: Vec<Vec<Message>>,
}

/// What came of a review.
struct Played {
    /// By round and name: attempt, name meant, and credit; and the points in the end.
    essence: Value,
    audit: Audit,
    disturbed: usize,
}

/// Each seed once in order, and once in disorder.
pub(crate) async fn run(given: Given) -> Result<Outcome> {
    let mut row = Row::default();
    for seed in (given.seed..).take(given.pick(1, 8)) {
        let script = Script::of(seed)?;
        let calm = play(&script, None).await.with_context(|| format!("in order, seed {seed}"))?;
        let disorder = ChaCha8Rng::seed_from_u64(!seed);
        let wild = play(&script, Some(disorder)).await.with_context(|| format!("seed {seed}"))?;
        let (want, got) = (&calm.essence, &wild.essence);
        ensure!(want == got, "seed {seed}: in order {want}, in disorder {got}");
        row.tried += wild.disturbed;
        count(&mut row, wild.audit);
    }
    row.note.push_str(
        "tried are messages that came not once or not in time; points and log are those of the same \
         messages once and in order",
    );
    Ok(Outcome::Tried(row))
}

impl Script {
    fn of(seed: u64) -> Result<Self> {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let list = shoulder()?;
        let mut plan = format!("list = \"shoulder\"\nseed = {seed}\nlimit = \"10m\"\n");
        let mut rounds = Vec::new();
        for round in 1..=ROUNDS {
            let asked = list.choose(&mut random).context("no muscle")?;
            plan.extend(["\n[[round]]\nmuscle = \"", &asked.name, "\"\n"]);
            let mut said = Vec::new();
            for student in 0..STUDENTS {
                let right = random.random_bool(0.5);
                let other = list.choose(&mut random).context("no muscle")?;
                let mut say = |text: &str, is_answer| Message {
                    student,
                    round,
                    attempt: Uuid::from_u128(random.random()).to_string(),
                    text: text.to_owned(),
                    is_answer,
                };
                said.extend(SLIPS.get(round * student % 4).map(|slip| say(slip, false)));
                said.push(say(if right { &asked.name } else { &other.name }, true));
            }
            rounds.push(said);
        }
        Ok(Self { plan, rounds })
    }
}

async fn play(script: &Script, mut disorder: Option<ChaCha8Rng>) -> Result<Played> {
    let folder = TempDir::new()?;
    let plan = folder.path().join("plan.toml");
    fs::write(&plan, &script.plan)?;
    let host = TestHost::start(&["--plan", plan.to_str().context("an odd path")?]).await?;
    let mut sender = Sender::gather(host).await?;
    let (mut late, mut disturbed) = (Vec::new(), 0);
    for (at, said) in script.rounds.iter().enumerate() {
        sender.command(if at == 0 { "start" } else { "next" }, "round_opened").await?;
        let mut coming = std::mem::take(&mut late);
        match &mut disorder {
            None => coming.extend(said.iter().cloned()),
            Some(random) => disturbed += disturb(said, random, &mut coming, &mut late),
        }
        sender.send(&coming).await?;
        // Whose answer never came is back by now, and sends it again.
        let came: BTreeSet<_> = coming.iter().map(|message| &message.attempt).collect();
        let again = said.iter().filter(|m| m.is_answer && !came.contains(&m.attempt));
        for message in again {
            sender.renew(message.student).await?;
            sender.send(std::slice::from_ref(message)).await?;
        }
        sender.class.instructor.client.expect("round_closed").await?;
        sender.command("reveal", "standings").await?;
    }
    sender.command("end", "ended").await?;
    sender.finish(disturbed)
}

/// Draws how often each message comes and when; gives how many do not come once and in time.
fn disturb(
    said: &[Message],
    random: &mut ChaCha8Rng,
    coming: &mut Vec<Message>,
    late: &mut Vec<Message>,
) -> usize {
    let mut disturbed = 0;
    for message in said {
        let copies = random.random_range(0..=3);
        let mut late_ones = 0;
        for _ in 0..copies {
            if random.random_bool(0.25) {
                late.push(message.clone());
                late_ones += 1;
            } else {
                coming.push(message.clone());
            }
        }
        disturbed += usize::from(copies != 1 || late_ones > 0);
    }
    coming.shuffle(random);
    disturbed
}

/// A class whose messages are sent one by one.
struct Sender {
    class: Class,
    sent: [usize; STUDENTS],
    heard: Vec<Value>,
}

impl Sender {
    /// Everyone has no time limit, so that points rest on answers alone.
    async fn gather(host: TestHost) -> Result<Self> {
        let mut class = Class::gather_at(host, STUDENTS).await?;
        for student in &mut class.students {
            class.instructor.stretch(&student.seat, json!({ "kind": "untimed" })).await?;
            student.client.expect("time_changed").await?;
        }
        Ok(Self { class, sent: [0; STUDENTS], heard: Vec::new() })
    }

    async fn command(&mut self, command: &str, until: &str) -> Result<()> {
        self.class.instructor.say(command).await?;
        self.class.instructor.client.expect(until).await?;
        Ok(())
    }

    /// Sends messages in this order, without waiting, and then hears a reply to each.
    async fn send(&mut self, messages: &[Message]) -> Result<()> {
        let mut replies = [0; STUDENTS];
        for (student, replies) in replies.iter_mut().enumerate() {
            let own = messages.iter().filter(|message| message.student == student).count();
            if self.sent[student] + own > A_CONNECTION {
                self.renew(student).await?;
            }
            self.sent[student] += own;
            *replies = own;
        }
        for Message { student, round, attempt, text, .. } in messages {
            let round = u16::try_from(*round)?;
            self.class.students[*student].answer_as(round, attempt, text).await?;
        }
        for (student, replies) in replies.into_iter().enumerate() {
            self.hear(student, replies).await?;
        }
        Ok(())
    }

    /// Hears so many replies, and `recorded` after each that needs it.
    async fn hear(&mut self, student: usize, replies: usize) -> Result<()> {
        let client = &mut self.class.students[student].client;
        let (mut left, mut open) = (replies, 0);
        while left > 0 || open > 0 {
            let Heard::Message(told) = client.hear().await? else {
                anyhow::bail!("student {student} lost its connection")
            };
            match told["type"].as_str() {
                Some("received") => (left, open) = (left - 1, open + 1),
                Some("recorded") => open -= 1,
                Some("which_one" | "unknown_name") => left -= 1,
                Some("error") => {
                    let usual = ["already_answered", "round_not_open", "too_late"];
                    let known = usual.iter().any(|code| told["code"] == *code);
                    ensure!(known, "refused with {told}");
                    left -= 1;
                }
                _ => {}
            }
        }
        Ok(())
    }

    /// The student loses its connection and comes back.
    async fn renew(&mut self, student: usize) -> Result<()> {
        let old = &mut self.class.students[student];
        self.heard.extend_from_slice(old.client.heard());
        *old = old.seat.clone().take(self.class.host.address).await?;
        self.sent[student] = 0;
        Ok(())
    }

    fn finish(mut self, disturbed: usize) -> Result<Played> {
        let log = self.class.review_log()?;
        let mut ledger = Ledger::default();
        for student in &self.class.students {
            self.heard.extend_from_slice(student.client.heard());
        }
        for told in self.heard.iter().filter(|told| told["type"] == "recorded") {
            ledger.acknowledge(told["attempt"].as_str().context("no attempt")?);
        }
        let audit = ledger.audit(&log)?;
        let seats: Vec<_> = self.class.students.iter().map(|student| &student.seat).collect();
        let essence = essence(&log, &seats, &self.class)?;
        self.class.host.is_sound()?;
        Ok(Played { essence, audit, disturbed })
    }
}

/// What must not depend on how messages came.
fn essence(log: &ReviewLog, seats: &[&Seat], class: &Class) -> Result<Value> {
    let names: BTreeMap<&str, &str> =
        seats.iter().map(|seat| (seat.id.as_str(), seat.name.as_str())).collect();
    let name = |student: &Value| names.get(student.as_str().unwrap_or_default()).copied();
    let mut answers = BTreeMap::new();
    for answer in log.of("answered") {
        let who = name(&answer["student"]).context("an answer of nobody's")?;
        let at = (answer["round"].as_u64(), who);
        let what = ["attempt", "typed", "said", "exact", "credit"].map(|field| &answer[field]);
        ensure!(answers.insert(at, what).is_none(), "two answers of {at:?}");
    }
    let closed: Vec<_> = log.of("round_closed").collect();
    let recount = class.recount()?;
    let mut points = BTreeMap::new();
    for (id, name) in names {
        points.insert(name, recount.total_after(recount.rounds.len(), id)?);
    }
    let answers: Vec<_> = answers.into_iter().collect();
    Ok(json!({ "answers": answers, "closed": closed, "points": points }))
}

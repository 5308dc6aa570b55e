//! One student of the class.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::{Duration, Instant};

use anyhow::{Context as _, Result, bail, ensure};
use myonym_tests::{Client, Heard, Role, Seat, hundredths, shoulder};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt as _, SeedableRng as _};
use serde_json::{Value, json};
use tokio::time::sleep;
use uuid::Uuid;

use super::Shared;
use crate::stopwatch;

struct Sitting {
    shared: Arc<Shared>,
    seat: Seat,
    random: ChaCha8Rng,
    names: Vec<String>,
    /// The answer of each round, the same however often it is sent.
    answers: BTreeMap<u64, Answer>,
    /// When the latest answer was sent, on the connection at hand.
    sent: Option<Instant>,
    over: bool,
}

#[derive(Debug, Clone)]
struct Answer {
    attempt: String,
    text: String,
}

/// A student's part in a review, to its end.
pub(super) async fn sit(shared: Arc<Shared>, seat: Seat, seed: u64) -> Result<()> {
    let names = shoulder()?.into_iter().map(|muscle| muscle.name).collect();
    let random = ChaCha8Rng::seed_from_u64(seed);
    let mut sitting =
        Sitting { shared, seat, random, names, answers: BTreeMap::new(), sent: None, over: false };
    while !sitting.over {
        sitting.visit().await?;
        sitting.shared.wait_a_little(&mut sitting.random).await;
    }
    Ok(())
}

impl Sitting {
    /// One connection, from its beginning to its end.
    async fn visit(&mut self) -> Result<()> {
        let opened = stopwatch::now();
        let address = self.shared.place.address;
        let Ok(mut client) = Client::open(address, Role::Student).await else { return Ok(()) };
        let hello = json!({ "type": "return", "word": self.seat.word, "seat": self.seat.token });
        self.sent = None;
        let mut in_seat = false;
        // What cannot be sent is seen by the end of the connection.
        let _ = client.hello(hello).await;
        loop {
            match client.hear_whenever().await? {
                Heard::Message(message) => {
                    in_seat = true;
                    self.take(&mut client, &message, opened).await?;
                }
                Heard::Closed(end) => {
                    let refused = end.code.is_some_and(|code| ![1000, 1001, 1013].contains(&code));
                    ensure!(!refused, "a student was sent away: {end:?}");
                    self.shared.note(|ledger| {
                        ledger.sent_away += usize::from(in_seat && end.code == Some(1001));
                        ledger.cut_off += usize::from(in_seat && end.code.is_none());
                    });
                    return Ok(());
                }
            }
        }
    }

    async fn take(&mut self, client: &mut Client, told: &Value, opened: Instant) -> Result<()> {
        match told["type"].as_str().context("no type")? {
            "seated" => self.seated(client, told).await?,
            "clue" => self.shared.note(|ledger| ledger.shows(opened)),
            "round_opened" => {
                self.shared.note(|ledger| ledger.shows(opened));
                self.think().await;
                self.answer(client, told["round"].as_u64().context("no round")?).await?;
            }
            "recorded" => self.recorded(told, opened)?,
            "summary" => {
                let total = hundredths(told["total"].as_f64().context("no total")?);
                self.shared.note(|ledger| ledger.total(&self.seat.id, total));
                self.over = true;
            }
            // Somebody who was not back yet when it ended.
            "error" if told["code"] == "review_over" => self.over = true,
            "error" => {
                // A round may close, or saving fail, while an answer is on its way.
                let usual = ["round_not_open", "too_late", "cannot_save"];
                ensure!(usual.iter().any(|code| told["code"] == *code), "refused: {told}");
            }
            "removed" | "which_one" | "unknown_name" => bail!("a student was told {told}"),
            _ => {}
        }
        Ok(())
    }

    /// Brought up to date: whoever has not answered does, and some send again what is recorded.
    async fn seated(&mut self, client: &mut Client, told: &Value) -> Result<()> {
        ensure!(told["student"] == self.seat.id.as_str(), "another seat: {told}");
        let moment = &told["moment"];
        self.over = moment["phase"] == "ended";
        let Some(round) = moment["round"].as_u64() else { return Ok(()) };
        if moment["phase"] != "open" {
            return self.ask_after(client, round).await;
        }
        let given = &moment["given"];
        if given["recorded"] == true {
            let text =
                |field: &str| given[field].as_str().map(ToOwned::to_owned).context("no text");
            let (attempt, text) = (text("attempt")?, text("text")?);
            self.shared.note(|ledger| _ = ledger.acknowledge(&attempt));
            // A class that comes back in another's place knows of it from here alone.
            let own = self
                .answers
                .entry(round)
                .or_insert_with(|| Answer { attempt: attempt.clone(), text });
            ensure!(own.attempt == attempt, "another attempt than was sent: {told}");
        }
        if let Some(own) = self.answers.get(&round)
            && given["recorded"] != true
        {
            self.shared.note(|ledger| ledger.not_there(&own.attempt));
        }
        if given["recorded"] != true || self.random.random() {
            self.answer(client, round).await?;
        }
        Ok(())
    }

    /// Back after the round: sends its answer again if it was not told to be recorded, for the server
    /// to say whether it is.
    async fn ask_after(&mut self, client: &mut Client, round: u64) -> Result<()> {
        let known = |own: &Answer| self.shared.ledger().attempts().contains(&own.attempt);
        if self.answers.get(&round).is_some_and(|own| !known(own)) {
            self.answer(client, round).await?;
        }
        Ok(())
    }

    async fn answer(&mut self, client: &mut Client, round: u64) -> Result<()> {
        let Self { random, names, .. } = self;
        let Answer { attempt, text } = self.answers.entry(round).or_insert_with(|| Answer {
            attempt: Uuid::from_u128(random.random()).to_string(),
            text: names[random.random_range(0..names.len())].clone(),
        });
        let answer = json!({
            "type": "answer", "round": round, "attempt": attempt, "text": text, "elapsed_ms": 900,
        });
        self.sent = Some(stopwatch::now());
        let _ = client.say(answer).await;
        Ok(())
    }

    fn recorded(&mut self, told: &Value, opened: Instant) -> Result<()> {
        let attempt = told["attempt"].as_str().context("no attempt")?;
        let own = self.answers.values().any(|answer| answer.attempt == attempt);
        ensure!(own, "recorded is told of an attempt of nobody's: {told}");
        let took = self.sent.take().map(|sent| sent.elapsed());
        self.shared.note(|ledger| {
            if ledger.acknowledge(attempt) {
                ledger.shows(opened);
                ledger.waits.extend(took);
            }
        });
        Ok(())
    }

    async fn think(&mut self) {
        let most = self.shared.tempo.thinks.as_millis().try_into().unwrap_or(u64::MAX);
        sleep(Duration::from_millis(self.random.random_range(0..=most))).await;
    }
}

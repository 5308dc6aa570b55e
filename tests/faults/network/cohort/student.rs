//! A student who goes on by itself, whatever happens to its connections.
//!
//! It keeps the rules that the protocol gives to clients: an answer goes again under its first
//! attempt until its fate is known, 15 s of silence are a lost connection, and what was lost is
//! tried again after random(0, 1 s), then random(0, min(10 s, 0.25 s * 2^n)).

use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;
use std::time::Duration;

use anyhow::{Context as _, Result, bail, ensure};
use myonym_tests::hundredths;
use rand::rngs::ChaCha8Rng;
use rand::seq::IndexedRandom as _;
use rand::{RngExt as _, SeedableRng as _};
use serde_json::json;
use tokio::select;
use tokio::sync::{Semaphore, watch};
use tokio::time::{Instant, sleep, sleep_until, timeout};
use uuid::Uuid;

use super::diary::{Diary, Habits, Seen, Way};
use super::link::{Heard, Link, Told};

/// Silence that a client takes for a lost connection (the protocol's `SILENCE_MS`).
pub(super) const SILENCE: Duration = Duration::from_secs(15);
/// Time to come in, from the first packet to the seat. Long enough for lost packets to be sent
/// again; an attempt that got nowhere must not keep a student out after the network is back.
const COME_IN: Duration = Duration::from_secs(10);

/// An answer, the same however often it is sent.
#[derive(Debug)]
struct Try {
    attempt: String,
    text: String,
    claim_ms: u64,
    /// Whether there is nothing more to learn of it.
    settled: bool,
}

/// How a connection went.
enum End {
    /// The review is over.
    Over,
    /// The pupil left; it comes back.
    Left,
    /// It was lost.
    Lost(Option<u16>),
}

/// A student.
#[derive(Debug)]
pub(super) struct Student {
    way: Way,
    name: String,
    token: String,
    names: Arc<[String]>,
    habits: Habits,
    door: Arc<Semaphore>,
    seen: watch::Sender<Seen>,
    random: ChaCha8Rng,
    tries: BTreeMap<u16, Try>,
    /// The answer to come, and when the round's clue was seen.
    due: Option<(u16, Instant, Instant)>,
    /// Rounds of the answers sent on this connection and not yet replied to, in order.
    waiting: VecDeque<u16>,
    diary: Diary,
}

impl Student {
    pub(super) fn new(
        way: Way,
        number: usize,
        seed: u64,
        habits: Habits,
        (names, door, told): (Arc<[String]>, Arc<Semaphore>, watch::Sender<Seen>),
    ) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        random.set_stream(number as u64);
        let token = Uuid::from_u128(random.random()).simple().to_string();
        Self {
            way,
            name: format!("Student {number}"),
            token,
            names,
            habits,
            door,
            seen: told,
            random,
            tries: BTreeMap::new(),
            due: None,
            waiting: VecDeque::new(),
            diary: Diary::default(),
        }
    }

    /// Takes part until the review is over.
    ///
    /// # Errors
    /// The server said something that it must not say.
    pub(super) async fn attend(mut self) -> Result<Diary> {
        let mut retry = 0;
        loop {
            let seatings = self.diary.seatings.len();
            let end = self.one_connection().await;
            match end.with_context(|| self.name.clone())? {
                End::Over => return Ok(self.diary),
                End::Left => retry = 0,
                // A seat in between ends the row of failures.
                End::Lost(code) if self.diary.seatings.len() > seatings => {
                    self.diary.losses.push((Instant::now(), code));
                    retry = 1;
                }
                End::Lost(_) => retry += 1,
            }
            sleep(self.back_off(retry)).await;
        }
    }

    /// Full jitter.
    fn back_off(&mut self, retry: u32) -> Duration {
        let ceiling = if retry <= 1 { 1_000 } else { (250 << retry.min(6)).min(10_000) };
        Duration::from_millis(self.random.random_range(0..=ceiling))
    }

    async fn one_connection(&mut self) -> Result<End> {
        self.due = None;
        self.waiting.clear();
        let came = {
            let _turn = self.door.clone().acquire_owned().await?;
            timeout(COME_IN, self.come_in()).await
        };
        let Ok(Ok(Some((mut link, seated)))) = came else { return Ok(End::Lost(None)) };
        self.diary.seatings.push(Instant::now());
        self.seen.send_modify(|seen| {
            seen.seated += 1;
            seen.seatings += 1;
        });
        let end = self.take_part(&mut link, &seated).await;
        self.seen.send_modify(|seen| seen.seated -= 1);
        end
    }

    /// Connects and takes its seat; `None` if it was refused, which a student tries again.
    async fn come_in(&self) -> Result<Option<(Link, Told)>> {
        let (word, token) = (&self.way.word, &self.token);
        let hello = if self.diary.student.is_some() {
            json!({ "type": "return", "word": word, "seat": token })
        } else {
            json!({ "type": "join", "word": word, "seat": token, "name": self.name, "listed": true })
        };
        let mut link = Link::open(self.way.to, self.way.from, &hello).await?;
        loop {
            match link.hear().await? {
                Heard::Told(told) if told.kind == "seated" => return Ok(Some((link, *told))),
                Heard::Told(told) if told.kind == "error" => return Ok(None),
                Heard::End(_) => return Ok(None),
                Heard::Told(_) | Heard::Stir => {}
            }
        }
    }

    async fn take_part(&mut self, link: &mut Link, seated: &Told) -> Result<End> {
        if let Some(end) = self.on_told(link, seated).await? {
            return Ok(end);
        }
        let mut silence = Instant::now() + SILENCE;
        loop {
            let due = self.due.map(|(_, _, due)| due);
            let think = async {
                match due {
                    Some(due) => sleep_until(due).await,
                    None => std::future::pending().await,
                }
            };
            let end = select! {
                heard = link.hear() => {
                    silence = Instant::now() + SILENCE;
                    match heard? {
                        Heard::Told(told) => self.on_told(link, &told).await?,
                        Heard::Stir => None,
                        Heard::End(code) => Some(End::Lost(code)),
                    }
                }
                () = think => self.answer(link).await?,
                () = sleep_until(silence) => Some(End::Lost(None)),
            };
            if let Some(end) = end {
                return Ok(end);
            }
        }
    }

    async fn on_told(&mut self, link: &mut Link, told: &Told) -> Result<Option<End>> {
        match (told.kind.as_str(), told.round) {
            ("seated", _) => return self.on_seated(link, told).await,
            ("round_opened", Some(round)) => self.consider(round),
            ("received", Some(round)) => self.waiting.retain(|waits| *waits != round),
            ("recorded", Some(round)) => {
                let attempt = told.attempt.as_deref().context("recorded, but not what")?;
                self.on_recorded(round, attempt)?;
            }
            ("which_one" | "unknown_name", _) => bail!("a name of the list is not known: {told:?}"),
            ("error", _) => self.on_error(told.code.as_deref().unwrap_or_default()),
            ("round_closed" | "round_skipped", _) => self.due = None,
            ("standings", _) if self.has_enough() => return self.leave(link).await.map(Some),
            ("summary", _) => {
                self.diary.total = told.total.map(hundredths);
                return Ok(Some(End::Over));
            }
            ("removed", _) => bail!("taken out of the review"),
            _ => {}
        }
        Ok(None)
    }

    async fn on_seated(&mut self, link: &mut Link, told: &Told) -> Result<Option<End>> {
        let known = self.diary.student.get_or_insert(told.student.clone().context("no number")?);
        ensure!(
            told.student.as_ref() == Some(known),
            "{known} came back to another seat: {told:?}"
        );
        let moment = told.moment.as_ref().context("no moment")?;
        if moment.phase == "ended" {
            let summary = moment.summary.as_ref().context("no summary")?;
            self.diary.total = Some(hundredths(summary.total));
            return Ok(Some(End::Over));
        }
        if let (Some(given), Some(round)) = (&moment.given, moment.round)
            && given.recorded
        {
            self.on_recorded(round, &given.attempt)?;
        }
        self.waiting.clear();
        // Some send again what is recorded as well, as one does who did not read all that came.
        let eager = self.random.random();
        let open = moment.round.filter(|_| moment.phase == "open");
        let again =
            |(round, tried): &(&u16, &Try)| !tried.settled || eager && open == Some(**round);
        let again: Vec<u16> = self.tries.iter().filter(again).map(|(round, _)| *round).collect();
        for round in again {
            if let Some(end) = self.send(link, round).await? {
                return Ok(Some(end));
            }
        }
        if moment.phase == "open" {
            self.consider(moment.round.context("an open round without a number")?);
        }
        Ok(None)
    }

    /// Thinks about a round that has no answer of this student's yet.
    fn consider(&mut self, round: u16) {
        self.seen.send_if_modified(|seen| {
            let later = round > seen.round;
            if later {
                (seen.round, seen.of_round) = (round, 0);
            }
            later
        });
        if !self.tries.contains_key(&round) {
            let (least, most) = self.habits.think_ms;
            let think = Duration::from_millis(self.random.random_range(least..=most));
            self.due = Some((round, Instant::now(), Instant::now() + think));
        }
    }

    async fn answer(&mut self, link: &mut Link) -> Result<Option<End>> {
        let Some((round, saw, _)) = self.due.take() else { return Ok(None) };
        let truth = u64::try_from(saw.elapsed().as_millis())?;
        let tried = Try {
            attempt: Uuid::from_u128(self.random.random()).to_string(),
            text: self.names.choose(&mut self.random).context("no names")?.clone(),
            claim_ms: (self.habits.claims)(truth, &mut self.random),
            settled: false,
        };
        self.tries.insert(round, tried);
        self.diary.answers += 1;
        self.send(link, round).await
    }

    async fn send(&mut self, link: &mut Link, round: u16) -> Result<Option<End>> {
        let tried = self.tries.get(&round).context("no such try")?;
        self.waiting.push_back(round);
        let answer = json!({
            "type": "answer", "round": round, "attempt": tried.attempt, "text": tried.text,
            "elapsed_ms": tried.claim_ms,
        });
        Ok(link.say(&answer).await.is_err().then_some(End::Lost(None)))
    }

    fn on_recorded(&mut self, round: u16, attempt: &str) -> Result<()> {
        let tried = self.tries.get_mut(&round).context("recorded what was never answered")?;
        ensure!(tried.attempt == attempt, "{attempt} recorded in place of {tried:?}");
        tried.settled = true;
        if !self.diary.recorded.contains_key(attempt) {
            self.diary.recorded.insert(attempt.to_owned(), Instant::now());
            self.seen.send_modify(|seen| {
                seen.recorded += 1;
                seen.of_round += usize::from(round == seen.round);
            });
        }
        Ok(())
    }

    /// A refusal for good settles the answer that waited longest; after any other it goes again with
    /// the next connection.
    fn on_error(&mut self, code: &str) {
        let Some(round) = self.waiting.pop_front() else { return };
        if let ("round_not_open" | "too_late" | "already_answered", Some(tried)) =
            (code, self.tries.get_mut(&round))
        {
            tried.settled = true;
            self.diary.refused.push((round, code.to_owned()));
        }
    }

    fn has_enough(&self) -> bool {
        let round = self.seen.borrow().round;
        self.habits.leaves_every.is_some_and(|every| round.is_multiple_of(every))
    }

    async fn leave(&mut self, link: &mut Link) -> Result<End> {
        if link.say(&json!({ "type": "leave" })).await.is_err() {
            return Ok(End::Lost(None));
        }
        loop {
            match link.hear().await? {
                Heard::Told(told) if told.kind == "recorded" => {
                    let attempt = told.attempt.context("recorded, but not what")?;
                    self.on_recorded(told.round.context("no round")?, &attempt)?;
                }
                Heard::Told(_) | Heard::Stir => {}
                Heard::End(Some(1000)) => return Ok(End::Left),
                Heard::End(code) => return Ok(End::Lost(code)),
            }
        }
    }
}

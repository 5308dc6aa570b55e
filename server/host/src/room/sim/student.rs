//! A simulated student: joins, answers, repeats itself, lies about the time, and comes back.

use std::collections::BTreeMap;

use anyhow::Result;
use myonym_wire::limits::close;
use myonym_wire::{
    AttemptId, FromStudent, Millis, Motion, RoundNo, SeatToken, StudentId, TimeAllowance,
};
use rand::RngExt as _;
use rand::rngs::ChaCha8Rng;
use rand::seq::IndexedRandom as _;
use serde_json::Value;
use uuid::Uuid;

use super::ear::{HIDDEN, attempt};
use super::fault::{Fault, Faults};
use crate::room::Entrant;

/// What a student will do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Step {
    /// Come, or come back.
    Connect,
    /// Answer a round, or think of another name after being asked again.
    Answer(RoundNo),
    /// Choose among the names offered.
    Choose(RoundNo, String),
    /// Send a try again.
    Again(AttemptId),
    Vote(Motion, bool),
    Start,
    OwnTime,
    Leave,
}

/// How a client's own clock goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Watch {
    True,
    Behind,
    Ahead,
}

/// One try at answering.
#[derive(Debug, Clone)]
pub(super) struct Try {
    pub(super) round: RoundNo,
    pub(super) text: String,
    /// When it reached the host's socket, each time that it was sent.
    pub(super) arrived: Vec<Millis>,
    /// The connections that it was sent on.
    pub(super) conns: Vec<u64>,
    pub(super) recorded: bool,
}

#[derive(Debug)]
pub(super) struct Student {
    pub(super) name: String,
    pub(super) listed: bool,
    /// Made by the client, where it makes one.
    token: Option<SeatToken>,
    /// Heard from the host.
    seat: Option<SeatToken>,
    pub(super) ids: Vec<StudentId>,
    /// The connection that it listens to.
    pub(super) conn: Option<u64>,
    pub(super) removed: bool,
    joined_before: bool,
    watch: Watch,
    /// How diligent, from 0 to 1.
    answers: f64,
    /// The round on the screen and since when.
    shown: Option<(RoundNo, Millis)>,
    pub(super) tries: BTreeMap<AttemptId, Try>,
    last: Option<AttemptId>,
}

impl Student {
    pub(super) fn new(number: usize, random: &mut ChaCha8Rng) -> Self {
        let listed = random.random_bool(0.7);
        let name = if listed { format!("Iris {number}") } else { format!("{HIDDEN}{number}.") };
        let token = random.random_bool(0.85).then(|| SeatToken::from_bits(random.random()));
        let watch = match random.random_range(0..10) {
            0 => Watch::Behind,
            1 => Watch::Ahead,
            _ => Watch::True,
        };
        Self {
            name,
            listed,
            token,
            seat: None,
            ids: Vec::new(),
            conn: None,
            removed: false,
            joined_before: false,
            watch,
            answers: random.random_range(0.5..1.0),
            shown: None,
            tries: BTreeMap::new(),
            last: None,
        }
    }

    /// How it comes in.
    pub(super) fn entrant(&mut self, random: &mut ChaCha8Rng, faults: &mut Faults) -> Entrant {
        if let Some(seat) =
            self.seat.clone().filter(|_| self.token.is_none() || random.random_bool(0.8))
        {
            return Entrant::Return { seat };
        }
        if std::mem::replace(&mut self.joined_before, true) && self.token.is_some() {
            faults.count(Fault::JoinedAgain);
        }
        Entrant::Join {
            name: self.name.clone(),
            listed: self.listed,
            seat: self.token.clone(),
            person: None,
            group: None,
        }
    }

    /// Whether the host has told it a seat.
    pub(super) fn has_seat(&self) -> bool {
        self.seat.is_some()
    }

    /// Takes in a message, and says what it will do and after how many milliseconds.
    pub(super) fn hear(
        &mut self,
        message: &Value,
        now: Millis,
        random: &mut ChaCha8Rng,
    ) -> Result<Vec<(u64, Step)>> {
        let round = message["round"].as_u64().and_then(|round| u16::try_from(round).ok());
        let round = round.map(RoundNo);
        Ok(match (message["type"].as_str(), round) {
            (Some("seated"), _) => self.seated(message, now, random)?,
            (Some("round_opened"), Some(round)) => {
                self.shown = Some((round, now));
                self.thinks(round, random)
            }
            (Some("which_one"), Some(round)) => {
                let among = message["among"].as_array().map_or(&[][..], Vec::as_slice);
                let chosen = among.choose(random).and_then(Value::as_str).unwrap_or("deltoid");
                vec![(random.random_range(300..1_500), Step::Choose(round, chosen.to_owned()))]
            }
            (Some("unknown_name"), Some(round)) => {
                vec![(random.random_range(300..1_500), Step::Answer(round))]
            }
            (Some("received"), _) if random.random_bool(0.08) => {
                vec![(random.random_range(1..400), Step::Again(attempt(message)?))]
            }
            (Some("recorded"), _) => self.recorded(attempt(message)?, random),
            (Some("revealed"), Some(round)) if random.random_bool(0.04) => {
                vec![(random.random_range(0..3_000), Step::Answer(round))]
            }
            (Some("removed"), _) => {
                self.removed = true;
                random.random_bool(0.5).then_some((900, Step::Connect)).into_iter().collect()
            }
            _ => Vec::new(),
        })
    }

    fn seated(
        &mut self,
        message: &Value,
        now: Millis,
        random: &mut ChaCha8Rng,
    ) -> Result<Vec<(u64, Step)>> {
        if let Some(id) = message["student"].as_str() {
            let id = StudentId(id.parse()?);
            if !self.ids.contains(&id) {
                self.ids.push(id);
            }
        }
        if let Some(seat) = message["seat"].as_str() {
            self.seat = seat.parse().ok();
        }
        let moment = &message["moment"];
        let round = moment["round"].as_u64().and_then(|round| u16::try_from(round).ok());
        let Some(round) = round.map(RoundNo).filter(|_| moment["phase"] == "open") else {
            return Ok(Vec::new());
        };
        let run = moment["elapsed_ms"].as_u64().unwrap_or_default();
        if self.shown.is_none_or(|(shown, _)| shown != round) {
            self.shown = Some((round, now.minus(Millis(run))));
        }
        if !moment["given"].is_null() {
            return Ok(self.recorded(attempt(&moment["given"])?, random));
        }
        // An answer on its way when the connection went is sent again.
        let open = self.last.filter(|last| {
            self.tries.get(last).is_some_and(|it| it.round == round && !it.recorded)
        });
        Ok(match open {
            Some(last) => vec![(random.random_range(1..300), Step::Again(last))],
            None => self.thinks(round, random),
        })
    }

    fn recorded(&mut self, attempt: AttemptId, random: &mut ChaCha8Rng) -> Vec<(u64, Step)> {
        let Some(tried) = self.tries.get_mut(&attempt) else { return Vec::new() };
        tried.recorded = true;
        match random.random_range(0..20) {
            0 => vec![(random.random_range(1..5_000), Step::Again(attempt))],
            1 => vec![(random.random_range(1..3_000), Step::Answer(tried.round))],
            _ => Vec::new(),
        }
    }

    fn thinks(&self, round: RoundNo, random: &mut ChaCha8Rng) -> Vec<(u64, Step)> {
        let after = if random.random_bool(0.1) {
            random.random_range(0..12_000)
        } else {
            random.random_range(200..4_000)
        };
        let answers = random.random_bool(self.answers);
        answers.then_some((after, Step::Answer(round))).into_iter().collect()
    }

    /// A new try.
    pub(super) fn tries(
        &mut self,
        round: RoundNo,
        text: String,
        random: &mut ChaCha8Rng,
    ) -> AttemptId {
        let attempt = AttemptId(Uuid::from_u128(random.random()));
        let (arrived, conns) = (Vec::new(), Vec::new());
        self.tries.insert(attempt, Try { round, text, arrived, conns, recorded: false });
        self.last = Some(attempt);
        attempt
    }

    /// A try as it is sent on a connection.
    pub(super) fn says(
        &mut self,
        attempt: AttemptId,
        conn: u64,
        now: Millis,
        faults: &mut Faults,
    ) -> Option<FromStudent> {
        let shown = self.shown.map(|(_, since)| now.minus(since).0).unwrap_or_default();
        let tried = self.tries.get_mut(&attempt)?;
        if let Some(before) = tried.conns.last() {
            let elsewhere = *before != conn;
            faults.count(if elsewhere { Fault::ResentElsewhere } else { Fault::Resent });
        }
        tried.conns.push(conn);
        let elapsed_ms = match self.watch {
            Watch::True => shown,
            Watch::Behind => {
                faults.count(Fault::ClockBack);
                0
            }
            Watch::Ahead => {
                faults.count(Fault::ClockAhead);
                shown.saturating_mul(1_000_000).saturating_add(u64::MAX / 2)
            }
        };
        let (round, text) = (tried.round, tried.text.clone());
        Some(FromStudent::Answer { round, attempt, text, elapsed_ms })
    }

    /// After a close: in how many milliseconds it comes back, if it does.
    pub(super) fn closed(&mut self, code: u16, random: &mut ChaCha8Rng) -> Option<u64> {
        self.conn = None;
        match code {
            close::SEAT_TAKEN | close::POLICY => None,
            // It left, or the review is over.
            close::NORMAL => random.random_bool(0.5).then(|| random.random_range(500..8_000)),
            _ => Some(random.random_range(20..3_000)),
        }
    }

    /// What a member of a study group asks for now and then.
    pub(super) fn wishes(random: &mut ChaCha8Rng) -> Step {
        const MOTIONS: [Motion; 8] = [
            Motion::Skip,
            Motion::Pause,
            Motion::Resume,
            Motion::Resume,
            Motion::Next,
            Motion::Next,
            Motion::Pause,
            Motion::End,
        ];
        match random.random_range(0..10) {
            0..3 => Step::Start,
            3 => Step::OwnTime,
            _ => {
                let motion = MOTIONS.choose(random).copied().unwrap_or(Motion::Next);
                Step::Vote(motion, random.random_bool(0.85))
            }
        }
    }
}

/// Other time than the class has, or the same again.
pub(super) fn other_time(random: &mut ChaCha8Rng) -> TimeAllowance {
    match random.random_range(0..4) {
        0 => TimeAllowance::Standard,
        1 => TimeAllowance::Untimed,
        _ => TimeAllowance::Stretched { percent: random.random_range(150..=400) },
    }
}

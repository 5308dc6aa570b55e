//! Reviews that never were: the events that a host would have written, drawn from a seed.
//!
//! Students differ in ability, muscles in difficulty, and each muscle has three others for which it
//! is taken. The numbers are our estimate of a first course; nothing but speed and sums rests on
//! them.

use std::path::Path;

use anyhow::Context;
use myonym_content::{Catalogue, Clue, Course, ListKey, MuscleKey};
use myonym_engine::{Answer, Event, SCHEMA, Settings, SpellingFound};
use myonym_wire::{
    AttemptId, CloseWhy, EndWhy, Pace, ReviewId, RoundNo, ScoreRule, Spelling, StudentId,
};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt as _, SeedableRng as _};
use rusqlite::{Connection, Transaction, params};
use sha2::{Digest as _, Sha256};
use uuid::{Builder, Uuid};

use super::Term;

const LIST: &str = "introductory";
/// Sections of the department; each has one review a week.
const SECTIONS: u16 = 10;
const WEEK_S: i64 = 7 * 24 * 3_600;
/// A day in the past from which the term runs.
const TERM_S: i64 = 1_750_000_000;
const LIMIT_MS: u32 = 45_000;
/// How often an answer misses, is not given, or is misspelt.
const SILENT: f64 = 0.03;
const MISSPELT: f64 = 0.05;

/// How much was made.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Made {
    pub(crate) answers: u64,
    pub(crate) events: u64,
}

/// Fills an empty data file with a term.
pub(crate) fn fill(file: &Path, term: &Term) -> anyhow::Result<Made> {
    let mut file = Connection::open(file)?;
    let catalogue = Catalogue::bundled();
    let list = catalogue.list(&ListKey::new(LIST)).context("no such muscle list")?;
    let muscles = muscles(&Course::new(catalogue, list)?);
    let mut made = Made::default();
    let all = file.transaction()?;
    for number in 0..term.reviews {
        Review::new(&all, term, number).write(&muscles, &mut made)?;
    }
    all.commit()?;
    file.execute_batch("PRAGMA wal_checkpoint(TRUNCATE)")?;
    Ok(made)
}

struct MuscleOf {
    key: MuscleKey,
    name: String,
    latin: String,
    clues: Vec<Clue>,
    /// In logits above the mean.
    difficulty: f64,
}

fn muscles(course: &Course) -> Vec<MuscleOf> {
    let mut random = ChaCha8Rng::seed_from_u64(0);
    let muscle = |item: &myonym_content::Item| MuscleOf {
        key: item.muscle.clone(),
        name: item.name.clone(),
        latin: item.latin.clone(),
        clues: item.clues.iter().map(|clue| clue.clue.clone()).collect(),
        difficulty: random.random_range(-1.5..1.5),
    };
    course.items().iter().map(muscle).collect()
}

struct Seat {
    student: StudentId,
    ability: f64,
}

struct Review<'a> {
    file: &'a Transaction<'a>,
    term: &'a Term,
    number: u16,
    id: ReviewId,
    random: ChaCha8Rng,
    seq: i64,
    at: i64,
    chain: [u8; 32],
    answers: u64,
}

impl<'a> Review<'a> {
    fn new(file: &'a Transaction<'a>, term: &'a Term, number: u16) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(term.seed ^ (u64::from(number) << 32));
        let id = Builder::from_random_bytes(random.random()).into_uuid();
        let (id, chain) = (ReviewId(id), [0; 32]);
        Self { file, term, number, id, random, seq: 0, at: 0, chain, answers: 0 }
    }

    fn write(mut self, muscles: &[MuscleOf], made: &mut Made) -> anyhow::Result<()> {
        let section = self.number % SECTIONS;
        let opened = TERM_S + i64::from(self.number / SECTIONS) * WEEK_S + i64::from(section);
        self.file.execute(
            "INSERT INTO review (id, word, key_hash, opened_s, touched_s, ended) \
             VALUES (?1, 'radius-talus', zeroblob(32), ?2, ?2, 1)",
            params![self.id.0.as_bytes(), opened],
        )?;
        let settings = Settings {
            list: ListKey::new(LIST),
            list_name: "introductory course".to_owned(),
            limit_ms: LIMIT_MS,
            rule: ScoreRule::SpeedWeighted,
            spelling: Spelling::Tolerant,
            pace: Pace::Instructor,
            adaptive: false,
            section: Some(format!("Section {}", section + 1)),
        };
        let opened = Event::Opened {
            schema: SCHEMA,
            review: self.id,
            settings,
            seed: 0,
            plan: Vec::new(),
            tasks: Vec::new(),
            beside: Vec::new(),
            why: Vec::new(),
        };
        self.tell("opened", &opened)?;
        let seats = self.seat(section)?;
        for round in 1..=self.term.rounds {
            self.round(RoundNo(round), muscles, &seats)?;
        }
        self.tell("ended", &Event::Ended { why: EndWhy::Finished })?;
        made.answers += self.answers;
        made.events += self.seq.unsigned_abs();
        Ok(())
    }

    /// The same students in all reviews of a section, known again by device.
    fn seat(&mut self, section: u16) -> anyhow::Result<Vec<Seat>> {
        let mut seats = Vec::new();
        for place in 0..self.term.students {
            let person = Sha256::digest(format!("{section} {place}"));
            let whose = u64::from(section) << 16 | u64::from(place);
            let ability = ChaCha8Rng::seed_from_u64(whose).random_range(-1.0..2.0);
            let student = StudentId(Builder::from_random_bytes(self.random.random()).into_uuid());
            let name = format!("Student {place}");
            let group = format!("Bench {}", place / 4 + 1);
            let (review, id) = (self.id.0.as_bytes(), student.0.as_bytes());
            self.file
                .prepare_cached(
                    "INSERT INTO seat (review, student, token_hash, name, person_hash, class_group) \
                     VALUES (?1, ?2, zeroblob(32), ?3, ?4, ?5)",
                )?
                .execute(params![review, id, name, &person[..], group])?;
            self.tell("seated", &Event::Seated { student, listed: true })?;
            seats.push(Seat { student, ability });
        }
        Ok(seats)
    }

    fn round(
        &mut self,
        round: RoundNo,
        muscles: &[MuscleOf],
        seats: &[Seat],
    ) -> anyhow::Result<()> {
        let asked = self.random.random_range(0..muscles.len());
        let MuscleOf { key, name, latin, clues, .. } = &muscles[asked];
        let opened = Event::RoundOpened {
            round,
            task: myonym_wire::Task::Name,
            muscle: key.clone(),
            name: name.clone(),
            latin: latin.clone(),
            offered: Vec::new(),
            clues: clues.clone(),
            limit_ms: LIMIT_MS,
        };
        self.tell("round_opened", &opened)?;
        for number in 2..=u8::try_from(clues.len()).unwrap_or(u8::MAX) {
            self.tell("clue_shown", &Event::ClueShown { round, number })?;
        }
        let mut silent = Vec::new();
        for seat in seats {
            if self.random.random_bool(SILENT) {
                silent.push(seat.student);
            } else {
                let answer = self.answer(round, seat, asked, muscles);
                self.tell("answered", &Event::Answered(answer))?;
                self.answers += 1;
            }
        }
        let closed = Event::RoundClosed { round, why: CloseWhy::TimeUp, silent };
        self.tell("round_closed", &closed)?;
        self.tell("revealed", &Event::Revealed { round, contrast: None })
    }

    fn answer(
        &mut self,
        round: RoundNo,
        seat: &Seat,
        asked: usize,
        muscles: &[MuscleOf],
    ) -> Answer {
        let knows = 1.0 / (1.0 + (muscles[asked].difficulty - seat.ability).exp());
        let right = self.random.random_bool(knows);
        // The first of its three others is said more often than the second, and so on.
        let (first, second): (usize, usize) =
            (self.random.random_range(1..4), self.random.random_range(1..4));
        let said = if right { asked } else { (asked + first.min(second)) % muscles.len() };
        let said = &muscles[said];
        let misspelt = self.random.random_bool(MISSPELT);
        let typed = if misspelt { said.name.replacen('e', "a", 1) } else { said.name.clone() };
        Answer {
            round,
            student: seat.student,
            attempt: AttemptId(Uuid::from_u128(self.random.random())),
            typed,
            said: Some(said.key.clone()),
            movement: None,
            said_name: Some(said.name.clone()),
            spelling: if misspelt { SpellingFound::Misspelt } else { SpellingFound::Exact },
            exact: right,
            credit: if right { 1.0 } else { 0.0 },
            elapsed_ms: self.random.random_range(2_000..40_000),
            limit_ms: Some(LIMIT_MS),
            clues: self.random.random_range(1..4),
            hasty: false,
        }
    }

    /// Writes an event as a host does: numbered on, and chained to the one before.
    fn tell(&mut self, kind: &str, event: &Event) -> anyhow::Result<()> {
        let body = serde_json::to_string(event)?;
        self.seq += 1;
        self.at += 37;
        self.chain = Sha256::new().chain_update(self.chain).chain_update(&body).finalize().into();
        self.file
            .prepare_cached(
                "INSERT INTO event (review, seq, at_ms, kind, body, chain) \
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
            )?
            .execute(params![self.id.0.as_bytes(), self.seq, self.at, kind, body, self.chain])?;
        Ok(())
    }
}

//! The class and what happens to it.

use std::collections::BTreeMap;

use anyhow::{Context as _, Result, bail};
use myonym_tests::{Heard, Instructor, ReviewLog, Seat, Student, TestHost, shoulder};
use rand::rngs::ChaCha8Rng;
use rand::seq::IndexedRandom as _;
use rand::{RngExt as _, SeedableRng as _};
use serde_json::{Value, json};
use uuid::Uuid;

/// Seats in the class.
const STUDENTS: usize = 12;
/// Messages on one connection, below what a student may send at once.
const A_CONNECTION: usize = 15;
/// Commands on one connection of the instructor.
const COMMANDS: usize = 30;
/// Kills of the host in one plan.
const KILLS: usize = 2;

/// What became of one try at answering, as far as the student was told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fate {
    /// Sent, and the connection was lost.
    Unknown,
    /// On disk.
    Recorded,
    /// No answer yet.
    AskedAgain,
    /// Refused.
    Refused,
}

/// One try at answering.
#[derive(Debug, Clone)]
pub(crate) struct Try {
    round: u16,
    text: String,
    sent: bool,
    pub(crate) fate: Fate,
}

/// Where a student is.
#[derive(Debug)]
enum Place {
    /// Not in the review, or taken out of it.
    Out,
    Here(Box<Student>),
    Away(Seat),
}

/// A student and everything ever said to it.
#[derive(Debug)]
pub(crate) struct Someone {
    place: Place,
    sent: usize,
    pub(crate) id: Option<String>,
    /// By attempt.
    pub(crate) tries: BTreeMap<String, Try>,
    last: Option<String>,
    pub(crate) heard: Vec<Value>,
}

/// A plan being played.
#[derive(Debug)]
pub(crate) struct Play {
    host: TestHost,
    instructor: Instructor,
    commands: usize,
    random: ChaCha8Rng,
    pub(crate) class: Vec<Someone>,
    names: Vec<String>,
    round: u16,
    right: String,
    kills: usize,
    over: bool,
    act: Act,
}

/// Something that happens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Act {
    Join,
    Answer,
    AnswerAndVanish,
    Repeat,
    AnswerAnEarlierRound,
    Vanish,
    Leave,
    Return,
    TakeFromElsewhere,
    Command(&'static str),
    Stretch,
    Remove,
    Kill,
}

/// How often each happens, relative to the others.
const ACTS: [(Act, u32); 19] = [
    (Act::Join, 30),
    (Act::Answer, 100),
    (Act::AnswerAndVanish, 10),
    (Act::Repeat, 15),
    (Act::AnswerAnEarlierRound, 4),
    (Act::Vanish, 8),
    (Act::Leave, 2),
    (Act::Return, 60),
    (Act::TakeFromElsewhere, 4),
    (Act::Command("start"), 4),
    (Act::Command("next"), 10),
    (Act::Command("close_round"), 3),
    (Act::Command("reveal"), 10),
    (Act::Command("skip"), 1),
    (Act::Command("pause"), 3),
    (Act::Command("resume"), 6),
    (Act::Stretch, 3),
    (Act::Remove, 1),
    (Act::Kill, 2),
];

impl Play {
    pub(crate) async fn begin(seed: u64) -> Result<Self> {
        let host = TestHost::start_to_be_restarted(&["--rounds", "12"]).await?;
        let instructor = Instructor::conduct(host.address, Some(&host.word), &host.key).await?;
        let someone = || Someone {
            place: Place::Out,
            sent: 0,
            id: None,
            tries: BTreeMap::new(),
            last: None,
            heard: Vec::new(),
        };
        let mut names: Vec<String> = shoulder()?.into_iter().map(|named| named.name).collect();
        names.extend(["teres", "supraspinatous", "hippocampus", " "].map(ToOwned::to_owned));
        Ok(Self {
            host,
            instructor,
            commands: 0,
            random: ChaCha8Rng::seed_from_u64(seed),
            class: std::iter::repeat_with(someone).take(STUDENTS).collect(),
            names,
            round: 0,
            right: "deltoid".to_owned(),
            kills: 0,
            over: false,
            act: Act::Join,
        })
    }

    pub(crate) fn is_over(&self) -> bool {
        self.over
    }

    pub(crate) fn last_act(&self) -> Act {
        self.act
    }

    pub(crate) fn review_log(&self) -> Result<ReviewLog> {
        let log = self.host.log()?;
        let found = log.reviews.into_iter().find(|review| review.word == self.host.word);
        found.context("no review")
    }

    pub(crate) fn is_sound(&self) -> Result<()> {
        self.host.is_sound()
    }

    /// Draws something and a student to whom it happens; what cannot happen to that student now
    /// does not.
    pub(crate) async fn step(&mut self) -> Result<()> {
        let (act, _) = ACTS.choose_weighted(&mut self.random, |(_, weight)| *weight)?;
        let who = self.random.random_range(0..STUDENTS);
        self.act = *act;
        match act {
            Act::Join => self.join(who).await,
            Act::Answer => self.answer(who, self.round, true).await,
            Act::AnswerAndVanish => self.answer(who, self.round, false).await,
            Act::AnswerAnEarlierRound => self.answer(who, self.round.saturating_sub(1), true).await,
            Act::Repeat => self.repeat(who).await,
            Act::Vanish => {
                self.class[who].vanish();
                Ok(())
            }
            Act::Leave => self.leave(who).await,
            Act::Return => self.come_back(who).await,
            Act::TakeFromElsewhere => self.take_from_elsewhere(who).await,
            Act::Command(command) => self.command(command).await,
            Act::Stretch => self.stretch(who).await,
            Act::Remove => self.remove(who).await,
            Act::Kill => self.kill().await,
        }
    }

    /// Ends the review, if it has not ended, and hears what there is still to hear.
    pub(crate) async fn end(&mut self) -> Result<()> {
        if !self.over {
            self.command("end").await?;
        }
        for someone in &mut self.class {
            someone.hear_to_the_end().await?;
        }
        Ok(())
    }

    async fn join(&mut self, who: usize) -> Result<()> {
        let someone = &mut self.class[who];
        if someone.id.is_some() {
            return Ok(());
        }
        let name = format!("Student {who}");
        let student = Student::join(self.host.address, &self.host.word, &name).await?;
        someone.id = Some(student.seat.id.clone());
        someone.arrive(student);
        Ok(())
    }

    /// An answer that is waited for, or one on whose way the connection is lost.
    async fn answer(&mut self, who: usize, round: u16, wait: bool) -> Result<()> {
        let text = if self.random.random_bool(0.5) {
            self.right.clone()
        } else {
            self.names.choose(&mut self.random).cloned().unwrap_or_default()
        };
        let attempt = Uuid::from_u128(self.random.random()).to_string();
        let someone = &mut self.class[who];
        someone.last = Some(attempt.clone());
        someone
            .tries
            .insert(attempt.clone(), Try { round, text, sent: false, fate: Fate::Unknown });
        someone.send(&attempt, wait).await
    }

    async fn repeat(&mut self, who: usize) -> Result<()> {
        let someone = &mut self.class[who];
        match someone.last.clone() {
            Some(attempt) => someone.send(&attempt, true).await,
            None => Ok(()),
        }
    }

    async fn leave(&mut self, who: usize) -> Result<()> {
        let someone = &mut self.class[who];
        let Place::Here(student) = &mut someone.place else { return Ok(()) };
        student.client.say(json!({ "type": "leave" })).await?;
        student.client.expect_close(1000).await?;
        someone.vanish();
        Ok(())
    }

    async fn come_back(&mut self, who: usize) -> Result<()> {
        let someone = &mut self.class[who];
        if let Place::Away(seat) = &someone.place {
            let student = seat.take(self.host.address).await?;
            someone.arrive(student);
        }
        Ok(())
    }

    async fn take_from_elsewhere(&mut self, who: usize) -> Result<()> {
        let someone = &mut self.class[who];
        if let Place::Here(first) = &mut someone.place {
            let second = first.seat.take(self.host.address).await?;
            first.client.expect_close(4001).await?;
            someone.vanish();
            someone.arrive(second);
        }
        Ok(())
    }

    /// A command, which is done or refused.
    async fn command(&mut self, command: &str) -> Result<()> {
        self.renew_instructor().await?;
        self.instructor.say(command).await?;
        match self.answer_to_command().await?.as_str() {
            "round_opened" => {
                let (round, muscle) = self.review_log()?.asked()?;
                (self.round, self.right) = (round, muscle.name);
            }
            "ended" => self.over = true,
            _ => {}
        }
        Ok(())
    }

    /// What comes of a command: a refusal, or what only a command brings about.
    async fn answer_to_command(&mut self) -> Result<String> {
        const DONE: [&str; 7] =
            ["round_opened", "revealed", "round_skipped", "paused", "resumed", "gone", "ended"];
        loop {
            let Heard::Message(message) = self.instructor.client.hear().await? else {
                bail!("the instructor's connection was closed")
            };
            let kind = message["type"].as_str().unwrap_or_default();
            let closed = kind == "round_closed" && message["why"] == "instructor";
            if kind == "error" {
                let known = message["code"] == "not_now";
                anyhow::ensure!(known, "a command was refused with {message}");
            }
            if closed || kind == "error" || DONE.contains(&kind) {
                return Ok(kind.to_owned());
            }
        }
    }

    async fn renew_instructor(&mut self) -> Result<()> {
        self.commands += 1;
        if self.commands.is_multiple_of(COMMANDS) {
            self.conduct_anew().await?;
        }
        Ok(())
    }

    async fn conduct_anew(&mut self) -> Result<()> {
        let (address, word, key) = (self.host.address, &self.host.word, &self.host.key);
        self.instructor = Instructor::conduct(address, Some(word), key).await?;
        Ok(())
    }

    /// More time, or none, or as the class again.
    async fn stretch(&mut self, who: usize) -> Result<()> {
        let times = [
            json!({ "kind": "standard" }),
            json!({ "kind": "untimed" }),
            json!({ "kind": "stretched", "percent": 250 }),
        ];
        let time = times.choose(&mut self.random).context("no time")?.clone();
        self.renew_instructor().await?;
        match &self.class[who].place {
            Place::Here(student) => self.instructor.stretch(&student.seat, time).await,
            Place::Away(seat) => self.instructor.stretch(seat, time).await,
            Place::Out => Ok(()),
        }
    }

    async fn remove(&mut self, who: usize) -> Result<()> {
        let someone = &mut self.class[who];
        let Place::Here(student) = &mut someone.place else { return Ok(()) };
        self.instructor.remove(&student.seat).await?;
        student.client.until_closed().await?;
        someone.vanish();
        someone.place = Place::Out;
        anyhow::ensure!(self.answer_to_command().await? == "gone", "no word of the removal");
        Ok(())
    }

    /// A power cut. What was on its way is still heard; then everyone is away.
    async fn kill(&mut self) -> Result<()> {
        if self.kills == KILLS {
            return Ok(());
        }
        self.kills += 1;
        self.host.kill9().await?;
        for someone in &mut self.class {
            someone.hear_to_the_end().await?;
        }
        self.host.restart().await?;
        self.conduct_anew().await
    }
}

impl Someone {
    fn arrive(&mut self, student: Student) {
        self.sent = 0;
        self.place = Place::Here(Box::new(student));
    }

    /// The connection is lost; what was heard on it is kept.
    fn vanish(&mut self) {
        if let Place::Here(student) = std::mem::replace(&mut self.place, Place::Out) {
            self.heard.extend_from_slice(student.client.heard());
            self.place = Place::Away(student.vanish());
        }
    }

    async fn hear_to_the_end(&mut self) -> Result<()> {
        if let Place::Here(student) = &mut self.place {
            student.client.until_closed().await?;
            self.vanish();
        }
        Ok(())
    }

    /// Sends a try, for the first time or again.
    async fn send(&mut self, attempt: &str, wait: bool) -> Result<()> {
        if self.sent == A_CONNECTION {
            self.vanish();
        }
        let Place::Here(student) = &mut self.place else { return Ok(()) };
        self.sent += 1;
        let attempted = self.tries.get_mut(attempt).context("no such try")?;
        student.answer_as(attempted.round, attempt, &attempted.text).await?;
        let fate = if wait { fate(student, attempt).await? } else { Fate::Unknown };
        attempted.learn(fate);
        if !wait {
            self.vanish();
        }
        Ok(())
    }
}

impl Try {
    /// Takes in what was told after one more sending. What is recorded stays so whatever is said
    /// later, and a refusal of a repeated sending says nothing about the first.
    fn learn(&mut self, fate: Fate) {
        let repeated = std::mem::replace(&mut self.sent, true);
        let in_doubt = repeated && self.fate == Fate::Unknown && fate == Fate::Refused;
        if self.fate != Fate::Recorded && !in_doubt {
            self.fate = fate;
        }
    }
}

/// What the student is told of a try.
async fn fate(student: &mut Student, attempt: &str) -> Result<Fate> {
    loop {
        let Heard::Message(message) = student.client.hear().await? else {
            bail!("closed without a word about {attempt}")
        };
        let about = message["attempt"] == attempt;
        match message["type"].as_str() {
            Some("recorded") if about => return Ok(Fate::Recorded),
            Some("which_one" | "unknown_name") if about => return Ok(Fate::AskedAgain),
            Some("error") => return Ok(Fate::Refused),
            _ => {}
        }
    }
}

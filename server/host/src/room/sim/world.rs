//! The world around a room: a queue of what is due, in the order of the simulated clock.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::future::poll_fn;
use std::rc::Rc;
use std::sync::Arc;
use std::task::Poll;

use anyhow::{Context as _, Result};
use myonym_content::Course;
use myonym_wire::limits::close;
use myonym_wire::{Millis, ReviewSettings, RoundNo, Seq, StudentId};
use rand::rngs::ChaCha8Rng;
use rand::{RngExt as _, SeedableRng as _};
use serde_json::Value;
use sha2::{Digest as _, Sha256};

use super::conduct::Instructor;
use super::disk::{Disk, Shared, look};
use super::draw::draw;
use super::ear::Peer;
use super::fault::{Fault, Faults};
use super::host::Host;
use super::net::{Conn, Due};
use super::student::{Step, Student};
use crate::clock::Clock;
use crate::framed::Framed;
use crate::room::{ConnId, Out, Post};

/// Messages read last, so that what all are told is parsed once.
const READ_LAST: usize = 12;
/// A connection that its host finds broken, as clients see it.
const BROKEN: u16 = 1006;

/// What was told, to be counted again at the end: after which event, to whom, what.
#[derive(Debug)]
pub(super) struct Told {
    pub(super) seq: Seq,
    pub(super) student: Option<StudentId>,
    pub(super) message: Rc<Value>,
}

#[derive(Debug)]
#[expect(clippy::struct_excessive_bools, reason = "what goes on goes on side by side")]
pub(super) struct World {
    pub(super) random: ChaCha8Rng,
    pub(super) clock: Clock,
    pub(super) course: Arc<Course>,
    pub(super) settings: ReviewSettings,
    pub(super) disk: Shared,
    pub(super) host: Option<Host>,
    pub(super) process: u32,
    pub(super) conns: BTreeMap<u64, Conn>,
    pub(super) students: Vec<Student>,
    pub(super) instructors: Vec<Instructor>,
    pub(super) boards: Vec<Option<u64>>,
    pub(super) faults: Faults,
    /// Nothing goes wrong any more.
    pub(super) calm: bool,
    pub(super) told: Vec<Told>,
    /// Students whom an instructor took out, whether that is on disk yet or not.
    pub(super) taken_out: BTreeSet<StudentId>,
    /// When each round was first seen open.
    pub(super) opened: BTreeMap<RoundNo, Millis>,
    /// The latest stamp that got into the inbox.
    pub(super) stamped: Millis,
    /// The host is closing.
    pub(super) stopping: bool,
    /// Connections of students when the review was ended.
    pub(super) at_end: Vec<u64>,
    dues: BTreeMap<(Millis, u64), Due>,
    drawn: u64,
    read: VecDeque<(Framed, Rc<Value>)>,
    trace: Sha256,
    /// The next stop of the host is the last.
    pub(super) last: bool,
    pub(super) done: bool,
    pub(super) messages: u64,
    /// Whether all that happens is printed.
    aloud: bool,
}

impl World {
    pub(super) fn new(seed: u64) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut faults = Faults::default();
        let (course, settings) = draw(&mut random, &mut faults);
        let students = random.random_range(2..=8);
        let students = (0..students).map(|number| Student::new(number, &mut random)).collect();
        let instructors = if random.random_bool(0.2) { 2 } else { 1 };
        let boards = random.random_range(0..=2);
        Self {
            clock: Clock::start(),
            course,
            settings,
            disk: Disk::new(random.random()),
            host: None,
            process: 0,
            conns: BTreeMap::new(),
            students,
            instructors: (0..instructors).map(|_| Instructor::default()).collect(),
            boards: vec![None; boards],
            faults,
            calm: false,
            told: Vec::new(),
            taken_out: BTreeSet::new(),
            opened: BTreeMap::new(),
            stamped: Millis(0),
            stopping: false,
            at_end: Vec::new(),
            dues: BTreeMap::new(),
            drawn: 0,
            read: VecDeque::new(),
            trace: Sha256::new(),
            last: false,
            done: false,
            messages: 0,
            aloud: std::env::var_os("ALOUD").is_some(),
            random,
        }
    }

    pub(super) fn now(&self) -> Millis {
        self.clock.now()
    }

    /// Puts something in the queue.
    pub(super) fn at(&mut self, at: Millis, due: Due) {
        self.drawn += 1;
        self.dues.insert((at, self.drawn), due);
    }

    /// The same, so many milliseconds from now.
    pub(super) fn after(&mut self, ms: u64, due: Due) {
        self.at(self.now().plus(Millis(ms)), due);
    }

    /// Plays the review to its end.
    pub(super) async fn play(&mut self) -> Result<()> {
        self.begin()?;
        while !self.done {
            let (at, _) = *self.dues.keys().next().context("nothing is due any more")?;
            let now = self.clock.now();
            tokio::select! {
                biased;
                (conn, out) = heard(&mut self.conns, now) => self.on_line(conn, out)?,
                () = tokio::time::sleep_until(self.clock.instant(at)) => {
                    if let Some((_, due)) = self.dues.pop_first() {
                        if self.aloud && !matches!(due, Due::Deliver(..) | Due::Inbox(..)) {
                            println!("{:>7} {due:?}", at.0);
                        }
                        self.on_due(due).await?;
                    }
                }
            }
            if self.host.as_ref().is_some_and(Host::is_over) {
                self.host_is_over().await?;
            }
        }
        Ok(())
    }

    /// The hash of all that was told and kept.
    pub(super) fn trace_of(&self, disk: &Disk) -> u64 {
        let mut trace = self.trace.clone();
        for (seq, at, text) in &disk.rows {
            trace.update(format!("{} {} {text}\n", seq.0, at.0));
        }
        let digest = trace.finalize();
        digest[..8].iter().fold(0, |hash, byte| hash << 8 | u64::from(*byte))
    }

    fn begin(&mut self) -> Result<()> {
        self.start_host()?;
        for instructor in 0..self.instructors.len() {
            self.after(1, Due::Instructor(instructor));
        }
        for student in 0..self.students.len() {
            let wait = self.random.random_range(5..3_000);
            self.after(wait, Due::Student(student, Step::Connect));
        }
        for board in 0..self.boards.len() {
            let wait = self.random.random_range(5..6_000);
            self.after(wait, Due::Board(board));
        }
        let weather = self.random.random_range(500..4_000);
        self.after(weather, Due::Weather);
        let calm = self.random.random_range(25_000..70_000);
        self.after(calm, Due::Calm);
        Ok(())
    }

    pub(super) fn start_host(&mut self) -> Result<()> {
        self.process += 1;
        (self.stamped, self.stopping) = (Millis(0), false);
        let seed = self.random.random();
        self.host = Some(Host::start(&self.disk, &self.course, &self.settings, seed)?);
        Ok(())
    }

    /// What the room puts on a line, or that it has let go of it.
    fn on_line(&mut self, number: u64, out: Option<Out>) -> Result<()> {
        let now = self.now();
        let Some(conn) = self.conns.get_mut(&number) else { return Ok(()) };
        let out = if let Some(out) = out {
            out
        } else {
            let slow = conn.line.as_ref().is_some_and(crate::room::LineEnd::too_slow);
            if slow {
                self.faults.count(Fault::SlowReader);
            }
            Out::Close(if slow { close::TOO_SLOW } else { close::INTERNAL }, "gone")
        };
        match &out {
            Out::Text(frame) => self.on_text(number, frame)?,
            Out::Close(code, why) => {
                self.trace.update(format!("{} {number} close {code} {why}\n", now.0));
                self.host_closes(number);
            }
        }
        let Some(conn) = self.conns.get_mut(&number) else { return Ok(()) };
        let at = conn.down_at(now, &mut self.random);
        self.at(at, Due::Deliver(number, out));
        Ok(())
    }

    fn on_text(&mut self, number: u64, frame: &Framed) -> Result<()> {
        let text = frame.text();
        let now = self.now();
        self.trace.update(format!("{} {number} {text}\n", now.0));
        if self.aloud {
            println!("{:>7} <- {number} {}", now.0, text.chars().take(240).collect::<String>());
        }
        self.messages += 1;
        let message = self.parsed(frame)?;
        let Some(conn) = self.conns.get_mut(&number) else { return Ok(()) };
        let heard = conn.ear.hear(&message, text, &look(&self.disk));
        heard.with_context(|| format!("at {} ms on connection {number}", now.0))?;
        let (seq, student) = (conn.ear.last(), conn.ear.student);
        match message["type"].as_str() {
            Some("standings" | "result" | "summary" | "seated" | "conducting" | "watching") => {
                self.told.push(Told { seq, student, message });
            }
            Some("round_opened") => {
                let round = message["round"].as_u64().and_then(|round| u16::try_from(round).ok());
                self.opened.entry(RoundNo(round.unwrap_or_default())).or_insert(now);
            }
            _ => {}
        }
        Ok(())
    }

    /// The host ends a connection: its task tells the room that it has gone.
    pub(super) fn host_closes(&mut self, number: u64) {
        let Some(conn) = self.conns.get_mut(&number) else { return };
        let process = conn.process;
        let known = conn.line.take().is_some();
        if let Some(host) = self.host.as_ref().filter(|_| known && process == self.process) {
            let at = host.clock.now();
            let due = conn.posted_at(self.clock.now(), &mut self.random);
            self.at(due, Due::Inbox(process, Post::Gone { conn: ConnId(number), at }));
        }
    }

    /// The client's end breaks off without a word.
    pub(super) fn breaks(&mut self, number: u64, after_ms: u64) {
        self.after(after_ms, Due::Deliver(number, Out::Close(BROKEN, "broken")));
    }

    pub(super) fn parsed(&mut self, frame: &Framed) -> Result<Rc<Value>> {
        // What is kept here is not freed, so the same place is the same message.
        let same = |read: &(Framed, _)| read.0.bytes().as_ptr() == frame.bytes().as_ptr();
        if let Some((_, message)) = self.read.iter().find(|read| same(read)) {
            return Ok(message.clone());
        }
        let message: Rc<Value> = Rc::new(serde_json::from_str(frame.text())?);
        if self.read.len() == READ_LAST {
            self.read.pop_front();
        }
        self.read.push_back((frame.clone(), message.clone()));
        Ok(message)
    }

    /// The connection of someone.
    pub(super) fn conn_of(&self, peer: Peer) -> Option<u64> {
        match peer {
            Peer::Student(student) => self.students[student].conn,
            Peer::Instructor(instructor) => self.instructors[instructor].conn,
            Peer::Board => None,
        }
    }
}

/// The next thing that the room has put on any line that is read, in the order of the connections.
async fn heard(conns: &mut BTreeMap<u64, Conn>, now: Millis) -> (u64, Option<Out>) {
    poll_fn(|context| {
        for (number, conn) in conns.iter_mut().filter(|(_, conn)| conn.stalled <= now) {
            if let Some(line) = &mut conn.line
                && let Poll::Ready(out) = line.queue.poll_recv(context)
            {
                return Poll::Ready((*number, out));
            }
        }
        Poll::Pending
    })
    .await
}

//! One run: open the rooms, seat the students, go through the rounds, and read the meters.

use std::net::SocketAddr;
use std::sync::Arc;
use std::time::{Duration, Instant};

use anyhow::{Context, ensure};
use myonym_wire::{FromInstructor, Hello, HostKey, JoinWord, ReviewSettings, RoundNo};
use tokio::sync::{Semaphore, mpsc};
use tokio::task::JoinSet;
use tokio::time::sleep;

use crate::args::{Load, ROUND_LIMIT};
use crate::figures::{Figures, Readings};
use crate::link::Framing;
use crate::machine::Meter;
use crate::measure::{Counts, Desk, Step};
use crate::plan::{Plan, lead};
use crate::script::Script;
use crate::swarm::{JOINING_AT_ONCE, Order, Student, conduct_room, open_console};

/// Longest wait for all students to be seated.
const JOIN_PATIENCE: Duration = Duration::from_mins(1);
/// Longest wait for a step of a round after it should be over; what is missing then is lost.
const PATIENCE: Duration = Duration::from_secs(5);
/// Pause before a meter is read, so that work which follows the last message is counted too.
pub(crate) const QUIET: Duration = Duration::from_millis(50);
/// Students are seated and have been quiet this long when memory is read.
const SETTLE: Duration = Duration::from_millis(300);

/// A server under load.
#[derive(Debug, Clone)]
pub(crate) struct Target {
    /// Where it listens.
    pub(crate) address: SocketAddr,
    /// How it frames messages.
    pub(crate) framing: Framing,
    /// Join word of the first room; `None` opens that room too.
    pub(crate) word: Option<JoinWord>,
    /// Its key.
    pub(crate) key: HostKey,
    /// Its process, where that may be read.
    pub(crate) pid: Option<u32>,
}

/// What one run gave.
#[derive(Debug)]
pub(crate) struct Outcome {
    /// The figures.
    pub(crate) figures: Figures,
    /// The counts.
    pub(crate) counts: Counts,
    /// The first refusal or loss, in words.
    pub(crate) first_refusal: Option<String>,
    /// The server's own messages.
    pub(crate) script: Script,
}

/// Puts the load on a server once. `progress` is called after each round.
pub(crate) async fn run(
    target: &Target,
    load: &Load,
    progress: impl Fn(),
) -> anyhow::Result<Outcome> {
    let mut class = Class::seat(target, load).await?;
    class.round(RoundNo(1)).await?;
    progress();
    let warm_up = class.desk.take();
    class.readings.forget_rounds();
    for round in 2..=load.rounds + 1 {
        class.round(RoundNo(round)).await?;
        progress();
    }
    let mut tally = class.desk.take();
    tally.counts.planned = class.load.students_in_all() as u64 * u64::from(load.rounds);
    tally.joins = warm_up.joins;
    class.tell_instructors(&FromInstructor::End {}).await?;
    sleep(QUIET).await;
    Ok(Outcome {
        figures: Figures::of(&tally, &class.readings, load),
        counts: tally.counts,
        first_refusal: tally.first_refusal,
        script: class.desk.note(|book| book.script.clone()),
    })
}

/// The seated students and their instructors. Dropping it ends all their connections.
#[derive(Debug)]
struct Class<'a> {
    load: &'a Load,
    desk: Arc<Desk>,
    server: Meter,
    client: Meter,
    readings: Readings,
    students: Vec<mpsc::Sender<Order>>,
    instructors: Vec<mpsc::Sender<FromInstructor>>,
    /// Aborts every client when dropped.
    tasks: JoinSet<()>,
}

impl<'a> Class<'a> {
    async fn seat(target: &Target, load: &'a Load) -> anyhow::Result<Self> {
        let mut class = Self {
            load,
            desk: Arc::new(Desk::new(load.students_in_all(), load.rooms)),
            server: Meter::new(target.pid),
            client: Meter::new(Some(std::process::id())),
            readings: Readings::default(),
            students: Vec::new(),
            instructors: Vec::new(),
            tasks: JoinSet::new(),
        };
        let words = class.open_rooms(target).await?;
        sleep(SETTLE).await;
        let before = class.server.memory();
        let began = Instant::now();
        class.let_in(target, &words);
        let seated = class.desk.wait(Step::Seated, began + JOIN_PATIENCE).await?;
        ensure!(seated, "not all students were seated after 60 s: ask for fewer");
        class.readings.join_all = began.elapsed();
        sleep(SETTLE).await;
        class.readings.memory = before.zip(class.server.memory());
        class.readings.descriptors = class.server.descriptors();
        Ok(class)
    }

    async fn open_rooms(&mut self, target: &Target) -> anyhow::Result<Vec<JoinWord>> {
        let rounds = self.load.rounds + 1;
        let mut words = Vec::new();
        for room in 0..self.load.rooms {
            let key = target.key.clone();
            let hello = match (&target.word, room) {
                (Some(word), 0) => Hello::Conduct { word: Some(word.clone()), key },
                _ => Hello::Open { key, settings: settings(rounds), plan: None, own_list: None },
            };
            let (link, word) = open_console(target, &hello, rounds)
                .await
                .with_context(|| format!("cannot open room {}", room + 1))?;
            let (give, orders) = mpsc::channel(4);
            self.instructors.push(give);
            self.tasks.spawn(conduct_room(link, orders, Arc::clone(&self.desk)));
            words.push(word);
        }
        Ok(words)
    }

    fn let_in(&mut self, target: &Target, words: &[JoinWord]) {
        let gate = Arc::new(Semaphore::new(JOINING_AT_ONCE));
        for index in 0..self.load.students_in_all() {
            let room = index / self.load.students;
            let student = Student::new(index, room, Arc::clone(&self.desk));
            let (give, orders) = mpsc::channel(4);
            self.students.push(give);
            let (target, word, gate) = (target.clone(), words[room].clone(), Arc::clone(&gate));
            self.tasks.spawn(student.attend(target, word, gate, orders));
        }
    }

    /// One round of every room, in step: open, answer, close, reveal.
    async fn round(&mut self, round: RoundNo) -> anyhow::Result<()> {
        let in_round = || format!("in round {round}");
        self.desk.note(crate::measure::Book::begin_round);
        let first = self.read_meters();
        let origin = Instant::now() + lead(self.load.students_in_all());
        let open =
            if round == RoundNo(1) { FromInstructor::Start {} } else { FromInstructor::Next {} };
        self.tell_instructors(&open).await?;
        let pacing = self.start_pacing(round, origin);
        self.desk.wait(Step::Opened, origin).await.with_context(in_round)?;
        sleep(origin.saturating_duration_since(Instant::now()).saturating_sub(QUIET)).await;
        let opened = self.read_meters();

        pacing.await.context("the pacing thread failed")?;
        let last = Instant::now() + PATIENCE;
        self.desk.wait(Step::Answered, last).await.with_context(in_round)?;
        self.close().await.with_context(in_round)?;
        sleep(QUIET).await;
        let answered = self.read_meters();

        self.tell_instructors(&FromInstructor::Reveal {}).await?;
        self.desk.wait(Step::Told, Instant::now() + PATIENCE).await.with_context(in_round)?;
        sleep(QUIET).await;
        let told = self.read_meters();
        self.readings.add_round([first, opened, answered, told]);
        Ok(())
    }

    /// Waits for every room to close by itself, which it does once all have answered.
    async fn close(&self) -> anyhow::Result<()> {
        if !self.desk.wait(Step::Closed, Instant::now() + PATIENCE).await? {
            self.tell_instructors(&FromInstructor::CloseRound {}).await?;
            self.desk.wait(Step::Closed, Instant::now() + PATIENCE).await?;
        }
        Ok(())
    }

    fn start_pacing(&self, round: RoundNo, origin: Instant) -> tokio::task::JoinHandle<()> {
        let load = self.load;
        let plan =
            Plan::new(load.seed, round.0, load.students_in_all(), load.window, load.arrivals);
        let students = self.students.clone();
        tokio::task::spawn_blocking(move || {
            plan.pace(origin, |student, planned| {
                // A student who is gone, or four answers behind, does not answer: the answer is
                // missing from those sent, and the report says so.
                let _ = students[student].try_send(Order { round, planned });
            });
        })
    }

    async fn tell_instructors(&self, order: &FromInstructor) -> anyhow::Result<()> {
        if *order == (FromInstructor::End {}) {
            self.desk.note(|book| book.ending = true);
        }
        for instructor in &self.instructors {
            instructor.send(order.clone()).await.context("an instructor's connection has ended")?;
        }
        Ok(())
    }

    fn read_meters(&mut self) -> [Option<Duration>; 2] {
        [self.server.cpu(), self.client.cpu()]
    }
}

fn settings(rounds: u16) -> ReviewSettings {
    let limit_ms = u32::try_from(ROUND_LIMIT.as_millis()).unwrap_or(u32::MAX);
    ReviewSettings { rounds, limit_ms, ..ReviewSettings::default() }
}

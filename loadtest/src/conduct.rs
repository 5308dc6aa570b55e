//! One run of a class: open the rooms, seat the students, go through the rounds, read the meters.

use std::sync::Arc;
use std::time::{Duration, Instant};

use anyhow::Context;
use myonym_wire::{FromInstructor, ReviewSettings, RoundNo};

use crate::args::{Load, ROUND_LIMIT};
use crate::class::Class;
pub(crate) use crate::class::Target;
use crate::commits::Commits;
use crate::figures::{Figures, Readings};
use crate::machine::Meter;
use crate::measure::{Counts, Step};
use crate::plan::{Plan, lead};
use crate::script::Script;

/// Students that join at the same time.
pub(crate) const JOINING_AT_ONCE: usize = 64;
/// Pause before a meter is read, so that work which follows the last message is counted too.
pub(crate) const QUIET: Duration = Duration::from_millis(50);
/// Students are seated and have been quiet this long when memory is read.
pub(crate) const SETTLE: Duration = Duration::from_millis(300);

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
pub(crate) fn run(target: &Target, load: &Load, progress: impl Fn()) -> anyhow::Result<Outcome> {
    let mut lesson = Lesson::begin(target, load)?;
    lesson.round(RoundNo(1))?;
    progress();
    let warm_up = lesson.class.book.take();
    lesson.readings.forget_rounds();
    let commits = read_commits(target);
    for round in 2..=load.rounds + 1 {
        lesson.round(RoundNo(round))?;
        progress();
    }
    let commits = commits.zip(read_commits(target));
    lesson.readings.commits = commits.and_then(|(first, last)| last.since(first));
    let Lesson { mut class, readings, .. } = lesson;
    let mut tally = class.book.take();
    tally.counts.planned = load.students_in_all() as u64 * u64::from(load.rounds);
    tally.joins = warm_up.joins;
    class.order_all(&FromInstructor::End {})?;
    class.listen(QUIET)?;
    Ok(Outcome {
        figures: Figures::of(&tally, &readings, load),
        counts: tally.counts,
        first_refusal: tally.first_refusal,
        script: class.book.script.clone(),
    })
}

/// What a server tells of its disk; the baselines have none.
fn read_commits(target: &Target) -> Option<Commits> {
    if target.trust.is_none() { Commits::read(target.address) } else { None }
}

/// A class that is seated, and what the meters told so far.
#[derive(Debug)]
struct Lesson<'a> {
    load: &'a Load,
    class: Class,
    server: Meter,
    client: Meter,
    readings: Readings,
}

impl<'a> Lesson<'a> {
    fn begin(target: &Target, load: &'a Load) -> anyhow::Result<Self> {
        let limit_ms = u32::try_from(ROUND_LIMIT.as_millis()).unwrap_or(u32::MAX);
        let settings =
            ReviewSettings { rounds: load.rounds + 1, limit_ms, ..ReviewSettings::default() };
        let mut class = Class::open(target, load.rooms, load.students, &settings)?;
        let (server, client) = (Meter::new(target.pid), Meter::new(Some(std::process::id())));
        class.listen(SETTLE)?;
        let before = server.memory();
        let join_all = class.seat(0..load.students_in_all(), JOINING_AT_ONCE)?;
        class.listen(SETTLE)?;
        let memory = before.zip(server.memory());
        let descriptors = server.descriptors();
        let mut readings = Readings::default();
        (readings.join_all, readings.memory, readings.descriptors) =
            (join_all, memory, descriptors);
        Ok(Self { load, class, server, client, readings })
    }

    /// One round of every room, in step: open, answer, close, reveal.
    fn round(&mut self, round: RoundNo) -> anyhow::Result<()> {
        self.go_through(round).with_context(|| format!("in round {round}"))
    }

    fn go_through(&mut self, round: RoundNo) -> anyhow::Result<()> {
        let all = self.class.everyone();
        self.class.begin_round();
        let first = self.read_meters();
        let origin = Instant::now() + lead(all);
        let open =
            if round == RoundNo(1) { FromInstructor::Start {} } else { FromInstructor::Next {} };
        self.class.order_all(&open)?;
        self.class.until(Step::Opened, all, origin)?;
        self.class.listen_until(origin.checked_sub(QUIET).unwrap_or(origin))?;
        let opened = self.read_meters();

        let Load { seed, window, arrivals, .. } = *self.load;
        let plan = Arc::new(Plan::new(seed, round.0, all, window, arrivals));
        self.class.answer(round, &plan, origin)?;
        self.close()?;
        self.class.listen(QUIET)?;
        let answered = self.read_meters();

        self.class.order_all(&FromInstructor::Reveal {})?;
        let last = Instant::now() + self.class.patience();
        self.class.until(Step::Told, all, last)?;
        self.class.listen(QUIET)?;
        let told = self.read_meters();
        self.readings.add_round([first, opened, answered, told]);
        Ok(())
    }

    /// Waits for every room to close by itself, which it does once all have answered.
    fn close(&mut self) -> anyhow::Result<()> {
        let (rooms, patience) = (self.class.rooms(), self.class.patience());
        if !self.class.until(Step::Closed, rooms, Instant::now() + patience)? {
            self.class.close_others()?;
            self.class.until(Step::Closed, rooms, Instant::now() + patience)?;
        }
        Ok(())
    }

    fn read_meters(&mut self) -> [Option<Duration>; 2] {
        [self.server.cpu(), self.client.cpu()]
    }
}

//! The cost of one message to everyone, and of one more student, as a room grows.

use std::time::{Duration, Instant};

use anyhow::ensure;
use myonym_wire::{FromInstructor, ReviewSettings};

use super::Measured;
use super::plot::Curve;
use super::sheet::{Goal, Row, Sheet};
use crate::class::{Class, Target};
use crate::conduct::{JOINING_AT_ONCE, SETTLE};
use crate::figures::share;
use crate::machine::Meter;
use crate::measure::Step;
use crate::runs::Subject;

/// Sizes of the room, and those of a short form.
const SIZES: [usize; 5] = [30, 300, 1_000, 5_000, 10_000];
const SHORT: [usize; 2] = [30, 100];
/// Copies of clues counted at each size, at least, and in a short form.
const COPIES: usize = 20_000;
const SHORT_COPIES: usize = 600;
/// Clues counted at each size, at least.
const CLUES: usize = 4;
/// Clues first told, and not counted.
const WARM_UP: usize = 2;
/// Most clues that one room is told: then its instructor has given as many orders as the server
/// takes at once, and another room of that size goes on.
const CLUES_OF_A_ROOM: usize = 34;
/// So long after the last student has heard, the server has done all that a message brings.
const AFTER: Duration = Duration::from_millis(5);
/// A round's time: no second clue comes by itself.
const LIMIT_MS: u32 = 600_000;

/// A room of one size.
#[derive(Debug, Clone, Copy)]
pub(super) struct FanOut {
    pub(super) students: usize,
    /// Clues counted.
    clues: usize,
    /// Whether joining is measured too.
    joins: bool,
}

pub(super) fn parts(short: bool) -> Vec<FanOut> {
    let (sizes, copies) = sizes(short);
    let last = sizes.last().copied();
    let part = |students: &usize| FanOut {
        students: *students,
        clues: copies.div_ceil(*students).max(CLUES),
        joins: Some(*students) == last,
    };
    sizes.iter().map(part).collect()
}

fn sizes(short: bool) -> (&'static [usize], usize) {
    if short { (&SHORT, SHORT_COPIES) } else { (&SIZES, COPIES) }
}

/// The sizes between which growth is looked at. What a clue costs once, however many hear it, falls
/// as it is shared by more; so that this does not hide what rises, the smallest room is left out
/// where there are others.
fn growths(short: bool) -> Vec<(usize, usize)> {
    let (sizes, _) = sizes(short);
    let base = sizes.len().min(3) - 2;
    sizes[base + 1..].iter().map(|size| (sizes[base], *size)).collect()
}

impl FanOut {
    /// Rooms of that size, which are told clues one after the other.
    pub(super) fn rooms(&self) -> usize {
        self.clues.div_ceil(CLUES_OF_A_ROOM)
    }

    pub(super) fn measure(&self, target: &Target) -> anyhow::Result<Measured> {
        let mut server = Meter::new(target.pid);
        let rounds = u16::try_from(self.clues.div_ceil(self.rooms()) + WARM_UP)?;
        let settings = ReviewSettings { rounds, limit_ms: LIMIT_MS, ..ReviewSettings::default() };
        let mut class = Class::open(target, self.rooms(), self.students, &settings)?;
        let mut values = Vec::new();
        if self.joins {
            values.extend(fill(&mut class, &mut server)?);
        } else {
            class.seat(0..class.everyone(), JOINING_AT_ONCE)?;
        }
        class.listen(SETTLE)?;
        let mut spent = Some(Duration::ZERO);
        let mut counted = 0;
        for round in 0..usize::from(rounds) {
            for room in 0..self.rooms() {
                let took = tell_clue(&mut class, &mut server, room, round == 0)?;
                if round >= WARM_UP {
                    spent = spent.zip(took).map(|(sum, took)| sum + took);
                    counted += self.students as u64;
                }
            }
        }
        values.extend(share(spent, counted).map(|each| (copy_key(self.students), each)));
        let lost = class.book.dropped;
        let faults = (lost > 0).then(|| format!("{lost} connections were lost"));
        let script = class.book.script.clone();
        Ok(Measured { values, script, faults: faults.into_iter().collect() })
    }
}

/// Opens a round, and then leaves it out: the server's CPU from the order to open until all have
/// the clue.
fn tell_clue(
    class: &mut Class,
    server: &mut Meter,
    room: usize,
    first: bool,
) -> anyhow::Result<Option<Duration>> {
    let wanted = class.students();
    let open = if first { FromInstructor::Start {} } else { FromInstructor::Next {} };
    class.begin_round();
    class.await_turn(room)?;
    let before = server.cpu();
    class.order(room, &open)?;
    ensure!(
        class.until(Step::Opened, wanted, Instant::now() + class.patience())?,
        "not all heard a clue"
    );
    class.listen(AFTER)?;
    let after = server.cpu();
    class.order(room, &FromInstructor::Skip {})?;
    let last = Instant::now() + class.patience();
    ensure!(class.until(Step::Skipped, wanted, last)?, "not all heard that a round was left out");
    class.listen(AFTER)?;
    Ok(before.zip(after).map(|(before, after)| after.saturating_sub(before)))
}

/// Seats everyone, and measures a tenth of them when the room is empty, half full, and nearly full.
fn fill(class: &mut Class, server: &mut Meter) -> anyhow::Result<Vec<(String, f64)>> {
    let all = class.everyone();
    let tenth = (all / 10).max(1);
    // A few to warm up; `empty` begins after them.
    let warm = tenth / 10;
    let mut values = Vec::new();
    let mut seated = 0;
    for (name, from) in [("empty", warm), ("half", (all - tenth) / 2), ("full", all - tenth)] {
        class.seat(seated..from, JOINING_AT_ONCE)?;
        class.listen(SETTLE)?;
        let before = server.cpu();
        class.seat(from..from + tenth, JOINING_AT_ONCE)?;
        class.listen(SETTLE)?;
        let spent = before.zip(server.cpu()).map(|(before, after)| after.saturating_sub(before));
        values.extend(share(spent, tenth as u64).map(|each| (join_key(name), each)));
        seated = from + tenth;
    }
    Ok(values)
}

fn copy_key(students: usize) -> String {
    format!("cpu_per_clue_us_{students}")
}

fn growth_key(students: usize) -> String {
    format!("growth_to_{students}")
}

fn join_key(name: &str) -> String {
    format!("cpu_per_join_us_{name}")
}

const JOIN_GROWTH: &str = "join_growth";

/// Adds what follows from the last run: how costs grow.
pub(super) fn derive(sheet: &mut Sheet, short: bool) {
    for (from, to) in growths(short) {
        sheet.derive(&growth_key(to), |of| Some(of(&copy_key(to))? / of(&copy_key(from))?));
    }
    sheet.derive(JOIN_GROWTH, |of| Some(of(&join_key("full"))? / of(&join_key("empty"))?));
}

pub(super) fn rows(short: bool) -> Vec<Row> {
    let (sizes, _) = sizes(short);
    let copy = |size: &usize| {
        Row::new(copy_key(*size), format!("server CPU, a copy of a clue, room of {size} (us)"))
            .with(Goal::TimesFloor(1.15))
    };
    let growth = |(from, to): (usize, usize)| {
        let label = format!("the same, room of {to} over room of {from}");
        Row::new(growth_key(to), label).with(Goal::TimesFloor(1.2))
    };
    let join = |(name, words): (&str, &str)| {
        Row::new(join_key(name), format!("server CPU, a join, room {words} (us)"))
    };
    let joins = [("empty", "empty"), ("half", "half full"), ("full", "nearly full")].map(join);
    let mut rows: Vec<Row> = sizes.iter().map(copy).collect();
    rows.extend(growths(short).into_iter().map(growth));
    rows.extend(joins);
    rows.push(Row::new(JOIN_GROWTH, "a join, nearly full over empty").with(Goal::Most(1.2)));
    rows
}

/// What the plot shows.
pub(super) fn curves(sheet: &Sheet, short: bool) -> Vec<Curve> {
    let (sizes, _) = sizes(short);
    let point = |subject, size: &usize| {
        let value = crate::figures::median(sheet.values(subject, &copy_key(*size)))?;
        Some((crate::figures::real(*size as u64), value))
    };
    Subject::ALL
        .map(|subject| Curve {
            name: subject.name(),
            points: sizes.iter().filter_map(|size| point(subject, size)).collect(),
        })
        .into()
}

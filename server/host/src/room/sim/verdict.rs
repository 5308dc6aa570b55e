//! Whether all that was told agrees with the log, counted again.

use std::collections::{BTreeMap, BTreeSet};

use anyhow::{Context as _, Result, bail, ensure};
use myonym_engine::{Event, Logged, Phase, Review};
use myonym_tests::{Recount, hundredths};
use myonym_wire::{AttemptId, Seq, StudentId};
use serde_json::{Value, json};

use super::disk::{Disk, look};
use super::ear::{HIDDEN, Peer};
use super::world::World;

/// Lines of the standings that everyone sees, as the wire says.
const STANDINGS: usize = 10;
/// The most that a client gains by what it says of the time, in milliseconds (README).
const LAG_MOST: u64 = 250;

/// Everything that holds whatever happened.
pub(super) fn check(world: &World) -> Result<()> {
    let disk = look(&world.disk);
    let replayed = Review::replay(&disk.logged).context("the log does not replay")?;
    check_answers(world, &disk)?;
    check_points(&disk, &replayed)?;
    check_order(world, &disk)?;
    check_told(world, &disk)?;
    check_times(world, &disk)?;
    check_rolls(world, &disk, &replayed)
}

/// No answer is lost, doubled, another's, or another than was sent.
fn check_answers(world: &World, disk: &Disk) -> Result<()> {
    let log = disk.review_log(disk.last());
    log.replayable().context("numbers of events")?;
    let recorded = log.recorded()?;
    let kept: BTreeMap<&str, &str> =
        recorded.iter().map(|(who, _, attempt)| (attempt.as_str(), who.as_str())).collect();
    let mut sent = BTreeSet::new();
    for student in &world.students {
        for (attempt, tried) in &student.tries {
            let attempt = attempt.to_string();
            let by = kept.get(attempt.as_str());
            let own = by.is_some_and(|by| student.ids.iter().any(|id| id.to_string() == **by));
            ensure!(!tried.recorded || own, "{attempt} {tried:?} was recorded, and is not kept");
            ensure!(by.is_none() || !tried.arrived.is_empty(), "{attempt} was kept and never sent");
            sent.insert(attempt);
        }
    }
    for answer in log.of("answered") {
        let attempt = answer["attempt"].as_str().unwrap_or_default();
        ensure!(sent.contains(attempt), "{answer} was never sent");
    }
    Ok(())
}

/// The rules read the log back to the points that the recount comes to.
fn check_points(disk: &Disk, replayed: &Review) -> Result<()> {
    let recount = Recount::of(&disk.review_log(disk.last()))?;
    ensure!(replayed.rounds().len() == recount.rounds.len(), "rounds differ");
    ensure!(replayed.seats().len() == recount.seats.len(), "seats differ");
    for (student, seat) in replayed.seats() {
        let total = recount.total_after(recount.rounds.len(), &student.to_string())?;
        ensure!(seat.total.0 == total, "{student}: {:?} replayed, {total} counted", seat.total);
    }
    Ok(())
}

/// Each connection was told every event of the class once and in order, from its snapshot on; those
/// that were there at the end, to the end.
fn check_order(world: &World, disk: &Disk) -> Result<()> {
    let class: Vec<(Seq, &str)> = disk.logged.iter().flat_map(class_messages).collect();
    for (number, conn) in &world.conns {
        let there = world.at_end.contains(number);
        let stays = conn.up && !matches!(conn.ear.peer, Peer::Student(_));
        for (at, segment) in conn.ear.segments.iter().enumerate() {
            let expected = class.iter().skip_while(|(seq, _)| *seq <= segment.from);
            let expected: Vec<_> = expected.copied().collect();
            let told = &segment.told;
            let is_last = at + 1 == conn.ear.segments.len();
            let fits = if is_last && (there || stays) {
                expected == *told
            } else {
                expected.starts_with(told)
            };
            let same = told.iter().zip(&expected).take_while(|(one, other)| one == other).count();
            ensure!(
                fits,
                "{:?} on {number}, which came in after {:?}, was told {:?} where {:?} is due",
                conn.ear.peer,
                segment.from,
                told.get(same),
                expected.get(same)
            );
        }
        let left = there.then(|| conn.ear.received.first()).flatten();
        ensure!(left.is_none(), "{left:?} was received on {number}, and no more was said of it");
    }
    Ok(())
}

/// What the class is told of an event, by the wire's description of it.
fn class_messages(logged: &Logged) -> Vec<(Seq, &'static str)> {
    let kinds: &[&str] = match &logged.event {
        Event::RoundOpened { .. } => &["round_opened"],
        Event::ClueShown { .. } => &["clue"],
        Event::Paused {} => &["paused"],
        Event::Resumed {} => &["resumed"],
        Event::RoundClosed { .. } => &["round_closed"],
        Event::RoundSkipped { .. } => &["round_skipped"],
        Event::Revealed { .. } => &["revealed", "standings"],
        Event::Ended { .. } => &["ended"],
        _ => &[],
    };
    kinds.iter().map(|kind| (logged.seq, *kind)).collect()
}

/// Standings, results, summaries and snapshots say what the log says up to the event told of.
fn check_told(world: &World, disk: &Disk) -> Result<()> {
    let names = names(disk);
    let mut told: Vec<_> = world.told.iter().collect();
    told.sort_by_key(|told| told.seq);
    let mut log = disk.logged.iter();
    let first = log.next().context("an empty log")?;
    let mut review = Review::first(first).context("no review opens")?;
    let mut recount = Recount::default();
    let mut counted = Seq(0);
    for told in told {
        while review.seq() < told.seq {
            review.apply(log.next().context("told of an event that is not there")?);
        }
        if counted != told.seq {
            recount = Recount::of(&disk.review_log(told.seq))?;
            counted = told.seq;
        }
        let then = Then { review: &review, recount: &recount, names: &names };
        then.check(told.student, &told.message)
            .with_context(|| format!("after {:?}: {}", told.seq, told.message))?;
    }
    Ok(())
}

/// The name of each student, where the class may see it.
fn names(disk: &Disk) -> BTreeMap<String, Option<String>> {
    let seats = disk.seats.iter();
    let name = |name: &String| (!name.starts_with(HIDDEN)).then(|| name.clone());
    seats.map(|seat| (seat.student.to_string(), name(&seat.name))).collect()
}

/// The review after some event.
struct Then<'a> {
    review: &'a Review,
    recount: &'a Recount,
    names: &'a BTreeMap<String, Option<String>>,
}

impl Then<'_> {
    fn check(&self, student: Option<StudentId>, message: &Value) -> Result<()> {
        let own = student.map(|student| student.to_string());
        match (message["type"].as_str(), own) {
            (Some("standings"), _) => self.standings(&message["rows"]),
            (Some("result"), Some(own)) => self.result(message, &own),
            (Some("summary"), Some(own)) => self.summary(message, &own),
            (Some("seated" | "conducting" | "watching"), own) => {
                if let Some(own) = &own {
                    let total = self.recount.total_after(self.recount.rounds.len(), own)?;
                    ensure!(points(message, "total") == Some(total), "{total} counted");
                }
                self.moment(&message["moment"], student, own.as_deref())
            }
            _ => Ok(()),
        }
    }

    fn standings(&self, rows: &Value) -> Result<()> {
        let counted = self.recount.standings_after(self.recount.rounds.len())?;
        let counted = counted.iter().take(STANDINGS).map(|row| {
            let name = self.names.get(&row.student).cloned().flatten();
            (Some(row.place), name, Some(row.points))
        });
        let told = rows.as_array().context("no rows")?.iter().map(|row| {
            let name = row["name"].as_str().map(ToOwned::to_owned);
            (row["place"].as_u64(), name, points(row, "points"))
        });
        let (counted, told): (Vec<_>, Vec<_>) = (counted.collect(), told.collect());
        ensure!(counted == told, "{counted:?} counted, {told:?} told");
        Ok(())
    }

    fn place(&self, message: &Value, own: &str) -> Result<()> {
        let standings = self.recount.standings_after(self.recount.rounds.len())?;
        let place = standings.iter().find(|row| row.student == own).context("no place")?;
        ensure!(message["place"] == place.place, "{place:?} counted");
        ensure!(message["of"] == standings.len(), "{} counted", standings.len());
        ensure!(points(message, "total") == Some(place.points), "{place:?} counted");
        Ok(())
    }

    fn result(&self, message: &Value, own: &str) -> Result<()> {
        let last = self.recount.rounds.last().context("no round was revealed")?;
        ensure!(message["round"] == last.round, "round {} was revealed", last.round);
        let counted = self.recount.points(last, own)?;
        ensure!(points(message, "points") == counted, "{counted:?} counted");
        self.place(message, own)
    }

    fn summary(&self, message: &Value, own: &str) -> Result<()> {
        let mut rows = Vec::new();
        for round in &self.recount.rounds {
            if let Some(points) = self.recount.points(round, own)? {
                rows.push((Some(round.round), Some(points)));
            }
        }
        let told = message["rounds"].as_array().context("no rounds")?;
        let told: Vec<_> =
            told.iter().map(|row| (row["round"].as_u64(), points(row, "points"))).collect();
        ensure!(told == rows, "{rows:?} counted");
        self.place(message, own)
    }

    /// Where the review stands, for whoever comes in.
    fn moment(&self, told: &Value, student: Option<StudentId>, own: Option<&str>) -> Result<()> {
        let (phase, round) = match self.review.phase() {
            Phase::Gathering => ("gathering", None),
            Phase::Open(open) => ("open", Some(open.round)),
            Phase::Closed(record) => ("closed", Some(record.round)),
            Phase::Revealed => ("revealed", self.review.rounds().last().map(|last| last.round)),
            Phase::Skipped { round, .. } => ("skipped", Some(*round)),
            Phase::Ended(_) => ("ended", None),
        };
        ensure!(told["phase"] == phase && told["round"] == json!(round), "{phase} {round:?}");
        match self.review.phase() {
            Phase::Open(open) => {
                let shown = told["clues"].as_array().map(Vec::len);
                ensure!(shown == Some(usize::from(open.shown)), "{} clues", open.shown);
                ensure!(told["paused"] == self.review.is_paused(), "paused");
                given(told, student.and_then(|who| open.answers.get(&who)).map(|it| it.attempt))
            }
            Phase::Closed(record) => {
                given(told, student.and_then(|who| record.answers.get(&who)).map(|it| it.attempt))
            }
            Phase::Revealed => {
                if let Some(own) = own.filter(|_| !told["result"].is_null()) {
                    self.result(&told["result"], own)?;
                }
                self.standings(&told["standings"])
            }
            Phase::Ended(_) => {
                if let Some(own) = own {
                    self.summary(&told["summary"], own)?;
                }
                self.standings(&told["standings"])
            }
            Phase::Gathering | Phase::Skipped { .. } => Ok(()),
        }
    }
}

fn given(told: &Value, attempt: Option<AttemptId>) -> Result<()> {
    ensure!(told["given"]["attempt"] == json!(attempt), "{attempt:?} is this student's answer");
    Ok(())
}

fn points(message: &Value, field: &str) -> Option<i64> {
    message[field].as_f64().map(hundredths)
}

/// Whatever a client claims, it is credited no more time than passed since the round opened, and at
/// most a quarter of a second less than passed between the clue's going out and the answer's coming
/// in (README, "How a round goes"). Rounds in which the time stood still, or the host, are left out.
fn check_times(world: &World, disk: &Disk) -> Result<()> {
    let mut opened = None;
    for logged in &disk.logged {
        match &logged.event {
            Event::RoundOpened { round, .. } => opened = Some((*round, logged.at)),
            Event::Paused {} | Event::Restarted {} => opened = None,
            Event::Answered(answer) => {
                let Some((_, since)) = opened.filter(|(round, _)| *round == answer.round) else {
                    continue;
                };
                let passed = logged.at.minus(since).0;
                ensure!(answer.elapsed_ms <= passed, "{answer:?} in {passed} ms");
                // A round that everyone was told of by a snapshot has no time of its own here.
                let Some(shown) = world.opened.get(&answer.round) else { continue };
                let tries = world.students.iter().find_map(|it| it.tries.get(&answer.attempt));
                let arrived = &tries.context("never sent")?.arrived;
                let first = arrived.iter().map(|at| at.minus(*shown).0).min().unwrap_or_default();
                ensure!(answer.elapsed_ms + LAG_MOST >= first, "{answer:?} after {first} ms");
            }
            _ => {}
        }
    }
    Ok(())
}

/// Instructors that stay connected see every seat as it is.
fn check_rolls(world: &World, disk: &Disk, replayed: &Review) -> Result<()> {
    for instructor in &world.instructors {
        let linked = instructor.conn.and_then(|number| world.conns.get(&number));
        if !linked.is_some_and(|conn| conn.up && !conn.lost) {
            continue;
        }
        let name = |student: &StudentId| {
            let seat = disk.seats.iter().find(|seat| seat.student == *student);
            seat.map(|seat| seat.name.clone())
        };
        let expected: BTreeMap<StudentId, Value> = replayed
            .seats()
            .iter()
            .map(|(who, seat)| {
                let row = json!({ "student": who, "name": name(who), "present": seat.present,
                    "answered": false, "time": seat.time });
                (*who, row)
            })
            .collect();
        if instructor.roll != expected {
            bail!("the roll is {:?} and was told as {:?}", expected, instructor.roll);
        }
    }
    Ok(())
}

//! From the log to the table that analyses start from: a term of a department in about a second.

use std::collections::{BTreeMap, BTreeSet};
use std::num::NonZero;
use std::sync::mpsc::{Receiver, channel};
use std::sync::{Mutex, PoisonError};
use std::thread;

use myonym_engine::{Event, Logged, Settings, whose};
use myonym_insight::Tally;
use myonym_insight::observe::{LeanAnswer, Observations, Observer, ReviewTag, Sitting};
use myonym_wire::{Millis, Pace, ReviewId, Seq, StudentId, Task};

use crate::names;
use crate::store::{Header, Line, Log as _, SqliteLog, StoreError};

/// Threads that read at most: beyond these the file itself is what takes the time.
const THREADS: usize = 4;

/// A review of the log with how it was opened.
#[derive(Debug, Clone)]
pub(crate) struct Held {
    /// What the log keeps beside its events.
    pub(crate) header: Header,
    /// How it ran.
    pub(crate) settings: Settings,
}

impl Held {
    /// Whether it was a study group's: its answers may have been looked up, and whoever took part
    /// chose to.
    pub(crate) fn is_group(&self) -> bool {
        matches!(self.settings.pace, Pace::Group { .. })
    }
}

/// What was read.
#[derive(Debug)]
pub(crate) struct Term {
    /// Every answer and silence where a name was asked for.
    pub(crate) table: Observations,
    /// What the table does not hold: rounds that ask for a movement, and typed names that were no
    /// answer. Its other counts are not filled.
    pub(crate) tally: Tally,
}

/// Reads these reviews, in this order; of a group alone if one is named. Several threads read, and
/// what comes of it is the same as if one had.
pub(crate) fn read(
    log: &SqliteLog,
    reviews: &[Held],
    group: Option<&str>,
) -> Result<Term, StoreError> {
    let Reader { observer, tally, .. } = whole(log, reviews, group)?;
    Ok(Term { table: observer.finish(), tally })
}

/// The table of these reviews, in this order, open for another.
pub(crate) fn observer(log: &SqliteLog, reviews: &[Held]) -> Result<Observer, StoreError> {
    Ok(whole(log, reviews, None)?.observer)
}

fn whole<'a>(
    log: &SqliteLog,
    reviews: &[Held],
    group: Option<&'a str>,
) -> Result<Reader<'a>, StoreError> {
    let threads = thread::available_parallelism().map_or(1, NonZero::get).min(THREADS);
    let files: Vec<SqliteLog> =
        (0..threads.min(reviews.len())).map(|_| log.another_reader()).collect::<Result<_, _>>()?;
    let left = Mutex::new((0, reviews));
    let (done, parts) = channel();
    thread::scope(|scope| {
        for file in files {
            let (left, done) = (&left, done.clone());
            scope.spawn(move || {
                while let Some((place, part)) = next_part(left, threads) {
                    // Nobody hears it any more where another part could not be read.
                    if done.send((place, Reader::of(&file, part, group))).is_err() {
                        break;
                    }
                }
            });
        }
        drop(done);
        in_order(&parts, group)
    })
}

/// The part of the reviews that is read next, with its number. Parts are the smaller the less is
/// left, so that all threads are done at about the same time, however fast each is.
fn next_part<'r>(left: &Mutex<(usize, &'r [Held])>, threads: usize) -> Option<(usize, &'r [Held])> {
    let mut left = left.lock().unwrap_or_else(PoisonError::into_inner);
    let (place, reviews) = *left;
    let (part, rest) = reviews.split_at(reviews.len().div_ceil(2 * threads));
    *left = (place + 1, rest);
    (!part.is_empty()).then_some((place, part))
}

/// Puts together what comes of the parts, in the order of the reviews, while others are read.
fn in_order<'a>(
    parts: &Receiver<(usize, Result<Reader<'a>, StoreError>)>,
    group: Option<&'a str>,
) -> Result<Reader<'a>, StoreError> {
    let mut whole = Reader::new(group);
    let (mut next, mut early) = (0, BTreeMap::new());
    for (place, read) in parts {
        early.insert(place, read);
        while let Some(read) = early.remove(&next) {
            let read = read?;
            whole.observer.absorb(read.observer);
            whole.tally.absorb(read.tally);
            next += 1;
        }
    }
    Ok(whole)
}

struct Reader<'a> {
    group: Option<&'a str>,
    observer: Observer,
    tally: Tally,
    /// Students of the review at hand who are not of the group.
    outside: BTreeSet<StudentId>,
    /// What the open round asks for.
    task: Task,
}

impl<'a> Reader<'a> {
    fn new(group: Option<&'a str>) -> Self {
        Self {
            group,
            observer: Observer::default(),
            tally: Tally::default(),
            outside: BTreeSet::new(),
            task: Task::Name,
        }
    }

    fn of(file: &SqliteLog, reviews: &[Held], group: Option<&'a str>) -> Result<Self, StoreError> {
        let mut reader = Self::new(group);
        for held in reviews {
            reader.begin(held, file)?;
            file.walk(held.header.review, |line| {
                reader.line(line).map_err(|fault| fault.to_string())
            })?;
        }
        Ok(reader)
    }

    fn begin(&mut self, held: &Held, file: &SqliteLog) -> Result<(), StoreError> {
        let Held { header, settings } = held;
        let seats = file.seats(header.review)?;
        let inside = |group: Option<&String>| match (self.group, group) {
            (None, _) => true,
            (Some(wanted), Some(group)) => names::alike(wanted, group),
            (Some(_), None) => false,
        };
        self.outside = (seats.iter().filter(|seat| !inside(seat.group.as_ref())))
            .map(|seat| seat.student)
            .collect();
        let sitting = |seat: crate::store::SeatRow| Sitting {
            student: seat.student,
            person: seat.person.map(|person| person.0),
            group: seat.group,
        };
        let tag = ReviewTag {
            review: header.review,
            section: settings.section.clone(),
            opened_s: header.opened,
            list: settings.list.clone(),
            adaptive: settings.adaptive,
        };
        let seats = seats.into_iter().filter(|seat| !self.outside.contains(&seat.student));
        self.observer.begin(tag, seats.map(sitting));
        Ok(())
    }

    fn line(&mut self, line: Line<'_>) -> serde_json::Result<()> {
        let body = line.body;
        match &*line.kind()? {
            "answered" => {
                let answer = LeanAnswer::parse(body)?;
                if self.outside.contains(&answer.student) {
                    return Ok(());
                }
                self.observer.answer(&answer);
                // Only what no table holds is read in full.
                if self.task == Task::Movement || answer.said.is_none() {
                    self.count(serde_json::from_str(body)?);
                }
            }
            "opened" | "round_opened" | "clue_shown" | "round_closed" | "round_skipped"
            | "revealed" | "asked_again" | "ended" => self.event(serde_json::from_str(body)?),
            _ => {}
        }
        Ok(())
    }

    fn event(&mut self, mut event: Event) {
        if let Event::RoundOpened { task, .. } = &event {
            self.task = *task;
        }
        if let Event::RoundClosed { silent, .. } = &mut event {
            silent.retain(|student| !self.outside.contains(student));
        }
        if whose(&event).is_some_and(|student| self.outside.contains(&student)) {
            return;
        }
        self.observer.event(&event);
        self.count(event);
    }

    fn count(&mut self, event: Event) {
        // Neither number nor time enters a count.
        self.tally.add(&Logged { seq: Seq(0), at: Millis(0), event });
    }
}

/// The reviews of a log with how they were opened, newest first.
pub(crate) fn held(log: &SqliteLog) -> Result<Vec<Held>, StoreError> {
    let mut openings: BTreeMap<ReviewId, String> = log.openings()?.into_iter().collect();
    let mut reviews = Vec::new();
    for header in log.reviews()? {
        let opening = openings.remove(&header.review).unwrap_or_default();
        let opened = serde_json::from_str(&opening).map_err(|fault| fault.to_string());
        let opened = opened.map_err(|fault| log.damaged(header.review, 1, &fault))?;
        let Event::Opened { settings, .. } = opened else {
            return Err(log.damaged(header.review, 1, &"it does not open a review"));
        };
        reviews.push(Held { header, settings });
    }
    Ok(reviews)
}

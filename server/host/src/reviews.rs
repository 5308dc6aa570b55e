//! All reviews of this server: opening, finding, and going on after a stop.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};
use std::time::Duration;

use dashmap::DashMap;
use myonym_content::problem::SourceFile;
use myonym_content::{Catalogue, Course, CourseError, ListKey, MuscleKey, OwnList};
use myonym_engine::{Event, Logged, OpenError, Planned, Review};
use myonym_wire::{
    EndWhy, ErrorCode, HostKey, JoinWord, Millis, Pace, PersonToken, ReviewId, ReviewSettings, Seq,
};
use tokio::sync::watch;
use tokio::task::{self, AbortHandle, JoinSet};
use tokio::time;
use tracing::{error, info, warn};
use uuid::Uuid;

use crate::abreast::on_threads;
use crate::chooser::{Chooser, FromLog};
use crate::clock::{self, Clock};
use crate::groups::Gathered;
use crate::metrics::{COUNTS, Limit, Waiting};
use crate::names;
use crate::outside::System;
use crate::plan_file::PlannedRound;
use crate::pseudonyms::{PersonHash, Pseudonyms};
use crate::reach::Reach;
use crate::room::{ConnId, Gallery, Room, RoomHandle, Start, Turns, is_pictured};
use crate::roster::Roster;
use crate::secrets::{self, TokenHash};
use crate::store::{Batch, Header, Log as _, NewReview, SeatRow, SqliteLog, StoreError};
use crate::words;

/// A review that nobody has touched for this long is not taken up again, in seconds.
const STALE_S: i64 = 12 * 3_600;
/// Time for rooms to end once the server stops: more than the five seconds that a disk is given to
/// take what is handed to it.
const CLOSING: Duration = Duration::from_secs(8);
/// Rooms at once.
const ROOMS: usize = 10_000;

/// Why a review cannot open.
#[derive(Debug, thiserror::Error)]
pub(crate) enum OpenFault {
    /// No muscle list has this key.
    #[error("no muscle list is called {0}; there are: {1}")]
    NoSuchList(String, String),
    /// The list cannot be played.
    #[error("the muscle list cannot be used: {0}")]
    List(#[from] CourseError),
    /// The settings are out of range.
    #[error("{0}")]
    Settings(#[from] OpenError),
    /// The section has no name that can be shown.
    #[error("a section has 1 to 40 characters, or is left out")]
    Section,
    /// There are too many rooms.
    #[error("this server has {ROOMS} reviews open and takes no more just now")]
    Full,
    /// The log could not be read or written.
    #[error("{0}")]
    Store(#[from] StoreError),
    /// The instructor's own list cannot be read.
    #[error("{0}")]
    OwnList(String),
    /// The log holds something that is no review.
    #[error("review {0} does not begin as a review does")]
    NotAReview(ReviewId),
}

impl OpenFault {
    /// The refusal that a client gets.
    pub(crate) fn code(&self) -> ErrorCode {
        match self {
            Self::NoSuchList(..)
            | Self::List(_)
            | Self::Settings(_)
            | Self::Section
            | Self::OwnList(_) => ErrorCode::BadField,
            Self::Full => ErrorCode::SlowDown,
            Self::Store(_) | Self::NotAReview(_) => ErrorCode::CannotSave,
        }
    }
}

/// All reviews of this server.
#[derive(Debug)]
pub(crate) struct Reviews {
    catalogue: &'static Catalogue,
    log: Arc<SqliteLog>,
    ready: Mutex<BTreeMap<ListKey, Ready>>,
    turns: Turns,
    clock: Clock,
    reach: Reach,
    keys: Vec<TokenHash>,
    pseudonyms: Pseudonyms,
    /// The directory of rooms, and nothing else: handles are cloned out of it.
    rooms: DashMap<JoinWord, RoomHandle>,
    tasks: Mutex<JoinSet<()>>,
    stop: watch::Sender<bool>,
    connections: AtomicU64,
    /// Whether students may open study groups.
    pub(crate) takes_groups: bool,
    pub(crate) gathered: Gathered,
    /// Who may take part in reviews of an instructor; anyone, unless it is set.
    roster: OnceLock<Arc<Roster>>,
}

impl Reviews {
    /// No review yet. `keys` are the hashes of keys that conduct any review of this server;
    /// `takes_groups` lets students open study groups.
    pub(crate) fn new(
        log: Arc<SqliteLog>,
        clock: Clock,
        reach: Reach,
        keys: Vec<TokenHash>,
        takes_groups: bool,
    ) -> Result<Arc<Self>, StoreError> {
        Ok(Arc::new(Self {
            pseudonyms: log.pseudonyms()?,
            catalogue: Catalogue::bundled(),
            ready: Mutex::new(BTreeMap::new()),
            turns: Turns::default(),
            log,
            clock,
            reach,
            keys,
            rooms: DashMap::new(),
            tasks: Mutex::new(JoinSet::new()),
            stop: watch::Sender::new(false),
            connections: AtomicU64::new(0),
            takes_groups,
            gathered: Gathered::default(),
            roster: OnceLock::new(),
        }))
    }

    /// Lets only those of a roster into reviews of an instructor, from the next that opens on.
    pub(crate) fn require(&self, roster: Roster) {
        // It is asked for once, when the host starts.
        let _ = self.roster.set(Arc::new(roster));
    }

    /// Who comes with a device's secret under a name.
    pub(crate) fn person(&self, token: &PersonToken, name: &str) -> PersonHash {
        self.pseudonyms.person(token, name)
    }

    /// The log of all reviews.
    pub(crate) fn log(&self) -> &SqliteLog {
        &self.log
    }

    /// The server's clock.
    pub(crate) fn clock(&self) -> Clock {
        self.clock
    }

    /// A fresh number for a connection.
    pub(crate) fn number_connection(&self) -> ConnId {
        ConnId(self.connections.fetch_add(1, Ordering::Relaxed))
    }

    /// The room with this join word.
    pub(crate) fn room(&self, word: &JoinWord) -> Option<RoomHandle> {
        self.rooms.get(word).map(|entry| entry.value().clone())
    }

    /// The only room with an instructor, if there is one alone.
    pub(crate) fn only_room(&self) -> Option<RoomHandle> {
        let handles = self.rooms.iter().map(|entry| entry.value().clone());
        let mut handles = handles.filter(|room| !room.is_group);
        handles.next().filter(|_| handles.next().is_none())
    }

    /// Number of rooms.
    pub(crate) fn count(&self) -> usize {
        self.rooms.len()
    }

    /// What waits at the moment.
    pub(crate) fn waiting(&self) -> Waiting {
        let posts = self.rooms.iter().map(|entry| entry.value().waiting()).sum();
        Waiting { posts, batches: self.log.waiting() }
    }

    /// Number of study groups.
    pub(crate) fn groups(&self) -> usize {
        self.rooms.iter().filter(|entry| entry.value().is_group).count()
    }

    /// The reviews whose rooms are open.
    pub(crate) fn open_reviews(&self) -> BTreeSet<ReviewId> {
        self.rooms.iter().map(|entry| entry.value().review).collect()
    }

    /// Whether a key conducts any review of this server.
    pub(crate) fn is_host_key(&self, key: &HostKey) -> bool {
        let hash = TokenHash::of(key.reveal());
        // Every key is compared, so that the time does not tell which one was near.
        self.keys.iter().fold(false, |found, kept| kept.matches(&hash) | found)
    }

    /// Opens a review whose rounds are drawn, and gives its own key. With an instructor's own list,
    /// the list that the settings name is not used.
    pub(crate) fn open(
        self: &Arc<Self>,
        settings: &ReviewSettings,
        own_list: Option<SourceFile>,
    ) -> Result<(RoomHandle, HostKey), OpenFault> {
        let settings = cleaned(settings)?;
        self.open_with(&settings.list.clone(), own_list, |review, course| {
            let pictured = |muscle: &MuscleKey| is_pictured(course, muscle);
            myonym_engine::open(review, course, &settings, secrets::seed(), pictured)
        })
    }

    /// Opens a review whose rounds are planned, and gives its own key.
    pub(crate) fn open_planned(
        self: &Arc<Self>,
        settings: &ReviewSettings,
        own_list: Option<SourceFile>,
        rounds: &[PlannedRound],
        seed: u64,
    ) -> Result<(RoomHandle, HostKey), OpenFault> {
        let settings = cleaned(settings)?;
        let plan: Vec<Planned> = rounds.iter().map(|round| round.planned.clone()).collect();
        let why = rounds.iter().map(|round| round.why.clone()).collect();
        self.open_with(&settings.list.clone(), own_list, |review, course| {
            let pictured = |muscle: &MuscleKey| is_pictured(course, muscle);
            let event =
                myonym_engine::open_planned(review, course, &settings, plan, seed, pictured)?;
            Ok(event.because(why))
        })
    }

    fn open_with(
        self: &Arc<Self>,
        list: &str,
        own_list: Option<SourceFile>,
        opening: impl FnOnce(ReviewId, &Course) -> Result<Event, OpenError>,
    ) -> Result<(RoomHandle, HostKey), OpenFault> {
        if self.rooms.len() >= ROOMS {
            COUNTS.limits.one(Limit::Rooms);
            return Err(OpenFault::Full);
        }
        let ready = match &own_list {
            Some(file) => self.ready_own(file)?,
            None => self.ready(list)?,
        };
        let own_list = own_list.map(|file| file.text);
        let review = ReviewId(Uuid::now_v7());
        let event = opening(review, &ready.course)?;
        let key = secrets::host_key();
        let hash = TokenHash::of(key.reveal());
        let taken: BTreeSet<JoinWord> = self.rooms.iter().map(|e| e.key().clone()).collect();
        let word = words::draw(secrets::seed(), &taken, self.reach.is_public);
        let opened = clock::wall_seconds();
        let opens = NewReview { word: word.clone(), key: hash, opened, own_list };
        let events = vec![Logged { seq: Seq(1), at: Millis(0), event }];
        let seats = Vec::new();
        let opens = Some(opens);
        let handle = self.start(New { review, word, key: hash, ready, events, seats, opens })?;
        Ok((handle, key))
    }

    /// Takes up the reviews that a stop broke off, newest first. Those that nobody has touched for
    /// half a day are ended, and all of them if they are not to be taken up.
    pub(crate) fn take_up(self: &Arc<Self>, resume: bool) -> Result<Vec<RoomHandle>, StoreError> {
        let mut open = self.log.reviews()?;
        open.retain(|header| !header.ended);
        let take_up = |header: &Header| {
            let stale = clock::wall_seconds() - header.touched > STALE_S;
            if stale || !resume {
                self.abandon(header).map(|()| None)
            } else {
                self.resume(header).map(Some)
            }
        };
        let mut handles = Vec::new();
        for (header, taken_up) in open.iter().zip(on_threads(&open, take_up)) {
            match taken_up {
                Ok(handle) => handles.extend(handle),
                Err(fault) => warn!(word = %header.word, %fault, "review left as it is"),
            }
        }
        Ok(handles)
    }

    fn resume(self: &Arc<Self>, header: &Header) -> Result<RoomHandle, OpenFault> {
        let events = self.log.read(header.review, Seq(0))?;
        let review = Review::replay(&events).ok_or(OpenFault::NotAReview(header.review))?;
        let ready = match &header.own_list {
            Some(text) => {
                let path = format!("the list of {}", header.word);
                self.ready_own(&SourceFile { path, text: text.clone() })?
            }
            None => self.ready(review.settings().list.as_str())?,
        };
        let seats = self.log.seats(header.review)?;
        if review.is_group() {
            self.gathered.remember(&header.word, seats.iter().map(|seat| seat.token));
        }
        let handle = self.start(New {
            review: header.review,
            word: header.word.clone(),
            key: header.key,
            ready,
            events,
            seats,
            opens: None,
        })?;
        COUNTS.taken_up.one();
        info!(word = %header.word, "review taken up where it was");
        Ok(handle)
    }

    fn abandon(&self, header: &Header) -> Result<(), OpenFault> {
        let events = self.log.read(header.review, Seq(0))?;
        let review = Review::replay(&events).ok_or(OpenFault::NotAReview(header.review))?;
        let ended = Event::Ended { why: EndWhy::Abandoned };
        let after = review.seq();
        let events = vec![Logged { seq: after.next(), at: review.at(), event: ended }];
        let (seats, names) = (Vec::new(), Vec::new());
        let batch = Batch { review: header.review, after, events, seats, names, opens: None };
        // Whether it is ended now or at the next start makes no difference to anyone.
        drop(self.log.append(batch));
        Ok(())
    }

    /// A muscle list made ready: once, then shared by all reviews of it.
    fn ready(&self, list: &str) -> Result<Ready, OpenFault> {
        let mut lists = self.ready.lock().unwrap_or_else(PoisonError::into_inner);
        let key = ListKey::new(list);
        if let Some(ready) = lists.get(&key) {
            return Ok(ready.clone());
        }
        let Some(list) = self.catalogue.list(&key) else {
            let known: Vec<&str> = self.catalogue.lists().map(|l| l.key.as_str()).collect();
            let typed: String = list.chars().take(40).collect();
            return Err(OpenFault::NoSuchList(typed, known.join(", ")));
        };
        let ready = Ready::of(Course::new(self.catalogue, list)?);
        lists.insert(key, ready.clone());
        Ok(ready)
    }

    fn ready_own(&self, file: &SourceFile) -> Result<Ready, OpenFault> {
        let own = OwnList::read(file, self.catalogue).map_err(|problems| {
            let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
            OpenFault::OwnList(lines.join("\n"))
        })?;
        Ok(Ready::of(Course::of_own(self.catalogue, &own)?))
    }

    /// Starts a room's task. If the task breaks, that room alone is closed.
    fn start(self: &Arc<Self>, new: New) -> Result<RoomHandle, OpenFault> {
        let chooser = self.chooser(&new);
        let is_group = is_group(&new);
        let Ready { course, gallery } = new.ready;
        let (handle, posts) = RoomHandle::new(new.review, new.word, new.key, course, is_group);
        let start = Start {
            handle: handle.clone(),
            log: self.log.clone(),
            clock: self.clock,
            outside: Arc::new(System),
            events: new.events,
            seats: new.seats,
            opens: new.opens,
            reach: self.reach.clone(),
            roster: self.roster.get().filter(|_| !is_group).cloned(),
            chooser,
            gallery,
            turns: self.turns.clone(),
        };
        let room = Room::new(start).ok_or(OpenFault::NotAReview(new.review))?;
        self.rooms.insert(handle.word.clone(), handle.clone());
        // A room writes to thousands of sockets in one go; the runtime's budget would call them
        // full after a hundred.
        let task = tokio::spawn(task::unconstrained(room.run(posts, self.stop.subscribe())));
        let (reviews, word) = (Arc::downgrade(self), handle.word.clone());
        let held = BreakOff(task.abort_handle());
        let watch = async move {
            let _held = held;
            if let Err(fault) = task.await {
                COUNTS.broken.one();
                error!(%word, %fault, "a room broke; the others go on");
            }
            if let Some(reviews) = reviews.upgrade() {
                reviews.rooms.remove(&word);
                if is_group {
                    reviews.gathered.forget(&word);
                }
            }
        };
        let mut tasks = self.tasks.lock().unwrap_or_else(PoisonError::into_inner);
        // Rooms that are over leave no trace behind.
        while tasks.try_join_next().is_some() {}
        tasks.spawn(watch);
        Ok(handle)
    }

    /// What chooses the rounds of a review, if it is adaptive.
    fn chooser(&self, new: &New) -> Option<Box<dyn Chooser>> {
        let Event::Opened { settings, seed, .. } = &new.events.first()?.event else { return None };
        let (log, course) = (self.log.clone(), new.ready.course.clone());
        let choose = || FromLog::new(log, new.review, course, *seed);
        settings.adaptive.then(|| -> Box<dyn Chooser> { Box::new(choose()) })
    }

    /// Closes every room: what is under way is saved, and clients are told to come back.
    pub(crate) async fn close(&self) {
        self.stop.send_replace(true);
        let tasks = std::mem::take(&mut *self.tasks.lock().unwrap_or_else(PoisonError::into_inner));
        if !ended(tasks, CLOSING).await {
            error!("the disk does not answer; what was under way to it may not be saved");
        }
    }

    /// Whether the server is being stopped.
    pub(crate) fn is_stopping(&self) -> bool {
        *self.stop.borrow()
    }
}

/// Waits for rooms to end; those that have not by then are broken off, and `false` is given.
async fn ended(mut tasks: JoinSet<()>, within: Duration) -> bool {
    let all = async { while tasks.join_next().await.is_some() {} };
    let in_time = time::timeout(within, all).await.is_ok();
    // Their connections are closed as the rooms let go of them.
    tasks.shutdown().await;
    in_time
}

/// Breaks a task off when it is dropped, if it still runs.
#[derive(Debug)]
struct BreakOff(AbortHandle);

impl Drop for BreakOff {
    fn drop(&mut self) {
        self.0.abort();
    }
}

/// The settings with what a person typed put right.
fn cleaned(settings: &ReviewSettings) -> Result<ReviewSettings, OpenFault> {
    let clean = |section: &String| {
        names::clean_section(section).ok_or_else(|| {
            COUNTS.limits.one(Limit::Section);
            OpenFault::Section
        })
    };
    let section = settings.section.as_ref().map(clean).transpose()?;
    Ok(ReviewSettings { section, ..settings.clone() })
}

/// Whether it is a study group that starts.
fn is_group(new: &New) -> bool {
    let Some(Event::Opened { settings, .. }) = new.events.first().map(|first| &first.event) else {
        return false;
    };
    matches!(settings.pace, Pace::Group { .. })
}

/// A muscle list made ready, with what was drawn of it.
#[derive(Debug, Clone)]
struct Ready {
    course: Arc<Course>,
    gallery: Arc<Gallery>,
}

impl Ready {
    fn of(course: Course) -> Self {
        Self { course: Arc::new(course), gallery: Arc::default() }
    }
}

/// A review to start, new or taken up.
struct New {
    review: ReviewId,
    word: JoinWord,
    key: TokenHash,
    ready: Ready,
    events: Vec<Logged>,
    seats: Vec<SeatRow>,
    opens: Option<NewReview>,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A room that waits for a disk for ever, as far as its task can be seen from outside.
    #[tokio::test]
    async fn a_room_that_does_not_end_is_broken_off() {
        let (held, mut let_go) = tokio::sync::mpsc::channel::<()>(1);
        let room = tokio::spawn(async move {
            let _held = held;
            std::future::pending::<()>().await;
        });
        let held = BreakOff(room.abort_handle());
        let mut tasks = JoinSet::new();
        tasks.spawn(async move {
            let _held = held;
            let _ = room.await;
        });
        assert!(!ended(tasks, Duration::ZERO).await);
        // What the room held is dropped, so that its connections hear of the end.
        assert_eq!(let_go.recv().await, None);
    }

    #[tokio::test]
    async fn rooms_that_end_are_waited_for() {
        let mut tasks = JoinSet::new();
        tasks.spawn(async {});
        assert!(ended(tasks, CLOSING).await);
    }
}

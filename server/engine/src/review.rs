//! A review as the fold of its events.

use std::collections::{BTreeMap, BTreeSet};
use std::mem;

use myonym_content::MuscleKey;
use myonym_wire::{
    CloseWhy, EndWhy, Millis, ReviewId, RoundNo, Seq, StudentId, Task, TimeAllowance,
};

use crate::event::{Answer, Event, Logged, RevealContrast, SCHEMA, Settings};
use crate::group::Group;
use crate::planned::Planned;
use crate::round::{OpenRound, RoundRecord};
use crate::score::Points;
use crate::waiting::{Limit, Waiting};

/// A student's seat.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seat {
    /// Whether the class may see the name.
    pub listed: bool,
    /// Whether connected now.
    pub present: bool,
    /// Whether the student chose to leave.
    pub left: bool,
    /// How much time this student has, from the next round on.
    pub time: TimeAllowance,
    /// Points of the revealed rounds.
    pub total: Points,
    /// The number of the event that gave it.
    pub came: Seq,
}

/// Where a review stands.
#[derive(Debug, Clone, PartialEq)]
pub enum Phase {
    /// Students take their seats.
    Gathering,
    /// A round takes answers.
    Open(Box<OpenRound>),
    /// A round takes no more answers.
    Closed(Box<RoundRecord>),
    /// The last of [`Review::rounds`] is revealed.
    Revealed,
    /// A round was left out.
    Skipped {
        /// Which.
        round: RoundNo,
        /// When.
        at: Millis,
    },
    /// The review is over.
    Ended(EndWhy),
}

/// A review: the fold of its events, and nothing that is not in them.
#[derive(Debug, Clone, PartialEq)]
pub struct Review {
    pub(crate) id: ReviewId,
    pub(crate) settings: Settings,
    pub(crate) seed: u64,
    pub(crate) plan: Vec<Planned>,
    /// What is said of each round to the instructor; nothing where it was drawn.
    why: Vec<String>,
    /// Rounds that were planned anew.
    replanned: BTreeSet<RoundNo>,
    pub(crate) seats: BTreeMap<StudentId, Seat>,
    /// How many of them are connected: asked too often to be counted each time.
    present: usize,
    pub(crate) phase: Phase,
    /// Rounds that were revealed.
    pub(crate) rounds: Vec<RoundRecord>,
    /// Rounds that were opened.
    pub(crate) opened: u16,
    /// Since when the time stands still.
    pub(crate) paused: Option<Millis>,
    /// Set for a study group.
    pub(crate) group: Option<Group>,
    seq: Seq,
    at: Millis,
}

impl Review {
    /// The review that the first event opens; `None` if it is not the first, does not open one, or
    /// has a later form than this program reads.
    pub fn first(logged: &Logged) -> Option<Self> {
        let Event::Opened { schema, review, settings, seed, plan, tasks, beside, why } =
            &logged.event
        else {
            return None;
        };
        let planned = |(at, muscle): (usize, &MuscleKey)| Planned {
            muscle: muscle.clone(),
            task: tasks.get(at).copied().unwrap_or_default(),
            beside: beside.get(at).cloned().flatten(),
        };
        (logged.seq == Seq(1) && *schema <= SCHEMA).then(|| Self {
            id: *review,
            settings: settings.clone(),
            seed: *seed,
            plan: plan.iter().enumerate().map(planned).collect(),
            why: why.clone(),
            replanned: BTreeSet::new(),
            seats: BTreeMap::new(),
            present: 0,
            phase: Phase::Gathering,
            rounds: Vec::new(),
            opened: 0,
            paused: None,
            group: Group::of(settings, logged.at),
            seq: logged.seq,
            at: logged.at,
        })
    }

    /// The fold of a whole log; `None` if it is empty, does not open a review, or has a gap.
    pub fn replay<'a>(log: impl IntoIterator<Item = &'a Logged>) -> Option<Self> {
        let mut log = log.into_iter();
        let mut review = Self::first(log.next()?)?;
        for logged in log {
            if logged.seq != review.seq.next() {
                return None;
            }
            review.apply(logged);
        }
        Some(review)
    }

    /// The review's id.
    pub fn id(&self) -> ReviewId {
        self.id
    }

    /// How it runs.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// What the order of the rounds was drawn with.
    pub fn seed(&self) -> u64 {
        self.seed
    }

    /// Each round as it was asked, or is planned by now.
    pub fn plan(&self) -> &[Planned] {
        &self.plan
    }

    /// The round that comes next, if the review stands between rounds and has another.
    pub fn coming(&self) -> Option<(RoundNo, &Planned)> {
        match self.phase {
            Phase::Gathering | Phase::Revealed | Phase::Skipped { .. } => {
                Some((RoundNo(self.opened + 1), self.plan.get(usize::from(self.opened))?))
            }
            Phase::Open(_) | Phase::Closed(_) | Phase::Ended(_) => None,
        }
    }

    /// Why a round is asked, where the plan or whoever chose it says so.
    pub fn why(&self, round: RoundNo) -> Option<&str> {
        let at = usize::from(round.0).checked_sub(1)?;
        self.why.get(at).map(String::as_str).filter(|why| !why.is_empty())
    }

    /// Whether a round was planned anew while the review ran.
    pub fn is_replanned(&self, round: RoundNo) -> bool {
        self.replanned.contains(&round)
    }

    /// What the rounds ask for, each once.
    pub fn tasks(&self) -> BTreeSet<Task> {
        self.plan.iter().map(|planned| planned.task).collect()
    }

    /// Number of rounds.
    pub fn of(&self) -> u16 {
        u16::try_from(self.plan.len()).unwrap_or(u16::MAX)
    }

    /// Seats by student.
    pub fn seats(&self) -> &BTreeMap<StudentId, Seat> {
        &self.seats
    }

    /// How many are connected.
    pub fn present(&self) -> usize {
        self.present
    }

    /// Where it stands.
    pub fn phase(&self) -> &Phase {
        &self.phase
    }

    /// The rounds revealed so far.
    pub fn rounds(&self) -> &[RoundRecord] {
        &self.rounds
    }

    /// Whether the time stands still.
    pub fn is_paused(&self) -> bool {
        self.paused.is_some()
    }

    /// Number of the last event applied.
    pub fn seq(&self) -> Seq {
        self.seq
    }

    /// Time of the last event applied.
    pub fn at(&self) -> Millis {
        self.at
    }

    /// Time run in the open round at `now`, pauses left out; zero if none is open.
    pub fn elapsed(&self, now: Millis) -> Millis {
        match &self.phase {
            Phase::Open(round) => round.elapsed(self.paused.unwrap_or(now)),
            Phase::Gathering
            | Phase::Closed(_)
            | Phase::Revealed
            | Phase::Skipped { .. }
            | Phase::Ended(_) => Millis(0),
        }
    }

    /// Makes an event so. No event is a fault here, and what comes of a log rests on the log alone,
    /// so that every reader comes to the same state as the room that wrote it.
    pub fn apply(&mut self, logged: &Logged) {
        self.seq = logged.seq;
        self.at = self.at.max(logged.at);
        let at = logged.at;
        match &logged.event {
            Event::Opened { .. }
            | Event::Voted { .. }
            | Event::Renamed { .. }
            | Event::Forgotten {} => {}
            Event::Replanned { round, planned, why } => self.replan(*round, planned, why),
            Event::Seated { student, listed } => self.seat(*student, *listed),
            Event::Back { student } => self.presence(*student, true, false),
            Event::Away { student, left } => self.presence(*student, false, *left),
            Event::Removed { student } => self.remove(*student),
            Event::Stretched { student, time } => {
                if let Some(seat) = self.seats.get_mut(student) {
                    seat.time = *time;
                }
            }
            Event::RoundOpened { .. } => self.open_round(&logged.event, at),
            Event::ClueShown { number, .. } => {
                if let Phase::Open(round) = &mut self.phase {
                    round.shown = *number;
                }
            }
            Event::Answered(answer) => self.answered(answer),
            Event::AskedAgain { student, attempt, why, among, .. } => {
                if let Phase::Open(round) = &mut self.phase {
                    round.asked_again += 1;
                    round.asked.insert(*student, (*attempt, *why, among.clone()));
                }
            }
            // A pause stamped before the latest event would count a part of the time run as pause.
            Event::Paused {} => self.paused = Some(self.at),
            Event::Resumed {} => self.resume(at),
            Event::RoundClosed { why, silent, .. } => self.close_round(*why, silent, at),
            Event::RoundSkipped { round } => {
                self.paused = None;
                self.phase = Phase::Skipped { round: *round, at };
            }
            Event::Revealed { contrast, .. } => self.reveal(contrast.as_ref(), at),
            Event::Restarted {} => {
                for seat in self.seats.values_mut() {
                    seat.present = false;
                }
                self.present = 0;
                self.wait_for_all();
            }
            Event::Ended { why } => {
                self.paused = None;
                self.phase = Phase::Ended(*why);
            }
        }
        self.keep_votes(&logged.event);
    }

    fn replan(&mut self, round: RoundNo, planned: &Planned, why: &str) {
        let rounds = self.plan.len();
        let at = usize::from(round.0).checked_sub(1).filter(|at| *at < rounds);
        let Some(at) = at else { return };
        self.plan[at] = planned.clone();
        self.why.resize(rounds, String::new());
        why.clone_into(&mut self.why[at]);
        self.replanned.insert(round);
    }

    fn seat(&mut self, student: StudentId, listed: bool) {
        let seat = Seat {
            listed,
            present: true,
            left: false,
            time: TimeAllowance::Standard,
            total: Points::default(),
            came: self.seq,
        };
        self.seats.entry(student).or_insert_with(|| {
            self.present += 1;
            seat
        });
        self.enter_round(student);
    }

    fn presence(&mut self, student: StudentId, present: bool, left: bool) {
        let Some(seat) = self.seats.get_mut(&student) else { return };
        self.present -= usize::from(seat.present);
        self.present += usize::from(present);
        seat.present = present;
        seat.left = left;
        if present {
            self.enter_round(student);
        } else {
            self.wait_for(student);
        }
    }

    fn enter_round(&mut self, student: StudentId) {
        let time = self.seats.get(&student).map(|seat| seat.time).unwrap_or_default();
        if let Phase::Open(round) = &mut self.phase {
            round.here.entry(student).or_insert(time);
        }
        self.wait_for(student);
    }

    /// Takes the seat away; answers already given stay.
    fn remove(&mut self, student: StudentId) {
        let seat = self.seats.remove(&student);
        self.present -= usize::from(seat.is_some_and(|seat| seat.present));
        if let Phase::Open(round) = &mut self.phase {
            round.here.remove(&student);
            round.waiting.set(student, None);
        }
    }

    fn open_round(&mut self, event: &Event, at: Millis) {
        let Event::RoundOpened { round, task, muscle, name, latin, offered, clues, limit_ms } =
            event
        else {
            return;
        };
        let here =
            |(student, seat): (&StudentId, &Seat)| seat.present.then_some((*student, seat.time));
        self.opened = round.0;
        self.paused = None;
        self.phase = Phase::Open(Box::new(OpenRound {
            round: *round,
            task: *task,
            muscle: muscle.clone(),
            name: name.clone(),
            latin: latin.clone(),
            offered: offered.clone(),
            clues: clues.clone(),
            shown: 1,
            limit_ms: *limit_ms,
            answers: BTreeMap::new(),
            asked_again: 0,
            here: self.seats.iter().filter_map(here).collect(),
            waiting: Waiting::default(),
            asked: BTreeMap::new(),
            opened_at: at,
            opened_seq: self.seq,
            paused_for: Millis(0),
        }));
        self.wait_for_all();
    }

    /// Sets for how long the open round waits for a student: here at some time of it, no answer,
    /// not gone by choice. An untimed student who is not connected is waited for as long as the
    /// class has, so that neither a dropped connection nor a restart of the server costs the round.
    fn wait_for(&mut self, student: StudentId) {
        let Phase::Open(round) = &mut self.phase else { return };
        let waited_for = self.seats.get(&student).filter(|seat| !seat.left);
        let limit = match (waited_for, round.here.get(&student)) {
            (Some(seat), Some(time)) if !round.answers.contains_key(&student) => {
                match time.limit_ms(round.limit_ms) {
                    Some(limit) => Some(Limit::Of(limit)),
                    None if seat.present => Some(Limit::Unlimited),
                    None => Some(Limit::Of(round.limit_ms)),
                }
            }
            _ => None,
        };
        round.waiting.set(student, limit);
    }

    fn wait_for_all(&mut self) {
        let Phase::Open(round) = &self.phase else { return };
        let here: Vec<StudentId> = round.here.keys().copied().collect();
        for student in here {
            self.wait_for(student);
        }
    }

    fn answered(&mut self, answer: &Answer) {
        if let Phase::Open(round) = &mut self.phase {
            round.answers.entry(answer.student).or_insert_with(|| answer.clone());
            round.waiting.set(answer.student, None);
        }
    }

    fn resume(&mut self, at: Millis) {
        let Some(since) = self.paused.take() else { return };
        match &mut self.phase {
            Phase::Open(round) => round.paused_for = round.paused_for.plus(at.minus(since)),
            Phase::Skipped { at: began, .. } => *began = at,
            Phase::Revealed => {
                if let Some(record) = self.rounds.last_mut() {
                    record.at = at;
                }
            }
            Phase::Gathering | Phase::Closed(_) | Phase::Ended(_) => {}
        }
    }

    fn close_round(&mut self, why: CloseWhy, silent: &[StudentId], at: Millis) {
        let silent: BTreeSet<_> = silent.iter().copied().collect();
        self.paused = None;
        self.phase = match mem::replace(&mut self.phase, Phase::Gathering) {
            Phase::Open(round) => Phase::Closed(Box::new(round.close(why, at, silent))),
            other @ (Phase::Gathering
            | Phase::Closed(_)
            | Phase::Revealed
            | Phase::Skipped { .. }
            | Phase::Ended(_)) => other,
        };
    }

    fn reveal(&mut self, contrast: Option<&RevealContrast>, at: Millis) {
        self.phase = match mem::replace(&mut self.phase, Phase::Revealed) {
            Phase::Closed(mut record) => {
                record.contrast = contrast.cloned();
                record.at = at;
                for (student, seat) in &mut self.seats {
                    if let Some((_, points)) = record.result(*student, self.settings.rule) {
                        seat.total += points;
                    }
                }
                self.rounds.push(*record);
                Phase::Revealed
            }
            other @ (Phase::Gathering
            | Phase::Open(_)
            | Phase::Revealed
            | Phase::Skipped { .. }
            | Phase::Ended(_)) => other,
        };
    }
}

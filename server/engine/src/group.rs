//! A study group: what its members may do, their votes, and its end when nobody is there.

use std::collections::{BTreeMap, BTreeSet};

use myonym_content::Course;
use myonym_wire::{EndWhy, Millis, Motion, Pace, StudentId, TimeAllowance};

use crate::event::{Event, Settings};
use crate::input::{Command, Decision, Refusal};
use crate::review::{Phase, Review};

/// How long a study group goes on with nobody connected, in milliseconds.
pub const DESERTED_MS: u64 = 600_000;

/// What a member of a study group may ask for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wish {
    /// To open the first round.
    Start,
    /// To vote.
    Vote {
        /// On what.
        motion: Motion,
        /// Whether for it; else an earlier vote is taken back.
        yes: bool,
    },
    /// To have other time oneself, from the next round on.
    OwnTime(TimeAllowance),
}

/// How the vote on one motion stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Vote {
    /// On what.
    pub motion: Motion,
    /// Connected members who are for it.
    pub yes: usize,
    /// Members that it takes: more than half of those connected.
    pub needed: usize,
}

/// What is kept of a study group beside its review.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Group {
    /// Who is for what, whether connected or not.
    votes: BTreeMap<Motion, BTreeSet<StudentId>>,
    /// Since when nobody is connected.
    empty_since: Option<Millis>,
}

impl Group {
    /// The group of a review that opens at `at`; `None` if it has an instructor.
    pub(crate) fn of(settings: &Settings, at: Millis) -> Option<Self> {
        let is_group = matches!(settings.pace, Pace::Group { .. });
        is_group.then(|| Self { votes: BTreeMap::new(), empty_since: Some(at) })
    }

    fn drop_votes_of(&mut self, student: StudentId) {
        for voters in self.votes.values_mut() {
            voters.remove(&student);
        }
    }
}

impl Review {
    /// Whether it is a study group's.
    pub fn is_group(&self) -> bool {
        self.group.is_some()
    }

    /// Every motion that a connected member is for.
    pub fn votes(&self) -> Vec<Vote> {
        let Some(group) = &self.group else { return Vec::new() };
        let needed = self.present() / 2 + 1;
        let present = |student: &&StudentId| self.is_present(**student);
        let vote = |(motion, voters): (&Motion, &BTreeSet<StudentId>)| {
            let yes = voters.iter().filter(present).count();
            (yes > 0).then_some(Vote { motion: *motion, yes, needed })
        };
        group.votes.iter().filter_map(vote).collect()
    }

    fn is_present(&self, student: StudentId) -> bool {
        self.seats.get(&student).is_some_and(|seat| seat.present)
    }

    pub(crate) fn decide_member(
        &self,
        course: &Course,
        now: Millis,
        student: StudentId,
        wish: Wish,
    ) -> Decision {
        let Some(group) = &self.group else { return Refusal::NoGroup.into() };
        if !self.is_present(student) {
            return Refusal::NoSuchStudent.into();
        }
        match wish {
            Wish::Start => self.decide_command(course, now, Command::Start),
            Wish::OwnTime(time) => self.decide_stretch(student, time),
            Wish::Vote { motion, yes } => {
                let had = group.votes.get(&motion).is_some_and(|voters| voters.contains(&student));
                match (yes, had) {
                    (true, false) if !self.can_come_about(motion) => Refusal::NotNow.into(),
                    (true, false) | (false, true) => Event::Voted { student, motion, yes }.into(),
                    (true, true) | (false, false) => Decision::default(),
                }
            }
        }
    }

    /// Whether what a motion is for can happen as the review stands.
    fn can_come_about(&self, motion: Motion) -> bool {
        match (motion, &self.phase) {
            (_, Phase::Ended(_)) => false,
            (Motion::End, _)
            | (Motion::Skip, Phase::Open(_))
            | (Motion::Next, Phase::Revealed | Phase::Skipped { .. }) => true,
            (Motion::Pause, Phase::Open(_) | Phase::Revealed | Phase::Skipped { .. }) => {
                !self.is_paused()
            }
            (Motion::Resume, _) => self.is_paused(),
            (Motion::Skip | Motion::Pause | Motion::Next, _) => false,
        }
    }

    /// What a study group has voted for, or its end when nobody has been there for long.
    pub(crate) fn tick_group(&self, course: &Course, now: Millis) -> Option<Decision> {
        let carried = self.votes().into_iter().filter(|vote| vote.yes >= vote.needed);
        let decided = carried.map(|vote| self.decide_command(course, now, command(vote.motion)));
        let carried = decided.into_iter().find(|decision| !decision.events.is_empty());
        carried.or_else(|| {
            let deserted = self.deserted_at().is_some_and(|due| now >= due);
            deserted.then(|| self.decide_end(course, EndWhy::Abandoned))
        })
    }

    /// When a tick will next have something to do for the group, whatever the phase.
    pub(crate) fn group_wakeup(&self) -> Option<Millis> {
        // A carried motion that was stamped before the latest event waits for its time.
        let carried = self.votes().iter().any(|vote| vote.yes >= vote.needed).then(|| self.at());
        carried.into_iter().chain(self.deserted_at()).min()
    }

    fn deserted_at(&self) -> Option<Millis> {
        let since = self.group.as_ref()?.empty_since?;
        let over = matches!(self.phase, Phase::Ended(_));
        (!over).then(|| since.plus(Millis(DESERTED_MS)))
    }

    /// Keeps the votes after an event: those whose moment has passed, or whose member is gone, are
    /// void; only a vote for the end outlasts a round. A member who merely lost the connection is not counted until it is back, but after
    /// a stop of the server whoever is back first must not decide by votes from before.
    pub(crate) fn keep_votes(&mut self, event: &Event) {
        let Some(mut group) = self.group.take() else { return };
        match event {
            Event::Voted { student, motion, yes: true } if self.seats.contains_key(student) => {
                group.votes.entry(*motion).or_default().insert(*student);
            }
            Event::Voted { student, motion, .. } => {
                group.votes.entry(*motion).or_default().remove(student);
            }
            Event::Away { student, left: true } | Event::Removed { student } => {
                group.drop_votes_of(*student);
            }
            Event::RoundOpened { .. }
            | Event::RoundClosed { .. }
            | Event::RoundSkipped { .. }
            | Event::Revealed { .. } => group.votes.retain(|motion, _| *motion == Motion::End),
            Event::Restarted {} => {
                group.votes.clear();
                group.empty_since = None;
            }
            Event::Opened { .. }
            | Event::Forgotten {}
            | Event::Replanned { .. }
            | Event::Seated { .. }
            | Event::Back { .. }
            | Event::Away { .. }
            | Event::Stretched { .. }
            | Event::Renamed { .. }
            | Event::ClueShown { .. }
            | Event::Answered(_)
            | Event::AskedAgain { .. }
            | Event::Paused {}
            | Event::Resumed {}
            | Event::Ended { .. } => {}
        }
        group.votes.retain(|motion, voters| !voters.is_empty() && self.can_come_about(*motion));
        let since = group.empty_since.unwrap_or_else(|| self.at());
        group.empty_since = (self.present() == 0).then_some(since);
        self.group = Some(group);
    }
}

/// The command that does what a motion is for.
fn command(motion: Motion) -> Command {
    match motion {
        Motion::Skip => Command::Skip,
        Motion::Pause => Command::Pause,
        Motion::Resume => Command::Resume,
        Motion::Next => Command::Next,
        Motion::End => Command::End,
    }
}

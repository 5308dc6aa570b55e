//! What one connection was told, checked as it is told.

use std::collections::BTreeSet;

use anyhow::{Context as _, Result, bail, ensure};
use myonym_engine::Event;
use myonym_wire::{AttemptId, Seq, StudentId, Task};
use serde_json::Value;

use super::disk::Disk;

/// Whose connection it is, with the number among its like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Peer {
    Student(usize),
    Instructor(usize),
    Board,
}

/// Messages that tell a class of an event, as every role hears them.
const CLASS: [&str; 9] = [
    "round_opened",
    "clue",
    "paused",
    "resumed",
    "round_closed",
    "round_skipped",
    "revealed",
    "standings",
    "ended",
];
const BESIDE: [&str; 4] = ["class", "votes", "trouble", "error"];
const STUDENT: [&str; 9] = [
    "seated",
    "received",
    "recorded",
    "which_one",
    "unknown_name",
    "result",
    "summary",
    "time_changed",
    "removed",
];
const INSTRUCTOR: [&str; 6] = ["conducting", "roll", "gone", "tally", "weak_spots", "coming"];
const BOARD: [&str; 4] = ["watching", "here", "answers", "weak_spots"];

/// A snapshot and the class's messages after it.
#[derive(Debug)]
pub(super) struct Segment {
    pub(super) from: Seq,
    pub(super) told: Vec<(Seq, &'static str)>,
}

/// One connection's past.
#[derive(Debug)]
pub(super) struct Ear {
    pub(super) peer: Peer,
    pub(super) student: Option<StudentId>,
    pub(super) segments: Vec<Segment>,
    /// Answers received and not yet called recorded.
    pub(super) received: BTreeSet<AttemptId>,
    last: Seq,
    /// The round that is open or closed here, and not revealed.
    asked: Option<u64>,
    /// The name that the class must not see, where it is this student's own.
    own_name: Option<String>,
}

/// Names that are not to be listed begin so.
pub(super) const HIDDEN: &str = "Hidden-";

impl Ear {
    pub(super) fn new(peer: Peer, own_name: Option<String>) -> Self {
        Self {
            peer,
            student: None,
            segments: Vec::new(),
            received: BTreeSet::new(),
            last: Seq(0),
            asked: None,
            own_name,
        }
    }

    /// The number of the event last told of.
    pub(super) fn last(&self) -> Seq {
        self.last
    }

    /// Takes in a message that the room has put on the line.
    pub(super) fn hear(&mut self, message: &Value, text: &str, disk: &Disk) -> Result<()> {
        let kind = message["type"].as_str().context("no type")?;
        self.is_for_this_role(kind)?;
        if let Some(seq) = message["seq"].as_u64().map(Seq) {
            ensure!(seq <= disk.last(), "event {seq:?} is told and not on disk: {text}");
            ensure!(seq >= self.last, "event {seq:?} is told after {:?}: {text}", self.last);
            self.last = seq;
        }
        match kind {
            "seated" | "conducting" | "watching" => self.snapshot(message)?,
            "received" => drop(self.received.insert(attempt(message)?)),
            "recorded" => self.recorded(attempt(message)?, disk)?,
            // Whatever was under way may be lost now, and that is told.
            "trouble" => self.received.clear(),
            _ => {}
        }
        if let Some(kind) = CLASS.into_iter().find(|class| *class == kind) {
            self.follow(kind, message)?;
        }
        self.holds_no_answer(kind, message, text, disk)?;
        self.holds_no_hidden_name(text)
    }

    fn is_for_this_role(&self, kind: &str) -> Result<()> {
        let own: &[&str] = match self.peer {
            Peer::Student(_) => &STUDENT,
            Peer::Instructor(_) => &INSTRUCTOR,
            Peer::Board => &BOARD,
        };
        let known = [own, &CLASS, &BESIDE].iter().any(|kinds| kinds.contains(&kind));
        ensure!(known, "{:?} was told {kind}", self.peer);
        Ok(())
    }

    fn snapshot(&mut self, message: &Value) -> Result<()> {
        if let Some(student) = message["student"].as_str() {
            let student = StudentId(student.parse()?);
            ensure!(self.student.is_none_or(|known| known == student), "another's seat");
            self.student = Some(student);
        }
        let moment = &message["moment"];
        self.asked = match moment["phase"].as_str() {
            Some("open" | "closed") => moment["round"].as_u64(),
            _ => None,
        };
        self.segments.push(Segment { from: self.last, told: Vec::new() });
        Ok(())
    }

    fn recorded(&mut self, attempt: AttemptId, disk: &Disk) -> Result<()> {
        self.received.remove(&attempt);
        let by = disk.recorded.get(&attempt).map_or(&[][..], Vec::as_slice);
        let own = self.student.context("recorded before seated")?;
        ensure!(by == [own], "{attempt} of {own} is called recorded; on disk it is of {by:?}");
        Ok(())
    }

    fn follow(&mut self, kind: &'static str, message: &Value) -> Result<()> {
        match kind {
            "round_opened" => self.asked = message["round"].as_u64(),
            "revealed" | "round_skipped" | "ended" => self.asked = None,
            _ => {}
        }
        let Some(segment) = self.segments.last_mut() else { bail!("{kind} before a snapshot") };
        // After a snapshot between rounds it may be said that the time stands still.
        let beside = kind == "paused" && self.last == segment.from && segment.told.is_empty();
        if !beside {
            segment.told.push((self.last, kind));
        }
        Ok(())
    }

    /// Before the reveal nobody but an instructor is told the muscle; where a movement is asked for a
    /// landmark may be called after it, and where two are offered their names are told.
    fn holds_no_answer(&self, kind: &str, message: &Value, text: &str, disk: &Disk) -> Result<()> {
        let Some(round) = self.asked.filter(|_| !matches!(self.peer, Peer::Instructor(_))) else {
            return Ok(());
        };
        // These give back what was typed.
        if matches!(kind, "which_one" | "unknown_name") {
            return Ok(());
        }
        ensure!(!matches!(kind, "result" | "summary"), "{kind} in round {round}: {text}");
        let (task, name, latin) = asked(disk, round).context("a round that is not on disk")?;
        let told = without_given(message, text);
        let secrets: &[&str] = match task {
            Task::Name | Task::Picture => &[name, latin],
            Task::Movement => &[latin],
            Task::Contrast => &[],
        };
        let told = told.to_lowercase();
        let found = secrets.iter().find(|secret| told.contains(&secret.to_lowercase()));
        ensure!(found.is_none(), "{found:?} is told before the reveal of round {round}: {text}");
        Ok(())
    }

    fn holds_no_hidden_name(&self, text: &str) -> Result<()> {
        if matches!(self.peer, Peer::Instructor(_)) || !text.contains(HIDDEN) {
            return Ok(());
        }
        let others = match &self.own_name {
            Some(own) => text.replace(own.as_str(), ""),
            None => text.to_owned(),
        };
        ensure!(!others.contains(HIDDEN), "a hidden name is told: {text}");
        Ok(())
    }
}

/// The message without what the student typed.
fn without_given(message: &Value, text: &str) -> String {
    if message["moment"]["given"].is_null() {
        return text.to_owned();
    }
    let mut message = message.clone();
    message["moment"]["given"] = Value::Null;
    message.to_string()
}

/// What a round asks for, with the muscle's English and Latin names.
fn asked(disk: &Disk, number: u64) -> Option<(Task, &str, &str)> {
    disk.logged.iter().rev().find_map(|logged| match &logged.event {
        Event::RoundOpened { round, task, name, latin, .. } if u64::from(round.0) == number => {
            Some((*task, name.as_str(), latin.as_str()))
        }
        _ => None,
    })
}

/// The try that a message is about.
pub(super) fn attempt(message: &Value) -> Result<AttemptId> {
    Ok(AttemptId(message["attempt"].as_str().context("no attempt")?.parse()?))
}

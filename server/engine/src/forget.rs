//! Taking students out of a log, as if they had never been there.

use std::collections::{BTreeMap, BTreeSet};

use myonym_content::MuscleKey;
use myonym_wire::{Millis, StudentId};

use crate::event::{Event, Logged, RevealContrast};

/// Takes students out of a log: whatever tells of them becomes [`Event::Forgotten`], at the time of
/// the event before it, and nobody lists them as silent or counts their answer in a contrast. The
/// log keeps its length and numbers, and what it says of everyone else.
pub fn forget(log: &mut [Logged], students: &BTreeSet<StudentId>) {
    let mut before = Millis(0);
    let mut round = Forgotten::default();
    for logged in log {
        if let Event::RoundOpened { offered, .. } = &logged.event {
            round = Forgotten { said: BTreeMap::new(), of_two: !offered.is_empty() };
        }
        if whose(&logged.event).is_some_and(|student| students.contains(&student)) {
            if let Event::Answered(answer) = &logged.event
                && let Some(muscle) = &answer.said
            {
                *round.said.entry(muscle.clone()).or_default() += 1;
            }
            *logged = Logged { seq: logged.seq, at: before, event: Event::Forgotten {} };
        } else {
            take_out(&mut logged.event, students, &round);
            before = logged.at;
        }
    }
}

/// What was forgotten of the round at hand.
#[derive(Default)]
struct Forgotten {
    /// Answers by muscle.
    said: BTreeMap<MuscleKey, u32>,
    /// Whether one of two was to be chosen, so that its contrast stands whoever chose what.
    of_two: bool,
}

/// The student of whom an event tells alone.
pub fn whose(event: &Event) -> Option<StudentId> {
    match event {
        Event::Seated { student, .. }
        | Event::Back { student }
        | Event::Away { student, .. }
        | Event::Removed { student }
        | Event::Stretched { student, .. }
        | Event::Renamed { student }
        | Event::Voted { student, .. }
        | Event::AskedAgain { student, .. } => Some(*student),
        Event::Answered(answer) => Some(answer.student),
        Event::Opened { .. }
        | Event::Replanned { .. }
        | Event::RoundOpened { .. }
        | Event::ClueShown { .. }
        | Event::Paused {}
        | Event::Resumed {}
        | Event::RoundClosed { .. }
        | Event::RoundSkipped { .. }
        | Event::Revealed { .. }
        | Event::Restarted {}
        | Event::Ended { .. }
        | Event::Forgotten {} => None,
    }
}

/// Takes students out of what an event tells of many.
fn take_out(event: &mut Event, students: &BTreeSet<StudentId>, round: &Forgotten) {
    if let Event::RoundClosed { silent, .. } = event {
        silent.retain(|student| !students.contains(student));
    }
    if let Event::Revealed { contrast, .. } = event {
        if let Some(RevealContrast { said: shown, count, .. }) = contrast {
            *count = count.saturating_sub(round.said.get(shown).copied().unwrap_or_default());
        }
        contrast.take_if(|shown| shown.count == 0 && !round.of_two);
    }
}

//! What keys do in a study group: starting it, voting, and one's own time.

use myonym_wire::{FromStudent, Motion, TimeAllowance};

use super::Cmd;
use crate::keys::Ballot;
use crate::student::model::{Model, Own, Sitting, Stage};

/// Votes, or takes one's vote back. Elsewhere than in a study group the keys do nothing.
pub(super) fn vote(model: &mut Model, ballot: Ballot) -> Vec<Cmd> {
    if is_answer_under_way(model) {
        model.say("Your answer is on its way; vote in a moment.");
        return Vec::new();
    }
    let Some(sitting) = group_of(model) else { return Vec::new() };
    let Some(motion) = motion(sitting, ballot) else {
        model.say("There is nothing to vote on with this key just now.");
        return Vec::new();
    };
    let yes = sitting.voting.own.insert(motion);
    if !yes {
        sitting.voting.own.remove(&motion);
    }
    said(model, FromStudent::Vote { motion, yes })
}

/// Opens the first round.
pub(super) fn start(model: &mut Model) -> Vec<Cmd> {
    match group_of(model) {
        Some(_) => said(model, FromStudent::Start {}),
        None => Vec::new(),
    }
}

/// Takes the next of the times that one may have.
pub(super) fn next_time(model: &mut Model) -> Vec<Cmd> {
    let Some(sitting) = group_of(model) else { return Vec::new() };
    let time = match sitting.time {
        TimeAllowance::Standard => TimeAllowance::Stretched { percent: 150 },
        TimeAllowance::Stretched { percent } if percent < 200 => {
            TimeAllowance::Stretched { percent: 200 }
        }
        TimeAllowance::Stretched { .. } => TimeAllowance::Untimed,
        TimeAllowance::Untimed => TimeAllowance::Standard,
    };
    said(model, FromStudent::OwnTime { time })
}

/// What a key votes on as the review stands.
fn motion(sitting: &Sitting, ballot: Ballot) -> Option<Motion> {
    let between = matches!(sitting.stage, Stage::Reveal(_) | Stage::Skipped { .. });
    let open = matches!(sitting.stage, Stage::Round(_));
    match ballot {
        Ballot::Skip => open.then_some(Motion::Skip),
        Ballot::Time if !(open || between) => None,
        Ballot::Time if sitting.is_halted() => Some(Motion::Resume),
        Ballot::Time => Some(Motion::Pause),
        Ballot::Next => between.then_some(Motion::Next),
        Ballot::End => Some(Motion::End),
    }
}

fn said(model: &mut Model, message: FromStudent) -> Vec<Cmd> {
    if model.uplink.is_up() {
        return vec![Cmd::Say(message)];
    }
    if let (Some(sitting), FromStudent::Vote { motion, .. }) = (model.sitting_mut(), &message) {
        sitting.voting.own.remove(motion);
    }
    model.say("Not now: there is no connection.");
    Vec::new()
}

/// Which message a refusal is meant for is not said, so none is sent beside an answer.
fn is_answer_under_way(model: &Model) -> bool {
    let stage = model.sitting().map(|sitting| &sitting.stage);
    matches!(stage, Some(Stage::Round(screen)) if matches!(screen.own, Own::Sent(_)))
}

fn group_of(model: &mut Model) -> Option<&mut Sitting> {
    let over = |sitting: &Sitting| matches!(sitting.stage, Stage::Ended { .. });
    model.sitting_mut().filter(|sitting| sitting.is_group() && !over(sitting))
}

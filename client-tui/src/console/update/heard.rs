//! What the server's messages do to the desk.

use myonym_wire::{JoinLink, ToInstructor, Trouble};

use crate::console::model::{Desk, Model, Pane, Screen, Stage, Tally};
use crate::console::roll::Roll;
use crate::round::{OpenRound, Stopwatch};
use crate::text;
use crate::uplink::Uplink;

/// Takes in one message.
pub(super) fn heard(model: &mut Model, message: ToInstructor) {
    if let ToInstructor::Conducting { .. } = message {
        return conducting(model, message);
    }
    if let ToInstructor::RoundOpened { .. } = message {
        return opened(model, message);
    }
    let now = model.now;
    let Some(desk) = model.desk_mut() else { return };
    match message {
        ToInstructor::Clue { round, number, clue, .. } => {
            with_open(desk, |open| open.add_clue(round, number, clue));
        }
        ToInstructor::Paused { .. } => with_open(desk, |open| open.watch.halt(now)),
        ToInstructor::Resumed { .. } => with_open(desk, |open| open.watch.go_on(now)),
        ToInstructor::RoundClosed { round, why, answered, .. } => {
            if let Stage::Open { open, tally } = &desk.stage
                && open.round == round
            {
                let (of, clues, offered) = (open.of, open.clues.clone(), open.offered.clone());
                let tally = Tally { answered, ..tally.clone() };
                turn(model, Stage::Closed { round, of, offered, why, clues, tally });
            }
        }
        ToInstructor::RoundSkipped { round, .. } => {
            let of = desk.round().map_or(desk.review.rounds, |(_, of)| of);
            turn(model, Stage::Skipped { round, of });
        }
        ToInstructor::Revealed { round, reveal, .. } => {
            let of = desk.round().map_or(desk.review.rounds, |(_, of)| of);
            turn(model, Stage::Revealed { round, of, reveal });
        }
        ToInstructor::Standings { rows, of, .. } => {
            desk.standings = rows;
            desk.standings_of = Some(of);
        }
        ToInstructor::Ended { why, .. } => {
            turn(model, Stage::Ended(why));
            model.pane = Pane::Weak;
        }
        ToInstructor::Roll { rows } => rows.into_iter().for_each(|row| desk.roll.set(row)),
        ToInstructor::Gone { student } => desk.roll.drop(student),
        ToInstructor::Tally { round, answered, here, spread, asked_again } => {
            let told = Tally { answered, here, spread, asked_again };
            match &mut desk.stage {
                Stage::Open { open, tally } if open.round == round => *tally = told,
                // The last answers may be told after the close.
                Stage::Closed { round: closed, tally, .. } if *closed == round => *tally = told,
                Stage::Open { .. }
                | Stage::Closed { .. }
                | Stage::Gathering
                | Stage::Revealed { .. }
                | Stage::Skipped { .. }
                | Stage::Ended(_) => {}
            }
        }
        ToInstructor::WeakSpots(weak_spots) => desk.weak_spots = weak_spots,
        ToInstructor::Coming(coming) => desk.coming = Some(coming),
        ToInstructor::Trouble { trouble } => troubled(model, trouble),
        ToInstructor::Error { message, .. } => {
            desk.pending = false;
            model.say(text::sentence(&message));
        }
        // The roll tells the same, student by student.
        ToInstructor::Class { .. }
        | ToInstructor::Votes { .. }
        | ToInstructor::Conducting { .. }
        | ToInstructor::RoundOpened { .. }
        | ToInstructor::Unknown => {}
    }
}

/// The server cannot save answers, or can again.
fn troubled(model: &mut Model, trouble: Trouble) {
    if let Some(desk) = model.desk_mut() {
        desk.cannot_save = trouble == Trouble::CannotSave;
    }
    if trouble == Trouble::SavingAgain {
        model.say("The server can save answers again.");
    }
}

/// A round opens.
fn opened(model: &mut Model, message: ToInstructor) {
    if let ToInstructor::RoundOpened {
        round,
        of,
        task,
        example,
        offered,
        limit_ms,
        clue_count,
        clue,
        seq: _,
    } = message
        && let Some(desk) = model.desk_mut()
    {
        desk.roll.new_round();
        let (clues, watch) = (vec![clue], Stopwatch::resumed(0, false));
        let open =
            OpenRound { round, of, task, example, offered, limit_ms, clue_count, clues, watch };
        turn(model, Stage::Open { open, tally: Tally::default() });
    }
}

/// Takes the review in hand, or again: the message replaces all that went before.
fn conducting(model: &mut Model, message: ToInstructor) {
    let ToInstructor::Conducting {
        review,
        addresses,
        secure,
        moment,
        roll,
        weak_spots,
        coming,
        ..
    } = message
    else {
        return;
    };
    model.uplink = Uplink::Up;
    let word = Some(review.word.clone());
    let mut links: Vec<_> = addresses
        .iter()
        .map(|address| JoinLink { address: address.clone(), secure, word: word.clone() })
        .collect();
    if links.is_empty() {
        links.push(JoinLink { word, ..model.server.clone() });
    }
    let scan = match (model.qr, links.first()) {
        (Some(qr), Some(link)) => qr(&link.to_string()),
        _ => Vec::new(),
    };
    let roll = Roll::new(roll);
    let (mut stage, standings) = Stage::of(*moment, roll.answered());
    let is_private = model.desk().is_some_and(|desk| desk.is_private);
    if let (Stage::Open { open, tally }, Some(before)) = (&mut stage, model.desk())
        && let Stage::Open { open: same, tally: told } = &before.stage
        && same.round == open.round
    {
        // Until the next tally, what was answered before is better than nothing.
        *tally = Tally { answered: tally.answered, ..told.clone() };
    }
    model.pane = match stage {
        Stage::Ended(_) => Pane::Weak,
        Stage::Gathering => model.pane,
        Stage::Open { .. }
        | Stage::Closed { .. }
        | Stage::Revealed { .. }
        | Stage::Skipped { .. } => off_join(model.pane),
    };
    model.screen = Screen::Desk(Box::new(Desk {
        review,
        links,
        scan,
        stage,
        since: model.now,
        pending: false,
        roll,
        weak_spots,
        coming: coming.map(|coming| *coming),
        standings,
        standings_of: None,
        cannot_save: false,
        is_private,
    }));
    model.scroll = 0;
}

fn turn(model: &mut Model, stage: Stage) {
    let now = model.now;
    model.pane = off_join(model.pane);
    model.scroll = 0;
    if let Some(desk) = model.desk_mut() {
        desk.stage = stage;
        desk.since = now;
        desk.pending = false;
    }
}

/// Once the review runs, the round is of more interest than how to join.
fn off_join(pane: Pane) -> Pane {
    if pane == Pane::Join { Pane::Round } else { pane }
}

fn with_open(desk: &mut Desk, change: impl FnOnce(&mut OpenRound)) {
    if let Stage::Open { open, .. } = &mut desk.stage {
        change(open);
    }
}

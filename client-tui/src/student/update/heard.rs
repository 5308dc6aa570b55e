//! What the server's messages do to a student's screens.

use myonym_wire::{
    AttemptId, CloseWhy, ErrorCode, Given, Millis, Moment, RoundNo, StandingRow, TimeAllowance,
    ToStudent, Trouble,
};

use super::{Cmd, keys};
use crate::round::{OpenRound, Stopwatch};
use crate::seat_file::KeptSeat;
use crate::student::form::Entry;
use crate::student::model::{
    Ask, Attempt, ClosedScreen, Model, Own, RevealScreen, RoundScreen, Screen, Sitting, Stage,
    Stop, Voting,
};
use crate::text;
use crate::uplink::Uplink;
use crate::words;

/// Takes in one message.
pub(super) fn heard(model: &mut Model, message: ToStudent) -> Vec<Cmd> {
    let now = model.now;
    if let ToStudent::Seated { .. } = message {
        return seated(model, message);
    }
    if let ToStudent::Removed {} = message {
        return removed(model);
    }
    if let ToStudent::RoundOpened { .. } = message {
        return opened(model, message);
    }
    let Some(sitting) = model.sitting_mut() else { return Vec::new() };
    match message {
        ToStudent::Class { present, .. } => sitting.present = present,
        ToStudent::Votes { rows } => sitting.voting.rows = rows,
        ToStudent::Clue { round, number, clue, .. } => {
            with_round(sitting, |screen| screen.open.add_clue(round, number, clue));
            // The newest clue must not stay out of sight.
            model.scroll = 0;
        }
        ToStudent::Paused { .. } => halt(sitting, now, true),
        ToStudent::Resumed { .. } => halt(sitting, now, false),
        ToStudent::RoundClosed { round, why, answered, seated, .. } => {
            if let Some(mut screen) = closed(sitting, round, why) {
                screen.counts = Some((answered, seated));
                turn(model, Stage::Closed(screen));
            }
        }
        ToStudent::RoundSkipped { round, .. } => {
            let of = sitting.round().map_or(sitting.review.rounds, |(_, of)| of);
            turn(model, Stage::Skipped { round, of });
        }
        ToStudent::Revealed { round, reveal, .. } => {
            let of = sitting.round().map_or(sitting.review.rounds, |(_, of)| of);
            let screen = RevealScreen { round, of, reveal: *reveal, result: None };
            turn(model, Stage::Reveal(Box::new(screen)));
        }
        ToStudent::Standings { rows, of, .. } => place(sitting, rows, Some(of)),
        ToStudent::Result(result) => {
            sitting.total = result.total;
            if let Stage::Reveal(screen) = &mut sitting.stage
                && screen.round == result.round
            {
                screen.result = Some(result);
            }
        }
        ToStudent::Ended { why, .. } => turn(model, Stage::Ended { why, summary: None }),
        ToStudent::Summary(told) => {
            if let Stage::Ended { summary, .. } = &mut sitting.stage {
                *summary = Some(told);
            }
        }
        ToStudent::TimeChanged { time } => time_changed(model, time),
        ToStudent::Renamed { name } => renamed(model, name),
        ToStudent::Trouble { trouble } => troubled(model, trouble),
        ToStudent::Error { code, message } => error(model, code, &message),
        ToStudent::Received { round, attempt } => reply(sitting, round, attempt, Reply::Received),
        ToStudent::Recorded { round, attempt } => reply(sitting, round, attempt, Reply::Recorded),
        ToStudent::WhichOne { round, attempt, among } => {
            reply(sitting, round, attempt, Reply::AskBack { several: true, names: among });
        }
        ToStudent::UnknownName { round, attempt, nearest } => {
            reply(sitting, round, attempt, Reply::AskBack { several: false, names: nearest });
        }
        ToStudent::Seated { .. }
        | ToStudent::RoundOpened { .. }
        | ToStudent::Removed {}
        | ToStudent::Unknown => {}
    }
    Vec::new()
}

/// The instructor has given the student another name.
fn renamed(model: &mut Model, name: String) {
    model.say(format!("The instructor has changed your name to {name}."));
    if let Some(sitting) = model.sitting_mut() {
        sitting.name = name;
    }
}

/// The server cannot save answers, or can again.
fn troubled(model: &mut Model, trouble: Trouble) {
    if let Some(sitting) = model.sitting_mut() {
        sitting.cannot_save = trouble == Trouble::CannotSave;
    }
    if trouble == Trouble::SavingAgain {
        model.say("The server can save answers again.");
    }
}

/// The time stands still, or runs again.
fn halt(sitting: &mut Sitting, now: Millis, halted: bool) {
    sitting.voting.halt(halted);
    with_round(sitting, |screen| {
        if halted { screen.open.watch.halt(now) } else { screen.open.watch.go_on(now) }
    });
}

/// A round opens.
fn opened(model: &mut Model, message: ToStudent) -> Vec<Cmd> {
    if let ToStudent::RoundOpened {
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
        && let Some(sitting) = model.sitting()
    {
        let (clues, watch) = (vec![clue], Stopwatch::resumed(0, false));
        let open =
            OpenRound { round, of, task, example, offered, limit_ms, clue_count, clues, watch };
        let screen = RoundScreen::new(open, sitting.time);
        turn(model, Stage::Round(Box::new(screen)));
    }
    Vec::new()
}

/// The open round, closed; `None` if another is open or none.
fn closed(sitting: &Sitting, round: RoundNo, why: CloseWhy) -> Option<ClosedScreen> {
    let Stage::Round(screen) = &sitting.stage else { return None };
    let (open, own) = (&screen.open, screen.own.clone());
    let clues = open.clues.clone();
    (open.round == round).then_some(ClosedScreen {
        round,
        of: open.of,
        task: open.task,
        offered: open.offered.clone(),
        why,
        clues,
        own,
        counts: None,
    })
}

/// Takes the seat, or takes it again: the message replaces all that went before.
fn seated(model: &mut Model, message: ToStudent) -> Vec<Cmd> {
    let ToStudent::Seated { seat, name, review, time, total, present, moment, .. } = message else {
        return Vec::new();
    };
    let mut cmds = Vec::new();
    let (place, came_back) = match &model.screen {
        Screen::Connecting { entry, by_seat } => {
            let word = Some(entry.word.clone().unwrap_or_else(|| review.word.clone()));
            let entry = Entry { word, ..entry.clone() };
            let Some(place) = super::place_of(&entry) else { return Vec::new() };
            if let (Some(seat), Some(name)) = (seat, place.name.clone()) {
                cmds.push(Cmd::KeepSeat(place.clone(), KeptSeat { name, seat }));
            }
            (place, *by_seat)
        }
        Screen::Seated(sitting) => (sitting.place.clone(), false),
        Screen::Form | Screen::Stopped(_) => return Vec::new(),
    };
    if model.form.gathers {
        // Whoever comes back to the form comes back to this study group.
        model.form.gathers = false;
        model.form.word.set(review.word.as_str());
    }
    let before = model.sitting().and_then(|sitting| match &sitting.stage {
        Stage::Round(screen) => Some((**screen).clone()),
        Stage::Waiting
        | Stage::Closed(_)
        | Stage::Reveal(_)
        | Stage::Skipped { .. }
        | Stage::Ended { .. } => None,
    });
    model.uplink = Uplink::Up;
    let (stage, standings) = stage_of(*moment, time, before);
    if let Stage::Round(screen) = &stage
        && let Own::Sent(attempt) = &screen.own
    {
        cmds.push(Cmd::Say(keys::said(screen, attempt)));
    }
    model.screen = Screen::Seated(Box::new(Sitting {
        place,
        name,
        came_back,
        review,
        time,
        total,
        present,
        cannot_save: false,
        standings,
        standings_of: None,
        show_standings: false,
        voting: Voting::default(),
        stage,
    }));
    model.scroll = 0;
    cmds
}

/// The stage of a moment. In the same round as before, what was typed stays, and an answer that
/// the server does not know yet is still to be sent.
fn stage_of(
    moment: Moment,
    time: TimeAllowance,
    before: Option<RoundScreen>,
) -> (Stage, Vec<StandingRow>) {
    let stage = match moment {
        Moment::Gathering {} => Stage::Waiting,
        Moment::Open {
            round,
            of,
            task,
            example,
            offered,
            limit_ms,
            elapsed_ms,
            paused,
            clues,
            clue_count,
            given,
        } => {
            let watch = Stopwatch::resumed(elapsed_ms, paused);
            let open =
                OpenRound { round, of, task, example, offered, limit_ms, clue_count, clues, watch };
            let screen = round_again(RoundScreen::new(open, time), before, given, elapsed_ms);
            Stage::Round(Box::new(screen))
        }
        Moment::Closed { round, of, task, offered, why, clues, given } => {
            let own = own_of(given, 0);
            Stage::Closed(ClosedScreen { round, of, task, offered, why, clues, own, counts: None })
        }
        Moment::Revealed { round, of, reveal, result, standings } => {
            let screen = RevealScreen { round, of, reveal: *reveal, result };
            return (Stage::Reveal(Box::new(screen)), standings);
        }
        Moment::Skipped { round, of } => Stage::Skipped { round, of },
        Moment::Ended { why, summary, standings } => {
            return (Stage::Ended { why, summary }, standings);
        }
    };
    (stage, Vec::new())
}

/// A round that was on the screen before, with what was typed and sent in it.
fn round_again(
    mut screen: RoundScreen,
    before: Option<RoundScreen>,
    given: Option<Given>,
    elapsed_ms: u64,
) -> RoundScreen {
    if let Some(before) = before.filter(|before| before.open.round == screen.open.round) {
        RoundScreen {
            line: screen.line,
            own: screen.own,
            ask: screen.ask,
            picked: screen.picked,
            ..
        } = before;
    }
    if given.is_some() {
        screen.own = own_of(given, elapsed_ms);
    } else if let Some(attempt) = screen.own.attempt() {
        // Never arrived, or lost before it was on disk: it goes out once more.
        screen.own = Own::Sent(attempt.clone());
    }
    screen
}

/// The student's own answer as the server knows it. The client's own time of it is not told; the
/// round's time by now is the most that it can have been.
fn own_of(given: Option<Given>, elapsed_ms: u64) -> Own {
    match given {
        Some(Given { attempt, text, recorded }) => {
            Own::Taken { attempt: Attempt { id: attempt, text, elapsed_ms }, recorded }
        }
        None => Own::Nothing,
    }
}

/// What the server says to an attempt.
enum Reply {
    Received,
    Recorded,
    AskBack { several: bool, names: Vec<String> },
}

/// Takes in a reply. One to another attempt than the last changes nothing.
fn reply(sitting: &mut Sitting, round: RoundNo, to: AttemptId, reply: Reply) {
    let Some(own) = sitting.own_in(round) else { return };
    let Some(attempt) = own.attempt().filter(|sent| sent.id == to).cloned() else { return };
    // What was taken stays taken.
    let taken = matches!(own, Own::Taken { .. });
    match reply {
        Reply::Received | Reply::AskBack { .. } if taken => {}
        Reply::Received => *own = Own::Taken { attempt, recorded: false },
        Reply::Recorded => *own = Own::Taken { attempt, recorded: true },
        Reply::AskBack { several, names } => {
            *own = Own::Nothing;
            let ask = Ask { typed: attempt.text, several, names };
            with_round(sitting, |screen| {
                screen.ask = Some(ask);
                screen.picked = None;
            });
        }
    }
}

/// Something was refused; with an answer on its way, the answer.
fn error(model: &mut Model, code: ErrorCode, message: &str) {
    let late =
        matches!(code, ErrorCode::RoundNotOpen | ErrorCode::TooLate | ErrorCode::AlreadyAnswered);
    let mut waiting = false;
    if let Some(sitting) = model.sitting_mut() {
        with_round(sitting, |screen| {
            if let Own::Sent(_) = screen.own {
                waiting = true;
                // What was typed still stands in the line, to be sent again.
                screen.own = if late { Own::Barred(text::sentence(message)) } else { Own::Nothing };
            }
        });
    }
    if !(waiting && late) {
        model.say(text::sentence(message));
    }
}

fn time_changed(model: &mut Model, time: TimeAllowance) {
    let Some(sitting) = model.sitting_mut() else { return };
    sitting.time = time;
    let limit = match time.limit_ms(sitting.review.limit_ms) {
        Some(ms) => words::seconds(Millis(ms.into())),
        None => "no limit".to_owned(),
    };
    model.say(format!("Your own time from the next round on: {limit}."));
}

fn removed(model: &mut Model) -> Vec<Cmd> {
    let Some(sitting) = model.sitting() else { return Vec::new() };
    let place = sitting.place.clone();
    model.screen = Screen::Stopped(Stop::Removed);
    vec![Cmd::ForgetSeat(place)]
}

fn turn(model: &mut Model, stage: Stage) {
    model.scroll = 0;
    if let Some(sitting) = model.sitting_mut() {
        sitting.show_standings = false;
        sitting.voting.turn();
        sitting.stage = stage;
    }
}

fn place(sitting: &mut Sitting, rows: Vec<StandingRow>, of: Option<u32>) {
    sitting.standings = rows;
    sitting.standings_of = of;
}

fn with_round(sitting: &mut Sitting, change: impl FnOnce(&mut RoundScreen)) {
    if let Stage::Round(screen) = &mut sitting.stage {
        change(screen);
    }
}

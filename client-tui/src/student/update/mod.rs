//! What happens, and what follows from it. No input, no output, no clock.

mod group;
mod heard;
mod keys;

use myonym_wire::{ErrorCode, FromStudent, Hello, ToStudent};

use super::form::{Entry, Field};
use super::model::{Model, Screen, Stage, Stop};
use crate::Outcome;
use crate::app::{Cmd as AnyCmd, Msg, Shown};
use crate::net::{Call, Closed, News};
use crate::seat_file::{KeptSeat, SeatPlace};
use crate::uplink::Uplink;

type Cmd = AnyCmd<FromStudent>;

/// Takes in one message.
pub(crate) fn update(model: &mut Model, msg: Msg<ToStudent>) -> Vec<Cmd> {
    match msg {
        Msg::Tick(now) => {
            model.now = now;
            model.notice.take_if(|notice| notice.is_past(now));
            Vec::new()
        }
        Msg::Drawn { now, shown: Shown { scroll_end } } => {
            model.scroll_end = scroll_end;
            model.scroll = model.scroll.min(scroll_end);
            if let Some(Stage::Round(screen)) = model.sitting_mut().map(|s| &mut s.stage) {
                screen.open.watch.seen(now);
            }
            Vec::new()
        }
        Msg::Key(key) => keys::key(model, key),
        Msg::Paste(pasted) => {
            keys::paste(model, &pasted);
            Vec::new()
        }
        Msg::Seat(kept) => seat_looked_for(model, kept),
        Msg::News(news) => {
            model.uplink.follow(&news, model.now);
            match news {
                News::Heard(message) => heard::heard(model, message),
                News::Closed(closed) => stopped(model, closed),
                News::Trying | News::Lost { .. } => Vec::new(),
            }
        }
    }
}

/// Starts to take a seat, or to return to one.
pub(crate) fn enter(model: &mut Model, entry: Entry) -> Vec<Cmd> {
    model.form.fault = None;
    let Some(place) = place_of(&entry) else { return gather(model, entry) };
    let named = entry.name.is_some();
    model.screen = Screen::Connecting { entry, by_seat: false };
    if !std::mem::take(&mut model.new_seat) {
        return vec![Cmd::LookForSeat(place)];
    }
    if named { seat_looked_for(model, None) } else { back_to_form(model) }
}

/// Opens a study group.
fn gather(model: &mut Model, entry: Entry) -> Vec<Cmd> {
    let (Some(settings), Some(name)) = (model.gather.clone(), entry.name.clone()) else {
        return back_to_form(model);
    };
    let (listed, person) = (entry.listed, model.person.clone());
    let hello = Hello::Gather { settings, name, listed, seat: None, person };
    let link = entry.link.clone();
    model.screen = Screen::Connecting { entry, by_seat: false };
    model.uplink = Uplink::Trying(None);
    vec![Cmd::Connect(Call { link, hello })]
}

/// Returns to a kept seat, or takes a new one where there is none.
fn seat_looked_for(model: &mut Model, kept: Option<KeptSeat>) -> Vec<Cmd> {
    let Screen::Connecting { entry, by_seat } = &mut model.screen else { return Vec::new() };
    let Some(word) = entry.word.clone() else { return Vec::new() };
    let hello = match (kept, &entry.name) {
        (Some(KeptSeat { name, seat }), _) => {
            *by_seat = true;
            // For the form, should the seat be refused.
            model.form.name.set(&name);
            entry.name = Some(name);
            Hello::Return { word, seat }
        }
        (None, Some(name)) => Hello::Join {
            word,
            name: name.clone(),
            listed: entry.listed,
            seat: None,
            person: model.person.clone(),
            group: model.group.clone(),
        },
        (None, None) => return back_to_form(model),
    };
    let link = entry.link.clone();
    model.uplink = Uplink::Trying(None);
    vec![Cmd::Connect(Call { link, hello })]
}

/// The connection is closed for good.
fn stopped(model: &mut Model, closed: Closed) -> Vec<Cmd> {
    let stop = match closed {
        Closed::Over => return over(model),
        Closed::SeatTaken => Stop::SeatTaken,
        Closed::Refused { code, message } => return refused(model, code, message),
        Closed::Policy(reason) if reason.is_empty() => {
            refusal("The server closed the connection.", TRY_AGAIN)
        }
        Closed::Policy(reason) => {
            refusal(&format!("The server closed the connection: {reason}."), TRY_AGAIN)
        }
        Closed::Unusable(what) => refusal(&format!("{}: {what}.", address(model)), CHECK_ADDRESS),
        Closed::Untrusted { what, todo } => refusal(&format!("{}: {what}.", address(model)), todo),
    };
    model.screen = Screen::Stopped(stop);
    Vec::new()
}

/// Nothing more comes. A screen that already says so stays.
fn over(model: &mut Model) -> Vec<Cmd> {
    let ended = model.sitting().is_some_and(|s| matches!(s.stage, Stage::Ended { .. }));
    if !ended && !matches!(model.screen, Screen::Stopped(_)) {
        model.screen = Screen::Stopped(refusal("The server has closed the review.", TRY_AGAIN));
    }
    Vec::new()
}

/// The hello was refused.
fn refused(model: &mut Model, code: ErrorCode, message: String) -> Vec<Cmd> {
    let returning = match &model.screen {
        Screen::Connecting { entry, by_seat: true } => place_of(entry),
        Screen::Seated(sitting) => Some(sitting.place.clone()),
        Screen::Connecting { .. } | Screen::Form | Screen::Stopped(_) => None,
    };
    if let (Some(place), ErrorCode::NotAllowed) = (returning, code) {
        let mut cmds = vec![Cmd::ForgetSeat(place)];
        cmds.extend(back_to_form(model));
        model.form.focus_on_first_gap();
        model.say("The seat that was kept here is no longer known. Join again.");
        return cmds;
    }
    let field = match code {
        ErrorCode::NoSuchReview => Some(Field::Word),
        ErrorCode::BadName => Some(Field::Name),
        ErrorCode::NotReadable
        | ErrorCode::UnknownType
        | ErrorCode::BadField
        | ErrorCode::HelloFirst
        | ErrorCode::NotAllowed
        | ErrorCode::RoomFull
        | ErrorCode::ReviewOver
        | ErrorCode::NotNow
        | ErrorCode::RoundNotOpen
        | ErrorCode::TooLate
        | ErrorCode::AlreadyAnswered
        | ErrorCode::NoSuchStudent
        | ErrorCode::TooMany
        | ErrorCode::SlowDown
        | ErrorCode::CannotSave => None,
    };
    if let Some(field) = field {
        let cmds = back_to_form(model);
        model.form.blame((field, message));
        return cmds;
    }
    let gathers = matches!(&model.screen, Screen::Connecting { entry, .. } if entry.word.is_none());
    let todo = if gathers && code == ErrorCode::BadField { OTHER_OPTIONS } else { todo(code) };
    model.screen = Screen::Stopped(Stop::Refused { what: message, todo: todo.to_owned() });
    Vec::new()
}

/// Shows the form again, without a connection.
fn back_to_form(model: &mut Model) -> Vec<Cmd> {
    model.screen = Screen::Form;
    model.uplink = Uplink::Down;
    model.leaving = false;
    model.scroll = 0;
    if model.form.place().is_ok() && model.form.name.is_empty() {
        model.form.focus = Field::Name;
    }
    vec![Cmd::HangUp]
}

/// What leaving means on this screen.
fn outcome(model: &Model) -> Outcome {
    match &model.screen {
        Screen::Stopped(Stop::Removed) => Outcome::Removed,
        Screen::Stopped(Stop::SeatTaken) => Outcome::SeatTaken,
        Screen::Stopped(Stop::Refused { what, .. }) => Outcome::Refused(what.clone()),
        Screen::Seated(sitting) if matches!(sitting.stage, Stage::Ended { .. }) => Outcome::Ended,
        Screen::Seated(_) | Screen::Form | Screen::Connecting { .. } => Outcome::Left,
    }
}

/// Where a seat is; nowhere yet where a study group is opened.
fn place_of(entry: &Entry) -> Option<SeatPlace> {
    let Entry { link, word, name, .. } = entry.clone();
    Some(SeatPlace { address: link.address, secure: link.secure, word: word?, name })
}

fn address(model: &Model) -> String {
    match &model.screen {
        Screen::Connecting { entry, .. } => entry.link.address.clone(),
        Screen::Seated(sitting) => sitting.place.address.clone(),
        Screen::Form | Screen::Stopped(_) => "the server".to_owned(),
    }
}

fn refusal(what: &str, todo: &str) -> Stop {
    Stop::Refused { what: what.to_owned(), todo: todo.to_owned() }
}

fn todo(code: ErrorCode) -> &'static str {
    match code {
        ErrorCode::RoomFull => "Tell the instructor, then try again.",
        ErrorCode::ReviewOver => "Ask the instructor for the join word of the next review.",
        ErrorCode::SlowDown | ErrorCode::TooMany => "Wait a minute, then try again.",
        ErrorCode::NotReadable
        | ErrorCode::UnknownType
        | ErrorCode::BadField
        | ErrorCode::HelloFirst => "This program and the server may be of different versions.",
        ErrorCode::NoSuchReview
        | ErrorCode::NotAllowed
        | ErrorCode::BadName
        | ErrorCode::NotNow
        | ErrorCode::RoundNotOpen
        | ErrorCode::TooLate
        | ErrorCode::AlreadyAnswered
        | ErrorCode::NoSuchStudent
        | ErrorCode::CannotSave => TRY_AGAIN,
    }
}

const OTHER_OPTIONS: &str = "Leave, and start again with other options.";
const TRY_AGAIN: &str = "Try again; if it stays so, tell the instructor.";
const CHECK_ADDRESS: &str = "Check the address with the instructor, then try again.";

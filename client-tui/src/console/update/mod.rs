//! What happens at the desk, and what follows from it. No input, no output, no clock.

mod heard;
mod keys;

use myonym_wire::{FromInstructor, ToInstructor};

use super::model::{Model, Screen, Stage};
use crate::app::{Cmd as AnyCmd, Msg, Shown};
use crate::net::{Closed, News};

pub(super) use keys::PANES;

type Cmd = AnyCmd<FromInstructor>;

/// Takes in one message.
pub(crate) fn update(model: &mut Model, msg: Msg<ToInstructor>) -> Vec<Cmd> {
    match msg {
        Msg::Tick(now) => {
            model.now = now;
            model.notice.take_if(|notice| notice.is_past(now));
        }
        Msg::Drawn { now, shown: Shown { scroll_end } } => {
            model.scroll_end = scroll_end;
            model.scroll = model.scroll.min(scroll_end);
            if let Some(Stage::Open { open, .. }) = model.desk_mut().map(|desk| &mut desk.stage) {
                open.watch.seen(now);
            }
        }
        Msg::Key(key) => return keys::key(model, key),
        Msg::Paste(_) | Msg::Seat(_) => {}
        Msg::News(news) => {
            model.uplink.follow(&news, model.now);
            match news {
                News::Heard(message) => heard::heard(model, message),
                News::Closed(closed) => stopped(model, closed),
                News::Trying | News::Lost { .. } => {}
            }
        }
    }
    Vec::new()
}

fn stopped(model: &mut Model, closed: Closed) {
    let why = match closed {
        Closed::Over if model.desk().is_some_and(|desk| matches!(desk.stage, Stage::Ended(_))) => {
            return;
        }
        Closed::Over => "The server has closed the review.".to_owned(),
        Closed::Refused { message, .. } => message,
        Closed::Policy(reason) => format!("The server closed the connection. {reason}"),
        Closed::SeatTaken => "The review is conducted from another console.".to_owned(),
        Closed::Unusable(what) => format!("{}: {what}.", model.server.address),
        Closed::Untrusted { what, todo } => {
            format!("{}: {what}. {todo}", model.server.address)
        }
    };
    model.screen = Screen::Stopped(why);
}

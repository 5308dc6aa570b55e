//! Draws a student's screens. A screen is a function of the model.

mod form;
mod group;
mod reveal;
mod round;
mod still;

use ratatui::Frame;
use ratatui::layout::Rect;

use super::form::Field;
use super::model::{Model, Own, Screen, Sitting, Stage};
use crate::app::Shown;
use crate::plate::{self, Plate};
use crate::round::picture_of;
use crate::words;

/// Draws the model.
pub(crate) fn view(model: &Model, frame: &mut Frame<'_>) -> Shown {
    let Some(area) = plate_of(model).draw(frame) else { return Shown::default() };
    if model.help {
        match model.sitting().filter(|sitting| sitting.is_group()) {
            Some(_) => plate::help(frame, area, &group::HELP, &group::HELP_MORE),
            None => plate::help(frame, area, &HELP, &HELP_MORE),
        }
        return Shown { scroll_end: model.scroll_end };
    }
    let scroll_end = match &model.screen {
        Screen::Form => form::draw(frame, area, model),
        Screen::Connecting { entry, .. } => still::connecting(frame, area, model, entry),
        Screen::Stopped(stop) => still::stopped(frame, area, model, stop),
        Screen::Seated(sitting) => seated(frame, area, model, sitting),
    };
    Shown { scroll_end }
}

fn seated(frame: &mut Frame<'_>, area: Rect, model: &Model, sitting: &Sitting) -> u16 {
    match &sitting.stage {
        Stage::Waiting if sitting.is_group() => group::gathering(frame, area, model, sitting),
        Stage::Waiting => still::waiting(frame, area, model, sitting),
        Stage::Round(screen) => round::draw(frame, area, model, sitting, screen),
        Stage::Closed(screen) => still::closed(frame, area, model, screen),
        Stage::Reveal(screen) => reveal::draw(frame, area, model, sitting, screen),
        Stage::Skipped { round, of } => still::skipped(frame, area, model, *round, *of),
        Stage::Ended { why, summary } => {
            reveal::ended(frame, area, model, sitting, *why, summary.as_ref())
        }
    }
}

fn plate_of(model: &Model) -> Plate {
    let (left, right) = heading(model);
    Plate { left, right, notices: notices(model), foot: group::foot(model), keys: keys(model) }
}

fn heading(model: &Model) -> (String, String) {
    let Some(sitting) = model.sitting() else { return ("Myonym".to_owned(), String::new()) };
    // In a narrow window the list is cut before the name.
    let left = format!("{} · {}", sitting.name, sitting.review.list);
    let points = words::some_points(sitting.total);
    let right = match sitting.round() {
        Some((round, of)) => format!("Round {round} of {of} · {points}"),
        None => sitting.review.word.to_string(),
    };
    (left, right)
}

/// Most pressing first: what the student is asked, the connection, the server's trouble, the rest.
fn notices(model: &Model) -> Vec<String> {
    let mut notices = Vec::new();
    if model.leaving {
        notices.push(LEAVING.to_owned());
    }
    if let Some(lost) = model.uplink.notice(model.now) {
        let kept = if model.sitting().is_some() { " Your seat is kept." } else { "" };
        notices.push(format!("{lost}{kept}"));
    }
    if model.sitting().is_some_and(|sitting| sitting.cannot_save) {
        notices.push(CANNOT_SAVE.to_owned());
    }
    notices.extend(model.notice.iter().map(|notice| notice.text.clone()));
    notices
}

fn keys(model: &Model) -> Vec<(&'static str, &'static str)> {
    let mut keys: Vec<(&str, &str)> = match &model.screen {
        Screen::Form if model.form.focus >= Field::Listed => {
            let join = if model.form.gathers { "open" } else { "join" };
            vec![("Enter", join), ("Tab", "next field")]
        }
        Screen::Form => vec![("Enter", "go on"), ("Tab", "next field")],
        Screen::Connecting { .. } => return vec![("Esc", "change the address")],
        Screen::Stopped(_) => return vec![("Enter", "join again"), ("Esc", "leave")],
        Screen::Seated(sitting) => match &sitting.stage {
            Stage::Waiting if sitting.is_group() => {
                vec![("Space", "start the first round"), ("t", "your own time")]
            }
            Stage::Round(screen) if screen.is_of_two() && screen.own == Own::Nothing => {
                vec![("1, 2", "choose"), ("Up, Down", "mark"), ("Enter", "send")]
            }
            Stage::Round(screen) if screen.ask.is_some() && !screen.choices().is_empty() => {
                vec![("Up, Down", "choose"), ("Enter", "send")]
            }
            Stage::Round(screen) if screen.own == Own::Nothing && screen.ask.is_some() => {
                vec![("Enter", "send"), ("Control-U", "empty the line")]
            }
            Stage::Round(screen) if screen.own == Own::Nothing => {
                let mut keys = vec![("Enter", "send")];
                if picture_of(&screen.open.clues).is_some() {
                    keys.push((PICTURE, model.telling.next()));
                }
                keys
            }
            Stage::Reveal(screen)
                if !sitting.show_standings && !screen.reveal.pictures.is_empty() =>
            {
                vec![("Tab", "standings"), (PICTURE, model.telling.next())]
            }
            Stage::Reveal(_) | Stage::Ended { .. } if sitting.show_standings => {
                vec![("Tab", "back")]
            }
            Stage::Reveal(_) | Stage::Ended { .. } => vec![("Tab", "standings")],
            Stage::Round(_) | Stage::Waiting | Stage::Closed(_) | Stage::Skipped { .. } => {
                Vec::new()
            }
        },
    };
    keys.extend([("?", "help"), ("Esc", "leave")]);
    keys
}

const PICTURE: &str = "Control-P";
const LEAVING: &str = "Leave the review? Esc or Control-C once more: leave. Any other key: stay.";
const CANNOT_SAVE: &str =
    "The server cannot save answers just now. This round will not count; wait for the next.";
const HELP: [(&str, &str); 9] = [
    ("Enter", "sends the answer, or goes on"),
    ("Up, Down", "choose a name, or move the page"),
    ("1, 2", "choose one of the two that are offered"),
    ("Page Up, Down", "move the page or the clues"),
    ("Tab", "next field; answer or standings"),
    (PICTURE, "a picture in words, or as a picture again"),
    ("Control-U, -W", "empties the line; deletes a word"),
    ("?  or  F1", "this help; ? only while the line is empty"),
    ("Esc, Control-C", "leave, after asking"),
];
const HELP_MORE: [&str; 2] = [
    "English and Latin names will do. If what you type may mean several things, you are asked which \
     one.",
    "If this window closes by accident, start again with the same link: your seat is kept. Any \
     key: back.",
];

#[cfg(test)]
mod tests;

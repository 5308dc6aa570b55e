//! The screens on which a student waits.

use myonym_wire::RoundNo;
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use crate::parts;
use crate::plate;
use crate::round::picture_of;
use crate::student::form::Entry;
use crate::student::model::{ClosedScreen, Model, Own, Sitting, Stop};
use crate::text;
use crate::theme::Theme;
use crate::words;

/// Waiting for the server's welcome.
pub(super) fn connecting(frame: &mut Frame<'_>, area: Rect, model: &Model, entry: &Entry) -> u16 {
    let address = &entry.link.address;
    let said = match &entry.word {
        Some(word) => format!("Calling {address} for the review {word} ..."),
        None => format!("Calling {address} to open a study group ..."),
    };
    told(frame, area, model, "Connecting", &[&said])
}

/// Seated, and nothing has begun.
pub(super) fn waiting(frame: &mut Frame<'_>, area: Rect, model: &Model, sitting: &Sitting) -> u16 {
    let width = usize::from(area.width);
    let seat = if sitting.came_back {
        format!(
            "You are back in the seat of {}. If that is not you, leave and start again with \
             --new-seat.",
            sitting.name
        )
    } else {
        format!("You have a seat, {}.", sitting.name)
    };
    let mut lines = vec![
        Line::default(),
        Line::styled("The review begins soon", Theme::STRONG),
        Line::styled(
            format!("{} here", words::count(sitting.present, "student is", "students are")),
            Theme::STRONG,
        ),
        Line::default(),
    ];
    lines.extend(parts::paragraph(&seat, width));
    lines.extend(how_it_goes(sitting, width));
    plate::page(frame, area, lines, model.scroll)
}

/// What the review asks, and how it is marked.
pub(super) fn how_it_goes(sitting: &Sitting, width: usize) -> Vec<Line<'static>> {
    let review = &sitting.review;
    let scope = format!(
        "Muscle list: {}. {}. {}",
        review.list,
        words::count(review.rounds, "round", "rounds"),
        words::how_it_goes(review)
    );
    let mut lines = parts::heading("How it goes").to_vec();
    lines.extend(parts::paragraph(&scope, width));
    for term in words::terms(review, sitting.time) {
        lines.extend(parts::paragraph(&term, width));
    }
    lines
}

/// A round takes no more answers.
pub(super) fn closed(
    frame: &mut Frame<'_>,
    area: Rect,
    model: &Model,
    screen: &ClosedScreen,
) -> u16 {
    let theme = model.theme;
    let width = usize::from(area.width);
    let mut lines =
        vec![Line::default(), Line::styled(words::close_why(screen.why), Theme::STRONG)];
    lines.extend(parts::paragraph(&own_answer(&screen.own), width));
    if let Some((answered, seated)) = screen.counts {
        lines.push(Line::raw(format!("{answered} of {seated} students answered.")));
    }
    let offered = words::offered(&screen.offered);
    lines.extend(offered.into_iter().flat_map(|offered| parts::paragraph(&offered, width)));
    lines.extend([Line::raw("The answer will be shown soon."), Line::default()]);
    match picture_of(&screen.clues) {
        Some(picture) => {
            let room = (width, usize::from(area.height).saturating_sub(lines.len()));
            lines.extend(parts::picture::asked(theme, picture, room, model.telling));
        }
        None => lines.extend(parts::clues(theme, &screen.clues, false, 0, width)),
    }
    plate::page(frame, area, lines, model.scroll)
}

/// A round does not count.
pub(super) fn skipped(
    frame: &mut Frame<'_>,
    area: Rect,
    model: &Model,
    round: RoundNo,
    of: u16,
) -> u16 {
    let title = format!("Round {round} of {of} was skipped");
    told(frame, area, model, &title, &["It does not count for anyone.", "Wait for the next round."])
}

/// Nothing more comes.
pub(super) fn stopped(frame: &mut Frame<'_>, area: Rect, model: &Model, stop: &Stop) -> u16 {
    let (title, said): (&str, [&str; 2]) = match stop {
        Stop::Removed => (
            "You were taken out of the review",
            [
                "The instructor has taken you out. Answers already recorded stay.",
                "If this is a mistake, speak to the instructor.",
            ],
        ),
        Stop::SeatTaken => (
            "Your seat was taken from another terminal",
            [
                "The review goes on there, with the same name and points.",
                "Close the other terminal and join again here if you want to come back.",
            ],
        ),
        Stop::Refused { what, todo } => ("This did not work", [what, todo]),
    };
    let said = said.map(text::sentence);
    told(frame, area, model, title, &said.each_ref().map(String::as_str))
}

fn own_answer(own: &Own) -> String {
    match own {
        Own::Nothing => "You gave no answer.".to_owned(),
        Own::Sent(attempt) => {
            format!("Your answer \"{}\" was not confirmed before the end.", attempt.text)
        }
        Own::Taken { attempt, recorded: false } => {
            format!("Your answer \"{}\" is being recorded.", attempt.text)
        }
        Own::Taken { attempt, recorded: true } => {
            format!("Your answer \"{}\" is recorded.", attempt.text)
        }
        Own::Barred(why) => why.clone(),
    }
}

fn told(frame: &mut Frame<'_>, area: Rect, model: &Model, title: &str, said: &[&str]) -> u16 {
    let width = usize::from(area.width);
    let mut lines = vec![Line::default()];
    lines.extend(parts::paragraph(title, width).into_iter().map(|l| l.style(Theme::STRONG)));
    for sentence in said {
        lines.push(Line::default());
        lines.extend(parts::paragraph(sentence, width));
    }
    plate::page(frame, area, lines, model.scroll)
}

//! What the screens of a study group have beside those of a class.

use myonym_wire::{JoinLink, TimeAllowance};
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::still;
use crate::parts;
use crate::plate;
use crate::seat_file::SeatPlace;
use crate::student::model::{Model, Sitting, Stage};
use crate::theme::Theme;
use crate::words;

/// The members gather: how the others come in, and how it begins.
pub(super) fn gathering(
    frame: &mut Frame<'_>,
    area: Rect,
    model: &Model,
    sitting: &Sitting,
) -> u16 {
    let width = usize::from(area.width);
    let SeatPlace { address, secure, .. } = sitting.place.clone();
    let link = JoinLink { address, secure, word: Some(sitting.review.word.clone()) };
    let here = words::count(sitting.present, "student is", "students are");
    let time = match sitting.time {
        TimeAllowance::Standard => String::new(),
        own @ (TimeAllowance::Stretched { .. } | TimeAllowance::Untimed) => {
            format!(" Your own time: {}.", words::allowance(own))
        }
    };
    let mut lines = vec![
        Line::default(),
        Line::styled("The study group gathers", Theme::STRONG),
        Line::styled(format!("{here} here. Space starts the first round.{time}"), Theme::STRONG),
        Line::default(),
        Line::raw("The others join with"),
        Line::styled(format!("  {link}"), Theme::STRONG),
    ];
    let said = format!("or with the join word {}.", sitting.review.word);
    lines.extend(parts::paragraph(&said, width));
    lines.extend(still::how_it_goes(sitting, width));
    plate::page(frame, area, lines, model.scroll)
}

/// The keys to vote with, and how the votes stand. The same number of lines at every moment of a
/// study group, so that nothing jumps.
pub(super) fn foot(model: &Model) -> Vec<(&'static str, String)> {
    let Some(sitting) = model.sitting().filter(|sitting| sitting.is_group()) else {
        return Vec::new();
    };
    let time = if sitting.is_halted() { "go on" } else { "pause" };
    let keys = match &sitting.stage {
        Stage::Round(_) => format!("Control-K skip  Control-T {time}  Control-X end"),
        Stage::Reveal(_) | Stage::Skipped { .. } => {
            format!("Control-N next  Control-T {time}  Control-X end")
        }
        Stage::Waiting | Stage::Closed(_) => "Control-X end".to_owned(),
        Stage::Ended { .. } => return Vec::new(),
    };
    let stands = words::votes(&sitting.voting.rows, &sitting.voting.own, sitting.present);
    vec![("Vote", keys), ("For", stands)]
}

/// The keys of a study group.
pub(super) const HELP: [(&str, &str); 9] = [
    ("Enter", "sends the answer"),
    ("Up, Down", "choose a name, or move the page"),
    ("1, 2", "choose one of the two that are offered"),
    ("Tab", "answer or standings"),
    ("Control-P", "a picture in words, or as a picture again"),
    ("Control-K, -T", "vote: skip this round; pause, or go on"),
    ("Control-N, -X", "vote: the next round now; end the review"),
    ("?  or  F1", "this help; ? only while the line is empty"),
    ("Esc, Control-C", "leave, after asking"),
];
pub(super) const HELP_MORE: [&str; 1] =
    ["What more than half of those here are for is done. The same key once more takes your vote \
     back. Any key: back."];

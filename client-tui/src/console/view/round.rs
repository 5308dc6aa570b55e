//! The round at hand.

use myonym_wire::{ClueShown, Reveal, Task};
use ratatui::text::{Line, Span};

use super::own_times;
use crate::console::model::{Desk, Model, Stage, Tally};
use crate::parts;
use crate::round::{OpenRound, picture_of};
use crate::text;
use crate::theme::Theme;
use crate::words;

/// The page of the round, in a window of so many columns and rows.
pub(super) fn lines(
    model: &Model,
    desk: &Desk,
    (width, height): (usize, usize),
) -> Vec<Line<'static>> {
    let theme = model.theme;
    match &desk.stage {
        Stage::Gathering => gathering(desk, width),
        Stage::Open { open, tally } => open_lines(model, desk, open, tally, (width, height)),
        Stage::Closed { why, clues, tally, offered, .. } => {
            let said = text::fit(words::close_why(*why), width);
            let mut lines = vec![Line::styled(said, Theme::STRONG)];
            let offered = words::offered(offered);
            lines.extend(offered.into_iter().flat_map(|offered| parts::paragraph(&offered, width)));
            // After a return the count of a closed round is not told again.
            if tally.here > 0 {
                lines.push(answers_line(desk, tally, width));
                lines.extend(spread_lines(theme, desk, tally, width));
            }
            lines.extend(clue_lines(model, clues, (width, height)));
            lines.extend(planned(desk, width));
            lines
        }
        Stage::Revealed { reveal, .. } => revealed(model, desk, reveal, (width, height)),
        Stage::Skipped { round, .. } => {
            let said = format!("Round {round} was skipped. It does not count.");
            [vec![Line::styled(said, Theme::STRONG)], coming(desk, width)].concat()
        }
        Stage::Ended(why) => {
            let mut lines =
                vec![Line::styled(words::end_why(*why, desk.review.pace), Theme::STRONG)];
            lines.extend(standings(desk, width));
            lines
        }
    }
}

fn gathering(desk: &Desk, width: usize) -> Vec<Line<'static>> {
    let review = &desk.review;
    let mut lines = vec![Line::styled("The review has not begun.", Theme::STRONG)];
    let scope = format!(
        "Muscle list: {}. {}. {}",
        review.list,
        words::count(review.rounds, "round", "rounds"),
        words::how_it_goes(review)
    );
    lines.extend(parts::paragraph(&scope, width));
    lines.extend(coming(desk, width));
    lines.extend(parts::heading("Students are told"));
    for term in words::terms(review, myonym_wire::TimeAllowance::Standard) {
        lines.extend(parts::paragraph(&term, width));
    }
    lines
}

fn open_lines(
    model: &Model,
    desk: &Desk,
    open: &OpenRound,
    tally: &Tally,
    (width, height): (usize, usize),
) -> Vec<Line<'static>> {
    let theme = model.theme;
    let own = if desk.is_private { own_times(desk) } else { String::new() };
    let remark = if open.watch.is_halted() { format!("PAUSED {own}") } else { own };
    let elapsed = open.watch.elapsed(model.now);
    // Time and count come first, so that clues never push them out of the window.
    let mut lines = vec![
        parts::time_line(width, elapsed, open.limit_ms, remark.trim_end()),
        answers_line(desk, tally, width),
        Line::default(),
    ];
    if open.task != Task::Name {
        lines.extend(parts::paragraph(words::asked(open.task), width));
        let offered = words::offered(&open.offered);
        lines.extend(offered.into_iter().flat_map(|offered| parts::paragraph(&offered, width)));
    }
    match picture_of(&open.clues) {
        Some(picture) => {
            let rows = height.saturating_sub(lines.len() + ROWS_BELOW);
            let room = (width, rows.max(parts::picture::LEAST_ROWS));
            lines.extend(parts::picture::asked(theme, picture, room, model.telling));
        }
        None => lines.extend(parts::clues(theme, &open.clues, true, open.to_come(), width)),
    }
    lines.extend(spread_lines(theme, desk, tally, width));
    lines.extend(planned(desk, width));
    lines
}

/// How many answers are in.
fn answers_line(desk: &Desk, tally: &Tally, width: usize) -> Line<'static> {
    let of = tally.of(desk.roll.present());
    let said = format!("Answers   {:>6}  ", tally.answered);
    let again = match tally.asked_again {
        0 => String::new(),
        again => format!(" ({again} asked again)"),
    };
    let remark = format!("  of {of}{again}");
    let room = width.saturating_sub(said.len() + remark.len()).min(LONGEST_BAR);
    let mut spans = vec![Span::styled(said, Theme::STRONG)];
    spans.extend(parts::bar(room, tally.answered.into(), of.into()));
    spans.push(Span::raw(remark));
    Line::from(spans)
}

/// What was answered, where the class does not see the screen.
fn spread_lines(theme: Theme, desk: &Desk, tally: &Tally, width: usize) -> Vec<Line<'static>> {
    let mut lines = vec![Line::default()];
    if desk.is_private {
        lines.extend(parts::spread(theme, &tally.spread, 0, None, None, width));
    } else {
        lines.extend(parts::paragraph(HIDDEN, width));
    }
    lines
}

fn revealed(
    model: &Model,
    desk: &Desk,
    reveal: &Reveal,
    (width, height): (usize, usize),
) -> Vec<Line<'static>> {
    let theme = model.theme;
    let answer = format!("{} · {}", reveal.answer.name, reveal.answer.latin);
    let mut lines = vec![Line::styled(text::fit(&answer, width), Theme::STRONG)];
    lines.extend(parts::beside(reveal, width));
    lines.extend(parts::movements(reveal, width));
    lines.push(Line::default());
    lines.extend(parts::spread(theme, &reveal.spread, reveal.silent, Some(reveal), None, width));
    lines.extend(coming(desk, width));
    let room = (width, height.saturating_sub(ROWS_BELOW));
    lines.extend(parts::lesson(theme, reveal, room, model.telling));
    lines.extend(clue_lines(model, &reveal.clues, (width, height)));
    lines.extend(standings(desk, width));
    lines
}

/// Why the round at hand was planned, where the class does not see the screen.
fn planned(desk: &Desk, width: usize) -> Vec<Line<'static>> {
    match desk.planned() {
        Some(coming) if desk.is_private => {
            let mut lines = parts::heading("Why this round").to_vec();
            lines.extend(parts::paragraph(&text::sentence(&coming.why), width));
            lines
        }
        Some(_) | None => Vec::new(),
    }
}

/// What comes next and why, where the class does not see the screen.
fn coming(desk: &Desk, width: usize) -> Vec<Line<'static>> {
    let Some(coming) = desk.planned().filter(|_| desk.is_private) else { return Vec::new() };
    let mut lines = parts::heading("Next round").to_vec();
    let how = match (coming.task, &coming.beside) {
        (Task::Contrast, Some(beside)) => format!(" beside {beside}"),
        (Task::Picture, _) => ", picture".to_owned(),
        (Task::Movement, _) => ", movement".to_owned(),
        (Task::Name | Task::Contrast, _) => String::new(),
    };
    let asks = format!("{}{how}", coming.muscle);
    lines.push(Line::styled(text::fit(&asks, width), Theme::STRONG));
    lines.extend(parts::paragraph(&text::sentence(&coming.why), width));
    lines
}

fn clue_lines(
    model: &Model,
    clues: &[ClueShown],
    (width, height): (usize, usize),
) -> Vec<Line<'static>> {
    let theme = model.theme;
    if let Some(picture) = picture_of(clues) {
        let room = (width, height.saturating_sub(ROWS_BELOW));
        let picture = parts::picture::asked(theme, picture, room, model.telling);
        return [vec![Line::default()], picture].concat();
    }
    let mut lines = parts::heading("Clues").to_vec();
    lines.extend(parts::clues(theme, clues, false, 0, width));
    lines
}

fn standings(desk: &Desk, width: usize) -> Vec<Line<'static>> {
    let mut lines = parts::heading("Standings").to_vec();
    lines.extend(parts::standings(&desk.standings, desk.standings_of, width));
    lines
}

const LONGEST_BAR: usize = 40;
/// Rows that a picture leaves for what stands below it.
const ROWS_BELOW: usize = 3;
const HIDDEN: &str = "The answers are hidden from the class; v shows them.";

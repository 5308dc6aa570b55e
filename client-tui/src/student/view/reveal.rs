//! The reveal of a round and the end of a review: pages with the standings beside or behind them.

use myonym_wire::{Again, EndWhy, OwnResult, Summary, SummaryRow, Task, Verdict};
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use crate::parts;
use crate::plate;
use crate::student::model::{Model, RevealScreen, Sitting};
use crate::text;
use crate::theme::Theme;
use crate::words;

/// Draws the answer and how the class did.
pub(super) fn draw(
    frame: &mut Frame<'_>,
    area: Rect,
    model: &Model,
    sitting: &Sitting,
    screen: &RevealScreen,
) -> u16 {
    let height = usize::from(area.height).saturating_sub(PICTURE_LESS).min(MOST_PICTURE);
    let page = |width| reveal_lines(model, screen, (width, height));
    beside_standings(frame, area, model, sitting, page)
}

/// Draws the end of the review with the student's own summary.
pub(super) fn ended(
    frame: &mut Frame<'_>,
    area: Rect,
    model: &Model,
    sitting: &Sitting,
    why: EndWhy,
    summary: Option<&Summary>,
) -> u16 {
    let page =
        |width| end_lines(model.theme, words::end_why(why, sitting.review.pace), summary, width);
    beside_standings(frame, area, model, sitting, page)
}

/// In a wide window the standings stand beside the page; in a narrow one, Tab changes over.
fn beside_standings(
    frame: &mut Frame<'_>,
    area: Rect,
    model: &Model,
    sitting: &Sitting,
    page: impl Fn(usize) -> Vec<Line<'static>>,
) -> u16 {
    let standings = |width| {
        let mut lines = parts::heading("Standings").to_vec();
        lines.extend(parts::standings(&sitting.standings, sitting.standings_of, width));
        let own = sitting.own_place();
        if let Some(own) = own.and_then(|(place, of)| words::place(sitting.total, place, of)) {
            lines.push(Line::styled(format!("You: {own}"), Theme::STRONG));
        }
        lines
    };
    if area.width < WIDE {
        let width = usize::from(area.width);
        let lines = if sitting.show_standings { standings(width) } else { page(width) };
        return plate::page(frame, area, lines, model.scroll);
    }
    let columns = Layout::horizontal([Constraint::Min(1), Constraint::Length(STANDINGS)]);
    let [left, right] = columns.spacing(3).areas(area);
    frame.render_widget(Paragraph::new(standings(usize::from(right.width))), right);
    plate::page(frame, left, page(usize::from(left.width)), model.scroll)
}

fn reveal_lines(
    model: &Model,
    screen: &RevealScreen,
    (width, height): (usize, usize),
) -> Vec<Line<'static>> {
    let (theme, reveal) = (model.theme, &screen.reveal);
    let own = screen.result.as_ref();
    let own = own.and_then(|result| Some((result.answer.as_deref()?, result.verdict)));
    let mut lines = vec![
        Line::default(),
        Line::styled(text::fit(&reveal.answer.name, width), Theme::STRONG),
        Line::raw(text::fit(&reveal.answer.latin, width)),
    ];
    lines.extend(parts::beside(reveal, width));
    lines.push(Line::default());
    lines.extend(result_lines(theme, screen.result.as_ref(), width));
    lines.extend(parts::movements(reveal, width));
    lines.extend(parts::heading("How the class answered"));
    lines.extend(parts::spread(theme, &reveal.spread, reveal.silent, Some(reveal), own, width));
    lines.extend(parts::lesson(theme, reveal, (width, height), model.telling));
    lines.extend(parts::heading(if reveal.clues.len() == 1 { "The clue" } else { "All clues" }));
    lines.extend(parts::clues(theme, &reveal.clues, false, 0, width));
    lines
}

fn result_lines(theme: Theme, result: Option<&OwnResult>, width: usize) -> Vec<Line<'static>> {
    let Some(result) = result else {
        return vec![Line::raw("You were not here in this round.")];
    };
    let said = match &result.answer {
        Some(answer) => format!("  you answered {answer}"),
        None => String::new(),
    };
    let points = words::some_points(result.points);
    let verdict = format!(" {} {} ", words::sign(result.verdict), words::verdict(result.verdict));
    let room = width.saturating_sub(verdict.len() + points.len() + 2);
    vec![
        Line::from(vec![
            Span::styled(verdict, theme.verdict(result.verdict)),
            Span::raw(text::pad(&said, room)),
            Span::styled(format!("  {points}"), Theme::STRONG),
        ]),
        Line::raw(words::standing(result.total, result.place, result.of)),
    ]
}

fn end_lines(
    theme: Theme,
    why: &str,
    summary: Option<&Summary>,
    width: usize,
) -> Vec<Line<'static>> {
    let mut lines = vec![Line::default(), Line::styled("The review is over", Theme::STRONG)];
    lines.extend(parts::paragraph(why, width));
    let Some(summary) = summary else { return lines };
    lines.push(Line::raw(words::standing(summary.total, summary.place, summary.of)));
    lines.extend(parts::heading("Look at these again"));
    if summary.again.is_empty() {
        let all_right = summary.rounds.iter().all(|row| row.verdict == Verdict::Right);
        let said = match (summary.rounds.is_empty(), all_right) {
            (true, _) => "Nothing: you were here in no round.",
            (false, true) => "Nothing: every answer was right.",
            (false, false) => "Nothing stands out.",
        };
        lines.push(Line::raw(said));
    }
    for again in &summary.again {
        lines.extend(again_lines(theme, summary, again, width));
    }
    lines.extend(parts::heading("Your rounds"));
    summary.rounds.iter().for_each(|row| lines.push(row_line(theme, row, width)));
    lines
}

fn again_lines(theme: Theme, summary: &Summary, again: &Again, width: usize) -> Vec<Line<'static>> {
    let silent = |row: &SummaryRow| {
        row.asked == again.muscle && row.task == again.task && row.verdict == Verdict::Silent
    };
    let said = match &again.said {
        Some(said) if *said == again.muscle => format!("{said}: misspelt"),
        Some(said) if again.task == Task::Movement => {
            format!("{}: you said that it makes {said}", again.muscle)
        }
        Some(said) if again.task == Task::Contrast => {
            format!("{}: you chose {said}", again.muscle)
        }
        Some(said) => format!("{}: you said {said}", again.muscle),
        None if summary.rounds.iter().any(silent) => format!("{}: no answer", again.muscle),
        None => again.muscle.clone(),
    };
    let said = text::wrap(&said, width).into_iter();
    let mut lines: Vec<_> = said.map(|line| Line::styled(line, Theme::STRONG)).collect();
    if let Some(apart) = &again.apart {
        lines.extend(parts::difference(theme, apart, width));
    }
    lines
}

fn row_line(theme: Theme, row: &SummaryRow, width: usize) -> Line<'static> {
    let room = width.saturating_sub(ROUND + SIGN + POINTS) / 2;
    Line::from(vec![
        Span::raw(text::pad_left(&row.round.to_string(), ROUND)),
        Span::raw(" "),
        Span::styled(words::sign(row.verdict), theme.verdict(row.verdict)),
        Span::raw(format!(" {} ", text::pad(&row.asked, room.saturating_sub(1)))),
        Span::raw(text::pad(row.answer.as_deref().unwrap_or("no answer"), room)),
        Span::raw(text::pad_left(&words::points(row.points), POINTS)),
    ])
}

/// Rows of the page that a picture leaves to its title and what its letters mean.
const PICTURE_LESS: usize = 3;
/// Rows of a picture, so that what follows it is not far.
const MOST_PICTURE: usize = 24;
const WIDE: u16 = 110;
const STANDINGS: u16 = 38;
const ROUND: usize = 3;
/// The sign, and the spaces on both sides of it.
const SIGN: usize = 5;
const POINTS: usize = 9;

//! The roll.

use myonym_wire::{RollRow, TimeAllowance};
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use crate::console::model::{Desk, Model, Pane, Stage};
use crate::text;
use crate::theme::Theme;
use crate::words;

/// Draws the roll around the student chosen. There is nothing to move beyond the choice.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, model: &Model, desk: &Desk) -> u16 {
    let [head, body] = Layout::vertical([Constraint::Length(2), Constraint::Min(1)]).areas(area);
    let rows = desk.roll.rows();
    let present = desk.roll.present();
    let away = rows.len().saturating_sub(usize::try_from(present).unwrap_or(usize::MAX));
    let said = format!("{present} here, {away} away");
    let said = if is_open(desk) {
        format!("{said}, {} have answered", desk.roll.answered())
    } else {
        said
    };
    frame.render_widget(Paragraph::new(said), head);
    if rows.is_empty() {
        frame.render_widget(Paragraph::new("Nobody has taken a seat yet."), body);
        return 0;
    }
    let picked = desk.roll.picked_at().filter(|_| model.pane == Pane::Roll);
    let height = usize::from(body.height);
    // The chosen row stays in the middle, as far as the ends of the roll allow.
    let first = picked.unwrap_or(0).saturating_sub(height / 2);
    let first = first.min(rows.len().saturating_sub(height));
    let lines: Vec<_> = (first..rows.len().min(first + height))
        .map(|at| {
            let (mark, style) =
                if picked == Some(at) { ("› ", Theme::PICKED) } else { ("  ", Style::new()) };
            let room = usize::from(body.width).saturating_sub(2);
            let row = Span::styled(row_text(&rows[at], is_open(desk), room), style);
            Line::from(vec![Span::raw(mark), row])
        })
        .collect();
    frame.render_widget(Paragraph::new(lines), body);
    0
}

fn row_text(row: &RollRow, open: bool, width: usize) -> String {
    let here = if row.present { "here" } else { "away" };
    let answered = if open && row.answered { "answered" } else { "" };
    let time = match row.time {
        TimeAllowance::Standard => String::new(),
        TimeAllowance::Stretched { .. } | TimeAllowance::Untimed => words::allowance(row.time),
    };
    let room = width.saturating_sub(HERE + ANSWERED + TIME + 3).min(LONGEST_NAME);
    let name = text::pad(&row.name, room);
    format!("{name} {} {} {time:>TIME$}", text::pad(here, HERE), text::pad(answered, ANSWERED))
}

fn is_open(desk: &Desk) -> bool {
    matches!(desk.stage, Stage::Open { .. })
}

const HERE: usize = 4;
const ANSWERED: usize = 8;
const TIME: usize = 8;
const LONGEST_NAME: usize = 48;

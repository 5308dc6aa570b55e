//! What two muscles share and what separates them.

use myonym_wire::{ContrastShown, DifferenceShown, Task};
use ratatui::style::Style;
use ratatui::text::{Line, Span};

use crate::text;
use crate::theme::Theme;
use crate::words;

/// The contrast of the muscle asked with the one that was answered most, or with the other one that
/// was offered.
pub(crate) fn contrast(
    theme: Theme,
    contrast: &ContrastShown,
    task: Task,
    width: usize,
) -> Vec<Line<'static>> {
    let students = match contrast.count {
        0 => "Nobody".to_owned(),
        count => words::count(count, "student", "students"),
    };
    let (verb, second) = match task {
        Task::Contrast => ("chose", "beside"),
        Task::Name | Task::Picture | Task::Movement => ("said", "said"),
    };
    let mut lines = super::paragraph(&format!("{students} {verb} {}.", contrast.said), width);
    lines.push(Line::default());
    lines.extend(table(theme, contrast, second, width));
    lines.push(Line::default());
    if contrast.shared.is_empty() {
        lines.push(Line::raw("No clue is true of both."));
        return lines;
    }
    lines.push(Line::raw("True of both:"));
    for shared in &contrast.shared {
        for (row, part) in text::wrap(shared, width.saturating_sub(2)).into_iter().enumerate() {
            lines.push(Line::raw(format!("{}{part}", if row == 0 { "= " } else { "  " })));
        }
    }
    lines
}

/// The feature that separates two muscles: how the one asked has it, and how the one said.
pub(crate) fn difference(
    theme: Theme,
    difference: &DifferenceShown,
    width: usize,
) -> Vec<Line<'static>> {
    let label = format!(" {} ", text::fit(&difference.aspect, ASPECT - 2));
    let gap = " ".repeat((ASPECT + 1).saturating_sub(text::width(&label)));
    let room = width.saturating_sub(INDENT + ASPECT + 1 + SIDE);
    let mut lines = Vec::new();
    for (side, has) in [("asked: ", &difference.asked), ("said:  ", &difference.said)] {
        for (row, part) in text::wrap(has, room).into_iter().enumerate() {
            let mut spans = vec![Span::raw(" ".repeat(INDENT))];
            if lines.is_empty() {
                spans.push(Span::styled(label.clone(), theme.aspect(&difference.aspect)));
                spans.push(Span::raw(gap.clone()));
            } else {
                spans.push(Span::raw(" ".repeat(ASPECT + 1)));
            }
            let side = if row == 0 { side.to_owned() } else { " ".repeat(SIDE) };
            spans.push(Span::raw(format!("{side}{part}")));
            lines.push(Line::from(spans));
        }
    }
    lines
}

fn table(theme: Theme, contrast: &ContrastShown, second: &str, width: usize) -> Vec<Line<'static>> {
    let room = width.saturating_sub(ASPECT + GAP_WIDTH * 2) / 2;
    let asked = format!("asked: {}", contrast.asked);
    let said = format!("{second}: {}", contrast.said);
    let mut lines = table_row(Span::raw(""), &asked, &said, room, Theme::STRONG);
    for difference in &contrast.apart {
        let DifferenceShown { aspect, asked, said } = difference;
        let label = format!(" {} ", text::fit(aspect, ASPECT - 2));
        let label = Span::styled(label, theme.aspect(aspect));
        lines.extend(table_row(label, asked, said, room, Style::new()));
    }
    lines
}

fn table_row(
    label: Span<'static>,
    asked: &str,
    said: &str,
    room: usize,
    style: Style,
) -> Vec<Line<'static>> {
    let (asked, said) = (text::wrap(asked, room), text::wrap(said, room));
    let mut label = Some(label);
    let row = |row: usize| {
        let cell = |cells: &[String]| cells.get(row).cloned().unwrap_or_default();
        let label = label.take().unwrap_or_default();
        let gap = " ".repeat(ASPECT.saturating_sub(label.width()));
        Line::from(vec![
            label,
            Span::raw(gap),
            Span::styled(GAP, Theme::RULE),
            Span::styled(text::pad(&cell(&asked), room), style),
            Span::styled(GAP, Theme::RULE),
            Span::styled(cell(&said), style),
        ])
    };
    (0..asked.len().max(said.len())).map(row).collect()
}

const ASPECT: usize = 13;
const GAP: &str = " │ ";
const GAP_WIDTH: usize = 3;
const INDENT: usize = 2;
const SIDE: usize = 7;

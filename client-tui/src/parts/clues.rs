//! Clues, numbered as a plate numbers its parts.

use myonym_wire::ClueShown;
use ratatui::text::{Line, Span};

use crate::text;
use crate::theme::Theme;
use crate::words;

/// The clues one under the other, with their numeral and what each speaks of. `newest` draws the
/// last one strong; `to_come` is the number of clues that are not shown yet.
pub(crate) fn clues(
    theme: Theme,
    clues: &[ClueShown],
    newest: bool,
    to_come: usize,
    width: usize,
) -> Vec<Line<'static>> {
    let room = width.saturating_sub(NUMERAL + LABEL + 1);
    let mut lines = Vec::new();
    for (index, clue) in clues.iter().enumerate() {
        let strong = newest && index + 1 == clues.len();
        let style = if strong { Theme::STRONG } else { ratatui::style::Style::new() };
        for (row, part) in text::wrap(&clue.text, room).into_iter().enumerate() {
            let mut spans = if row == 0 {
                margin(theme, index, &clue.kind)
            } else {
                vec![Span::raw(" ".repeat(NUMERAL + LABEL + 1))]
            };
            spans.push(Span::styled(part, style));
            lines.push(Line::from(spans));
        }
    }
    if to_come > 0 {
        let said = format!("{} to come", words::count(to_come as u64, "more clue", "more clues"));
        lines.push(Line::styled(format!("{}{said}", " ".repeat(NUMERAL)), Theme::RULE));
    }
    lines
}

fn margin(theme: Theme, index: usize, kind: &str) -> Vec<Span<'static>> {
    let label = format!(" {} ", text::fit(kind, LABEL - 2));
    let gap = (LABEL + 1).saturating_sub(text::width(&label));
    vec![
        Span::styled(text::pad(&format!("{}.", words::roman(index + 1)), NUMERAL), Theme::STRONG),
        Span::styled(label, theme.aspect(kind)),
        Span::raw(" ".repeat(gap)),
    ]
}

const NUMERAL: usize = 6;
const LABEL: usize = 13;

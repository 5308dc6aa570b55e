//! The standings.

use myonym_wire::StandingRow;
use ratatui::text::{Line, Span};

use crate::text;
use crate::theme::Theme;
use crate::words;

/// The first places of `of`. A student who is not listed has a place without a name.
pub(crate) fn standings(rows: &[StandingRow], of: Option<u32>, width: usize) -> Vec<Line<'static>> {
    let room = width.saturating_sub(PLACE + POINTS + 2).min(LONGEST_NAME);
    let mut lines: Vec<_> = rows
        .iter()
        .map(|row| {
            let name = row.name.as_deref().unwrap_or("(not listed)");
            Line::from(vec![
                Span::styled(text::pad_left(&row.place.to_string(), PLACE), Theme::STRONG),
                Span::raw(format!("  {}", text::pad(name, room))),
                Span::raw(text::pad_left(&words::points(row.points), POINTS)),
            ])
        })
        .collect();
    if rows.is_empty() {
        lines.push(Line::raw("No points yet."));
    }
    if let Some(of) = of {
        lines.push(Line::default());
        lines.push(Line::raw(format!("{} in all", words::count(of, "student", "students"))));
    }
    lines
}

const PLACE: usize = 4;
const POINTS: usize = 12;
const LONGEST_NAME: usize = 32;

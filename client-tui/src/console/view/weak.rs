//! What the class finds hard and what it confuses.

use myonym_wire::{HardRow, PairRow, Task};
use ratatui::text::{Line, Span};

use super::is_over;
use crate::console::model::{Desk, Model};
use crate::parts;
use crate::text;
use crate::theme::Theme;

/// The page of weak spots.
pub(super) fn lines(model: &Model, desk: &Desk, width: usize) -> Vec<Line<'static>> {
    let theme = model.theme;
    let spots = &desk.weak_spots;
    let mut lines = Vec::new();
    if is_over(desk) {
        lines.push(Line::styled("The review is over: its weak spots", Theme::STRONG));
        lines.extend(parts::paragraph(&model.report_note, width));
        lines.push(Line::default());
    }
    if spots.hardest.is_empty() && spots.pairs.is_empty() {
        lines.extend(parts::paragraph("Nothing yet: the first reveal fills this page.", width));
        if desk.review.tasks.contains(&Task::Movement) {
            lines.extend(parts::paragraph("Movements stand in the report alone.", width));
        }
        return lines;
    }
    lines.push(head_line(width));
    lines.extend(spots.hardest.iter().map(|row| hard_line(row, width)));
    lines.extend(parts::heading("Confused: asked → said"));
    if spots.pairs.is_empty() {
        lines.push(Line::raw("No muscle was taken for another."));
    }
    spots.pairs.iter().for_each(|row| lines.extend(pair_lines(theme, row, width)));
    lines
}

fn head_line(width: usize) -> Line<'static> {
    let name = text::pad("Hardest first", name_room(width));
    Line::styled(
        format!("{name}{:>RIGHT$}{:>SHARE$}{:>RANGE$}", "right", "share", "95 % interval"),
        Theme::STRONG,
    )
}

fn hard_line(row: &HardRow, width: usize) -> Line<'static> {
    let share = match row.asked {
        0 => "-".to_owned(),
        asked => {
            let (right, asked) = (u64::from(row.right), u64::from(asked));
            format!("{} %", (right * 100 + asked / 2) / asked)
        }
    };
    let range = format!("{} to {} %", percent(row.low), percent(row.high));
    let right = format!("{} of {}", row.right, row.asked);
    let name = text::pad(&row.muscle, name_room(width));
    Line::raw(format!("{name}{right:>RIGHT$}{share:>SHARE$}{range:>RANGE$}"))
}

fn pair_lines(theme: Theme, row: &PairRow, width: usize) -> Vec<Line<'static>> {
    let count = format!("{} of {}", row.count, row.of);
    let pair = format!("{} → {}", row.asked, row.said);
    let mut lines = vec![Line::from(vec![
        Span::styled(text::pad(&pair, width.saturating_sub(count.len() + 1)), Theme::STRONG),
        Span::raw(format!(" {count}")),
    ])];
    if let Some(apart) = &row.apart {
        lines.extend(parts::difference(theme, apart, width));
    }
    lines
}

/// A probability in whole percent.
fn percent(share: f64) -> String {
    format!("{:.0}", share * 100.0)
}

fn name_room(width: usize) -> usize {
    width.saturating_sub(RIGHT + SHARE + RANGE).min(40)
}

const RIGHT: usize = 11;
const SHARE: usize = 8;
const RANGE: usize = 16;

//! Pieces of a page of text.

use comfy_table::presets::NOTHING;
use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, LineStyle, Table};

use crate::estimate::Estimate;

/// A page is never narrower: a table could not hold its columns.
const NARROWEST: u16 = 40;
/// Nor wider: long lines are hard to read.
const WIDEST: u16 = 120;

/// The width to lay out for.
pub(super) fn page_width(width: u16) -> u16 {
    width.clamp(NARROWEST, WIDEST)
}

/// A paragraph broken at words, with a line feed at the end.
pub(super) fn paragraph(text: &str, width: u16) -> String {
    let mut table = empty_table(width);
    table.add_row([text]);
    table.column_iter_mut().for_each(|column| {
        column.set_padding((0, 0));
    });
    lines(&table)
}

/// How a column of a table takes its place.
#[derive(Debug, Clone, Copy)]
pub(super) enum Column {
    /// Text that may be broken at words.
    Wraps,
    /// Text that keeps its width.
    Keeps,
    /// Numbers: they keep their width and are set right.
    Number,
}

/// A table under a rule, fitted to the width.
pub(super) fn table(
    header: &[(&str, Column)],
    rows: impl IntoIterator<Item = Vec<String>>,
    width: u16,
) -> String {
    let mut table = empty_table(width);
    table.load_style(NOTHING.header_separator(LineStyle::none().fill('-').junction('-')));
    table.set_header(header.iter().map(|(title, _)| *title));
    for row in rows {
        table.add_row(row);
    }
    for (number, (column, (_, kind))) in table.column_iter_mut().zip(header).enumerate() {
        column.set_padding((0, u16::from(number + 1 < header.len())));
        match kind {
            Column::Wraps => continue,
            Column::Keeps => {}
            Column::Number => column.set_cell_alignment(CellAlignment::Right),
        }
        column.set_constraint(ColumnConstraint::ContentWidth);
    }
    lines(&table)
}

/// Text from outside, harmless to a terminal: without control characters (of which escape
/// sequences are made) and without marks that turn the direction of writing.
pub(super) fn plain(text: &str) -> String {
    let turns = |c: char| matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    text.chars().filter(|c| !turns(*c)).map(|c| if c.is_control() { ' ' } else { c }).collect()
}

/// `38 % (21-57)`: a share and its interval in whole percent.
pub(super) fn share(estimate: &Estimate) -> String {
    let Estimate { value, low, high, .. } = estimate;
    format!("{:.0} % ({:.0}-{:.0})", value * 100.0, low * 100.0, high * 100.0)
}

/// A share as a bar of `width` blocks, `███▌······`, to the eighth of a block.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a share of a small width lies from 0 to that width"
)]
pub(super) fn blocks(share: f64, width: u16) -> String {
    let eighths = (share.clamp(0.0, 1.0) * f64::from(width) * 8.0).round() as usize;
    let part = ["", "▏", "▎", "▍", "▌", "▋", "▊", "▉"][eighths % 8];
    let taken = eighths / 8 + usize::from(!part.is_empty());
    let rest = usize::from(width).saturating_sub(taken);
    format!("{}{part}{}", "█".repeat(eighths / 8), "·".repeat(rest))
}

/// `8.2 s`.
pub(super) fn seconds(ms: u64) -> String {
    let tenths = ms.saturating_add(50) / 100;
    format!("{}.{} s", tenths / 10, tenths % 10)
}

/// `1 round`, `2 rounds`.
pub(super) fn number_of(count: u32, thing: &str) -> String {
    let s = if count == 1 { "" } else { "s" };
    format!("{count} {thing}{s}")
}

/// A table of the first `most` rows under its title, and how many more there are; nothing if
/// there are no rows.
pub(super) fn section<T>(
    title: &str,
    rows: &[T],
    most: usize,
    thing: &str,
    table: impl FnOnce(&[T]) -> String,
) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let shown = &rows[..rows.len().min(most)];
    format!("{title}\n\n{}{}", table(shown), more(rows.len(), most, thing))
}

/// How many more there are than are shown.
pub(super) fn more(all: usize, shown: usize, thing: &str) -> String {
    match all.saturating_sub(shown) {
        0 => String::new(),
        rest => format!("... and {}\n", number_of(count(rest), &format!("more {thing}"))),
    }
}

/// How many, for words that count.
pub(super) fn count(length: usize) -> u32 {
    u32::try_from(length).unwrap_or(u32::MAX)
}

fn empty_table(width: u16) -> Table {
    let mut table = Table::new();
    table.load_style(NOTHING);
    table.set_content_arrangement(ContentArrangement::Dynamic);
    table.set_width(width);
    table
}

/// The lines of a table with no space at their ends, each with a line feed.
fn lines(table: &Table) -> String {
    let mut text = table.trim_fmt();
    text.push('\n');
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn escape_sequences_do_not_reach_the_terminal() {
        assert_eq!(plain("a\u{1b}[2Jb\u{202e}c\td"), "a [2Jbc d");
        assert_eq!(plain("m. deltoïdeus"), "m. deltoïdeus");
    }

    #[test]
    fn numbers_for_people() {
        assert_eq!(seconds(8_249), "8.2 s");
        assert_eq!(seconds(59_950), "60.0 s");
        assert_eq!(seconds(61_000), "61.0 s");
        assert_eq!(blocks(0.0, 4), "····");
        assert_eq!(blocks(0.01, 4), "····");
        assert_eq!(blocks(0.4, 4), "█▋··");
        assert_eq!(blocks(0.999, 4), "████");
        assert_eq!(blocks(1.0, 4), "████");
        assert_eq!(number_of(1, "round"), "1 round");
        assert_eq!(number_of(0, "round"), "0 rounds");
    }

    #[test]
    fn paragraphs_are_broken_at_words() {
        let text = "the lesser tubercle of the humerus and the crest below";
        assert_eq!(
            paragraph(text, 40),
            "the lesser tubercle of the humerus and\nthe crest below\n"
        );
    }
}

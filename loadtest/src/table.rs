//! Results in tables: Markdown, to be pasted as they are, and on a terminal no wider than that.

use std::ops::Range;

use comfy_table::presets::ASCII_MARKDOWN;
use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, Row, Table, Width};

use crate::runs::Subject;

/// Least width of the first column, whose words are read, in characters.
const WORDS: u16 = 20;

/// A table with these columns, of which some hold numbers and so stand to the right.
pub(crate) fn table(head: impl Into<Row>, numbers: Range<usize>) -> Table {
    let mut table = Table::new();
    table.load_style(ASCII_MARKDOWN).set_header(head);
    table.set_content_arrangement(ContentArrangement::Dynamic);
    if let Some(first) = table.column_mut(0) {
        first.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(WORDS)));
    }
    for column in table.column_iter_mut().skip(numbers.start).take(numbers.len()) {
        column.set_cell_alignment(CellAlignment::Right);
    }
    table
}

/// Columns of a table whose figures are compared, after the figures' own: each subject, and the
/// server over each of the others.
pub(crate) fn compared() -> impl Iterator<Item = String> {
    let ratios = Subject::BASES.map(|base| format!("server/{}", base.name()));
    Subject::ALL.map(|subject| subject.name().to_owned()).into_iter().chain(ratios)
}

//! Results in tables: Markdown, to be pasted as they are, and on a terminal no wider than that, unless it
//! is so narrow that only letters of the words were left.

use std::ops::Range;

use comfy_table::presets::ASCII_MARKDOWN;
use comfy_table::{CellAlignment, ColumnConstraint, ContentArrangement, Row, Table, Width};

use crate::runs::Subject;

/// Least width of a column of numbers, in characters with a space on each side: words can be broken
/// where a terminal is narrow, digits cannot.
const NUMBER: u16 = 8;
/// Least width of a column of words that can still be read.
const WORDS: u16 = 10;

/// A table with these columns, of which some hold numbers and so stand to the right.
pub(crate) fn table(head: impl Into<Row>, numbers: Range<usize>) -> Table {
    let mut table = Table::new();
    table.load_style(ASCII_MARKDOWN).set_header(head);
    let least = table
        .column_iter()
        .enumerate()
        .fold(1, |least, (at, _)| least + 1 + if numbers.contains(&at) { NUMBER } else { WORDS });
    if table.width().is_some_and(|width| width >= least) {
        table.set_content_arrangement(ContentArrangement::Dynamic);
    }
    for column in table.column_iter_mut().skip(numbers.start).take(numbers.len()) {
        column.set_cell_alignment(CellAlignment::Right);
        column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(NUMBER)));
    }
    table
}

/// Heads of a table in which the subjects are compared: the figure, each subject, and the server over
/// each of the others.
pub(crate) fn compared() -> Vec<String> {
    let mut heads = vec![String::new()];
    heads.extend(Subject::ALL.map(|subject| subject.name().to_owned()));
    heads.extend(Subject::BASES.map(|base| format!("server/{}", base.name())));
    heads
}

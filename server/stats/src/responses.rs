//! Who answered what rightly.

/// Answers of students (rows) to items (columns): right, wrong, or not asked. What was not asked is
/// missing; it never counts as wrong.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Responses {
    items: usize,
    rows: Vec<Vec<Option<bool>>>,
}

impl Responses {
    /// `None` unless the rows are equally long.
    pub fn new(rows: Vec<Vec<Option<bool>>>) -> Option<Self> {
        let items = rows.first().map_or(0, Vec::len);
        rows.iter().all(|row| row.len() == items).then_some(Self { items, rows })
    }

    /// Number of students.
    pub const fn students(&self) -> usize {
        self.rows.len()
    }

    /// Number of items.
    pub const fn items(&self) -> usize {
        self.items
    }

    /// Each student's answers.
    pub fn rows(&self) -> &[Vec<Option<bool>>] {
        &self.rows
    }

    /// The first item that all answered alike, or that nobody was asked.
    pub(crate) fn alike(&self) -> Option<usize> {
        let some = |item, wanted| self.rows.iter().any(|row| row[item] == Some(wanted));
        (0..self.items).find(|&item| !(some(item, true) && some(item, false)))
    }
}

/// How many things, as a number to reckon with.
#[expect(clippy::cast_precision_loss, reason = "far fewer than 2^53 of anything")]
pub(crate) const fn count(things: usize) -> f64 {
    things as f64
}

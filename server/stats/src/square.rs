//! A square table of counts: what was asked by what was answered.

use crate::responses::count;

/// Counts of answers j where i was asked, for two categories or more. Counts may be fractions,
/// as of answers that count in part.
#[derive(Debug, Clone, PartialEq)]
pub struct Square {
    size: usize,
    cells: Vec<f64>,
}

impl Square {
    /// From its rows. `None` unless there are two rows or more, each as long as there are rows, and
    /// every count is a finite number from 0.
    pub fn new(rows: &[Vec<f64>]) -> Option<Self> {
        let size = rows.len();
        let square = size >= 2 && rows.iter().all(|row| row.len() == size);
        let cells: Vec<f64> = rows.iter().flatten().copied().collect();
        let counts = cells.iter().all(|count| count.is_finite() && *count >= 0.0);
        (square && counts).then_some(Self { size, cells })
    }

    /// Number of categories.
    pub const fn size(&self) -> usize {
        self.size
    }

    /// The count of answers `answered` where `asked` was asked.
    ///
    /// # Panics
    ///
    /// If there is no such category.
    pub fn at(&self, asked: usize, answered: usize) -> f64 {
        assert!(answered < self.size, "no category {answered} of {}", self.size);
        self.cells[asked * self.size + answered]
    }

    /// With as much added to every count. A half keeps every closed form finite; over a large table
    /// it outweighs the data, and 1/size, one answer a row, does better.
    #[must_use]
    pub fn plus(&self, prior: f64) -> Option<Self> {
        let cells: Vec<f64> = self.cells.iter().map(|count| count + prior).collect();
        let counts = cells.iter().all(|count| count.is_finite() && *count >= 0.0);
        counts.then_some(Self { size: self.size, cells })
    }

    /// The number of categories, to reckon with.
    pub(crate) fn categories(&self) -> f64 {
        count(self.size)
    }

    /// All answers.
    pub(crate) fn total(&self) -> f64 {
        self.cells.iter().sum()
    }

    /// Each two categories once, the smaller first.
    pub(crate) fn pairs(&self) -> impl Iterator<Item = (usize, usize)> + use<> {
        let size = self.size;
        (0..size).flat_map(move |a| (a + 1..size).map(move |b| (a, b)))
    }

    /// The first category that cannot be had from category 0 by steps that count, or from which
    /// category 0 cannot be had; `None` if every category can be had from every other.
    pub(crate) fn unreached(&self) -> Option<usize> {
        let there = self.reached(|from, to| self.at(from, to));
        let back = self.reached(|from, to| self.at(to, from));
        there.into_iter().zip(back).position(|(there, back)| !(there && back))
    }

    /// Which categories can be had from category 0.
    fn reached(&self, count: impl Fn(usize, usize) -> f64) -> Vec<bool> {
        let mut reached = vec![false; self.size];
        let mut waiting = vec![0];
        while let Some(from) = waiting.pop() {
            if !std::mem::replace(&mut reached[from], true) {
                waiting.extend((0..self.size).filter(|&to| !reached[to] && count(from, to) > 0.0));
            }
        }
        reached
    }
}

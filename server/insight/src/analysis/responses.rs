//! Who was right on what: one row a person and review, one column a muscle.

use std::collections::BTreeMap;

use myonym_stats::Responses;

use crate::observe::{MuscleId, PersonId, Row};

/// The answers of everyone in every review, as item analysis takes them. A person who comes again
/// is another row: abilities change from week to week. Of a muscle that was asked twice in one
/// review the first answer counts. What was not asked is missing; silence is not right.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sheet {
    /// The muscles asked, one a column.
    pub(super) muscles: Vec<MuscleId>,
    /// Whose each row is, and of which review.
    pub(super) whose: Vec<(u32, PersonId)>,
    /// The answers.
    pub(super) responses: Responses,
}

impl Sheet {
    /// Of all reviews, or of the rows of one.
    pub(super) fn of(rows: &[Row]) -> Self {
        let mut columns: BTreeMap<MuscleId, usize> = BTreeMap::new();
        for row in rows {
            columns.insert(row.asked, 0);
        }
        for (place, column) in columns.values_mut().enumerate() {
            *column = place;
        }
        let mut sheets: BTreeMap<(u32, PersonId), Vec<Option<bool>>> = BTreeMap::new();
        for row in rows {
            let sheet =
                sheets.entry((row.review, row.person)).or_insert_with(|| vec![None; columns.len()]);
            if let Some(cell) = columns.get(&row.asked).and_then(|at| sheet.get_mut(*at)) {
                cell.get_or_insert(row.right());
            }
        }
        let (whose, answers): (Vec<_>, Vec<_>) = sheets.into_iter().unzip();
        let responses = Responses::new(answers).unwrap_or_default();
        Self { muscles: columns.into_keys().collect(), whose, responses }
    }

    /// Right answers and answers of each row.
    pub(super) fn totals(&self) -> Vec<(u32, u32)> {
        let count = |of: usize| u32::try_from(of).unwrap_or(u32::MAX);
        let total = |row: &Vec<Option<bool>>| {
            let right = row.iter().flatten().filter(|right| **right).count();
            (count(right), count(row.iter().flatten().count()))
        };
        self.responses.rows().iter().map(total).collect()
    }
}

/// The share right elsewhere of one who has these totals and this answer; `None` of one who was
/// asked nothing else.
pub(super) fn rest((right, asked): (u32, u32), here: bool) -> Option<f64> {
    let others = asked.checked_sub(1).filter(|others| *others > 0)?;
    Some(f64::from(right - u32::from(here)) / f64::from(others))
}

//! Who was right on what: one row a person and review, one column a muscle.

use myonym_stats::Responses;

use crate::observe::{MuscleId, PersonId, Row};

/// The answers of everyone in every review, as item analysis takes them. A person who comes again
/// is another row: abilities change from week to week. Of a muscle that was asked twice in one
/// review the first answer counts. What was not asked is missing; silence is not right.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Sheet {
    /// The muscles asked, one a column.
    pub(super) muscles: Vec<MuscleId>,
    /// Whose each row is, and of which review.
    pub(super) whose: Vec<(u32, PersonId)>,
    /// The answers.
    pub(super) responses: Responses,
    /// Where each row of the table stands in the sheet; [`AGAIN`] for later answers to a muscle that
    /// was asked twice.
    places: Vec<u32>,
}

const AGAIN: u32 = u32::MAX;

impl Sheet {
    /// Of all reviews, or of the rows of one.
    pub(super) fn of(rows: &[Row]) -> Self {
        let (muscles, columns) = columns(rows);
        let mut sheet = Self { muscles, ..Self::default() };
        let mut answers: Vec<Vec<Option<bool>>> = Vec::new();
        let mut seats = Seats::of(rows);
        for review in rows.chunk_by(|row, next| row.review == next.review) {
            let persons = seats.seat(review, answers.len());
            answers.resize_with(answers.len() + persons.len(), || vec![None; sheet.muscles.len()]);
            for row in review {
                let place = seats.0[at(row.person.0)];
                let cell = &mut answers[place][columns[usize::from(row.asked.0)]];
                let place = u32::try_from(place).unwrap_or(AGAIN);
                sheet.places.push(if cell.is_none() { place } else { AGAIN });
                cell.get_or_insert(row.right());
            }
            let number = review[0].review;
            sheet.whose.extend(persons.into_iter().map(|person| (number, person)));
        }
        sheet.responses = Responses::new(answers).unwrap_or_default();
        sheet
    }

    /// The first answer of each person to each muscle in each review, from the rows that the sheet
    /// was made of, with its place in [`Sheet::whose`].
    pub(super) fn firsts<'a>(&'a self, rows: &'a [Row]) -> impl Iterator<Item = (u32, &'a Row)> {
        let firsts = self.places.iter().zip(rows).filter(|(place, _)| **place != AGAIN);
        firsts.map(|(place, row)| (*place, row))
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

/// The muscles asked, and the column of each by its number.
fn columns(rows: &[Row]) -> (Vec<MuscleId>, Vec<usize>) {
    let most = rows.iter().map(|row| usize::from(row.asked.0) + 1).max().unwrap_or_default();
    let mut asked = vec![false; most];
    for row in rows {
        asked[usize::from(row.asked.0)] = true;
    }
    let muscles: Vec<MuscleId> = (0..)
        .map(MuscleId)
        .zip(&asked)
        .filter(|(_, asked)| **asked)
        .map(|(muscle, _)| muscle)
        .collect();
    let mut columns = vec![0; most];
    for (column, muscle) in muscles.iter().enumerate() {
        columns[usize::from(muscle.0)] = column;
    }
    (muscles, columns)
}

/// The row of the sheet that each person has in the review at hand, by the person's number; what is
/// left of earlier reviews lies below the first row of this one.
struct Seats(Vec<usize>);

impl Seats {
    fn of(rows: &[Row]) -> Self {
        let most = rows.iter().map(|row| at(row.person.0) + 1).max().unwrap_or_default();
        Self(vec![NOWHERE; most])
    }

    /// Seats those of a review from row `first` on, by number, and tells who they are.
    fn seat(&mut self, review: &[Row], first: usize) -> Vec<PersonId> {
        let mut persons = Vec::new();
        for row in review {
            let seat = &mut self.0[at(row.person.0)];
            if *seat == NOWHERE || *seat < first {
                *seat = first;
                persons.push(row.person);
            }
        }
        persons.sort_unstable();
        for (row, person) in (first..).zip(&persons) {
            self.0[at(person.0)] = row;
        }
        persons
    }
}

const NOWHERE: usize = usize::MAX;

fn at(place: u32) -> usize {
    usize::try_from(place).unwrap_or(usize::MAX)
}

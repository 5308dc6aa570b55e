//! How far the marks of a review can be trusted.

use myonym_stats::Responses;
use myonym_stats::reliability;

use super::found::Reliability;
use super::responses::Sheet;
use crate::observe::Observations;

/// Below so many students or rounds a reliability says more of chance than of the review (common
/// practice, no source).
const FEW_STUDENTS: u32 = 20;
const FEW_ROUNDS: u32 = 10;

/// KR-20 of every review, over those who were asked in every round.
pub(super) fn of_reviews(table: &Observations, word: impl Fn(u32) -> String) -> Vec<Reliability> {
    (0..).zip(table.reviews()).map(|(place, tag)| {
        let sheet = Sheet::of(table.rows_of(place));
        let whole = |row: &&Vec<Option<bool>>| row.iter().all(Option::is_some);
        let rows: Vec<_> = sheet.responses.rows().iter().filter(whole).cloned().collect();
        let persons = u32::try_from(rows.len()).unwrap_or(u32::MAX);
        let rounds = u32::try_from(sheet.muscles.len()).unwrap_or(u32::MAX);
        let found = Responses::new(rows).and_then(|rows| reliability::analyse(&rows));
        let found = found.filter(|_| !tag.adaptive);
        let words = match &found {
            _ if tag.adaptive => "The rounds were chosen from the answers, so not everyone was asked \
                the same: no reliability is defined. Abilities on the common scale hold all the same."
                .to_owned(),
            None if persons < 2 => "Fewer than two students were asked in every round: nothing can be \
                said.".to_owned(),
            None => "All who were asked in every round did equally well, or there was one round: \
                nothing can be said.".to_owned(),
            Some(found) => words(found.alpha, persons, rounds),
        };
        Reliability {
            review: tag.review,
            word: word(place),
            persons,
            rounds,
            kr20: found.as_ref().map(|found| found.alpha),
            standard_error: found.as_ref().map(|found| found.error),
            words,
        }
    }).collect()
}

fn words(alpha: f64, persons: u32, rounds: u32) -> String {
    let verdict = if alpha >= 0.8 {
        "The review tells strong from weak students well."
    } else if alpha >= 0.6 {
        "The review tells strong from weak students roughly: enough to plan by, not to grade by."
    } else {
        "Students' totals say little of who knows more: do not grade by them."
    };
    let few = match (persons < FEW_STUDENTS, rounds < FEW_ROUNDS) {
        (true, true) => {
            format!(" With {persons} students and {rounds} rounds even this is uncertain.")
        }
        (true, false) => format!(" With {persons} students even this is uncertain."),
        (false, true) => format!(" With {rounds} rounds even this is uncertain: ask more."),
        (false, false) => String::new(),
    };
    format!("{verdict}{few}")
}

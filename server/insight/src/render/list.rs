//! Reviews as a list.

use super::text::{Column, page_width, paragraph, plain, table};
use crate::review_info::ReviewInfo;

/// The reviews as a table in the order given, numbered from 1 so that one can be asked for.
pub fn list(reviews: &[ReviewInfo], width: u16) -> String {
    let width = page_width(width);
    if reviews.is_empty() {
        return paragraph(NOTHING_YET, width);
    }
    let row = |(number, review): (usize, &ReviewInfo)| {
        vec![
            (number + 1).to_string(),
            plain(&review.opened),
            format!("{}{}\n{}", plain(&review.word), state(review), held_for(review)),
            review.students.to_string(),
            review.rounds.to_string(),
        ]
    };
    let header = [
        ("no.", Column::Number),
        ("opened", Column::Keeps),
        ("join word, section, muscle list", Column::Wraps),
        ("students", Column::Number),
        ("rounds", Column::Number),
    ];
    table(&header, reviews.iter().enumerate().map(row), width)
}

/// The section, where there is one, and the muscle list.
fn held_for(review: &ReviewInfo) -> String {
    match &review.section {
        Some(section) => plain(&format!("{section}, {}", review.list)),
        None => plain(&review.list),
    }
}

/// What sets a review apart from one that is over.
fn state(review: &ReviewInfo) -> &'static str {
    match (review.ended, review.rehearsal) {
        (true, false) => "",
        (false, false) => ", not over",
        (true, true) => ", rehearsal",
        (false, true) => ", rehearsal, not over",
    }
}

const NOTHING_YET: &str = "No review has been held yet. There is nothing to report. Open a review, \
    let the class answer a round and reveal it; then ask for the report again.";

//! From a typed name to an answer: spelling decides which muscle was meant, anatomy alone decides
//! the credit.

use myonym_content::{Course, MuscleKey, Resolution};
use myonym_wire::Spelling;

use crate::event::{AskedAgainWhy, SpellingFound};
use crate::score;

/// What a typed name comes to.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Marked {
    /// An answer.
    Answer {
        said: Option<MuscleKey>,
        said_name: Option<String>,
        spelling: SpellingFound,
        exact: bool,
        credit: f64,
    },
    /// Not an answer yet: the student is asked again.
    AskAgain { why: AskedAgainWhy, among: Vec<String> },
    /// Nothing was typed.
    Empty,
}

/// Marks `typed` where `asked` was described.
///
/// In strict spelling a misspelt name is an answer and wrong, and a half name is asked for in full
/// without a list to choose from, which would give the spelling away.
pub(crate) fn mark(course: &Course, spelling: Spelling, asked: &MuscleKey, typed: &str) -> Marked {
    let strict = spelling == Spelling::Strict;
    match course.resolve(typed) {
        Resolution::Exact { muscle } => answer(course, asked, muscle, SpellingFound::Exact, false),
        Resolution::Misspelt { muscle, .. } => {
            answer(course, asked, muscle, SpellingFound::Misspelt, strict)
        }
        Resolution::WhichOne { among } => Marked::AskAgain {
            why: AskedAgainWhy::WhichOne,
            among: if strict { Vec::new() } else { names(course, &among) },
        },
        Resolution::Unknown { .. } if strict => Marked::Answer {
            said: None,
            said_name: None,
            spelling: SpellingFound::NoSuchName,
            exact: false,
            credit: 0.0,
        },
        Resolution::Unknown { nearest } => {
            Marked::AskAgain { why: AskedAgainWhy::UnknownName, among: names(course, &nearest) }
        }
        Resolution::Empty => Marked::Empty,
    }
}

fn answer(
    course: &Course,
    asked: &MuscleKey,
    said: MuscleKey,
    spelling: SpellingFound,
    void: bool,
) -> Marked {
    let right = said == *asked;
    let credit = if void { 0.0 } else { score::credit(right, course.nearness(asked, &said)) };
    let said_name = course.name_of(&said);
    Marked::Answer { said: Some(said), said_name, spelling, exact: right && !void, credit }
}

fn names(course: &Course, muscles: &[MuscleKey]) -> Vec<String> {
    muscles.iter().filter_map(|muscle| course.name_of(muscle)).collect()
}

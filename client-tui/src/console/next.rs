//! The one thing to do next.

use myonym_wire::{FromInstructor, Pace};

use super::model::{Desk, Stage};
use crate::words;

/// What Space does, and the sentence that says so.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Next {
    /// The sentence.
    pub(crate) say: String,
    /// What Space sends.
    pub(crate) step: Option<FromInstructor>,
}

/// The next step from where the review stands.
pub(crate) fn next(desk: &Desk) -> Next {
    let present = desk.roll.present();
    let students = words::count(present, "student", "students");
    let by_itself = matches!(desk.review.pace, Pace::Automatic { .. } | Pace::Group { .. });
    let (say, step) = match &desk.stage {
        // A slip must not begin a review that has no students.
        Stage::Gathering if present == 0 => {
            ("Show the link and the join word; nobody is here yet.".to_owned(), None)
        }
        Stage::Gathering => {
            (format!("Space: start with {students}"), Some(FromInstructor::Start {}))
        }
        Stage::Open { open, tally } => {
            let (answered, of) = (tally.answered, tally.of(present));
            let say = if open.watch.is_halted() {
                "p: let the time run again.  Space: close the round".to_owned()
            } else if answered >= of && of > 0 {
                "Space: close the round; everyone here has answered".to_owned()
            } else if by_itself {
                format!("{answered} of {of} answers in; it closes by itself.  Space: close now")
            } else {
                format!("Space: close the round; {answered} of {of} answers are in")
            };
            (say, Some(FromInstructor::CloseRound {}))
        }
        Stage::Closed { .. } if by_itself => (
            "The answer follows by itself.  Space: show it now".to_owned(),
            Some(FromInstructor::Reveal {}),
        ),
        Stage::Closed { .. } => {
            ("Space: show the answer".to_owned(), Some(FromInstructor::Reveal {}))
        }
        Stage::Revealed { round, of, .. } | Stage::Skipped { round, of } => {
            let then = if round.0 >= *of {
                "end the review and see its weak spots".to_owned()
            } else {
                format!("open round {} of {of}", round.0 + 1)
            };
            let say = if by_itself && matches!(desk.stage, Stage::Revealed { .. }) {
                format!("It goes on by itself.  Space: {then} now")
            } else {
                format!("Space: {then}")
            };
            (say, Some(FromInstructor::Next {}))
        }
        Stage::Ended(_) => ("q: leave the console".to_owned(), None),
    };
    Next { say, step }
}

//! What a connection must know of the two kinds of client.

use std::fmt::Debug;

use myonym_wire::{ErrorCode, FromInstructor, FromStudent, Hello, Moment, ToInstructor, ToStudent};
use serde::Serialize;
use serde::de::DeserializeOwned;

/// A kind of client: its messages, and what they mean for the connection.
pub(crate) trait Role: Debug + Send + 'static {
    /// What the server says.
    type Heard: DeserializeOwned + Debug + Send + 'static;
    /// What the client says.
    type Said: Serialize + Clone + Debug + Send + 'static;

    /// What a message means for the connection. A welcome also changes the hello into the one
    /// that returns to the same place.
    fn sort(heard: &Self::Heard, hello: &mut Hello) -> Sort;
}

/// What a message means for the connection.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Sort {
    /// The hello was taken.
    Welcome,
    /// The hello was taken, and there is nothing to come back for.
    WelcomeToTheEnd,
    /// Something was refused; before a welcome, the hello.
    Refusal(ErrorCode, String),
    /// There is nothing to come back for.
    Last,
    /// Anything else.
    Other,
}

/// The student's side.
#[derive(Debug)]
pub(crate) struct Student;

impl Role for Student {
    type Heard = ToStudent;
    type Said = FromStudent;

    fn sort(heard: &ToStudent, hello: &mut Hello) -> Sort {
        match heard {
            ToStudent::Seated { seat, review, moment, .. } => {
                if let Some(seat) = seat {
                    *hello = Hello::Return { word: review.word.clone(), seat: seat.clone() };
                }
                welcome(moment)
            }
            ToStudent::Ended { .. } | ToStudent::Removed {} => Sort::Last,
            ToStudent::Error { code, message } => Sort::Refusal(*code, message.clone()),
            ToStudent::Class { .. }
            | ToStudent::Votes { .. }
            | ToStudent::RoundOpened { .. }
            | ToStudent::Clue { .. }
            | ToStudent::Paused { .. }
            | ToStudent::Resumed { .. }
            | ToStudent::RoundClosed { .. }
            | ToStudent::RoundSkipped { .. }
            | ToStudent::Revealed { .. }
            | ToStudent::Standings { .. }
            | ToStudent::Received { .. }
            | ToStudent::Recorded { .. }
            | ToStudent::WhichOne { .. }
            | ToStudent::UnknownName { .. }
            | ToStudent::Result(_)
            | ToStudent::Summary(_)
            | ToStudent::TimeChanged { .. }
            | ToStudent::Renamed { .. }
            | ToStudent::Trouble { .. }
            | ToStudent::Unknown => Sort::Other,
        }
    }
}

/// The instructor's side.
#[derive(Debug)]
pub(crate) struct Instructor;

impl Role for Instructor {
    type Heard = ToInstructor;
    type Said = FromInstructor;

    fn sort(heard: &ToInstructor, hello: &mut Hello) -> Sort {
        match heard {
            ToInstructor::Conducting { key, review, moment, .. } => {
                if let Some(key) = key.clone().or_else(|| key_of(hello)) {
                    *hello = Hello::Conduct { word: Some(review.word.clone()), key };
                }
                welcome(moment)
            }
            ToInstructor::Ended { .. } => Sort::Last,
            ToInstructor::Error { code, message } => Sort::Refusal(*code, message.clone()),
            ToInstructor::Class { .. }
            | ToInstructor::Votes { .. }
            | ToInstructor::RoundOpened { .. }
            | ToInstructor::Clue { .. }
            | ToInstructor::Paused { .. }
            | ToInstructor::Resumed { .. }
            | ToInstructor::RoundClosed { .. }
            | ToInstructor::RoundSkipped { .. }
            | ToInstructor::Revealed { .. }
            | ToInstructor::Standings { .. }
            | ToInstructor::Roll { .. }
            | ToInstructor::Gone { .. }
            | ToInstructor::Tally { .. }
            | ToInstructor::WeakSpots(_)
            | ToInstructor::Coming(_)
            | ToInstructor::Trouble { .. }
            | ToInstructor::Unknown => Sort::Other,
        }
    }
}

fn welcome(moment: &Moment) -> Sort {
    if matches!(moment, Moment::Ended { .. }) { Sort::WelcomeToTheEnd } else { Sort::Welcome }
}

fn key_of(hello: &Hello) -> Option<myonym_wire::HostKey> {
    match hello {
        Hello::Conduct { key, .. } | Hello::Open { key, .. } => Some(key.clone()),
        Hello::Join { .. } | Hello::Return { .. } | Hello::Gather { .. } | Hello::Watch { .. } => {
            None
        }
    }
}

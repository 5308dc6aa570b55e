//! The little that a client here needs of a message. Reading only this keeps the clients cheap;
//! the test at the bottom holds it to the wire's own types.

use std::borrow::Cow;

use myonym_wire::{AttemptId, RoundNo};
use serde::Deserialize;

/// What a message is, to someone who measures.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Heard {
    /// A seat was given.
    Seated,
    /// The first clue of a round.
    RoundOpened(RoundNo),
    /// A later clue of the round, by number.
    Clue(RoundNo, u8),
    /// An answer has reached the server.
    Received(AttemptId),
    /// An answer is on disk.
    Recorded(AttemptId),
    /// An answer was not taken as one: unknown, or fitting several muscles.
    AskedAgain(AttemptId),
    /// The round does not count.
    RoundSkipped,
    /// The round takes no more answers.
    RoundClosed,
    /// The answer and how the class did.
    Revealed,
    /// One's own result.
    Result,
    /// The first places: the last message of a reveal.
    Standings,
    /// The review is over.
    Ended,
    /// A refusal, in words.
    Refused(String),
    /// Anything else.
    Other,
}

/// The fields looked at; serde skips all others.
#[derive(Deserialize)]
struct Fields<'a> {
    #[serde(rename = "type", borrow)]
    kind: Cow<'a, str>,
    round: Option<RoundNo>,
    number: Option<u8>,
    attempt: Option<AttemptId>,
    #[serde(borrow)]
    message: Option<Cow<'a, str>>,
}

impl Heard {
    /// Reads one message from the server.
    pub(crate) fn read(text: &str) -> anyhow::Result<Self> {
        let fields: Fields<'_> = serde_json::from_str(text)?;
        Ok(match (&*fields.kind, fields.round, fields.attempt) {
            ("seated", ..) => Self::Seated,
            ("round_opened", Some(round), _) => Self::RoundOpened(round),
            ("clue", Some(round), _) => Self::Clue(round, fields.number.unwrap_or(0)),
            ("received", _, Some(attempt)) => Self::Received(attempt),
            ("recorded", _, Some(attempt)) => Self::Recorded(attempt),
            ("which_one" | "unknown_name", _, Some(attempt)) => Self::AskedAgain(attempt),
            ("round_skipped", ..) => Self::RoundSkipped,
            ("round_closed", ..) => Self::RoundClosed,
            ("revealed", ..) => Self::Revealed,
            ("result", ..) => Self::Result,
            ("standings", ..) => Self::Standings,
            ("ended", ..) => Self::Ended,
            ("removed", ..) => Self::Refused("removed from the review".to_owned()),
            ("trouble", ..) => Self::Refused("the server cannot save answers just now".to_owned()),
            ("error", ..) => Self::Refused(fields.message.unwrap_or_default().into_owned()),
            _ => Self::Other,
        })
    }
}

#[cfg(test)]
mod tests {
    use myonym_wire::{CloseWhy, EndWhy, ErrorCode, Seq, ToInstructor, ToStudent, encode};
    use uuid::Uuid;

    use super::*;
    use crate::script::Script;

    const ROUND: RoundNo = RoundNo(3);
    const ATTEMPT: AttemptId = AttemptId(Uuid::from_u128(9));

    fn check(text: &str, want: &Heard) {
        assert_eq!(&Heard::read(text).unwrap(), want, "{text}");
    }

    #[test]
    fn the_wire_is_understood() {
        let (round, attempt, seq) = (ROUND, ATTEMPT, Seq(1));
        let told = |message: ToStudent, want: Heard| check(&encode(&message), &want);
        told(ToStudent::Received { round, attempt }, Heard::Received(attempt));
        told(ToStudent::Recorded { round, attempt }, Heard::Recorded(attempt));
        let none = Vec::new();
        told(
            ToStudent::WhichOne { round, attempt, among: none.clone() },
            Heard::AskedAgain(attempt),
        );
        told(ToStudent::UnknownName { round, attempt, nearest: none }, Heard::AskedAgain(attempt));
        told(ToStudent::Ended { seq, why: EndWhy::Finished }, Heard::Ended);
        told(ToStudent::Class { present: 1, seated: 1 }, Heard::Other);
        let (code, message) = (ErrorCode::TooLate, "say \"when\"".to_owned());
        told(ToStudent::Error { code, message: message.clone() }, Heard::Refused(message));
        let why = CloseWhy::AllAnswered;
        let closed = ToInstructor::RoundClosed { seq, round, why, answered: 1, seated: 1 };
        check(&encode(&closed), &Heard::RoundClosed);
    }

    #[test]
    fn what_baselines_tell_is_understood() {
        let script = Script::sample(300);
        let [opened, skipped, closed, revealed, result, standings] = script.at(ROUND);
        check(&opened, &Heard::RoundOpened(ROUND));
        check(&skipped, &Heard::RoundSkipped);
        check(&closed, &Heard::RoundClosed);
        check(&revealed, &Heard::Revealed);
        check(&result, &Heard::Result);
        check(&standings, &Heard::Standings);
        check(&script.seated, &Heard::Seated);
    }

    #[test]
    fn what_is_no_message_is_an_error() {
        assert!(Heard::read("").is_err());
        assert!(Heard::read("{}").is_err());
    }
}

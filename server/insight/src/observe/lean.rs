//! An answer as it stands in the log, read without what no analysis needs: a term has a million.

use std::borrow::Cow;

use myonym_engine::{Answer, SpellingFound};
use myonym_wire::{RoundNo, StudentId};
use serde::{Deserialize, Deserializer};

/// The fields of a logged [`Answer`] that analyses use, borrowed from the text of the log.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct LeanAnswer<'a> {
    /// Which round.
    pub round: RoundNo,
    /// Who.
    pub student: StudentId,
    /// As typed.
    #[serde(borrow)]
    pub typed: Cow<'a, str>,
    /// Key of the muscle that was meant.
    #[serde(borrow, default, deserialize_with = "borrowed")]
    pub said: Option<Cow<'a, str>>,
    /// Its English name.
    #[serde(borrow, default, deserialize_with = "borrowed")]
    pub said_name: Option<Cow<'a, str>>,
    /// How it was spelt.
    pub spelling: SpellingFound,
    /// Whether it was right.
    pub exact: bool,
    /// What it earned, from 0 to 1.
    pub credit: f64,
    /// Elapsed time credited, in milliseconds.
    pub elapsed_ms: u64,
    /// Number of clues on the screen.
    pub clues: u8,
}

/// Within an `Option`, serde would copy what it may borrow.
fn borrowed<'a, 'de: 'a, D: Deserializer<'de>>(
    deserializer: D,
) -> Result<Option<Cow<'a, str>>, D::Error> {
    #[derive(Deserialize)]
    struct Text<'t>(#[serde(borrow)] Cow<'t, str>);
    Ok(Option::<Text<'a>>::deserialize(deserializer)?.map(|Text(text)| text))
}

impl<'a> LeanAnswer<'a> {
    /// Reads it from the JSON of a logged answer.
    ///
    /// # Errors
    ///
    /// If the text is not such an answer.
    pub fn parse(json: &'a str) -> Result<Self, serde_json::Error> {
        Self::written(json).map_or_else(|| serde_json::from_str(json), Ok)
    }
}

impl<'a> From<&'a Answer> for LeanAnswer<'a> {
    fn from(answer: &'a Answer) -> Self {
        Self {
            round: answer.round,
            student: answer.student,
            typed: Cow::Borrowed(&answer.typed),
            said: answer.said.as_ref().map(|said| Cow::Borrowed(said.as_str())),
            said_name: answer.said_name.as_deref().map(Cow::Borrowed),
            spelling: answer.spelling,
            exact: answer.exact,
            credit: answer.credit,
            elapsed_ms: answer.elapsed_ms,
            clues: answer.clues,
        }
    }
}

//! Names for things: each its own type, so that one cannot be passed for another.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::limits::JOIN_WORD_BONES;

macro_rules! uuid_ids {
    ($($(#[$doc:meta])* $name:ident;)+) => {$(
        $(#[$doc])*
        #[derive(
            Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize,
            schemars::JsonSchema,
        )]
        #[serde(transparent)]
        pub struct $name(pub Uuid);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }
    )+};
}

uuid_ids! {
    /// A review. Version 7, so that ids sort by the time of opening.
    ReviewId;
    /// A student in one review: a random number. The name stands elsewhere.
    StudentId;
    /// One try at answering, chosen by the client at random. Sending it again changes nothing.
    AttemptId;
}

macro_rules! secrets {
    ($($(#[$doc:meta])* $name:ident;)+) => {$(
        $(#[$doc])*
        #[derive(Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
        #[serde(try_from = "String", into = "String")]
        #[schemars(with = "String", extend("pattern" = "^[0-9a-f]{32}$"))]
        pub struct $name(String);

        impl $name {
            /// Makes one from 128 bits, which must come from the operating system's entropy.
            pub fn from_bits(bits: u128) -> Self {
                Self(format!("{bits:032x}"))
            }

            /// The 32 hexadecimal digits. Never log them.
            pub fn reveal(&self) -> &str {
                &self.0
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(concat!(stringify!($name), "(secret)"))
            }
        }

        impl FromStr for $name {
            type Err = BadToken;
            fn from_str(text: &str) -> Result<Self, BadToken> {
                let hex = |b: &u8| b.is_ascii_digit() || (b'a'..=b'f').contains(b);
                if text.len() == 32 && text.as_bytes().iter().all(hex) {
                    Ok(Self(text.to_owned()))
                } else {
                    Err(BadToken)
                }
            }
        }

        impl TryFrom<String> for $name {
            type Error = BadToken;
            fn try_from(text: String) -> Result<Self, BadToken> {
                text.parse()
            }
        }

        impl From<$name> for String {
            fn from(token: $name) -> Self {
                token.0
            }
        }
    )+};
}

secrets! {
    /// What a student's client keeps to come back to the same seat: 32 hexadecimal digits.
    SeatToken;
    /// What a student's device keeps to be known again in another review: 32 hexadecimal digits.
    PersonToken;
    /// What lets an instructor conduct a review: 32 hexadecimal digits.
    HostKey;
}

/// The text is not 32 lower-case hexadecimal digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BadToken;

impl fmt::Display for BadToken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a key is 32 digits 0-9 and a-f")
    }
}

impl std::error::Error for BadToken {}

/// Bone names joined by hyphens, two to five, such as `radius-talus`, that can be said aloud: more
/// where strangers reach the server or it keeps many reviews, so that none is found by trying.
///
/// The server gives it out in this form. In what a person types it also takes capitals, and spaces
/// or underscores for hyphens, and puts them right.
#[derive(
    Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(try_from = "String", into = "String")]
#[schemars(with = "String", extend("pattern" = "^[a-z]+(-[a-z]+){1,4}$"))]
pub struct JoinWord(String);

impl JoinWord {
    /// The word as written, such as `radius-talus`.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FromStr for JoinWord {
    type Err = BadJoinWord;
    fn from_str(text: &str) -> Result<Self, BadJoinWord> {
        if text.len() > 64 {
            return Err(BadJoinWord);
        }
        let split = |c: char| c.is_whitespace() || c == '-' || c == '_';
        let bones: Vec<String> =
            text.split(split).filter(|s| !s.is_empty()).map(str::to_ascii_lowercase).collect();
        let spelt = bones.iter().all(|bone| bone.bytes().all(|b| b.is_ascii_lowercase()));
        if spelt && (2..=JOIN_WORD_BONES).contains(&bones.len()) {
            Ok(Self(bones.join("-")))
        } else {
            Err(BadJoinWord)
        }
    }
}

impl TryFrom<String> for JoinWord {
    type Error = BadJoinWord;
    fn try_from(text: String) -> Result<Self, BadJoinWord> {
        text.parse()
    }
}

impl From<JoinWord> for String {
    fn from(word: JoinWord) -> Self {
        word.0
    }
}

impl fmt::Display for JoinWord {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// The text is not two to five words of letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BadJoinWord;

impl fmt::Display for BadJoinWord {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a join word is two or more bone names, such as radius-talus")
    }
}

impl std::error::Error for BadJoinWord {}

/// The number of a round in its review, from 1.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(transparent)]
pub struct RoundNo(pub u16);

impl fmt::Display for RoundNo {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// The number of an event in its review, from 1. A message's `seq` is that of the event that it
/// tells of, or the last one for `seated` and `conducting`. It never falls; gaps are no loss,
/// because most events are told to one person or as counts.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Default,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(transparent)]
pub struct Seq(pub u64);

impl Seq {
    /// The number after this one.
    #[must_use]
    pub fn next(self) -> Self {
        Self(self.0 + 1)
    }
}

/// Milliseconds: a length of time, or a time since the review opened. Never a wall clock.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Default,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(transparent)]
pub struct Millis(pub u64);

impl Millis {
    /// `self + other`, held at the largest value.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }

    /// `self - other`, never below zero.
    #[must_use]
    pub fn minus(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn join_words_are_put_right_or_refused() {
        let check = |typed: &str, want: Option<&str>| {
            assert_eq!(typed.parse::<JoinWord>().ok().as_ref().map(JoinWord::as_str), want);
        };
        check("radius-talus", Some("radius-talus"));
        check(" Radius  TALUS ", Some("radius-talus"));
        check("radius_talus-ulna", Some("radius-talus-ulna"));
        check("radius", None);
        check("", None);
        check("a-b-c-d-e", Some("a-b-c-d-e"));
        check("a-b-c-d-e-f", None);
        check("r4dius-talus", None);
        check(&"a".repeat(70), None);
    }

    #[test]
    fn a_key_is_never_printed_by_debug() {
        let key = HostKey::from_bits(7);
        assert_eq!(format!("{key:?}"), "HostKey(secret)");
        assert_eq!(key.reveal().parse::<HostKey>(), Ok(key));
        assert!("7".parse::<HostKey>().is_err());
        assert!("G".repeat(32).parse::<SeatToken>().is_err());
    }
}

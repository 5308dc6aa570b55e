//! The words of a review that rules and messages share.

use serde::{Deserialize, Serialize};

/// How points follow from credit c, elapsed time t and the student's own limit d.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum ScoreRule {
    /// 100 c (1 - t / 2d): never negative, and a slow right answer beats any fast near-miss.
    #[default]
    SpeedWeighted,
    /// 100 (2c - 1)(1 - t / d): a wrong answer costs as much as a right one earns, silence is 0.
    SignedResidualTime,
}

/// How typed names are marked.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Spelling {
    /// A misspelling that can only mean one muscle counts as that muscle.
    #[default]
    Tolerant,
    /// As in a practical: a misspelt name is wrong.
    Strict,
}

/// Who moves the review on.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum Pace {
    /// The instructor reveals and opens each round.
    #[default]
    Instructor,
    /// Rounds are revealed when they close, and the next opens by itself.
    Automatic {
        /// How long a reveal stays, in milliseconds.
        reveal_ms: u32,
    },
}

/// How much time one student has, beside the rest of the class.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum TimeAllowance {
    /// The limit of the class.
    #[default]
    Standard,
    /// The limit of the class times `percent` / 100.
    Stretched {
        /// From 150 to 1000.
        #[schemars(range(min = 150, max = 1000))]
        percent: u16,
    },
    /// No limit of its own: the round waits until the instructor closes it.
    Untimed,
}

impl TimeAllowance {
    /// This student's limit in milliseconds where the class has `base_ms`; `None` is no limit.
    pub fn limit_ms(self, base_ms: u32) -> Option<u32> {
        match self {
            Self::Standard => Some(base_ms),
            Self::Stretched { percent } => {
                let stretched = u64::from(base_ms) * u64::from(percent) / 100;
                Some(u32::try_from(stretched).unwrap_or(u32::MAX))
            }
            Self::Untimed => None,
        }
    }

    /// Whether the percentage, if there is one, lies from 150 to 1000.
    pub fn is_valid(self) -> bool {
        match self {
            Self::Standard | Self::Untimed => true,
            Self::Stretched { percent } => (150..=1000).contains(&percent),
        }
    }
}

/// How one student's round came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// The muscle described.
    Right,
    /// A neighbour that is near enough to earn some credit.
    Near,
    /// Another muscle, or in strict spelling a misspelt name.
    Wrong,
    /// No answer.
    Silent,
}

/// Why a round takes no more answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum CloseWhy {
    /// The time limit passed.
    TimeUp,
    /// Everyone here has answered.
    AllAnswered,
    /// The instructor closed it.
    Instructor,
}

/// Why a review is over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum EndWhy {
    /// All rounds are done.
    Finished,
    /// The instructor ended it early.
    Instructor,
    /// Nobody came back to it.
    Abandoned,
}

/// Something that the server cannot do just now; the review goes on once it can.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Trouble {
    /// Answers cannot be saved (a full disk, say). The open round will be skipped.
    CannotSave,
    /// Saving works again.
    SavingAgain,
}

/// Why a message was refused. The review goes on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ErrorCode {
    /// Not JSON, or not an object with a `type`.
    NotReadable,
    /// No message of this connection has that `type`.
    UnknownType,
    /// A field is missing, unknown, or out of its range.
    BadField,
    /// The first message must be `join`, `return`, `conduct` or `open`.
    HelloFirst,
    /// No review has this join word.
    NoSuchReview,
    /// The key or the seat is not known here.
    NotAllowed,
    /// The name is empty after cleaning, or too long.
    BadName,
    /// The room is full.
    RoomFull,
    /// The review is over.
    ReviewOver,
    /// This cannot be done at this moment of the review.
    NotNow,
    /// That round is not open.
    RoundNotOpen,
    /// Your own time limit has passed.
    TooLate,
    /// This round already has your answer.
    AlreadyAnswered,
    /// No such student in this review.
    NoSuchStudent,
    /// Too many messages in a short time.
    TooMany,
    /// Too many wrong join words or keys: wait a little.
    SlowDown,
    /// Answers cannot be saved just now.
    CannotSave,
}

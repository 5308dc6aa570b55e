//! The words of a review that rules and messages share.

use serde::{Deserialize, Serialize};

/// What a round asks for.
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
#[serde(rename_all = "snake_case")]
pub enum Task {
    /// The muscle's name, from clues in words.
    #[default]
    Name,
    /// The muscle's name, from a picture of its line of pull that names nothing.
    Picture,
    /// A movement that the muscle makes, from all its attachments; the muscle is not named.
    Movement,
    /// Which of two muscles the clues describe; the names of both are told.
    Contrast,
}

/// How points follow from credit c, elapsed time t and the student's own limit d. The credit of the
/// right muscle or movement is 1, of a near-miss above 0 and at most 1/4, of another 0, and of the wrong one of
/// two 0 however near; without a limit t / d is 0; silence earns 0.
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

/// How typed names of muscles and movements are marked.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Spelling {
    /// A misspelling that can only mean one muscle (or movement) counts as that. To a name that none
    /// has, the student is asked again (`unknown_name`).
    #[default]
    Tolerant,
    /// As in a practical: a misspelt name, or one that nothing has, is an answer and wrong. Only to
    /// half a name the student is asked again (`which_one`). Where two names are offered, spelling is
    /// not asked for.
    Strict,
}

/// Who moves the review on.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum Pace {
    /// The instructor reveals and opens each round; it closes by itself or on command.
    #[default]
    Instructor,
    /// Rounds are revealed when they close, and the next opens by itself: after a reveal when it
    /// has stayed long enough, after a skip at once, while any student is connected. The first is
    /// still the instructor's to open, and every command may go ahead of the clock.
    Automatic {
        /// How long a reveal stays, in milliseconds.
        reveal_ms: u32,
    },
    /// A study group without an instructor: any member opens the first round (`start`), rounds go on
    /// by themselves as with automatic pace, and the members vote on everything else. It ends by
    /// itself once nobody has been connected for ten minutes.
    Group {
        /// How long a reveal stays, in milliseconds.
        reveal_ms: u32,
    },
}

/// What a study group votes on. More than half of the members connected decide. A vote is void once
/// what it is on has come about or can no more, its member has left or was removed, or the server was
/// stopped; one on anything but the end also when a round opens, closes or is skipped.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Motion {
    /// To leave this round out. While it is open.
    Skip,
    /// To stop the time. While it runs, in a round or between two.
    Pause,
    /// To let it run again.
    Resume,
    /// To open the next round now. After a reveal or a skip.
    Next,
    /// To end the review. At any time.
    End,
}

/// How much time one student has, beside the rest of the class. Each round goes by what stood when
/// it opened, or when the student came in.
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
    /// No limit: the round waits for this student's answer until the instructor closes it; with
    /// automatic pace ten times the limit of the class, and while the student is not connected no
    /// longer than for the class.
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
    /// The muscle described; or a movement that it makes, as taught or surely by its line of pull.
    Right,
    /// A neighbour that is near enough to earn some credit; or a movement that the line of pull makes
    /// likely, and that is taught nowhere.
    Near,
    /// Another muscle or movement, or in strict spelling a misspelt name or one that nothing has.
    Wrong,
    /// No answer from a student who was connected when the round closed.
    Silent,
}

/// Why a round takes no more answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum CloseWhy {
    /// The time limit passed, of the class and of those with more time who have not answered. The
    /// server waits 0.29 s longer for answers under way.
    TimeUp,
    /// Everyone who was here at some time of the round has answered or left. One whose connection
    /// was lost is waited for.
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
    /// The instructor ended it early, or a study group's votes did.
    Instructor,
    /// A stop of the server broke it off, and it was not taken up again; or a study group had nobody
    /// connected for ten minutes.
    Abandoned,
}

/// Something that the server cannot do just now; the review goes on once it can.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Trouble {
    /// Answers cannot be saved (a full disk, say). The open round will be skipped; answers received
    /// but not recorded are lost.
    CannotSave,
    /// Saving works again. Everyone is told anew where the review stands (`seated`, `conducting`).
    SavingAgain,
}

/// Why a message was refused. The review goes on. The connection stays open, save after a refused
/// first message, after `too_many`, and after the third message that cannot be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum ErrorCode {
    /// Not JSON, or not an object with a `type`.
    NotReadable,
    /// No message of this connection has that `type` (a first message: `hello_first`).
    UnknownType,
    /// A field is missing, unknown, or out of its range; or an answer has no letter or digit.
    BadField,
    /// The first message must be `join`, `return`, `conduct`, `open`, `gather` or `watch`.
    HelloFirst,
    /// No review has this join word; or it was left out and the server keeps none or several.
    NoSuchReview,
    /// The key or the seat is not known here, or this key may not do that; or this server takes no
    /// study groups; or only a member of one may do it; or the name is not on the server's roster, or
    /// is taken.
    NotAllowed,
    /// The name is empty after cleaning, or too long.
    BadName,
    /// The review has no seat left, or no place for another board.
    RoomFull,
    /// The review is over. (`return` and `conduct` still show how it ended.)
    ReviewOver,
    /// This cannot be done at this moment of the review: a command in the wrong phase, or an answer
    /// while the time stands still.
    NotNow,
    /// That round is not open: over, or not begun.
    RoundNotOpen,
    /// Your own time limit has passed, though the round is still open.
    TooLate,
    /// This round already has your answer, from another attempt.
    AlreadyAnswered,
    /// No such student in this review.
    NoSuchStudent,
    /// Too many messages in a short time; the connection closes.
    TooMany,
    /// Too many wrong join words or keys from this address: ten at once, one more every 3 s. Until
    /// then right ones are refused as well: wait some seconds and try again. Or too many study groups:
    /// five from this address at once, one more every minute, 200 on the server.
    SlowDown,
    /// Answers cannot be saved just now: try again once `saving_again` is told, or after a second.
    CannotSave,
}

//! What is shown: clues, reveals, results, standings, and where a review stands.

use serde::{Deserialize, Serialize};

use crate::{
    AttemptId, CloseWhy, EndWhy, JoinWord, Motion, Pace, Picture, ReviewId, RoundNo, ScoreRule,
    Spelling, Task, Verdict,
};

/// What a newcomer has to know of a review.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ReviewInfo {
    /// Its id.
    pub review: ReviewId,
    /// Its join word.
    pub word: JoinWord,
    /// Name of the muscle list, for people; not the key that `open` takes.
    pub list: String,
    /// Number of rounds; skipped ones count.
    pub rounds: u16,
    /// Time limit of a round for the class, in milliseconds.
    pub limit_ms: u32,
    /// What its rounds ask for, each once.
    #[serde(default)]
    pub tasks: Vec<Task>,
    /// How points are given.
    pub rule: ScoreRule,
    /// How typed names are marked.
    pub spelling: Spelling,
    /// Who moves the review on.
    pub pace: Pace,
    /// Whether rounds are chosen by what was answered so far.
    #[serde(default)]
    pub adaptive: bool,
}

/// One clue, as a sentence that needs nothing else.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ClueShown {
    /// What it speaks of, such as `action` or `insertion`; `attachments` is both ends at once, and
    /// `picture` a picture.
    pub kind: String,
    /// The sentence.
    pub text: String,
    /// The picture, where the clue is one: it names nothing. Left out in a reveal, which has better
    /// ones.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub picture: Option<Box<Picture>>,
}

/// A muscle's names.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct NamePair {
    /// English, such as `teres minor`.
    pub name: String,
    /// Latin, such as `musculus teres minor`.
    pub latin: String,
}

/// How many answered one name of a muscle, or one movement.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SpreadRow {
    /// The name, such as `teres minor` or `flexion of the forearm`; in strict spelling, one that
    /// nothing has is `(no such name)` or `(no such movement)`, and a right one misspelt has a line
    /// of its own, marked wrong.
    pub name: String,
    /// Number of students.
    pub count: u32,
    /// How it was marked.
    pub verdict: Verdict,
}

/// What separates the muscle asked from the class's commonest wrong answer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct ContrastShown {
    /// The muscle described.
    pub asked: String,
    /// The muscle that was answered.
    pub said: String,
    /// How many answered it; 0 only where it was offered.
    pub count: u32,
    /// What the two have in common, one phrase each.
    pub shared: Vec<String>,
    /// What tells them apart, most telling first.
    pub apart: Vec<DifferenceShown>,
}

/// One feature that separates two muscles.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct DifferenceShown {
    /// The feature, such as `action` or `insertion`.
    pub aspect: String,
    /// How the muscle asked has it.
    pub asked: String,
    /// How the muscle answered has it.
    pub said: String,
}

/// The end of a round: the answer and how the class did.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Reveal {
    /// What the round asked for.
    #[serde(default)]
    pub task: Task,
    /// The muscle described.
    pub answer: NamePair,
    /// Where a movement was asked for, those that are right, the taught ones first; else empty.
    #[serde(default)]
    pub movements: Vec<String>,
    /// Every clue of the round, shown or not.
    pub clues: Vec<ClueShown>,
    /// What was answered, commonest first.
    pub spread: Vec<SpreadRow>,
    /// How many were connected when the round closed and gave no answer.
    pub silent: u32,
    /// The contrast with the commonest wrong answer, if there was one; never with a movement. Where
    /// two muscles were offered, always with the other one, whether anybody chose it or not.
    pub contrast: Option<ContrastShown>,
    /// Why the muscle does what it does: a sentence for each action that the course teaches.
    #[serde(default)]
    pub explanations: Vec<String>,
    /// The muscle with its labels, and second, at the same scale, the one of the contrast; empty
    /// where there is no picture of it.
    #[serde(default)]
    pub pictures: Vec<Picture>,
}

/// One student's own result of a round.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct OwnResult {
    /// The round.
    pub round: RoundNo,
    /// How the answer was marked.
    pub verdict: Verdict,
    /// The name or movement that was understood, or the typed text where nothing has that name;
    /// absent for silence.
    pub answer: Option<String>,
    /// Points of this round, to one hundredth.
    pub points: f64,
    /// Points of the review so far, this round's among them.
    pub total: f64,
    /// Place in the class from 1; equal points share a place.
    pub place: u32,
    /// Number of students that have a place.
    pub of: u32,
}

/// One line of the standings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct StandingRow {
    /// Place from 1; equal points share a place.
    pub place: u32,
    /// The student's name; absent for one who did not ask to be listed.
    pub name: Option<String>,
    /// Points of the review so far.
    pub points: f64,
}

/// How many of a study group are for something.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct VoteRow {
    /// For what.
    pub motion: Motion,
    /// Members for it who are connected.
    pub yes: u32,
    /// Members that it takes.
    pub needed: u32,
}

/// A student's own answer in the round at hand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Given {
    /// The attempt that was taken.
    pub attempt: AttemptId,
    /// What was typed.
    pub text: String,
    /// Whether it is on disk (`recorded`) or only received.
    pub recorded: bool,
}

/// A student's own review, looked back on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Summary {
    /// The rounds that this student answered or was silent in; skipped ones are left out.
    pub rounds: Vec<SummaryRow>,
    /// What to look at again, most pressing first, at most six.
    pub again: Vec<Again>,
    /// Points of the review.
    pub total: f64,
    /// Place in the class.
    pub place: u32,
    /// Number of students that have a place.
    pub of: u32,
}

/// One round of a summary.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct SummaryRow {
    /// The round.
    pub round: RoundNo,
    /// What it asked for.
    #[serde(default)]
    pub task: Task,
    /// The muscle described.
    pub asked: String,
    /// How the answer was marked.
    pub verdict: Verdict,
    /// What was answered; absent for silence.
    pub answer: Option<String>,
    /// Points of the round.
    pub points: f64,
}

/// A muscle, or what it does, to look at again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Again {
    /// What the round asked for.
    #[serde(default)]
    pub task: Task,
    /// The muscle described.
    pub muscle: String,
    /// What was answered in its place; absent for silence, or a name that nothing has. The same
    /// as `muscle` if that was misspelt (strict spelling).
    pub said: Option<String>,
    /// The feature that separates the two.
    pub apart: Option<DifferenceShown>,
}

/// Where a review stands, told to someone who joins or returns. To an instructor `given`, `result`
/// and `summary` are absent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(tag = "phase", rename_all = "snake_case")]
pub enum Moment {
    /// Students take their seats.
    Gathering {},
    /// A round takes answers.
    Open {
        /// The round.
        round: RoundNo,
        /// Number of rounds.
        of: u16,
        /// What it asks for.
        #[serde(default)]
        task: Task,
        /// As in `round_opened`.
        example: Option<String>,
        /// As in `round_opened`.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        offered: Vec<String>,
        /// Time limit for the class, in milliseconds.
        limit_ms: u32,
        /// Time run so far, in milliseconds, less pauses and stops of the server.
        elapsed_ms: u64,
        /// Whether the time stands still.
        paused: bool,
        /// Clues shown so far.
        clues: Vec<ClueShown>,
        /// Number of clues that the round has.
        clue_count: u8,
        /// Your own answer, if it was taken.
        given: Option<Given>,
    },
    /// A round takes no more answers and is not revealed yet.
    Closed {
        /// The round.
        round: RoundNo,
        /// Number of rounds.
        of: u16,
        /// What it asked for.
        #[serde(default)]
        task: Task,
        /// As in `round_opened`.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        offered: Vec<String>,
        /// Why it closed.
        why: CloseWhy,
        /// Clues shown.
        clues: Vec<ClueShown>,
        /// Your own answer, if it was taken.
        given: Option<Given>,
    },
    /// A round is revealed.
    Revealed {
        /// The round.
        round: RoundNo,
        /// Number of rounds.
        of: u16,
        /// The answer and how the class did.
        reveal: Box<Reveal>,
        /// Your own result; absent for one who neither answered nor was connected when it
        /// closed.
        result: Option<OwnResult>,
        /// The standings, at most ten lines.
        standings: Vec<StandingRow>,
    },
    /// A round was skipped: it does not count. The next opens when the instructor says so, or by
    /// itself with automatic pace.
    Skipped {
        /// The round.
        round: RoundNo,
        /// Number of rounds.
        of: u16,
    },
    /// The review is over.
    Ended {
        /// Why.
        why: EndWhy,
        /// Your own summary.
        summary: Option<Summary>,
        /// The standings, at most ten lines.
        standings: Vec<StandingRow>,
    },
}

//! What an analysis found, as plain data: what every report shows, and nothing of a single student.

use myonym_content::{Difference, MuscleKey};
use myonym_wire::ReviewId;
use serde::{Deserialize, Serialize};

use crate::estimate::Estimate;
use crate::predicted::Predicted;
use crate::rows::Unclear;

/// The number of this form. A field may be added; the number goes up when one changes its meaning
/// or goes away.
pub const FORM: u16 = 1;

/// All that was found in some reviews.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Analysis {
    /// The form, see [`FORM`].
    pub form: u16,
    /// What it rests on.
    pub basis: Basis,
    /// What to teach again, the most urgent first.
    pub teach: Vec<Teach>,
    /// All confused pairs, the clearest first.
    pub pairs: Vec<Pair>,
    /// Who is taken for whom, with neighbours beside each other.
    pub map: ConfusionMap,
    /// All muscles asked, the hardest first.
    pub items: Vec<Item>,
    /// How far the marks of each review can be trusted.
    pub reliability: Vec<Reliability>,
    /// How each section came on, review by review, on one scale.
    pub progress: Vec<Progress>,
    /// What the class overlooks in clues, the clearest first.
    pub cues: Vec<CueFound>,
    /// Shares right by kind of clue, compartment and region.
    pub areas: Vec<Area>,
    /// Movements where they were asked for.
    pub movements: Vec<Predicted>,
    /// Choices between two muscles, the hardest first.
    #[serde(default)]
    pub contrasts: Vec<Chosen>,
    /// Typed names that fit several muscles or none, if at least two students typed them, commonest
    /// first: what one person types may be anything, even a name.
    #[serde(default)]
    pub unclear: Vec<Unclear>,
}

/// What an analysis rests on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Basis {
    /// The reviews, in order of time.
    pub reviews: Vec<ReviewLine>,
    /// Rounds that were revealed and asked for a name.
    pub rounds: u32,
    /// Answers, silence not counted.
    pub answers: u32,
    /// Rounds of students who were there and gave no answer.
    pub silent: u32,
    /// Persons who were asked at least once; one who came from two devices counts twice.
    pub persons: u32,
    /// What was asked for: sections, dates, lists; empty for everything.
    pub filter: Vec<String>,
}

/// A review that was read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReviewLine {
    /// Its id.
    pub review: ReviewId,
    /// Its join word.
    pub word: String,
    /// The section that it was held for.
    pub section: Option<String>,
    /// Date and time of its opening, as text for people.
    pub opened: String,
    /// The same in seconds since 1970.
    pub opened_s: i64,
    /// Name of its muscle list.
    pub list: String,
    /// Persons who were asked in it.
    pub persons: u32,
    /// Rounds that were revealed.
    pub rounds: u32,
    /// Students asked, once for each round.
    #[serde(default)]
    pub asked: u32,
    /// Right answers.
    #[serde(default)]
    pub right: u32,
}

/// A muscle by key and name.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Named {
    /// Its key.
    pub key: MuscleKey,
    /// Its English name.
    pub name: String,
}

/// One thing to teach again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Teach {
    /// In a few words: `teres minor, taken for teres major`.
    pub headline: String,
    /// One plain sentence: what to teach, with the count that it rests on.
    pub sentence: String,
    /// What separates the two muscles, where it is a pair.
    pub apart: Option<Difference>,
    /// The same fact of geometry, where the atlas has one.
    pub line_of_pull: Option<Difference>,
    /// Wrong answers to be expected when it is asked again of as many.
    pub at_stake: f64,
    /// The muscles concerned: asked first.
    pub muscles: Vec<Named>,
}

/// One muscle answered for another.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Pair {
    /// The muscle asked.
    pub asked: Named,
    /// The muscle answered.
    pub said: Named,
    /// How often, one a student and round.
    pub count: u32,
    /// Of how many answers that were given when it was asked; silence is none.
    pub of: u32,
    /// The share, with its 95 % interval.
    pub rate: Estimate,
    /// The share that is to be expected, drawn towards that of like pairs.
    pub shrunken: f64,
    /// Its 95 % interval.
    pub shrunken_low: f64,
    /// Its 95 % interval.
    pub shrunken_high: f64,
    /// The other way round: how often, and of how many answers.
    pub back: (u32, u32),
    /// Both ways together, with the interval; `None` if neither was asked.
    pub either: Option<Estimate>,
    /// Whether one direction is commoner.
    pub direction: Direction,
    /// Whether it is commoner than favourite guesses explain, beyond chance.
    pub stands_out: bool,
    /// How alike the two are to the class, from 0 to 1, with favourite guesses taken out; `None`
    /// where there is too little to say.
    pub similarity: Option<f64>,
    /// How often the answered muscle is guessed whatever is asked, times what all alike would be.
    pub favourite: Option<f64>,
    /// Whether the muscles are neighbours by their facts.
    pub neighbours: bool,
    /// The most telling difference; `first` is the muscle asked.
    pub apart: Option<Difference>,
    /// The difference in their lines of pull.
    pub line_of_pull: Option<Difference>,
}

/// Which way round a pair is confused.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "is", rename_all = "snake_case")]
pub enum Direction {
    /// This way round more than the other, beyond chance.
    ThisWay {
        /// Probability of so uneven a split by chance, given how often each was asked.
        p: f64,
        /// The same after control of the false discovery rate over all pairs tested.
        q: f64,
    },
    /// The other way round more than this, beyond chance.
    OtherWay {
        /// As above.
        p: f64,
        /// As above.
        q: f64,
    },
    /// Not shown either way.
    NotShown {
        /// As above.
        p: f64,
        /// As above.
        q: f64,
    },
    /// Fewer than six confusions in all, or one of them was never asked: no test can tell.
    TooFew,
}

/// The confusions as a table whose rows are the muscle asked and whose columns the muscle answered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ConfusionMap {
    /// Rows and columns, ordered so that neighbours stand together.
    pub muscles: Vec<Named>,
    /// The cells that are not empty, right answers among them.
    pub cells: Vec<Cell>,
}

/// A cell of the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cell {
    /// Row: place of the muscle asked.
    pub asked: u16,
    /// Column: place of the muscle answered.
    pub said: u16,
    /// How often.
    pub count: u32,
    /// Of how many asked.
    pub of: u32,
}

/// How one muscle was answered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Item {
    /// The muscle.
    pub muscle: Named,
    /// Rounds that asked for it.
    pub rounds: u32,
    /// Students asked, once for each round.
    pub asked: u32,
    /// Right answers.
    pub right: u32,
    /// Near-misses: wrong answers that earned some credit. No other number here rests on them.
    #[serde(default)]
    pub near: u32,
    /// The share right, with its interval: the higher, the easier.
    pub difficulty: Estimate,
    /// Correlation of being right here with the share right elsewhere; `None` where nothing varies.
    pub rest_correlation: Option<f64>,
    /// Share right among the best 27 % less that among the weakest; `None` below 40 students.
    pub upper_lower: Option<f64>,
    /// Those of `asked` who were shown a picture in place of clues.
    #[serde(default)]
    pub pictured: u32,
    /// Those of `pictured` who were right.
    #[serde(default)]
    pub pictured_right: u32,
    /// Silent when the instructor closed the round.
    pub omitted: u32,
    /// Silent when the time was up.
    pub timed_out: u32,
    /// Median time of right answers, in milliseconds.
    pub median_ms: Option<u64>,
    /// Number of clues on the screen at the median right answer; `None` without clues or answers.
    pub clues_needed: Option<u8>,
    /// Share of the answers meant for this muscle that were misspelt; `None` if nobody meant it.
    pub misspelt: Option<f64>,
    /// Misspelt forms, commonest first, with how often.
    pub forms: Vec<(String, u32)>,
    /// What was answered instead, commonest first.
    pub instead: Vec<Distractor>,
    /// Difficulty on the common scale, in logits above the mean, and its standard error.
    pub logit: Option<(f64, f64)>,
    /// What is odd about it, and what to do.
    pub flags: Vec<Flag>,
}

impl Item {
    /// Right answers, and students asked, where clues in words were told in place of a picture.
    pub fn from_clues(&self) -> (u32, u32) {
        let right = self.right.saturating_sub(self.pictured_right);
        (right, self.asked.saturating_sub(self.pictured))
    }
}

/// A wrong answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Distractor {
    /// The muscle answered.
    pub said: Named,
    /// How often.
    pub count: u32,
    /// Mean share right elsewhere of those who chose it; `None` where they answered nothing else.
    pub rest_mean: Option<f64>,
    /// Correlation of choosing it with the share right elsewhere.
    pub correlation: Option<f64>,
}

/// Something odd about an item.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Flag {
    /// Which.
    pub kind: FlagKind,
    /// What is odd, and what to do, in one or two plain sentences.
    pub words: String,
}

/// What may be odd about an item.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum FlagKind {
    /// Students who know the rest miss it, and one answer draws them: is the answer right?
    KeyedWrong,
    /// Two answers share the class, and neither goes with knowing the rest.
    Ambiguous,
    /// Right or wrong has nothing to do with knowing the rest.
    NotDiscriminating,
    /// Nearly everyone has it.
    TooEasy,
    /// Nearly nobody has it.
    TooHard,
    /// Many do not answer in time.
    RunsOut,
    /// Many know it and cannot spell it.
    Spelling,
}

/// How far the marks of one review can be trusted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reliability {
    /// The review.
    pub review: ReviewId,
    /// Its join word.
    pub word: String,
    /// Students who were asked in every round.
    pub persons: u32,
    /// Rounds.
    pub rounds: u32,
    /// KR-20, up to 1; `None` where it is not defined.
    pub kr20: Option<f64>,
    /// Standard error of a student's number right, in rounds.
    pub standard_error: Option<f64>,
    /// What to make of it, or why it is not there, in one plain sentence.
    pub words: String,
}

/// A section in one review, on the common scale.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Progress {
    /// The section; `None` for reviews without one.
    pub section: Option<String>,
    /// The review.
    pub review: ReviewId,
    /// When it opened, in seconds since 1970.
    pub opened_s: i64,
    /// Date of its opening, as text for people.
    pub opened: String,
    /// Those who were there. Who was absent is not counted as wrong.
    pub persons: u32,
    /// Mean ability in logits; 0 is the mean of all.
    pub ability: f64,
    /// Lower end of its 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// The share right that this comes to on the mean muscle, from 0 to 1.
    pub as_share: f64,
}

/// How one muscle was told from another where both were offered. These choices are in no other
/// number of an analysis: a coin flipped between two is right half the time, and a right choice does
/// not show that the name would have come to mind.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Chosen {
    /// The muscle described.
    pub asked: Named,
    /// The other one offered.
    pub other: Named,
    /// Students to whom the two were offered, once for each round.
    pub shown: u32,
    /// Those who chose the muscle described.
    pub right: u32,
    /// Those who chose the other one.
    pub wrong: u32,
    /// Those who were there and chose neither.
    pub silent: u32,
    /// The share right of those shown, with its interval.
    pub rate: Estimate,
}

/// What kind of knowledge a clue or an area is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Aspect {
    /// Movements and the joints where they take place.
    Action,
    /// Where it arises.
    Origin,
    /// Where it inserts.
    Insertion,
    /// Nerves and roots.
    Innervation,
    /// Compartments, layers, groups and regions.
    Place,
}

/// Something that clues named and the class overlooked: an answer was given of which the clue is
/// untrue.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CueFound {
    /// What kind of knowledge it is.
    pub aspect: Aspect,
    /// What was named, such as `lesser tubercle of the humerus`.
    pub about: String,
    /// Answers given against it.
    pub overlooked: u32,
    /// Answers given while it was on the screen.
    pub shown: u32,
    /// The share overlooked, with its interval.
    pub rate: Estimate,
    /// The share that is to be expected, drawn towards that of other clues.
    pub shrunken: f64,
    /// The muscles of which it was told.
    pub muscles: Vec<Named>,
}

/// A share right over a kind of clue, a compartment or a region.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Area {
    /// What it is a share of.
    pub kind: AreaKind,
    /// Its name.
    pub name: String,
    /// Right, or for a kind of clue heeded.
    pub right: u32,
    /// Of how many.
    pub of: u32,
    /// The share, with its interval.
    pub rate: Estimate,
}

/// What an [`Area`] is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AreaKind {
    /// Clues of one kind: the share of answers that heeded them.
    Aspect,
    /// Muscles of one compartment or group: the share named.
    Group,
    /// Muscles of one region: the share named.
    Region,
}

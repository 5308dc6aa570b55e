//! The table of observations: 24 bytes a row, however long the names are.

use std::collections::BTreeMap;

use myonym_content::{Clue, ListKey, MuscleKey};
use myonym_wire::ReviewId;

use super::contrasted::Choice;

/// A muscle of a table, by its place in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct MuscleId(pub u16);

/// A person of a table, by place: the same in all reviews in which the same device came back,
/// else new in each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PersonId(pub u32);

/// What is known of a review beside its answers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReviewTag {
    /// Its id.
    pub review: ReviewId,
    /// The section of the course that it was held for.
    pub section: Option<String>,
    /// When it opened, in seconds since 1970.
    pub opened_s: i64,
    /// Its muscle list.
    pub list: ListKey,
    /// Whether its rounds were chosen from what the class had answered in it: then not everyone was
    /// asked the same, whoever came late or not.
    pub adaptive: bool,
}

/// How a round came out for one student.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// The muscle asked.
    Right,
    /// Another muscle, near enough to earn some credit; counted as any other wrong answer.
    Near(MuscleId),
    /// Another muscle.
    Said(MuscleId),
    /// The muscle asked, misspelt where spelling counts; or a name that no muscle has.
    NoName,
    /// No answer before the time was up.
    TimedOut,
    /// No answer when the instructor closed the round.
    Omitted,
}

/// A round that was revealed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RoundTag {
    /// Place of the review in [`Observations::reviews`].
    pub review: u32,
    /// Its number in the review.
    pub number: u16,
    /// The muscle asked.
    pub asked: MuscleId,
    /// Whether it showed a picture in place of clues.
    pub picture: bool,
    /// All its clues, in the order told.
    pub clues: Vec<Clue>,
}

/// One student's round.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Row {
    /// Place of the review in [`Observations::reviews`].
    pub review: u32,
    /// Who.
    pub person: PersonId,
    /// Place of the round in [`Observations::rounds`].
    pub round: u32,
    /// The muscle asked.
    pub asked: MuscleId,
    /// How it came out.
    pub outcome: Outcome,
    /// Number of clues on the screen when the answer came; all that were told, if none came.
    pub clues: u8,
    /// Whether the name was misspelt.
    pub misspelt: bool,
    /// Elapsed time credited, in milliseconds; 0 if no answer came.
    pub elapsed_ms: u32,
}

impl Row {
    /// Whether the answer is right. Silence is not.
    pub fn right(&self) -> bool {
        self.outcome == Outcome::Right
    }
}

/// All rows, with the names that they stand for.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Observations {
    rows: Vec<Row>,
    /// Choices between two muscles, which are in none of the rows.
    pub(super) choices: Vec<Choice>,
    rounds: Vec<RoundTag>,
    reviews: Vec<ReviewTag>,
    muscles: Vec<(MuscleKey, String)>,
    ids: BTreeMap<String, MuscleId>,
    pub(super) groups: Vec<Option<String>>,
    /// Misspelt names by the muscle meant, folded, and typed names of no muscle by the one asked.
    pub(super) misspelt: BTreeMap<(MuscleId, String), u32>,
}

impl Observations {
    /// The rows, review after review, round after round.
    pub fn rows(&self) -> &[Row] {
        &self.rows
    }

    /// The rows of one review, by its place.
    pub fn rows_of(&self, review: u32) -> &[Row] {
        let start = self.rows.partition_point(|row| row.review < review);
        let end = self.rows.partition_point(|row| row.review <= review);
        &self.rows[start..end]
    }

    /// The rounds that were revealed, in the order read.
    pub fn rounds(&self) -> &[RoundTag] {
        &self.rounds
    }

    /// The round of a row.
    pub fn round(&self, row: &Row) -> Option<&RoundTag> {
        self.rounds.get(at(row.round))
    }

    /// The reviews, in the order read.
    pub fn reviews(&self) -> &[ReviewTag] {
        &self.reviews
    }

    /// Number of muscles that were asked, answered or offered.
    pub fn muscle_count(&self) -> usize {
        self.muscles.len()
    }

    /// Number of persons.
    pub fn person_count(&self) -> usize {
        self.groups.len()
    }

    /// Key of a muscle.
    pub fn key(&self, muscle: MuscleId) -> Option<&MuscleKey> {
        self.muscles.get(usize::from(muscle.0)).map(|(key, _)| key)
    }

    /// English name of a muscle.
    pub fn name(&self, muscle: MuscleId) -> &str {
        self.muscles.get(usize::from(muscle.0)).map_or("", |(_, name)| name)
    }

    /// The muscle with this key, if it was asked, answered or offered.
    pub fn muscle(&self, key: &MuscleKey) -> Option<MuscleId> {
        self.ids.get(key.as_str()).copied()
    }

    /// All muscles.
    pub fn muscles(&self) -> impl Iterator<Item = MuscleId> {
        (0..=u16::MAX).map(MuscleId).take(self.muscles.len())
    }

    /// Misspelt forms of a muscle's name with how often each was typed, commonest first.
    pub fn misspelt(&self, muscle: MuscleId) -> Vec<(&str, u32)> {
        let forms = self.misspelt.iter().filter(|((of, _), _)| *of == muscle);
        let mut forms: Vec<_> = forms.map(|((_, typed), count)| (typed.as_str(), *count)).collect();
        forms.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(b.0)));
        forms
    }

    /// The rows that a test lets pass, with all names kept.
    #[must_use]
    pub fn only(&self, keep: impl Fn(&Row, &ReviewTag, Option<&str>) -> bool) -> Self {
        let passes = |row: &Row| {
            let group = self.groups.get(at(row.person.0)).and_then(Option::as_deref);
            self.reviews.get(at(row.review)).is_some_and(|review| keep(row, review, group))
        };
        let rows = self.rows.iter().filter(|row| passes(row)).copied().collect();
        let choices = self.choices.iter().filter(|one| passes(&one.row)).copied().collect();
        Self { rows, choices, ..self.clone() }
    }

    /// Notes that the rounds of a review were chosen as it went.
    pub(super) fn mark_adaptive(&mut self, review: u32) {
        if let Some(tag) = self.reviews.get_mut(at(review)) {
            tag.adaptive = true;
        }
    }

    /// Makes room for so many rows more.
    pub(super) fn make_room(&mut self, rows: usize) {
        self.rows.reserve(rows);
    }

    pub(super) fn push(&mut self, row: Row) {
        self.rows.push(row);
    }

    pub(super) fn add_round(&mut self, tag: RoundTag) -> u32 {
        self.rounds.push(tag);
        u32::try_from(self.rounds.len() - 1).unwrap_or(u32::MAX)
    }

    pub(super) fn add_review(&mut self, tag: ReviewTag) -> u32 {
        self.reviews.push(tag);
        u32::try_from(self.reviews.len() - 1).unwrap_or(u32::MAX)
    }

    pub(super) fn add_person(&mut self, group: Option<String>) -> PersonId {
        self.groups.push(group);
        PersonId(u32::try_from(self.groups.len() - 1).unwrap_or(u32::MAX))
    }

    /// The id of a muscle, new if it was not met before. `None` beyond 65,000 muscles.
    pub(super) fn intern(&mut self, key: &str, name: Option<&str>) -> Option<MuscleId> {
        if let Some(id) = self.ids.get(key) {
            return Some(*id);
        }
        let id = u16::try_from(self.muscles.len()).ok().filter(|id| *id < u16::MAX - 2)?;
        let id = MuscleId(id);
        self.ids.insert(key.to_owned(), id);
        self.muscles.push((MuscleKey::new(key), name.unwrap_or(key).to_owned()));
        Some(id)
    }
}

fn at(place: u32) -> usize {
    usize::try_from(place).unwrap_or(usize::MAX)
}

//! What one or many reviews come to, as plain data.

use std::collections::BTreeMap;

use myonym_content::contrast::contrast;
use myonym_content::{Catalogue, Course, Difference, Level, ListKey};
use myonym_wire::ReviewId;
use serde::{Deserialize, Serialize};

use crate::predicted::Predicted;
use crate::rows::{ConfusedPair, Hard, Misspelt, Totals, Unclear};
use crate::tally::Tally;

/// The number of this form of the report. A field may be added; the number goes up when one
/// changes its meaning or goes away.
pub const SCHEMA: u16 = 1;

/// A class with fewer students than this is too small for its shares to say much.
///
/// Our own choice: of 4 students all must miss before the interval of the share right lies below
/// one half (0 of 4: 0 to 49 %; 1 of 4: 5 to 70 %).
pub const TOO_FEW: u32 = 5;

/// What a report says of a review. The host knows it from its store.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReviewInfo {
    /// Its id.
    pub review: ReviewId,
    /// Its join word.
    pub word: String,
    /// Date and time of its opening, as text for people.
    pub opened: String,
    /// The section that it was held for.
    #[serde(default)]
    pub section: Option<String>,
    /// Name of its muscle list.
    pub list: String,
    /// Students that had a seat.
    pub students: u32,
    /// Rounds revealed.
    pub rounds: u32,
    /// Whether it is over.
    pub ended: bool,
    /// Whether it was a rehearsal, with no class.
    pub rehearsal: bool,
}

/// What the class finds hard, what it confuses, and what sets those apart. Holds no student.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Report {
    /// The form of the report, see [`SCHEMA`].
    pub schema: u16,
    /// The reviews that it rests on.
    pub reviews: Vec<ReviewInfo>,
    /// How much it rests on.
    pub totals: Totals,
    /// All muscles asked, hardest first; see [`Tally::hardest`].
    pub hardest: Vec<Hard>,
    /// All confused pairs, clearest first; see [`Tally::pairs`].
    pub pairs: Vec<ReportPair>,
    /// Typed names that fit several muscles or none, commonest first, if at least two students
    /// typed them: what one person types may be anything, even a name.
    pub unclear: Vec<Unclear>,
    /// Misspelt names, commonest first.
    pub misspelt: Vec<Misspelt>,
    /// How movements were answered where they were asked for, hardest first; see
    /// [`Tally::movements`].
    #[serde(default)]
    pub movements: Vec<Predicted>,
}

/// A confused pair with what separates it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReportPair {
    /// The pair.
    pub confused: ConfusedPair,
    /// The most telling difference; `first` is the muscle asked. `None` if the facts of either
    /// muscle are not in.
    pub apart: Option<Difference>,
}

impl Report {
    /// The report on these reviews, whose events `tally` has counted.
    ///
    /// A pair is set apart as the course teaches it in whose review it came up last; if that
    /// muscle list is no longer in the catalogue, as an introductory course would.
    pub fn new(catalogue: &Catalogue, reviews: Vec<ReviewInfo>, tally: &Tally) -> Self {
        let mut contrasts = Contrasts { catalogue, courses: BTreeMap::new() };
        let with_difference = |confused: ConfusedPair| ReportPair {
            apart: contrasts.most_telling(&confused, tally.list_of(&confused.asked)),
            confused,
        };
        Self {
            schema: SCHEMA,
            reviews,
            totals: tally.totals(),
            hardest: tally.hardest(),
            pairs: tally.pairs().into_iter().map(with_difference).collect(),
            unclear: tally.unclear_of_several(),
            misspelt: tally.misspelt(),
            movements: tally.movements(),
        }
    }

    /// Whether nobody was asked anything.
    pub fn is_empty(&self) -> bool {
        self.totals.answers == 0 && self.totals.silent == 0
    }

    /// Students of the largest review. Ids differ from review to review, so who came twice cannot
    /// be told.
    pub fn most_students(&self) -> u32 {
        self.reviews.iter().map(|review| review.students).max().unwrap_or(0)
    }

    /// The muscle to teach again first, with the commonest confusion about it; `None` if every
    /// name was right.
    pub fn teach_first(&self) -> Option<(&Hard, Option<&ReportPair>)> {
        let hard = self.hardest.first().filter(|hard| hard.right < hard.asked)?;
        let pair = self.pairs.iter().find(|pair| pair.confused.asked == hard.muscle);
        Some((hard, pair))
    }

    /// The muscle whose movement is to be taught again first; `None` if every movement was right.
    pub fn teach_movement_first(&self) -> Option<&Predicted> {
        self.movements.first().filter(|predicted| predicted.right < predicted.asked)
    }
}

/// Courses by muscle list, made ready once each.
struct Contrasts<'a> {
    catalogue: &'a Catalogue,
    courses: BTreeMap<ListKey, Option<Course>>,
}

impl Contrasts<'_> {
    fn most_telling(&mut self, pair: &ConfusedPair, list: Option<&ListKey>) -> Option<Difference> {
        let catalogue = self.catalogue;
        let course = list.and_then(|key| {
            let ready = || Course::new(catalogue, catalogue.list(key)?).ok();
            self.courses.entry(key.clone()).or_insert_with(ready).as_ref()
        });
        let contrast = if let Some(course) = course {
            course.contrast(&pair.asked, &pair.said)?
        } else {
            let (a, b) = (catalogue.muscle(&pair.asked)?, catalogue.muscle(&pair.said)?);
            contrast(&catalogue.vocabulary, Level::Introductory, a, b)
        };
        contrast.apart.into_iter().next()
    }
}

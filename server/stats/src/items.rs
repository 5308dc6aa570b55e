//! Classical item analysis: how hard an item is, and whether it tells strong from weak.

use crate::discrimination::correlation;
use crate::responses::count;
use crate::{Discrimination, Responses, Tally};

/// What answers say of one item.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Item {
    /// Right answers of all; its rate is the item's difficulty, as a share right.
    pub right: Tally,
    /// Corrected point-biserial: the correlation of this item with the share right of the others.
    /// The one to look at.
    pub corrected: Discrimination,
    /// The same with the share right of all, this item among them; too high with few items.
    pub uncorrected: Discrimination,
    /// D: share right among the strongest 27 % less that among the weakest 27 %. With fewer than
    /// some 40 students it is mostly noise.
    pub upper_lower: Discrimination,
}

/// The part of the students in each of the two groups of D. Kelley TL 1939, J. Educ. Psychol.
/// 30:17-24.
pub const GROUP: f64 = 0.27;

/// Analyses every item. A student counts for the items that the student was asked.
///
/// Where all were asked the same, the share right of the others orders students as their score
/// does, so these are the usual point-biserials; where not, it is still fair to those who were
/// asked little. Students who tie at the edge of a group of D belong to it in part, so D does not
/// hang on the order of rows.
pub fn analyse(responses: &Responses) -> Vec<Item> {
    let scores: Vec<Score> = responses.rows().iter().map(|row| Score::of(row)).collect();
    (0..responses.items()).map(|item| analyse_one(responses, &scores, item)).collect()
}

/// A student's right answers and answers.
struct Score {
    right: u32,
    asked: u32,
}

impl Score {
    fn of(row: &[Option<bool>]) -> Self {
        let number = |wanted: fn(bool) -> bool| {
            let found = row.iter().flatten().filter(|&&right| wanted(right)).count();
            u32::try_from(found).unwrap_or(u32::MAX)
        };
        Self { right: number(|right| right), asked: number(|_| true) }
    }

    fn share(&self) -> f64 {
        f64::from(self.right) / f64::from(self.asked)
    }

    /// The share right of the other items; `None` if there were none.
    fn rest(&self, right: bool) -> Option<f64> {
        let others = self.asked - 1;
        (others > 0).then(|| f64::from(self.right - u32::from(right)) / f64::from(others))
    }
}

fn analyse_one(responses: &Responses, scores: &[Score], item: usize) -> Item {
    let (mut hits, mut of) = (0, 0);
    let (mut rest, mut whole) = (Vec::new(), Vec::new());
    for (row, score) in responses.rows().iter().zip(scores) {
        let Some(right) = row[item] else { continue };
        let value = if right { 1.0 } else { 0.0 };
        hits += u32::from(right);
        of += 1;
        whole.push((value, score.share()));
        rest.extend(score.rest(right).map(|rest| (value, rest)));
    }
    Item {
        right: Tally::new(hits, of).unwrap_or_default(),
        corrected: correlation(&rest),
        uncorrected: correlation(&whole),
        upper_lower: upper_lower(whole),
    }
}

/// D of pairs (answer, share right).
fn upper_lower(mut pairs: Vec<(f64, f64)>) -> Discrimination {
    pairs.sort_by(|a, b| a.1.total_cmp(&b.1));
    let ties: Vec<&[(f64, f64)]> = pairs.chunk_by(|a, b| a.1.total_cmp(&b.1).is_eq()).collect();
    if ties.len() < 2 {
        return Discrimination::NoInformation;
    }
    let size = GROUP * count(pairs.len());
    let lower = group_share(ties.iter().copied(), size);
    let upper = group_share(ties.iter().rev().copied(), size);
    Discrimination::Of(upper - lower)
}

/// The share right among the first `size` students; those who tie share the last places.
fn group_share<'a>(ties: impl Iterator<Item = &'a [(f64, f64)]>, size: f64) -> f64 {
    let (mut right, mut left) = (0.0, size);
    for tied in ties {
        let in_group = left.min(count(tied.len()));
        right += in_group * tied.iter().map(|pair| pair.0).sum::<f64>() / count(tied.len());
        left -= in_group;
    }
    // Parts of students may sum to a hair more than the group.
    (right / size).min(1.0)
}

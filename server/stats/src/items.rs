//! Classical item analysis: how hard an item is, and whether it tells strong from weak.

use crate::discrimination::correlation;
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
    let ranks = ranks(&scores);
    let most = ranks.iter().max().map_or(0, |rank| rank + 1);
    let students: Vec<(Score, usize)> = scores.into_iter().zip(ranks).collect();
    columns(responses).iter().map(|column| analyse_one(column, &students, most)).collect()
}

/// Who was asked each item, by place, with the answer: one pass for all items, as a large class does
/// not fit into the processor's memory.
fn columns(responses: &Responses) -> Vec<Vec<(u32, bool)>> {
    let mut columns = vec![Vec::new(); responses.items()];
    for (student, row) in (0..).zip(responses.rows()) {
        for (column, answer) in columns.iter_mut().zip(row) {
            column.extend(answer.map(|right| (student, right)));
        }
    }
    columns
}

/// The place of each student's share right among all shares that there are, the lowest first; those
/// who tie have the same.
fn ranks(scores: &[Score]) -> Vec<usize> {
    let mut shares: Vec<f64> = scores.iter().map(Score::share).collect();
    shares.sort_unstable_by(f64::total_cmp);
    shares.dedup_by(|a, b| a.total_cmp(b).is_eq());
    let below = |share: f64| shares.partition_point(|other| other.total_cmp(&share).is_lt());
    scores.iter().map(|score| below(score.share())).collect()
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

fn analyse_one(column: &[(u32, bool)], students: &[(Score, usize)], ranks: usize) -> Item {
    let (mut hits, mut of) = (0, 0);
    let (mut rest, mut whole) = (Vec::new(), Vec::new());
    let mut by_rank = vec![Tied::default(); ranks];
    for &(student, right) in column {
        let Some((score, rank)) = usize::try_from(student).ok().and_then(|at| students.get(at))
        else {
            continue;
        };
        let tied = &mut by_rank[*rank];
        tied.right += u32::from(right);
        tied.asked += 1;
        let value = if right { 1.0 } else { 0.0 };
        hits += u32::from(right);
        of += 1;
        whole.push((value, score.share()));
        rest.extend(score.rest(right).map(|rest| (value, rest)));
    }
    Item {
        right: Tally::new(hits, of).unwrap_or_default(),
        corrected: correlation(rest.into_iter()),
        uncorrected: correlation(whole.into_iter()),
        upper_lower: upper_lower(&by_rank),
    }
}

/// Students of the same share right who were asked an item, and those of them who had it right.
#[derive(Debug, Clone, Copy, Default)]
struct Tied {
    right: u32,
    asked: u32,
}

/// D, from the students asked, the weakest first.
fn upper_lower(by_rank: &[Tied]) -> Discrimination {
    let ties: Vec<Tied> = by_rank.iter().filter(|tied| tied.asked > 0).copied().collect();
    if ties.len() < 2 {
        return Discrimination::NoInformation;
    }
    let size = GROUP * ties.iter().map(|tied| f64::from(tied.asked)).sum::<f64>();
    let lower = group_share(ties.iter(), size);
    let upper = group_share(ties.iter().rev(), size);
    Discrimination::Of(upper - lower)
}

/// The share right among the first `size` students; those who tie share the last places.
fn group_share<'a>(ties: impl Iterator<Item = &'a Tied>, size: f64) -> f64 {
    let (mut right, mut left) = (0.0, size);
    for tied in ties {
        let asked = f64::from(tied.asked);
        let in_group = left.min(asked);
        right += in_group * f64::from(tied.right) / asked;
        left -= in_group;
    }
    // Parts of students may sum to a hair more than the group.
    (right / size).min(1.0)
}

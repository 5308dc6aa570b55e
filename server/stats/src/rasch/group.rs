//! Students whom the Rasch model cannot tell apart.

use std::collections::BTreeMap;

use crate::Responses;
use crate::responses::count;

/// Students who were asked the same and have the same score.
pub(super) struct Group {
    pub(super) asked: Vec<usize>,
    pub(super) score: usize,
    pub(super) students: f64,
}

/// A class, as much of it as the model sees.
pub(super) struct Class {
    /// Right answers to each item.
    pub(super) right: Vec<f64>,
    pub(super) groups: Vec<Group>,
    /// The group of each student.
    pub(super) group_of: Vec<usize>,
}

impl Class {
    pub(super) fn of(responses: &Responses) -> Self {
        let mut right = vec![0.0; responses.items()];
        let mut places: BTreeMap<(Vec<usize>, usize), usize> = BTreeMap::new();
        let mut groups: Vec<Group> = Vec::new();
        let mut group_of = Vec::with_capacity(responses.students());
        for row in responses.rows() {
            let asked: Vec<usize> = (0..row.len()).filter(|&item| row[item].is_some()).collect();
            let known = asked.iter().filter(|&&item| row[item] == Some(true));
            let score = known.clone().count();
            for &item in known {
                right[item] += 1.0;
            }
            let place = *places.entry((asked.clone(), score)).or_insert_with(|| {
                groups.push(Group { asked, score, students: 0.0 });
                groups.len() - 1
            });
            groups[place].students += 1.0;
            group_of.push(place);
        }
        Self { right, groups, group_of }
    }
}

impl Group {
    pub(super) fn score(&self) -> f64 {
        count(self.score)
    }
}

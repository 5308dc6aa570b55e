//! What else was answered, and by whom.

use std::collections::BTreeMap;

use crate::Discrimination;
use crate::discrimination::Numbers;
use crate::responses::count;

/// Those who gave one answer to an item.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chosen {
    /// How many.
    pub times: usize,
    /// The part of all that they are.
    pub share: f64,
    /// The mean of their scores on the other items.
    pub mean_rest: f64,
    /// Point-biserial of giving this answer with the score on the others. Above 0 for the right
    /// answer and below 0 for a wrong one; a wrong answer above 0 is what strong students give, so
    /// the clue or the key is at fault.
    pub discrimination: Discrimination,
}

/// Each answer that was given to an item, from pairs of answer and score on the other items.
pub fn analyse<T: Ord + Clone>(answers: &[(T, f64)]) -> BTreeMap<T, Chosen> {
    let mut rests: BTreeMap<&T, Vec<f64>> = BTreeMap::new();
    for (answer, rest) in answers {
        rests.entry(answer).or_default().push(*rest);
    }
    let all = Numbers::new(answers.iter().map(|(_, rest)| *rest));
    let chosen = |answer: &T, rests: &[f64]| Chosen {
        times: rests.len(),
        share: count(rests.len()) / count(answers.len()),
        mean_rest: rests.iter().sum::<f64>() / count(rests.len()),
        discrimination: all.with(answers.iter().map(|(other, _)| other == answer), rests.len()),
    };
    rests.iter().map(|(&answer, rests)| (answer.clone(), chosen(answer, rests))).collect()
}

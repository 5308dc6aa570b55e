//! How far the same test would give the same scores again.

use crate::Responses;
use crate::responses::count;

/// Reliability of a test that all answered whole.
#[derive(Debug, Clone, PartialEq)]
pub struct Reliability {
    /// KR-20, which for right and wrong is Cronbach's α. May be below 0.
    pub alpha: f64,
    /// The standard error of a score, in items.
    pub error: f64,
    /// KR-20 without each item in turn: a rise speaks against the item. `None` where it is
    /// undefined.
    pub without: Vec<Option<f64>>,
}

/// KR-20: k/(k-1) (1 - Σ p q / s²), with s² the variance of scores over n, as p q is over n too.
/// The error is s √(1 - α), here with s over n - 1.
///
/// `None` unless all who answered anything answered everything (with decks that differ it is
/// undefined: use [`rasch`](crate::rasch)), if there are fewer than two items, or if all have the
/// same score. Kuder GF, Richardson MW 1937, Psychometrika 2:151-160; Cronbach LJ 1951,
/// Psychometrika 16:297-334.
pub fn analyse(responses: &Responses) -> Option<Reliability> {
    let answered = responses.rows().iter().filter(|row| row.iter().any(Option::is_some));
    let whole: Option<Vec<Vec<f64>>> = answered
        .map(|row| row.iter().map(|right| right.map(|right| f64::from(u8::from(right)))).collect())
        .collect();
    let rows = whole?;
    let column = |item: usize| rows.iter().map(|row| row[item]).collect::<Vec<f64>>();
    let of_items: Vec<f64> = (0..responses.items()).map(|item| variance(&column(item))).collect();
    let scores: Vec<f64> = rows.iter().map(|row| row.iter().sum()).collect();
    let alpha = alpha(&of_items, &scores)?;
    let students = count(rows.len());
    let sample = variance(&scores) * students / (students - 1.0);
    let without = (0..responses.items()).map(|left| {
        let mut of_others = of_items.clone();
        of_others.remove(left);
        let scores: Vec<f64> = scores.iter().zip(&rows).map(|(all, row)| all - row[left]).collect();
        self::alpha(&of_others, &scores)
    });
    let error = (sample * (1.0 - alpha)).sqrt();
    Some(Reliability { alpha, error, without: without.collect() })
}

/// From the variance of each item, and the scores on these items.
fn alpha(of_items: &[f64], scores: &[f64]) -> Option<f64> {
    let of_scores = variance(scores);
    if of_items.len() < 2 || of_scores <= 0.0 {
        return None;
    }
    let items = count(of_items.len());
    Some(items / (items - 1.0) * (1.0 - of_items.iter().sum::<f64>() / of_scores))
}

/// Over n. Of whole numbers, so that equal ones give 0 and not a rounding error.
fn variance(values: &[f64]) -> f64 {
    if values.is_empty() {
        return 0.0;
    }
    let (number, sum) = (count(values.len()), values.iter().sum::<f64>());
    let squares: f64 = values.iter().map(|value| value * value).sum();
    (number * squares - sum * sum) / (number * number)
}

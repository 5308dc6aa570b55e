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
    let items: Vec<usize> = (0..responses.items()).collect();
    let alpha = alpha(&rows, &items)?;
    let students = count(rows.len());
    let sample = variance(&scores(&rows, &items)) * students / (students - 1.0);
    let without = items.iter().map(|left| {
        let others: Vec<usize> = items.iter().copied().filter(|item| item != left).collect();
        self::alpha(&rows, &others)
    });
    let error = (sample * (1.0 - alpha)).sqrt();
    Some(Reliability { alpha, error, without: without.collect() })
}

fn alpha(rows: &[Vec<f64>], items: &[usize]) -> Option<f64> {
    let of_scores = variance(&scores(rows, items));
    if items.len() < 2 || of_scores <= 0.0 {
        return None;
    }
    let column = |item: usize| rows.iter().map(|row| row[item]).collect::<Vec<f64>>();
    let of_items: f64 = items.iter().map(|&item| variance(&column(item))).sum();
    let items = count(items.len());
    Some(items / (items - 1.0) * (1.0 - of_items / of_scores))
}

fn scores(rows: &[Vec<f64>], items: &[usize]) -> Vec<f64> {
    rows.iter().map(|row| items.iter().map(|&item| row[item]).sum()).collect()
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

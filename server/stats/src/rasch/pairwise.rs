//! Difficulties from two items at a time, without iteration.
//!
//! Of students who are right on just one of two items, how many on which does not hang on how able
//! they are: `n_ij / n_ji` estimates `exp(b_j - b_i)`, with `n_ij` the students who were right on i and wrong
//! on j. Near to [`conditional`](super::conditional), and a quick check on any other fit; but with
//! few students some count is 0, and then there is nothing.
//!
//! Choppin B 1968, Nature 219:870-872 (from memory).

use crate::{Responses, Square};

/// `n_ij`, the students who were right on i (row) and wrong on j; `None` of fewer than two items.
pub fn table(responses: &Responses) -> Option<Square> {
    let size = responses.items();
    let mut counts = vec![vec![0.0; size]; size];
    for row in responses.rows() {
        let who = |wanted| (0..size).filter(move |&item| row[item] == Some(wanted));
        for right in who(true) {
            who(false).for_each(|wrong| counts[right][wrong] += 1.0);
        }
    }
    Square::new(&counts)
}

/// `b_i`, the mean over all j of `ln(n_ji / n_ij)`, in logits of sum 0. `None` if a count is 0;
/// [`Square::plus`] with a half mends that.
pub fn fit(table: &Square) -> Option<Vec<f64>> {
    if table.pairs().any(|(a, b)| table.at(a, b) * table.at(b, a) <= 0.0) {
        return None;
    }
    let gap = |i: usize, j: usize| (table.at(j, i) / table.at(i, j)).ln();
    let mean = |i: usize| {
        let others = (0..table.size()).filter(|&j| j != i);
        others.map(|j| gap(i, j)).sum::<f64>() / table.categories()
    };
    Some((0..table.size()).map(mean).collect())
}

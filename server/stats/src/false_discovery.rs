//! Many tests at once.

use crate::responses::count;

/// Benjamini and Hochberg's adjusted probabilities, in the order given: reject those up to q, and
/// of all that are rejected a share of q at most is rejected wrongly, on average. `None` if one of
/// them is not a probability.
///
/// With p₍₁₎ ≤ … ≤ p₍ₘ₎: the adjusted p₍ᵢ₎ is the least of m p₍ⱼ₎ / j over j ≥ i. Benjamini Y,
/// Hochberg Y 1995, J. R. Stat. Soc. B 57:289-300. The tests of one call are one family.
pub fn benjamini_hochberg(probabilities: &[f64]) -> Option<Vec<f64>> {
    if !probabilities.iter().all(|p| (0.0..=1.0).contains(p)) {
        return None;
    }
    let mut order: Vec<usize> = (0..probabilities.len()).collect();
    order.sort_by(|&a, &b| probabilities[b].total_cmp(&probabilities[a]));
    let mut adjusted = vec![1.0; order.len()];
    let tests = count(order.len());
    let (mut least, mut smaller) = (1.0_f64, tests);
    for place in order {
        least = least.min(probabilities[place] * (tests / smaller));
        adjusted[place] = least;
        smaller -= 1.0;
    }
    Some(adjusted)
}

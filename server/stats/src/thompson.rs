//! Which of several unknown rates to look at next.

use rand::rngs::ChaCha8Rng;
use rand::{Rng as _, SeedableRng as _};

use crate::{Beta, Level};

/// One draw from each distribution, in order; the same seed gives the same draws.
///
/// Each takes one 64-bit number of the generator and is the quantile at it. So a draw depends on
/// the seed, the place and its own distribution alone, small shapes are no special case, and no
/// release of a sampling library can change what a logged seed meant.
pub fn draws(known: &[Beta], seed: u64) -> Vec<f64> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    known.iter().map(|beta| beta.logit_quantile(unit(random.next_u64())).rate()).collect()
}

/// Places from first to last by a random draw of each: the more likely a rate is the largest, the
/// more often it comes first. Draws that tie keep their order.
///
/// Thompson WR 1933, Biometrika 25:285-294.
pub fn order(known: &[Beta], seed: u64) -> Vec<usize> {
    ranked(&draws(known, seed))
}

/// Places from first to last by a quantile of each: the same idea without chance.
pub fn by_quantile(known: &[Beta], level: Level) -> Vec<usize> {
    let quantiles: Vec<f64> = known.iter().map(|beta| beta.quantile(level)).collect();
    ranked(&quantiles)
}

fn ranked(values: &[f64]) -> Vec<usize> {
    let mut places: Vec<usize> = (0..values.len()).collect();
    places.sort_by(|&a, &b| values[b].total_cmp(&values[a]));
    places
}

/// The middle of one of 2^53 equal steps from 0 to 1; never 0 nor 1.
#[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
fn unit(bits: u64) -> f64 {
    ((bits >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
}

//! From vague to telling: in which order true statements single a candidate out.
//!
//! Works on sets alone and knows no muscle. All information is in bits.

use std::collections::BTreeSet;

/// One step of an order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Place of the statement among those given.
    pub statement: usize,
    /// Candidates left after it, the target among them.
    pub remaining: usize,
    /// What it told: log2 of candidates before by candidates after.
    pub bits: f64,
}

/// Entropy of a split of equally likely cases into groups of these sizes (Shannon 1948):
/// H = -sum p log2 p. Empty groups add nothing; no case at all has no entropy.
pub fn entropy(sizes: &[usize]) -> f64 {
    let total: usize = sizes.iter().sum();
    let part = |&size: &usize| {
        let p = ratio(size, total);
        -p * p.log2()
    };
    sizes.iter().filter(|size| **size > 0).map(part).sum()
}

/// Information gain of an attribute (Quinlan 1986, Machine Learning 1:81-106): the entropy of the
/// classes less their mean entropy within each value. `split[value][class]` are counts.
pub fn gain(split: &[Vec<usize>]) -> f64 {
    let classes = split.iter().map(Vec::len).max().unwrap_or_default();
    let count = |class: usize| split.iter().filter_map(|value| value.get(class)).sum();
    let all: Vec<usize> = (0..classes).map(count).collect();
    let total = all.iter().sum();
    let within = split.iter().map(|value| ratio(value.iter().sum(), total) * entropy(value));
    if total == 0 { 0.0 } else { entropy(&all) - within.sum::<f64>() }
}

/// What a true statement told about the target: log2(|S| / |S and statement|). The average over
/// targets is the gain; for one target it may be more or less.
pub fn realised_bits(before: usize, after: usize) -> f64 {
    ratio(before, after).log2()
}

/// Orders statements that are all true of one target, until it alone is left or nothing helps.
///
/// `candidates` holds the target; `fits[i]` holds whom statement `i` is true of. Each step takes
/// the statement that tells least of those that tell anything, worked out anew over what is left;
/// of equals the one given first. With `most`, a step tells at least an equal share of what is
/// still to be told in the steps left, or else as much as any statement can. The order may still
/// run past `most` where no statement tells enough.
pub fn order<T: Ord + Clone>(
    candidates: &BTreeSet<T>,
    fits: &[BTreeSet<T>],
    most: Option<usize>,
) -> Vec<Step> {
    let mut left = candidates.clone();
    let mut steps: Vec<Step> = Vec::new();
    while left.len() > 1 {
        let kept = |statement: usize| left.intersection(&fits[statement]).count();
        let telling = (0..fits.len()).map(|statement| (kept(statement), statement));
        let telling: Vec<_> = telling.filter(|(kept, _)| *kept < left.len()).collect();
        let share = most.map_or(0.0, |most| {
            let steps_left = most.saturating_sub(steps.len()).max(1);
            realised_bits(left.len(), 1) / ratio(steps_left, 1)
        });
        let enough = |kept: usize| realised_bits(left.len(), kept) >= share - ROUNDING;
        let vaguest = telling.iter().filter(|(kept, _)| enough(*kept));
        let vaguest = vaguest.min_by_key(|(kept, statement)| (left.len() - kept, *statement));
        let Some(&(remaining, statement)) = vaguest.or_else(|| telling.iter().min()) else { break };
        let bits = realised_bits(left.len(), remaining);
        steps.push(Step { statement, remaining, bits });
        left.retain(|candidate| fits[statement].contains(candidate));
    }
    steps
}

/// So that an exact share is not missed by a rounding error.
const ROUNDING: f64 = 1e-9;

#[expect(clippy::cast_precision_loss, reason = "counts of muscles are far below 2^52")]
fn ratio(a: usize, b: usize) -> f64 {
    a as f64 / b as f64
}

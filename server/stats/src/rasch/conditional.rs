//! Difficulties given each student's score, whatever the abilities.
//!
//! In the Rasch model the score says all that answers say of the ability. Given the score, which
//! items were right depends on difficulties alone: P(answers | score r) = `Π ε_i^x_i / γ_r`, with
//! `ε_i = exp(-b_i)` and `γ_r` the elementary symmetric function of degree r of the ε of the items asked.
//! Use it to check that [`fit`](super::fit) does not hang on its normal abilities; a small class
//! is likely to have no such fit.
//!
//! Andersen EB 1970, J. R. Stat. Soc. B 32:283-301 (from memory).

use super::Place;
use super::group::{Class, Group};
use super::pairwise;
use crate::Responses;
use crate::concave::{Surface, Top, top};
use crate::linear::{Symmetric, dot};
use crate::logistic::{ln_logistic, logistic};
use crate::responses::count;

/// Difficulties of greatest conditional likelihood.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Fit {
    /// Of each item; they sum to 0, and errors are about that.
    pub difficulties: Vec<Place>,
    /// Logarithm of the conditional likelihood.
    pub log_likelihood: f64,
}

/// Why there is no fit: where the likelihood grows without end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoFit {
    /// Nobody was right on this item and wrong on another: it may be as hard as it likes.
    #[error("nobody was right on item {0} and wrong on another")]
    NeverBetter(usize),
    /// Nobody was wrong on this item and right on another: it may be as easy as it likes.
    #[error("nobody was wrong on item {0} and right on another")]
    NeverWorse(usize),
    /// This item and item 0 lie in two sets, and nobody was right on one of the first and wrong on one
    /// of the second, or nobody the other way: their distance may be as large as it likes.
    #[error("items 0 and {0} are not compared both ways, not even over others")]
    Apart(usize),
    /// The climb did not arrive.
    #[error("the likelihood has no top that can be found")]
    NotFound,
}

/// Fits difficulties by greatest conditional likelihood, with Newton's method: it is concave. The
/// time grows with the fourth power of the items that one student was asked.
///
/// There is one top just if every item can be had from every other by steps from an item right to
/// one wrong of some student. Fischer GH 1981, Psychometrika 46:59-77 (from memory).
pub fn fit(responses: &Responses) -> Result<Fit, NoFit> {
    let items = responses.items();
    let Some(free) = items.checked_sub(1) else { return Ok(Fit::default()) };
    let better = pairwise::table(responses).ok_or(NoFit::NeverBetter(0))?;
    let none = |count: &dyn Fn(usize) -> f64| (0..items).all(|other| count(other) <= 0.0);
    for item in 0..items {
        if none(&|other| better.at(item, other)) {
            return Err(NoFit::NeverBetter(item));
        }
        if none(&|other| better.at(other, item)) {
            return Err(NoFit::NeverWorse(item));
        }
    }
    if let Some(item) = better.unreached() {
        return Err(NoFit::Apart(item));
    }
    let class = Class::of(responses);
    let top = top(vec![0.0; free], |b| surface(&class, b)).ok_or(NoFit::NotFound)?;
    Ok(Fit { difficulties: centred(&top), log_likelihood: top.height })
}

/// From difficulties less that of the last item to difficulties of sum 0.
fn centred(top: &Top) -> Vec<Place> {
    let free = top.at.len();
    let part = 1.0 / count(free + 1);
    let place = |item: usize| {
        // The difficulty is this sum over the free ones.
        let weight = |other: usize| if other == item { 1.0 - part } else { -part };
        let weights: Vec<f64> = (0..free).map(weight).collect();
        let variance = dot(&weights, &top.curvature.solve(&weights));
        Place { at: dot(&weights, &top.at), error: variance.sqrt() }
    };
    (0..=free).map(place).collect()
}

/// The logarithm of the conditional likelihood; the difficulty of the last item is 0.
fn surface(class: &Class, free: &[f64]) -> Surface {
    let difficulties = [free, &[0.0]].concat();
    let mut surface = Surface {
        height: -dot(&class.right, &difficulties),
        slope: class.right.iter().map(|right| -right).collect(),
        curvature: Symmetric::zero(free.len()),
    };
    for group in &class.groups {
        add(group, &difficulties, &mut surface);
    }
    surface.slope.truncate(free.len());
    surface
}

/// Takes ln γ of a group away, with its slope, E x, and curvature, Cov(x, x), given the score.
///
/// `γ_r / Π (1 + ε_i)` is the probability of score r if items were answered independently, each
/// rightly with P = ε / (1 + ε); it stays between 0 and 1, where γ itself would overflow.
fn add(group: &Group, difficulties: &[f64], surface: &mut Surface) {
    let chances: Vec<f64> = group.asked.iter().map(|&item| logistic(-difficulties[item])).collect();
    let scored = |right: usize, out: &[usize]| {
        let rest = (0..chances.len()).filter(|place| !out.contains(place));
        let left = group.score.checked_sub(right);
        left.and_then(|left| scores(rest.map(|place| chances[place])).get(left).copied())
    };
    let whole = scored(0, &[]).unwrap_or(0.0);
    let ln_wrong: f64 = group.asked.iter().map(|&item| ln_logistic(difficulties[item])).sum();
    surface.height -= group.students * (whole.ln() - ln_wrong);
    let given = |right: &[usize]| {
        let chance: f64 = right.iter().map(|&place| chances[place]).product();
        chance * scored(right.len(), right).unwrap_or(0.0) / whole
    };
    let single: Vec<f64> = (0..chances.len()).map(|place| given(&[place])).collect();
    for (place, &item) in group.asked.iter().enumerate() {
        surface.slope[item] += group.students * single[place];
        if item >= difficulties.len() - 1 {
            continue;
        }
        let variance = single[place] * (1.0 - single[place]);
        surface.curvature.add(item, item, group.students * variance);
        for (other, &before) in group.asked[..place].iter().enumerate() {
            let covariance = given(&[place, other]) - single[place] * single[other];
            surface.curvature.add(item, before, group.students * covariance);
        }
    }
}

/// The probability of each score if items are answered independently with these chances.
fn scores(chances: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut found = vec![1.0];
    for chance in chances {
        found.push(0.0);
        let mut below = 0.0;
        for cell in &mut found {
            let here = *cell;
            *cell = here * (1.0 - chance) + below * chance;
            below = here;
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: ε = 1, 2, 3 has γ = 1, 6, 11, 6; Π (1 + ε) = 24.
    #[test]
    fn scores_are_symmetric_functions() {
        let found = scores([1.0 / 2.0, 2.0 / 3.0, 3.0 / 4.0].into_iter());
        for (found, want) in found.iter().zip([1.0, 6.0, 11.0, 6.0]) {
            assert!((found * 24.0 - want).abs() < 1e-12);
        }
    }
}

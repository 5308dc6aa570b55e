//! The marginal posterior of item difficulties, with its derivatives.

use super::group::{Class, Group};
use super::{NODES, Place};
use crate::Responses;
use crate::concave::Surface;
use crate::hermite::{Node, posterior, rule};
use crate::linear::{Symmetric, dot};
use crate::logistic::{ln_logistic, logistic};

pub(super) struct Marginal {
    class: Class,
    nodes: Vec<Node>,
    /// One by the variance of difficulties; 0 if they may lie anywhere.
    precision: f64,
}

/// What each item does at each node.
struct Curves {
    /// P(right).
    right: Vec<Vec<f64>>,
    /// ln P(wrong).
    ln_wrong: Vec<Vec<f64>>,
}

impl Marginal {
    pub(super) fn new(responses: &Responses, ability: f64, precision: f64) -> Self {
        let mut nodes = rule(NODES);
        for node in &mut nodes {
            node.at *= ability;
        }
        Self { class: Class::of(responses), nodes, precision }
    }

    /// The logarithm of the marginal posterior at these difficulties, but for a constant.
    ///
    /// A right answer multiplies by exp(θ - b), any answer by P(wrong); so the b of right answers
    /// leave the integral, and only the score stays in it. With π a group's posterior over nodes,
    /// the slope is Σ E P - right answers, the curvature Σ (E P(1-P) on the diagonal -
    /// Cov(P, P)), both over π.
    pub(super) fn surface(&self, difficulties: &[f64]) -> Surface {
        let curves = self.curves(difficulties);
        let mut surface = Surface {
            height: -dot(&self.class.right, difficulties),
            slope: self.class.right.iter().map(|right| -right).collect(),
            curvature: Symmetric::zero(difficulties.len()),
        };
        for (item, b) in difficulties.iter().enumerate() {
            surface.height -= b * b * self.precision / 2.0;
            surface.slope[item] -= b * self.precision;
            surface.curvature.add(item, item, self.precision);
        }
        for group in &self.class.groups {
            self.add(group, &curves, &mut surface);
        }
        surface
    }

    /// Posterior mean and standard deviation of each student's ability.
    pub(super) fn abilities(&self, difficulties: &[f64]) -> Vec<Place> {
        let curves = self.curves(difficulties);
        let place = |group: &Group| {
            let (posterior, _) = self.posterior(group, &curves);
            Place::of(&self.nodes, &posterior)
        };
        let places: Vec<Place> = self.class.groups.iter().map(place).collect();
        self.class.group_of.iter().map(|&group| places[group]).collect()
    }

    fn curves(&self, difficulties: &[f64]) -> Curves {
        let over_nodes = |f: fn(f64, f64) -> f64| -> Vec<Vec<f64>> {
            let of_item = |b: &f64| self.nodes.iter().map(|node| f(node.at, *b)).collect();
            difficulties.iter().map(of_item).collect()
        };
        Curves {
            right: over_nodes(|ability, b| logistic(ability - b)),
            ln_wrong: over_nodes(|ability, b| ln_logistic(b - ability)),
        }
    }

    /// A group's posterior over the nodes, and the logarithm of what it was normalised by.
    fn posterior(&self, group: &Group, curves: &Curves) -> (Vec<f64>, f64) {
        let mut weights: Vec<f64> =
            self.nodes.iter().map(|node| node.ln_weight + group.score() * node.at).collect();
        for &item in &group.asked {
            for (weight, ln_wrong) in weights.iter_mut().zip(&curves.ln_wrong[item]) {
                *weight += ln_wrong;
            }
        }
        posterior(weights)
    }

    fn add(&self, group: &Group, curves: &Curves, surface: &mut Surface) {
        let (posterior, ln_sum) = self.posterior(group, curves);
        surface.height += group.students * ln_sum;
        let rights: Vec<&[f64]> =
            group.asked.iter().map(|&item| curves.right[item].as_slice()).collect();
        let (means, squares) = moments(&posterior, &rights);
        for ((&item, mean), square) in group.asked.iter().zip(&means).zip(squares) {
            surface.slope[item] += group.students * mean;
            surface.curvature.add(item, item, group.students * (mean - square));
        }
        covariances(&posterior, &rights, &means, |place, other, covariance| {
            let (item, other) = (group.asked[place], group.asked[other]);
            surface.curvature.add(item, other, -group.students * covariance);
        });
    }
}

/// The mean of each item's P over the nodes, and that of its square.
fn moments(posterior: &[f64], rights: &[&[f64]]) -> (Vec<f64>, Vec<f64>) {
    let of_item = |right: &&[f64]| {
        let square: f64 = posterior.iter().zip(*right).map(|(w, p)| w * p * p).sum();
        (dot(posterior, right), square)
    };
    rights.iter().map(of_item).unzip()
}

/// How each two items' P vary together over the nodes, each two told once, the later first.
///
/// This is most of a fit. Some sums are added up abreast: each as if it were alone, to the last bit,
/// but the processor need not wait for one addition to begin the next.
fn covariances(
    posterior: &[f64],
    rights: &[&[f64]],
    means: &[f64],
    mut tell: impl FnMut(usize, usize, f64),
) {
    // Each item's P less its mean, times the root of the posterior: covariances are products. A row
    // for each node, filled up with zeros.
    let width = rights.len().next_multiple_of(ABREAST).max(ABREAST);
    let mut spreads = vec![0.0; posterior.len() * width];
    for (node, (row, weight)) in spreads.chunks_exact_mut(width).zip(posterior).enumerate() {
        let root = weight.sqrt();
        for ((spread, right), mean) in row.iter_mut().zip(rights).zip(means) {
            *spread = root * (right[node] - mean);
        }
    }
    for place in 0..rights.len() {
        for start in (0..=place).step_by(ABREAST) {
            let mut sums = [0.0; ABREAST];
            for row in spreads.chunks_exact(width) {
                let others = &row[start..start + ABREAST];
                for (sum, other) in sums.iter_mut().zip(others) {
                    *sum += other * row[place];
                }
            }
            for (other, sum) in (start..=place).zip(sums) {
                tell(place, other, sum);
            }
        }
    }
}

/// Sums that fill the processor's registers.
const ABREAST: usize = 8;

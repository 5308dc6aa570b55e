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
        // Each item's P less its mean, times the root of the posterior: covariances are products.
        let mut spreads: Vec<Vec<f64>> = Vec::with_capacity(group.asked.len());
        for &item in &group.asked {
            let right = &curves.right[item];
            let mean = dot(&posterior, right);
            let square: f64 = posterior.iter().zip(right).map(|(w, p)| w * p * p).sum();
            surface.slope[item] += group.students * mean;
            surface.curvature.add(item, item, group.students * (mean - square));
            let spread = |(w, p): (&f64, &f64)| w.sqrt() * (p - mean);
            spreads.push(posterior.iter().zip(right).map(spread).collect());
        }
        for (place, &item) in group.asked.iter().enumerate() {
            for (other, spread) in group.asked.iter().zip(&spreads[..=place]) {
                let covariance = dot(spread, &spreads[place]);
                surface.curvature.add(item, *other, -group.students * covariance);
            }
        }
    }
}

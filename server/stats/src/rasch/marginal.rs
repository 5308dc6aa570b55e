//! The marginal posterior of item difficulties, with its derivatives.

use std::collections::BTreeMap;

use super::{Place, chance};
use crate::Responses;
use crate::concave::Surface;
use crate::hermite::{Node, rule};
use crate::linear::{Symmetric, dot};
use crate::responses::count;

/// Number of quadrature nodes.
const NODES: u32 = 61;

/// Students who were asked the same and have the same score: the model cannot tell them apart.
struct Group {
    asked: Vec<usize>,
    score: f64,
    students: f64,
}

pub(super) struct Marginal {
    /// Right answers to each item.
    right: Vec<f64>,
    groups: Vec<Group>,
    /// The group of each student.
    group_of: Vec<usize>,
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
        let mut right = vec![0.0; responses.items()];
        let mut places: BTreeMap<(Vec<usize>, usize), usize> = BTreeMap::new();
        let mut groups: Vec<Group> = Vec::new();
        let mut group_of = Vec::with_capacity(responses.students());
        for row in responses.rows() {
            let asked: Vec<usize> = (0..row.len()).filter(|&item| row[item].is_some()).collect();
            let known: Vec<usize> =
                asked.iter().copied().filter(|&item| row[item] == Some(true)).collect();
            for &item in &known {
                right[item] += 1.0;
            }
            let place = *places.entry((asked.clone(), known.len())).or_insert_with(|| {
                groups.push(Group { asked, score: count(known.len()), students: 0.0 });
                groups.len() - 1
            });
            groups[place].students += 1.0;
            group_of.push(place);
        }
        let mut nodes = rule(NODES);
        for node in &mut nodes {
            node.at *= ability;
        }
        Self { right, groups, group_of, nodes, precision }
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
            height: -dot(&self.right, difficulties),
            slope: self.right.iter().map(|right| -right).collect(),
            curvature: Symmetric::zero(difficulties.len()),
        };
        for (item, b) in difficulties.iter().enumerate() {
            surface.height -= b * b * self.precision / 2.0;
            surface.slope[item] -= b * self.precision;
            surface.curvature.add(item, item, self.precision);
        }
        for group in &self.groups {
            self.add(group, &curves, &mut surface);
        }
        surface
    }

    /// Posterior mean and standard deviation of each student's ability.
    pub(super) fn abilities(&self, difficulties: &[f64]) -> Vec<Place> {
        let curves = self.curves(difficulties);
        let place = |group: &Group| {
            let (posterior, _) = self.posterior(group, &curves);
            let mean = |power: &dyn Fn(f64) -> f64| {
                let parts = self.nodes.iter().zip(&posterior);
                parts.map(|(node, weight)| weight * power(node.at)).sum::<f64>()
            };
            let at = mean(&|ability| ability);
            Place { at, error: mean(&|ability| (ability - at).powi(2)).sqrt() }
        };
        let places: Vec<Place> = self.groups.iter().map(place).collect();
        self.group_of.iter().map(|&group| places[group]).collect()
    }

    fn curves(&self, difficulties: &[f64]) -> Curves {
        let over_nodes = |f: fn(f64, f64) -> f64| -> Vec<Vec<f64>> {
            let of_item = |b: &f64| self.nodes.iter().map(|node| f(node.at, *b)).collect();
            difficulties.iter().map(of_item).collect()
        };
        Curves {
            right: over_nodes(|ability, b| chance(ability, b, 1.0)),
            ln_wrong: over_nodes(|ability, b| {
                let gap = ability - b;
                -gap.max(0.0) - (-gap.abs()).exp().ln_1p()
            }),
        }
    }

    /// A group's posterior over the nodes, and the logarithm of what it was normalised by.
    fn posterior(&self, group: &Group, curves: &Curves) -> (Vec<f64>, f64) {
        let mut weights: Vec<f64> =
            self.nodes.iter().map(|node| node.ln_weight + group.score * node.at).collect();
        for &item in &group.asked {
            for (weight, ln_wrong) in weights.iter_mut().zip(&curves.ln_wrong[item]) {
                *weight += ln_wrong;
            }
        }
        let largest = weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let unscaled = weights.iter().map(|weight| (weight - largest).exp());
        let sum: f64 = unscaled.clone().sum();
        let posterior = unscaled.map(|weight| weight / sum).collect();
        (posterior, largest + sum.ln())
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

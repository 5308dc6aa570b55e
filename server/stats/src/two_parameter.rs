//! Items that tell strong from weak more or less sharply.
//!
//! The two-parameter logistic model: P(right) = 1 / (1 + exp(-a (θ - b))), abilities θ normally
//! about 0 with variance 1, b the difficulty and a the discrimination of the item. Birnbaum A 1968, in
//! Lord FM, Novick MR, Statistical Theories of Mental Test Scores. It takes hundreds of students:
//! below some 200 discriminations are noise, and [`rasch`](crate::rasch) says more.

use std::collections::BTreeMap;

use crate::Responses;
use crate::concave::{Surface, Top, top};
use crate::hermite::{Node, posterior, rule};
use crate::linear::{Symmetric, dot};
use crate::logistic::{ln_logistic, logistic};
use crate::rasch::{NODES, Place};

/// An item: P(right) = 1 / (1 + exp(-(a θ + d))).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Item {
    /// d, the logit of P(right) at ability 0.
    pub easiness: Place,
    /// a; below 0 the item favours the weak, and something is wrong with it.
    pub discrimination: Place,
}

impl Item {
    /// b = -d/a, on the scale of ability; `None` if the item does not discriminate.
    pub fn difficulty(&self) -> Option<f64> {
        let b = -self.easiness.at / self.discrimination.at;
        b.is_finite().then_some(b)
    }
}

/// A class and its items on one scale.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Of greatest marginal likelihood.
    pub items: Vec<Item>,
    /// Of each student: the mean of the posterior (EAP), given the items.
    pub abilities: Vec<Place>,
    /// Logarithm of the marginal likelihood.
    pub log_likelihood: f64,
}

/// Why there is no fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoFit {
    /// Two items have three shares to fit by four numbers.
    #[error("discriminations need three items or more")]
    TooFew,
    /// All answered this item alike, or nobody was asked it.
    #[error("item {0} was answered by all alike")]
    Alike(usize),
    /// As a rule, some discrimination may grow without end: too few students.
    #[error("the likelihood has no top that can be found")]
    NotFound,
}

/// Fits items by greatest marginal likelihood: `Σ_students ln Σ_q w_q Π_asked P^x (1-P)^(1-x)`, with
/// 61 Gauss-Hermite nodes, by Newton's method in d and a. Bock RD, Lieberman M 1970, Psychometrika
/// 35:179-197. Of the two mirrored fits it is the one in which discriminations sum to 0 or more.
pub fn fit(responses: &Responses) -> Result<Fit, NoFit> {
    if responses.items() < 3 {
        return Err(NoFit::TooFew);
    }
    if let Some(item) = responses.alike() {
        return Err(NoFit::Alike(item));
    }
    let marginal = Marginal::new(responses);
    let start = [0.0, 1.0].repeat(responses.items());
    let mut top = top(start, |at| marginal.surface(at)).ok_or(NoFit::NotFound)?;
    if top.at.iter().skip(1).step_by(2).sum::<f64>() < 0.0 {
        top.at.iter_mut().skip(1).step_by(2).for_each(|a| *a = -*a);
    }
    let items = items(&top);
    if !items.iter().all(|item| item.discrimination.at.abs() < STEEPEST) {
        return Err(NoFit::NotFound);
    }
    let places = marginal.abilities(&top.at);
    let abilities = responses.rows().iter().map(|row| places[row.as_slice()]).collect();
    Ok(Fit { items, abilities, log_likelihood: top.height })
}

/// Beyond it the nodes are too far apart to tell an item from a step.
const STEEPEST: f64 = 20.0;

fn items(top: &Top) -> Vec<Item> {
    let errors: Vec<f64> = top.curvature.inverse_diagonal().iter().map(|it| it.sqrt()).collect();
    let place = |at: usize| Place { at: top.at[at], error: errors[at] };
    let item =
        |item: usize| Item { easiness: place(2 * item), discrimination: place(2 * item + 1) };
    (0..top.at.len() / 2).map(item).collect()
}

type Row = [Option<bool>];

/// The marginal likelihood of items, each its d and then its a.
struct Marginal<'a> {
    /// How many students gave each pattern of answers.
    patterns: BTreeMap<&'a Row, f64>,
    nodes: Vec<Node>,
}

impl<'a> Marginal<'a> {
    fn new(responses: &'a Responses) -> Self {
        let mut patterns: BTreeMap<&Row, f64> = BTreeMap::new();
        for row in responses.rows() {
            *patterns.entry(row).or_default() += 1.0;
        }
        Self { patterns, nodes: rule(NODES) }
    }

    fn abilities(&self, items: &[f64]) -> BTreeMap<&'a Row, Place> {
        let place = |row| Place::of(&self.nodes, &self.posterior(row, items).0);
        self.patterns.keys().map(|row| (*row, place(row))).collect()
    }

    /// A pattern's posterior over the nodes, and the logarithm of its likelihood.
    fn posterior(&self, row: &Row, items: &[f64]) -> (Vec<f64>, f64) {
        let ln_weight = |node: &Node| {
            let answers = answers(row).map(|(item, right)| {
                let logit = items[2 * item] + items[2 * item + 1] * node.at;
                ln_logistic(if right { logit } else { -logit })
            });
            node.ln_weight + answers.sum::<f64>()
        };
        posterior(self.nodes.iter().map(ln_weight).collect())
    }

    fn surface(&self, items: &[f64]) -> Surface {
        let mut surface = Surface {
            height: 0.0,
            slope: vec![0.0; items.len()],
            curvature: Symmetric::zero(items.len()),
        };
        for (row, students) in &self.patterns {
            self.add(row, *students, items, &mut surface);
        }
        surface
    }

    /// Adds the logarithm of a pattern's likelihood. At a node the slope in (d, a) is (x - P) (1, θ)
    /// and the curvature P (1 - P) (1, θ)'(1, θ); over the posterior the slope is the mean slope,
    /// the curvature the mean curvature less the covariance of slopes (Louis TA 1982, J. R. Stat.
    /// Soc. B 44:226-233).
    fn add(&self, row: &Row, students: f64, items: &[f64], surface: &mut Surface) {
        let (posterior, ln_sum) = self.posterior(row, items);
        surface.height += students * ln_sum;
        // Slopes less their mean, times the root of the posterior: covariances are products.
        let mut spreads: Vec<(usize, Vec<f64>)> = Vec::new();
        for (item, right) in answers(row) {
            let (d, a) = (2 * item, 2 * item + 1);
            let chances: Vec<f64> =
                self.nodes.iter().map(|node| logistic(items[d] + items[a] * node.at)).collect();
            let mean = |each: &dyn Fn(f64, f64) -> f64| -> f64 {
                let parts = chances.iter().zip(&self.nodes).zip(&posterior);
                parts.map(|((p, node), weight)| weight * each(*p, node.at)).sum()
            };
            let x = if right { 1.0 } else { 0.0 };
            for (place, power) in [(d, 0), (a, 1)] {
                let slope = mean(&|p, at| (x - p) * at.powi(power));
                surface.slope[place] += students * slope;
                let parts = chances.iter().zip(&self.nodes).zip(&posterior);
                let spread = parts.map(|((p, node), weight)| {
                    weight.sqrt() * ((x - p) * node.at.powi(power) - slope)
                });
                spreads.push((place, spread.collect()));
            }
            for (place, other, power) in [(d, d, 0), (a, d, 1), (a, a, 2)] {
                let curve = mean(&|p, at| p * (1.0 - p) * at.powi(power));
                surface.curvature.add(place, other, students * curve);
            }
        }
        for (at, (place, spread)) in spreads.iter().enumerate() {
            for (other, other_spread) in &spreads[..=at] {
                surface.curvature.add(*place, *other, -students * dot(spread, other_spread));
            }
        }
    }
}

/// The items that were asked, and whether each was answered rightly.
fn answers(row: &Row) -> impl Iterator<Item = (usize, bool)> {
    row.iter().enumerate().filter_map(|(item, answer)| answer.map(|right| (item, right)))
}

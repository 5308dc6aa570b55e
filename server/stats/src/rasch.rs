//! Ability and difficulty on one scale, whoever was asked what.
//!
//! The Rasch model: P(right) = 1 / (1 + exp(-(θ - b))), θ the ability of the student and b the
//! difficulty of the item, both in logits. What was not asked is left out of the likelihood, so
//! decks may differ from student to student, and may even have been chosen by earlier answers.
//!
//! [`fit`] is the one for a class: it needs no more than a few answers, and is finite whatever they
//! are. [`conditional`] needs no word on how abilities spread, [`joint`] no integral, [`pairwise`]
//! no iteration; each pays for it.

use crate::Responses;
use crate::concave::top;
use crate::hermite::Node;
use crate::logistic::logistic;
use marginal::Marginal;

pub mod conditional;
mod group;
pub mod joint;
mod marginal;
pub mod pairwise;

/// Number of quadrature nodes.
pub(crate) const NODES: u32 = 61;

/// How far abilities and difficulties are taken to spread, in logits, each normally about 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    ability: f64,
    difficulty: Option<f64>,
}

impl Spread {
    /// Standard deviations of abilities and of difficulties, in logits from 0.1 to 10; `None` as
    /// the latter lets difficulties lie anywhere (greatest likelihood), `None` as a result says
    /// that one was out of range.
    ///
    /// An ability spread of a is the same as a discrimination of a shared by all items: divide
    /// difficulties by it.
    pub fn new(ability: f64, difficulty: Option<f64>) -> Option<Self> {
        let range = 0.1..=10.0;
        let sound = range.contains(&ability) && difficulty.is_none_or(|sd| range.contains(&sd));
        sound.then_some(Self { ability, difficulty })
    }

    /// One by the variance of difficulties; 0 if they may lie anywhere, which no item can that all
    /// answered alike.
    fn precision(self, responses: &Responses) -> Result<f64, NoFit> {
        match (self.difficulty, responses.alike()) {
            (Some(sd), _) => Ok(1.0 / (sd * sd)),
            (None, Some(item)) => Err(NoFit::Alike(item)),
            (None, None) => Ok(0.0),
        }
    }
}

impl Default for Spread {
    /// Abilities N(0, 1), difficulties N(0, 2²): mild enough for a class, and every item has a
    /// finite difficulty even if all answered it alike.
    fn default() -> Self {
        Self { ability: 1.0, difficulty: Some(2.0) }
    }
}

/// A place on the scale, in logits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Where.
    pub at: f64,
    /// Its standard error (posterior standard deviation).
    pub error: f64,
}

impl Place {
    /// Mean and standard deviation of a distribution over nodes.
    pub(crate) fn of(nodes: &[Node], weights: &[f64]) -> Self {
        let mean = |power: &dyn Fn(f64) -> f64| -> f64 {
            nodes.iter().zip(weights).map(|(node, weight)| weight * power(node.at)).sum()
        };
        let at = mean(&|ability| ability);
        Self { at, error: mean(&|ability| (ability - at).powi(2)).sqrt() }
    }
}

/// A class and its items on one scale.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Of each item: the difficulty of greatest marginal posterior.
    pub difficulties: Vec<Place>,
    /// Of each student: the mean of the posterior (EAP), given the difficulties.
    pub abilities: Vec<Place>,
    /// Logarithm of the marginal likelihood.
    pub log_likelihood: f64,
    /// The same less Σ b² / 2 sd²: what was made greatest, but for a constant.
    pub log_posterior: f64,
}

/// Why there is no fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoFit {
    /// All answered this item alike, or nobody was asked it, and difficulties may lie anywhere.
    #[error("item {0} was answered by all alike")]
    Alike(usize),
    /// The climb did not arrive.
    #[error("the likelihood has no top that can be found")]
    NotFound,
}

/// Fits difficulties by greatest marginal posterior and abilities by their posterior means.
///
/// Maximised over b: `Σ_students ln Σ_q w_q Π_asked P^x (1-P)^(1-x) - Σ b² / 2 sd²`, with 61
/// Gauss-Hermite nodes. It is concave in b (an integral over θ of what is log-concave in θ and b),
/// so Newton's method finds the one top from anywhere. Swaminathan H, Gifford JA 1982, J. Educ.
/// Stat. 7:175-191; Mislevy RJ 1986, Psychometrika 51:177-195.
pub fn fit(responses: &Responses, spread: Spread) -> Result<Fit, NoFit> {
    let precision = spread.precision(responses)?;
    let marginal = Marginal::new(responses, spread.ability, precision);
    let start = vec![0.0; responses.items()];
    let top = top(start, |difficulties| marginal.surface(difficulties)).ok_or(NoFit::NotFound)?;
    let penalty: f64 = top.at.iter().map(|b| b * b * precision / 2.0).sum();
    let variances = top.curvature.inverse_diagonal();
    let place = |(&at, variance): (&f64, f64)| Place { at, error: variance.sqrt() };
    Ok(Fit {
        difficulties: top.at.iter().zip(variances).map(place).collect(),
        abilities: marginal.abilities(&top.at),
        log_likelihood: top.height + penalty,
        log_posterior: top.height,
    })
}

/// P(right) of a student at `ability` on an item of this `difficulty` and `discrimination` (1 in
/// the Rasch model): 1 / (1 + exp(-a (θ - b))).
pub fn chance(ability: f64, difficulty: f64, discrimination: f64) -> f64 {
    logistic(discrimination * (ability - difficulty))
}

/// What an answer would tell of the ability (Fisher's information): a² P (1 - P). Birnbaum A 1968,
/// in Lord FM, Novick MR, Statistical Theories of Mental Test Scores.
pub fn information(ability: f64, difficulty: f64, discrimination: f64) -> f64 {
    let right = chance(ability, difficulty, discrimination);
    let wrong = chance(-ability, -difficulty, discrimination);
    discrimination * discrimination * right * wrong
}

//! Likeness told apart from favour: does b stand for a because they are alike, or because b is what
//! people say when they do not know?
//!
//! The similarity-choice model: `P(b | a) = η_ab β_b / Σ_k η_ak β_k`, with η symmetric, `η_aa = 1`
//! and the favour β summing to 1. Luce RD 1963, Handbook of Mathematical Psychology 1:103-189; Shepard
//! RN 1957, Psychometrika 22:325-345. It holds for the categories that were there to choose from:
//! fit it anew for each set of them.

use crate::concave::{Surface, top};
use crate::linear::Symmetric;
use crate::logistic::{ln_logistic, logistic};
use crate::{ChiSquare, Square};

/// The two parts of a table of confusions.
#[derive(Debug, Clone, PartialEq)]
pub struct Likeness {
    /// η: how alike two categories are, from 0; 1 with itself.
    pub eta: Vec<Vec<f64>>,
    /// β: how favoured an answer is whatever was asked; these sum to 1.
    pub beta: Vec<f64>,
}

/// The model of greatest likelihood.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Its parameters.
    pub likeness: Likeness,
    /// The counts that it expects.
    pub fitted: Square,
    /// G², 2 Σ n ln(n / fitted): whether the model fails. `None` if it has no freedom to.
    pub deviance: Option<ChiSquare>,
    /// Pearson's X², Σ (n - fitted)² / fitted: the same question.
    pub pearson: Option<ChiSquare>,
}

/// Why the model has no greatest likelihood. Something added to every count ([`Square::plus`])
/// gives it one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoFit {
    /// A category that was never answered rightly is not known to be like itself.
    #[error("category {0} was never answered rightly")]
    EmptyDiagonal(usize),
    /// Some categories are never mixed up with the rest, or only one way.
    #[error("some categories are never mistaken for the others")]
    OneWay,
    /// The climb did not arrive.
    #[error("the likelihood has no top that can be found")]
    NotFound,
}

/// Fits by greatest likelihood.
///
/// The model is that of quasi-symmetry (Caussinus H 1965, Ann. Fac. Sci. Toulouse 29:77-182): it
/// keeps the diagonal and each `n_ab + n_ba`, and splits the latter by a contest,
/// `μ_ab / μ_ba = exp(c_a - c_b)` (Agresti A 2002, Categorical Data Analysis, 10.4). So only the c are sought, by
/// Newton's method; the likelihood is concave in them. Then `η_ab = √(μ_ab μ_ba / (μ_aa μ_bb))` and
/// `β_b ∝ √(μ_bb exp(-c_b))`. Degrees of freedom: pairs ever confused, less k - 1.
pub fn fit(table: &Square) -> Result<Fit, NoFit> {
    let size = table.size();
    if let Some(never) = (0..size).find(|&a| table.at(a, a) <= 0.0) {
        return Err(NoFit::EmptyDiagonal(never));
    }
    if table.unreached().is_some() {
        return Err(NoFit::OneWay);
    }
    let top = top(vec![0.0; size - 1], |contest| contest_of(table, contest));
    let mut contest = top.ok_or(NoFit::NotFound)?.at;
    contest.push(0.0);

    let mut rows = vec![vec![0.0; size]; size];
    for (a, row) in rows.iter_mut().enumerate() {
        for (b, cell) in row.iter_mut().enumerate() {
            let both = table.at(a, b) + table.at(b, a);
            *cell = both * logistic(contest[a] - contest[b]);
        }
    }
    let fitted = Square::new(&rows).ok_or(NoFit::NotFound)?;
    let favour = (0..size).map(|b| 0.5 * (fitted.at(b, b).ln() - contest[b])).collect();
    let likeness = Likeness { eta: likeness_of(&fitted), beta: normalised(favour) };
    let (deviance, pearson) = misfit(table, &fitted);
    Ok(Fit { likeness, fitted, deviance, pearson })
}

/// Luce's closed form, on the counts as they are: `η_ab = √(n_ab n_ba / (n_aa n_bb))`, and
/// `β_b` the geometric mean over l of `√(P_lb P_bb / (P_bl P_ll))`, scaled to sum 1. Quick and close to [`fit`];
/// `None` if any count is 0.
pub fn closed_form(table: &Square) -> Option<Likeness> {
    let size = table.size();
    if table.pairs().any(|(a, b)| table.at(a, b) * table.at(b, a) <= 0.0)
        || (0..size).any(|a| table.at(a, a) <= 0.0)
    {
        return None;
    }
    // Row totals cancel, so counts serve as well as shares.
    let ratio = |l: usize, b: usize| {
        (table.at(l, b) / table.at(b, l) * table.at(b, b) / table.at(l, l)).ln() / 2.0
    };
    let mean = |b: usize| (0..size).map(|l| ratio(l, b)).sum::<f64>() / table.categories();
    let beta = normalised((0..size).map(mean).collect());
    Some(Likeness { eta: likeness_of(table), beta })
}

impl Likeness {
    /// P(answered | asked) under the model.
    ///
    /// # Panics
    ///
    /// If there is no such category.
    pub fn probability(&self, asked: usize, answered: usize) -> f64 {
        let eta = &self.eta[asked];
        let all: f64 = eta.iter().zip(&self.beta).map(|(eta, beta)| eta * beta).sum();
        eta[answered] * self.beta[answered] / all
    }
}

/// The logarithm of the likelihood of the contests; that of the last category is 0.
fn contest_of(table: &Square, contest: &[f64]) -> Surface {
    let free = contest.len();
    let strength = |a: usize| contest.get(a).copied().unwrap_or(0.0);
    let mut surface =
        Surface { height: 0.0, slope: vec![0.0; free], curvature: Symmetric::zero(free) };
    for (a, b) in table.pairs() {
        let (there, back) = (table.at(a, b), table.at(b, a));
        let gap = strength(a) - strength(b);
        let (won, lost) = (logistic(gap), logistic(-gap));
        surface.height += there * ln_logistic(gap) + back * ln_logistic(-gap);
        let slope = there * lost - back * won;
        let curve = (there + back) * won * lost;
        surface.slope[a] += slope;
        surface.curvature.add(a, a, curve);
        if b < free {
            surface.slope[b] -= slope;
            surface.curvature.add(b, b, curve);
            surface.curvature.add(a, b, -curve);
        }
    }
    surface
}

fn likeness_of(counts: &Square) -> Vec<Vec<f64>> {
    let alike = |a: usize, b: usize| {
        let own = counts.at(a, a) * counts.at(b, b);
        if a == b { 1.0 } else { (counts.at(a, b) * counts.at(b, a) / own).sqrt() }
    };
    (0..counts.size()).map(|a| (0..counts.size()).map(|b| alike(a, b)).collect()).collect()
}

/// From logarithms up to a common summand to shares of 1.
fn normalised(logarithms: Vec<f64>) -> Vec<f64> {
    let largest = logarithms.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let parts: Vec<f64> = logarithms.into_iter().map(|ln| (ln - largest).exp()).collect();
    let sum: f64 = parts.iter().sum();
    parts.into_iter().map(|part| part / sum).collect()
}

fn misfit(table: &Square, fitted: &Square) -> (Option<ChiSquare>, Option<ChiSquare>) {
    let (mut deviance, mut pearson, mut confused) = (0.0, 0.0, 0);
    for (a, b) in table.pairs() {
        for (seen, expected) in
            [(table.at(a, b), fitted.at(a, b)), (table.at(b, a), fitted.at(b, a))]
        {
            if seen > 0.0 {
                deviance += 2.0 * seen * (seen / expected).ln();
            }
            if expected > 0.0 {
                pearson += (seen - expected).powi(2) / expected;
            }
        }
        confused += u32::from(fitted.at(a, b) > 0.0);
    }
    let taken = u32::try_from(table.size() - 1).unwrap_or(u32::MAX);
    let freedom = confused.saturating_sub(taken);
    // A perfect fit may come out a hair below 0.
    (ChiSquare::new(deviance.max(0.0), freedom), ChiSquare::new(pearson, freedom))
}

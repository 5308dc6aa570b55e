//! Abilities and difficulties at once, by greatest joint posterior.
//!
//! Without what is taken beforehand this is joint maximum likelihood, which runs away for whoever
//! has all right or all wrong, and overstates differences by about k/(k-1) for k items. With it
//! (a ridge) there always is one answer, if one shrunk towards 0 more than that of
//! [`fit`](super::fit). Use it as a check, or where an integral is too much.

use super::group::{Class, Group};
use super::{NoFit, Spread};
use crate::Responses;
use crate::concave::{Surface, top};
use crate::linear::{Symmetric, dot};
use crate::logistic::{ln_logistic, logistic};

/// A class and its items on one scale.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Of each item, in logits.
    pub difficulties: Vec<f64>,
    /// Of each student, in logits.
    pub abilities: Vec<f64>,
    /// What was made greatest, but for a constant.
    pub log_posterior: f64,
}

/// Maximises `Σ ln P(answer) - Σ θ² / 2 sd_θ² - Σ b² / 2 sd_b²` over abilities and difficulties;
/// it is concave in both.
pub fn fit(responses: &Responses, spread: Spread) -> Result<Fit, NoFit> {
    let precisions = [1.0 / (spread.ability * spread.ability), spread.precision(responses)?];
    let class = Class::of(responses);
    let groups = class.groups.len();
    let start = vec![0.0; groups + responses.items()];
    let top = top(start, |at| surface(&class, precisions, at)).ok_or(NoFit::NotFound)?;
    let (abilities, difficulties) = top.at.split_at(groups);
    Ok(Fit {
        difficulties: difficulties.to_vec(),
        abilities: class.group_of.iter().map(|&group| abilities[group]).collect(),
        log_posterior: top.height,
    })
}

/// The joint posterior at the abilities of groups, then difficulties.
fn surface(class: &Class, precisions: [f64; 2], at: &[f64]) -> Surface {
    let (abilities, difficulties) = at.split_at(class.groups.len());
    let scores = class.groups.iter().map(|group| group.students * group.score());
    let slope: Vec<f64> = scores.chain(class.right.iter().map(|right| -right)).collect();
    let mut surface =
        Surface { height: dot(&slope, at), slope, curvature: Symmetric::zero(at.len()) };
    let alone = |group: &Group| group.students * precisions[0];
    let weights = class.groups.iter().map(alone).chain(difficulties.iter().map(|_| precisions[1]));
    for (place, weight) in weights.enumerate() {
        surface.height -= at[place] * at[place] * weight / 2.0;
        surface.slope[place] -= at[place] * weight;
        surface.curvature.add(place, place, weight);
    }
    for (group, &ability) in abilities.iter().enumerate() {
        let Group { asked, students, .. } = &class.groups[group];
        for &item in asked {
            let gap = ability - difficulties[item];
            let (right, place) = (logistic(gap), abilities.len() + item);
            surface.height += students * ln_logistic(-gap);
            surface.slope[group] -= students * right;
            surface.slope[place] += students * right;
            let curve = students * right * logistic(-gap);
            surface.curvature.add(group, group, curve);
            surface.curvature.add(place, place, curve);
            surface.curvature.add(group, place, -curve);
        }
    }
    surface
}

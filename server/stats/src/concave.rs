//! The highest point of a smooth function that has one top.

use crate::linear::{Cholesky, Symmetric, dot};

/// A function at a point.
#[derive(Debug)]
pub(crate) struct Surface {
    pub(crate) height: f64,
    /// First derivatives.
    pub(crate) slope: Vec<f64>,
    /// Second derivatives, with the sign turned: positive definite near the top.
    pub(crate) curvature: Symmetric,
}

/// The top.
#[derive(Debug)]
pub(crate) struct Top {
    pub(crate) at: Vec<f64>,
    pub(crate) height: f64,
    pub(crate) curvature: Cholesky,
}

/// Climbs by Newton's method from `start`: a step that does not go up is halved until it does, and
/// where the ground is not that of a hill it is bent into one (Levenberg's damping). It has arrived
/// once a whole step, undamped, is shorter than [`CLOSE`] in every direction. `None` if it does not
/// arrive.
pub(crate) fn top(start: Vec<f64>, surface: impl Fn(&[f64]) -> Surface) -> Option<Top> {
    let mut at = start;
    let mut here = surface(&at);
    for _ in 0..MOST_STEPS {
        let (damping, curvature) = DAMPINGS.iter().find_map(|&damping| {
            Some((damping, here.curvature.clone().damped(damping).cholesky()?))
        })?;
        let mut step = curvature.solve(&here.slope);
        let longest = step.iter().fold(0.0, |longest: f64, part| longest.max(part.abs()));
        if longest < CLOSE && damping <= 0.0 {
            return Some(Top { at, height: here.height, curvature });
        }
        // Far from the top the parabola is a poor guide.
        let shorten = if longest > WIDE { WIDE / longest } else { 1.0 };
        for part in &mut step {
            *part *= shorten;
        }
        let rise = dot(&step, &here.slope);
        let enough = |height: f64, part: f64| {
            height >= here.height + ENOUGH_OF_RISE * part * rise - ROUNDING * here.height.abs()
        };
        let (next, there) = (0..MOST_HALVINGS).find_map(|halvings| {
            let part = 0.5_f64.powi(halvings);
            let next: Vec<f64> = at.iter().zip(&step).map(|(at, step)| at + part * step).collect();
            let there = surface(&next);
            enough(there.height, part).then_some((next, there))
        })?;
        (at, here) = (next, there);
    }
    None
}

const CLOSE: f64 = 1e-9;
/// Tried in order, as parts of the largest curvature.
const DAMPINGS: [f64; 5] = [0.0, 0.01, 0.1, 1.0, 10.0];
/// The longest step in any direction; logits and logarithms are what is climbed in here.
const WIDE: f64 = 4.0;
const MOST_STEPS: u32 = 100;
const MOST_HALVINGS: i32 = 40;
/// Armijo's rule.
const ENOUGH_OF_RISE: f64 = 1e-4;
/// Heights closer than this part of their size cannot be told apart.
const ROUNDING: f64 = 1e-13;

#[cfg(test)]
mod tests {
    use super::*;

    /// h = -cosh(x - 2) - 3 y²: top at (2, 0), height -1; a parabola fits badly at first.
    fn hill(at: &[f64]) -> Surface {
        let (x, y) = (at[0] - 2.0, at[1]);
        let mut curvature = Symmetric::zero(2);
        curvature.add(0, 0, x.cosh());
        curvature.add(1, 1, 6.0);
        Surface { height: -x.cosh() - 3.0 * y * y, slope: vec![-x.sinh(), -6.0 * y], curvature }
    }

    #[test]
    fn a_hill_is_climbed_from_afar() {
        for start in [[0.0, 0.0], [-30.0, 5.0], [40.0, -90.0]] {
            let top = top(start.to_vec(), hill).unwrap();
            assert!((top.at[0] - 2.0).abs() < 1e-9 && top.at[1].abs() < 1e-9);
            assert!((top.height + 1.0).abs() < 1e-12);
        }
    }

    /// h = -(x² - 1)²: from near 0, where it is a hollow, to a top at 1.
    #[test]
    fn a_hollow_is_left() {
        let twin = |at: &[f64]| {
            let (x, rest) = (at[0], at[0] * at[0] - 1.0);
            let mut curvature = Symmetric::zero(1);
            curvature.add(0, 0, 12.0 * x * x - 4.0);
            Surface { height: -rest * rest, slope: vec![-4.0 * x * rest], curvature }
        };
        let top = top(vec![0.1], twin).unwrap();
        assert!((top.at[0] - 1.0).abs() < 1e-9);
    }

    #[test]
    fn an_endless_slope_has_no_top() {
        let endless = |at: &[f64]| {
            let mut curvature = Symmetric::zero(1);
            curvature.add(0, 0, (-at[0]).exp());
            Surface { height: -(-at[0]).exp(), slope: vec![(-at[0]).exp()], curvature }
        };
        assert!(top(vec![0.0], endless).is_none());
    }
}

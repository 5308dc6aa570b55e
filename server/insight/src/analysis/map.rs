//! The confusion map: muscles in an order in which neighbours stand together.

use std::collections::BTreeSet;

use super::counts::Counts;
use super::found::{Cell, ConfusionMap};
use super::pairs::Facts;
use crate::observe::MuscleId;

/// A muscle that was never confused stands in the map only while there is room for it.
const ROOM: usize = 40;

/// The map of all muscles that were confused, and of the others while there is room.
pub(super) fn map(
    counts: &Counts,
    likeness: impl Fn(MuscleId, MuscleId) -> f64,
    facts: &impl Facts,
) -> ConfusionMap {
    let confused: BTreeSet<MuscleId> =
        counts.confused().flat_map(|(asked, said, _)| [asked, said]).collect();
    let mut muscles: Vec<MuscleId> = confused.iter().copied().collect();
    let others = counts.given.keys().filter(|muscle| !confused.contains(*muscle));
    muscles.extend(others.take(ROOM.saturating_sub(confused.len())));
    muscles.sort_unstable();
    let near = |a: MuscleId, b: MuscleId| {
        let share = |asked, said| {
            counts.tally(asked, said).and_then(myonym_stats::Tally::rate).unwrap_or_default()
        };
        // A confusion of one in three counts as much as the greatest likeness.
        likeness(a, b) + 3.0 * (share(a, b) + share(b, a))
    };
    // Looked up once each: an order asks for them over and over.
    let near: Vec<Vec<f64>> =
        muscles.iter().map(|a| muscles.iter().map(|b| near(*a, *b)).collect()).collect();
    let order = chain((0..muscles.len()).collect(), |a, b| near[a][b]);
    let order: Vec<MuscleId> = order.into_iter().map(|place| muscles[place]).collect();
    let mut cells = Vec::new();
    for (row, &asked) in (0..).zip(&order) {
        for (column, &said) in (0..).zip(&order) {
            let (count, of) = (counts.count(asked, said), counts.given(asked));
            if count > 0 {
                cells.push(Cell { asked: row, said: column, count, of });
            }
        }
    }
    ConfusionMap { muscles: order.into_iter().map(|muscle| facts.named(muscle)).collect(), cells }
}

/// An order in which each stands beside what is near to it: begun with the nearest pair and grown
/// at both ends by the nearest that is left, then bettered by turning stretches round while that
/// brings nearer ones together.
fn chain(mut left: Vec<usize>, near: impl Fn(usize, usize) -> f64) -> Vec<usize> {
    let pairs = left.iter().flat_map(|a| left.iter().map(move |b| (*a, *b)));
    let first = pairs
        .filter(|(a, b)| a < b)
        .max_by(|x, y| near(x.0, x.1).total_cmp(&near(y.0, y.1)).then_with(|| y.cmp(x)));
    let Some((a, b)) = first else { return left };
    let mut order = std::collections::VecDeque::from([a, b]);
    left.retain(|muscle| *muscle != a && *muscle != b);
    while let (Some(&front), Some(&back)) = (order.front(), order.back()) {
        let best = left.iter().enumerate().max_by(|(_, x), (_, y)| {
            let to = |muscle: usize| near(front, muscle).max(near(back, muscle));
            to(**x).total_cmp(&to(**y)).then_with(|| y.cmp(x))
        });
        let Some((at, &muscle)) = best else { break };
        left.remove(at);
        if near(front, muscle) > near(back, muscle) {
            order.push_front(muscle);
        } else {
            order.push_back(muscle);
        }
    }
    better(order.into(), near)
}

fn better(mut order: Vec<usize>, near: impl Fn(usize, usize) -> f64) -> Vec<usize> {
    // Each turn brings nearer ones together, so this ends; the bound is for rounding.
    for _ in 0..order.len() {
        let mut turned = false;
        for start in 1..order.len() {
            for end in start + 1..order.len() {
                let before = near(order[start - 1], order[start])
                    + order.get(end).map_or(0.0, |next| near(order[end - 1], *next));
                let after = near(order[start - 1], order[end - 1])
                    + order.get(end).map_or(0.0, |next| near(order[start], *next));
                if after > before + 1e-9 {
                    order[start..end].reverse();
                    turned = true;
                }
            }
        }
        if !turned {
            break;
        }
    }
    order
}

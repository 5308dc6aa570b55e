//! Choices between two muscles, both ways round.

use super::found::Chosen;
use super::pairs::Facts;
use crate::estimate::wilson;
use crate::observe::{Contrasted, Observations};

/// All that were offered beside each other, the hardest first by the upper end of the interval of the
/// share right; equals come by name.
pub(super) fn contrasts(table: &Observations, facts: &impl Facts) -> Vec<Chosen> {
    let chosen = |counted: Contrasted| {
        let Contrasted { asked, beside, of: shown, right, wrong, silent } = counted;
        Some(Chosen {
            asked: facts.named(asked),
            other: facts.named(beside),
            shown,
            right,
            wrong,
            silent,
            rate: wilson(right, shown)?,
        })
    };
    let mut found: Vec<Chosen> = table.contrasted().into_iter().filter_map(chosen).collect();
    found.sort_by(|a, b| {
        (a.rate.high.total_cmp(&b.rate.high))
            .then_with(|| (&a.asked.name, &a.other.name).cmp(&(&b.asked.name, &b.other.name)))
    });
    found
}

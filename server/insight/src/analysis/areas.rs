//! Shares right by compartment and region.

use std::collections::BTreeMap;

use myonym_content::vocabulary::Vocabulary;

use super::facts::CatalogueFacts;
use super::found::{Area, AreaKind};
use crate::estimate::wilson;
use crate::observe::Observations;

/// Every compartment, group and region of which a muscle was asked, the weakest first.
pub(super) fn areas(table: &Observations, v: &Vocabulary, facts: &CatalogueFacts<'_>) -> Vec<Area> {
    let mut counts: BTreeMap<(AreaKind, String), (u32, u32)> = BTreeMap::new();
    for (muscle, (right_here, of_here)) in table.muscles().zip(by_muscle(table)) {
        let Some(muscle) = facts.muscle(muscle).filter(|_| of_here > 0) else { continue };
        let region = v.regions.get(&muscle.region).map(|one| (AreaKind::Region, one.name.clone()));
        let groups = muscle.groups.iter().filter_map(|key| v.groups.get(key));
        let groups = groups.map(|one| (AreaKind::Group, one.name.clone()));
        for area in region.into_iter().chain(groups) {
            let (right, of) = counts.entry(area).or_default();
            *right += right_here;
            *of += of_here;
        }
    }
    let area = |((kind, name), (right, of)): ((AreaKind, String), (u32, u32))| {
        Some(Area { kind, name, right, of, rate: wilson(right, of)? })
    };
    let mut areas: Vec<Area> = counts.into_iter().filter_map(area).collect();
    areas.sort_by(|a, b| {
        (a.kind.cmp(&b.kind))
            .then_with(|| a.rate.high.total_cmp(&b.rate.high))
            .then_with(|| a.name.cmp(&b.name))
    });
    areas
}

/// Right answers and rows of each muscle, in the order of the table's muscles.
fn by_muscle(table: &Observations) -> Vec<(u32, u32)> {
    let mut counts = vec![(0, 0); table.muscle_count()];
    for row in table.rows() {
        if let Some((right, of)) = counts.get_mut(usize::from(row.asked.0)) {
            *right += u32::from(row.right());
            *of += 1;
        }
    }
    counts
}

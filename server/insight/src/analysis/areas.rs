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
    for row in table.rows() {
        let Some(muscle) = facts.muscle(row.asked) else { continue };
        let region = v.regions.get(&muscle.region).map(|one| (AreaKind::Region, one.name.clone()));
        let groups = muscle.groups.iter().filter_map(|key| v.groups.get(key));
        let groups = groups.map(|one| (AreaKind::Group, one.name.clone()));
        for area in region.into_iter().chain(groups) {
            let (right, of) = counts.entry(area).or_default();
            *right += u32::from(row.right());
            *of += 1;
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

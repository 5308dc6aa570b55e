//! Loads muscle lists.

use std::collections::BTreeMap;

use crate::catalogue::OtherMuscle;
use crate::file::ContentFile;
use crate::list::MuscleList;
use crate::load::read::{At, items};
use crate::load::{Definitions, key, look_up, value, values};
use crate::model::{ListKey, Muscle, MuscleKey};
use crate::problem::Report;

/// The muscle lists of all files.
pub(super) fn lists(
    files: &[ContentFile],
    muscles: &BTreeMap<MuscleKey, Muscle>,
    others: &BTreeMap<MuscleKey, OtherMuscle>,
    report: &mut Report<'_>,
) -> BTreeMap<ListKey, MuscleList> {
    let mut definitions = Definitions::new();
    let mut lists = BTreeMap::new();
    for At { value: row, .. } in files.iter().flat_map(|file| items(file.list.as_ref())) {
        let mut listed = Definitions::new();
        for muscle in items(row.muscles.as_ref()) {
            listed.define(muscle, report);
            if others.contains_key(&muscle.value) {
                let message =
                    format!("muscle `{}` is known by name only, without facts", muscle.value);
                report.add(muscle.place, message);
            } else {
                look_up(muscle, muscles, report);
            }
        }
        let list = MuscleList {
            key: key(row.key.as_ref()),
            name: value(row.name.as_ref()),
            level: value(row.level.as_ref()),
            muscles: values(row.muscles.as_ref()),
            hide: values(row.hide.as_ref()),
        };
        if let Some(key) = &row.key {
            definitions.define(key, report);
            lists.entry(key.value.clone()).or_insert(list);
        }
    }
    lists
}

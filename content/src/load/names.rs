//! Checks that a name means one muscle.

use std::collections::BTreeMap;

use crate::file::ContentFile;
use crate::load::read::{At, items};
use crate::load::rows;
use crate::model::MuscleKey;
use crate::name::words;
use crate::problem::{Place, Report};

/// Reports a name, synonym or short form that two muscles share.
pub(super) fn check(files: &[ContentFile], report: &mut Report<'_>) {
    let mut owners: BTreeMap<String, (&MuscleKey, Place)> = BTreeMap::new();
    let mut names: Vec<_> = muscle_names(files).chain(other_names(files)).collect();
    // The file that comes first keeps the name: the bundled one, not the one under check.
    names.sort_by_key(|(_, name)| name.place);
    for (key, name) in names {
        // As the index of names compares them: spaces left out.
        let folded = words(&name.value).concat();
        match owners.get(&folded) {
            Some((owner, first)) if *owner != key => {
                let first = report.words(*first);
                let message = format!("`{}` already names muscle `{owner}` at {first}", name.value);
                report.add(name.place, message);
            }
            Some(_) => {}
            None => {
                owners.insert(folded, (key, name.place));
            }
        }
    }
}

/// Every name of every muscle, with the muscle's key.
fn muscle_names(files: &[ContentFile]) -> impl Iterator<Item = (&MuscleKey, &At<String>)> {
    let muscles = files.iter().flat_map(|file| items(file.muscle.as_ref()));
    muscles.map(|muscle| &muscle.value).flat_map(|muscle| {
        let parts = items(muscle.parts.as_ref());
        let names = muscle.name.iter().chain(&muscle.latin);
        let names = names.chain(items(muscle.synonyms.as_ref()));
        let names = names.chain(items(muscle.abbreviations.as_ref()));
        let names = names.chain(parts.iter().flat_map(|part| items(part.value.accepted.as_ref())));
        let key = muscle.key.as_ref();
        names.filter_map(move |name| Some((&key?.value, name)))
    })
}

/// Every name of the muscles known by name only.
fn other_names(files: &[ContentFile]) -> impl Iterator<Item = (&MuscleKey, &At<String>)> {
    rows(files, |file| file.other.as_ref()).flat_map(|(key, row)| {
        let names = row.name.iter().chain(&row.latin);
        let names = names.chain(items(row.synonyms.as_ref()));
        let names = names.chain(items(row.abbreviations.as_ref()));
        names.map(move |name| (&key.value, name))
    })
}

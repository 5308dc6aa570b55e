//! From data files to a [`Catalogue`](crate::catalogue::Catalogue): read every row, look up every
//! key, report everything that is wrong.
//!
//! A row with a wrong field still becomes a value, with that field left empty, so that the rest
//! of it is checked as well. Nobody sees such a value: one problem and the whole load fails.

mod atlas;
mod list;
mod muscle;
mod names;
pub(crate) mod read;
pub(crate) mod rows;
mod vocabulary;

use std::collections::{BTreeMap, BTreeSet};
use std::panic::resume_unwind;
use std::thread;

use read::{At, Key, Keyed, Parsed};

use crate::catalogue::{Catalogue, Parts};
use crate::file::ContentFile;
use crate::lint::{Finding, Gravity};
use crate::model::{ListKey, MuscleKey};
use crate::problem::{Place, Problem, Report, SourceFile};

/// Loads all files as one catalogue, or tells all their problems, by file and line.
pub(crate) fn load(files: &[SourceFile]) -> Result<Catalogue, Vec<Problem>> {
    let mut report = Report::new(files);
    let files: Vec<_> = parsed(files)
        .into_iter()
        .enumerate()
        .map(|(index, parsed)| read::read_parsed(index, parsed, &mut report))
        .collect();
    let vocabulary = vocabulary::vocabulary(&files, &mut report);
    let muscles = muscle::muscles(&files, &vocabulary, &mut report);
    let mut others = muscle::others(&files, &vocabulary, &mut report);
    let atlas = atlas::atlas(&files, &vocabulary, &muscles, &mut report);
    names::check(&files, &mut report);
    // A muscle whose facts have come in is no longer known by name only.
    others.retain(|key, _| !muscles.contains_key(key));
    let lists = list::lists(&files, &muscles, &others, &mut report);
    let problems = report.finish();
    if problems.is_empty() {
        Ok(Catalogue::new(Parts { vocabulary, atlas, muscles, others, lists }))
    } else {
        Err(problems)
    }
}

/// The syntax of all files. It is a good part of the work, and no file needs another for it: so two
/// threads share it, as a host waits for its content when it starts.
fn parsed(files: &[SourceFile]) -> Vec<Parsed<'_>> {
    let all: usize = files.iter().map(|file| file.text.len()).sum();
    let mut before = 0;
    let middle = files.iter().position(|file| {
        before += file.text.len();
        before * 2 > all
    });
    let (first, second) = files.split_at(middle.unwrap_or_default());
    thread::scope(|scope| {
        let first = scope.spawn(|| first.iter().map(Parsed::of).collect::<Vec<_>>());
        let second: Vec<_> = second.iter().map(Parsed::of).collect();
        let mut all = first.join().unwrap_or_else(|panic| resume_unwind(panic));
        all.extend(second);
        all
    })
}

/// Tries every muscle list of these files, and reports what the trial tells against it.
pub(crate) fn try_lists(
    files: &[SourceFile],
    trial: impl Fn(&ListKey) -> Option<String>,
) -> Vec<Problem> {
    let mut report = Report::new(files);
    for (index, file) in files.iter().enumerate() {
        let rows = read::read_file(index, file, &mut report);
        for key in read::items(rows.list.as_ref()).iter().filter_map(|list| list.value.key.as_ref())
        {
            if let Some(message) = trial(&key.value) {
                report.add(key.place, message);
            }
        }
    }
    report.finish()
}

/// Tells what was found of muscles where they stand: at the action it is about, or else at the
/// muscle. What concerns none of these files' muscles is left out.
pub(crate) fn place_findings(
    files: &[SourceFile],
    findings: Vec<Finding>,
) -> Vec<(Gravity, Problem)> {
    let mut silent = Report::new(files);
    let mut places: BTreeMap<MuscleKey, (Place, Vec<Place>)> = BTreeMap::new();
    for (index, file) in files.iter().enumerate() {
        let rows = read::read_file(index, file, &mut silent);
        for row in read::items(rows.muscle.as_ref()) {
            let actions = read::items(row.value.action.as_ref()).iter().map(|action| action.place);
            if let Some(key) = &row.value.key {
                places.insert(key.value.clone(), (key.place, actions.collect()));
            }
        }
    }
    let told = findings.into_iter().filter_map(|finding| {
        let (muscle, actions) = places.get(&finding.muscle)?;
        let place = finding.action.and_then(|number| actions.get(number)).unwrap_or(muscle);
        let mut report = Report::new(files);
        report.add(*place, finding.message);
        Some((finding.gravity, report.finish().pop()?))
    });
    let mut told: Vec<(Gravity, Problem)> = told.collect();
    told.sort_by(|a, b| b.0.cmp(&a.0).then_with(|| a.1.cmp(&b.1)));
    told
}

/// The muscles whose facts or lines of pull these files bring; `None` stands for all, where they
/// change what all rest on: joints, positions, segments or conditions.
pub(crate) fn concerned(files: &[SourceFile]) -> Option<BTreeSet<MuscleKey>> {
    let mut silent = Report::new(files);
    let mut muscles = BTreeSet::new();
    for (index, file) in files.iter().enumerate() {
        let rows = read::read_file(index, file, &mut silent);
        let all = rows.segment.is_some()
            || rows.freedom.is_some()
            || rows.position.is_some()
            || rows.condition.is_some();
        if all {
            return None;
        }
        let facts = read::items(rows.muscle.as_ref()).iter().map(|row| row.value.key.as_ref());
        let paths = read::items(rows.path.as_ref()).iter().map(|row| row.value.muscle.as_ref());
        muscles.extend(facts.chain(paths).flatten().map(|key| key.value.clone()));
    }
    Some(muscles)
}

/// Defines keys: each once, each well formed.
struct Definitions<K> {
    places: BTreeMap<K, Place>,
}

impl<K: Key> Definitions<K> {
    fn new() -> Self {
        Self { places: BTreeMap::new() }
    }

    /// Takes a key into use. Reports a second definition and a key of the wrong form.
    fn define(&mut self, key: &At<K>, report: &mut Report<'_>) {
        let text = key.value.text();
        if !well_formed(text) {
            let message = format!(
                "`{text}` is not a key: use lower-case letters and digits, with hyphens between words"
            );
            report.add(key.place, message);
        }
        match self.places.get(&key.value) {
            Some(first) => {
                let first = report.words(*first);
                report.add(key.place, format!("{} `{text}` is already at {first}", K::KIND));
            }
            None => {
                self.places.insert(key.value.clone(), key.place);
            }
        }
    }
}

/// Whether a key is of the form `teres-minor`.
fn well_formed(key: &str) -> bool {
    let word = |word: &str| {
        !word.is_empty() && word.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit())
    };
    key.split('-').all(word)
}

/// Gathers the rows of one table from all files, and makes a value of each.
fn gather<K: Key, R, V: for<'r> From<&'r R>>(
    files: &[ContentFile],
    table: impl Fn(&ContentFile) -> Option<&At<Keyed<K, R>>>,
    report: &mut Report<'_>,
) -> BTreeMap<K, V> {
    let mut definitions = Definitions::new();
    let mut values = BTreeMap::new();
    for (key, row) in rows(files, table) {
        definitions.define(key, report);
        values.entry(key.value.clone()).or_insert_with(|| V::from(row));
    }
    values
}

/// The rows of one table in all files.
fn rows<'f, K: 'f, R: 'f>(
    files: &'f [ContentFile],
    table: impl Fn(&'f ContentFile) -> Option<&'f At<Keyed<K, R>>>,
) -> impl Iterator<Item = (&'f At<K>, &'f R)> {
    files.iter().filter_map(table).flat_map(|table| &table.value.0).map(|(key, row)| (key, row))
}

/// Looks a key up, and reports one that is not there.
fn look_up<'v, K: Key, V>(
    key: &At<K>,
    values: &'v BTreeMap<K, V>,
    report: &mut Report<'_>,
) -> Option<&'v V> {
    let value = values.get(&key.value);
    if value.is_none() {
        let valid = values.keys().map(Key::text);
        report.add_unknown(key.place, K::KIND, key.value.text(), valid);
    }
    value
}

/// The value of a field, or an empty one in place of a field that is absent or wrong.
fn value<T: Clone + Default>(field: Option<&At<T>>) -> T {
    field.map(|field| field.value.clone()).unwrap_or_default()
}

/// The value of a field that may be left out.
fn option<T: Clone>(field: Option<&At<T>>) -> Option<T> {
    field.map(|field| field.value.clone())
}

/// The values of a list.
fn values<T: Clone, L: AsRef<[At<T>]>>(list: Option<&At<L>>) -> Vec<T> {
    read::items(list).iter().map(|item| item.value.clone()).collect()
}

/// The key of a field, or an empty one in place of a field that is absent or wrong.
fn key<K: Key>(field: Option<&At<K>>) -> K {
    field.map_or_else(|| K::wrap(""), |field| field.value.clone())
}

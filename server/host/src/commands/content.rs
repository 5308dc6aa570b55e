//! `myonym content show`.

use std::fmt::Write as _;
use std::process::ExitCode;

use anyhow::{Context as _, bail};
use myonym_content::problem::{SourceFile, nearest};
use myonym_content::{
    Catalogue, Contrast, Course, Item, ListKey, Muscle, MuscleKey, MuscleList, OwnList, Resolution,
};
use myonym_engine::score;

use super::{own_list, say};
use crate::cli::ShowArgs;

/// Neighbours that are set against a muscle.
const NEIGHBOURS: usize = 4;

/// Shows one muscle as students and instructors will meet it.
pub(super) fn show(args: &ShowArgs) -> anyhow::Result<ExitCode> {
    let catalogue = Catalogue::bundled();
    let muscle = find(catalogue, &args.muscle.join(" "))?;
    let own = args.list.as_deref().map(own_list).transpose()?.flatten();
    let course = match own {
        Some(file) => own_course(catalogue, &file)?,
        None => Course::new(catalogue, list_with(catalogue, args.list.as_deref(), &muscle.key)?)?,
    };
    let no_such = || format!("the list does not hold {}", muscle.name);
    let item = course.item(&muscle.key).with_context(no_such)?;
    say(page(&course, muscle, item).trim_end());
    Ok(ExitCode::SUCCESS)
}

/// Lists the bundled muscle lists.
pub(super) fn lists() -> ExitCode {
    let lists: Vec<&MuscleList> = Catalogue::bundled().lists().collect();
    let width = lists.iter().map(|list| list.key.as_str().len()).max().unwrap_or_default();
    for list in lists {
        let (key, name, count) = (list.key.as_str(), &list.name, list.muscles.len());
        say(&format!("{key:<width$}  {count:>3} muscles  {name}"));
    }
    ExitCode::SUCCESS
}

/// A muscle list made ready: a bundled one by key, or a text file of the instructor's own.
pub(super) fn course(list: &str) -> anyhow::Result<Course> {
    let catalogue = Catalogue::bundled();
    if let Some(file) = own_list(list)? {
        return own_course(catalogue, &file);
    }
    let Some(known) = catalogue.list(&ListKey::new(list)) else {
        let near = nearest(list, catalogue.lists().map(|list| list.key.as_str()));
        let near = near.map(|near| format!("; nearest: {near}")).unwrap_or_default();
        bail!("no muscle list is called {list}{near}");
    };
    Ok(Course::new(catalogue, known)?)
}

fn own_course(catalogue: &Catalogue, file: &SourceFile) -> anyhow::Result<Course> {
    match OwnList::read(file, catalogue) {
        Ok(own) => Ok(Course::of_own(catalogue, &own)?),
        Err(problems) => {
            let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
            bail!("the list cannot be read:\n{}", lines.join("\n"))
        }
    }
}

/// The muscle of this key, or that a typed name means.
pub(super) fn find<'c>(catalogue: &'c Catalogue, typed: &str) -> anyhow::Result<&'c Muscle> {
    if let Some(muscle) = catalogue.muscle(&MuscleKey::new(typed)) {
        return Ok(muscle);
    }
    let names = myonym_content::name::NameIndex::of(catalogue);
    let called = |keys: &[MuscleKey]| {
        let names: Vec<&str> = keys.iter().filter_map(|key| names.name_of(key)).collect();
        names.join(", ")
    };
    match names.resolve(typed) {
        Resolution::Exact { muscle } | Resolution::Misspelt { muscle, .. } => catalogue
            .muscle(&muscle)
            .with_context(|| format!("{typed} is known by name only: its facts are not in yet")),
        Resolution::WhichOne { among } => bail!("{typed} fits several muscles: {}", called(&among)),
        Resolution::Unknown { nearest } if nearest.is_empty() => {
            bail!("no muscle is called {typed}")
        }
        Resolution::Unknown { nearest } => {
            bail!("no muscle is called {typed}; nearest: {}", called(&nearest))
        }
        Resolution::Empty => bail!("say which muscle, such as: myonym content show teres minor"),
    }
}

/// The list asked for, or the shortest that holds the muscle.
fn list_with(
    catalogue: &'static Catalogue,
    wanted: Option<&str>,
    muscle: &MuscleKey,
) -> anyhow::Result<&'static MuscleList> {
    let holds = |list: &&MuscleList| list.muscles.contains(muscle);
    match wanted {
        Some(key) => catalogue
            .list(&ListKey::new(key))
            .filter(holds)
            .with_context(|| format!("no list called {key} holds {muscle}")),
        None => catalogue
            .lists()
            .filter(holds)
            .min_by_key(|list| list.muscles.len())
            .with_context(|| format!("no list holds {muscle}; add it to one")),
    }
}

fn page(course: &Course, muscle: &Muscle, item: &Item) -> String {
    let mut page = format!("{}\n{}\n", item.name, item.latin);
    let list = course.list();
    let also: Vec<&str> =
        muscle.synonyms.iter().chain(&muscle.abbreviations).map(String::as_str).collect();
    if !also.is_empty() {
        line(&mut page, &format!("also: {}", also.join(", ")));
    }
    line(&mut page, &format!("\nIn the list {} ({} muscles)", list.name, list.muscles.len()));
    line(&mut page, "\nClues, with how many muscles of the list are left after each");
    for (number, clue) in (1..).zip(&item.clues) {
        let text = &clue.clue.text;
        line(&mut page, &format!("{number:>3}. {:>3} left  {text}", clue.remaining));
    }
    line(&mut page, "\nEverything that is true of it at this level");
    for clue in course.statements(&item.muscle) {
        line(&mut page, &format!("  {:<12} {}", clue.kind.as_str(), clue.text));
    }
    let explanations = course.explanations(&item.muscle);
    if !explanations.is_empty() {
        line(&mut page, "\nWhy it does so, from where it is attached");
    }
    for explanation in explanations {
        line(&mut page, &format!("  {explanation}"));
    }
    for (near, other) in neighbours(course, item) {
        let credit = score::credit(false, near);
        line(
            &mut page,
            &format!("\nBeside {} (nearness {near:.2}, near-miss credit {credit:.2})", other.name),
        );
        if let Some(contrast) = course.contrast(&item.muscle, &other.muscle) {
            set_apart(&mut page, item, other, &contrast);
        }
    }
    page
}

/// The nearest muscles of the list, nearest first.
fn neighbours<'a>(course: &'a Course, item: &Item) -> Vec<(f64, &'a Item)> {
    let mut near: Vec<(f64, &Item)> = course
        .items()
        .iter()
        .filter(|other| other.muscle != item.muscle)
        .map(|other| (course.nearness(&item.muscle, &other.muscle), other))
        .collect();
    near.sort_by(|a, b| b.0.total_cmp(&a.0));
    near.truncate(NEIGHBOURS);
    near
}

fn set_apart(page: &mut String, item: &Item, other: &Item, contrast: &Contrast) {
    for shared in &contrast.shared {
        line(page, &format!("  both          {shared}"));
    }
    for difference in &contrast.apart {
        line(page, &format!("  {:<12}  {}: {}", difference.aspect, item.name, difference.first));
        line(page, &format!("  {:<12}  {}: {}", "", other.name, difference.second));
    }
}

fn line(page: &mut String, text: &str) {
    // Writing to a string cannot fail.
    let _ = writeln!(page, "{text}");
}

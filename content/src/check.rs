//! The check of data files that someone is writing.

use crate::catalogue::{Catalogue, with_bundled_files};
use crate::course::Course;
use crate::lint::{Gravity, lint};
use crate::load;
use crate::problem::{Problem, SourceFile};

/// Everything wrong with these files, read together with the bundled content: they may use its
/// words and muscles, and add their own. By file and line.
///
/// Once all facts are right, their muscle lists are tried as well: each muscle of a list must be
/// told from the others by what the list teaches.
pub fn check(files: &[SourceFile]) -> Vec<Problem> {
    match Catalogue::with_bundled(files) {
        Err(problems) => problems,
        Ok(catalogue) => load::try_lists(files, |key| {
            let list = catalogue.list(key)?;
            Course::new(&catalogue, list).err().map(|error| error.to_string())
        }),
    }
}

/// What geometry says to the actions that these files claim, the gravest first: actions that the
/// lines of pull oppose, and strong ones that no fact lists. Without files, of all bundled muscles.
/// Empty where the files have problems: [`check`] tells those.
pub fn check_actions(files: &[SourceFile]) -> Vec<(Gravity, Problem)> {
    let Ok(catalogue) = Catalogue::with_bundled(files) else { return Vec::new() };
    let concerned = if files.is_empty() { None } else { load::concerned(files) };
    let muscles = catalogue
        .muscles()
        .filter(|muscle| concerned.as_ref().is_none_or(|keys| keys.contains(&muscle.key)));
    load::place_findings(&with_bundled_files(files), lint(&catalogue, muscles))
}

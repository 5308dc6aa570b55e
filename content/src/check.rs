//! The check of data files that someone is writing.

use crate::catalogue::Catalogue;
use crate::course::Course;
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

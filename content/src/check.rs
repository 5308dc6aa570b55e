//! The check of data files that someone is writing.

use crate::catalogue::Catalogue;
use crate::problem::{Problem, SourceFile};

/// Everything wrong with these files, read together with the bundled content: they may use its
/// words and muscles, and add their own.
pub fn check(files: &[SourceFile]) -> Vec<Problem> {
    Catalogue::with_bundled(files).err().unwrap_or_default()
}

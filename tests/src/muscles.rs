//! Names of muscles to answer with.

use anyhow::{Context as _, Result};
use myonym_content::{Catalogue, Course, ListKey};

/// A muscle of a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Named {
    /// Key of the content.
    pub key: String,
    /// English name.
    pub name: String,
    /// Latin name.
    pub latin: String,
}

/// The muscles of the shoulder list, in the order taught.
pub fn shoulder() -> Result<Vec<Named>> {
    let catalogue = Catalogue::bundled();
    let list = catalogue.list(&ListKey::new("shoulder")).context("no shoulder list")?;
    let course = Course::new(catalogue, list)?;
    let named = |item: &myonym_content::Item| Named {
        key: item.muscle.as_str().to_owned(),
        name: item.name.clone(),
        latin: item.latin.clone(),
    };
    Ok(course.items().iter().map(named).collect())
}

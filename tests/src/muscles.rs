//! Names of muscles to answer with.

use anyhow::{Context as _, Result};
use myonym_content::model::Role;
use myonym_content::{Catalogue, Course, ListKey, MuscleKey};

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

/// A movement that a muscle makes, in words: `lateral rotation of the arm`.
pub fn movement_of(muscle: &str) -> Result<String> {
    let catalogue = Catalogue::bundled();
    let v = &catalogue.vocabulary;
    let muscle = catalogue.muscle(&MuscleKey::new(muscle)).context("no such muscle")?;
    let moves = muscle.actions.iter().find(|action| action.role != Role::Stabilises);
    let action = moves.context("it moves nothing")?;
    let movement = v.movements.get(&action.movement).context("no such movement")?;
    let joint = v.joints.get(&action.joint).context("no such joint")?;
    Ok(format!("{} of the {}", movement.name, joint.segment))
}

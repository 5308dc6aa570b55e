//! Claimed actions held against the atlas, and strong actions that nobody claims.

use std::collections::{BTreeMap, BTreeSet};

use myonym_mechanics::{Certainty, Estimate, SegmentId};

use crate::atlas::{Atlas, JointFreedom};
use crate::catalogue::Catalogue;
use crate::claimed::{Opposition, Ruling, opposition};
use crate::derived::{Derived, LEAST_MM};
use crate::model::{Action, FreedomKey, Muscle, MuscleKey};
use crate::words::{action_phrase, listed, movement_phrase};

/// A derived action is told as missing from this arm on, in millimetres, if it is sure ...
const STRONG_MM: f64 = 2.0 * LEAST_MM;
/// ... and at least this share of the largest arm that any muscle has there.
const STRONG_SHARE: f64 = 0.25;

/// What geometry says to the actions of one muscle.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// The muscle.
    pub muscle: MuscleKey,
    /// Number of the claimed action among the muscle's, from 0; `None` for one that is not claimed.
    pub action: Option<usize>,
    /// How grave it is.
    pub gravity: Gravity,
    /// What was found: a lower-case fragment without a full stop.
    pub message: String,
}

/// How grave a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Gravity {
    /// Something to know: nothing is wrong.
    Information,
    /// The lines turn the other way by 5 to 10 mm, or by more with no certainty: look again.
    Warning,
    /// The lines turn the other way by 10 mm or more.
    Error,
}

/// Holds every claimed action of these muscles against the atlas. In the order of the muscles.
pub fn lint<'m>(
    catalogue: &Catalogue,
    muscles: impl IntoIterator<Item = &'m Muscle>,
) -> Vec<Finding> {
    let lint = Lint { catalogue, largest: largest(&catalogue.atlas) };
    muscles.into_iter().flat_map(|muscle| lint.muscle(muscle)).collect()
}

struct Lint<'c> {
    catalogue: &'c Catalogue,
    /// The largest arm of any muscle, by freedom, in millimetres.
    largest: BTreeMap<FreedomKey, f64>,
}

impl Lint<'_> {
    fn muscle(&self, muscle: &Muscle) -> Vec<Finding> {
        let found = |(number, action)| {
            let (gravity, message) = self.claim(muscle, action)?;
            let (muscle, action) = (muscle.key.clone(), Some(number));
            Some(Finding { muscle, action, gravity, message })
        };
        muscle.actions.iter().enumerate().filter_map(found).chain(self.unclaimed(muscle)).collect()
    }

    fn claim(&self, muscle: &Muscle, action: &Action) -> Option<(Gravity, String)> {
        let v = &self.catalogue.vocabulary;
        let claim = format!("{} {}", muscle.name, action_phrase(v, muscle, action));
        match self.catalogue.atlas.ruling(&muscle.key, action) {
            Ruling::Silent | Ruling::BorneOut(_) => None,
            Ruling::NotCrossed => {
                let joint = v.joints.get(&action.joint)?;
                let message = format!("{claim}: its lines of pull do not cross the {}", joint.name);
                Some((Gravity::Information, message))
            }
            Ruling::Unsupported(arm) => {
                let miss = self.catalogue.atlas.miss(&muscle.key, action);
                let gravity = match opposition(arm) {
                    Opposition::None => return None,
                    _ if miss.is_some() => Gravity::Information,
                    Opposition::Some => Gravity::Warning,
                    Opposition::Plain => Gravity::Error,
                };
                let opposite = v.movements.get(&action.movement)?;
                let does = movement_phrase(v, &action.joint, &opposite.opposite);
                let arm = millimetres(Estimate { arm_mm: -arm.arm_mm, ..arm });
                let why = miss.map(|miss| format!("; known: {}", miss.why)).unwrap_or_default();
                let message =
                    format!("{claim}: from where it is attached it {does} (moment arm {arm}){why}");
                Some((gravity, message))
            }
        }
    }

    /// Strong and sure actions of the whole muscle that no fact lists.
    fn unclaimed(&self, muscle: &Muscle) -> Option<Finding> {
        let v = &self.catalogue.vocabulary;
        let mut told: Vec<(String, String)> = Vec::new();
        for one in self.catalogue.atlas.derived(&muscle.key) {
            if !self.is_strong(one) || self.is_claimed(muscle, one) {
                continue;
            }
            let does = movement_phrase(v, &one.joint, &one.movement);
            let arm = millimetres(Estimate { arm_mm: one.arm_mm, sd_mm: one.sd_mm });
            if !told.iter().any(|(known, _)| *known == does) {
                told.push((does, arm));
            }
        }
        let told: Vec<String> =
            told.into_iter().map(|(does, arm)| format!("{does} ({arm})")).collect();
        let message = format!(
            "{}: from where it is attached it also {}; no fact says so",
            muscle.name,
            listed(&told)
        );
        let (muscle, gravity) = (muscle.key.clone(), Gravity::Information);
        (!told.is_empty()).then_some(Finding { muscle, action: None, gravity, message })
    }

    fn is_strong(&self, one: &Derived) -> bool {
        let largest = self.largest.get(&one.freedom).copied().unwrap_or_default();
        one.part.is_none()
            && one.certainty == Certainty::Sure
            && one.arm_mm >= STRONG_MM.max(largest * STRONG_SHARE)
    }

    /// Whether the muscle claims something at this freedom, or claims this movement at a joint that
    /// moves the same segments (as the scapula and the clavicle do, and the neck's joints).
    fn is_claimed(&self, muscle: &Muscle, one: &Derived) -> bool {
        let atlas = &self.catalogue.atlas;
        let Some(own) = atlas.freedom_by_key(&one.freedom) else { return false };
        let segments = |freedom: &JointFreedom| -> BTreeSet<SegmentId> {
            let freedom = atlas.linkage.freedom(freedom.id);
            freedom.into_iter().flat_map(|f| &f.motions).map(|motion| motion.segment).collect()
        };
        muscle.actions.iter().any(|action| {
            atlas.freedom(&action.joint, &action.movement).is_some_and(|claimed| {
                let same_movement = action.movement == one.movement
                    && !segments(claimed).is_disjoint(&segments(own));
                claimed.key == own.key || same_movement
            })
        })
    }
}

fn millimetres(arm: Estimate) -> String {
    format!("{:.0} ± {:.0} mm", arm.arm_mm, arm.sd_mm)
}

/// The largest arm that any muscle as a whole has, by freedom.
fn largest(atlas: &Atlas) -> BTreeMap<FreedomKey, f64> {
    let mut largest: BTreeMap<FreedomKey, f64> = BTreeMap::new();
    for one in atlas.lines.keys().flat_map(|muscle| atlas.derived(muscle)) {
        if one.part.is_none() {
            let known = largest.entry(one.freedom.clone()).or_default();
            *known = known.max(one.arm_mm);
        }
    }
    largest
}

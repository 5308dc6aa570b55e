//! Do the actions that textbooks teach follow from where the atlas puts the attachments?

use std::collections::BTreeMap;
use std::fmt;
use std::path::Path;

use myonym_content::Catalogue;
use myonym_content::atlas::Atlas;
use myonym_content::model::{
    Action, FreedomKey, JointKey, MovementKey, Muscle, MuscleKey, PartKey, Role,
};
use serde::Deserialize;

/// Share of primary actions that have to come out with the right sign.
const RIGHT: f64 = 0.95;

#[derive(Deserialize)]
struct Listed {
    action: Vec<Row>,
}

#[derive(Deserialize)]
struct Row {
    muscle: String,
    part: Option<String>,
    joint: String,
    movement: String,
    #[serde(default)]
    posture: BTreeMap<String, f64>,
    primary: bool,
}

/// Source: tests/reference/biomechanics/textbook-actions.toml, from memory; common practice.
#[test]
fn primary_actions_from_memory_come_out_right() {
    let path = "../tests/reference/biomechanics/textbook-actions.toml";
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    let listed: Listed = toml::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let (mut primary, mut secondary) = (Score::default(), Score::default());
    for row in &listed.action {
        let arm = arm(row);
        let of = row.part.as_deref().unwrap_or_default();
        let name = format!("{} {of}: {} at {}, {arm:.1} mm", row.muscle, row.movement, row.joint);
        if row.primary { &mut primary } else { &mut secondary }.count(arm > 0.0, name);
    }
    println!("primary: {primary}\nsecondary or disputed: {secondary}");
    assert!(primary.share() >= RIGHT, "{primary}");
    // Disputed actions are told, not asserted; but a list that nobody reads cannot be right.
    assert!(secondary.all > 20);
}

/// The mean arm in the listed direction: in the listed posture, or else at its best where the
/// freedom is judged.
fn arm(row: &Row) -> f64 {
    let atlas = &Catalogue::bundled().atlas;
    let (joint, movement) = (JointKey::new(&*row.joint), MovementKey::new(&*row.movement));
    let freedom = atlas.freedom(&joint, &movement).expect("the atlas has this freedom");
    let sign = freedom.sign(&movement).expect("the test's own data hold it");
    let part = row.part.as_ref().map(|part| PartKey::new(&**part));
    let lines: Vec<_> = atlas
        .lines(&MuscleKey::new(&*row.muscle))
        .iter()
        .filter(|line| part.is_none() || line.part == part)
        .collect();
    assert!(!lines.is_empty(), "no line of pull of {} {:?}", row.muscle, row.part);
    let posture = row.posture.iter().map(|(key, degrees)| {
        let freedom =
            atlas.freedom_by_key(&FreedomKey::new(&**key)).expect("the test's own data hold it");
        (freedom.id, degrees.to_radians())
    });
    let posture: BTreeMap<_, _> = posture.collect();
    let postures = if posture.is_empty() { freedom.judged_at.clone() } else { vec![posture] };
    let arms = postures.iter().filter_map(|at| atlas.mean_arm(freedom, at, &lines));
    arms.map(|arm| arm.arm_mm * sign).fold(f64::NEG_INFINITY, f64::max)
}

/// Regions of the limbs whose muscles act on joints that the atlas has.
const LIMBS: [&str; 7] = [
    "pectoral-girdle",
    "shoulder-and-humerus",
    "arm-and-forearm",
    "forearm-wrist-and-fingers",
    "hip-and-gluteal",
    "thigh",
    "leg",
];

/// Sources: the facts of `content/muscles` that name `OpenStax` *Anatomy and Physiology 2e* or Gray
/// 1918, which `course_reference.rs` holds against the records of both texts.
#[test]
fn prime_mover_actions_of_two_textbooks_come_out_right() {
    let catalogue = Catalogue::bundled();
    let mut score = Score::default();
    let limbs = |muscle: &&Muscle| LIMBS.contains(&muscle.region.as_str());
    for muscle in catalogue.muscles().filter(limbs) {
        for action in muscle.actions.iter().filter(|action| is_textbook(action)) {
            let Some(arm) = best_arm(&catalogue.atlas, muscle, action) else { continue };
            let Action { movement, joint, .. } = action;
            let name = format!("{}: {movement} at {joint}, {arm:.1} mm", muscle.name);
            score.count(arm > 0.0, name);
        }
    }
    println!("stated by a textbook: {score}");
    assert!(score.share() >= RIGHT, "{score}");
    assert!(score.all > 80, "{score}");
}

fn is_textbook(action: &Action) -> bool {
    let text = |source: &&str| action.sources.iter().any(|own| own.as_str() == *source);
    let stated = ["openstax-ap2e", "gray1918"].iter().any(text);
    stated && action.role == Role::PrimeMover && action.condition.is_none()
}

/// The best arm of the part's lines in the claimed direction; `None` where the atlas has no such
/// axis or no line.
fn best_arm(atlas: &Atlas, muscle: &Muscle, action: &Action) -> Option<f64> {
    let freedom = atlas.freedom(&action.joint, &action.movement)?;
    let sign = freedom.sign(&action.movement)?;
    let lines = atlas.lines(&muscle.key).iter();
    let lines = lines.filter(|line| action.part.is_none() || line.part == action.part);
    let arms = lines.flat_map(|line| {
        let arm = |posture| atlas.mean_arm(freedom, posture, &[line]);
        freedom.judged_at.iter().filter_map(arm)
    });
    arms.map(|arm| arm.arm_mm * sign).reduce(f64::max)
}

#[derive(Default)]
struct Score {
    all: u32,
    misses: Vec<String>,
}

impl Score {
    fn count(&mut self, right: bool, name: String) {
        self.all += 1;
        if !right {
            self.misses.push(name);
        }
    }

    fn share(&self) -> f64 {
        let misses = u32::try_from(self.misses.len()).expect("the test's own data hold it");
        1.0 - f64::from(misses) / f64::from(self.all)
    }
}

impl fmt::Display for Score {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let right =
            usize::try_from(self.all).expect("the test's own data hold it") - self.misses.len();
        write!(f, "{right} of {} right ({:.1} %)", self.all, 100.0 * self.share())?;
        self.misses.iter().try_for_each(|miss| write!(f, "\n  wrong sign: {miss}"))
    }
}

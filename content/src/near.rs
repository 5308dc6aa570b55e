//! How alike two muscles are, as students mix them up: the partial credit of a wrong name.
//!
//! | term | weight | 1 when | less when | 0 when |
//! | --- | --- | --- | --- | --- |
//! | name | .30 | same muscle | .9 same noun (`teres`); likeness of the nouns from .6 up | unlike |
//! | movement | .20 | same movements | part of them; an opposite at the same joint counts -1 | none shared |
//! | insertion | .15 | same places | .8 neighbours on one landmark; .3 same bone | other bones |
//! | origin | .10 | same places | as insertion | other bones |
//! | joint | .10 | same joints | share of common joints | none shared |
//! | region | .10 | same region and groups | half for the region, half for groups shared | apart |
//! | nerve | .05 | same nerves | half the share of common roots | nothing shared |
//!
//! The weights and part marks are ours ('common practice, no source'): names weigh most because
//! like names are what students confuse most, then what the muscle does, then where it attaches.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

use crate::model::{Action, Attachment, BoneKey, JointKey, LandmarkKey, MovementKey, Muscle, Role};
use crate::name::noun;
use crate::place::{Held, finest, forms};
use crate::spelling::edits;
use crate::vocabulary::Vocabulary;
use crate::words::{nerve_name, place_phrase};

/// What two muscles may have in common.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum NearKind {
    /// The nouns of their names.
    Name,
    /// What they do at the joints that both act on.
    Movement,
    /// Where they arise.
    Origin,
    /// Where they insert.
    Insertion,
    /// What supplies them.
    Nerve,
    /// The joints that they act on.
    Joint,
    /// Region and groups.
    Region,
}

/// One reason for likeness.
#[derive(Debug, Clone, PartialEq)]
pub struct NearTerm {
    /// What is compared.
    pub kind: NearKind,
    /// Share in the whole; the weights of all terms add up to 1.
    pub weight: f64,
    /// From -1 to 1; below 0 only where opposites outweigh what is shared.
    pub similarity: f64,
    /// What is shared or opposed, in words; the same for (a, b) and (b, a). Empty where nothing is.
    pub why: String,
}

/// How alike two muscles are, term by term.
#[derive(Debug, Clone, PartialEq)]
pub struct Nearness {
    /// One term of each kind.
    pub terms: Vec<NearTerm>,
}

impl Nearness {
    /// The weighted sum, held between 0 and 1.
    pub fn value(&self) -> f64 {
        let sum: f64 = self.terms.iter().map(|term| term.weight * term.similarity).sum();
        sum.clamp(0.0, 1.0)
    }
}

/// Compares two muscles by all their facts, whatever a course teaches. Symmetric to the last bit;
/// 1 for a muscle and itself and below 1 for any two.
pub fn nearness(v: &Vocabulary, a: &Muscle, b: &Muscle) -> Nearness {
    Compared::new(v, a).with(&Compared::new(v, b))
}

/// A muscle with what is compared of it looked up: once, where it is compared with many.
#[derive(Debug)]
pub struct Compared<'a> {
    v: &'a Vocabulary,
    muscle: &'a Muscle,
    nouns: BTreeSet<String>,
    movements: BTreeMap<(&'a JointKey, &'a MovementKey), usize>,
    origins: Vec<Vec<Held<'a>>>,
    insertions: Vec<Vec<Held<'a>>>,
    joints: BTreeSet<&'a str>,
    groups: BTreeSet<&'a str>,
    nerves: BTreeSet<String>,
    roots: BTreeSet<&'a str>,
}

impl<'a> Compared<'a> {
    /// Looks up what is compared of a muscle.
    pub fn new(v: &'a Vocabulary, muscle: &'a Muscle) -> Self {
        let joint = |action: &'a Action| Some(v.joints.get(&action.joint)?.name.as_str());
        let group = |key| Some(v.groups.get(key)?.name.as_str());
        let supply = || muscle.innervation.iter();
        Self {
            v,
            muscle,
            nouns: [&muscle.name, &muscle.latin].into_iter().filter_map(|it| noun(it)).collect(),
            movements: movements(muscle),
            origins: places(v, &muscle.origins),
            insertions: places(v, &muscle.insertions),
            joints: muscle.actions.iter().filter_map(joint).collect(),
            groups: muscle.groups.iter().filter_map(group).collect(),
            nerves: supply().map(|supply| nerve_name(v, supply)).collect(),
            roots: supply().flat_map(|supply| &supply.roots).map(String::as_str).collect(),
        }
    }

    /// Compares it with another, as [`nearness`] does.
    pub fn with(&self, other: &Self) -> Nearness {
        let term = |(kind, weight): (NearKind, f64)| {
            let (similarity, why) = match kind {
                _ if self.muscle.key == other.muscle.key => (1.0, "the same muscle".to_owned()),
                NearKind::Name => name(self, other),
                NearKind::Movement => movement(self, other),
                NearKind::Origin => attachments(self.v, &self.origins, &other.origins),
                NearKind::Insertion => attachments(self.v, &self.insertions, &other.insertions),
                NearKind::Nerve => nerve(self, other),
                NearKind::Joint => in_common(&self.joints, &other.joints),
                NearKind::Region => region(self, other),
            };
            NearTerm { kind, weight, similarity, why }
        };
        Nearness { terms: WEIGHTS.into_iter().map(term).collect() }
    }
}

const WEIGHTS: [(NearKind, f64); 7] = [
    (NearKind::Name, 0.30),
    (NearKind::Movement, 0.20),
    (NearKind::Insertion, 0.15),
    (NearKind::Origin, 0.10),
    (NearKind::Joint, 0.10),
    (NearKind::Region, 0.10),
    (NearKind::Nerve, 0.05),
];
const SAME_NOUN: f64 = 0.9;
/// Likeness of two nouns below which they are simply two words.
const UNLIKE_NOUNS: f64 = 0.6;
const SAME_LANDMARK: f64 = 0.8;
const SAME_BONE: f64 = 0.3;

/// Likeness with its reason.
type Likeness = (f64, String);

fn name(a: &Compared<'_>, b: &Compared<'_>) -> Likeness {
    let mut shared = a.nouns.intersection(&b.nouns).peekable();
    if shared.peek().is_some() {
        return (SAME_NOUN, joined(shared));
    }
    let pairs = a.nouns.iter().flat_map(|a| b.nouns.iter().map(move |b| (a, b)));
    let alike = |(a, b): (&String, &String)| {
        let longer = a.chars().count().max(b.chars().count());
        let likeness = share(longer - edits(a, b).min(longer), longer);
        (likeness >= UNLIKE_NOUNS).then(|| (likeness, joined(BTreeSet::from([a, b]))))
    };
    best(pairs.filter_map(alike))
}

/// What a muscle moves, and how much of the work it does: 2 as prime mover, 1 as helper.
fn movements(muscle: &Muscle) -> BTreeMap<(&JointKey, &MovementKey), usize> {
    let mut movements = BTreeMap::new();
    for action in &muscle.actions {
        let work = match action.role {
            Role::PrimeMover => 2,
            Role::Assists => 1,
            Role::Stabilises => continue,
        };
        let most = movements.entry((&action.joint, &action.movement)).or_insert(work);
        *most = work.max(*most);
    }
    movements
}

fn movement(a: &Compared<'_>, b: &Compared<'_>) -> Likeness {
    let v = a.v;
    let (a, b) = (&a.movements, &b.movements);
    let keys: BTreeSet<_> = a.keys().chain(b.keys()).copied().collect();
    let (mut shared, mut opposed, mut all) = (0, 0, 0);
    let mut why = BTreeSet::new();
    for (joint, movement) in keys {
        let work = |muscle: &BTreeMap<_, usize>, movement| {
            muscle.get(&(joint, movement)).copied().unwrap_or_default()
        };
        let both = work(a, movement).min(work(b, movement));
        shared += both;
        all += work(a, movement).max(work(b, movement));
        let Some(known) = v.movements.get(movement) else { continue };
        if both > 0 {
            why.insert(known.name.clone());
        }
        if known.opposite == *movement {
            continue;
        }
        let against = work(a, movement).min(work(b, &known.opposite));
        opposed += against;
        if let Some(opposite) = v.movements.get(&known.opposite).filter(|_| against > 0) {
            let pair = BTreeSet::from([&known.name, &opposite.name]);
            why.insert(pair.into_iter().cloned().collect::<Vec<_>>().join(" against "));
        }
    }
    (share(shared, all) - share(opposed, all), joined(&why))
}

/// The places of attachments, each as every source has it.
fn places<'a>(v: &'a Vocabulary, attachments: &'a [Attachment]) -> Vec<Vec<Held<'a>>> {
    let held = |attachment| forms(attachment).map(|place| Held::new(v, place)).collect();
    finest(v, attachments).map(held).collect()
}

/// The mean, over the attachments of both, of the best match among those of the other.
fn attachments(v: &Vocabulary, a: &[Vec<Held<'_>>], b: &[Vec<Held<'_>>]) -> Likeness {
    if a.is_empty() || b.is_empty() {
        return (0.0, String::new());
    }
    let pairs = || a.iter().flat_map(|here| b.iter().map(move |there| (&**here, &**there)));
    let landmarks: Vec<_> = pairs().map(|(here, there)| common_landmark(here, there)).collect();
    let alike: Vec<f64> = (pairs().zip(&landmarks))
        .map(|((here, there), landmark)| likeness(here, there, *landmark))
        .collect();
    // Likeness is the same either way round.
    let best_of_a = alike.chunks_exact(b.len()).map(|row| row.iter().copied().fold(0.0, f64::max));
    let column = |at: usize| alike.iter().skip(at).step_by(b.len()).copied();
    let best_of_b = (0..b.len()).map(|at| column(at).fold(0.0, f64::max));
    let mean = f64::midpoint(
        best_of_a.sum::<f64>() / share(a.len(), 1),
        best_of_b.sum::<f64>() / share(b.len(), 1),
    );
    let landmarks: BTreeSet<_> = landmarks.into_iter().flatten().collect();
    let mut shared: BTreeSet<String> =
        landmarks.into_iter().map(|landmark| place_phrase(v, landmark)).collect();
    if shared.is_empty() {
        let bones = pairs().filter_map(|(here, there)| common_bone(here, there));
        shared.extend(bones.filter_map(|bone| v.bones.get(bone)).map(|bone| bone.name.clone()));
    }
    (mean, joined(&shared))
}

/// Of two attachments with this landmark in common.
fn likeness(a: &[Held<'_>], b: &[Held<'_>], landmark: Option<&LandmarkKey>) -> f64 {
    let same = || a.iter().any(|here| b.iter().any(|there| here.may_be(there)));
    match landmark {
        Some(_) if same() => 1.0,
        Some(_) => SAME_LANDMARK,
        // Places that may be one have a landmark in common: that which holds the other.
        None if common_bone(a, b).is_some() => SAME_BONE,
        None => 0.0,
    }
}

/// The smallest landmark that holds a place of each. Where sources differ, both are asked, so that
/// the answer is the same either way round.
fn common_landmark<'a>(a: &[Held<'a>], b: &[Held<'a>]) -> Option<&'a LandmarkKey> {
    let smallest = |here: &Held<'a>, others: &[Held<'a>]| {
        let holds = |larger: &&LandmarkKey| others.iter().any(|other| other.lies_within(larger));
        here.landmarks().iter().copied().find(|larger| holds(larger))
    };
    let of_a = a.iter().filter_map(|here| smallest(here, b));
    of_a.chain(b.iter().filter_map(|there| smallest(there, a))).min()
}

fn common_bone<'a>(a: &[Held<'a>], b: &[Held<'a>]) -> Option<&'a BoneKey> {
    let bones = a.iter().filter_map(|here| here.bone);
    bones.filter(|bone| b.iter().any(|there| there.bone == Some(*bone))).min()
}

fn nerve(a: &Compared<'_>, b: &Compared<'_>) -> Likeness {
    let (nerves, same) = in_common(&a.nerves, &b.nerves);
    let (roots, common) = in_common(&a.roots, &b.roots);
    let why = if same.is_empty() { common } else { same };
    (nerves + (1.0 - nerves) * roots / 2.0, why)
}

fn region(a: &Compared<'_>, b: &Compared<'_>) -> Likeness {
    let (groups, shared) = in_common(&a.groups, &b.groups);
    let same = a.muscle.region == b.muscle.region;
    let region = a.v.regions.get(&a.muscle.region).filter(|_| same);
    let why = region.map(|region| region.name.clone()).into_iter().chain([shared]);
    let why: Vec<String> = why.filter(|reason| !reason.is_empty()).collect();
    (f64::midpoint(if same { 1.0 } else { 0.0 }, groups), why.join(", "))
}

/// The share of common elements in all (Jaccard), and which they are.
fn in_common<T: Ord + AsRef<str>>(a: &BTreeSet<T>, b: &BTreeSet<T>) -> Likeness {
    let common = a.intersection(b).count();
    (share(common, a.len() + b.len() - common), joined(a.intersection(b)))
}

fn best(likenesses: impl Iterator<Item = Likeness>) -> Likeness {
    let better = |best: Likeness, next: Likeness| match best.0.total_cmp(&next.0) {
        Ordering::Less => next,
        Ordering::Equal if next.1 < best.1 => next,
        Ordering::Equal | Ordering::Greater => best,
    };
    likenesses.reduce(better).unwrap_or_default()
}

fn joined<'a, T: AsRef<str> + 'a>(words: impl IntoIterator<Item = &'a T>) -> String {
    words.into_iter().map(AsRef::as_ref).collect::<Vec<_>>().join(", ")
}

#[expect(clippy::cast_precision_loss, reason = "counts of facts are far below 2^52")]
fn share(part: usize, whole: usize) -> f64 {
    if whole == 0 { 0.0 } else { part as f64 / whole as f64 }
}

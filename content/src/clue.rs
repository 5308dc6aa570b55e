//! Clues: what they look like and in which order one muscle's clues are told.

use std::cmp::Reverse;
use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use crate::course::MOST_CLUES;
use crate::model::{Muscle, MuscleKey};
use crate::order::{Step, order};
use crate::place::Placed;
use crate::statement::{Names, Naming, Rank, Statement};
use crate::vocabulary::Vocabulary;

/// What a clue is about, from vague to telling: of two clues that tell as much, the earlier kind
/// comes first.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum ClueKind {
    /// The region of the body.
    Region,
    /// A compartment, layer or named group.
    Group,
    /// A joint that it acts on.
    Joint,
    /// A movement that it makes or helps.
    Action,
    /// A bone that it arises from.
    OriginBone,
    /// A bone that it inserts on.
    InsertionBone,
    /// A landmark that it arises from, or all of them.
    Origin,
    /// A landmark that it inserts on, or all of them.
    Insertion,
    /// A nerve that supplies it.
    Nerve,
    /// The spinal roots of its nerve.
    Roots,
    /// All its origins and insertions at once, where a movement is asked for.
    Attachments,
    /// A picture that names nothing, in the place of all others.
    Picture,
}

impl ClueKind {
    /// The kind in words, such as `insertion`.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Region => "region",
            Self::Group => "group",
            Self::Joint => "joint",
            Self::Action => "action",
            Self::OriginBone | Self::Origin => "origin",
            Self::InsertionBone | Self::Insertion => "insertion",
            Self::Nerve => "innervation",
            Self::Roots => "roots",
            Self::Attachments => "attachments",
            Self::Picture => "picture",
        }
    }

    /// Whether the clue is about an origin or an insertion.
    pub fn is_attachment(self) -> bool {
        match self {
            Self::OriginBone
            | Self::InsertionBone
            | Self::Origin
            | Self::Insertion
            | Self::Attachments => true,
            Self::Region
            | Self::Group
            | Self::Joint
            | Self::Action
            | Self::Nerve
            | Self::Roots
            | Self::Picture => false,
        }
    }
}

/// A true sentence about a muscle that does not name it.
#[derive(
    Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, schemars::JsonSchema,
)]
pub struct Clue {
    /// What it is about.
    pub kind: ClueKind,
    /// A full sentence, such as `It rotates the arm laterally.`
    pub text: String,
}

/// A clue in its place, with what it told.
#[derive(Debug, Clone, PartialEq)]
pub struct OrderedClue {
    /// The clue.
    pub clue: Clue,
    /// Muscles of the list that still fit after it; 1 means that the name is settled.
    pub remaining: usize,
    /// What it told, in bits; 0 for one that is added only to round the picture off.
    pub bits: f64,
}

/// The clues of one muscle of a list in the order told, or the muscles that fit all of them.
///
/// Main actions and attachments alone are used where they single the muscle out; lesser actions
/// and nerves, then groups and the like, come in only where they do not. Every order ends with
/// the target alone, and has a clue on its action and one on its attachments if there are such.
/// A clue with the noun of the muscle's name in it is told only where no other singles it out.
pub(crate) fn clues<'a>(
    v: &Vocabulary,
    target: &Muscle,
    statements: &'a [Statement],
    list: &[Placed<'a>],
) -> Result<Vec<OrderedClue>, BTreeSet<&'a MuscleKey>> {
    let names = Names::of(target);
    let candidate = |statement| {
        let naming = Statement::naming(statement, &names);
        let candidate = || Candidate { statement, naming, fits: statement.fits(v, list) };
        (naming < Naming::Whole).then(candidate)
    };
    let all: Vec<Candidate<'_>> = statements.iter().filter_map(candidate).collect();
    let everyone: BTreeSet<&MuscleKey> = list.iter().map(|placed| &placed.muscle.key).collect();
    let open = all.iter().filter(|one| one.naming == Naming::None).cloned().collect();
    let mut indistinct = everyone.clone();
    for may_say in [open, all] {
        for most in [Rank::Chief, Rank::Further, Rank::Sorting] {
            let used = may_say.iter().filter(|one| one.statement.rank <= most).cloned();
            let used: Vec<_> = used.collect();
            indistinct.clone_from(&everyone);
            indistinct.retain(|muscle| used.iter().all(|one| one.fits.contains(muscle)));
            if indistinct.len() == 1 && !used.is_empty() {
                return Ok(told(&everyone, &used, &may_say));
            }
        }
    }
    Err(indistinct)
}

/// A statement with those muscles of the list that it is true of.
#[derive(Clone)]
struct Candidate<'a> {
    statement: &'a Statement,
    naming: Naming,
    fits: BTreeSet<&'a MuscleKey>,
}

/// The longest order of at most [`MOST_CLUES`], or else the shortest.
fn told(
    everyone: &BTreeSet<&MuscleKey>,
    used: &[Candidate<'_>],
    all: &[Candidate<'_>],
) -> Vec<OrderedClue> {
    let fits: Vec<BTreeSet<&MuscleKey>> = used.iter().map(|one| one.fits.clone()).collect();
    let tell = |step: Step| OrderedClue {
        clue: used[step.statement].statement.clue.clone(),
        remaining: step.remaining,
        bits: step.bits,
    };
    let told_in = |most: usize| -> Vec<OrderedClue> {
        let mut told = order(everyone, &fits, Some(most)).into_iter().map(tell).collect();
        round_off(&mut told, all);
        told
    };
    let mut orders = (1..=MOST_CLUES).rev().map(told_in);
    let mut shortest = orders.next().unwrap_or_default();
    // Most are short enough at once, so no other is made.
    while shortest.len() > MOST_CLUES
        && let Some(told) = orders.next()
    {
        if told.len() < shortest.len() {
            shortest = told;
        }
    }
    shortest
}

/// Adds a clue on action and one on attachments where the order came to its end without, and the
/// nerve if there is still room: by then the muscle is settled, but not every student has it.
fn round_off(told: &mut Vec<OrderedClue>, all: &[Candidate<'_>]) {
    add(told, all, |kind| kind == ClueKind::Action);
    add(told, all, ClueKind::is_attachment);
    if told.len() < MOST_CLUES {
        add(told, all, |kind| kind == ClueKind::Nerve);
    }
}

/// Adds the most telling clue of a kind that is still lacking.
fn add(told: &mut Vec<OrderedClue>, all: &[Candidate<'_>], wanted: fn(ClueKind) -> bool) {
    if told.iter().any(|clue| wanted(clue.clue.kind)) {
        return;
    }
    let such = all.iter().filter(|one| wanted(one.statement.clue.kind));
    let telling = such
        .min_by_key(|one| (one.statement.rank, one.fits.len(), Reverse(one.statement.clue.kind)));
    told.extend(telling.map(|one| OrderedClue {
        clue: one.statement.clue.clone(),
        remaining: 1,
        bits: 0.0,
    }));
}

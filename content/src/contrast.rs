//! What two muscles share, and what tells them apart.

use serde::{Deserialize, Serialize};

use crate::clue::{Clue, ClueKind};
use crate::model::{Action, End, Level, Muscle, Role};
use crate::statement::{Statement, statements, taught};
use crate::vocabulary::Vocabulary;
use crate::words::{action_phrase, actions_phrase, innervation_phrase, listed, the_attachments};

/// Two muscles side by side.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Contrast {
    /// Sentences true of both, as a course teaches them.
    pub shared: Vec<String>,
    /// Differences, the most telling first.
    pub apart: Vec<Difference>,
}

/// One aspect in which two muscles differ.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Difference {
    /// What is compared, such as `action` or `insertion`.
    pub aspect: String,
    /// The first muscle's side, such as `rotates the arm laterally`.
    pub first: String,
    /// The second muscle's side.
    pub second: String,
}

/// Sets two muscles side by side, with the facts of a course's level. Opposite movements come
/// first, then other actions, insertion, origin, nerve, groups and region. With the muscles
/// exchanged, the sides are exchanged and nothing else.
pub fn contrast(v: &Vocabulary, level: Level, a: &Muscle, b: &Muscle) -> Contrast {
    let (a, b) = (taught(v, a, level, &[]), taught(v, b, level, &[]));
    let mut apart = opposites(v, &a, &b);
    apart.extend(other_actions(v, &a, &b, apart.is_empty()));
    let groups = |of: &Muscle| -> Vec<String> {
        of.groups.iter().filter_map(|key| Some(v.groups.get(key)?.name.clone())).collect()
    };
    let region = |of: &Muscle| -> Vec<String> {
        v.regions.get(&of.region).map(|region| region.name.clone()).into_iter().collect()
    };
    let nerves = |of: &Muscle| -> Vec<String> {
        of.innervation.iter().map(|supply| innervation_phrase(v, of, supply)).collect()
    };
    apart.extend(difference(
        "insertion",
        &the_attachments(v, &a, End::Insertion),
        &the_attachments(v, &b, End::Insertion),
    ));
    apart.extend(difference(
        "origin",
        &the_attachments(v, &a, End::Origin),
        &the_attachments(v, &b, End::Origin),
    ));
    apart.extend(difference("nerve", &nerves(&a), &nerves(&b)));
    apart.extend(difference("group", &groups(&a), &groups(&b)));
    apart.extend(difference("region", &region(&a), &region(&b)));
    Contrast { shared: shared(v, &a, &b), apart }
}

/// Movements of one muscle that the other undoes, those of prime movers first.
fn opposites(v: &Vocabulary, a: &Muscle, b: &Muscle) -> Vec<Difference> {
    let mut found: Vec<((Role, Role), Difference)> = Vec::new();
    for (x, y) in a.actions.iter().flat_map(|x| b.actions.iter().map(move |y| (x, y))) {
        if undoes(v, x, y) && !moves(b, x) && !moves(a, y) {
            let (first, second) = (action_phrase(v, a, x), action_phrase(v, b, y));
            let roles = (x.role.max(y.role), x.role.min(y.role));
            found.push((roles, Difference { aspect: ACTION.to_owned(), first, second }));
        }
    }
    found.sort_by_key(|(roles, difference)| (*roles, sides(difference)));
    found.into_iter().map(|(_, difference)| difference).collect()
}

/// The sides without their order, so that exchanged muscles sort alike.
fn sides(difference: &Difference) -> (String, String) {
    let Difference { first, second, .. } = difference;
    (first.min(second).clone(), first.max(second).clone())
}

/// Actions that are not already set against each other, unless one side would stand empty. Of a
/// movement that both make it tells nobody apart that one makes it and the other helps.
fn other_actions<'a>(
    v: &Vocabulary,
    a: &'a Muscle,
    b: &'a Muscle,
    none_opposed: bool,
) -> Option<Difference> {
    let unopposed = |of: &'a Muscle, other: &'a Muscle| -> Vec<(String, &'a Action)> {
        let opposed = |action: &&Action| {
            let undone = other.actions.iter().any(|against| {
                undoes(v, action, against) && !moves(of, against) && !moves(other, action)
            });
            !undone
        };
        let phrased = |action: &'a Action| {
            let role = match action.role {
                Role::PrimeMover | Role::Assists => Role::PrimeMover,
                Role::Stabilises => Role::Stabilises,
            };
            (action_phrase(v, of, &Action { role, ..action.clone() }), action)
        };
        of.actions.iter().filter(opposed).map(phrased).collect()
    };
    let (first, second) = (unopposed(a, b), unopposed(b, a));
    if !none_opposed && (first.is_empty() || second.is_empty()) {
        return None;
    }
    let (first, second) = telling(&first, &second, |x, y| x.0 == y.0)?;
    let say = |of: &Muscle, actions: &[&(String, &Action)]| {
        actions_phrase(v, of, &actions.iter().map(|(_, action)| *action).collect::<Vec<_>>())
    };
    Some(Difference { aspect: ACTION.to_owned(), first: say(a, &first), second: say(b, &second) })
}

fn undoes(v: &Vocabulary, x: &Action, y: &Action) -> bool {
    let opposite = v.movements.get(&x.movement).map(|movement| &movement.opposite);
    x.joint == y.joint && x.movement != y.movement && opposite == Some(&y.movement)
}

fn moves(muscle: &Muscle, as_in: &Action) -> bool {
    let same = |own: &Action| own.joint == as_in.joint && own.movement == as_in.movement;
    muscle.actions.iter().any(same)
}

/// A difference, unless both sides have the same in whatever order.
fn difference(aspect: &str, first: &[String], second: &[String]) -> Option<Difference> {
    let (first, second) = telling(first, second, |x, y| x == y)?;
    let say = |side: &[&String]| listed(&side.iter().copied().cloned().collect::<Vec<_>>());
    Some(Difference { aspect: aspect.to_owned(), first: say(&first), second: say(&second) })
}

/// What each side has and the other has not: what both have does not tell them apart. If a side
/// would then stand empty, both stand whole; `None` if both would.
fn telling<'a, T>(
    first: &'a [T],
    second: &'a [T],
    same: impl Fn(&T, &T) -> bool,
) -> Option<(Vec<&'a T>, Vec<&'a T>)> {
    let own_first: Vec<&T> = first.iter().filter(|x| !second.iter().any(|y| same(x, y))).collect();
    let own_second: Vec<&T> = second.iter().filter(|y| !first.iter().any(|x| same(x, y))).collect();
    match (own_first.is_empty(), own_second.is_empty()) {
        (true, true) => None,
        (false, false) => Some((own_first, own_second)),
        (true, false) | (false, true) => Some((first.iter().collect(), second.iter().collect())),
    }
}

/// What is said of both in the same words, the telling kinds first. A bone goes without saying
/// where a landmark is shared at that end, and a joint where a movement is.
fn shared(v: &Vocabulary, a: &Muscle, b: &Muscle) -> Vec<String> {
    let said_of_b: Vec<Statement> = statements(v, b);
    let mut both: Vec<Clue> = statements(v, a).into_iter().map(|said| said.clue).collect();
    both.retain(|clue| said_of_b.iter().any(|said| said.clue == *clue));
    let has = |kind: ClueKind| both.iter().any(|clue| clue.kind == kind);
    let implied: Vec<ClueKind> = [
        (ClueKind::OriginBone, ClueKind::Origin),
        (ClueKind::InsertionBone, ClueKind::Insertion),
        (ClueKind::Joint, ClueKind::Action),
    ]
    .into_iter()
    .filter_map(|(vague, telling)| has(telling).then_some(vague))
    .collect();
    both.retain(|clue| !implied.contains(&clue.kind));
    both.sort_by_key(|clue| TELLING_FIRST.iter().position(|kind| *kind == clue.kind));
    both.into_iter().map(|clue| clue.text).collect()
}

const ACTION: &str = "action";
/// Kinds of clue, those first that tell most.
pub(crate) const TELLING_FIRST: [ClueKind; 10] = [
    ClueKind::Action,
    ClueKind::Joint,
    ClueKind::Insertion,
    ClueKind::InsertionBone,
    ClueKind::Origin,
    ClueKind::OriginBone,
    ClueKind::Nerve,
    ClueKind::Roots,
    ClueKind::Group,
    ClueKind::Region,
];

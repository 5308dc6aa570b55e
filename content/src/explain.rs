//! Why a muscle does what it does, in one sentence from its line of pull.

use myonym_mechanics::{Certainty, Passing, Posture};

use crate::atlas::{Atlas, JointFreedom, Line, Stop, StopKind};
use crate::claimed::{Ruling, Support};
use crate::contrast::Difference;
use crate::derived::{Derived, LEAST_MM};
use crate::model::{Action, Muscle};
use crate::vocabulary::Vocabulary;
use crate::words::{movement_phrase, place_phrase, plain_form, subject};

/// A line that shortens less than this at the reference posture is told as it runs in the posture
/// in which its action is judged, in millimetres.
const HARDLY_MM: f64 = 2.0;
/// A second direction is told where it is at least this share of the first.
const SECOND: f64 = 0.75;
/// Nearer to the midline than this an axis has a right and a left, not an inner and an outer side.
const MIDLINE: f64 = 0.02;

/// Why a muscle has this action: `It passes behind the long axis of the shoulder joint to the
/// greater tubercle of the humerus, so shortening rotates the arm laterally.` Where the atlas does
/// not bear the action out, it says so. `None` where it has nothing to judge by.
pub fn explanation(
    atlas: &Atlas,
    v: &Vocabulary,
    muscle: &Muscle,
    action: &Action,
) -> Option<String> {
    let (subject, many) = subject(muscle, action.part.as_ref());
    let subject = capital(&subject.unwrap_or_else(|| "it".to_owned()));
    let passes = if many { plain_form("passes") } else { "passes".to_owned() };
    let does = movement_phrase(v, &action.joint, &action.movement);
    let condition = action.condition.as_ref().map(|words| format!(" {words}")).unwrap_or_default();
    match atlas.ruling(&muscle.key, action) {
        Ruling::BorneOut(support) => {
            let way = way(atlas, v, &support)?;
            Some(format!("{subject} {passes} {way}, so shortening {does}{condition}."))
        }
        Ruling::Unsupported(arm) => {
            let axis = &atlas.freedom(&action.joint, &action.movement)?.axis;
            let close =
                if arm.arm_mm.abs() < LEAST_MM { "close to" } else { "on the other side of" };
            Some(format!(
                "{subject} {passes} {close} the {axis}: from where it is attached alone it does not \
                 follow that shortening {does}{condition}."
            ))
        }
        Ruling::Silent | Ruling::NotCrossed => None,
    }
}

/// The one fact of geometry that best separates two muscles: an axis that they pass on opposite
/// sides, or else one that only one of them crosses.
pub fn set_apart(
    atlas: &Atlas,
    v: &Vocabulary,
    one: &Muscle,
    other: &Muscle,
) -> Option<Difference> {
    let (mine, theirs) = separating(atlas, one, other);
    let misses = |derived: Option<&Derived>| misses(v, derived?);
    let first = mine
        .as_ref()
        .map_or_else(|| misses(theirs.as_ref()), |mine| passes(atlas, v, one, mine))?;
    let second = theirs
        .as_ref()
        .map_or_else(|| misses(mine.as_ref()), |theirs| passes(atlas, v, other, theirs))?;
    Some(Difference { aspect: "line of pull".to_owned(), first, second })
}

/// What two muscles do at the freedom that best separates them: opposite movements (those that are
/// taught before others, sure ones before likely ones, then the strongest), or else that of one at
/// a joint which the other does not cross. Nothing of both if there is no such freedom.
pub fn separating(
    atlas: &Atlas,
    one: &Muscle,
    other: &Muscle,
) -> (Option<Derived>, Option<Derived>) {
    let (of_one, of_other) = (whole(atlas, one), whole(atlas, other));
    let pairs = of_one.iter().flat_map(|mine| of_other.iter().map(move |theirs| (mine, theirs)));
    let opposed = pairs
        .filter(|(mine, theirs)| mine.freedom == theirs.freedom && mine.movement != theirs.movement)
        .max_by(|before, after| {
            let rank = |(mine, theirs): (&Derived, &Derived)| {
                let taught = u8::from(is_taught(one, mine)) + u8::from(is_taught(other, theirs));
                (taught, mine.certainty.min(theirs.certainty))
            };
            (rank(*before).cmp(&rank(*after)))
                .then_with(|| lesser(*before).total_cmp(&lesser(*after)))
        });
    if let Some((mine, theirs)) = opposed {
        return (Some(mine.clone()), Some(theirs.clone()));
    }
    let taught = |muscle: &Muscle, of: Vec<Derived>| -> Vec<Derived> {
        of.into_iter().filter(|derived| is_taught(muscle, derived)).collect()
    };
    let (of_one, of_other) = (taught(one, of_one), taught(other, of_other));
    let (mine, theirs) = (lone(atlas, &of_one, other), lone(atlas, &of_other, one));
    let arm = |lone: Option<&Derived>| lone.map_or(0.0, |lone| lone.arm_mm);
    if arm(mine) >= arm(theirs) { (mine.cloned(), None) } else { (None, theirs.cloned()) }
}

fn is_taught(muscle: &Muscle, derived: &Derived) -> bool {
    let same =
        |action: &Action| action.joint == derived.joint && action.movement == derived.movement;
    muscle.actions.iter().any(same)
}

/// The sure and likely actions of a muscle as a whole that are strong enough to be taught, and
/// that none of its lines opposes.
fn whole(atlas: &Atlas, muscle: &Muscle) -> Vec<Derived> {
    let strong = |one: &Derived| {
        one.part.is_none()
            && one.unanimous
            && one.arm_mm >= LEAST_MM
            && one.certainty > Certainty::CannotSay
    };
    atlas.derived(&muscle.key).iter().filter(|one| strong(one)).cloned().collect()
}

fn lesser((x, y): (&Derived, &Derived)) -> f64 {
    x.arm_mm.min(y.arm_mm)
}

/// The strongest action at a freedom that the other muscle does not cross at all.
fn lone<'d>(atlas: &Atlas, of: &'d [Derived], other: &Muscle) -> Option<&'d Derived> {
    let lines = atlas.lines(&other.key);
    let crossed = |one: &Derived| {
        atlas
            .freedom_by_key(&one.freedom)
            .is_some_and(|freedom| lines.iter().any(|line| atlas.works_at(freedom, line)))
    };
    (!lines.is_empty()).then(|| of.iter().find(|one| !crossed(one))).flatten()
}

/// `passes behind the long axis of the shoulder joint: rotates the arm laterally`.
fn passes(atlas: &Atlas, v: &Vocabulary, muscle: &Muscle, derived: &Derived) -> Option<String> {
    let side = passes_where(atlas, muscle, derived)?;
    let does = movement_phrase(v, &derived.joint, &derived.movement);
    Some(format!("passes {side}: {does}"))
}

/// Where the line of a muscle that does most of a derived action passes its axis: `behind the long
/// axis of the shoulder joint`.
pub fn passes_where(atlas: &Atlas, muscle: &Muscle, derived: &Derived) -> Option<String> {
    let freedom = atlas.freedom_by_key(&derived.freedom)?;
    let sign = freedom.sign(&derived.movement)?;
    let arms = freedom.judged_at.iter().flat_map(|posture| {
        let arms = atlas.arms_mm(freedom, posture, atlas.lines(&muscle.key).iter());
        arms.into_iter().map(move |(line, arm_mm)| (line, posture, arm_mm * sign))
    });
    let (line, posture, _) = arms.max_by(|a, b| a.2.total_cmp(&b.2))?;
    let side = side(passing(atlas, freedom, line, posture, sign)?);
    Some(format!("{side} the {}", freedom.axis))
}

fn misses(v: &Vocabulary, derived: &Derived) -> Option<String> {
    let joint = v.joints.get(&derived.joint)?;
    Some(format!("does not cross the {}", joint.name))
}

/// `behind the long axis of the shoulder joint to the greater tubercle of the humerus`.
fn way(atlas: &Atlas, v: &Vocabulary, support: &Support<'_>) -> Option<String> {
    let Support { line, freedom, posture, .. } = support;
    let points = line.points_at(posture);
    let sign = atlas.linkage.pose(posture).arm_mm(freedom.id, &points)?.signum();
    let side = side(passing(atlas, freedom, line, posture, sign)?);
    let moved = |stop: &&Stop| atlas.linkage.moves(freedom.id, stop.point.segment);
    let landmark = |stop: &'_ Stop| match &stop.kind {
        StopKind::Attachment(landmark) => Some(format!(" to the {}", place_phrase(v, landmark))),
        StopKind::Via(_) => None,
    };
    let end = line.stops.iter().rev().filter(moved).find_map(landmark).unwrap_or_default();
    Some(format!("{side} the {}{end}", freedom.axis))
}

/// Where a line passes an axis: at the reference posture if it works the same way there.
fn passing(
    atlas: &Atlas,
    freedom: &JointFreedom,
    line: &Line,
    posture: &Posture,
    sign: f64,
) -> Option<Passing> {
    let points = line.points();
    let upright = atlas.linkage.pose(&Posture::new());
    let arm = upright.arm_mm(freedom.id, &points)?;
    if arm * sign >= HARDLY_MM {
        return upright.passing(freedom.id, &points);
    }
    atlas.linkage.pose(posture).passing(freedom.id, &line.points_at(posture))
}

/// On which side of an axis, in words that stand before it. The direction in which the axis itself
/// mostly runs is never told: a side-to-side axis has no outer side.
fn side(passing: Passing) -> String {
    let Passing { offset, axis, at } = passing;
    let words = |size: f64, positive, negative| if size > 0.0 { positive } else { negative };
    let (outer, inner) = if (at - offset).z.abs() < MIDLINE {
        ("to the right of", "to the left of")
    } else {
        ("on the outer side of", "on the inner side of")
    };
    let mut sides = [
        (axis.x.abs(), offset.x.abs(), words(offset.x, "in front of", "behind")),
        (axis.y.abs(), offset.y.abs(), words(offset.y, "above", "below")),
        (axis.z.abs(), offset.z.abs(), words(offset.z, outer, inner)),
    ];
    sides.sort_by(|a, b| a.0.total_cmp(&b.0));
    let [first, second, _] = sides;
    let (more, less) = if first.1 >= second.1 { (first, second) } else { (second, first) };
    if less.1 >= more.1 * SECOND { format!("{} and {}", more.2, less.2) } else { more.2.to_owned() }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

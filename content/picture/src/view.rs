//! From where a muscle is seen.

use myonym_content::atlas::Line;
use myonym_wire::View;

use crate::flat::{plus, sight};
use crate::scene::{Side, mean};
use crate::turning::Turning;

/// In the order that settles a tie.
pub(crate) const VIEWS: [View; 4] = [View::Front, View::Back, View::Side, View::Above];

/// What is known of a muscle when its view is chosen.
pub(crate) struct Subject<'a> {
    /// What it turns.
    pub(crate) turnings: &'a [Turning],
    /// Its lines of pull.
    pub(crate) lines: &'a [&'a Line],
}

impl Subject<'_> {
    /// How much a view shows: of each moment arm, in millimetres, the share that is seen; all that
    /// by the share that is seen of the length of the lines, and by how well bones are known from
    /// there. Only strong arms count: those of at least half the greatest.
    pub(crate) fn shown_mm(&self, view: View) -> f64 {
        let greatest = self.turnings.iter().map(Turning::weight_mm).fold(0.0, f64::max);
        let strong = self.turnings.iter().filter(|one| one.weight_mm() >= greatest / 2.0);
        let arms: f64 = strong.map(|one| self.seen_mm(one, view)).sum();
        // What turns nothing is seen where it is longest.
        let arms = if self.turnings.is_empty() { 1.0 } else { arms };
        arms * self.length_seen(view) * known(view)
    }

    /// How much a view shows of what one turning does, in millimetres of its moment arm.
    pub(crate) fn seen_mm(&self, turning: &Turning, view: View) -> f64 {
        let ends = self.lines.iter().filter_map(|line| line.stops.last());
        let seen = ends.map(|stop| turning.seen(view, stop.point.at));
        turning.weight_mm() * mean(seen).unwrap_or_default()
    }

    fn length_seen(&self, view: View) -> f64 {
        let pieces = self.lines.iter().flat_map(|line| {
            let points = line.points();
            let runs = points.windows(2).map(|pair| pair[1].at - pair[0].at);
            let shares = runs.map(|run| [run.across(sight(view)).norm(), run.norm()]);
            shares.collect::<Vec<_>>()
        });
        let [seen, all] = pieces.fold([0.0, 0.0], plus);
        if all > 0.0 { seen / all } else { 0.0 }
    }

    /// The view that shows most. The front and the back show the same: of them the one in which
    /// clearly more of the lines lies before the bones, or else the one on whose side of the
    /// bones' middle the lines lie. Otherwise a tie goes to the earlier of front, back, side, above.
    pub(crate) fn best_view(&self, side: impl Fn(View) -> Side) -> View {
        let shown = |view| (self.shown_mm(view) * 1e3).round();
        let most = VIEWS.map(shown).into_iter().fold(0.0, f64::max);
        let fitting = VIEWS.into_iter().filter(|view| shown(*view) >= most);
        fitting
            .reduce(|best, next| if clearer(side(next), side(best)) { next } else { best })
            .unwrap_or(View::Front)
    }
}

/// Whether lines lie more before the bones on one side than on the other.
fn clearer(one: Side, other: Side) -> bool {
    if (one.uncovered - other.uncovered).abs() >= CLEARLY {
        one.uncovered > other.uncovered
    } else {
        one.nearer > other.nearer
    }
}

/// A difference of what bones hide that counts.
const CLEARLY: f64 = 0.2;

/// How well bones are known from there: our estimate, since most plates show the front or the back
/// and hardly any the body from above.
fn known(view: View) -> f64 {
    match view {
        View::Front | View::Back => 1.0,
        View::Side => 0.65,
        View::Above => 0.4,
    }
}

#[cfg(test)]
mod tests {
    use myonym_content::derived::Derived;
    use myonym_content::model::{FreedomKey, JointKey, MovementKey};
    use myonym_mechanics::{Certainty, Motion, SegmentId, Vec3};
    use proptest::collection::vec;
    use proptest::prelude::*;

    use super::*;
    use crate::turning::Course;

    fn turning(along: [f64; 3], arm_mm: f64) -> Option<Turning> {
        let motion = Motion {
            segment: SegmentId(0),
            through: Vec3::default(),
            along: Vec3::from(along).unit()?,
            rate: 1.0,
            pitch: 0.0,
        };
        let derived = Derived {
            unanimous: true,
            part: None,
            freedom: FreedomKey::new("a"),
            joint: JointKey::new("b"),
            movement: MovementKey::new("c"),
            arm_mm: arm_mm.abs(),
            sd_mm: 1.0,
            certainty: Certainty::Sure,
        };
        Some(Turning { motion, derived, arm_mm, share: 1.0, course: Course::Swings, jointed: true })
    }

    /// A line of which every view shows as much.
    fn slanting() -> Line {
        let limb = crate::small::atlas(&[("slant", [0.1, 0.1, 0.1], [0.0, 0.0, 0.0])]);
        limb.lines.into_values().flatten().next().unwrap()
    }

    fn seen(turnings: &[Turning], side: impl Fn(View) -> Side) -> View {
        Subject { turnings, lines: &[&slanting()] }.best_view(side)
    }

    fn open(uncovered: f64) -> Side {
        Side { uncovered, nearer: 0.0 }
    }

    #[test]
    fn one_looks_along_the_axis() {
        let along = |axis, side: fn(View) -> Side| seen(&[turning(axis, 20.0).unwrap()], side);
        let from_behind = |view| open(f64::from(u8::from(view == View::Back)));
        assert_eq!(along([0.0, 0.0, 1.0], |_| open(1.0)), View::Side);
        assert_eq!(along([0.1, -0.9, 0.1], |_| open(1.0)), View::Above);
        assert_eq!(along([-1.0, 0.0, 0.0], |_| open(1.0)), View::Front);
        assert_eq!(along([1.0, 0.0, 0.0], from_behind), View::Back);
        assert_eq!(along([0.0, 0.0, 1.0], from_behind), View::Side, "bones settle ties only");
    }

    #[test]
    fn where_bones_hide_as_much_the_nearer_side_is_seen() {
        let axis = [turning([1.0, 0.0, 0.0], 20.0).unwrap()];
        let side = |view| match view {
            View::Front => Side { uncovered: 0.9, nearer: -0.01 },
            View::Back | View::Side | View::Above => Side { uncovered: 0.8, nearer: 0.01 },
        };
        assert_eq!(seen(&axis, side), View::Back);
    }

    #[test]
    fn strong_actions_settle_it() {
        let mut turnings =
            vec![turning([1.0, 0.0, 0.0], -40.0).unwrap(), turning([0.0, 0.0, 1.0], 35.0).unwrap()];
        assert_eq!(seen(&turnings, |_| open(1.0)), View::Front);
        turnings.push(turning([0.0, 0.0, 1.0], 19.0).unwrap());
        turnings.push(turning([0.0, 0.0, 1.0], 19.0).unwrap());
        assert_eq!(seen(&turnings, |_| open(1.0)), View::Front, "19 is less than half of 40");
        turnings.push(turning([0.0, 0.0, 1.0], 35.0).unwrap());
        assert_eq!(seen(&turnings, |_| open(1.0)), View::Side);
        assert_eq!(seen(&[], |_| open(1.0)), View::Front);
    }

    /// A scapula that is drawn up over the ribs is seen to move from behind, not along its axis.
    #[test]
    fn a_slide_is_seen_across_its_way() {
        let turns = turning([0.0, 0.0, 1.0], 30.0).unwrap();
        let insertion = Vec3::new(-0.1, 0.0, 0.0);
        assert!(turns.seen(View::Back, insertion) < 1e-9);
        let slides = Turning { course: Course::Slides, ..turns };
        assert!((slides.seen(View::Back, insertion) - 1.0).abs() < 1e-9);
        assert!((slides.seen(View::Side, insertion) - 1.0).abs() < 1e-9);
        assert!(slides.seen(View::Above, insertion) < 1e-9);
    }

    proptest! {
        #[test]
        fn no_view_shows_more(axes in vec(([-1.0..1.0, -1.0..1.0, -1.0..1.0], -60.0..60.0), 0..5)) {
            let turnings: Vec<_> =
                axes.into_iter().filter_map(|(along, arm)| turning(along, arm)).collect();
            let line = slanting();
            let subject = Subject { turnings: &turnings, lines: &[&line] };
            let chosen = subject.shown_mm(subject.best_view(|_| open(0.5)));
            for view in VIEWS {
                prop_assert!(chosen >= subject.shown_mm(view) - 1e-3);
            }
        }
    }
}

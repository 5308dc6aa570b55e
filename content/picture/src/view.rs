//! From where a muscle is seen.

use myonym_wire::View;

use crate::turning::Turning;

/// In the order that settles a tie.
const VIEWS: [View; 4] = [View::Front, View::Back, View::Side, View::Above];

/// How much of a muscle's moment arms a view shows, in millimetres. Only the strong ones count:
/// those of at least half the greatest.
pub(crate) fn shown_mm(turnings: &[Turning<'_>], view: View) -> f64 {
    let greatest = turnings.iter().map(|turning| turning.arm_mm.abs()).fold(0.0, f64::max);
    let strong = turnings.iter().filter(|turning| turning.arm_mm.abs() >= greatest / 2.0);
    strong.map(|turning| turning.shown_mm(view)).sum()
}

/// The view that shows most of the moment arms. The front and the back show the same: of them the
/// one in which more of the lines of pull lies before the bones. If that too is the same, the
/// earlier of front, back, side, above.
pub(crate) fn best(turnings: &[Turning<'_>], uncovered: impl Fn(View) -> f64) -> View {
    let shown = |view| (shown_mm(turnings, view) * 1e3).round();
    let most = VIEWS.map(shown).into_iter().fold(0.0, f64::max);
    let fitting = VIEWS.into_iter().filter(|view| shown(*view) >= most);
    let better = |best: View, next| if uncovered(next) > uncovered(best) { next } else { best };
    fitting.reduce(better).unwrap_or(View::Front)
}

#[cfg(test)]
mod tests {
    use myonym_content::atlas::JointFreedom;
    use myonym_content::model::{FreedomKey, JointKey, MovementKey};
    use myonym_mechanics::{FreedomId, Motion, SegmentId, Vec3};
    use proptest::collection::vec;
    use proptest::prelude::*;

    use super::*;

    fn freedom() -> JointFreedom {
        JointFreedom {
            key: FreedomKey::new("a"),
            id: FreedomId(0),
            joint: JointKey::new("b"),
            positive: MovementKey::new("c"),
            negative: MovementKey::new("d"),
            axis: String::new(),
            judged_at: Vec::new(),
            sources: Vec::new(),
        }
    }

    fn turning(freedom: &JointFreedom, along: Vec3, arm_mm: f64) -> Turning<'_> {
        let motion =
            Motion { segment: SegmentId(0), through: Vec3::default(), along, rate: 1.0, pitch: 0.0 };
        Turning { freedom, motion, arm_mm, sure: true }
    }

    #[test]
    fn one_looks_along_the_axis() {
        let freedom = freedom();
        let seen = |along, uncovered: fn(View) -> f64| {
            best(&[turning(&freedom, Vec3::from(along), 20.0)], uncovered)
        };
        assert_eq!(seen([0.0, 0.0, 1.0], |_| 1.0), View::Side);
        assert_eq!(seen([0.1, -0.9, 0.1], |_| 1.0), View::Above);
        assert_eq!(seen([-1.0, 0.0, 0.0], |_| 1.0), View::Front);
        assert_eq!(seen([1.0, 0.0, 0.0], |view| f64::from(view == View::Back)), View::Back);
        assert_eq!(seen([0.0, 0.0, 1.0], |view| f64::from(view == View::Back)), View::Side);
    }

    #[test]
    fn strong_actions_settle_it() {
        let freedom = freedom();
        let two = [
            turning(&freedom, Vec3::new(0.0, 1.0, 0.0), -40.0),
            turning(&freedom, Vec3::new(0.0, 0.0, 1.0), 25.0),
            turning(&freedom, Vec3::new(0.0, 0.0, 1.0), 19.0),
        ];
        assert_eq!(best(&two, |_| 1.0), View::Above, "19 is less than half of 40");
        assert_eq!(best(&[], |_| 1.0), View::Front);
    }

    proptest! {
        #[test]
        fn no_view_shows_more(axes in vec(([-1.0..1.0, -1.0..1.0, -1.0..1.0], -60.0..60.0), 0..5)) {
            let freedom = freedom();
            let turned = |(along, arm): ([f64; 3], f64)| {
                Some(turning(&freedom, Vec3::from(along).unit()?, arm))
            };
            let turnings: Vec<_> = axes.into_iter().filter_map(turned).collect();
            let chosen = best(&turnings, |_| 0.5);
            for view in VIEWS {
                prop_assert!(shown_mm(&turnings, chosen) >= shown_mm(&turnings, view) - 1e-3);
            }
        }
    }
}

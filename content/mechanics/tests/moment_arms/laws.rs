//! Laws that any moment arm obeys, on random linkages.

use std::collections::BTreeMap;

use myonym_mechanics::{FreedomId, Point, Pose, Posture, SegmentId, Vec3};
use proptest::prelude::*;

use crate::hinge::{FLEXION, LIMB, TRUNK, hinge};
use crate::random_linkage::{Nesting, Scene, direction, place, scene};

/// Differences of lengths tell a derivative to this, in millimetres for each radian.
const BY_DIFFERENCES: f64 = 1e-4;
/// What rounding leaves of arms of up to some metres, in millimetres.
const ROUNDING: f64 = 1e-6;

fn arms(scene: &Scene) -> Vec<Option<f64>> {
    let pose = scene.pose();
    scene.freedoms().map(|freedom| pose.arm_mm(freedom, &scene.path)).collect()
}

fn close(a: &[Option<f64>], b: &[Option<f64>]) -> bool {
    let pair = |(a, b): (&Option<f64>, &Option<f64>)| match (a, b) {
        (Some(a), Some(b)) => (a - b).abs() < ROUNDING,
        (None, None) => true,
        (Some(_), None) | (None, Some(_)) => false,
    };
    a.len() == b.len() && a.iter().zip(b).all(pair)
}

proptest! {
    /// The arm is the derivative of the length (Sherman, Seth and Delp 2013, PMC4404026).
    #[test]
    fn the_arm_is_what_the_line_shortens(scene in scene(Nesting::Ordered)) {
        let pose = scene.pose();
        for freedom in scene.freedoms() {
            let arm = pose.arm_mm(freedom, &scene.path).unwrap_or_default();
            let by_differences = scene.shortening_mm(freedom);
            prop_assert!((arm - by_differences).abs() < BY_DIFFERENCES, "{arm} {by_differences}");
        }
    }

    /// The same about axes that do not go along with each other: there it is the derivative by a
    /// turn about the axis where it is now, added to the posture as the last.
    #[test]
    fn the_arm_is_that_of_an_added_turn(mut scene in scene(Nesting::Any)) {
        let arms = arms(&scene);
        for (freedom, arm) in scene.freedoms().zip(arms) {
            let again = scene.linkage.freedoms[freedom.0].clone();
            let added = FreedomId(scene.linkage.freedoms.len());
            scene.linkage.freedoms.push(again);
            let by_differences = scene.shortening_mm(added);
            scene.linkage.freedoms.pop();
            let arm = arm.unwrap_or_default();
            prop_assert!((arm - by_differences).abs() < BY_DIFFERENCES, "{arm} {by_differences}");
        }
    }

    /// Only relative places count.
    #[test]
    fn a_rigid_motion_of_everything_changes_nothing(
        scene in scene(Nesting::Any), about in direction(), angle in -3.0..3.0, shift in place(),
    ) {
        let about = about.unit().expect("a direction");
        let mut moved = scene.clone();
        for motion in moved.linkage.freedoms.iter_mut().flat_map(|freedom| &mut freedom.motions) {
            motion.through = motion.through.turned(about, angle) + shift;
            motion.along = motion.along.turned(about, angle);
        }
        for point in &mut moved.path {
            point.at = point.at.turned(about, angle) + shift;
        }
        prop_assert!(close(&arms(&scene), &arms(&moved)));
    }

    /// A line pulls at both ends alike.
    #[test]
    fn a_line_has_no_direction(scene in scene(Nesting::Any)) {
        let mut reversed = scene.clone();
        reversed.path.reverse();
        prop_assert!(close(&arms(&scene), &arms(&reversed)));
    }

    /// An axis turned round, in the same place of the same posture, gives the opposite arm.
    #[test]
    fn the_sign_is_that_of_the_axis(scene in scene(Nesting::Any)) {
        let arms = arms(&scene);
        for (freedom, arm) in scene.freedoms().zip(arms) {
            let mut turned = scene.clone();
            for motion in &mut turned.linkage.freedoms[freedom.0].motions {
                motion.along = -motion.along;
            }
            *turned.posture.entry(freedom).or_default() *= -1.0;
            let opposite = turned.pose().arm_mm(freedom, &turned.path).map(|arm| -arm);
            prop_assert!(close(&[arm], &[opposite]), "{arm:?} {opposite:?}");
        }
    }

    /// The arm is in proportion to the rate, and the length of the axis' direction is of no
    /// account.
    #[test]
    fn the_rate_multiplies_and_a_direction_does_not(scene in scene(Nesting::Any), by in 0.5..3.0) {
        let straight = Scene { posture: Posture::new(), ..scene };
        let mut faster = straight.clone();
        for motion in faster.linkage.freedoms.iter_mut().flat_map(|freedom| &mut freedom.motions) {
            motion.rate *= by;
            motion.along = motion.along * by;
        }
        let slow: Vec<_> = arms(&straight).into_iter().map(|arm| arm.map(|arm| arm * by)).collect();
        prop_assert!(close(&slow, &arms(&faster)));
    }

    /// No crossing, no arm; and then no turn, however large, changes the length.
    #[test]
    fn a_line_that_does_not_cross_has_no_arm(scene in scene(Nesting::Any), by in -2.0..2.0) {
        let pose = scene.pose();
        for freedom in scene.freedoms() {
            let arm = pose.arm_mm(freedom, &scene.path);
            prop_assert_eq!(arm.is_some(), pose.crosses(freedom, &scene.path));
            if arm.is_none() {
                let [before, after] = [0.0, by].map(|by| scene.length_mm(freedom, by));
                prop_assert!((before - after).abs() < ROUNDING, "{before} {after}");
                prop_assert_eq!(pose.passing(freedom, &scene.path), None);
            }
        }
    }

    /// A line that stays on one segment crosses nothing.
    #[test]
    fn within_a_segment_nothing_crosses(mut scene in scene(Nesting::Any), segment in 0_usize..5) {
        for point in &mut scene.path {
            point.segment = SegmentId(segment);
        }
        prop_assert!(arms(&scene).iter().all(Option::is_none));
    }

    /// A hinge seen along its axis: the arm is the distance of the line from the hinge, as a lever
    /// has it in any book of statics (common practice, no source).
    #[test]
    fn across_a_hinge_the_arm_is_the_perpendicular_distance(
        from in prop::array::uniform2(-0.5..0.5), to in prop::array::uniform2(-0.5..0.5),
        depth in -0.5..0.5,
    ) {
        let [from, to] = [from, to].map(|[x, y]: [f64; 2]| Vec3::new(x, y, depth));
        prop_assume!((to - from).norm() > 0.02);
        let linkage = hinge();
        let arm = flexion_arm(&linkage.pose(&Posture::new()), from, to);
        let distance = (to.x * from.y - to.y * from.x) / (to - from).norm() * 1e3;
        prop_assert!((arm - distance).abs() < ROUNDING, "{arm} {distance}");
    }

    /// A muscle from `a` above the elbow to `b` below it, the elbow bent: area of the triangle by
    /// its side, from the law of cosines (common practice, no source).
    #[test]
    fn a_bent_hinge_follows_the_law_of_cosines(
        a in 0.05..0.4_f64, b in 0.02..0.3_f64, angle in 0.05..3.0_f64,
    ) {
        let linkage = hinge();
        let posture = BTreeMap::from([(FLEXION, angle)]);
        let (from, to) = (Vec3::new(0.0, a, 0.0), Vec3::new(0.0, -b, 0.0));
        let arm = flexion_arm(&linkage.pose(&posture), from, to);
        let (sin, cos) = angle.sin_cos();
        let expected = a * b * sin / (a * a + b * b + 2.0 * a * b * cos).sqrt() * 1e3;
        prop_assert!((arm - expected).abs() < ROUNDING, "{arm} {expected}");
    }
}

fn flexion_arm(pose: &Pose<'_>, from: Vec3, to: Vec3) -> f64 {
    let [from, to] =
        [(TRUNK, from), (LIMB, to)].map(|(segment, at)| Point { segment, at, spread: 0.0 });
    pose.arm_mm(FLEXION, &[from, to]).expect("crosses")
}

/// Biceps that pulls straight up on a forearm held level, 4 cm in front of the elbow: a lever of 4
/// cm (an open textbook, *College Physics* of `OpenStax`, forces and torques in muscles and joints;
/// from memory).
#[test]
fn biceps_of_the_physics_book() {
    let posture = BTreeMap::from([(FLEXION, 90_f64.to_radians())]);
    let linkage = hinge();
    // Of the forearm that hangs: 4 cm below the elbow. Above the place where that comes to lie.
    let arm = flexion_arm(
        &linkage.pose(&posture),
        Vec3::new(0.04, 0.25, 0.0),
        Vec3::new(0.0, -0.04, 0.0),
    );
    assert!((arm - 40.0).abs() < 1e-9, "{arm}");
}

/// Triceps behind the elbow extends it, whatever the angle of the axis' sign convention.
#[test]
fn behind_the_hinge_is_extension() {
    let linkage = hinge();
    let pose = linkage.pose(&Posture::new());
    assert!(flexion_arm(&pose, Vec3::new(-0.02, 0.2, 0.0), Vec3::new(-0.02, -0.01, 0.0)) < 0.0);
    assert!(flexion_arm(&pose, Vec3::new(0.02, 0.2, 0.0), Vec3::new(0.02, -0.05, 0.0)) > 0.0);
}

/// A screw of pitch p alone moves a line along the axis by p for each radian.
#[test]
fn a_line_along_a_screw_shortens_by_its_pitch() {
    let mut linkage = hinge();
    linkage.freedoms[0].motions[0].pitch = 0.002;
    let pose = linkage.pose(&Posture::new());
    let arm = flexion_arm(&pose, Vec3::new(0.0, 0.0, 0.1), Vec3::default());
    assert!((arm - 2.0).abs() < 1e-9, "{arm}");
}

/// A motion without a direction of its axis, and ids that are not there, move nothing.
#[test]
fn what_is_not_there_moves_nothing() {
    let mut linkage = hinge();
    let path =
        [TRUNK, LIMB].map(|segment| Point { segment, at: Vec3::new(0.1, 0.2, 0.3), spread: 0.0 });
    linkage.freedoms[0].motions[0].along = Vec3::default();
    let posture = BTreeMap::from([(FLEXION, 1.0), (FreedomId(7), 1.0)]);
    let pose = linkage.pose(&posture);
    assert_eq!(pose.arm_mm(FLEXION, &path), None);
    assert_eq!(pose.arm_mm(FreedomId(7), &path), None);
    assert_eq!(pose.place(SegmentId(7), path[0].at), path[0].at);
    assert_eq!(linkage.estimate(&posture, FLEXION, &path), None);
}

/// Segments that carry each other in a ring are a mistake of data, and no endless search.
#[test]
fn a_ring_of_segments_ends() {
    let mut linkage = hinge();
    linkage.segments[0].carried_by = Some(LIMB);
    assert!(linkage.carries(TRUNK, LIMB) && linkage.carries(LIMB, TRUNK));
    assert!(!linkage.carries(SegmentId(7), LIMB));
}

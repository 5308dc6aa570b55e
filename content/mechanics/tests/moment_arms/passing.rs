//! On which side of an axis a line passes.

use myonym_mechanics::{Passing, Point, Posture, Vec3};
use proptest::prelude::*;

use crate::hinge::{FLEXION, LIMB, TRUNK, hinge};
use crate::models::Model;
use crate::random_linkage::{Nesting, Scene, scene};

const FRONT: Vec3 = Vec3::new(1.0, 0.0, 0.0);
const BACK: Vec3 = Vec3::new(-1.0, 0.0, 0.0);
const ABOVE: Vec3 = Vec3::new(0.0, 1.0, 0.0);
const LATERAL: Vec3 = Vec3::new(0.0, 0.0, 1.0);
const MEDIAL: Vec3 = Vec3::new(0.0, 0.0, -1.0);

const LONG_AXIS: &str = "shoulder internal/external rotation (glenohumeral)";
const SHOULDER_ABDUCTION: &str = "shoulder abduction/adduction (glenohumeral)";
const HIP_FLEXION: &str = "hip flexion/extension";
const HIP_ADDUCTION: &str = "hip adduction/abduction";
const KNEE: &str = "knee flexion/extension";
const ANKLE: &str = "ankle dorsiflexion/plantarflexion";
const ELBOW: &str = "elbow flexion/extension";

/// Where lines pass on the published points; the words are those of any anatomy of these muscles
/// (common practice, no source).
#[test]
fn lines_pass_where_anatomy_says() {
    let sides = [
        ("thoracoscapular", "TeresMinor", LONG_AXIS, BACK),
        ("thoracoscapular", "Infraspinatus_I", LONG_AXIS, BACK),
        ("thoracoscapular", "TeresMajor", LONG_AXIS, FRONT),
        ("thoracoscapular", "Subscapularis_I", LONG_AXIS, FRONT),
        ("thoracoscapular", "PectoralisMajorThorax_M", LONG_AXIS, FRONT),
        ("thoracoscapular", "Supraspinatus_A", SHOULDER_ABDUCTION, ABOVE),
        ("thoracoscapular", "DeltoideusScapula_M", SHOULDER_ABDUCTION, LATERAL),
        ("gait2392", "glut_med1", HIP_ADDUCTION, LATERAL),
        ("gait2392", "glut_med2", HIP_ADDUCTION, LATERAL),
        ("gait2392", "glut_med3", HIP_ADDUCTION, LATERAL),
        ("gait2392", "tfl", HIP_ADDUCTION, LATERAL),
        ("gait2392", "add_long", HIP_ADDUCTION, MEDIAL),
        ("gait2392", "grac", HIP_ADDUCTION, MEDIAL),
        ("gait2392", "psoas", HIP_FLEXION, FRONT),
        ("gait2392", "rect_fem", HIP_FLEXION, FRONT),
        ("gait2392", "glut_max2", HIP_FLEXION, BACK),
        ("gait2392", "semimem", HIP_FLEXION, BACK),
        ("gait2392", "semimem", KNEE, BACK),
        ("gait2392", "vas_int", KNEE, FRONT),
        ("gait2392", "tib_ant", ANKLE, FRONT),
        ("gait2392", "soleus", ANKLE, BACK),
        ("arm26", "BRA", ELBOW, FRONT),
        ("arm26", "BICshort", ELBOW, FRONT),
        ("arm26", "TRIlong", ELBOW, BACK),
    ];
    for (model, element, freedom, side) in sides {
        let model = Model::read(model);
        let id = model.freedom(freedom).expect("an axis");
        let passing = model.neutral().passing(id, &model.line(element).with_contacts);
        let offset = passing.expect("passes").offset;
        let share = offset.dot(side) / offset.norm();
        // Within 60 degrees: psoas runs back to the femur, and so passes in front and below.
        assert!(share > 0.5, "{element}, {freedom}: {offset:?}");
    }
}

/// A line of one piece, and one of its ends turned by each freedom.
fn levers() -> impl Strategy<Value = Scene> {
    scene(Nesting::Any).prop_map(|mut scene| {
        scene.path.truncate(2);
        for freedom in &mut scene.linkage.freedoms {
            freedom.motions.truncate(1);
            (freedom.motions[0].rate, freedom.motions[0].pitch) = (1.0, 0.0);
        }
        scene
    })
}

/// Where the ends of a line are.
fn ends(scene: &Scene) -> [Vec3; 2] {
    let pose = scene.pose();
    [0, 1].map(|end| pose.place(scene.path[end].segment, scene.path[end].at))
}

proptest! {
    /// Lever x force, along the axis, is the arm, however the line lies; and the lever stands at
    /// right angles on both (common practice, no source).
    #[test]
    fn the_lever_and_the_pull_make_the_arm(scene in levers()) {
        let pose = scene.pose();
        let [from, to] = ends(&scene);
        for freedom in scene.freedoms() {
            let Some(arm) = pose.arm_mm(freedom, &scene.path) else { continue };
            let Some(Passing { offset, axis, .. }) = pose.passing(freedom, &scene.path) else {
                prop_assert!(arm.abs() < 1e-5, "a line that is passed through has no arm");
                continue;
            };
            // The end that moves is pulled towards the other.
            let moved = scene.linkage.moves(freedom, scene.path[1].segment);
            let pull = if moved { from - to } else { to - from }.unit().expect("stretched");
            prop_assert!(offset.dot(axis).abs() < 1e-9 && offset.dot(pull).abs() < 1e-9);
            let effect = offset.cross(pull).dot(axis) * 1e3;
            prop_assert!((arm - effect).abs() < 1e-6, "{arm} {effect}");
        }
    }

    /// No other place between the ends is closer to the axis.
    #[test]
    fn nothing_of_the_line_is_closer(scene in levers(), share in 0.0..1.0) {
        let pose = scene.pose();
        let [from, to] = ends(&scene);
        for freedom in scene.freedoms() {
            let Some(Passing { at, axis, .. }) = pose.passing(freedom, &scene.path) else { continue };
            let distance = |place: Vec3| (place - pose.axes(freedom)[0].through).across(axis).norm();
            prop_assert!(distance(at) <= distance(from + (to - from) * share) + 1e-9);
            prop_assert!((at - from).dot(to - at) > -1e-9, "beyond an end");
        }
    }
}

/// Of two pieces over a hinge the one that does more counts: 50 mm in front, not 10 mm behind.
#[test]
fn the_piece_that_does_most_counts() {
    let linkage = hinge();
    let point = |segment, x, y| Point { segment, at: Vec3::new(x, y, 0.0), spread: 0.0 };
    let path = [
        point(TRUNK, 0.05, 0.2),
        point(LIMB, 0.05, -0.2),
        point(LIMB, -0.01, -0.2),
        point(TRUNK, -0.01, 0.2),
    ];
    for reversed in [false, true] {
        let mut path = path;
        if reversed {
            path.reverse();
        }
        let pose = linkage.pose(&Posture::new());
        let passing = pose.passing(FLEXION, &path).expect("passes");
        assert!((passing.offset - FRONT * 0.05).norm() < 1e-9, "{passing:?}");
        assert!((pose.arm_mm(FLEXION, &path).expect("crosses") - 40.0).abs() < 1e-9);
    }
}

//! The atlas against the published models that it takes points and axes from.
//!
//! Sources: `tests/reference/biomechanics/README.md` (a lower-limb, a shoulder and an elbow model
//! under CC BY, with moment arms computed by a reference library from the models themselves).

use std::collections::BTreeMap;
use std::path::Path;

use myonym_content::Catalogue;
use myonym_content::atlas::{Atlas, Line};
use myonym_content::model::{FreedomKey, MovementKey, PartKey, SourceKey};
use myonym_mechanics::{Posture, Vec3};
use serde::Deserialize;
use serde::de::DeserializeOwned;

/// Both sides are rounded: ours to 0.1 mm, theirs to 0.01 mm.
const SAME_PLACE: f64 = 0.000_15;

#[derive(Deserialize)]
struct Paths {
    paths: Vec<Published>,
}

#[derive(Deserialize)]
struct Published {
    model: String,
    element: String,
    points: Vec<serde_json::Value>,
}

#[derive(Deserialize)]
struct Arms {
    rows: Vec<Row>,
}

#[derive(Deserialize)]
struct Row {
    model: String,
    freedom: String,
    bent: Option<String>,
    degrees: Option<f64>,
    arms_mm: BTreeMap<String, f64>,
}

#[test]
fn points_that_name_one_model_are_that_models() {
    let atlas = &Catalogue::bundled().atlas;
    let paths: Paths = reference("paths.json");
    for model in ["gait2392", "thoracoscapular", "arm26"] {
        let published: Vec<Vec3> = paths
            .paths
            .iter()
            .filter(|path| path.model == model)
            .flat_map(|path| path.points.iter().map(|point| placed(model, point)))
            .collect();
        let source = [SourceKey::new(model)];
        let stops = atlas.lines.iter().flat_map(|(muscle, lines)| {
            lines.iter().flat_map(|line| &line.stops).map(move |stop| (muscle, stop))
        });
        let mut checked = 0;
        for (muscle, stop) in stops.filter(|(_, stop)| stop.sources == source) {
            let at = stop.point.at;
            let found = published.iter().any(|place| (*place - at).norm() < SAME_PLACE);
            assert!(found, "{muscle}: {at:?} is no point of {model}");
            checked += 1;
        }
        println!("{model}: {checked} points of lines are published ones");
        assert!(checked > 3);
    }
}

/// Lines that consist of one element's points alone have that element's arms, in the neutral
/// posture and with the hip, ankle or foot bent.
#[test]
fn lines_of_published_points_have_the_published_arms() {
    let atlas = &Catalogue::bundled().atlas;
    let paths: Paths = reference("paths.json");
    let arms: Arms = reference("moment-arms.json");
    let mut compared = 0;
    for path in paths.paths.iter().filter(|path| path.model == "gait2392") {
        let Some(line) = same_line(atlas, path) else { continue };
        let rows = arms.rows.iter().filter(|row| row.model == path.model);
        for row in rows {
            let (Some((freedom, movement)), Some(published)) =
                (ours(&row.freedom), row.arms_mm.get(&path.element))
            else {
                continue;
            };
            let Some(posture) = posture(atlas, row) else { continue };
            let freedom = atlas.freedom_by_key(&FreedomKey::new(freedom)).unwrap();
            let sign = freedom.sign(&MovementKey::new(movement)).unwrap();
            let arm = atlas.mean_arm(freedom, &posture, &[line]).unwrap().arm_mm * sign;
            let off = (arm - published).abs();
            let what = format!("{} at {}: {arm:.1} mm for {published}", path.element, row.freedom);
            assert!(off <= 3.0_f64.max(published.abs() * 0.2), "{what} {:?}", row.bent);
            assert!(published.abs() < 5.0 || arm * published > 0.0, "{what}");
            compared += 1;
        }
    }
    println!("{compared} arms compared");
    assert!(compared > 250, "{compared}");
}

/// Published: piriformis turns the hip out at 0 and in at 90 degrees of flexion; the sternocostal
/// head of pectoralis major extends the flexed arm; iliopsoas and gastrocnemius keep their action
/// when the joint is bent (reference library, hip 90 and knee 90 degrees).
#[test]
fn posture_changes_what_some_muscles_do() {
    let atlas = &Catalogue::bundled().atlas;
    for (muscle, part, freedom, movement, bent) in [
        ("piriformis", None, "hip-rotation", "lateral-rotation", None),
        ("piriformis", None, "hip-rotation", "medial-rotation", Some(("hip-flexion", 90.0))),
        (
            "pectoralis-major",
            Some("sternocostal-head"),
            "glenohumeral-flexion",
            "extension",
            Some(("glenohumeral-flexion", 90.0)),
        ),
        (
            "pectoralis-major",
            Some("clavicular-head"),
            "glenohumeral-flexion",
            "flexion",
            Some(("glenohumeral-flexion", 90.0)),
        ),
        ("psoas-major", None, "hip-flexion", "flexion", Some(("hip-flexion", 90.0))),
        ("iliacus", None, "hip-flexion", "flexion", Some(("hip-flexion", 90.0))),
        ("gastrocnemius", None, "knee-flexion", "flexion", Some(("knee-flexion", 90.0))),
    ] {
        let freedom = atlas.freedom_by_key(&FreedomKey::new(freedom)).unwrap();
        let sign = freedom.sign(&MovementKey::new(movement)).unwrap();
        let lines = atlas.lines(&myonym_content::MuscleKey::new(muscle)).iter();
        let lines: Vec<_> = lines
            .filter(|line| part.is_none() || line.part.as_ref().map(PartKey::as_str) == part)
            .collect();
        let posture: Posture = bent
            .iter()
            .map(|(key, degrees): &(&str, f64)| {
                (atlas.freedom_by_key(&FreedomKey::new(*key)).unwrap().id, degrees.to_radians())
            })
            .collect();
        let arm = atlas.mean_arm(freedom, &posture, &lines).unwrap().arm_mm * sign;
        assert!(arm > 0.0, "{muscle} {movement} {bent:?}: {arm:.1} mm");
    }
}

/// A line of ours that has just the points of a published one.
fn same_line<'a>(atlas: &'a Atlas, path: &Published) -> Option<&'a Line> {
    let points: Vec<Vec3> = path.points.iter().map(|point| placed(&path.model, point)).collect();
    atlas.lines.values().flatten().find(|line| {
        let same = line
            .stops
            .iter()
            .zip(&points)
            .all(|(stop, place)| (stop.point.at - *place).norm() < SAME_PLACE);
        line.stops.len() == points.len() && same
    })
}

/// A published point in the frame of the atlas; content/README.md tells how.
fn placed(model: &str, point: &serde_json::Value) -> Vec3 {
    let number = |index: usize| point[index].as_f64().expect("the test's own data hold it");
    let at = Vec3::new(number(1), number(2), number(3));
    match model {
        "gait2392" => at + Vec3::new(0.0, 0.0, 0.0835),
        "thoracoscapular" => at + Vec3::new(0.045, 0.52, 0.0),
        _ => {
            let shoulder = Vec3::new(-0.017_545, 0.793, 0.17);
            let from =
                Vec3::new(0.0061, -0.2904, -0.0123).unit().expect("the test's own data hold it");
            let to = Vec3::new(0.0, -0.98766, 0.15661).unit().expect("the test's own data hold it");
            let axis = from.cross(to).unit().expect("the test's own data hold it");
            let turned = (at - shoulder).turned(axis, from.dot(to).acos());
            Vec3::new(-0.0254, 0.4960, 0.1583) + turned
        }
    }
}

/// A published freedom as our freedom and the movement that it counts as positive.
fn ours(freedom: &str) -> Option<(&'static str, &'static str)> {
    Some(match freedom {
        "hip flexion/extension" => ("hip-flexion", "flexion"),
        "hip adduction/abduction" => ("hip-abduction", "adduction"),
        "hip internal/external rotation" => ("hip-rotation", "medial-rotation"),
        "knee flexion/extension" => ("knee-flexion", "flexion"),
        "ankle dorsiflexion/plantarflexion" => ("ankle-dorsiflexion", "dorsiflexion"),
        "subtalar inversion/eversion" => ("subtalar-inversion", "inversion"),
        _ => return None,
    })
}

/// The posture of a row. The knee's own bending is left out beyond 30 degrees: in the model the
/// tibia slides.
fn posture(atlas: &Atlas, row: &Row) -> Option<Posture> {
    let (Some(bent), Some(degrees)) = (&row.bent, row.degrees) else { return Some(Posture::new()) };
    let (key, sign) = match bent.as_str() {
        "hip flexion" => ("hip-flexion", 1.0),
        "hip adduction" => ("hip-abduction", -1.0),
        "hip internal rotation" => ("hip-rotation", 1.0),
        "knee flexion" if degrees <= 30.0 => ("knee-flexion", 1.0),
        "ankle dorsiflexion" => ("ankle-dorsiflexion", 1.0),
        "subtalar inversion" => ("subtalar-inversion", 1.0),
        _ => return None,
    };
    let freedom = atlas.freedom_by_key(&FreedomKey::new(key)).expect("the test's own data hold it");
    let turn = freedom.sign(&freedom.positive).expect("the test's own data hold it")
        * sign
        * degrees.to_radians();
    Some(Posture::from([(freedom.id, turn)]))
}

fn reference<T: DeserializeOwned>(name: &str) -> T {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../tests/reference/biomechanics");
    serde_json::from_str(
        &std::fs::read_to_string(folder.join(name)).expect("the test's own data hold it"),
    )
    .expect("the test's own data hold it")
}

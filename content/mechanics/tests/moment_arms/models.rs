//! Reads the published models of `tests/reference/biomechanics/`.

use std::collections::{BTreeMap, BTreeSet};

use myonym_mechanics::{
    Freedom, FreedomId, Linkage, Motion, Point, Pose, Posture, Segment, SegmentId, Vec3,
};
use serde::Deserialize;
use serde::de::DeserializeOwned;

/// What carries what in the models. Anatomy, but for the scapula: in the model it slides on the
/// thorax, and the shut acromioclavicular joint is a constraint (see the README).
const CARRIED_BY: [(&str, &str); 14] = [
    ("clavicle", "thorax"),
    ("scapula", "thorax"),
    ("humerus", "scapula"),
    ("ulna", "humerus"),
    ("radius", "ulna"),
    ("hand", "radius"),
    ("torso", "pelvis"),
    ("femur_r", "pelvis"),
    ("tibia_r", "femur_r"),
    ("talus_r", "tibia_r"),
    ("calcn_r", "talus_r"),
    ("toes_r", "calcn_r"),
    ("r_humerus", "base"),
    ("r_ulna_radius_hand", "r_humerus"),
];

/// Axes that go along when another freedom of their joint turns: the order of the angles in the
/// leg model; the long axis of the humerus in the shoulder model.
const TURNED_BY: [(&str, &[&str]); 3] = [
    ("hip adduction/abduction", &["hip flexion/extension"]),
    ("hip internal/external rotation", &["hip flexion/extension", "hip adduction/abduction"]),
    (
        "shoulder internal/external rotation (glenohumeral)",
        &[
            "shoulder flexion/extension (glenohumeral)",
            "shoulder abduction/adduction (glenohumeral)",
            "shoulder horizontal adduction/abduction (glenohumeral)",
        ],
    ),
];

/// What the tables call the postures. That of internal rotation turned the humerus about the
/// vertical, not about its long axis.
const BENT: [(&str, &str); 10] = [
    ("hip flexion", "hip flexion/extension"),
    ("hip adduction", "hip adduction/abduction"),
    ("hip internal rotation", "hip internal/external rotation"),
    ("knee flexion", "knee flexion/extension"),
    ("ankle dorsiflexion", "ankle dorsiflexion/plantarflexion"),
    ("subtalar inversion", "subtalar inversion/eversion"),
    ("elbow flexion", "elbow flexion/extension"),
    ("glenohumeral flexion", "shoulder flexion/extension (glenohumeral)"),
    ("glenohumeral abduction", "shoulder abduction/adduction (glenohumeral)"),
    ("glenohumeral internal rotation", "shoulder horizontal adduction/abduction (glenohumeral)"),
];

/// A published model in its neutral posture.
pub(crate) struct Model {
    pub(crate) linkage: Linkage,
    freedoms: BTreeMap<String, FreedomId>,
    lines: BTreeMap<String, Line>,
}

/// One line of pull.
#[derive(Clone)]
pub(crate) struct Line {
    /// Points fixed to bones.
    pub(crate) points: Vec<Point>,
    /// The same with the places where it touches a wrapping surface in the neutral posture.
    pub(crate) with_contacts: Vec<Point>,
}

impl Line {
    /// Whether it lies on a wrapping surface in the neutral posture.
    pub(crate) fn wraps(&self) -> bool {
        self.points.len() < self.with_contacts.len()
    }
}

impl Model {
    /// Reads one model of the file.
    pub(crate) fn read(name: &str) -> Self {
        let mut file: PathsFile =
            parse(include_str!("../../../../tests/reference/biomechanics/paths.json"));
        file.paths.retain(|path| path.model == name);
        file.axes.retain(|axis| axis.model == name);
        let segments = file.segments();
        let carrier = |body: &String| {
            let (_, by) = CARRIED_BY.iter().find(|(carried, _)| carried == body)?;
            segments.get(*by).copied()
        };
        let carriers = segments.keys().map(|body| Segment { carried_by: carrier(body) });
        let mut linkage = Linkage { segments: carriers.collect(), freedoms: Vec::new() };
        let ids = file.axes.iter().enumerate();
        let freedoms: BTreeMap<String, FreedomId> =
            ids.map(|(id, axis)| (axis.freedom.clone(), FreedomId(id))).collect();
        for axis in &file.axes {
            let motion = axis.motion(&linkage, &segments);
            let followed = TURNED_BY.iter().filter(|(freedom, _)| *freedom == axis.freedom);
            let turned_by = followed.flat_map(|(_, by)| by.iter().map(|by| freedoms[*by]));
            let freedom =
                Freedom { motions: vec![motion], turned_by: turned_by.collect(), spread: 0.0 };
            linkage.freedoms.push(freedom);
        }
        let line = |path: &PathRow| (path.element.clone(), path.line(&segments));
        Self { linkage, freedoms, lines: file.paths.iter().map(line).collect() }
    }

    pub(crate) fn line(&self, element: &str) -> &Line {
        &self.lines[element]
    }

    /// The freedom with this name; `None` if the model's file does not say where its axis lies.
    pub(crate) fn freedom(&self, name: &str) -> Option<FreedomId> {
        self.freedoms.get(name).copied()
    }

    pub(crate) fn neutral(&self) -> Pose<'_> {
        self.linkage.pose(&Posture::new())
    }

    /// The posture of a row.
    pub(crate) fn posture(&self, row: &ArmsRow) -> Posture {
        let bend = |bent: &String| {
            let (_, freedom) = BENT.iter().find(|(name, _)| name == bent).expect("known posture");
            (self.freedoms[*freedom], row.degrees.to_radians())
        };
        row.bent.iter().map(bend).collect()
    }
}

/// Published arms of several lines about one freedom in one posture.
#[derive(Deserialize)]
pub(crate) struct ArmsRow {
    pub(crate) model: String,
    pub(crate) freedom: String,
    /// What is bent; nothing in the neutral posture.
    pub(crate) bent: Option<String>,
    #[serde(default)]
    pub(crate) degrees: f64,
    pub(crate) arms_mm: BTreeMap<String, f64>,
}

impl ArmsRow {
    pub(crate) fn posture_in_words(&self) -> String {
        self.bent.as_ref().map(|bent| format!(" at {bent} {}", self.degrees)).unwrap_or_default()
    }

    pub(crate) fn read() -> Vec<Self> {
        #[derive(Deserialize)]
        struct File {
            rows: Vec<ArmsRow>,
        }
        let file: File =
            parse(include_str!("../../../../tests/reference/biomechanics/moment-arms.json"));
        file.rows
    }
}

pub(crate) fn parse<T: DeserializeOwned>(text: &str) -> T {
    serde_json::from_str(text).expect("a reference file of its own shape")
}

type Segments = BTreeMap<String, SegmentId>;

#[derive(Deserialize)]
struct PathsFile {
    paths: Vec<PathRow>,
    axes: Vec<AxisRow>,
}

impl PathsFile {
    fn segments(&self) -> Segments {
        let carried = self.axes.iter().flat_map(|axis| &axis.carries).cloned();
        let points = self.paths.iter().flat_map(|path| &path.points);
        let bodies: BTreeSet<String> =
            carried.chain(points.map(|point| point.body().to_owned())).collect();
        bodies.into_iter().enumerate().map(|(id, body)| (body, SegmentId(id))).collect()
    }
}

#[derive(Deserialize)]
struct PathRow {
    model: String,
    element: String,
    points: Vec<PointRow>,
}

impl PathRow {
    fn line(&self, segments: &Segments) -> Line {
        let point =
            |row: &PointRow| Point { segment: segments[row.body()], at: row.at(), spread: 0.0 };
        let fixed = self.points.iter().filter(|row| matches!(row, PointRow::Fixed(..)));
        Line {
            points: fixed.map(point).collect(),
            with_contacts: self.points.iter().map(point).collect(),
        }
    }
}

/// A body and a place on it; `contact` where it is no fixed point but the touch of a surface.
#[derive(Deserialize)]
#[serde(untagged)]
enum PointRow {
    Fixed(String, f64, f64, f64),
    Contact(String, f64, f64, f64, Contact),
}

#[derive(Deserialize)]
#[serde(rename_all = "lowercase")]
enum Contact {
    Contact,
}

impl PointRow {
    fn body(&self) -> &str {
        let (Self::Fixed(body, ..) | Self::Contact(body, ..)) = self;
        body
    }

    fn at(&self) -> Vec3 {
        let (&Self::Fixed(_, x, y, z) | &Self::Contact(_, x, y, z, Contact::Contact)) = self;
        Vec3::new(x, y, z)
    }
}

#[derive(Deserialize)]
struct AxisRow {
    model: String,
    freedom: String,
    carries: Vec<String>,
    through: [f64; 3],
    along: [f64; 3],
    rate: Option<f64>,
}

impl AxisRow {
    /// The motion of the one segment that carries all that the file says turns, and nothing else.
    fn motion(&self, linkage: &Linkage, segments: &Segments) -> Motion {
        let carries = |top: &SegmentId| {
            segments.iter().all(|(body, &id)| {
                linkage.carries(*top, id) == self.carries.iter().any(|carried| carried == body)
            })
        };
        let segment = segments.values().copied().find(carries);
        Motion {
            segment: segment.expect("the bodies that turn hang on one of them"),
            through: self.through.into(),
            along: self.along.into(),
            rate: self.rate.unwrap_or(1.0),
            pitch: 0.0,
        }
    }
}

//! What every instructor of anatomy would hold the data of the whole body to, as `trade.rs` for the
//! shoulder. All of it is common practice, no source; roots are values from memory.

use myonym_content::catalogue::Catalogue;
use myonym_content::model::{End, Level, Muscle, MuscleKey, Role};

const HAMSTRINGS: [&str; 3] = ["biceps-femoris", "semitendinosus", "semimembranosus"];
const VASTI: [&str; 3] = ["vastus-lateralis", "vastus-medialis", "vastus-intermedius"];
const LATERAL_ROTATORS: [&str; 6] = [
    "piriformis",
    "obturator-internus",
    "obturator-externus",
    "superior-gemellus",
    "inferior-gemellus",
    "quadratus-femoris",
];

/// Main actions: done as a prime mover, and taught in every course.
#[test]
fn main_actions_at_one_joint() {
    let check = |muscles: &[&str], joint: &str, expected: &[&str]| {
        for key in muscles {
            let mut movements: Vec<_> = main_actions(key, joint).collect();
            movements.sort_unstable();
            movements.dedup();
            assert_eq!(movements, expected, "{key} at the {joint} joint");
        }
    };
    check(&HAMSTRINGS, "hip", &["extension"]);
    check(&["biceps-femoris"], "knee", &["flexion", "lateral-rotation"]);
    check(&["semitendinosus", "semimembranosus"], "knee", &["flexion", "medial-rotation"]);
    check(&VASTI, "knee", &["extension"]);
    check(&VASTI, "hip", &[]);
    check(&["rectus-femoris"], "knee", &["extension"]);
    check(&["rectus-femoris", "psoas-major", "iliacus"], "hip", &["flexion"]);
    check(&["adductor-longus", "adductor-brevis", "gracilis"], "hip", &["adduction"]);
    check(&["gluteus-maximus"], "hip", &["extension", "lateral-rotation"]);
    check(&["gluteus-medius", "gluteus-minimus"], "hip", &["abduction", "medial-rotation"]);
    check(&LATERAL_ROTATORS, "hip", &["lateral-rotation"]);
    check(&["tibialis-anterior"], "ankle", &["dorsiflexion"]);
    check(&["tibialis-anterior", "tibialis-posterior"], "subtalar", &["inversion"]);
    check(&["fibularis-longus", "fibularis-brevis"], "subtalar", &["eversion"]);
    check(&["gastrocnemius", "soleus"], "ankle", &["plantar-flexion"]);
    check(&["biceps-brachii", "supinator"], "radioulnar", &["supination"]);
    check(&["pronator-teres", "pronator-quadratus"], "radioulnar", &["pronation"]);
    check(&["brachialis", "brachioradialis"], "elbow", &["flexion"]);
    check(&["flexor-carpi-ulnaris"], "wrist", &["adduction", "flexion"]);
    check(&["flexor-carpi-radialis"], "wrist", &["abduction", "flexion"]);
    check(&["extensor-carpi-ulnaris"], "wrist", &["adduction", "extension"]);
    check(
        &["extensor-carpi-radialis-longus", "extensor-carpi-radialis-brevis"],
        "wrist",
        &["abduction", "extension"],
    );
    check(&["flexor-digitorum-superficialis"], "fingers-proximal-interphalangeal", &["flexion"]);
    check(&["flexor-digitorum-profundus"], "fingers-distal-interphalangeal", &["flexion"]);
    check(&["dorsal-interossei-of-hand"], "fingers-metacarpophalangeal", &["abduction"]);
    check(&["palmar-interossei"], "fingers-metacarpophalangeal", &["adduction"]);
    check(&["dorsal-interossei-of-foot"], "metatarsophalangeal-of-lesser-toes", &["abduction"]);
    check(&["plantar-interossei"], "metatarsophalangeal-of-lesser-toes", &["adduction"]);
    check(&["lateral-rectus"], "eyeball", &["abduction"]);
    check(&["medial-rectus"], "eyeball", &["adduction"]);
    check(&["superior-oblique", "inferior-rectus"], "eyeball", &["depression"]);
    check(&["inferior-oblique", "superior-rectus"], "eyeball", &["elevation"]);
    check(&["masseter"], "temporomandibular", &["elevation"]);
    check(&["temporalis"], "temporomandibular", &["elevation", "retraction"]);
    check(&["diaphragm"], "thoracic-cavity", &["expansion"]);
    check(&["transversus-abdominis"], "abdominal-cavity", &["compression"]);
}

/// To the other side: sternocleidomastoid, external oblique and what runs up and inwards in the
/// back. To their own: the splenii and the internal oblique.
#[test]
fn turning_to_the_same_or_the_opposite_side() {
    let check = |muscles: &[&str], joint: &str, movement: &str| {
        for key in muscles {
            assert!(main_actions(key, joint).any(|own| own == movement), "{key}: {movement}");
        }
    };
    check(&["sternocleidomastoid"], "cervical-spine", "contralateral-rotation");
    check(&["splenius-capitis", "splenius-cervicis"], "cervical-spine", "ipsilateral-rotation");
    check(
        &["external-oblique", "multifidus", "rotatores", "semispinalis-thoracis"],
        "vertebral-column",
        "contralateral-rotation",
    );
    check(&["internal-oblique"], "vertebral-column", "ipsilateral-rotation");
}

#[test]
fn which_joints_a_muscle_crosses() {
    let acts = |key: &str, joint: &str| {
        muscle(key).actions.iter().any(|action| action.joint.as_str() == joint)
    };
    assert!(acts("gastrocnemius", "knee") && !acts("soleus", "knee"));
    assert!(acts("rectus-femoris", "hip") && !acts("vastus-lateralis", "hip"));
    assert!(acts("gracilis", "knee") && !acts("adductor-longus", "knee"));
    assert!(acts("adductor-magnus", "hip") && !acts("adductor-magnus", "knee"));
    assert!(acts("palmaris-longus", "wrist") && !acts("brachioradialis", "wrist"));
}

#[test]
fn nerves_of_whole_groups() {
    let check = |nerve: &str, muscles: &[&str]| {
        for key in muscles {
            let supply = &muscle(key).innervation;
            let only = supply.iter().all(|supply| supply.nerve.as_str() == nerve);
            assert!(only, "{key}: {supply:?}, not {nerve} alone");
        }
    };
    let of_region = |region: &str| -> Vec<&'static str> {
        let muscles = Catalogue::bundled().muscles();
        muscles.filter(|m| m.region.as_str() == region).map(|muscle| muscle.key.as_str()).collect()
    };
    let face = of_region("head-face-and-scalp");
    let chewing = of_region("head-mastication");
    assert_eq!((face.len(), chewing.len()), (17, 4));
    check("facial", &face);
    check("mandibular", &chewing);
    check("hypoglossal", &["genioglossus", "styloglossus", "hyoglossus"]);
    check("pharyngeal-plexus", &["palatoglossus"]);
    check("abducens", &["lateral-rectus"]);
    check("trochlear", &["superior-oblique"]);
    check("oculomotor", &["superior-rectus", "inferior-rectus", "medial-rectus"]);
    check("oculomotor", &["inferior-oblique", "levator-palpebrae-superioris"]);
    check("femoral", &VASTI);
    check("femoral", &["rectus-femoris", "sartorius", "iliacus"]);
    check("obturator", &["adductor-longus", "adductor-brevis", "gracilis", "obturator-externus"]);
    check("superior-gluteal", &["gluteus-medius", "gluteus-minimus", "tensor-fasciae-latae"]);
    check("inferior-gluteal", &["gluteus-maximus"]);
    check("tibial", &["semitendinosus", "semimembranosus", "gastrocnemius", "soleus"]);
    check("tibial", &["tibialis-posterior", "flexor-hallucis-longus", "popliteus"]);
    check("deep-fibular", &["tibialis-anterior", "extensor-hallucis-longus", "fibularis-tertius"]);
    check("superficial-fibular", &["fibularis-longus", "fibularis-brevis"]);
    check("recurrent-branch-of-median", &["abductor-pollicis-brevis", "opponens-pollicis"]);
    check("deep-branch-of-ulnar", &["adductor-pollicis", "palmar-interossei"]);
    check("deep-branch-of-ulnar", &["dorsal-interossei-of-hand", "opponens-digiti-minimi"]);
    check("ulnar", &["flexor-carpi-ulnaris"]);
    check("median", &["flexor-carpi-radialis", "pronator-teres", "palmaris-longus"]);
    check("phrenic", &["diaphragm"]);
    check("ansa-cervicalis", &["omohyoid", "sternohyoid", "sternothyroid"]);
}

#[test]
fn nerves_of_parts_and_roots() {
    let supply = |key: &str| -> Vec<String> {
        let supply = muscle(key).innervation.iter();
        let fact = supply.map(|one| {
            let part = one.part.as_ref().map_or("", |part| part.as_str());
            format!("{part} {} {}", one.nerve, one.roots.join(" ")).trim().to_owned()
        });
        fact.collect()
    };
    assert_eq!(supply("diaphragm"), ["phrenic C3 C4 C5"]);
    assert_eq!(supply("digastric"), ["anterior-belly mandibular", "posterior-belly facial"]);
    assert_eq!(
        supply("biceps-femoris"),
        ["long-head tibial L5 S1 S2", "short-head common-fibular L5 S1 S2"]
    );
    assert_eq!(
        supply("adductor-magnus"),
        ["adductor-part obturator L2 L3 L4", "hamstring-part tibial L4"]
    );
    assert!(supply("sternocleidomastoid").iter().any(|nerve| nerve == "accessory"));
}

/// Places that tell neighbours apart.
#[test]
fn attachments_that_tell_neighbours_apart() {
    let check = |key: &str, end: End, landmark: &str, span: Option<&str>| {
        let vocabulary = &Catalogue::bundled().vocabulary;
        let found = muscle(key).attachments(end).iter().any(|own| {
            let mut places = vocabulary.with_larger(&own.landmark);
            let here = places.any(|(place, _)| place.as_str() == landmark);
            here && span.is_none_or(|span| own.span.as_ref().is_some_and(|s| s.to_string() == span))
        });
        assert!(found, "{key}: {landmark} {span:?}");
    };
    for first in ["anterior-scalene", "middle-scalene"] {
        check(first, End::Insertion, "ribs", Some("1"));
    }
    check("posterior-scalene", End::Insertion, "ribs", Some("2"));
    check("masseter", End::Origin, "zygomatic-arch", None);
    check("temporalis", End::Insertion, "coronoid-process-of-mandible", None);
    check("lateral-pterygoid", End::Insertion, "condylar-process", None);
    for lesser in ["psoas-major", "iliacus"] {
        check(lesser, End::Insertion, "lesser-trochanter", None);
    }
    for greater in ["gluteus-medius", "gluteus-minimus", "piriformis", "obturator-internus"] {
        check(greater, End::Insertion, "greater-trochanter", None);
    }
    for tuberosity in HAMSTRINGS {
        check(tuberosity, End::Origin, "ischial-tuberosity", None);
    }
    check("biceps-femoris", End::Insertion, "head-of-fibula", None);
    for calcaneal in ["gastrocnemius", "soleus"] {
        check(calcaneal, End::Insertion, "posterior-surface-of-calcaneus", None);
    }
    check("sartorius", End::Origin, "anterior-superior-iliac-spine", None);
    check("rectus-femoris", End::Origin, "anterior-inferior-iliac-spine", None);
    check("triceps-brachii", End::Insertion, "olecranon", None);
    check("palmaris-longus", End::Insertion, "palmar-aponeurosis", None);
}

fn main_actions(key: &str, joint: &str) -> impl Iterator<Item = &'static str> {
    muscle(key).actions.iter().filter_map(move |action| {
        let main = action.joint.as_str() == joint
            && action.role == Role::PrimeMover
            && action.level == Level::Introductory;
        main.then_some(action.movement.as_str())
    })
}

fn muscle(key: &str) -> &'static Muscle {
    Catalogue::bundled().muscle(&MuscleKey::new(key)).expect("a muscle of ours")
}

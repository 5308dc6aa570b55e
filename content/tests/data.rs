//! The bundled content as a whole: it loads, nothing is left out, and nothing is left over.

use std::collections::BTreeSet;
use std::path::Path;

use myonym_content::catalogue::{Catalogue, bundled_files};
use myonym_content::list::FactKind;
use myonym_content::model::{Level, ListKey, Muscle};

#[test]
fn bundled_content_has_no_problem() {
    let problems = Catalogue::load(&bundled_files()).err().unwrap_or_default();
    let lines: Vec<_> = problems.iter().map(ToString::to_string).collect();
    assert!(lines.is_empty(), "\n{}", lines.join("\n"));
}

#[test]
fn every_data_file_is_bundled() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut on_disk = BTreeSet::new();
    for folder in ["atlas", "lists", "muscles", "vocabulary"] {
        for entry in std::fs::read_dir(root.join(folder)).unwrap() {
            let name = entry.unwrap().file_name();
            on_disk.insert(format!("content/{folder}/{}", name.to_string_lossy()));
        }
    }
    let bundled: BTreeSet<_> = bundled_files().into_iter().map(|file| file.path).collect();
    assert_eq!(bundled, on_disk);
}

/// A word that nothing uses is a misspelt one, or a leftover.
#[test]
fn every_word_of_the_vocabulary_is_used() {
    let catalogue = Catalogue::bundled();
    let vocabulary = &catalogue.vocabulary;
    let muscles = || catalogue.muscles();
    let attachments =
        || muscles().flat_map(|muscle| muscle.origins.iter().chain(&muscle.insertions));

    let own = attachments().map(|attachment| &attachment.landmark);
    let variants = attachments().flat_map(|attachment| &attachment.variants);
    let landmarks = own.chain(variants.map(|variant| &variant.landmark));
    let landmarks = landmarks.flat_map(|landmark| vocabulary.with_larger(landmark));
    let landmarks: BTreeSet<_> = landmarks.map(|(key, _)| key).collect();
    unused(&landmarks, vocabulary.landmarks.keys());

    let attached = landmarks.iter().filter_map(|key| vocabulary.bone_of(key));
    let drawn = catalogue.atlas.shapes.iter().map(|shape| &shape.bone);
    let bones: BTreeSet<_> = attached.chain(drawn).collect();
    unused(&bones, vocabulary.bones.keys());

    let actions = || muscles().flat_map(|muscle| &muscle.actions);
    let joints: BTreeSet<_> = actions().map(|action| &action.joint).collect();
    unused(&joints, vocabulary.joints.keys());

    let movements = vocabulary.joints.values().flat_map(|joint| &joint.movements);
    let movements: BTreeSet<_> = movements.collect();
    unused(&movements, vocabulary.movements.keys());

    let nerves = muscles().flat_map(|muscle| &muscle.innervation).map(|supply| &supply.nerve);
    let nerves: BTreeSet<_> = nerves.collect();
    unused(&nerves, vocabulary.nerves.keys());

    let groups: BTreeSet<_> = muscles().flat_map(|muscle| &muscle.groups).collect();
    unused(&groups, vocabulary.groups.keys());

    let regions = muscles().map(|muscle| &muscle.region);
    let regions = regions.chain(catalogue.others().filter_map(|other| other.region.as_ref()));
    let regions: BTreeSet<_> = regions.collect();
    unused(&regions, vocabulary.regions.keys());
}

fn unused<'a, K: Ord + std::fmt::Debug + 'a>(
    used: &BTreeSet<&K>,
    known: impl Iterator<Item = &'a K>,
) {
    let left: Vec<_> = known.filter(|word| !used.contains(word)).collect();
    assert!(left.is_empty(), "nothing uses {left:?}");
}

/// A full course names 186 muscles, and all have their facts. No muscle that has them is listed by
/// name only as well.
#[test]
fn every_muscle_of_a_full_course_has_facts() {
    let catalogue = Catalogue::bundled();
    assert_eq!(catalogue.muscles().count(), 186);
    let files = bundled_files();
    let names = files.iter().find(|file| file.path.ends_with("other-muscles.toml")).unwrap();
    assert_eq!(names.text.matches(" = { name = ").count(), catalogue.others().count());
}

#[test]
fn lists_of_the_shoulder() {
    let catalogue = Catalogue::bundled();
    let check = |key: &str, level: Level, muscles: usize, hide: &[FactKind]| {
        let list = catalogue.list(&ListKey::new(key)).unwrap();
        assert_eq!(list.level, level, "{key}");
        assert_eq!(list.muscles.len(), muscles, "{key}");
        assert_eq!(list.hide, hide, "{key}");
    };
    check("shoulder", Level::Introductory, 18, &[FactKind::Innervation]);
    check("shoulder-full", Level::Full, 18, &[]);
    check("rotator-cuff", Level::Full, 6, &[]);
}

/// A one-semester course names some 90 to 100 muscles, one for physical therapists some 110 to 120
/// with their nerves (common practice, no source); a full one names all.
#[test]
fn lists_of_whole_courses() {
    let catalogue = Catalogue::bundled();
    let list = |key: &str| catalogue.list(&ListKey::new(key)).unwrap();
    let introductory = list("introductory");
    assert!((90..=100).contains(&introductory.muscles.len()));
    assert_eq!(introductory.level, Level::Introductory);
    assert_eq!(introductory.hide, [FactKind::Innervation]);
    let allied = list("allied-health");
    assert!((110..=120).contains(&allied.muscles.len()));
    assert_eq!((allied.level, allied.hide.len()), (Level::Full, 0));
    let full = list("full");
    let named: BTreeSet<_> = full.muscles.iter().collect();
    assert_eq!(named, catalogue.muscles().map(|muscle| &muscle.key).collect());
    assert_eq!((full.level, full.hide.len()), (Level::Full, 0));
}

/// A course that teaches no nerves and no fine landmarks still has something to tell of each muscle.
#[test]
fn every_muscle_has_introductory_facts() {
    for Muscle { key, origins, insertions, actions, innervation, .. } in
        Catalogue::bundled().muscles()
    {
        let introductory = Level::Introductory;
        assert!(origins.iter().any(|origin| origin.level == introductory), "{key}");
        assert!(insertions.iter().any(|insertion| insertion.level == introductory), "{key}");
        assert!(actions.iter().any(|action| action.level == introductory), "{key}");
        assert!(innervation.iter().any(|supply| supply.level == introductory), "{key}");
    }
}

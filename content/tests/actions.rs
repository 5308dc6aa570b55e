//! Claimed actions against the atlas: what is caught, what is let pass, and why a muscle does it.

use myonym_content::check::{check, check_actions};
use myonym_content::explain::{explanation, set_apart};
use myonym_content::lint::{Gravity, lint, lint_own};
use myonym_content::model::{Muscle, MuscleKey};
use myonym_content::problem::SourceFile;
use myonym_content::{Atlas, Catalogue, Course, OwnList};

#[test]
fn the_bundled_content_has_no_action_that_geometry_plainly_opposes() {
    let catalogue = Catalogue::bundled();
    let errors: Vec<_> = lint(catalogue, catalogue.muscles())
        .into_iter()
        .filter(|finding| finding.gravity == Gravity::Error)
        .collect();
    assert!(errors.is_empty(), "{errors:#?}");
}

#[test]
fn a_known_miss_that_no_longer_misses_is_taken_off_the_list() {
    let catalogue = Catalogue::bundled();
    let found = lint(catalogue, catalogue.muscles());
    for miss in &catalogue.atlas.misses {
        let told =
            found.iter().any(|one| one.muscle == miss.muscle && one.message.contains(&miss.why));
        assert!(told, "{} {} at {} misses no more", miss.muscle, miss.movement, miss.joint);
    }
}

/// Wrong facts, each with its true counterpart in the bundled data. Common practice, no source.
#[test]
fn a_wrong_action_is_an_error_at_its_line() {
    for (muscle, file, right, wrong) in [
        ("supraspinatus", "shoulder", "abduction", "adduction"),
        ("teres-minor", "shoulder", "lateral-rotation", "medial-rotation"),
        ("biceps-femoris", "hip-thigh", "flexion", "extension"),
        ("soleus", "leg-foot", "plantar-flexion", "dorsiflexion"),
        ("fibularis-longus", "leg-foot", "eversion", "inversion"),
        ("brachialis", "upper-limb", "flexion", "extension"),
    ] {
        let (file, line) = with_action_changed(muscle, file, right, wrong);
        assert_eq!(check(std::slice::from_ref(&file)), []);
        let found = check_actions(&[file]);
        let caught = found.iter().find(|(gravity, problem)| {
            *gravity == Gravity::Error
                && problem.line == line
                && problem.message.contains("moment arm")
        });
        assert!(caught.is_some(), "{muscle} {wrong}: {found:#?}");
    }
}

/// A true action with a small arm, one that is disputed, and one that no line speaks of.
#[test]
fn a_minor_or_disputed_action_is_no_error() {
    for (muscle, joint, movement, expected) in [
        // Common practice, no source: taught as lesser actions; arms below 5 mm either way.
        ("pectineus", "hip", "medial-rotation", None),
        ("coracobrachialis", "glenohumeral", "medial-rotation", None),
        ("gracilis", "hip", "medial-rotation", None),
        // Opposed by 6 mm in the lower-limb model.
        ("gluteus-minimus", "hip", "flexion", Some(Gravity::Warning)),
        // The tongue is no rigid segment.
        ("genioglossus", "tongue", "depression", None),
    ] {
        let catalogue = Catalogue::bundled();
        let mut changed = muscle_of(catalogue, muscle).clone();
        changed.actions.truncate(1);
        let action = &mut changed.actions[0];
        action.joint = myonym_content::model::JointKey::new(joint);
        action.movement = myonym_content::model::MovementKey::new(movement);
        (action.part, action.condition) = (None, None);
        let found = lint(catalogue, [&changed]);
        let gravity = found.iter().find(|one| one.action == Some(0)).map(|one| one.gravity);
        assert_eq!(gravity, expected, "{muscle} {movement}: {found:#?}");
    }
}

/// A course's own file is held against the atlas too, and may bring lines of pull of its own.
#[test]
fn a_line_of_pull_of_ones_own_is_judged() {
    let path = |muscle: &str, via: &str| SourceFile {
        path: "own.toml".to_owned(),
        text: format!(
            r#"
            [[path]]
            muscle = "{muscle}"
            name = "own line"
            points = [
                {{ at = "supraspinous-fossa" }},
                {{ on = "scapula", xyz = {via}, why = "a line drawn wrongly", sources = ["estimate"] }},
                {{ at = "acromion" }},
            ]
            "#
        ),
    };
    // The insertion is wrong, and so is a place in millimetres.
    let problems = check(&[path("supraspinatus", "[30.0, 496.0, 158.0]")]);
    let told: Vec<_> = problems.iter().map(ToString::to_string).collect();
    assert!(told.iter().any(|line| line.contains("no insertion on `acromion`")), "{told:#?}");
    assert!(told.iter().any(|line| line.contains("metres are meant")), "{told:#?}");
}

/// Common practice, no source: the cuff's rotators and the teres muscles, as taught.
#[test]
fn the_side_of_the_axis_explains_the_rotation() {
    let (catalogue, atlas) = bundled();
    for (muscle, words, does) in [
        ("teres-minor", "behind", "rotates the arm laterally"),
        ("infraspinatus", "behind", "rotates the arm laterally"),
        ("subscapularis", "in front of", "rotates the arm medially"),
        ("teres-major", "in front of", "rotates the arm medially"),
        ("supraspinatus", "above", "abducts the arm"),
        ("brachialis", "in front of", "flexes the forearm"),
        ("gluteus-maximus", "behind", "extends the thigh"),
        ("soleus", "behind", "plantar-flexes the foot"),
    ] {
        let muscle = muscle_of(catalogue, muscle);
        let why: Vec<String> = muscle
            .actions
            .iter()
            .filter_map(|action| explanation(atlas, &catalogue.vocabulary, muscle, action))
            .collect();
        let found = why.iter().any(|one| one.contains(words) && one.contains(does));
        assert!(found, "{}: {why:#?}", muscle.name);
    }
}

#[test]
fn the_teres_muscles_pass_the_axis_on_opposite_sides() {
    let (catalogue, atlas) = bundled();
    let pair = |a: &str, b: &str| {
        let v = &catalogue.vocabulary;
        set_apart(atlas, v, muscle_of(catalogue, a), muscle_of(catalogue, b)).unwrap()
    };
    let teres = pair("teres-minor", "teres-major");
    assert!(teres.first.contains("behind"), "{teres:?}");
    assert!(teres.second.contains("in front of"), "{teres:?}");
    let turned = pair("teres-major", "teres-minor");
    assert_eq!((turned.first, turned.second), (teres.second, teres.first));
    // One of them does not cross the knee.
    let thigh = pair("gracilis", "adductor-longus");
    assert!(thigh.second.contains("does not cross"), "{thigh:?}");
}

fn bundled() -> (&'static Catalogue, &'static Atlas) {
    let catalogue = Catalogue::bundled();
    (catalogue, &catalogue.atlas)
}

fn muscle_of<'c>(catalogue: &'c Catalogue, key: &str) -> &'c Muscle {
    catalogue.muscle(&MuscleKey::new(key)).expect("the test's own data hold it")
}

/// A bundled file with the first action of this movement of a muscle changed, and its line.
fn with_action_changed(muscle: &str, file: &str, right: &str, wrong: &str) -> (SourceFile, usize) {
    let path = format!("content/muscles/{file}.toml");
    let bundled = myonym_content::catalogue::bundled_files();
    let mut file =
        bundled.into_iter().find(|file| file.path == path).expect("the test's own data hold it");
    let start =
        file.text.find(&format!("key = \"{muscle}\"")).expect("the test's own data hold it");
    let movement = format!("movement = \"{right}\"");
    let at = start + file.text[start..].find(&movement).expect("the test's own data hold it");
    file.text.replace_range(at..at + movement.len(), &format!("movement = \"{wrong}\""));
    let line = file.text[..at].matches('\n').count() + 1;
    (file, line)
}

/// A course's own wording is held against the atlas where it names a movement. Common practice, no
/// source.
#[test]
fn a_courses_own_wording_is_judged() {
    let catalogue = Catalogue::bundled();
    let text = "name: Own\n\n\
        supraspinatus\n    action: adducts the arm [handbook]\n\
        teres minor\n    action: turns the arm outwards [handbook]\n\
        deltoid\n    action: makes the arm strong [handbook]\n";
    let file = SourceFile { path: "own.txt".to_owned(), text: text.to_owned() };
    let own = OwnList::read(&file, catalogue).unwrap();
    let course = Course::of_own(catalogue, &own).unwrap();
    let found = lint_own(catalogue, &course);
    let told: Vec<_> =
        found.iter().map(|(fact, gravity, _)| (fact.muscle.as_str(), *gravity)).collect();
    assert_eq!(told, [("supraspinatus", Gravity::Error)]);
}

/// Each action of which the atlas can judge has its sentence, and what does not follow is said not
/// to: the anterior deltoid runs along the humerus, and hardly turns it.
#[test]
fn what_does_not_follow_is_said_not_to() {
    let (catalogue, atlas) = bundled();
    let deltoid = muscle_of(catalogue, "deltoid");
    let why: Vec<String> = deltoid
        .actions
        .iter()
        .filter_map(|action| explanation(atlas, &catalogue.vocabulary, deltoid, action))
        .collect();
    let turns = why.iter().find(|one| one.ends_with("rotates the arm medially.")).unwrap();
    assert!(turns.starts_with("Its anterior part passes close to the long axis"), "{turns}");
    assert!(turns.contains("does not follow"), "{turns}");
}

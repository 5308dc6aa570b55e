//! What holds of the picture of every muscle of the atlas, and of every two of a muscle list.

use std::collections::BTreeSet;
use std::sync::OnceLock;

use myonym_content::Catalogue;
use myonym_content::model::{ListKey, Muscle, MuscleKey};
use myonym_picture::{Labels, MOST_BYTES, draw, draw_pair, svg, svg_pair};
use myonym_wire::{Label, Part, Picture, View};

fn catalogue() -> &'static Catalogue {
    Catalogue::bundled()
}

fn drawn(muscle: &Muscle, labels: Labels) -> Option<Picture> {
    draw(&catalogue().atlas, &catalogue().vocabulary, muscle, labels)
}

type Drawn = (&'static Muscle, Picture);

/// Every muscle that has a line of pull, with its picture, drawn once for all tests.
fn all(labels: Labels) -> &'static [Drawn] {
    static SHOWN: OnceLock<Vec<Drawn>> = OnceLock::new();
    static HIDDEN: OnceLock<Vec<Drawn>> = OnceLock::new();
    let once = match labels {
        Labels::Shown => &SHOWN,
        Labels::Hidden => &HIDDEN,
    };
    once.get_or_init(|| {
        let muscles = catalogue().muscles();
        muscles.filter_map(|muscle| Some((muscle, drawn(muscle, labels)?))).collect()
    })
}

fn named(key: &str) -> &'static Muscle {
    catalogue().muscle(&MuscleKey::new(key)).expect("a muscle of the catalogue")
}

/// Two muscles with their pictures.
type Pair = [Drawn; 2];

/// All pairs of the shoulder list, which students see most, and every fifth pair of neighbours by
/// key.
fn pairs() -> &'static [Pair] {
    static PAIRS: OnceLock<Vec<Pair>> = OnceLock::new();
    PAIRS.get_or_init(|| {
        let shoulder = catalogue().list(&ListKey::new("shoulder")).expect("a bundled list");
        let muscles = || shoulder.muscles.iter().filter_map(|key| catalogue().muscle(key));
        let within = muscles().flat_map(|a| muscles().map(move |b| (a, b)));
        let within = within.filter(|(a, b)| a.key < b.key);
        let next = catalogue().muscles().zip(catalogue().muscles().skip(1)).step_by(5);
        let (atlas, v) = (&catalogue().atlas, &catalogue().vocabulary);
        let pair = |(a, b)| {
            let (first, second) = draw_pair(atlas, v, a, b)?;
            Some([(a, first), (b, second)])
        };
        within.chain(next).filter_map(pair).collect()
    })
}

fn places(picture: &Picture) -> impl Iterator<Item = [i16; 2]> {
    let strokes = picture.strokes.iter();
    strokes.flat_map(|stroke| stroke.points.iter().chain(stroke.holes.iter().flatten())).copied()
}

/// Left, top, right and bottom of a label, with letters as wide as 0.6 of their size. In a wide
/// sans serif as a browser draws it the labels' mean is less, and none of them covers another.
fn frame(label: &Label) -> [f64; 4] {
    let number = |count: usize| f64::from(u32::try_from(count).unwrap_or(u32::MAX));
    let letters = label.lines.iter().map(|line| line.chars().count()).max().unwrap_or_default();
    let width = number(letters) * 0.6 * f64::from(Label::LETTERS);
    let [x, y] = label.text_at.map(f64::from);
    let left = if label.right { x } else { x - width };
    let top = y - f64::from(Label::LETTERS);
    [left, top, left + width, top + number(label.lines.len()) * f64::from(Label::LINE)]
}

#[test]
fn every_muscle_with_a_line_of_pull_has_a_picture() {
    for muscle in catalogue().muscles() {
        let has_line = !catalogue().atlas.lines(&muscle.key).is_empty();
        let has_picture = all(Labels::Shown).iter().any(|(drawn, _)| drawn.key == muscle.key);
        assert_eq!(has_picture, has_line, "{}", muscle.key);
    }
    assert!(all(Labels::Shown).len() > 90);
}

#[test]
fn a_picture_lies_within_its_width_and_height() {
    for (muscle, picture) in all(Labels::Shown).iter().chain(all(Labels::Hidden)) {
        for [x, y] in places(picture) {
            let inside = (0..=i32::from(picture.width)).contains(&i32::from(x))
                && (0..=i32::from(picture.height)).contains(&i32::from(y));
            assert!(inside, "{}: {x} {y}", muscle.key);
        }
        for label in &picture.labels {
            let [left, top, right, bottom] = frame(label);
            let inside = left >= 0.0
                && top >= 0.0
                && right <= f64::from(picture.width)
                && bottom <= f64::from(picture.height);
            assert!(inside, "{}: {label:?}", muscle.key);
        }
    }
}

#[test]
fn labels_cover_no_other() {
    for (muscle, picture) in all(Labels::Shown) {
        for (index, label) in picture.labels.iter().enumerate() {
            let [left, top, right, bottom] = frame(label);
            for other in &picture.labels[..index] {
                let [west, north, east, south] = frame(other);
                let apart = right <= west || east <= left || bottom <= north || south <= top;
                assert!(apart, "{}: {label:?} {other:?}", muscle.key);
            }
        }
    }
}

#[test]
fn two_pictures_fit_in_one_message() {
    for (muscle, picture) in all(Labels::Shown) {
        let json = serde_json::to_string(picture).unwrap();
        assert!(json.len() < MOST_BYTES, "{}: {}", muscle.key, json.len());
        let back: Picture = serde_json::from_str(&json).unwrap();
        assert_eq!(back, *picture);
    }
    for (muscle, picture) in pairs().iter().flatten() {
        let bytes = serde_json::to_string(picture).unwrap().len();
        assert!(bytes < MOST_BYTES, "{}: {bytes}", muscle.key);
    }
}

#[test]
fn a_picture_has_an_origin_an_insertion_and_a_way_between_them() {
    for (muscle, picture) in all(Labels::Hidden) {
        let has = |part: Part| picture.strokes.iter().any(|stroke| stroke.part == part);
        for part in [Part::Bone, Part::Muscle, Part::Origin, Part::Insertion] {
            assert!(has(part), "{}: {part:?}", muscle.key);
        }
    }
}

#[test]
fn labels_change_nothing_but_the_labels() {
    for ((_, shown), (_, hidden)) in all(Labels::Shown).iter().zip(all(Labels::Hidden)) {
        assert!(hidden.labels.is_empty());
        assert_eq!((shown.view, shown.scale), (hidden.view, hidden.scale));
        // Labels take room away from outlines, so that bones alone may be drawn more coarsely.
        let drawn = |picture: &Picture| {
            let bone = |part| matches!(part, Part::Bone | Part::Neighbour);
            let strokes = picture.strokes.iter().filter(|stroke| !bone(stroke.part));
            strokes.cloned().collect::<Vec<_>>()
        };
        assert_eq!(drawn(shown), drawn(hidden));
    }
}

/// The words for those who do not see a picture without names say no more than it shows.
#[test]
fn without_labels_no_word_of_the_name_is_told() {
    let words = |text: &str| -> BTreeSet<String> {
        let letters = text.split(|c: char| !c.is_alphanumeric());
        letters.filter(|word| word.len() > 3).map(str::to_lowercase).collect()
    };
    for (muscle, picture) in all(Labels::Hidden) {
        let told: Vec<_> =
            words(&picture.text).intersection(&words(&muscle.name)).cloned().collect();
        assert!(told.is_empty(), "{}: {}", muscle.key, picture.text);
        let svg = svg(picture);
        let page = roxmltree::Document::parse(&svg).unwrap();
        let of_style = |node: &roxmltree::Node<'_, '_>| {
            node.parent().is_some_and(|parent| parent.has_tag_name("style"))
        };
        let texts = page.descendants().filter(|node| node.is_text() && !of_style(node));
        let written: Vec<&str> = texts.filter_map(|node| node.text()).collect();
        let written = written.join(" ");
        assert!(words(&written).is_disjoint(&words(&muscle.name)), "{}", muscle.key);
    }
}

#[test]
fn a_labelled_picture_tells_its_name_first() {
    for (muscle, picture) in all(Labels::Shown) {
        let heading = picture.text.split_once(". ").unwrap().0;
        assert!(heading.to_lowercase().starts_with(&muscle.name.to_lowercase()), "{heading}");
        assert!(picture.labels.iter().any(|label| label.words() == muscle.name));
    }
}

#[test]
fn a_pair_has_one_view_one_scale_and_one_size() {
    for [(first, a), (second, b)] in pairs() {
        assert_eq!((a.view, a.scale), (b.view, b.scale), "{} {}", first.key, second.key);
        assert_eq!((a.width, a.height), (b.width, b.height), "{} {}", first.key, second.key);
    }
}

#[test]
fn svg_is_well_formed() {
    for (muscle, picture) in all(Labels::Shown).iter().chain(all(Labels::Hidden)) {
        let svg = svg(picture);
        assert!(roxmltree::Document::parse(&svg).is_ok(), "{}", muscle.key);
    }
    for [(first, a), (second, b)] in pairs() {
        let svg = svg_pair(a, b, (&first.name, &second.name));
        assert!(roxmltree::Document::parse(&svg).is_ok(), "{} {}", first.key, second.key);
    }
}

/// From tail to head of the arrow, for one who sees it.
fn motion(picture: &Picture) -> Option<[i16; 2]> {
    let arrow = picture.strokes.iter().find(|stroke| stroke.part == Part::Motion)?;
    let (tail, head) = (arrow.points.first()?, arrow.points.last()?);
    Some([head[0] - tail[0], head[1] - tail[1]])
}

/// Which way limbs go: common practice, no source.
#[test]
fn arrows_point_where_limbs_go() {
    let check = |key: &str, view: View, goes: fn([i16; 2]) -> bool| {
        let picture = drawn(named(key), Labels::Shown).unwrap();
        assert_eq!(picture.view, view, "{key}");
        let way = motion(&picture).unwrap();
        assert!(goes(way), "{key}: {way:?}");
    };
    // The forearm is flexed and the leg extended forwards, which is to the right.
    check("brachialis", View::Side, |[x, _]| x > 0);
    check("vastus-intermedius", View::Side, |[x, _]| x > 0);
    check("semimembranosus", View::Side, |[x, _]| x < 0);
    check("iliacus", View::Side, |[x, _]| x > 0);
    // The right thigh goes outwards: to the right if seen from behind. Adducted it goes to the
    // midline, which is on the right if seen from the front.
    check("gluteus-medius", View::Back, |[x, _]| x > 0);
    check("adductor-longus", View::Front, |[x, _]| x > 0);
}

/// Where textbooks show them from: common practice, no source.
#[test]
fn muscles_are_seen_from_their_own_side() {
    let check = |view: View, keys: &[&str]| {
        for key in keys {
            assert_eq!(drawn(named(key), Labels::Shown).unwrap().view, view, "{key}");
        }
    };
    check(View::Back, &["infraspinatus", "teres-minor", "rhomboid-major", "trapezius"]);
    check(View::Back, &["piriformis", "quadratus-femoris", "gluteus-minimus"]);
    check(View::Front, &["subscapularis", "pectoralis-major", "pectineus", "coracobrachialis"]);
    check(View::Side, &["biceps-brachii", "rectus-femoris", "gluteus-maximus", "soleus"]);
}

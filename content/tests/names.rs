//! Typed names as an instructor of anatomy marks them.
//!
//! No published key says how far a misspelt muscle may stray. The table is common practice (no
//! source): a name is right if it can mean one muscle only, in English or Latin, whole or in the
//! short forms of the dissecting room; it is asked about if it can mean two; and the wrong word of
//! a pair of opposites is never a slip of the pen.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use myonym_content::catalogue::Catalogue;
use myonym_content::model::MuscleKey;
use myonym_content::name::{NameIndex, Resolution, fold};
use proptest::prelude::*;
use proptest::sample::Index;

static INDEX: LazyLock<NameIndex> = LazyLock::new(|| NameIndex::of(Catalogue::bundled()));

/// Expected: `teres-minor` exact; `~teres-minor` misspelt; `a | b` which one; `-` unknown.
fn check(cases: &[(&str, &str)]) {
    let wrong: Vec<String> = cases
        .iter()
        .map(|(typed, expected)| (typed, *expected, short(&INDEX.resolve(typed))))
        .filter(|(_, expected, found)| expected != found)
        .map(|(typed, expected, found)| format!("{typed:?}: expected {expected}, found {found}"))
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn short(resolution: &Resolution) -> String {
    match resolution {
        Resolution::Exact { muscle } => muscle.to_string(),
        Resolution::Misspelt { muscle, .. } => format!("~{muscle}"),
        Resolution::WhichOne { among } => {
            among.iter().map(ToString::to_string).collect::<Vec<_>>().join(" | ")
        }
        Resolution::Unknown { .. } => "-".to_owned(),
        Resolution::Empty => "empty".to_owned(),
    }
}

#[test]
fn right_names_in_whatever_dress() {
    check(&[
        ("Teres minor", "teres-minor"),
        ("  TERES   MINOR!! ", "teres-minor"),
        ("teres-minor", "teres-minor"),
        ("teresminor", "teres-minor"),
        ("minor teres", "teres-minor"),
        ("major pectoralis", "pectoralis-major"),
        ("m. teres minor", "teres-minor"),
        ("musculus teres minor", "teres-minor"),
        ("the teres minor muscle", "teres-minor"),
        ("M. deltoideus", "deltoid"),
        ("deltoid", "deltoid"),
        ("deltoids", "deltoid"),
        ("deltoid muscle", "deltoid"),
        ("teres minors", "teres-minor"),
        ("trapezius muscle", "trapezius"),
        ("infra spinatus", "infraspinatus"),
        ("supra-spinatus", "supraspinatus"),
        ("sub scapularis", "subscapularis"),
        ("coraco-brachialis", "coracobrachialis"),
        ("coraco brachialis", "coracobrachialis"),
        ("Rhomboideus maior", "rhomboid-major"),
        ("rhomboideus minor", "rhomboid-minor"),
        ("leuator scapulae", "levator-scapulae"),
        ("levator scapulæ", "levator-scapulae"),
        ("levator scapula", "levator-scapulae"),
        ("triceps brachi", "triceps-brachii"),
        ("bicep brachii", "biceps-brachii"),
        ("sterno-cleido-mastoid", "sternocleidomastoid"),
        ("peroneus longus", "fibularis-longus"),
    ]);
}

#[test]
fn short_forms_and_half_names_that_mean_one_muscle() {
    check(&[
        ("traps", "trapezius"),
        ("lats", "latissimus-dorsi"),
        ("lat dorsi", "latissimus-dorsi"),
        ("latissimus", "latissimus-dorsi"),
        ("pec minor", "pectoralis-minor"),
        ("pec maj", "pectoralis-major"),
        ("pectoral major", "pectoralis-major"),
        ("serratus ant", "serratus-anterior"),
        ("serr. anterior", "serratus-anterior"),
        ("lev scap", "levator-scapulae"),
        ("rhomboid maj", "rhomboid-major"),
        ("flex carpi rad", "flexor-carpi-radialis"),
        ("SCM", "sternocleidomastoid"),
        ("S.C.M.", "sternocleidomastoid"),
        ("upper trapezius", "trapezius"),
        ("long head of triceps", "triceps-brachii"),
        ("clavicular head of pectoralis major", "pectoralis-major"),
        ("posterior deltoid", "deltoid"),
    ]);
}

#[test]
fn slips_of_the_pen() {
    check(&[
        ("teres mayor", "~teres-major"),
        ("extensor digitorum breves", "~extensor-digitorum-brevis"),
        ("quadrates femoris", "~quadratus-femoris"),
        ("levator palpebral superioris", "~levator-palpebrae-superioris"),
        ("levatorescapulae", "~levator-scapulae"),
        ("teres minir", "~teres-minor"),
        ("teris minor", "~teres-minor"),
        ("terseminor", "~teres-minor"),
        ("supraspinatous", "~supraspinatus"),
        ("supraspinatis", "~supraspinatus"),
        ("infraspinitus", "~infraspinatus"),
        ("infra spinatis", "~infraspinatus"),
        ("subscapularus", "~subscapularis"),
        ("subscapulars", "~subscapularis"),
        ("deltoyd", "~deltoid"),
        ("deltiod", "~deltoid"),
        ("trapezious", "~trapezius"),
        ("trapeezius", "~trapezius"),
        ("trapeziuss", "~trapezius"),
        ("levator scapuli", "~levator-scapulae"),
        ("levetor scapulae", "~levator-scapulae"),
        ("lavator scapula", "~levator-scapulae"),
        ("romboid major", "~rhomboid-major"),
        ("rhombiod minor", "~rhomboid-minor"),
        ("serratus anteriar", "~serratus-anterior"),
        ("seratus anterior", "~serratus-anterior"),
        ("petoralis minor", "~pectoralis-minor"),
        ("pectorialis major", "~pectoralis-major"),
        ("pec minr", "~pectoralis-minor"),
        ("latisimus dorsi", "~latissimus-dorsi"),
        ("lattisimus dorsi", "~latissimus-dorsi"),
        ("latisimus", "~latissimus-dorsi"),
        ("corabrachialis", "~coracobrachialis"),
        ("corocobrachialis", "~coracobrachialis"),
        ("bicpes brachii", "~biceps-brachii"),
        ("tricep brachai", "~triceps-brachii"),
        ("subclavious", "~subclavius"),
        ("sternocleidomastiod", "~sternocleidomastoid"),
        ("gluteus medimus", "~gluteus-medius"),
        ("extensor digitorm", "~extensor-digitorum"),
    ]);
}

#[test]
fn what_can_mean_several_is_asked_about() {
    check(&[
        ("longis colli", "longissimus-cervicis | longus-colli"),
        ("teres", "teres-major | teres-minor"),
        ("terres", "teres-major | teres-minor"),
        ("teres manor", "teres-major | teres-minor"),
        ("teres m", "teres-major | teres-minor"),
        ("rhomboid", "rhomboid-major | rhomboid-minor"),
        ("rhomboids", "rhomboid-major | rhomboid-minor"),
        ("rhomboideus", "rhomboid-major | rhomboid-minor"),
        ("romboids", "rhomboid-major | rhomboid-minor"),
        ("pectoralis", "pectoralis-major | pectoralis-minor"),
        ("pectorals", "pectoralis-major | pectoralis-minor"),
        ("biceps", "biceps-brachii | biceps-femoris"),
        ("bicep", "biceps-brachii | biceps-femoris"),
        ("biseps", "biceps-brachii | biceps-femoris"),
        ("spinatus", "infraspinatus | supraspinatus"),
        ("spinatous", "infraspinatus | supraspinatus"),
        (
            "serratus",
            "serratus-anterior | serratus-posterior-inferior | serratus-posterior-superior",
        ),
        ("mm. rhomboidei", "rhomboid-major | rhomboid-minor"),
        ("serratus posterior", "serratus-posterior-inferior | serratus-posterior-superior"),
        ("gluteus", "gluteus-maximus | gluteus-medius | gluteus-minimus"),
        ("aductor hallucis", "abductor-hallucis | adductor-hallucis"),
        (
            "aductor pollicis",
            "abductor-pollicis-brevis | abductor-pollicis-longus | adductor-pollicis",
        ),
    ]);
}

#[test]
fn other_words_of_the_trade_are_no_slips() {
    check(&[
        ("trapezoid", "-"),
        ("trapezium", "-"),
        ("scapularis", "-"),
        ("hyoid", "-"),
        ("major", "-"),
        ("greater", "-"),
        ("superior", "-"),
        ("dorsi", "-"),
        ("brachii", "-"),
        ("pec", "pectineus | pectoralis-major | pectoralis-minor"),
        ("pecs", "pectineus | pectoralis-major | pectoralis-minor"),
        ("clavicular head", "-"),
        ("vastus medius", "-"),
        ("abductor magnus", "-"),
        ("abductormagnus", "-"),
        ("abductor mag nus", "-"),
        ("adductor pollicis longus", "-"),
        ("abductor brevis", "abductor-pollicis-brevis"),
        ("abductor hallucis", "abductor-hallucis"),
        ("adductor hallucis", "adductor-hallucis"),
        ("extensor carpi ulnaris", "extensor-carpi-ulnaris"),
        ("teres minor teres major", "-"),
        ("teres major or minor", "-"),
        ("i do not know", "-"),
        ("?", "empty"),
        (" \u{202e}\u{200b}\u{301} ", "empty"),
    ]);
}

#[test]
fn distance_counts_edits() {
    let check = |typed: &str, key: &str, distance: usize| {
        let muscle = MuscleKey::new(key);
        assert_eq!(INDEX.resolve(typed), Resolution::Misspelt { muscle, distance }, "{typed}");
    };
    check("teres mayor", "teres-major", 1);
    check("terseminor", "teres-minor", 1);
    check("lattisimus dorsi", "latissimus-dorsi", 2);
    check("seratus anteriar", "serratus-anterior", 2);
}

#[test]
fn suggestions_are_few_and_near() {
    let nearest = |typed: &str| -> Vec<String> {
        let Resolution::Unknown { nearest } = INDEX.resolve(typed) else { panic!("{typed}") };
        nearest.iter().map(ToString::to_string).collect()
    };
    assert_eq!(nearest("scapulae"), ["levator-scapulae"]);
    assert_eq!(nearest("trapezoid"), ["trapezius"]);
    assert_eq!(nearest("abductor magnus")[0], "adductor-magnus");
    assert!(nearest("major").is_empty(), "too many muscles have that word");
    assert!(nearest("i do not know").is_empty());
}

#[test]
fn hostile_text_is_no_name() {
    let marks = format!("teres{} minor", "\u{301}".repeat(10_000));
    check(&[(marks.as_str(), "teres-minor")]);
    for long in
        ["a".repeat(81), "teres ".repeat(9), "\u{7}".repeat(10_000) + "x", "ﷺ".repeat(5_000)]
    {
        let found = INDEX.resolve(&long);
        assert!(
            matches!(found, Resolution::Unknown { ref nearest } if nearest.is_empty()),
            "{found:?}"
        );
    }
}

#[test]
fn every_form_in_the_data_means_its_muscle() {
    let mut owners = Vec::new();
    for muscle in Catalogue::bundled().muscles() {
        let names = [&muscle.name, &muscle.latin].into_iter().chain(&muscle.synonyms);
        let names = names.chain(&muscle.abbreviations);
        owners.extend(names.map(|name| (&muscle.key, name)));
        let parts = muscle.parts.iter().flat_map(|part| &part.accepted);
        owners.extend(parts.map(|name| (&muscle.key, name)));
    }
    for other in Catalogue::bundled().others() {
        let names = std::iter::once(&other.name).chain(&other.latin).chain(&other.synonyms);
        owners.extend(names.chain(&other.abbreviations).map(|name| (&other.key, name)));
    }
    for (muscle, name) in owners {
        let exact = Resolution::Exact { muscle: muscle.clone() };
        assert_eq!(INDEX.resolve(name), exact, "{name}");
        assert_eq!(INDEX.resolve(&format!("M. {}", name.to_uppercase())), exact, "{name}");
    }
}

/// Names of all muscles that are long enough to have a budget of slips. Slips in the little words
/// of `lumbricals of the foot` are not looked into.
static LONG_NAMES: LazyLock<Vec<(MuscleKey, String)>> = LazyLock::new(|| {
    let catalogue = Catalogue::bundled();
    let muscles = catalogue.muscles().map(|muscle| (muscle.key.clone(), muscle.name.clone()));
    let others = catalogue.others().map(|other| (other.key.clone(), other.name.clone()));
    muscles
        .chain(others)
        .filter(|(_, name)| name.chars().count() > 8 && !name.contains(" of "))
        .collect()
});

/// All words of all names. A slip that makes one of them (`abductor` of `adductor`, `manus` of
/// `magnus`) is not taken for a slip.
static WORDS: LazyLock<BTreeSet<String>> = LazyLock::new(|| {
    let catalogue = Catalogue::bundled();
    let muscles = catalogue
        .muscles()
        .flat_map(|muscle| [&muscle.name, &muscle.latin].into_iter().chain(&muscle.synonyms));
    let others = catalogue
        .others()
        .flat_map(|other| std::iter::once(&other.name).chain(&other.latin).chain(&other.synonyms));
    let names = muscles.chain(others).map(|name| fold(name));
    names.flat_map(|name| name.split(' ').map(str::to_owned).collect::<Vec<_>>()).collect()
});

fn slip(name: &str, at: Index, letter: char, kind: usize) -> String {
    let mut letters: Vec<char> = name.chars().collect();
    let at = at.index(letters.len());
    match kind {
        0 => letters[at] = letter,
        1 => letters.insert(at, letter),
        2 => {
            letters.remove(at);
        }
        _ if at > 0 => letters.swap(at - 1, at),
        _ => {}
    }
    letters.into_iter().collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    #[test]
    fn one_slip_never_makes_another_muscle(
        name in any::<Index>(),
        at in any::<Index>(),
        letter in proptest::char::range('a', 'z'),
        kind in 0_usize..4,
    ) {
        let (muscle, name) = name.get(&LONG_NAMES);
        let typed = slip(name, at, letter, kind);
        prop_assume!(typed != "trapezium", "a bone");
        let found = INDEX.resolve(&typed);
        if &typed != name && typed.split(' ').all(|word| WORDS.contains(word)) {
            let other = matches!(&found, Resolution::Misspelt { muscle: found, .. } if found != muscle);
            prop_assert!(!other, "{}: {:?}", typed, found);
            return Ok(());
        }
        match found {
            Resolution::Exact { muscle: found } | Resolution::Misspelt { muscle: found, .. } => {
                prop_assert_eq!(&found, muscle, "{}", typed);
            }
            Resolution::WhichOne { among } => prop_assert!(among.contains(muscle), "{}", typed),
            Resolution::Unknown { .. } | Resolution::Empty => {
                prop_assert!(false, "{} is not recognised", typed);
            }
        }
    }

    #[test]
    fn any_text_is_safe(typed in any::<String>()) {
        match INDEX.resolve(&typed) {
            Resolution::WhichOne { among } => {
                let different: BTreeSet<_> = among.iter().collect();
                prop_assert!(different.len() == among.len() && among.len() > 1);
            }
            Resolution::Unknown { nearest } => prop_assert!(nearest.len() <= 3),
            Resolution::Empty => prop_assert!(fold(&typed).is_empty()),
            Resolution::Exact { .. } | Resolution::Misspelt { .. } => {}
        }
    }

    #[test]
    fn only_the_folded_text_counts(name in any::<Index>()) {
        let (_, name) = name.get(&LONG_NAMES);
        prop_assert_eq!(INDEX.resolve(name), INDEX.resolve(&fold(name)));
    }
}

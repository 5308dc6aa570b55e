//! Analyses of invented classes, to lay out. Their numbers are made up and only hang together as
//! far as a page shows.

mod made;

use myonym_content::Difference;
use myonym_engine::AskedAgainWhy;
use myonym_insight::analysis::{
    Analysis, Area, AreaKind, Aspect, Basis, ConfusionMap, CueFound, Direction, FORM, FlagKind,
    Teach,
};

use made::{
    Counts, PairCounts, chosen, counts, estimate, from_counts, moves, named, progress, reliability,
    reviews, taught, unclear,
};

/// Every sample by a name for its file.
pub fn all() -> Vec<(&'static str, Analysis)> {
    vec![
        ("course", course()),
        ("empty", empty()),
        ("three", three_students()),
        ("odd", odd_names()),
        ("all-right", all_right()),
        ("huge", huge()),
    ]
}

/// Nothing was asked yet.
pub fn empty() -> Analysis {
    Analysis {
        form: FORM,
        basis: Basis {
            reviews: Vec::new(),
            rounds: 0,
            answers: 0,
            silent: 0,
            persons: 0,
            filter: Vec::new(),
        },
        teach: Vec::new(),
        pairs: Vec::new(),
        map: ConfusionMap { muscles: Vec::new(), cells: Vec::new() },
        items: Vec::new(),
        reliability: Vec::new(),
        progress: Vec::new(),
        cues: Vec::new(),
        areas: Vec::new(),
        movements: Vec::new(),
        contrasts: Vec::new(),
        unclear: Vec::new(),
    }
}

/// Two sections over four weeks, with everything that a page can show.
pub fn course() -> Analysis {
    let sections = [Some("Monday section"), Some("Thursday section")];
    let mut found = Analysis {
        basis: Basis {
            reviews: reviews(&sections, 4, 24),
            rounds: 96,
            answers: 2_114,
            silent: 141,
            persons: 49,
            filter: vec!["spring term".to_owned()],
        },
        reliability: vec![
            reliability(1, 24, 12, Some((0.71, 1.4)), "Good enough to tell strong from weak."),
            reliability(2, 25, 12, Some((0.38, 1.6)), "Too low to tell students apart by it."),
            reliability(3, 1, 12, None, "One student was there throughout: it is not defined."),
        ],
        progress: progress(&sections, 4),
        cues: cues(),
        areas: areas(),
        movements: vec![
            moves("teres major", (9, 6, 2, 24), &[("lateral rotation of the arm", 7)]),
            moves("deltoid", (22, 1, 0, 24), &[("flexion of the arm", 1)]),
        ],
        contrasts: vec![
            chosen("teres minor", "teres major", (13, 9, 2)),
            chosen("teres major", "teres minor", (21, 3, 0)),
        ],
        unclear: vec![
            unclear("teres minor", "teres", AskedAgainWhy::WhichOne, 11),
            unclear("subclavius", "under the collarbone", AskedAgainWhy::UnknownName, 2),
        ],
        ..from_counts(&course_items(), &course_pairs())
    };
    for (item, (shown, right)) in found.items.iter_mut().zip([(23, 5), (0, 0), (47, 24)]) {
        (item.pictured, item.pictured_right) = (shown, right);
    }
    found.teach = vec![
        taught(&found.pairs[0], 9.4),
        taught(&found.pairs[1], 6.2),
        Teach {
            headline: "subclavius, often left unanswered".to_owned(),
            sentence: "21 of 47 gave no answer: say again what it arises from and what it does."
                .to_owned(),
            apart: None,
            line_of_pull: None,
            at_stake: 4.8,
            muscles: vec![named("subclavius")],
        },
        taught(&found.pairs[2], 3.1),
    ];
    found
}

/// One review of three students.
pub fn three_students() -> Analysis {
    let items = [
        Counts { right: 1, rest: None, ..counts("teres minor", 3) },
        Counts { right: 2, rest: None, ..counts("infraspinatus", 3) },
        Counts { right: 3, rest: None, ..counts("deltoid", 3) },
    ];
    let pairs = [("teres minor", "teres major", 2, 3, (0, 0), Direction::TooFew)];
    let mut found = Analysis {
        basis: Basis {
            reviews: reviews(&[None], 1, 3),
            rounds: 3,
            answers: 8,
            silent: 1,
            persons: 3,
            filter: Vec::new(),
        },
        reliability: vec![reliability(1, 3, 3, None, "3 rounds are too few to say.")],
        progress: progress(&[None], 1),
        ..from_counts(&items, &pairs)
    };
    found.teach = vec![taught(&found.pairs[0], 0.9)];
    found
}

/// A class that knew everything.
pub fn all_right() -> Analysis {
    let items = [Counts { right: 20, rest: None, ..counts("deltoid", 20) }];
    Analysis {
        basis: Basis {
            reviews: reviews(&[Some("Monday section")], 1, 20),
            rounds: 1,
            answers: 20,
            silent: 0,
            persons: 20,
            filter: Vec::new(),
        },
        ..from_counts(&items, &[])
    }
}

/// What people may type wherever they may type.
pub const ODD: [&str; 8] = [
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>",
    "]]><svg onload=alert(1)>",
    "a & b &amp; c ' \" --> {x}",
    "\u{1b}[2J\u{7}\0bell",
    "\u{202e}txet desrever",
    "=HYPERLINK(\"x\")",
    "wwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwww",
];

/// The course with odd text in every place that takes text.
pub fn odd_names() -> Analysis {
    let mut found = course();
    let mut odd = ODD.iter().cycle();
    let mut next = || (*odd.next().unwrap_or(&"")).to_owned();
    for review in &mut found.basis.reviews {
        (review.word, review.list) = (next(), next());
        (review.section, review.opened) = (Some(next()), next());
    }
    found.basis.filter = vec![next(), next()];
    for teach in &mut found.teach {
        (teach.headline, teach.sentence) = (next(), next());
        teach.muscles.iter_mut().for_each(|muscle| muscle.name = next());
        teach.apart = Some(Difference { aspect: next(), first: next(), second: next() });
    }
    for pair in &mut found.pairs {
        (pair.asked.name, pair.said.name) = (next(), next());
    }
    for item in &mut found.items {
        item.muscle.name = next();
        item.forms = vec![(next(), 1)];
        item.flags.iter_mut().for_each(|flag| flag.words = next());
        item.instead.iter_mut().for_each(|said| said.said.name = next());
    }
    found.map.muscles.iter_mut().for_each(|muscle| muscle.name = next());
    for line in &mut found.reliability {
        (line.word, line.words) = (next(), next());
    }
    for point in &mut found.progress {
        (point.section, point.opened) = (Some(next()), next());
    }
    for cue in &mut found.cues {
        cue.about = next();
        cue.muscles.iter_mut().for_each(|muscle| muscle.name = next());
    }
    found.areas.iter_mut().for_each(|area| area.name = next());
    for movement in &mut found.movements {
        movement.name = next();
        movement.instead.iter_mut().for_each(|said| said.movement = next());
    }
    for one in &mut found.contrasts {
        (one.asked.name, one.other.name) = (next(), next());
    }
    for form in &mut found.unclear {
        (form.asked_name, form.typed) = (next(), next());
    }
    found
}

/// 186 muscles, six sections, fourteen weeks.
pub fn huge() -> Analysis {
    let names: Vec<String> = (0..186).map(invented).collect();
    let mut chance = Chance(7);
    let mut items: Vec<Counts<'_>> = names
        .iter()
        .map(|name| {
            let asked = 60 + chance.below(90);
            let right = asked * (20 + chance.below(75)) / 100;
            let rest = f64::from(chance.below(90)) / 100.0 - 0.25;
            Counts { right, rest: Some(rest), ..counts(name, asked) }
        })
        .collect();
    items.sort_by(|a, b| (a.right * b.asked).cmp(&(b.right * a.asked)));
    let mut pairs = Vec::new();
    for (place, item) in items.iter().enumerate() {
        for step in 1..=2 {
            let other = &items[(place + step) % items.len()];
            let wrong = (item.asked - item.right) / 3;
            let count = 1 + chance.below(wrong.max(1));
            let back = (chance.below(9), other.asked);
            pairs.push((item.name, other.name, count, item.asked, back, Direction::TooFew));
        }
    }
    pairs.sort_by(|a, b| (b.2 * a.3).cmp(&(a.2 * b.3)).then(a.0.cmp(b.0)));
    let sections =
        ["A", "B", "C", "D", "E", "F"].map(|letter| Some(Box::leak(letter.into()) as &str));
    let mut found = Analysis {
        basis: Basis {
            reviews: reviews(&sections, 14, 25),
            rounds: 1_680,
            answers: 38_000,
            silent: 2_900,
            persons: 151,
            filter: Vec::new(),
        },
        progress: progress(&sections, 14),
        cues: cues(),
        areas: areas(),
        ..from_counts(&items, &pairs)
    };
    found.teach = found.pairs.iter().take(5).map(|pair| taught(pair, 12.0)).collect();
    found
}

/// A name as long as those of the forearm.
fn invented(number: usize) -> String {
    let first = ["extensor", "flexor", "abductor", "adductor", "levator", "depressor"];
    let second = ["carpi", "digitorum", "pollicis", "hallucis", "scapulae", "costarum"];
    let third = ["longus", "brevis", "superficialis", "profundus", "medius", "minimus"];
    format!("{} {} {}", first[number % 6], second[number / 6 % 6], third[number / 36 % 6])
}

/// Lehmer's generator (Park & Miller 1988): the same page every time.
struct Chance(u32);

impl Chance {
    fn below(&mut self, limit: u32) -> u32 {
        let next = u64::from(self.0) * 48_271 % 2_147_483_647;
        self.0 = u32::try_from(next).unwrap_or(1);
        self.0 % limit
    }
}

fn course_items() -> [Counts<'static>; 12] {
    let item = |name, right, rest| Counts { right, rest: Some(rest), ..counts(name, 47) };
    [
        Counts {
            flags: &[(
                FlagKind::KeyedWrong,
                "Those who know the rest answer teres major: look whether its clues fit both.",
            )],
            forms: &[("teres miner", 4), ("teris minor", 1)],
            ..item("teres minor", 15, -0.12)
        },
        Counts {
            silent: (4, 17),
            flags: &[(FlagKind::RunsOut, "17 of 47 ran out of time: give longer, or fewer clues.")],
            ..item("subclavius", 19, 0.22)
        },
        Counts {
            flags: &[(
                FlagKind::Ambiguous,
                "Two answers share the class: ask what both have in common.",
            )],
            ..item("infraspinatus", 24, 0.04)
        },
        Counts {
            flags: &[(
                FlagKind::NotDiscriminating,
                "Being right has nothing to do with knowing the rest: look at its clues.",
            )],
            ..item("coracobrachialis", 26, 0.01)
        },
        Counts {
            flags: &[(
                FlagKind::Spelling,
                "9 knew it and could not spell it: write it on the board.",
            )],
            forms: &[("sternoclidomastoid", 6), ("sternocleidomastiod", 3)],
            ..item("sternocleidomastoid", 29, 0.36)
        },
        item("supraspinatus", 31, 0.44),
        item("teres major", 33, 0.41),
        item("subscapularis", 35, 0.47),
        item("serratus anterior", 36, 0.52),
        item("pectoralis minor", 37, 0.33),
        item("latissimus dorsi", 41, 0.39),
        Counts {
            flags: &[(FlagKind::TooEasy, "Nearly everyone has it: it need not be asked again.")],
            ..item("deltoid", 46, 0.08)
        },
    ]
}

fn course_pairs() -> [PairCounts<'static>; 9] {
    let this_way = Direction::ThisWay { p: 0.004, q: 0.018 };
    let other_way = Direction::OtherWay { p: 0.004, q: 0.018 };
    let none = Direction::NotShown { p: 0.41, q: 0.55 };
    [
        ("teres minor", "teres major", 19, 47, (4, 47), this_way),
        ("infraspinatus", "supraspinatus", 13, 47, (9, 47), none),
        ("coracobrachialis", "biceps brachii", 8, 47, (0, 0), Direction::TooFew),
        ("supraspinatus", "infraspinatus", 9, 47, (13, 47), none),
        ("teres minor", "infraspinatus", 6, 47, (5, 47), none),
        ("pectoralis minor", "subclavius", 5, 47, (3, 47), none),
        ("infraspinatus", "teres minor", 5, 47, (6, 47), none),
        ("teres major", "teres minor", 4, 47, (19, 47), other_way),
        ("subscapularis", "teres major", 3, 47, (0, 47), Direction::TooFew),
    ]
}

fn cues() -> Vec<CueFound> {
    let cue = |aspect, about: &str, overlooked, shown, muscle| CueFound {
        aspect,
        about: about.to_owned(),
        overlooked,
        shown,
        rate: estimate(overlooked, shown),
        shrunken: estimate(overlooked, shown).value * 0.9,
        muscles: vec![named(muscle)],
    };
    vec![
        cue(Aspect::Action, "lateral rotation of the arm", 34, 88, "teres minor"),
        cue(Aspect::Innervation, "axillary nerve", 19, 71, "teres minor"),
        cue(
            Aspect::Insertion,
            "the lowest facet of the greater tubercle of the humerus and its capsule",
            16,
            94,
            "teres minor",
        ),
        cue(Aspect::Origin, "lateral border of the scapula", 9, 62, "teres minor"),
        cue(Aspect::Place, "rotator cuff", 4, 77, "subscapularis"),
    ]
}

fn areas() -> Vec<Area> {
    let area = |kind, name: &str, right, of| Area {
        kind,
        name: name.to_owned(),
        right,
        of,
        rate: estimate(right, of),
    };
    vec![
        area(AreaKind::Aspect, "innervation", 260, 410),
        area(AreaKind::Aspect, "action", 402, 560),
        area(AreaKind::Aspect, "origin", 340, 420),
        area(AreaKind::Group, "rotator cuff", 105, 188),
        area(AreaKind::Group, "superficial muscles of the back", 82, 94),
        area(AreaKind::Region, "shoulder", 310, 517),
        area(AreaKind::Region, "neck", 29, 47),
    ]
}

//! Analyses of invented classes, to lay out. Their numbers are made up and only hang together as
//! far as a page shows.

use myonym_content::{Difference, MuscleKey};
use myonym_engine::AskedAgainWhy;
use myonym_insight::analysis::{
    Analysis, Area, AreaKind, Aspect, Basis, Cell, ConfusionMap, CueFound, Direction, Distractor,
    FORM, Flag, FlagKind, Item, Named, Pair, Progress, Reliability, ReviewLine, Teach,
};
use myonym_insight::{Estimate, Instead, Predicted, Unclear, wilson};
use myonym_wire::ReviewId;

/// A week in seconds.
const WEEK: i64 = 7 * 24 * 3_600;
/// 2 March 2026, 09:15 UTC.
const TERM: i64 = 1_772_442_900;

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
        unclear: vec![
            unclear("teres minor", "teres", AskedAgainWhy::WhichOne, 11),
            unclear("subclavius", "under the collarbone", AskedAgainWhy::UnknownName, 2),
        ],
        ..from_counts(&course_items(), &course_pairs())
    };
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

/// What an item is made of.
#[derive(Debug, Clone, Copy)]
struct Counts<'a> {
    name: &'a str,
    asked: u32,
    right: u32,
    rest: Option<f64>,
    silent: (u32, u32),
    flags: &'a [(FlagKind, &'a str)],
    forms: &'a [(&'a str, u32)],
}

fn counts(name: &str, asked: u32) -> Counts<'_> {
    Counts { name, asked, right: 0, rest: Some(0.3), silent: (1, 0), flags: &[], forms: &[] }
}

type PairCounts<'a> = (&'a str, &'a str, u32, u32, (u32, u32), Direction);

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

/// Items, pairs and map from counts, as far as the counts go.
fn from_counts(items: &[Counts<'_>], pairs: &[PairCounts<'_>]) -> Analysis {
    let pairs: Vec<Pair> = pairs.iter().map(pair).collect();
    let mut muscles: Vec<Named> = items.iter().map(|item| named(item.name)).collect();
    for pair in &pairs {
        if !muscles.contains(&pair.said) {
            muscles.push(pair.said.clone());
        }
    }
    let place = |muscle: &Named| {
        let place = muscles.iter().position(|other| other == muscle).unwrap_or_default();
        u16::try_from(place).unwrap_or_default()
    };
    let mut cells: Vec<Cell> = items
        .iter()
        .map(|item| {
            let at = place(&named(item.name));
            Cell { asked: at, said: at, count: item.right, of: item.asked }
        })
        .collect();
    cells.extend(pairs.iter().map(|pair| Cell {
        asked: place(&pair.asked),
        said: place(&pair.said),
        count: pair.count,
        of: pair.of,
    }));
    let items = items.iter().map(|counts| item(counts, &pairs)).collect();
    Analysis { items, map: ConfusionMap { muscles, cells }, pairs, ..empty() }
}

fn item(counts: &Counts<'_>, pairs: &[Pair]) -> Item {
    let Counts { name, asked, right, rest, silent, flags, forms } = *counts;
    let instead = pairs.iter().filter(|pair| pair.asked.name == name).map(|pair| Distractor {
        said: pair.said.clone(),
        count: pair.count,
        rest_mean: Some(0.52),
        correlation: Some(-0.2),
    });
    let misspelt: u32 = forms.iter().map(|(_, count)| count).sum();
    let share = f64::from(right) / f64::from(asked);
    Item {
        muscle: named(name),
        rounds: asked.div_ceil(24),
        asked,
        right,
        difficulty: estimate(right, asked),
        rest_correlation: rest,
        upper_lower: rest.filter(|_| asked >= 40).map(|rest| rest * 1.2),
        omitted: silent.0,
        timed_out: silent.1,
        median_ms: (right > 0).then(|| u64::from(14_000 - 200 * right.min(60))),
        clues_needed: (right > 0).then_some(3),
        misspelt: (right > 0).then(|| f64::from(misspelt) / f64::from(right + misspelt)),
        forms: forms.iter().map(|(form, count)| ((*form).to_owned(), *count)).collect(),
        instead: instead.collect(),
        logit: (right > 0 && right < asked).then(|| (((1.0 - share) / share).ln(), 0.34)),
        flags: flags
            .iter()
            .map(|(kind, words)| Flag { kind: *kind, words: (*words).to_owned() })
            .collect(),
    }
}

fn pair((asked, said, count, of, back, direction): &PairCounts<'_>) -> Pair {
    let rate = estimate(*count, *of);
    let telling = apart(asked, said);
    Pair {
        asked: named(asked),
        said: named(said),
        count: *count,
        of: *of,
        rate,
        shrunken: rate.value * 0.8 + 0.02,
        shrunken_low: rate.low * 0.8 + 0.02,
        shrunken_high: rate.high * 0.8 + 0.02,
        back: *back,
        either: wilson(count + back.0, of + back.1),
        direction: *direction,
        similarity: (count + back.0 >= 6).then_some(0.31),
        favourite: (back.1 > 0).then_some(1.4),
        neighbours: telling.is_some(),
        line_of_pull: telling.as_ref().filter(|_| said.starts_with("teres")).map(|_| Difference {
            aspect: "line of pull".to_owned(),
            first: "passes behind the axis of the shoulder joint, arm 11 mm".to_owned(),
            second: "passes in front of the axis of the shoulder joint, arm 8 mm".to_owned(),
        }),
        apart: telling,
    }
}

fn apart(asked: &str, said: &str) -> Option<Difference> {
    let (aspect, first, second) = match (asked, said) {
        ("teres minor", "teres major") => {
            ("action", "rotates the arm laterally", "rotates the arm medially")
        }
        ("infraspinatus", "supraspinatus") => {
            ("action", "rotates the arm laterally", "abducts the arm")
        }
        ("coracobrachialis", "biceps brachii") => {
            ("insertion", "the shaft of the humerus", "the radial tuberosity of the radius")
        }
        _ => return None,
    };
    let text = str::to_owned;
    Some(Difference { aspect: text(aspect), first: text(first), second: text(second) })
}

fn taught(pair: &Pair, at_stake: f64) -> Teach {
    let (asked, said) = (&pair.asked.name, &pair.said.name);
    Teach {
        headline: format!("{asked}, taken for {said}"),
        sentence: match &pair.apart {
            Some(Difference { first, second, .. }) => format!(
                "{} of {} said {said}: {asked} {first}, but {said} {second}.",
                pair.count, pair.of
            ),
            None => format!("{} of {} said {said}.", pair.count, pair.of),
        },
        apart: pair.apart.clone(),
        line_of_pull: pair.line_of_pull.clone(),
        at_stake,
        muscles: vec![pair.asked.clone(), pair.said.clone()],
    }
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

fn moves(name: &str, counts: (u32, u32, u32, u32), instead: &[(&str, u32)]) -> Predicted {
    let (right, near, silent, asked) = counts;
    Predicted {
        muscle: named(name).key,
        name: name.to_owned(),
        right,
        near,
        silent,
        asked,
        rate_right: estimate(right, asked),
        instead: instead
            .iter()
            .map(|(movement, count)| Instead { movement: (*movement).to_owned(), count: *count })
            .collect(),
    }
}

fn reliability(
    review: u128,
    persons: u32,
    rounds: u32,
    found: Option<(f64, f64)>,
    words: &str,
) -> Reliability {
    Reliability {
        review: id(review),
        word: WORDS[usize::try_from(review).unwrap_or_default() % WORDS.len()].to_owned(),
        persons,
        rounds,
        kr20: found.map(|(kr20, _)| kr20),
        standard_error: found.map(|(_, error)| error),
        words: words.to_owned(),
    }
}

fn unclear(asked: &str, typed: &str, why: AskedAgainWhy, count: u32) -> Unclear {
    let Named { key, name } = named(asked);
    Unclear { asked: key, asked_name: name, typed: typed.to_owned(), why, count }
}

fn reviews(sections: &[Option<&str>], weeks: i64, persons: u32) -> Vec<ReviewLine> {
    meetings(sections, weeks)
        .map(|(number, section, _, opened_s)| ReviewLine {
            review: id(number),
            word: WORDS[usize::try_from(number).unwrap_or_default() % WORDS.len()].to_owned(),
            section: section.map(ToOwned::to_owned),
            opened: date(opened_s),
            opened_s,
            list: "shoulder, introductory course".to_owned(),
            persons,
            rounds: 12,
            asked: 12 * persons,
            right: 8 * persons,
        })
        .collect()
}

fn progress(sections: &[Option<&str>], weeks: i64) -> Vec<Progress> {
    meetings(sections, weeks)
        .map(|(number, section, week, opened_s)| {
            let place = f64::from(u8::try_from(number % 7).unwrap_or_default());
            let ability = -0.6
                + 0.3 * f64::from(i32::try_from(week).unwrap_or_default()).sqrt()
                + place / 20.0;
            Progress {
                section: section.map(ToOwned::to_owned),
                review: id(number),
                opened_s,
                opened: date(opened_s),
                persons: 24,
                ability,
                low: ability - 0.35,
                high: ability + 0.35,
                as_share: 1.0 / (1.0 + (-ability).exp()),
            }
        })
        .collect()
}

/// Number, section, week and time of every review, in order of time.
fn meetings<'a>(
    sections: &'a [Option<&'a str>],
    weeks: i64,
) -> impl Iterator<Item = (u128, Option<&'a str>, i64, i64)> {
    (0..weeks).flat_map(move |week| {
        sections.iter().zip(0i64..).map(move |(section, place)| {
            let every = i64::try_from(sections.len()).unwrap_or(1);
            let number = u128::try_from(week * every + place + 1).unwrap_or_default();
            (number, *section, week, TERM + week * WEEK + place * WEEK / (every + 1))
        })
    })
}

fn date(seconds: i64) -> String {
    let time = jiff::Timestamp::from_second(seconds).unwrap_or_default();
    time.strftime("%Y-%m-%d %H:%M").to_string()
}

const WORDS: [&str; 5] =
    ["radius-talus", "clavicle-humerus", "sternum-ulna", "patella-atlas", "scaphoid-ilium"];

fn id(number: u128) -> ReviewId {
    ReviewId(uuid::Uuid::from_u128(number))
}

fn named(name: &str) -> Named {
    Named { key: MuscleKey::new(name.replace(' ', "-")), name: name.to_owned() }
}

/// # Panics
///
/// If more were counted than there were.
fn estimate(count: u32, of: u32) -> Estimate {
    wilson(count, of).expect("a part of some")
}

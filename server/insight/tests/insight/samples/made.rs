//! Parts of analyses, from a few counts.

use myonym_content::{Difference, MuscleKey};
use myonym_engine::AskedAgainWhy;
use myonym_insight::analysis::{
    Analysis, Cell, Chosen, ConfusionMap, Direction, Distractor, Flag, FlagKind, Item, Named, Pair,
    Progress, Reliability, ReviewLine, Teach,
};
use myonym_insight::{Estimate, Instead, Predicted, Unclear, wilson};
use myonym_wire::ReviewId;

use super::empty;

/// A week in seconds.
const WEEK: i64 = 7 * 24 * 3_600;
/// 2 March 2026, 09:15 UTC.
const TERM: i64 = 1_772_442_900;

/// What an item is made of.
#[derive(Debug, Clone, Copy)]
pub(super) struct Counts<'a> {
    pub(super) name: &'a str,
    pub(super) asked: u32,
    pub(super) right: u32,
    pub(super) rest: Option<f64>,
    pub(super) silent: (u32, u32),
    pub(super) flags: &'a [(FlagKind, &'a str)],
    pub(super) forms: &'a [(&'a str, u32)],
}

pub(super) fn counts(name: &str, asked: u32) -> Counts<'_> {
    Counts { name, asked, right: 0, rest: Some(0.3), silent: (1, 0), flags: &[], forms: &[] }
}

pub(super) type PairCounts<'a> = (&'a str, &'a str, u32, u32, (u32, u32), Direction);

/// Items, pairs and map from counts, as far as the counts go.
pub(super) fn from_counts(items: &[Counts<'_>], pairs: &[PairCounts<'_>]) -> Analysis {
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

pub(super) fn item(counts: &Counts<'_>, pairs: &[Pair]) -> Item {
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
        near: pairs.iter().filter(|pair| pair.asked.name == name).map(|pair| pair.count).sum(),
        difficulty: estimate(right, asked),
        rest_correlation: rest,
        upper_lower: rest.filter(|_| asked >= 40).map(|rest| rest * 1.2),
        pictured: 0,
        pictured_right: 0,
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

pub(super) fn pair((asked, said, count, of, back, direction): &PairCounts<'_>) -> Pair {
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
        stands_out: count + back.0 >= 6,
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

pub(super) fn apart(asked: &str, said: &str) -> Option<Difference> {
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

pub(super) fn taught(pair: &Pair, at_stake: f64) -> Teach {
    let (asked, said) = (&pair.asked.name, &pair.said.name);
    Teach {
        headline: format!("{asked}, taken for {said}"),
        sentence: format!(
            "Teach {asked} beside {said}: {} of {} answers named {said} when {asked} was asked.",
            pair.count, pair.of
        ),
        apart: pair.apart.clone(),
        line_of_pull: pair.line_of_pull.clone(),
        at_stake,
        muscles: vec![pair.asked.clone(), pair.said.clone()],
    }
}

pub(super) fn moves(
    name: &str,
    counts: (u32, u32, u32, u32),
    instead: &[(&str, u32)],
) -> Predicted {
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

pub(super) fn chosen(asked: &str, other: &str, (right, wrong, silent): (u32, u32, u32)) -> Chosen {
    let shown = right + wrong + silent;
    let rate = estimate(right, shown);
    Chosen { asked: named(asked), other: named(other), shown, right, wrong, silent, rate }
}

pub(super) fn reliability(
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

pub(super) fn unclear(asked: &str, typed: &str, why: AskedAgainWhy, count: u32) -> Unclear {
    let Named { key, name } = named(asked);
    Unclear { asked: key, asked_name: name, typed: typed.to_owned(), why, count }
}

pub(super) fn reviews(sections: &[Option<&str>], weeks: i64, persons: u32) -> Vec<ReviewLine> {
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

pub(super) fn progress(sections: &[Option<&str>], weeks: i64) -> Vec<Progress> {
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
pub(super) fn meetings<'a>(
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

pub(super) fn date(seconds: i64) -> String {
    let time = jiff::Timestamp::from_second(seconds).unwrap_or_default();
    time.strftime("%Y-%m-%d %H:%M").to_string()
}

const WORDS: [&str; 5] =
    ["radius-talus", "clavicle-humerus", "sternum-ulna", "patella-atlas", "scaphoid-ilium"];

pub(super) fn id(number: u128) -> ReviewId {
    ReviewId(uuid::Uuid::from_u128(number))
}

pub(super) fn named(name: &str) -> Named {
    Named { key: MuscleKey::new(name.replace(' ', "-")), name: name.to_owned() }
}

/// # Panics
///
/// If more were counted than there were.
pub(super) fn estimate(count: u32, of: u32) -> Estimate {
    wilson(count, of).expect("a part of some")
}

//! What every page says in the same words.

use myonym_content::Difference;
use myonym_engine::AskedAgainWhy;

use super::super::text::{count, number_of};
use crate::analysis::{
    Analysis, AreaKind, Aspect, Basis, Direction, FlagKind, Item, Pair, Progress, Teach,
};
use crate::apart;

/// So many things to teach again stand on the first screen.
pub(super) const TEACH_FIRST: usize = 3;

/// Below so many students the shares of the best and the weakest are left out. Our own choice:
/// with 40, 27 % are 11 students.
pub(super) const ENOUGH_FOR_THIRDS: u32 = 40;

/// What to teach first.
pub(super) fn headline(found: &Analysis) -> String {
    match found.teach.first() {
        Some(first) => format!("Teach again first: {}", first.headline),
        None if is_empty(found) => "Nothing to report yet".to_owned(),
        None if all_right(found) => "Nothing to teach again: every answer was right".to_owned(),
        None => "Nothing stands out to teach again".to_owned(),
    }
}

/// What to teach after that: `Then: a. Then: b.`
pub(super) fn afterwards(found: &Analysis) -> Option<String> {
    let next = found.teach.iter().take(TEACH_FIRST).skip(1);
    let next: Vec<String> = next.map(|teach| format!("Then {}.", teach.headline)).collect();
    (!next.is_empty()).then(|| next.join(" "))
}

/// What there is to gain by it; `None` if nothing, as far as is known.
pub(super) fn at_stake(teach: &Teach) -> Option<String> {
    let stake = format!("{:.0}", teach.at_stake);
    match stake.as_str() {
        "1" => Some("At stake: about 1 wrong answer when it is asked again.".to_owned()),
        _ if teach.at_stake >= 0.5 => {
            Some(format!("At stake: about {stake} wrong answers when it is asked again."))
        }
        _ => None,
    }
}

/// Whether nobody was asked anything: no name, no movement, no choice between two.
pub(super) fn is_empty(found: &Analysis) -> bool {
    let Basis { answers, silent, .. } = found.basis;
    answers == 0 && silent == 0 && found.movements.is_empty() && found.contrasts.is_empty()
}

fn all_right(found: &Analysis) -> bool {
    found.items.iter().all(|item| item.right == item.asked)
        && found.movements.iter().all(|moves| moves.right == moves.asked)
        && found.contrasts.iter().all(|chosen| chosen.right == chosen.shown)
}

/// What to do when there is nothing yet.
pub(super) const NOTHING_YET: &str = "No round has been revealed to a class yet. Open a review, \
    let the class answer a round and reveal it; then ask for the report again.";

/// How much all this rests on.
pub(super) fn basis(found: &Analysis) -> String {
    let basis = &found.basis;
    let only = match basis.filter.as_slice() {
        [] => String::new(),
        filter => format!(" Only: {}.", filter.join(", ")),
    };
    let reviews = number_of(count(basis.reviews.len()), "review");
    let others = others(found);
    if found.items.is_empty() && !others.is_empty() {
        return format!("Rests on {} in {reviews}.{only}", others.join(" and "));
    }
    let apart = match others.as_slice() {
        [] => String::new(),
        others => format!(" Counted apart: {}.", others.join(", ")),
    };
    format!(
        "Rests on {} and {} of {} in {} of {reviews}.{apart}{only}",
        number_of(basis.answers, "answer"),
        number_of(basis.silent, "silence"),
        number_of(basis.persons, "student"),
        number_of(basis.rounds, "round"),
    )
}

/// What was asked other than for a name.
fn others(found: &Analysis) -> Vec<String> {
    let movements: u32 = found.movements.iter().map(|moves| moves.asked - moves.silent).sum();
    let choices: u32 = found.contrasts.iter().map(|chosen| chosen.right + chosen.wrong).sum();
    let told = [
        (!found.movements.is_empty())
            .then(|| format!("{} where a movement was asked for", number_of(movements, "answer"))),
        (!found.contrasts.is_empty())
            .then(|| format!("{} between two muscles", number_of(choices, "choice"))),
    ];
    told.into_iter().flatten().collect()
}

/// What to beware of, in words.
pub(super) fn notes(found: &Analysis) -> Vec<String> {
    let Basis { persons, ref reviews, .. } = found.basis;
    let mut notes = Vec::new();
    // Who answered movements or choices alone is not counted among the students.
    if found.items.is_empty() {
        return notes;
    }
    if persons < TOO_FEW {
        notes.push(format!(
            "{} too few to say what a class knows. Take this for what these few answered.",
            if persons == 1 {
                "1 student is".to_owned()
            } else {
                format!("{persons} students are")
            }
        ));
    } else if reviews.len() == 1 && persons < SMALL {
        notes.push(format!(
            "{persons} students in one review: the intervals are wide, and the order of what \
             stands close together may be chance."
        ));
    }
    notes
}

/// A class with fewer students than this is too small for its shares to say much.
///
/// Our own choice: of 4 students all must miss before the interval of the share right lies below
/// one half (0 of 4: 0 to 49 %; 1 of 4: 5 to 70 %).
const TOO_FEW: u32 = 5;

/// Our own choice: with fewer the interval of a share of one half is wider than 35 to 65 %.
const SMALL: u32 = 40;

/// Which way round a pair is confused.
pub(super) fn direction(direction: Direction) -> &'static str {
    match direction {
        Direction::ThisWay { .. } => "more this way round",
        Direction::OtherWay { .. } => "more the other way round",
        Direction::NotShown { .. } => "no direction shown",
        Direction::TooFew => "too few to tell",
    }
}

/// What to make of a pair: its direction, and whether it may be mere guessing.
pub(super) fn pair(pair: &Pair) -> String {
    let guessing = if pair.stands_out { "" } else { "; may be guessing" };
    format!("{}{guessing}", direction(pair.direction))
}

/// The probability behind a direction, as it is and after correction for many tests.
pub(super) fn chances(direction: Direction) -> Option<(f64, f64)> {
    match direction {
        Direction::ThisWay { p, q }
        | Direction::OtherWay { p, q }
        | Direction::NotShown { p, q } => Some((p, q)),
        Direction::TooFew => None,
    }
}

/// A flag in two or three words.
pub(super) fn flag(kind: FlagKind) -> &'static str {
    match kind {
        FlagKind::KeyedWrong => "answer to be checked",
        FlagKind::Ambiguous => "two answers fit",
        FlagKind::NotDiscriminating => "tells nobody apart",
        FlagKind::TooEasy => "too easy",
        FlagKind::TooHard => "too hard",
        FlagKind::RunsOut => "time runs out",
        FlagKind::Spelling => "spelling",
    }
}

/// All flags of a muscle.
pub(super) fn flags(item: &Item) -> String {
    let flags: Vec<&str> = item.flags.iter().map(|found| flag(found.kind)).collect();
    flags.join(", ")
}

/// Why a typed name was no answer.
pub(super) fn unclear(why: AskedAgainWhy) -> &'static str {
    match why {
        AskedAgainWhy::WhichOne => "fits several",
        AskedAgainWhy::UnknownName => "fits none",
    }
}

/// A kind of clue as instructors call it.
pub(super) fn aspect(aspect: Aspect) -> &'static str {
    match aspect {
        Aspect::Action => "action",
        Aspect::Origin => "origin",
        Aspect::Insertion => "insertion",
        Aspect::Innervation => "innervation",
        Aspect::Place => "place",
    }
}

/// The kinds of area with their titles, in the order to read them.
pub(super) const AREAS: [(AreaKind, &str); 3] = [
    (AreaKind::Aspect, "Clues heeded, by kind"),
    (AreaKind::Group, "Muscles named, by compartment or group"),
    (AreaKind::Region, "Muscles named, by region"),
];

/// How to take a share of choices between two.
pub(super) const OF_TWO: &str =
    "By chance alone half are right. These choices are in no other number.";

/// What separates the two muscles of a pair, as sentences without full stops.
pub(super) fn differences(pair: &Pair) -> Vec<String> {
    let (asked, said) = (&pair.asked.name, &pair.said.name);
    let taught = pair.apart.as_ref().map(|apart| apart::sentence(asked, said, apart));
    let pulls = pair.line_of_pull.as_ref().map(|Difference { aspect, first, second }| {
        format!("{aspect}: {asked} {first}, but {said} {second}")
    });
    taught.into_iter().chain(pulls).collect()
}

/// The sections of progress in the order of their first review, each with its reviews in order
/// of time.
pub(super) fn by_section(progress: &[Progress]) -> Vec<(&str, Vec<&Progress>)> {
    let mut points: Vec<&Progress> = progress.iter().collect();
    points.sort_by_key(|point| point.opened_s);
    let mut sections: Vec<(&str, Vec<&Progress>)> = Vec::new();
    for point in points {
        let name = section(point.section.as_deref());
        match sections.iter_mut().find(|(known, _)| *known == name) {
            Some((_, of)) => of.push(point),
            None => sections.push((name, vec![point])),
        }
    }
    sections
}

/// A section, or that there is none.
pub(super) fn section(section: Option<&str>) -> &str {
    section.unwrap_or("without a section")
}

/// How to read a page, in plain words: a term and what it is.
pub(super) const HOW_TO_READ: [(&str, &str); 10] = [
    (
        "At stake",
        "how many wrong answers are to be expected if it is asked again of as many. What is to be \
         taught first has most at stake.",
    ),
    (
        "Share and interval",
        "of muscles, the share of all students asked, the silent among them, not the absent; of \
         pairs, the share of the answers given. 38 % (21 to 57) reads: 38 of 100 did so, and with \
         another class like this one it might have been 21 to 57.",
    ),
    (
        "Expected share",
        "the share drawn towards that of like pairs or clues. A single mishap counts little, a \
         habit of the class counts in full.",
    ),
    (
        "Direction",
        "whether one muscle is taken for the other more than the other way round, beyond chance. \
         May be guessing: no more than the favourite guesses of the class explain.",
    ),
    (
        "Goes with the rest",
        "a correlation from -1 to 1. High: those who know the other muscles know this one. Near 0 \
         or below: look at the question before you blame the class.",
    ),
    (
        "Best less weakest",
        "the share right among the best 27 % of students less that among the weakest 27 %.",
    ),
    (
        "Logit",
        "a scale on which muscles and sections of several reviews can be compared: 0 is the mean, \
         1 up or down turns even odds into about 3 to 1.",
    ),
    (
        "KR-20",
        "from 0 to 1: how far the marks of a review would come out alike with other muscles of the \
         same kind. Below 0.5 do not tell students apart by them.",
    ),
    (
        "Near-miss",
        "a wrong answer near enough to earn some credit. It is counted as any other wrong answer.",
    ),
    ("Cue overlooked", "an answer of which a clue on the screen is untrue."),
];

/// What each number follows from, and where that is published.
pub(super) const SOURCES: [(&str, &str, &str); 9] = [
    (
        "interval of a share",
        "(p + z²/2n ± z √(pq/n + z²/4n²)) / (1 + z²/n), z = 1.96",
        "Wilson 1927, J. Am. Stat. Assoc. 22:209-212",
    ),
    (
        "expected share",
        "(α + x) / (α + β + n), α and β fitted to all like pairs or clues",
        "Efron & Morris 1975, J. Am. Stat. Assoc. 70:311-319",
    ),
    (
        "direction of a pair",
        "exact test of n(ab) given n(ab) + n(ba), expecting N(a) / (N(a) + N(b))",
        "Przyborowski & Wilenski 1940, Biometrika 31:313-323",
    ),
    (
        "likeness and favourite guess",
        "P(b given a) = η(ab) β(b) / Σ η(ak) β(k), η symmetric",
        "Luce 1963, Handbook of Mathematical Psychology 1:103-189",
    ),
    (
        "correction for many tests",
        "false discovery rate: largest i with p(i) ≤ i q / m",
        "Benjamini & Hochberg 1995, J. R. Stat. Soc. B 57:289-300",
    ),
    (
        "goes with the rest",
        "correlation of right or wrong here with the share right elsewhere",
        "Henrysson 1963, Psychometrika 28:211-218",
    ),
    (
        "best less weakest",
        "share right in the upper 27 % less that in the lower 27 %",
        "Kelley 1939, J. Educ. Psychol. 30:17-24",
    ),
    (
        "KR-20 and standard error",
        "k/(k-1) (1 - Σpq / s²); s √(1 - KR-20)",
        "Kuder & Richardson 1937, Psychometrika 2:151-160",
    ),
    (
        "logit",
        "P(right) = 1 / (1 + exp(-(ability - difficulty)))",
        "Rasch 1960, Probabilistic Models for Some Intelligence and Attainment Tests",
    ),
];

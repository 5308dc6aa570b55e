//! What to teach again, in plain sentences with the counts that they rest on.

use std::collections::BTreeSet;

use myonym_content::Difference;

use super::found::{Chosen, CueFound, Direction, Item, Named, Pair, Teach};
use crate::predicted::Predicted;

/// Things to teach that are told.
const MOST: usize = 10;
/// A muscle counts as missed as a whole where at most this share had it right for certain.
const MISSED: f64 = 0.6;

/// All that there may be to teach again.
pub(super) struct Found<'f> {
    pub(super) pairs: &'f [Pair],
    pub(super) items: &'f [Item],
    pub(super) cues: &'f [CueFound],
    pub(super) contrasts: &'f [Chosen],
    pub(super) movements: &'f [Predicted],
}

/// The most urgent first: by the wrong answers to be expected when the same is asked again of as
/// many. A pair is told once, in its commoner direction. Pairs that do not stand out beyond chance,
/// and those of a single answer, are left to the tables. Choices and movements are told where names
/// give nothing to teach, as where a review asked for no name.
pub(super) fn teach(found: &Found<'_>) -> Vec<Teach> {
    let Found { pairs, items, cues, contrasts, movements } = found;
    let mut told: BTreeSet<(String, String)> = BTreeSet::new();
    let mut things: Vec<Teach> = Vec::new();
    let mut confused: Vec<&Pair> =
        pairs.iter().filter(|pair| pair.stands_out && pair.count > 1).collect();
    confused.sort_by(|a, b| expected(b).total_cmp(&expected(a)));
    for pair in confused {
        let (asked, said) = (&pair.asked.name, &pair.said.name);
        if told.contains(&(said.clone(), asked.clone())) {
            continue;
        }
        told.insert((asked.clone(), said.clone()));
        things.push(of_pair(pair));
    }
    // A muscle that is told in a pair is not told again by itself.
    let paired: BTreeSet<_> = things.iter().filter_map(|thing| thing.muscles.first()).collect();
    let alone = items.iter().filter(|item| item.difficulty.high < MISSED);
    let alone: Vec<Teach> =
        alone.filter(|item| !paired.contains(&item.muscle)).filter_map(of_item).collect();
    things.extend(alone);
    things.sort_by(|a, b| {
        b.at_stake.total_cmp(&a.at_stake).then_with(|| a.headline.cmp(&b.headline))
    });
    things.truncate(MOST);
    if things.is_empty()
        && let Some(pair) = pairs.iter().find(|pair| pair.count > 1)
    {
        let mut maybe = of_pair(pair);
        maybe.sentence.push_str(" With so few wrong answers this may be chance.");
        things.push(maybe);
    }
    if things.is_empty() {
        things.extend(cues.iter().filter(|cue| cue.overlooked > 1).take(1).map(of_cue));
    }
    if things.is_empty() {
        things.extend(contrasts.iter().find(|chosen| chosen.wrong > 0).map(of_choice));
        things.extend(movements.iter().find(|moves| moves.right < moves.asked).map(of_movement));
    }
    things
}

fn expected(pair: &Pair) -> f64 {
    pair.shrunken * f64::from(pair.of)
}

fn of_pair(pair: &Pair) -> Teach {
    let Pair { asked, said, count, of, .. } = pair;
    let (back, back_of) = pair.back;
    let way = match pair.direction {
        Direction::ThisWay { .. } => {
            format!("; the other way round {back} of {back_of}, which is fewer than chance allows")
        }
        Direction::OtherWay { .. } => format!("; the other way round even {back} of {back_of}"),
        Direction::NotShown { .. } | Direction::TooFew if back > 0 => {
            format!("; the other way round {back} of {back_of}")
        }
        Direction::NotShown { .. } | Direction::TooFew => String::new(),
    };
    let feature = pair.apart.as_ref().map(|apart| apart_words(apart, &asked.name, &said.name));
    let feature =
        feature.map(|words| format!(" What separates them: {words}.")).unwrap_or_default();
    Teach {
        headline: format!("{}, taken for {}", asked.name, said.name),
        sentence: format!(
            "Teach {} beside {}: {count} of {of} answers named {} when {} was asked{way}.{feature}",
            asked.name, said.name, said.name, asked.name
        ),
        apart: pair.apart.clone(),
        line_of_pull: pair.line_of_pull.clone(),
        at_stake: expected(pair),
        muscles: vec![asked.clone(), said.clone()],
    }
}

/// `teres minor rotates the arm laterally, teres major rotates the arm medially`; for attachments
/// `the insertion of teres minor is ..., that of teres major ...`.
fn apart_words(apart: &Difference, asked: &str, said: &str) -> String {
    let Difference { aspect, first, second } = apart;
    match aspect.as_str() {
        "action" | "line of pull" => format!("{asked} {first}, {said} {second}"),
        _ => format!("the {aspect} of {asked} is {first}, that of {said} {second}"),
    }
}

fn of_item(item: &Item) -> Option<Teach> {
    let Item { muscle, right, asked, .. } = item;
    let missed = f64::from(asked - right);
    (missed >= 1.0).then(|| {
        let silent = item.omitted + item.timed_out;
        let why = match item.instead.iter().find(|other| other.said != *muscle) {
            Some(other) if silent < asked - right => {
                format!("{} of the others said {}", other.count, other.said.name)
            }
            _ => format!("{silent} gave no answer"),
        };
        Teach {
            headline: format!("{}, which few know", muscle.name),
            sentence: format!(
                "Teach {} from the start: {right} of {asked} had it right; {why}.",
                muscle.name
            ),
            apart: None,
            line_of_pull: None,
            at_stake: missed,
            muscles: vec![muscle.clone()],
        }
    })
}

fn of_cue(cue: &CueFound) -> Teach {
    let CueFound { about, overlooked, shown, .. } = cue;
    Teach {
        headline: about.clone(),
        sentence: format!(
            "Point out {about}: {overlooked} of {shown} answers went against a clue that named it."
        ),
        apart: None,
        line_of_pull: None,
        at_stake: f64::from(*overlooked),
        muscles: cue.muscles.clone(),
    }
}

fn of_choice(chosen: &Chosen) -> Teach {
    let Chosen { asked, other, shown, wrong, .. } = chosen;
    Teach {
        headline: format!("{} beside {}", asked.name, other.name),
        sentence: format!(
            "Teach {} beside {}: {wrong} of {shown} chose {} when {} was described.",
            asked.name, other.name, other.name, asked.name
        ),
        apart: None,
        line_of_pull: None,
        at_stake: f64::from(*wrong),
        muscles: vec![asked.clone(), other.clone()],
    }
}

fn of_movement(moves: &Predicted) -> Teach {
    let Predicted { muscle, name, right, asked, instead, .. } = moves;
    let said = instead.first().map(|said| format!("; {} said {}", said.count, said.movement));
    Teach {
        headline: format!("what {name} does"),
        sentence: format!(
            "Teach what {name} does: {right} of {asked} had its movement right{}.",
            said.unwrap_or_default()
        ),
        apart: None,
        line_of_pull: None,
        at_stake: f64::from(asked - right),
        muscles: vec![Named { key: muscle.clone(), name: name.clone() }],
    }
}

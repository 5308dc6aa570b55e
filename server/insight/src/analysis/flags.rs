//! What is odd about an item, in words, and what to do about it.
//!
//! The thresholds are rules of thumb of item writers (common practice, no source). With few
//! students only what is glaring is said.

use super::found::{Flag, FlagKind, Item};

/// Students below which nothing is said of an item.
const LEAST: u32 = 10;
/// Students below which a correlation is noise.
const LEAST_FOR_CORRELATION: u32 = 40;

/// All that is odd, the gravest first.
pub(super) fn flags(item: &Item) -> Vec<Flag> {
    if item.asked < LEAST {
        return Vec::new();
    }
    let found = [key(item), discrimination(item), ease(item), time(item), spelling(item)];
    found.into_iter().flatten().collect()
}

/// Whether another answer looks as good as the keyed one.
fn key(item: &Item) -> Option<Flag> {
    let drawn = item.instead.iter().find(|other| other.said != item.muscle)?;
    let (name, other) = (&item.muscle.name, &drawn.said.name);
    let share = f64::from(drawn.count) / f64::from(item.asked);
    let strong = drawn.correlation.is_some_and(|found| found > 0.1);
    let weak = item.rest_correlation.is_some_and(|found| found < 0.0);
    if strong && weak && drawn.count > item.right {
        let words = format!(
            "Students who know the other muscles answer {other} here. Check that the clues are true of \
             {name} and not of {other}."
        );
        return Some(Flag { kind: FlagKind::KeyedWrong, words });
    }
    let even = f64::from(drawn.count) >= 0.5 * f64::from(item.right);
    let level = drawn.correlation.is_some_and(|found| found > -0.05);
    (share >= 0.25 && even && level && item.asked >= LEAST_FOR_CORRELATION).then(|| Flag {
        kind: FlagKind::Ambiguous,
        words: format!(
            "{} of {} say {other}, those who know the other muscles as well. See whether an early \
             clue fits both, and add what separates them.",
            drawn.count, item.asked
        ),
    })
}

fn discrimination(item: &Item) -> Option<Flag> {
    let found = item.rest_correlation?;
    (found < 0.1 && item.asked >= LEAST_FOR_CORRELATION && item.difficulty.value < 0.95).then(
        || Flag {
            kind: FlagKind::NotDiscriminating,
            words: format!(
                "Those who know the other muscles do hardly better here than the rest (correlation \
                 {found:.2}). It may be guessed or beside the course: look at its clues."
            ),
        },
    )
}

fn ease(item: &Item) -> Option<Flag> {
    let Item { muscle, right, asked, .. } = item;
    if item.difficulty.low > 0.9 {
        let words =
            format!("{right} of {asked} have {} right: leave it out for a while.", muscle.name);
        return Some(Flag { kind: FlagKind::TooEasy, words });
    }
    (item.difficulty.high < 0.3).then(|| Flag {
        kind: FlagKind::TooHard,
        words: format!(
            "{right} of {asked} have {} right: teach it before asking again.",
            muscle.name
        ),
    })
}

fn time(item: &Item) -> Option<Flag> {
    let share = f64::from(item.timed_out) / f64::from(item.asked);
    (share >= 0.25).then(|| Flag {
        kind: FlagKind::RunsOut,
        words: format!(
            "For {} of {} the time ran out: give more of it, or tell the telling clue sooner.",
            item.timed_out, item.asked
        ),
    })
}

fn spelling(item: &Item) -> Option<Flag> {
    let (share, (form, count)) = (item.misspelt?, item.forms.first()?);
    (share >= 0.25 && item.right >= 3).then(|| Flag {
        kind: FlagKind::Spelling,
        words: format!(
            "Known but misspelt by {:.0} %, most often `{form}` ({count}): write the name on the board.",
            share * 100.0
        ),
    })
}

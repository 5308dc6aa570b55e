//! Muscles as items of a test: how hard, how telling, what was said instead, and what is odd.

use std::collections::BTreeMap;

use myonym_stats::items::{self as classical};
use myonym_stats::options::{self, Chosen};

use super::flags::flags;
use super::found::{Distractor, Item};
use super::pairs::Facts;
use super::responses::{Sheet, rest};
use crate::estimate::{median, wilson};
use crate::observe::{MuscleId, Observations, Outcome, Row};

/// Below this many students the upper and lower group are a handful each, and D is noise.
const LEAST_FOR_UPPER_LOWER: u32 = 40;
/// Wrong answers told of each item.
const DISTRACTORS: usize = 5;
/// Misspelt forms told of each item.
const FORMS: usize = 5;

/// All muscles asked, hardest first by the upper end of the interval of the share right. They have no
/// place on the common scale yet.
pub(super) fn items(table: &Observations, sheet: &Sheet, facts: &impl Facts) -> Vec<Item> {
    let chosen = chosen(table, sheet);
    let classical = classical::analyse(&sheet.responses);
    let classical: BTreeMap<MuscleId, classical::Item> =
        sheet.muscles.iter().copied().zip(classical).collect();
    let rows = by_muscle(table, table.rows().iter().map(|row| (row.asked, row)));
    let item = |((muscle, rows), chosen): ((MuscleId, Vec<&Row>), Choices)| {
        let mut item =
            Item { instead: distractors(&chosen, facts), ..counted(table, muscle, &rows, facts)? };
        if let Some(found) = classical.get(&muscle) {
            item.rest_correlation = found.corrected.value();
            let enough = item.asked >= LEAST_FOR_UPPER_LOWER;
            item.upper_lower = found.upper_lower.value().filter(|_| enough);
        }
        item.flags = flags(&item);
        Some(item)
    };
    let mut items: Vec<Item> = table.muscles().zip(rows).zip(chosen).filter_map(item).collect();
    items.sort_by(|a, b| {
        (a.difficulty.high.total_cmp(&b.difficulty.high))
            .then_with(|| a.muscle.name.cmp(&b.muscle.name))
    });
    items
}

/// What is counted of one muscle.
fn counted(
    table: &Observations,
    muscle: MuscleId,
    rows: &[&Row],
    facts: &impl Facts,
) -> Option<Item> {
    let (asked, right) = (count(rows, |_| true), count(rows, Row::right));
    let pictured = |row: &Row| table.round(row).is_some_and(|round| round.picture);
    // Rows stand round after round.
    let rounds = rows.chunk_by(|row, next| row.round == next.round).count();
    let times: Vec<u64> =
        rows.iter().filter(|row| row.right()).map(|row| u64::from(row.elapsed_ms)).collect();
    let clues: Vec<u64> = (rows.iter())
        .filter(|row| row.right() && table.round(row).is_some_and(|round| !round.picture))
        .map(|row| u64::from(row.clues))
        .collect();
    let other = |row: &Row| matches!(row.outcome, Outcome::Near(_) | Outcome::Said(_));
    let misspelt = count(rows, |row| row.misspelt && !other(row));
    let meant = misspelt + count(rows, |row| row.right() && !row.misspelt);
    Some(Item {
        muscle: facts.named(muscle),
        rounds: u32::try_from(rounds).unwrap_or(u32::MAX),
        asked,
        right,
        near: count(rows, |row| matches!(row.outcome, Outcome::Near(_))),
        difficulty: wilson(right, asked)?,
        rest_correlation: None,
        upper_lower: None,
        pictured: count(rows, pictured),
        pictured_right: count(rows, |row| row.right() && pictured(row)),
        omitted: count(rows, |row| row.outcome == Outcome::Omitted),
        timed_out: count(rows, |row| row.outcome == Outcome::TimedOut),
        median_ms: median(&times),
        clues_needed: median(&clues).and_then(|clues| u8::try_from(clues).ok()),
        misspelt: (meant > 0).then(|| f64::from(misspelt) / f64::from(meant)),
        forms: (table.misspelt(muscle).into_iter().take(FORMS))
            .map(|(form, count)| (form.to_owned(), count))
            .collect(),
        instead: Vec::new(),
        logit: None,
        flags: Vec::new(),
    })
}

fn count(rows: &[&Row], test: impl Fn(&Row) -> bool) -> u32 {
    u32::try_from(rows.iter().filter(|row| test(row)).count()).unwrap_or(u32::MAX)
}

/// Things by the muscle that each is of, in the order of the table's muscles.
fn by_muscle<T>(table: &Observations, things: impl Iterator<Item = (MuscleId, T)>) -> Vec<Vec<T>> {
    let mut of_each: Vec<Vec<T>> = table.muscles().map(|_| Vec::new()).collect();
    for (muscle, thing) in things {
        if let Some(of_one) = of_each.get_mut(usize::from(muscle.0)) {
            of_one.push(thing);
        }
    }
    of_each
}

type Choices = BTreeMap<MuscleId, Chosen>;

/// Who chose which answer to each muscle, with how each did elsewhere.
fn chosen(table: &Observations, sheet: &Sheet) -> Vec<Choices> {
    let totals = sheet.totals();
    // The totals hold the first answer alone of a muscle that was asked twice in one review.
    let answers = sheet.firsts(table.rows()).filter_map(|(place, row)| {
        let said = match row.outcome {
            Outcome::Right => row.asked,
            Outcome::Near(said) | Outcome::Said(said) => said,
            Outcome::NoName | Outcome::TimedOut | Outcome::Omitted => return None,
        };
        Some((row.asked, (said, place)))
    });
    let of_muscle = |(asked, answers): (MuscleId, Vec<(MuscleId, u32)>)| {
        let with_rest = |(said, place): (MuscleId, u32)| {
            let totals = totals.get(usize::try_from(place).ok()?)?;
            Some((said, rest(*totals, said == asked)?))
        };
        options::analyse(&answers.into_iter().filter_map(with_rest).collect::<Vec<_>>())
    };
    table.muscles().zip(by_muscle(table, answers)).map(of_muscle).collect()
}

fn distractors(chosen: &Choices, facts: &impl Facts) -> Vec<Distractor> {
    let mut wrong: Vec<Distractor> = chosen
        .iter()
        .map(|(said, found)| Distractor {
            said: facts.named(*said),
            count: u32::try_from(found.times).unwrap_or(u32::MAX),
            rest_mean: Some(found.mean_rest),
            correlation: found.discrimination.value(),
        })
        .collect();
    wrong.sort_by(|a, b| b.count.cmp(&a.count).then_with(|| a.said.name.cmp(&b.said.name)));
    wrong.truncate(DISTRACTORS + 1);
    wrong
}

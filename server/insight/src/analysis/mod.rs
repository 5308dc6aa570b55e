//! From observations to what to teach tomorrow.

mod ability;
mod abreast;
mod areas;
mod contrasts;
mod counts;
mod cues;
mod facts;
mod flags;
mod found;
mod items;
mod likeness;
mod map;
mod pairs;
mod reliability;
mod responses;
mod teach;

use myonym_content::Catalogue;
use myonym_content::cue::Cues;

pub use found::{
    Analysis, Area, AreaKind, Aspect, Basis, Cell, Chosen, ConfusionMap, CueFound, Direction,
    Distractor, FORM, Flag, FlagKind, Item, Named, Pair, Progress, Reliability, ReviewLine, Teach,
};

use crate::observe::{Observations, Outcome, Row};
use crate::predicted::Predicted;
use ability::Scale;
use abreast::abreast;
use counts::Counts;
use facts::CatalogueFacts;
use responses::Sheet;
use teach::Found;

/// What a host knows of a review beside its events.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReviewWords {
    /// Its join word.
    pub word: String,
    /// Date and time of its opening, as text for people.
    pub opened: String,
    /// Name of its muscle list.
    pub list: String,
}

/// Analyses a table. `words` has an entry for each of its reviews; `movements` are the rounds that
/// asked for a movement, and `filter` says in words what the table was restricted to. Typed names
/// that were no answer are not in a table: who has counted them puts them in
/// ([`Tally::unclear_of_several`](crate::Tally::unclear_of_several)).
pub fn analyse(
    catalogue: &Catalogue,
    table: &Observations,
    words: &[ReviewWords],
    movements: Vec<Predicted>,
    filter: Vec<String>,
) -> Analysis {
    let (sheet, facts) =
        abreast(|| Sheet::of(table.rows()), || CatalogueFacts::new(catalogue, table));
    let of_review = |place: u32| usize::try_from(place).ok().and_then(|at| words.get(at));
    let word = |place| of_review(place).map(|known| known.word.clone()).unwrap_or_default();
    let opened = |place| of_review(place).map(|known| known.opened.clone()).unwrap_or_default();
    // What is told on one side costs about as much as what is told on the other.
    let on_a_scale = || {
        let scale = Scale::fit(&sheet);
        let reliability = reliability::of_reviews(table, word);
        let (cues, mut areas) = cues::cues(table, &mut Cues::new(catalogue), &facts);
        areas.extend(areas::areas(table, &catalogue.vocabulary, &facts));
        (scale, reliability, cues, areas)
    };
    let by_counting = || {
        let counts = Counts::of(table);
        let pairs = pairs::pairs(table, &counts, &facts);
        let map = map::map(&counts, |a, b| facts.likeness(a, b), &facts);
        (pairs, map, items::items(table, &sheet, &facts), basis(table, words, filter))
    };
    let ((scale, reliability, cues, areas), (pairs, map, mut items, basis)) =
        abreast(on_a_scale, by_counting);
    scale.place(&mut items, &facts);
    let progress = scale.progress(table, opened);
    let contrasts = contrasts::contrasts(table, &facts);
    Analysis {
        form: FORM,
        basis,
        teach: teach::teach(&Found {
            pairs: &pairs,
            items: &items,
            cues: &cues,
            contrasts: &contrasts,
            movements: &movements,
        }),
        pairs,
        map,
        items,
        reliability,
        progress,
        cues,
        areas,
        movements,
        contrasts,
        unclear: Vec::new(),
    }
}

fn basis(table: &Observations, words: &[ReviewWords], filter: Vec<String>) -> Basis {
    let count = |things: usize| u32::try_from(things).unwrap_or(u32::MAX);
    let silent = |outcome| matches!(outcome, Outcome::TimedOut | Outcome::Omitted);
    let lines = (0..).zip(table.reviews()).map(|(place, tag)| {
        let rows = table.rows_of(place);
        // Rows stand round after round.
        let rounds = rows.chunk_by(|row, next| row.round == next.round).count();
        let known = usize::try_from(place).ok().and_then(|at| words.get(at));
        let text = |of: fn(&ReviewWords) -> &String| known.map(of).cloned().unwrap_or_default();
        ReviewLine {
            review: tag.review,
            word: text(|known| &known.word),
            section: tag.section.clone(),
            opened: text(|known| &known.opened),
            opened_s: tag.opened_s,
            list: text(|known| &known.list),
            persons: persons(table, rows),
            rounds: count(rounds),
            asked: count(rows.len()),
            right: count(rows.iter().filter(|row| row.right()).count()),
        }
    });
    let silent = table.rows().iter().filter(|row| silent(row.outcome)).count();
    Basis {
        reviews: lines.collect(),
        rounds: count(table.rounds().len()),
        answers: count(table.rows().len() - silent),
        silent: count(silent),
        persons: persons(table, table.rows()),
        filter,
    }
}

/// How many persons these rows are of.
fn persons(table: &Observations, rows: &[Row]) -> u32 {
    let mut met = vec![false; table.person_count()];
    for row in rows {
        if let Some(met) = usize::try_from(row.person.0).ok().and_then(|at| met.get_mut(at)) {
            *met = true;
        }
    }
    u32::try_from(met.into_iter().filter(|met| *met).count()).unwrap_or(u32::MAX)
}

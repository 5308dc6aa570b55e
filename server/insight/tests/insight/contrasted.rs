//! Choices between two are counted apart from names.

use myonym_content::ListKey;
use myonym_engine::{AskedAgainWhy, Event};
use myonym_insight::analysis::{ReviewWords, analyse};
use myonym_insight::observe::{Observations, Observer, ReviewTag};
use myonym_wire::{ReviewId, Task};
use proptest::prelude::*;
use proptest::sample::select;

use crate::class::{End, Log, Turn, catalogue, key, tally, turns};

fn observed(logs: &[Log]) -> Observations {
    let mut observer = Observer::default();
    for (number, log) in (1..).zip(logs) {
        let tag = ReviewTag {
            review: ReviewId(uuid::Uuid::from_u128(number)),
            section: None,
            opened_s: 0,
            list: ListKey::new("shoulder"),
            adaptive: false,
        };
        observer.begin(tag, []);
        log.events.iter().for_each(|logged| observer.event(&logged.event));
    }
    observer.finish()
}

/// Of whom beside whom, how many were right of how many.
fn counts(table: &Observations) -> Vec<(&str, &str, u32, u32)> {
    let named = table.contrasted().into_iter();
    named.map(|it| (table.name(it.asked), table.name(it.beside), it.right, it.of)).collect()
}

#[test]
fn each_ordered_pair_has_a_count_of_its_own() {
    let first = turns(&[
        (5, Turn::Right(4_000)),
        (2, Turn::Said("teres major", 0.0)),
        (2, Turn::Silent),
        (1, Turn::Absent),
    ]);
    let again = turns(&[(3, Turn::Right(4_000))]);
    let back = turns(&[(1, Turn::Right(4_000)), (3, Turn::Said("teres minor", 0.0))]);
    let log = Log::open(1)
        .offering("teres major")
        .round("teres minor", &first)
        .round("teres minor", &again)
        .offering("teres minor")
        .round("teres major", &back)
        .round_with("teres major", &back, &[], End::SkippedClosed)
        .round_with("teres major", &back, &[], End::Open);
    let table = observed(&[log]);
    assert_eq!(
        counts(&table),
        [("teres minor", "teres major", 8, 12), ("teres major", "teres minor", 1, 4)]
    );
    assert_eq!((table.rows().len(), table.rounds().len()), (0, 0));
    // What is asked of a part of the table is asked of its choices too.
    assert_eq!(counts(&table.only(|_, _, _| false)), []);
    assert_eq!(
        counts(&table.only(|row, _, _| row.right())),
        [("teres minor", "teres major", 8, 8), ("teres major", "teres minor", 1, 1)]
    );
}

proptest! {
    /// Whatever is chosen between two, nothing that is said of names changes.
    #[test]
    fn no_choice_is_taken_for_a_name(
        asked in select(vec!["teres minor", "deltoid"]),
        said in select(vec![Turn::Right(9), Turn::Said("teres major", 0.0), Turn::Silent,
            Turn::Misspelt("teres miner"), Turn::MisspeltStrict("teres miner")]),
        before: bool,
    ) {
        let names = |log: Log| {
            let minor = turns(&[(6, Turn::Right(8_000)), (5, Turn::Said("teres major", 0.125))]);
            log.asking(Task::Name).round("teres minor", &minor)
        };
        let choice = |log: Log| {
            let half = (0, "teres", AskedAgainWhy::WhichOne);
            log.offering("teres major").round_with(asked, &[said; 7], &[half], End::Revealed)
        };
        let with = if before { names(choice(Log::open(1))) } else { choice(names(Log::open(1))) };
        let without = names(Log::open(1));
        let (told, plain) = (tally(std::slice::from_ref(&with)), tally(std::slice::from_ref(&without)));
        prop_assert_eq!(told.hardest(), plain.hardest());
        prop_assert_eq!(told.pairs(), plain.pairs());
        prop_assert_eq!(told.misspelt(), plain.misspelt());
        prop_assert_eq!(told.unclear(), plain.unclear());
        prop_assert_eq!(told.movements(), plain.movements());
        prop_assert_eq!(told.totals().rounds, plain.totals().rounds + 1);
        let (with, without) = (observed(&[with]), observed(&[without]));
        prop_assert_eq!(with.rows().len(), without.rows().len());
        let misspelt = |table: &Observations| {
            let muscle = table.muscle(&key("teres minor"));
            muscle.map(|muscle| table.misspelt(muscle).len()).unwrap_or_default()
        };
        prop_assert_eq!(misspelt(&with), misspelt(&without));
        let analysis = |table: &Observations| {
            let words = ReviewWords { word: String::new(), opened: String::new(), list: String::new() };
            serde_json::to_value(analyse(&catalogue(), table, &[words], Vec::new(), Vec::new())).unwrap()
        };
        prop_assert_eq!(&analysis(&with)["pairs"], &analysis(&without)["pairs"]);
        prop_assert_eq!(&analysis(&with)["items"], &analysis(&without)["items"]);
    }
}

/// A plan may ask a muscle twice in one review: who was wrong at first and then right is looked at
/// as one who was wrong.
#[test]
fn of_a_muscle_that_is_asked_twice_the_first_answer_counts() {
    let first = turns(&[(4, Turn::Said("teres major", 0.125)), (2, Turn::Silent)]);
    let then = turns(&[(6, Turn::Right(8_000))]);
    let log = Log::open(1)
        .round("deltoid", &first)
        .round("teres minor", &first)
        .round("teres minor", &then);
    let words = ReviewWords { word: String::new(), opened: String::new(), list: String::new() };
    let found = analyse(&catalogue(), &observed(&[log]), &[words], Vec::new(), Vec::new());
    let item = found.items.iter().find(|item| item.muscle.key == key("teres minor")).unwrap();
    let instead: Vec<_> =
        item.instead.iter().map(|one| (one.said.name.as_str(), one.count)).collect();
    assert_eq!(instead, [("teres major", 4)]);
}

/// In an adaptive review not everyone was asked the same: no reliability is defined.
#[test]
fn an_adaptive_review_says_so_itself() {
    let class = turns(&[(3, Turn::Right(8_000)), (2, Turn::Said("teres major", 0.125))]);
    let drawn = Log::open(1).round("teres minor", &class).round("deltoid", &class);
    let mut adaptive = drawn.clone();
    let Event::Opened { settings, .. } = &mut adaptive.events[0].event else { panic!() };
    settings.adaptive = true;
    let reliability = |log: Log| {
        let table = observed(&[log]);
        let words = ReviewWords { word: String::new(), opened: String::new(), list: String::new() };
        let found = analyse(&catalogue(), &table, &[words], Vec::new(), Vec::new());
        (
            table.reviews()[0].adaptive,
            found.reliability[0].words.contains("chosen from the answers"),
        )
    };
    assert_eq!(reliability(drawn), (false, false));
    assert_eq!(reliability(adaptive), (true, true));
}

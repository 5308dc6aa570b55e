//! Choices between two are counted apart from names.

use myonym_engine::{AskedAgainWhy, Event};
use myonym_insight::observe::Observations;
use myonym_insight::render::analysis::{csv, html, terminal};
use myonym_wire::Task;
use proptest::prelude::*;
use proptest::sample::select;

use crate::class::{End, Log, Turn, analysed, key, observed, tally, turns};

/// Of whom beside whom, how many were right of how many.
fn counts(table: &Observations) -> Vec<(&str, &str, u32, u32)> {
    let named = table.contrasted().into_iter();
    named.map(|it| (table.name(it.asked), table.name(it.beside), it.right, it.of)).collect()
}

/// Of 12 who were offered both, 1 absent: 8 right, 2 wrong, 2 silent; the absent is not counted, and
/// of two answers the first counts. The interval is Wilson's (Newcombe 1998, Stat. Med. 17:857-872,
/// method 3, computed by hand): 8 of 12 is 39.1 to 86.2 %.
#[test]
fn a_report_shows_each_direction_with_its_interval() {
    let class = turns(&[
        (8, Turn::Right(4_000)),
        (2, Turn::Said("teres major", 0.0)),
        (2, Turn::Silent),
        (1, Turn::Absent),
    ]);
    let back = turns(&[(3, Turn::Right(4_000)), (1, Turn::Said("teres minor", 0.0))]);
    let mut log = Log::open(1).offering("teres major").round("teres minor", &class);
    // The last answer once more, by the same student.
    let again = log.events.iter().rfind(|one| matches!(one.event, Event::Answered(_))).cloned();
    let closed = log.events.iter().position(|one| matches!(one.event, Event::RoundClosed { .. }));
    log.events.insert(closed.unwrap(), again.unwrap());
    let found = analysed(&observed(&[log.offering("teres minor").round("teres major", &back)]));
    let rows: Vec<_> = (found.contrasts.iter())
        .map(|it| {
            (
                it.asked.name.as_str(),
                it.other.name.as_str(),
                it.shown,
                it.right,
                it.wrong,
                it.silent,
            )
        })
        .collect();
    assert_eq!(
        rows,
        [("teres minor", "teres major", 12, 8, 2, 2), ("teres major", "teres minor", 4, 3, 1, 0)]
    );
    let rate = found.contrasts[0].rate;
    assert!((rate.low - 0.391).abs() < 0.001 && (rate.high - 0.862).abs() < 0.001, "{rate:?}");
    let page = terminal(&found, 80);
    assert!(page.starts_with("Teach again first: teres minor beside teres major."), "{page}");
    assert!(page.contains("8 of 12") && page.contains("67 % (39-86)"), "{page}");
    assert!(page.contains("Rests on 14 choices between two muscles in 1 review."), "{page}");
    assert!(html(&found).contains("8 of 12"));
    let text = csv(&found).unwrap();
    let row = "contrast,1,teres minor,teres major,,,,,,right,8,12,0.6667,0.39";
    assert!(text.lines().any(|line| line.starts_with(row)), "{text}");
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
        let analysis = |table: &Observations| serde_json::to_value(analysed(table)).unwrap();
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
    let found = analysed(&observed(&[log]));
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
        let found = analysed(&table);
        (
            table.reviews()[0].adaptive,
            found.reliability[0].words.contains("chosen from the answers"),
        )
    };
    assert_eq!(reliability(drawn), (false, false));
    assert_eq!(reliability(adaptive), (true, true));
}

//! What a tally counts.

use std::collections::BTreeMap;
use std::slice::from_ref;

use myonym_engine::AskedAgainWhy::{self, UnknownName, WhichOne};
use myonym_engine::{Event, Logged};
use myonym_insight::{Hard, Tally, Totals};
use myonym_wire::{RoundNo, Task};
use proptest::prelude::*;

use crate::class::{Again, End, Log, Turn, class_of_24, key, tally, turns};

fn hard(tally: &Tally, name: &str) -> Hard {
    tally.hardest().into_iter().find(|hard| hard.name == name).unwrap()
}

fn order(tally: &Tally) -> Vec<String> {
    tally.hardest().into_iter().map(|hard| hard.name).collect()
}

fn pair_order(tally: &Tally) -> Vec<(String, String, u32, u32)> {
    let row = |p: myonym_insight::ConfusedPair| (p.asked_name, p.said_name, p.count, p.of);
    tally.pairs().into_iter().map(row).collect()
}

#[test]
fn a_class_is_counted() {
    let tally = tally(&[class_of_24()]);
    let minor = hard(&tally, "teres minor");
    assert_eq!((minor.right, minor.near, minor.silent, minor.asked), (8, 12, 3, 24));
    assert_eq!(minor.rate_right.count, 24);
    assert_eq!(order(&tally), ["teres minor", "infraspinatus", "teres major", "deltoid"]);
    let totals = tally.totals();
    assert_eq!((totals.rounds, totals.answers, totals.silent), (4, 87, 9));
}

#[test]
fn nobody_asked_is_empty() {
    let log = Log::open(1);
    assert!(Tally::default().is_empty());
    assert!(tally(from_ref(&log)).is_empty());
    assert!(tally(&[log.clone().round("deltoid", &[Turn::Absent])]).is_empty());
    assert!(!tally(&[log.round("deltoid", &[Turn::Silent])]).is_empty());
}

#[test]
fn few_answers_top_no_list() {
    let sure = turns(&[(9, Turn::Right(1)), (15, Turn::Said("teres major", 0.1))]);
    let log = Log::open(1)
        .round("teres minor", &sure)
        .round("deltoid", &[Turn::Said("trapezius", 0.0)])
        .round("subclavius", &[Turn::Said("deltoid", 0.0), Turn::Right(1)])
        .round("trapezius", &turns(&[(2, Turn::Said("deltoid", 0.0)), (30, Turn::Right(1))]));
    let tally = tally(&[log]);
    assert_eq!(order(&tally), ["teres minor", "deltoid", "subclavius", "trapezius"]);
    let row = |a: &str, b: &str, count, of| (a.to_owned(), b.to_owned(), count, of);
    assert_eq!(
        pair_order(&tally),
        [
            row("teres minor", "teres major", 15, 24),
            row("trapezius", "deltoid", 2, 32),
            row("deltoid", "trapezius", 1, 1),
            row("subclavius", "deltoid", 1, 2),
        ]
    );
}

#[test]
fn equals_come_by_name() {
    let said = |name| [Turn::Said(name, 0.0), Turn::Right(1)];
    let log = Log::open(1)
        .round("teres minor", &said("deltoid"))
        .round("deltoid", &said("trapezius"))
        .round("deltoid", &said("subclavius"))
        .round("teres minor", &said("anconeus"));
    let tally = tally(&[log]);
    assert_eq!(order(&tally), ["deltoid", "teres minor"]);
    let said: Vec<String> = tally.pairs().into_iter().map(|pair| pair.said_name).collect();
    assert_eq!(said, ["subclavius", "trapezius", "anconeus", "deltoid"]);
}

#[test]
fn strict_spelling_is_wrong_but_no_confusion() {
    let log = Log::open(1).round(
        "teres minor",
        &[Turn::MisspeltStrict("teres miner"), Turn::NoSuch("Teres Minimus")],
    );
    let tally = tally(&[log]);
    let minor = hard(&tally, "teres minor");
    assert_eq!((minor.right, minor.near, minor.silent, minor.asked), (0, 0, 0, 2));
    assert!(tally.pairs().is_empty());
    let unclear = &tally.unclear()[0];
    assert_eq!(
        (unclear.typed.as_str(), unclear.why, unclear.count),
        ("teres minimus", UnknownName, 1)
    );
}

#[test]
fn a_name_typed_again_and_again_counts_once_for_each_student_and_round() {
    let again: [Again; 4] = [
        (0, "Teres", WhichOne),
        (0, "teres ", WhichOne),
        (1, "teres", WhichOne),
        (1, "?!", UnknownName),
    ];
    let right = [Turn::Right(1), Turn::Right(1)];
    let log = Log::open(1)
        .round_with("teres minor", &right, &again, End::Revealed)
        .round_with("teres minor", &right, &again[..1], End::Revealed)
        .round_with("teres minor", &right, &again, End::SkippedOpen);
    let tally = tally(&[log]);
    let forms: Vec<(String, u32)> =
        tally.unclear().into_iter().map(|form| (form.typed, form.count)).collect();
    assert_eq!(forms, [("teres".to_owned(), 3)]);
}

/// A movement is no muscle: it says nothing of which muscles are confused.
#[test]
fn a_round_that_asks_for_a_movement_is_counted_apart() {
    let names = Log::open(1).round("teres minor", &[Turn::Right(1), Turn::Said("deltoid", 0.0)]);
    let again: [Again; 1] = [(0, "rotation", WhichOne)];
    let moves = [
        Turn::Moves("lateral rotation", 1.0),
        Turn::Moves("flexion", 0.0),
        Turn::Moves("flexion", 0.0),
        Turn::Moves("abduction", 0.25),
        Turn::NoSuch("wiggling"),
        Turn::Silent,
        Turn::Absent,
    ];
    let both = names.clone().asking(Task::Movement).round_with(
        "teres minor",
        &moves,
        &again,
        End::Revealed,
    );
    let (before, after) = (tally(&[names]), tally(&[both]));
    assert_eq!(after.hardest(), before.hardest());
    assert_eq!(after.pairs(), before.pairs());
    assert_eq!(after.unclear(), before.unclear());
    assert_eq!(after.totals(), Totals { rounds: 2, answers: 7, silent: 1 });
    assert!(before.movements().is_empty());
    let found = after.movements().remove(0);
    assert_eq!(found.muscle, key("teres minor"));
    assert_eq!((found.right, found.near, found.silent, found.asked), (1, 1, 1, 6));
    let said: Vec<(String, u32)> =
        found.instead.into_iter().map(|said| (said.movement, said.count)).collect();
    assert_eq!(said, [("flexion".to_owned(), 2), ("abduction".to_owned(), 1)]);
}

/// As in the engine's fold: the first answer stands, a closed round takes none, and a reveal of a
/// round that never closed counts nothing.
#[test]
fn events_out_of_place_change_nothing() {
    let open = Log::open(1).round_with("deltoid", &[Turn::Right(1)], &[], End::Open);
    let answered: Vec<Logged> = open.events.clone();
    let mut log = open.clone();
    log.push(answered.last().unwrap().event.clone());
    log.push(Event::RoundClosed {
        round: RoundNo(1),
        why: myonym_wire::CloseWhy::TimeUp,
        silent: Vec::new(),
    });
    log.push(answered.last().unwrap().event.clone());
    log.push(Event::Revealed { round: RoundNo(2), contrast: None });
    log.push(Event::RoundSkipped { round: RoundNo(2) });
    assert!(tally(from_ref(&log)).is_empty());
    log.push(Event::Revealed { round: RoundNo(1), contrast: None });
    log.push(Event::Revealed { round: RoundNo(1), contrast: None });
    assert_eq!(hard(&tally(&[log]), "deltoid").asked, 1);

    let mut unclosed = open;
    unclosed.push(Event::Revealed { round: RoundNo(1), contrast: None });
    assert!(tally(&[unclosed]).is_empty());
}

const MUSCLES: [&str; 4] = ["deltoid", "infraspinatus", "teres major", "teres minor"];

fn any_turn() -> impl Strategy<Value = Turn> {
    prop_oneof![
        (0u64..45_000).prop_map(Turn::Right),
        Just(Turn::Misspelt("teres miner")),
        Just(Turn::MisspeltStrict("deltiod")),
        (prop::sample::select(&MUSCLES[..]), prop::sample::select(&[0.0, 0.1][..]))
            .prop_map(|(name, credit)| Turn::Said(name, credit)),
        Just(Turn::NoSuch("biceps major")),
        Just(Turn::Silent),
        Just(Turn::Absent),
    ]
}

#[derive(Debug, Clone)]
struct Round {
    asked: &'static str,
    turns: Vec<Turn>,
    again: Vec<Again>,
    end: End,
}

fn any_round() -> impl Strategy<Value = Round> {
    let end = prop_oneof![
        4 => Just(End::Revealed),
        1 => Just(End::SkippedOpen),
        1 => Just(End::SkippedClosed),
        1 => Just(End::Closed),
        1 => Just(End::Open),
    ];
    let why: &[AskedAgainWhy] = &[WhichOne, UnknownName];
    let typed: &[&str] = &["teres", "cuff", ""];
    let again = (0usize..7, prop::sample::select(typed), prop::sample::select(why));
    let turns = prop::collection::vec(any_turn(), 0..7);
    (prop::sample::select(&MUSCLES[..]), turns, prop::collection::vec(again, 0..4), end).prop_map(
        |(asked, mut turns, again, end)| {
            // Naming the muscle asked is right, however it came about.
            for turn in &mut turns {
                if matches!(turn, Turn::Said(name, _) if *name == asked) {
                    *turn = Turn::Right(1);
                }
            }
            Round { asked, turns, again, end }
        },
    )
}

fn any_class() -> impl Strategy<Value = Vec<Vec<Round>>> {
    prop::collection::vec(prop::collection::vec(any_round(), 0..6), 0..4)
}

fn log(number: usize, rounds: &[Round]) -> Log {
    rounds.iter().fold(Log::open(number as u128 + 1), |log, round| {
        log.round_with(round.asked, &round.turns, &round.again, round.end)
    })
}

fn logs(class: &[Vec<Round>]) -> Vec<Log> {
    class.iter().enumerate().map(|(number, rounds)| log(number, rounds)).collect()
}

/// Right, near, silent and asked of each muscle, counted from the plan and not from the events.
fn plain_count(class: &[Vec<Round>]) -> BTreeMap<String, (u32, u32, u32, u32)> {
    let mut counts: BTreeMap<String, (u32, u32, u32, u32)> = BTreeMap::new();
    for round in class.iter().flatten().filter(|round| round.end == End::Revealed) {
        let of = |is: fn(&Turn) -> bool| {
            u32::try_from(round.turns.iter().filter(|turn| is(turn)).count()).unwrap()
        };
        let asked = of(|turn| *turn != Turn::Absent);
        if asked > 0 {
            let count = counts.entry(round.asked.to_owned()).or_default();
            count.0 += of(|turn| matches!(turn, Turn::Right(_) | Turn::Misspelt(_)));
            count.1 += of(|turn| matches!(turn, Turn::Said(_, credit) if *credit > 0.0));
            count.2 += of(|turn| *turn == Turn::Silent);
            count.3 += asked;
        }
    }
    counts
}

fn all_numbers(tally: &Tally) -> impl PartialEq + std::fmt::Debug + use<> {
    (tally.totals(), tally.hardest(), tally.pairs(), tally.unclear())
}

proptest! {
    #[test]
    fn muscles_are_counted_as_planned(class in any_class()) {
        let row = |h: Hard| (h.name, (h.right, h.near, h.silent, h.asked));
        let found: BTreeMap<_, _> = tally(&logs(&class)).hardest().into_iter().map(row).collect();
        prop_assert_eq!(found, plain_count(&class));
    }

    #[test]
    fn counts_never_exceed_the_students_asked(class in any_class()) {
        let tally = tally(&logs(&class));
        for hard in tally.hardest() {
            let said: u32 = (tally.pairs().iter())
                .filter(|pair| pair.asked == hard.muscle).map(|pair| pair.count).sum();
            prop_assert!(hard.right + hard.silent + said <= hard.asked);
            prop_assert!(hard.near <= said);
        }
        for pair in tally.pairs() {
            prop_assert!(pair.asked != pair.said && pair.count <= pair.of);
        }
    }

    /// Reading in between, and starting again from a copy, is as good as reading it all at once.
    #[test]
    fn a_log_may_be_fed_as_it_grows(class in any_class()) {
        let logs = logs(&class);
        let mut live = Tally::default();
        for logged in logs.iter().flat_map(|log| &log.events) {
            live.add(logged);
            let _ = all_numbers(&live);
            live = live.clone();
        }
        prop_assert_eq!(live, tally(&logs));
    }

    #[test]
    fn rounds_that_were_not_revealed_change_nothing(class in any_class()) {
        let revealed: Vec<Vec<Round>> = (class.iter())
            .map(|rounds| rounds.iter().filter(|r| r.end == End::Revealed).cloned().collect())
            .collect();
        prop_assert_eq!(all_numbers(&tally(&logs(&class))), all_numbers(&tally(&logs(&revealed))));
    }

    #[test]
    fn the_order_of_reviews_does_not_matter(class in any_class()) {
        let mut logs = logs(&class);
        let muscles = |tally: &Tally| (tally.totals(), tally.hardest(), tally.pairs());
        let forwards = muscles(&tally(&logs));
        logs.reverse();
        prop_assert_eq!(forwards, muscles(&tally(&logs)));
    }
}

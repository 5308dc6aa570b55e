//! Classical item analysis.

use std::collections::BTreeMap;

use myonym_stats::items::{Item, analyse};
use myonym_stats::{Discrimination, Responses, options, reliability};
use proptest::prelude::*;
use serde::Deserialize;

use crate::reference::{check, lsat, responses};

fn numbers(items: &[Item], which: fn(&Item) -> Discrimination) -> Vec<f64> {
    items.iter().map(|item| which(item).value().unwrap()).collect()
}

fn difficulties(items: &[Item]) -> Vec<f64> {
    items.iter().map(|item| item.right.rate().unwrap()).collect()
}

#[test]
fn items_of_the_law_school_test() {
    let items = analyse(&lsat());
    let p = check("cta.lsat6.p");
    p.all_near(&difficulties(&items), &p.expected::<Vec<f64>>());
    let biserial = check("cta.lsat6.pbis");
    biserial.finds_all("included", &numbers(&items, |item| item.uncorrected));
    biserial.finds_all("corrected", &numbers(&items, |item| item.corrected));
    let groups = check("cta.lsat6.D27");
    groups.all_near(&numbers(&items, |item| item.upper_lower), &groups.expected::<Vec<f64>>());
}

#[test]
fn reliability_of_the_law_school_test() {
    let check = check("cta.lsat6.kr20");
    let found = reliability::analyse(&lsat()).unwrap();
    check.finds("alpha", found.alpha);
    let without: Vec<f64> = found.without.iter().map(|alpha| alpha.unwrap()).collect();
    check.finds_all("alpha_if_deleted", &without);
    check.finds("sem", found.error);
    // Mixing the two denominators of variance gives this.
    assert!((found.alpha - check.wanted::<f64>("wrong_mixed")).abs() > 5e-4);
    let sample = found.error * found.error / (1.0 - found.alpha);
    check.finds("var_total_sample", sample);
}

#[test]
fn a_small_test() {
    let check = check("cta.toy");
    let small = responses(check.input("responses"));
    let items = analyse(&small);
    check.finds_all("p", &difficulties(&items));
    check.finds_all("corrected", &numbers(&items, |item| item.corrected));
    check.finds_all("D27", &numbers(&items, |item| item.upper_lower));
    let found = reliability::analyse(&small).unwrap();
    check.finds("alpha", found.alpha);
    check.finds("sem", found.error);
}

#[test]
fn options_of_an_item() {
    #[derive(Deserialize)]
    struct Want {
        share: f64,
        mean_rest: f64,
        pbis: f64,
    }
    let check = check("cta.distractor");
    let choices: Vec<String> = check.input("choice");
    let answers: Vec<(String, f64)> =
        choices.into_iter().zip(check.input::<Vec<f64>>("rest")).collect();
    let found = options::analyse(&answers);
    let wanted: BTreeMap<String, Want> = check.expected();
    assert!(found.keys().eq(wanted.keys()));
    for (name, want) in wanted {
        check.near(found[&name].share, want.share);
        check.near(found[&name].mean_rest, want.mean_rest);
        check.near(found[&name].discrimination.value().unwrap(), want.pbis);
    }
}

const YES: Option<bool> = Some(true);
const NO: Option<bool> = Some(false);

fn rows(rows: &[&[Option<bool>]]) -> Responses {
    Responses::new(rows.iter().map(|row| row.to_vec()).collect()).unwrap()
}

#[test]
fn where_all_answer_alike_there_is_no_information() {
    let easy = analyse(&rows(&[&[YES, YES, NO], &[YES, NO, NO], &[YES, NO, YES]]))[0];
    assert_eq!(easy.right.rate(), Some(1.0));
    assert_eq!(easy.corrected, Discrimination::NoInformation);
    assert_eq!(easy.uncorrected, Discrimination::NoInformation);
    // D is there: the groups differ, and do not on this item.
    assert_eq!(easy.upper_lower, Discrimination::Of(0.0));
    // All know as much: no groups either.
    let level = analyse(&rows(&[&[YES, NO], &[NO, YES]]))[0];
    assert_eq!(level.upper_lower, Discrimination::NoInformation);
    assert_eq!(level.corrected, Discrimination::Of(-1.0));
    assert_eq!(level.uncorrected.value(), None);
}

/// By hand: the first two were asked both items, the third the first alone, the fourth nothing.
#[test]
fn what_was_not_asked_is_not_wrong() {
    let items = analyse(&rows(&[&[YES, YES], &[NO, NO], &[YES, None], &[None, None]]));
    assert_eq!((items[0].right.hits(), items[0].right.of()), (2, 3));
    assert_eq!((items[1].right.hits(), items[1].right.of()), (1, 2));
    // The third has no other item, so only two are compared.
    assert_eq!(items[0].corrected, Discrimination::Of(1.0));
}

#[test]
fn little_or_nothing_is_no_trouble() {
    assert!(analyse(&Responses::default()).is_empty());
    assert_eq!(reliability::analyse(&Responses::default()), None);
    for few in [rows(&[&[YES]]), rows(&[&[None]]), rows(&[&[NO, YES, None]]), rows(&[&[], &[]])] {
        for item in analyse(&few) {
            assert_eq!(item.corrected, Discrimination::NoInformation);
            assert_eq!(item.uncorrected, Discrimination::NoInformation);
            assert_eq!(item.upper_lower, Discrimination::NoInformation);
        }
        assert_eq!(reliability::analyse(&few), None);
    }
    assert_eq!(Responses::new(vec![vec![YES], vec![]]), None);
    assert!(options::analyse::<u8>(&[]).is_empty());
    assert_eq!(options::analyse(&[(1, 3.0)])[&1].discrimination, Discrimination::NoInformation);
    // Different decks: undefined. A student without any answer is no student.
    assert_eq!(reliability::analyse(&rows(&[&[YES, NO], &[NO, None], &[NO, NO]])), None);
    let absent = rows(&[&[YES, YES], &[NO, NO], &[YES, NO], &[None, None]]);
    let present = rows(&[&[YES, YES], &[NO, NO], &[YES, NO]]);
    assert!(reliability::analyse(&absent).is_some());
    assert_eq!(reliability::analyse(&absent), reliability::analyse(&present));
    // Two items: without one of them nothing is left to compare.
    assert_eq!(reliability::analyse(&present).unwrap().without, [None, None]);
}

fn whole() -> impl Strategy<Value = Vec<Vec<Option<bool>>>> {
    (2usize..7, 2usize..30).prop_flat_map(|(items, students)| {
        let row = proptest::collection::vec(any::<bool>().prop_map(Some), items);
        proptest::collection::vec(row, students)
    })
}

fn sparse() -> impl Strategy<Value = Vec<Vec<Option<bool>>>> {
    (0usize..7, 0usize..30).prop_flat_map(|(items, students)| {
        let row = proptest::collection::vec(any::<Option<bool>>(), items);
        proptest::collection::vec(row, students)
    })
}

fn rotated(rows: &[Vec<Option<bool>>]) -> Responses {
    let turned = |row: &Vec<Option<bool>>| {
        let by = row.len().min(1);
        [&row[by..], &row[..by]].concat()
    };
    Responses::new(rows.iter().map(turned).collect()).unwrap()
}

fn same(a: Discrimination, b: Discrimination) -> bool {
    match (a, b) {
        (Discrimination::Of(a), Discrimination::Of(b)) => (a - b).abs() < 1e-9,
        (a, b) => a == b,
    }
}

fn same_items(a: &Item, b: &Item) -> bool {
    a.right == b.right
        && same(a.corrected, b.corrected)
        && same(a.uncorrected, b.uncorrected)
        && same(a.upper_lower, b.upper_lower)
}

proptest! {
    #[test]
    fn kr20_does_not_hang_on_the_order_of_items(rows in whole()) {
        let there = reliability::analyse(&Responses::new(rows.clone()).unwrap());
        let turned = reliability::analyse(&rotated(&rows));
        prop_assert_eq!(there.is_some(), turned.is_some());
        if let (Some(there), Some(turned)) = (there, turned) {
            prop_assert!((there.alpha - turned.alpha).abs() < 1e-9 * (1.0 + there.alpha.abs()));
            prop_assert!(there.alpha <= 1.0 + 1e-12 && there.error.is_finite());
        }
    }

    /// Whatever the order of students or items, an item is what it is; and all is in its range.
    #[test]
    fn items_do_not_hang_on_order(rows in sparse()) {
        let there = analyse(&Responses::new(rows.clone()).unwrap());
        let mut reversed = rows.clone();
        reversed.reverse();
        for (one, other) in there.iter().zip(analyse(&Responses::new(reversed).unwrap())) {
            prop_assert!(same_items(one, &other));
        }
        let turned = analyse(&rotated(&rows));
        for (item, one) in there.iter().enumerate() {
            prop_assert!(same_items(one, &turned[(item + turned.len() - 1) % turned.len()]));
            for number in [one.corrected, one.uncorrected, one.upper_lower] {
                prop_assert!(number.value().is_none_or(|it| (-1.0..=1.0).contains(&it)));
            }
        }
    }

    /// Right for wrong throughout: the same correlations, whole.
    #[test]
    fn right_and_wrong_mirror(rows in whole()) {
        let turned = rows.iter().map(|row| row.iter().map(|cell| cell.map(|it| !it)).collect());
        let there = analyse(&Responses::new(rows.clone()).unwrap());
        let back = analyse(&Responses::new(turned.collect()).unwrap());
        for (one, other) in there.iter().zip(&back) {
            prop_assert_eq!(one.right.hits(), other.right.misses());
            prop_assert!(same(one.corrected, other.corrected));
            prop_assert!(same(one.upper_lower, other.upper_lower));
        }
    }

    /// The options of an item share it out.
    #[test]
    fn shares_sum_to_1(answers in proptest::collection::vec((0u8..4, 0.0..20.0f64), 1..40)) {
        let found = options::analyse(&answers);
        prop_assert!((found.values().map(|one| one.share).sum::<f64>() - 1.0).abs() < 1e-12);
        prop_assert_eq!(found.values().map(|one| one.times).sum::<usize>(), answers.len());
        prop_assert!(found.values().all(|one| one.mean_rest.is_finite()));
    }
}

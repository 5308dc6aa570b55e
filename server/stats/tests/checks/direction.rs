//! Directions of confusion, and many tests at once.

use myonym_stats::direction::{against, mcnemar, unequal_exposure};
use myonym_stats::false_discovery::benjamini_hochberg;
use myonym_stats::symmetry::{bhapkar, bowker, stuart_maxwell};
use myonym_stats::{ChiSquare, Square, Tally};
use proptest::prelude::*;
use serde::Deserialize;
use statrs::distribution::{Binomial, Discrete};

use crate::reference::{check, vision};

fn tally(hits: u32, of: u32) -> Tally {
    Tally::new(hits, of).unwrap()
}

#[test]
fn two_sided_probabilities_agree() {
    let check = check("binomial.two_sided");
    let found: Vec<_> = check
        .inputs::<Vec<(u32, u32, f64)>>()
        .into_iter()
        .map(|(x, n, p)| against(tally(x, n), p).unwrap())
        .collect();
    check.finds_all("exact", &found.iter().map(|found| found.exact).collect::<Vec<f64>>());
    check.finds_all("mid", &found.iter().map(|found| found.mid).collect::<Vec<f64>>());
}

#[derive(Deserialize)]
struct Input {
    b: u32,
    c: u32,
}
#[derive(Deserialize)]
struct Want {
    exact: f64,
    mid: f64,
}

#[test]
fn mcnemar_agrees() {
    let large = check("mcnemar.approval");
    let found = mcnemar(large.input("b"), large.input("c")).unwrap();
    let chi_square = found.chi_square.unwrap();
    large.finds("chi2", chi_square.statistic);
    large.finds("p", chi_square.p);
    let corrected = found.corrected.unwrap();
    large.finds("chi2_cc", corrected.statistic);
    large.finds("p_cc", corrected.p);
    large.finds("p_exact", found.exact);
    large.finds("p_mid", found.mid);

    let small = check("mcnemar.small");
    let wanted: Vec<Want> = small.expected();
    for (Input { b, c }, want) in small.inputs::<Vec<Input>>().into_iter().zip(wanted) {
        let found = mcnemar(b, c).unwrap();
        small.near(found.exact, want.exact);
        small.near(found.mid, want.mid);
        assert_eq!((found.chi_square, found.corrected), (None, None), "too few");
    }
}

/// Asked unequally often, 9 against 3 is no direction at all.
#[test]
fn exposure_counts() {
    let check = check("asym.exposure");
    let ab = tally(check.input("n_ab"), check.input("N_a"));
    let ba = tally(check.input("n_ba"), check.input("N_b"));
    let found = unequal_exposure(ab, ba).unwrap();
    check.finds("pi0", found.expected);
    check.finds("p_two_sided", found.exact);
    check.finds("p_naive_half", mcnemar(ab.hits(), ba.hits()).unwrap().exact);
    check.finds("rate_a", ab.rate().unwrap());
    check.finds("rate_b", ba.rate().unwrap());
}

#[test]
fn symmetry_of_vision() {
    let check = check("bowker.vision");
    let table = vision();
    assert_eq!(Some(&table), Square::new(&check.input::<Vec<Vec<f64>>>("table")).as_ref());
    let found = bowker(&table).unwrap();
    check.finds("chi2", found.statistic);
    check.finds("df", f64::from(found.freedom));
    check.finds("p", found.p);
}

#[test]
fn margins_of_vision() {
    let check = check("stuartmaxwell.vision");
    let (stuart, bhapkar) = (stuart_maxwell(&vision()).unwrap(), bhapkar(&vision()).unwrap());
    let near = |key: &str, found: f64| check.near_by("computed", found, check.wanted(key));
    near("stuart", stuart.statistic);
    near("p", stuart.p);
    near("bhapkar", bhapkar.statistic);
    near("bhapkar_p", bhapkar.p);
    assert_eq!((stuart.freedom, bhapkar.freedom), (3, 3));
    let printed: [f64; 2] = check.wanted("published");
    check.near_by("published", stuart.statistic, printed[0]);
    check.near_by("published", bhapkar.statistic, printed[1]);
}

#[test]
fn symmetry_with_an_empty_cell() {
    let check = check("bowker.3x3");
    let table = Square::new(&check.input::<Vec<Vec<f64>>>("table")).unwrap();
    let (symmetry, margins) = (bowker(&table).unwrap(), stuart_maxwell(&table).unwrap());
    check.finds("bowker", symmetry.statistic);
    check.finds("bowker_df", f64::from(symmetry.freedom));
    check.finds("bowker_p", symmetry.p);
    check.finds("stuart", margins.statistic);
    check.finds("stuart_df", f64::from(margins.freedom));
}

#[test]
fn many_tests_agree() {
    let check = check("bh1995");
    let (given, q): (Vec<f64>, f64) = (check.input("p"), check.input("q"));
    let found = benjamini_hochberg(&given).unwrap();
    check.finds_all("adjusted", &found);
    assert_eq!(found.iter().filter(|p| **p <= q).count(), check.wanted::<usize>("rejected_bh"));
    // The paper's point: one more than by dividing q by the number of tests.
    let few = given.iter().filter(|p| **p <= q / 15.0).count();
    assert_eq!(few, check.wanted::<usize>("rejected_bonferroni"));
}

#[test]
fn what_cannot_be_tested_is_nothing() {
    assert_eq!(mcnemar(0, 0), None);
    assert_eq!(mcnemar(u32::MAX, 1), None);
    assert_eq!(unequal_exposure(tally(0, 5), tally(0, 5)), None);
    assert_eq!(unequal_exposure(tally(2, 5), Tally::default()), None);
    assert_eq!(against(tally(1, 2), 1.0), None);
    assert_eq!(against(tally(1, 2), f64::NAN), None);
    let calm = Square::new(&[vec![3.0, 0.0], vec![0.0, 2.0]]).unwrap();
    assert_eq!((bowker(&calm), stuart_maxwell(&calm), bhapkar(&calm)), (None, None, None));
    let none = Square::new(&[vec![0.0; 2], vec![0.0; 2]]).unwrap();
    assert_eq!((bowker(&none), stuart_maxwell(&none), bhapkar(&none)), (None, None, None));
    // Every answer a confusion the same way: Bhapkar's form has no value.
    let one_way = Square::new(&[vec![0.0, 5.0], vec![0.0, 0.0]]).unwrap();
    assert!(stuart_maxwell(&one_way).is_some() && bhapkar(&one_way).is_none());
    for rows in [vec![], vec![vec![1.0]], vec![vec![1.0, 2.0], vec![3.0]]] {
        assert_eq!(Square::new(&rows), None);
    }
    for odd in [-1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(Square::new(&[vec![1.0, odd], vec![0.0, 1.0]]), None);
    }
    assert_eq!(ChiSquare::new(1.0, 0), None);
    assert_eq!(ChiSquare::new(f64::NAN, 1), None);
    assert_eq!(ChiSquare::new(0.0, 1).map(|test| test.p), Some(1.0));
    assert_eq!(benjamini_hochberg(&[0.5, f64::NAN]), None);
    assert_eq!(benjamini_hochberg(&[1.5]), None);
    assert_eq!(benjamini_hochberg(&[]), Some(vec![]));
}

fn transposed(rows: &[Vec<f64>]) -> Square {
    let columns = (0..rows.len()).map(|a| rows.iter().map(|row| row[a]).collect());
    Square::new(&columns.collect::<Vec<Vec<f64>>>()).unwrap()
}

fn tables() -> impl Strategy<Value = Vec<Vec<f64>>> {
    (2usize..6).prop_flat_map(|size| {
        let cell = prop_oneof![Just(0.0), (0u32..40).prop_map(f64::from)];
        proptest::collection::vec(proptest::collection::vec(cell, size), size)
    })
}

proptest! {
    #[test]
    fn probabilities_are_probabilities_and_mid_is_smaller(
        of in 1u32..300, hits in 0u32..300, share in 0.01..0.99f64,
    ) {
        let found = against(tally(hits.min(of), of), share).unwrap();
        prop_assert!(0.0 <= found.mid && found.mid <= found.exact && found.exact <= 1.0);
        if let (Some(plain), Some(corrected)) = (found.chi_square, found.corrected) {
            prop_assert!(corrected.statistic <= plain.statistic && plain.p <= corrected.p);
        }
        let mirrored = against(tally(of - hits.min(of), of), 1.0 - share).unwrap();
        prop_assert!((found.exact - mirrored.exact).abs() < 1e-9);
        prop_assert!((found.mid - mirrored.mid).abs() < 1e-9);
    }

    /// The rule of small probabilities taken at its word, over every count, with the probabilities
    /// of statrs: what is left out of the tails is nothing.
    #[test]
    fn both_tails_are_all_that_is_no_likelier(
        of in 1u32..3_000, part in 0.0..=1.0f64, share in 0.001..0.999f64,
    ) {
        let hits = (0..=of).find(|hits| f64::from(*hits) >= part * f64::from(of)).unwrap();
        let binomial = Binomial::new(share, u64::from(of)).unwrap();
        let seen = binomial.pmf(u64::from(hits));
        let all = (0..=u64::from(of)).map(|count| binomial.pmf(count));
        let want: f64 = all.filter(|chance| *chance <= seen * (1.0 + 1e-7)).sum();
        let found = against(tally(hits, of), share).unwrap();
        prop_assert!((found.exact - want.min(1.0)).abs() <= 1e-9 * want, "{} {want}", found.exact);
    }

    /// Which of the two is called a does not matter; equal exposure is McNemar's test.
    #[test]
    fn a_and_b_may_change_names(ab in 0u32..40, ba in 0u32..40, a in 40u32..90, b in 40u32..90) {
        prop_assume!(ab + ba > 0);
        let there = unequal_exposure(tally(ab, a), tally(ba, b)).unwrap();
        let back = unequal_exposure(tally(ba, b), tally(ab, a)).unwrap();
        prop_assert!((there.exact - back.exact).abs() < 1e-9);
        let equal = unequal_exposure(tally(ab, a), tally(ba, a)).unwrap();
        prop_assert_eq!(equal, mcnemar(ab, ba).unwrap());
    }

    /// Of two categories Bowker, Stuart-Maxwell and McNemar are one test.
    #[test]
    fn two_categories_are_one_pair(b in 0u32..200, c in 0u32..200, calm in 0u32..50) {
        prop_assume!(b + c >= 25);
        let calm = f64::from(calm);
        let table =
            Square::new(&[vec![calm, f64::from(b)], vec![f64::from(c), calm]]).unwrap();
        let want = mcnemar(b, c).unwrap().chi_square.unwrap();
        for found in [bowker(&table).unwrap(), stuart_maxwell(&table).unwrap()] {
            prop_assert!((found.statistic - want.statistic).abs() < 1e-9);
            prop_assert_eq!(found.freedom, want.freedom);
        }
    }

    #[test]
    fn a_table_and_its_mirror_are_as_symmetric(rows in tables()) {
        let (there, back) = (Square::new(&rows).unwrap(), transposed(&rows));
        for test in [bowker, stuart_maxwell, bhapkar] {
            let (there, back) = (test(&there), test(&back));
            prop_assert_eq!(there.is_some(), back.is_some());
            if let (Some(there), Some(back)) = (there, back) {
                prop_assert!((there.statistic - back.statistic).abs() < 1e-7 * (1.0 + there.statistic));
                prop_assert_eq!(there.freedom, back.freedom);
                prop_assert!((0.0..=1.0).contains(&there.p));
            }
        }
    }

    /// Groups of categories that are never mixed up add their statistics and their freedoms.
    #[test]
    fn groups_apart_add_up(first in tables(), second in tables()) {
        let size = first.len() + second.len();
        let mut both = vec![vec![0.0; size]; size];
        for (rows, from) in [(&first, 0), (&second, first.len())] {
            for (a, row) in rows.iter().enumerate() {
                both[from + a][from..from + row.len()].copy_from_slice(row);
            }
        }
        for test in [bowker, stuart_maxwell] {
            let part = |rows: &[Vec<f64>]| {
                test(&Square::new(rows).unwrap()).map_or((0.0, 0), |it| (it.statistic, it.freedom))
            };
            let (one, two, all) = (part(&first), part(&second), part(&both));
            prop_assert!((one.0 + two.0 - all.0).abs() < 1e-7 * (1.0 + all.0), "{one:?} {two:?} {all:?}");
            prop_assert_eq!(one.1 + two.1, all.1);
        }
    }

    /// Adjusting never makes a test more striking, keeps the order, and is monotone.
    #[test]
    fn adjusting_is_monotone(
        given in proptest::collection::vec(0.0..=1.0f64, 1..40), at in 0usize..40, part in 0.0..1.0f64,
    ) {
        let adjusted = benjamini_hochberg(&given).unwrap();
        for (a, b) in given.iter().zip(&adjusted) {
            prop_assert!(b >= a && *b <= 1.0);
            for (other, other_adjusted) in given.iter().zip(&adjusted) {
                prop_assert!(a > other || b <= other_adjusted);
            }
        }
        let mut lower = given.clone();
        let at = at % given.len();
        lower[at] *= part;
        for (before, after) in adjusted.iter().zip(benjamini_hochberg(&lower).unwrap()) {
            prop_assert!(after <= before + 1e-12);
        }
    }
}

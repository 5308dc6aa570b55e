//! Speed and accuracy.

use std::collections::BTreeMap;

use myonym_stats::rasch::chance;
use myonym_stats::speed_accuracy::{
    Pace, Rating, break_even, expected, expected_credit, guess, levels, score,
};
use proptest::prelude::*;
use serde::Deserialize;

use crate::reference::check;

#[test]
fn scores_agree() {
    #[derive(Deserialize)]
    struct Input {
        x: f64,
        d: f64,
        t: f64,
    }
    let raw = check("srt.raw");
    let inputs: Vec<Input> = raw.inputs();
    let scaled = |Input { x, d, t }: &Input| score(*x, *t, *d).unwrap();
    raw.finds_all("scaled", &inputs.iter().map(scaled).collect::<Vec<f64>>());
    raw.finds_all("S", &inputs.iter().map(|it| it.d * scaled(it)).collect::<Vec<f64>>());

    let partial = check("srt.partial");
    let (t, d) = (partial.input("t"), partial.input("d"));
    let found = partial.input::<Vec<f64>>("c").into_iter().map(|c| score(c, t, d).unwrap());
    partial.finds_all("S", &found.collect::<Vec<f64>>());
}

#[test]
fn expected_scores_agree() {
    let check = check("srt.expected");
    let gaps: Vec<f64> = check.input("delta");
    check.finds_all("E", &gaps.iter().map(|gap| expected(*gap)).collect::<Vec<f64>>());
    let right: Vec<f64> = gaps.iter().map(|gap| chance(*gap, 0.0, 1.0)).collect();
    check.finds_all("p_correct", &right);
}

#[test]
fn three_levels_agree() {
    #[derive(Deserialize)]
    struct Want {
        #[serde(rename = "E")]
        mean: f64,
        #[serde(rename = "P")]
        chances: Vec<f64>,
    }
    let check = check("srt.threelevel");
    let pairs: Vec<(f64, f64)> =
        check.input::<Vec<f64>>("w").into_iter().zip(check.input::<Vec<f64>>("h")).collect();
    let wanted: BTreeMap<String, Want> = check.expected();
    assert_eq!(wanted.len(), check.input::<Vec<f64>>("delta").len());
    for (gap, want) in wanted {
        let found = levels(gap.parse().unwrap(), &pairs).unwrap();
        check.near(found.expected, want.mean);
        check.all_near(&found.chances, &want.chances);
    }
}

#[test]
fn guesses_agree() {
    let mutual = check("srt.guess");
    for (credit, row) in mutual.wanted::<BTreeMap<String, BTreeMap<u32, f64>>>("E_over_u") {
        for (names, want) in row {
            mutual.near(guess(names, names - 1, credit.parse().unwrap()).unwrap(), want);
        }
    }
    for (names, want) in mutual.wanted::<BTreeMap<u32, f64>>("c_star") {
        mutual.near(break_even(names).unwrap(), want);
    }
}

/// Of all names, some near.
#[test]
fn blind_guesses_agree() {
    #[derive(Deserialize)]
    struct Input {
        #[serde(rename = "N")]
        names: u32,
        m: u32,
        c: f64,
    }
    let general = check("srt.guess.general");
    let inputs = general.inputs::<Vec<Input>>().into_iter();
    let found = inputs.map(|Input { names, m, c }| guess(names, m, c).unwrap());
    general.all_near(&found.collect::<Vec<f64>>(), &general.expected::<Vec<f64>>());
}

/// With credit of a half the favourite is not the best answer; with a fifth it is.
#[test]
fn a_hub_draws_answers() {
    let check = check("srt.hub");
    let belief: Vec<f64> = check.input("belief");
    for credit in ["c05", "c02"] {
        let table: Vec<Vec<f64>> = check.input(&format!("credit_{credit}"));
        let found: Vec<f64> = table.iter().map(|row| expected_credit(&belief, row)).collect();
        check.finds_all(credit, &found);
        let best = (0..found.len()).max_by(|a, b| found[*a].total_cmp(&found[*b]));
        assert_eq!(best, Some(check.wanted::<usize>(&format!("argmax_{credit}"))));
    }
}

#[test]
fn ratings_agree() {
    let check = check("elo.srt.update");
    let student = Rating { at: check.input("theta"), doubt: check.input("U_player") };
    let item = Rating { at: check.input("beta"), doubt: check.input("U_item") };
    let pace = Pace::default();
    let score = score(check.input("x"), check.input("t"), check.input("d")).unwrap();
    check.finds("S", score);
    check.finds("E", expected(student.at - item.at));
    check.finds("K_player", pace.of(student, item));
    check.finds("K_item", pace.of(item, student));
    let (student_after, item_after) = pace.answered(student, item, score);
    check.finds("theta_new", student_after.at);
    check.finds("beta_new", item_after.at);
    check.finds("U_player_new", student_after.rested(check.input("days_since_play")).doubt);
}

#[test]
fn what_cannot_be_is_nothing() {
    for (credit, elapsed, limit) in [
        (1.1, 1.0, 2.0),
        (f64::NAN, 1.0, 2.0),
        (1.0, -1.0, 2.0),
        (1.0, f64::NAN, 2.0),
        (1.0, 1.0, 0.0),
    ] {
        assert_eq!(score(credit, elapsed, limit), None);
    }
    assert_eq!(score(1.0, f64::INFINITY, f64::INFINITY), Some(0.0));
    assert_eq!((guess(0, 0, 0.5), guess(3, 3, 0.5), guess(3, 1, 1.5)), (None, None, None));
    assert_eq!((break_even(0), break_even(1)), (None, None));
    for pairs in
        [&[][..], &[(2.0, 1.0)], &[(1.0, 0.0)], &[(f64::NAN, 1.0)], &[(1.0, f64::INFINITY)]]
    {
        assert_eq!(levels(1.0, pairs), None);
    }
    assert_eq!(levels(f64::INFINITY, &[(1.0, 1.0)]), None);
    assert!((expected(f64::INFINITY) - 1.0).abs() < 1e-12);
    assert!((expected(f64::MAX) - 1.0).abs() < 1e-12);
    assert!((levels(1e300, &[(-1.0, 1.0), (1.0, 1.0)]).unwrap().expected - 1.0).abs() < 1e-12);
    let odd = Rating { at: 0.0, doubt: f64::NAN }.rested(1.0);
    assert!((odd.doubt - 1.0).abs() < 1e-12);
}

proptest! {
    /// Right and wrong alone are two levels; and the two forms of E S meet where the series ends.
    #[test]
    fn two_levels_are_the_rule(gap in -30.0..30.0f64) {
        let found = levels(gap, &[(-1.0, 1.0), (1.0, 1.0)]).unwrap();
        prop_assert!((found.expected - expected(gap)).abs() < 1e-12);
        prop_assert!((found.chances[1] - chance(gap, 0.0, 1.0)).abs() < 1e-12);
    }

    /// E S is odd, rises, and has slope 1/3 at most.
    #[test]
    fn expected_scores_rise(a in -3.0..3.0f64, step in 1e-4..0.5f64) {
        let (low, high) = (expected(a), expected(a + step));
        prop_assert!(low < high && high - low <= step / 3.0 + 1e-12);
        prop_assert!((expected(-a) + low).abs() < 1e-15);
    }

    /// The definition of E S, by the middle of a thousand steps in u over both answers.
    #[test]
    fn expected_scores_are_integrals(gap in -8.0..8.0f64) {
        let (mut sum, mut whole) = (0.0, 0.0);
        for step in -1000..1000 {
            let s = (f64::from(step) + 0.5) / 1000.0;
            sum += s * (gap * s).exp();
            whole += (gap * s).exp();
        }
        prop_assert!((sum / whole - expected(gap)).abs() < 1e-5);
    }

    /// Whoever answers better than expected rises, the item falls; doubt moves the doubtful.
    #[test]
    fn ratings_move_the_right_way(
        at in -3.0..3.0f64, item in -3.0..3.0f64, doubts in (0.0..1.0f64, 0.0..1.0f64), s in -1.0..1.0f64,
    ) {
        let (student, item) = (Rating { at, doubt: doubts.0 }, Rating { at: item, doubt: doubts.1 });
        let (after, item_after) = Pace::default().answered(student, item, s);
        let surprise = s - expected(student.at - item.at);
        prop_assert!((after.at - student.at) * surprise >= 0.0);
        prop_assert!((item_after.at - item.at) * surprise <= 0.0);
        prop_assert!((0.0..=1.0).contains(&after.rested(doubts.0 * 100.0).doubt));
    }

    /// Credit of a half always pays for blurting; the break-even never does, nor less.
    #[test]
    fn blurting(names in 2u32..60, part in 0.0..1.0f64) {
        let even = break_even(names).unwrap();
        prop_assert!((0.0..0.5).contains(&even));
        prop_assert!(guess(names, names - 1, 0.5).unwrap() > 0.0);
        prop_assert!(guess(names, names - 1, even * part).unwrap() <= 1e-12);
    }
}

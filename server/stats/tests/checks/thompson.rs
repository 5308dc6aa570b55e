//! What to look at next.

use myonym_stats::forget::{Fading, Round};
use myonym_stats::information::expected_gain;
use myonym_stats::thompson::{by_quantile, draws, order};
use myonym_stats::{Beta, Level, Tally, chance};
use proptest::prelude::*;
use serde::Deserialize;
use serde_json::{Map, Value};

use crate::reference::check;

#[derive(Deserialize)]
struct Seen {
    age: f64,
    confused: u32,
    asked: u32,
}

/// The three pairs of the worked example.
fn pairs() -> Vec<Beta> {
    let arms: Map<String, Value> = check("select.ts").input("arms");
    let fading = Fading::new(0.9, 0.0).unwrap();
    let pair = |rounds: Value| {
        let rounds: Vec<Seen> = serde_json::from_value(rounds).unwrap();
        let round = |seen: &Seen| Round {
            age: seen.age,
            seen: Tally::new(seen.confused, seen.asked).unwrap(),
            weight: 1.0,
        };
        let rounds: Vec<Round> = rounds.iter().map(round).collect();
        fading.posterior(Beta::new(1.0, 9.0).unwrap(), &rounds).unwrap()
    };
    arms.into_iter().map(|(_, rounds)| pair(rounds)).collect()
}

#[test]
fn the_worked_example_agrees() {
    let check = check("select.ts");
    let known = pairs();
    let posteriors: Vec<[f64; 2]> = check.wanted("posterior");
    for (found, want) in known.iter().zip(posteriors) {
        check.near_by("posterior", found.alpha(), want[0]);
        check.near_by("posterior", found.beta(), want[1]);
    }
    check.finds_all("mean", &known.iter().map(|pair| pair.mean()).collect::<Vec<f64>>());
    check.finds_all("p_first", &chance::largest(&known));
    let quantiles = known.iter().map(|pair| pair.quantile(Level::P90)).collect::<Vec<f64>>();
    check.finds_all("bayes_ucb_q90", &quantiles);
    assert_eq!(by_quantile(&known, Level::P90), [0, 2, 1]);
}

/// Over 20 000 seeds each pair comes first as often as computed, within 4 standard errors.
#[test]
fn first_picks_come_as_often_as_computed() {
    let seeds = 20_000;
    let known = pairs();
    let mut first = [0_u32; 3];
    for seed in 0..seeds {
        first[order(&known, seed)[0]] += 1;
    }
    let wanted: [f64; 3] = check("select.ts").wanted("p_first");
    for (times, want) in first.into_iter().zip(wanted) {
        let error = (want * (1.0 - want) / 20_000.0).sqrt();
        let found = f64::from(times) / 20_000.0;
        assert!((found - want).abs() < 4.0 * error, "{found} is not {want} ± {error}");
    }
}

/// Draws of small shapes have the mean and variance of their distribution, within 4 standard
/// errors (of the variance roughly, by the fourth moment drawn).
#[test]
fn draws_of_small_shapes_have_their_moments() {
    let number = 4000;
    for (alpha, beta) in [(0.05, 0.3), (0.4, 6.0), (0.5, 0.5), (3.0, 0.2)] {
        let known = Beta::new(alpha, beta).unwrap();
        let found = draws(&vec![known; number], 7);
        let mean = |f: &dyn Fn(f64) -> f64| found.iter().copied().map(f).sum::<f64>() / 4000.0;
        let off = |x: f64| x - known.mean();
        assert!(mean(&off).abs() < 4.0 * known.sd() / 4000_f64.sqrt());
        let variance = mean(&|x| off(x).powi(2));
        let error = (mean(&|x| off(x).powi(4)) - variance * variance).sqrt() / 4000_f64.sqrt();
        assert!((variance - known.sd().powi(2)).abs() < 4.0 * error);
    }
}

/// A logged seed means the same for ever. The uniform numbers are those of `ChaCha8Rng` from
/// `seed_from_u64(1)`; the draws are scipy 1.17.1, `beta.ppf` of these.
#[test]
fn a_seed_means_the_same_for_ever() {
    let uniform = [0.402_485_663_664_847_7, 0.080_383_708_929_781_94, 0.596_560_180_934_853_2];
    let drawn = [0.309_782_381_408_720_7, 0.076_515_490_220_148_3, 0.185_588_904_811_923_7];
    for (known, want) in [(vec![Beta::UNIFORM; 3], uniform), (pairs(), drawn)] {
        for (found, want) in draws(&known, 1).into_iter().zip(want) {
            assert!((found - want).abs() < 1e-12, "{found} is not {want}");
        }
    }
}

#[test]
fn nothing_to_choose_from_is_nothing() {
    assert!(order(&[], 1).is_empty());
    assert!(by_quantile(&[], Level::P90).is_empty());
    assert_eq!(order(&[Beta::UNIFORM], 1), [0]);
}

#[test]
fn expected_gains_agree() {
    #[derive(Deserialize)]
    struct Input {
        a: f64,
        b: f64,
    }
    let check = check("select.eig");
    let found = check
        .inputs::<Vec<Input>>()
        .into_iter()
        .map(|Input { a, b }| expected_gain(Beta::new(a, b).unwrap()));
    check.all_near(&found.collect::<Vec<f64>>(), &check.expected::<Vec<f64>>());
}

fn known() -> impl Strategy<Value = Vec<Beta>> {
    let shape = || (-3.0..6.0_f64).prop_map(f64::exp);
    let beta = (shape(), shape()).prop_map(|(a, b)| Beta::new(a, b).unwrap());
    proptest::collection::vec(beta, 1..12)
}

proptest! {
    #[test]
    fn a_seed_replays(known in known(), seed in any::<u64>()) {
        let found = order(&known, seed);
        prop_assert_eq!(&found, &order(&known, seed));
        let mut sorted = found.clone();
        sorted.sort_unstable();
        prop_assert!(sorted.into_iter().eq(0..known.len()));
        prop_assert!(draws(&known, seed).iter().all(|draw| (0.0..=1.0).contains(draw)));
    }

    /// A pair that is confused once more is drawn no lower by the same seed; the others as before.
    #[test]
    fn one_more_confusion_never_draws_lower(known in known(), seed in any::<u64>()) {
        let mut more = known.clone();
        more[0] = known[0].after(Tally::new(1, 1).unwrap()).unwrap();
        let (before, after) = (draws(&known, seed), draws(&more, seed));
        prop_assert!(after[0] >= before[0]);
        prop_assert!(before[1..] == after[1..]);
    }

    #[test]
    fn an_answer_teaches_less_the_more_is_known(known in known()) {
        for beta in known {
            let gain = expected_gain(beta);
            prop_assert!((0.0..=std::f64::consts::LN_2).contains(&gain));
            let double = Beta::new(2.0 * beta.alpha(), 2.0 * beta.beta()).unwrap();
            prop_assert!(expected_gain(double) < gain);
            let mirrored = Beta::new(beta.beta(), beta.alpha()).unwrap();
            prop_assert!((expected_gain(mirrored) - gain).abs() < 1e-12);
        }
    }
}

//! Fading evidence.

use myonym_stats::forget::{Fading, Round, retained, saved};
use myonym_stats::{Beta, Tally};
use proptest::prelude::*;
use serde::Deserialize;

use crate::reference::check;

fn round(age: f64, hits: u32, of: u32) -> Round {
    Round { age, seen: Tally::new(hits, of).unwrap(), weight: 1.0 }
}

#[test]
fn half_lives_agree() {
    #[derive(Deserialize)]
    struct Input {
        t: f64,
        h: f64,
    }
    let check = check("forget.half");
    let found =
        check.inputs::<Vec<Input>>().into_iter().map(|Input { t, h }| retained(t, h).unwrap());
    check.all_near(&found.collect::<Vec<f64>>(), &check.expected::<Vec<f64>>());
}

/// The curve agrees, and lies within 3.5 points of what he measured (his own furthest miss, a day).
#[test]
fn savings_agree() {
    let check = check("forget.ebbinghaus");
    let found: Vec<f64> =
        check.input::<Vec<f64>>("t_min").into_iter().map(|t| 100.0 * saved(t).unwrap()).collect();
    let wanted: Vec<f64> = check.wanted("computed");
    let observed: Vec<f64> = check.wanted("observed");
    assert_eq!(found.len(), wanted.len());
    for ((found, want), observed) in found.iter().zip(wanted).zip(observed) {
        check.near_by("computed", *found, want);
        assert!((found - observed).abs() < 3.5, "{found} against {observed}");
    }
    assert_eq!(saved(1.0), Some(1.0));
    assert_eq!(saved(f64::INFINITY), Some(0.0));
    for odd in [0.9, -5.0, f64::NAN] {
        assert_eq!(saved(odd), None);
    }
}

/// Twenty-five answers to one clue weigh as eleven alone.
#[test]
fn the_design_effect_agrees() {
    let check = check("select.deff");
    let fading = Fading::new(1.0, check.input("rho")).unwrap();
    let (confused, answers): (u32, u32) = (check.input("confused"), check.input("m"));
    check.finds("deff", fading.design_effect(answers));
    let prior = Beta::new(1.0, 9.0).unwrap();
    let found = fading.posterior(prior, &[round(0.0, confused, answers)]).unwrap();
    check.finds("s_eff", found.alpha() - prior.alpha());
    check.finds("n_eff", found.weight() - prior.weight());
}

#[test]
fn what_cannot_be_is_nothing() {
    assert_eq!(retained(1.0, 0.0), None);
    assert_eq!(retained(-1.0, 1.0), None);
    assert_eq!(retained(f64::NAN, 1.0), None);
    assert_eq!(retained(f64::INFINITY, f64::INFINITY), None);
    for (discount, sharing) in [(0.0, 0.0), (1.1, 0.0), (f64::NAN, 0.0), (0.9, -0.1), (0.9, 1.1)] {
        assert_eq!(Fading::new(discount, sharing), None);
    }
    let fading = Fading::new(0.9, 0.05).unwrap();
    assert_eq!(fading.posterior(Beta::UNIFORM, &[round(-1.0, 1, 2)]), None);
    assert_eq!(fading.posterior(Beta::UNIFORM, &[round(f64::NAN, 1, 2)]), None);
    assert_eq!(fading.posterior(Beta::UNIFORM, &[]), Some(Beta::UNIFORM));
    assert_eq!(fading.posterior(Beta::UNIFORM, &[round(3.0, 0, 0)]), Some(Beta::UNIFORM));
    assert!((fading.design_effect(0) - 1.0).abs() < 1e-12);
}

fn rounds() -> impl Strategy<Value = Vec<Round>> {
    let one = (0u32..12, 0u32..30, 0u32..30)
        .prop_map(|(age, hits, misses)| round(f64::from(age), hits, hits + misses));
    proptest::collection::vec(one, 0..8)
}

fn near(a: Beta, b: Beta) -> bool {
    (a.alpha() - b.alpha()).abs() < 1e-9 && (a.beta() - b.beta()).abs() < 1e-9
}

proptest! {
    /// A round later: what was known fades towards the prior, and the new round is added.
    #[test]
    fn a_round_at_a_time_is_the_same(rounds in rounds(), g in 0.5..1.0f64, new in 0u32..20) {
        let fading = Fading::new(g, 0.05).unwrap();
        let prior = Beta::new(1.0, 9.0).unwrap();
        let before = fading.posterior(prior, &rounds).unwrap();
        let now = round(0.0, new, 20);
        let mut later: Vec<Round> =
            rounds.iter().map(|round| Round { age: round.age + 1.0, ..*round }).collect();
        later.push(now);
        let faded = |shape: f64, start: f64| g * (shape - start);
        let whole = prior
            .after_part(faded(before.alpha(), 1.0), faded(before.beta(), 9.0))
            .and_then(|kept| fading.posterior(kept, &[now]));
        prop_assert!(near(fading.posterior(prior, &later).unwrap(), whole.unwrap()));
    }

    /// Without fading or sharing it is plain counting, and either makes evidence weigh less.
    #[test]
    fn fading_only_takes_away(rounds in rounds(), g in 0.5..1.0f64, sharing in 0.0..1.0f64) {
        let of = |g, sharing| Fading::new(g, sharing).unwrap().posterior(Beta::UNIFORM, &rounds).unwrap();
        let plain = rounds.iter().try_fold(Beta::UNIFORM, |known, round| known.after(round.seen));
        prop_assert!(near(of(1.0, 0.0), plain.unwrap()));
        let faded = of(g, sharing);
        prop_assert!(faded.alpha() <= of(1.0, 0.0).alpha() + 1e-9);
        prop_assert!(faded.weight() <= of(1.0, 0.0).weight() + 1e-9);
        prop_assert!(faded.alpha() >= 1.0 && faded.beta() >= 1.0);
    }

    #[test]
    fn half_is_left_after_a_half_life(half_life in 0.5..50.0f64) {
        let fading = Fading::of_half_life(half_life, 0.0).unwrap();
        prop_assert!((fading.weight(half_life).unwrap() - 0.5).abs() < 1e-9);
    }
}

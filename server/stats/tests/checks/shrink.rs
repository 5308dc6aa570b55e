//! Priors that tallies give themselves.

use myonym_stats::shrink::{Basis, HEAVIEST, fit, log_likelihood, moments};
use myonym_stats::{Beta, Level, Tally};
use proptest::prelude::*;

use crate::reference::{check, rats};

fn tally(hits: u32, of: u32) -> Tally {
    Tally::new(hits, of).unwrap()
}

/// The 71st group by the first 70.
#[test]
fn moments_of_the_rats() {
    let check = check("eb.moments");
    let found = moments(&rats()[..70]).unwrap();
    let near = |key: &str, found: f64| check.near_by("computed", found, check.wanted(key));
    near("mean", found.mean);
    near("sd", found.variance.sqrt());
    let prior = Beta::with_mean(found.mean, found.weight).unwrap();
    near("alpha", prior.alpha());
    near("beta", prior.beta());
    let last = prior.after(rats()[70]).unwrap();
    near("post_mean", last.mean());
    near("post_sd", last.sd());
    check.finds_all("printed_prior", &[prior.alpha(), prior.beta()]);
    check.finds_all("printed_posterior", &[last.mean(), last.sd()]);
}

#[test]
fn greatest_likelihood_of_the_rats() {
    let check = check("eb.betabinom.mle");
    let found = fit(&rats()).unwrap();
    assert_eq!(found.basis, Basis::Likelihood);
    check.finds("alpha", found.beta.alpha());
    check.finds("beta", found.beta.beta());
    check.finds("loglik", log_likelihood(&rats(), found.beta));
    let five = Level::new(0.05).unwrap();
    for (name, group) in [("0/20", tally(0, 20)), ("4/14", tally(4, 14)), ("16/52", tally(16, 52))]
    {
        let known = found.beta.after(group).unwrap();
        let want = |key: &str| check.wanted::<serde_json::Value>(key)[name].as_f64().unwrap();
        check.near_by("shrunk", known.mean(), want("shrunk"));
        check.near_by("lower05", known.quantile(five), want("lower05"));
    }
}

#[test]
fn rates_that_differ_by_chance_alone_are_pooled() {
    let pooled = |tallies: &[Tally]| {
        let found = fit(tallies).unwrap();
        assert_eq!(found.basis, Basis::Pooled, "{tallies:?}");
        found.beta
    };
    let same = pooled(&[tally(3, 30); 10]);
    assert!((same.weight() - HEAVIEST).abs() < 1e-9);
    assert!((same.mean() - 30.5 / 301.0).abs() < 1e-12);
    // No more than there were trials.
    assert!((pooled(&[tally(0, 5), tally(0, 4)]).weight() - 9.0).abs() < 1e-9);
    pooled(&[tally(7, 7), tally(4, 4)]);
    // One trial each says nothing of how rates differ.
    pooled(&[tally(1, 1), tally(0, 1), tally(0, 1), tally(1, 1), tally(0, 1)]);
}

#[test]
fn all_or_nothing_leaves_next_to_no_prior() {
    let found = fit(&[tally(0, 20), tally(20, 20), tally(0, 30), tally(30, 30)]).unwrap();
    assert!(found.beta.weight() < 0.2, "{found:?}");
    assert!((found.beta.mean() - 0.5).abs() < 1e-6);
    assert_ne!(found.basis, Basis::Pooled);
}

#[test]
fn fewer_than_two_tallies_have_no_prior() {
    assert_eq!(fit(&[]), None);
    assert_eq!(fit(&[tally(1, 2)]), None);
    assert_eq!(fit(&[tally(1, 2), Tally::default()]), None);
    assert_eq!(moments(&[tally(1, 2)]), None);
}

fn tallies() -> impl Strategy<Value = Vec<Tally>> {
    let one = (0u32..60, 0.0..=1.0f64).prop_map(|(of, part)| {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to of")]
        let hits = (f64::from(of) * part) as u32;
        tally(hits, of)
    });
    proptest::collection::vec(one, 2..30)
}

proptest! {
    /// The posterior mean lies between the prior's and the rate; it is nearer the rate for more
    /// trials.
    #[test]
    fn a_posterior_lies_between_prior_and_data(tallies in tallies()) {
        let Some(found) = fit(&tallies) else { return Ok(()) };
        let prior = found.beta.mean();
        for tally in tallies {
            let Some(rate) = tally.rate() else { continue };
            let mean = found.beta.after(tally).unwrap().mean();
            prop_assert!(mean >= prior.min(rate) - 1e-12 && mean <= prior.max(rate) + 1e-12);
        }
    }

    /// No other prior near by is likelier.
    #[test]
    fn the_top_is_a_top(tallies in tallies()) {
        let Some(found) = fit(&tallies) else { return Ok(()) };
        if found.basis != Basis::Likelihood || found.beta.weight() < 0.2 {
            return Ok(());
        }
        let top = log_likelihood(&tallies, found.beta);
        for (a, b) in [(1.05, 1.0), (0.95, 1.0), (1.0, 1.05), (1.0, 0.95), (1.1, 1.1), (0.9, 0.9)] {
            let other = Beta::new(found.beta.alpha() * a, found.beta.beta() * b).unwrap();
            prop_assert!(log_likelihood(&tallies, other) <= top + 1e-9);
        }
    }

    #[test]
    fn hits_and_misses_mirror(tallies in tallies()) {
        let mirrored: Vec<Tally> =
            tallies.iter().map(|one| tally(one.misses(), one.of())).collect();
        let (there, back) = (fit(&tallies), fit(&mirrored));
        prop_assert_eq!(there.map(|prior| prior.basis), back.map(|prior| prior.basis));
        if let (Some(there), Some(back)) = (there, back) {
            let near = |a: f64, b: f64| (a - b).abs() <= 1e-6 * a.max(1.0);
            prop_assert!(near(there.beta.alpha(), back.beta.beta()), "{there:?} {back:?}");
            prop_assert!(near(there.beta.beta(), back.beta.alpha()), "{there:?} {back:?}");
        }
    }

    /// What was never tried changes nothing.
    #[test]
    fn empty_tallies_do_not_count(tallies in tallies()) {
        let mut more = tallies.clone();
        more.insert(0, Tally::default());
        let (before, after) = (fit(&tallies), fit(&more));
        prop_assert_eq!(before.is_some(), after.is_some());
        if let (Some(before), Some(after)) = (before, after) {
            prop_assert!((before.beta.alpha() - after.beta.alpha()).abs() < 1e-6);
        }
    }
}

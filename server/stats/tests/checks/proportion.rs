//! Shares and what is known of them.

use myonym_stats::proportion::{jeffreys, lower_bound, wilson, wilson_corrected, wilson_within};
use myonym_stats::{Beta, Interval, Level, Tally};
use proptest::prelude::*;
use serde::Deserialize;

use crate::reference::check;

fn tally(hits: u32, of: u32) -> Tally {
    Tally::new(hits, of).unwrap()
}

#[derive(Deserialize)]
struct Of {
    x: u32,
    n: u32,
}

#[derive(Deserialize)]
struct WilsonFile {
    checks: Vec<WilsonCheck>,
    tolerance: WilsonTolerance,
}

#[derive(Deserialize)]
struct WilsonTolerance {
    published: f64,
    full: f64,
}

#[derive(Deserialize)]
struct WilsonCheck {
    id: String,
    x: u32,
    n: u32,
    published: Option<[f64; 2]>,
    full: [f64; 2],
}

/// Newcombe 1998, Table I, method 3, and statsmodels; the file names the source of each.
#[test]
fn wilson_intervals_agree_with_published_and_computed_ones() {
    let text = include_str!("../../../../tests/reference/psychometrics/proportions.json");
    let file: WilsonFile = serde_json::from_str(text).unwrap();
    assert_eq!(file.checks.len(), 5);
    for check in file.checks {
        let found = wilson(tally(check.x, check.n), Level::P95).unwrap();
        let near = |want: [f64; 2], tolerance: f64| {
            let apart = (found.low - want[0]).abs().max((found.high - want[1]).abs());
            assert!(apart <= tolerance, "{}: {found:?} is not {want:?}", check.id);
        };
        near(check.full, file.tolerance.full);
        check.published.into_iter().for_each(|printed| near(printed, file.tolerance.published));
    }
}

#[test]
fn corrected_wilson_intervals_agree() {
    let check = check("wilson.cc");
    let wanted: Vec<[f64; 2]> = check.expected();
    for (Of { x, n }, want) in check.inputs::<Vec<Of>>().into_iter().zip(wanted) {
        let found = wilson_corrected(tally(x, n), Level::P95).unwrap();
        check.all_near(&[found.low, found.high], &want);
    }
}

/// By hand: z = 2.575829 for 99 %, 1.644854 for 90 % (Abramowitz & Stegun, table 26.5); of 5 of 10
/// the interval is ½ ± z / (2 √(n + z²)).
#[test]
fn other_levels() {
    for (level, z) in [(Level::P90, 1.644_853_627), (Level::P99, 2.575_829_304)] {
        let found = wilson(tally(5, 10), level).unwrap();
        let half = z / (2.0 * f64::sqrt(10.0 + z * z));
        assert!((found.low - (0.5 - half)).abs() < 1e-9 && (found.high - 0.5 - half).abs() < 1e-9);
    }
}

#[test]
fn jeffreys_intervals_agree() {
    let check = check("jeffreys");
    let wanted: Vec<[f64; 2]> = check.expected();
    for (Of { x, n }, want) in check.inputs::<Vec<Of>>().into_iter().zip(wanted) {
        let found = jeffreys(tally(x, n), Level::P95).unwrap();
        check.all_near(&[found.low, found.high], &want);
    }
}

#[test]
fn nothing_of_some_starts_at_0() {
    let check = check("jeffreys.zero");
    let Of { x, n } = check.inputs();
    let raw = Beta::JEFFREYS.after(tally(x, n)).unwrap().interval(Level::P95);
    check.finds_all("raw", &[raw.low, raw.high]);
    let found = jeffreys(tally(x, n), Level::P95).unwrap();
    check.finds_all("with_end_rule", &[found.low, found.high]);
}

#[test]
fn lower_bounds_agree() {
    #[derive(Deserialize)]
    struct Input {
        a0: f64,
        b0: f64,
        x: u32,
        n: u32,
    }
    let check = check("beta.lower");
    let found = check.inputs::<Vec<Input>>().into_iter().map(|Input { a0, b0, x, n }| {
        lower_bound(Beta::new(a0, b0).unwrap(), tally(x, n), Level::P95).unwrap()
    });
    check.all_near(&found.collect::<Vec<f64>>(), &check.expected::<Vec<f64>>());
}

#[test]
fn quantiles_agree() {
    let check = check("beta.quantile");
    let found: Vec<f64> = check
        .inputs::<Vec<[f64; 3]>>()
        .into_iter()
        .map(|[a, b, p]| Beta::new(a, b).unwrap().quantile(Level::new(p).unwrap()))
        .collect();
    check.all_near(&found, &check.expected::<Vec<f64>>());
}

/// Both directions of a pair as one share.
#[test]
fn a_pair_is_one_share() {
    let check = check("pair.index");
    let there = tally(check.input("n_ab"), check.input("N_a"));
    let pair = there.together(tally(check.input("n_ba"), check.input("N_b"))).unwrap();
    check.finds("C", pair.rate().unwrap());
    let found = wilson(pair, Level::P95).unwrap();
    check.finds_all("wilson", &[found.low, found.high]);
    let prior = Beta::new(1.0, 9.0).unwrap();
    check.finds("beta_mean", prior.after(pair).unwrap().mean());
    check.finds("beta_lower05", lower_bound(prior, pair, Level::P95).unwrap());
}

#[test]
fn what_cannot_be_is_nothing() {
    assert_eq!(Tally::new(3, 2), None);
    assert_eq!(Tally::default().rate(), None);
    assert_eq!(wilson(Tally::default(), Level::P95), None);
    assert_eq!(wilson_corrected(Tally::default(), Level::P95), None);
    for z in [-1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(wilson_within(tally(1, 2), z), None);
    }
    assert_eq!(jeffreys(Tally::default(), Level::P95), None);
    assert_eq!(tally(1, u32::MAX).together(tally(1, 1)), None);
    for p in [0.0, 1.0, -0.1, 1.1, f64::NAN] {
        assert_eq!(Level::new(p), None);
    }
    for shape in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e6] {
        assert_eq!(Beta::new(shape, 1.0), None);
        assert_eq!(Beta::new(1.0, shape), None);
    }
    assert_eq!(Beta::UNIFORM.after_part(-0.5, 1.0), None);
    assert_eq!(Beta::UNIFORM.after_part(f64::NAN, 1.0), None);
    assert_eq!(jeffreys(tally(1, u32::MAX), Level::P95), None);
    // By hand: of no trials a uniform rate is above 0.1 with probability 0.9.
    let bound = lower_bound(Beta::UNIFORM, Tally::default(), Level::P90).unwrap();
    assert!((bound - 0.1).abs() < 1e-12);
}

fn sound(interval: Interval) -> bool {
    0.0 <= interval.low && interval.low <= interval.high && interval.high <= 1.0
}

fn levels() -> impl Strategy<Value = Level> {
    (0.8..0.999).prop_map(|p| Level::new(p).unwrap())
}

fn betas() -> impl Strategy<Value = Beta> {
    let shape = || (-4.0..7.0_f64).prop_map(f64::exp);
    (shape(), shape()).prop_map(|(a, b)| Beta::new(a, b).unwrap())
}

proptest! {
    #[test]
    fn intervals_hold_the_share(of in 1u32..3000, part in 0.0..=1.0f64, level in levels()) {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to of")]
        let share = tally((f64::from(of) * part) as u32, of);
        for found in [wilson(share, level).unwrap(), jeffreys(share, level).unwrap()] {
            prop_assert!(sound(found) && found.holds(share.rate().unwrap()), "{share:?} {found:?}");
        }
        let (plain, corrected) =
            (wilson(share, level).unwrap(), wilson_corrected(share, level).unwrap());
        prop_assert!(sound(corrected) && corrected.holds(plain.low) && corrected.holds(plain.high));
    }

    #[test]
    fn hits_and_misses_mirror(hits in 0u32..400, misses in 0u32..400, level in levels()) {
        prop_assume!(hits + misses > 0);
        let (there, back) = (tally(hits, hits + misses), tally(misses, hits + misses));
        for rule in [wilson, wilson_corrected, jeffreys] {
            let (there, back) = (rule(there, level).unwrap(), rule(back, level).unwrap());
            prop_assert!((there.low + back.high - 1.0).abs() < 1e-12);
            prop_assert!((there.high + back.low - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn surer_is_wider_and_more_is_narrower(of in 1u32..200, hits in 0u32..200) {
        let hits = hits.min(of);
        for rule in [wilson, wilson_corrected, jeffreys] {
            let width = |scale, level| rule(tally(scale * hits, scale * of), level).unwrap().width();
            prop_assert!(width(1, Level::P90) < width(1, Level::P95));
            prop_assert!(width(1, Level::P95) < width(1, Level::P99));
            prop_assert!(width(10, Level::P95) < width(1, Level::P95));
        }
    }

    /// The quantile undoes the distribution function.
    #[test]
    fn a_quantile_is_where_its_probability_lies(beta in betas(), p in 0.001..0.999f64) {
        let at = beta.quantile(Level::new(p).unwrap());
        prop_assert!((0.0..=1.0).contains(&at));
        // A rate within rounding of 0 or 1 cannot say more.
        if at > 1e-300 && at < 1.0 - 1e-9 {
            prop_assert!((beta.cdf(at) - p).abs() < 1e-7, "{beta:?} {p}: {at} {}", beta.cdf(at));
        }
    }

    /// One is likely less than one more hit, and more than one more miss.
    #[test]
    fn a_hit_raises_and_a_miss_lowers(beta in betas(), p in 0.01..0.99f64) {
        let level = Level::new(p).unwrap();
        let (hit, miss) = (beta.after(tally(1, 1)).unwrap(), beta.after(tally(0, 1)).unwrap());
        prop_assert!(miss.mean() < beta.mean() && beta.mean() < hit.mean());
        prop_assert!(miss.quantile(level) <= beta.quantile(level));
        prop_assert!(beta.quantile(level) <= hit.quantile(level));
    }

    #[test]
    fn a_distribution_rises_from_0_to_1(beta in betas(), a in -0.1..1.1f64, b in -0.1..1.1f64) {
        let (low, high) = (beta.cdf(a.min(b)), beta.cdf(a.max(b)));
        prop_assert!(0.0 <= low && low <= high + 1e-12 && high <= 1.0);
        prop_assert!(beta.cdf(0.0) <= 0.0 && beta.cdf(1.0) >= 1.0);
    }
}

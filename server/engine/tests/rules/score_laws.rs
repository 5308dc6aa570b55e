//! Laws of points, over all credits, times and limits.

use myonym_engine::Points;
use myonym_engine::score::{NEAR_FROM, NEAR_MOST, credit, points, verdict};
use myonym_wire::{ScoreRule, Verdict};
use proptest::prelude::*;

const FAIR: ScoreRule = ScoreRule::SpeedWeighted;
const SIGNED: ScoreRule = ScoreRule::SignedResidualTime;

proptest! {
    /// Under signed residual time what shrinks is the stake, so a wrong answer loses less.
    #[test]
    fn later_is_never_worth_more(
        c in credits(), limit in limits(), a in 0..700_000_u64, b in 0..700_000_u64,
    ) {
        let (early, late) = (a.min(b), a.max(b));
        prop_assert!(points(FAIR, c, early, limit) >= points(FAIR, c, late, limit));
        let stake = |t| points(SIGNED, c, t, limit).0.abs();
        prop_assert!(stake(early) >= stake(late));
        prop_assert!(points(SIGNED, 1.0, early, limit) >= points(SIGNED, 1.0, late, limit));
    }

    #[test]
    fn right_beats_near_beats_wrong(
        near in 0.001..=NEAR_MOST, limit in limits(), t in 0..700_000_u64,
    ) {
        let of = |rule| [1.0, near, 0.0].map(|c| points(rule, c, t, limit));
        let [right, near, wrong] = of(FAIR);
        prop_assert!(right > near && near > wrong, "{:?}", of(FAIR));
        let [right, near, wrong] = of(SIGNED);
        prop_assert!(right >= near && near >= wrong, "{:?}", of(SIGNED));
        // Some of the limit is left, enough for a hundredth of a point.
        if limit.is_none_or(|limit| t + u64::from(limit) / 10 < u64::from(limit)) {
            prop_assert!(right > near && near > wrong, "{:?}", of(SIGNED));
        }
    }

    /// However slow the one and however fast the other.
    #[test]
    fn any_right_answer_beats_any_near_miss(
        nearness in 0.0..1.0, limits in (limits(), limits()),
        times in (0..700_000_u64, 0..700_000_u64),
    ) {
        let right = points(FAIR, credit(true, 1.0), times.0, limits.0);
        let near = points(FAIR, credit(false, nearness), times.1, limits.1);
        prop_assert!(right > near, "{right:?} {near:?}");
    }

    #[test]
    fn speed_weighted_points_lie_from_0_to_100(
        c in credits(), limit in limits(), t in any::<u64>(),
    ) {
        prop_assert!((0..=10_000).contains(&points(FAIR, c, t, limit).0));
        prop_assert!((-10_000..=10_000).contains(&points(SIGNED, c, t, limit).0));
    }

    #[test]
    fn without_a_limit_time_does_not_count(c in credits(), t in any::<u64>()) {
        for rule in [FAIR, SIGNED] {
            prop_assert_eq!(points(rule, c, t, None), points(rule, c, 0, Some(1_000)));
        }
    }

    #[test]
    fn past_the_limit_is_as_at_the_limit(c in credits(), limit in 0..600_000_u32, late: u32) {
        let at = u64::from(limit);
        for rule in [FAIR, SIGNED] {
            let late = points(rule, c, at + u64::from(late), Some(limit));
            prop_assert_eq!(late, points(rule, c, at, Some(limit)));
        }
        prop_assert_eq!(points(SIGNED, c, at, Some(limit)), Points(0));
    }

    #[test]
    fn nearer_never_earns_less(a in 0.0..=1.0, b in 0.0..=1.0) {
        let (far, near) = (f64::min(a, b), f64::max(a, b));
        prop_assert!(credit(false, far) <= credit(false, near));
        prop_assert!(credit(false, near) <= NEAR_MOST);
        prop_assert!(credit(false, near) < credit(true, 0.0));
        let called = verdict(false, credit(false, near));
        prop_assert_eq!(called == Verdict::Wrong, credit(false, near) <= 0.0);
    }
}

#[test]
fn points_by_hand() {
    let check = |rule, c, elapsed, limit, hundredths| {
        assert_eq!(points(rule, c, elapsed, limit), Points(hundredths), "{c} {elapsed} {limit:?}");
    };
    check(FAIR, 1.0, 0, Some(20_000), 10_000);
    check(FAIR, 1.0, 10_000, Some(20_000), 7_500);
    check(FAIR, 1.0, 20_000, Some(20_000), 5_000);
    check(FAIR, 0.25, 10_000, Some(20_000), 1_875);
    check(FAIR, 0.0, 0, Some(20_000), 0);
    check(SIGNED, 1.0, 10_000, Some(20_000), 5_000);
    check(SIGNED, 0.25, 10_000, Some(20_000), -2_500);
    check(SIGNED, 0.0, 10_000, Some(20_000), -5_000);
    // The same share of a stretched limit is worth the same.
    check(FAIR, 1.0, 15_000, Some(30_000), 7_500);
    // A limit of nothing has run out at once.
    check(FAIR, 1.0, 0, Some(0), 5_000);
    check(SIGNED, 1.0, 0, Some(0), 0);
    check(SIGNED, 0.0, 0, Some(0), 0);
    // Untimed.
    check(FAIR, 1.0, 3_600_000, None, 10_000);
    check(SIGNED, 0.0, 3_600_000, None, -10_000);
}

#[test]
fn credit_by_hand() {
    let check = |right, nearness, expected: f64| {
        assert!((credit(right, nearness) - expected).abs() < 1e-9, "{right} {nearness}");
    };
    check(true, 0.0, 1.0);
    check(false, 0.0, 0.0);
    check(false, NEAR_FROM, 0.0);
    check(false, f64::midpoint(NEAR_FROM, 1.0), NEAR_MOST / 2.0);
    check(false, 1.0, NEAR_MOST);
    assert_eq!(verdict(true, 1.0), Verdict::Right);
    assert_eq!(verdict(false, 0.1), Verdict::Near);
    assert_eq!(verdict(false, 0.0), Verdict::Wrong);
}

/// Wrong, near-misses and right.
fn credits() -> impl Strategy<Value = f64> {
    prop_oneof![Just(0.0), Just(1.0), 0.0..=NEAR_MOST]
}

/// Limits of a round, stretched ones among them, and none.
fn limits() -> impl Strategy<Value = Option<u32>> {
    prop_oneof![1 => Just(None), 6 => (1_000..=6_000_000_u32).prop_map(Some)]
}

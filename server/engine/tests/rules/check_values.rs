//! Points and credited times against `tests/reference/psychometrics/scoring.json` and `timing.json`,
//! which name the source of each value.

use myonym_engine::Points;
use myonym_engine::score::{NEAR_MOST, credit, points};
use myonym_engine::timing::{GRACE_MS, JITTER_MS, LAG_CAP_MS, credited};
use myonym_wire::{Millis, ScoreRule};
use serde_json::Value;

use crate::room::SHOULDER;

const SIGNED: ScoreRule = ScoreRule::SignedResidualTime;

/// `srt.raw`: Maris & van der Maas 2012, Psychometrika 77(4):615-633. Ours are per cent.
#[test]
fn signed_residual_time_of_right_and_wrong_answers() {
    let record = record("srt.raw");
    for (case, expected) in each(&record["inputs"]).zip(each(&record["expected"]["scaled"])) {
        let (t, d) = (ms(&case["t"]), limit(&case["d"]));
        close(points(SIGNED, number(&case["x"]), t, Some(d)).as_f64() / 100.0, number(expected));
    }
}

/// `srt.partial`: our extension of the same to credit between 0 and 1.
#[test]
fn signed_residual_time_of_partial_credit() {
    let record = record("srt.partial");
    let (t, d) = (ms(&record["inputs"]["t"]), limit(&record["inputs"]["d"]));
    for (c, expected) in each(&record["inputs"]["c"]).zip(each(&record["expected"]["S"])) {
        close(points(SIGNED, number(c), t, Some(d)).as_f64() / 100.0, number(expected));
    }
}

/// `srt.guess`: derived by hand. What a student earns on average who has narrowed the muscle down
/// to k names, each the near-miss of all others, and blurts one of them.
#[test]
fn blurting_one_of_k_neighbours() {
    let record = record("srt.guess");
    for (c, row) in record["expected"]["E_over_u"].as_object().expect("rows") {
        for (k, expected) in row.as_object().expect("a row") {
            let (k, c) = (k.parse().expect("k"), c.parse().expect("c"));
            close(blurting(k, k - 1, c, 0) / 100.0, number(expected));
            // Half of the time is gone, and so is half of what may be won or lost.
            close(blurting(k, k - 1, c, LIMIT / 2) / 50.0, number(expected));
        }
    }
    for (k, expected) in record["expected"]["c_star"].as_object().expect("a row") {
        let k = k.parse().expect("k");
        let even = number(expected);
        // Thirds of a point are rounded to hundredths, one name at a time.
        assert!(blurting(k, k - 1, even, 0).abs() < 0.01, "k = {k}, c = {even}");
        assert!(blurting(k, k - 1, even + 0.01, 0) > 0.0, "k = {k}");
        assert!(blurting(k, k - 1, (even - 0.01).max(0.0), 0) <= 0.0, "k = {k}");
    }
}

/// `srt.guess.general`: derived by hand. One name of N, of which m are near-misses.
#[test]
fn blurting_one_of_many_names() {
    let record = record("srt.guess.general");
    for (case, expected) in each(&record["inputs"]).zip(each(&record["expected"])) {
        let (n, m) = (count(&case["N"]), count(&case["m"]));
        close(blurting(n, m, number(&case["c"]), 0) / 100.0, number(expected));
    }
}

/// No credit that a near-miss can get makes it pay to blurt one of four or more neighbours.
#[test]
fn our_near_miss_credit_never_makes_blurting_pay() {
    for nearness in 0..=100_u8 {
        let c = credit(false, f64::from(nearness) / 100.0);
        assert!((0.0..=NEAR_MOST).contains(&c), "credit {c} at nearness {nearness} %");
        for k in 4..=30 {
            // Up to the last thousandth of the limit, where hundredths of a point are rounded.
            for elapsed in
                (0..=999).step_by(37).map(|thousandths| u64::from(LIMIT) * thousandths / 1000)
            {
                let won = blurting(k, k - 1, c, elapsed as u32);
                assert!(
                    won < 0.0,
                    "{won} points for one of {k} names at {nearness} %, {elapsed} ms"
                );
            }
        }
        assert!(blurting(3, 2, c, 0) <= 0.0, "three names at {nearness} %");
    }
}

/// The same for the muscles that are taught: whoever wavers between a muscle's answer and its three
/// nearest neighbours earns nothing by blurting any of the four.
#[test]
fn blurting_does_not_pay_in_the_course_on_the_shoulder() {
    let course = &SHOULDER;
    let near = |a, b| course.nearness(a, b);
    for item in course.items() {
        let mut four: Vec<_> = course.items().iter().map(|item| &item.muscle).collect();
        four.sort_by(|a, b| near(&item.muscle, b).total_cmp(&near(&item.muscle, a)));
        four.truncate(4);
        assert_eq!(four[0], &item.muscle);
        for said in &four {
            let of =
                |asked| points(SIGNED, credit(asked == *said, near(asked, said)), 0, Some(LIMIT));
            let sum: i64 = four.iter().map(|asked| of(asked).0).sum();
            assert!(sum < 0, "{said}, one of {four:?}, earns {sum}");
        }
    }
}

/// `srt.hub`: derived by hand. The answer that earns most on average need not be the one believed
/// most: with credit of one half it is not, with ours it is.
#[test]
fn with_our_credit_the_favourite_is_the_best_answer() {
    let record = record("srt.hub");
    let belief: Vec<f64> = each(&record["inputs"]["belief"]).map(number).collect();
    let earned = |credits: Vec<Vec<f64>>| -> Vec<f64> {
        let earn = |row: Vec<f64>| {
            let points = |c| points(ScoreRule::SpeedWeighted, c, 0, Some(LIMIT)).as_f64();
            row.into_iter().zip(&belief).map(|(c, belief)| belief * points(c) / 100.0).sum()
        };
        credits.into_iter().map(earn).collect()
    };
    let best = |earned: &[f64]| (0..earned.len()).max_by(|a, b| earned[*a].total_cmp(&earned[*b]));
    for c in ["05", "02"] {
        let table = &record["inputs"][format!("credit_c{c}")];
        let found = earned(each(table).map(|row| each(row).map(number).collect()).collect());
        for (found, expected) in found.iter().zip(each(&record["expected"][format!("c{c}")])) {
            close(*found, number(expected));
        }
        let expected = count(&record["expected"][format!("argmax_c{c}")]);
        assert_eq!(best(&found), Some(expected as usize));
    }
    let ours = vec![vec![1.0, 0.0, 0.0], vec![0.0, 1.0, NEAR_MOST], vec![0.0, NEAR_MOST, 1.0]];
    assert_eq!(best(&earned(ours)), Some(0));
}

/// `race.credit`: derived by hand, in seconds there and in milliseconds here.
#[test]
fn credited_time() {
    let record = record("race.credit");
    for (case, expected) in each(&record["inputs"]).zip(each(&record["expected"])) {
        assert_eq!((ms(&case["J"]), ms(&case["Cap"])), (JITTER_MS, LAG_CAP_MS));
        let time = |name: &str| Millis(ms(&case[name]));
        let found = credited(time("r_client"), time("r_server"), Some(time("Rmin")));
        assert_eq!(found, Millis(ms(expected)), "{case}");
    }
}

/// `race.gain`: derived by hand. What the second and third case of `race.credit` gain by lying.
#[test]
fn gain_by_lying() {
    let (gain, credit) = (record("race.gain"), record("race.credit"));
    let truth = ms(&gain["inputs"]["true"]);
    let expected = &gain["expected"];
    let gained = |case: usize| {
        let case = &credit["inputs"][case];
        let time = |name: &str| Millis(ms(&case[name]));
        truth - credited(time("r_client"), time("r_server"), Some(time("Rmin"))).0
    };
    assert_eq!(gained(1), ms(&expected["gain_honest_ping"]));
    assert_eq!(gained(2), ms(&expected["gain_inflated_ping"]));
    let network = ms(&credit["inputs"][2]["r_server"]) - truth;
    assert_eq!(LAG_CAP_MS - network, ms(&expected["bound_inflated"]));
    let at = |elapsed| points(SIGNED, 1.0, elapsed, Some(limit(&gain["inputs"]["d"]))).as_f64();
    let won = at(truth - gained(1)) - at(truth);
    // Both are rounded to hundredths of a point.
    assert!((won - 100.0 * number(&expected["score_gain"])).abs() <= 0.01, "{won}");
}

/// What the comment on credited times promises for a limit of 45 s, in hundredths of a point.
#[test]
fn gain_of_a_liar_in_points() {
    let gain =
        |rule, ms| points(rule, 1.0, 0, Some(45_000)).0 - points(rule, 1.0, ms, Some(45_000)).0;
    let fair = ScoreRule::SpeedWeighted;
    assert!(gain(fair, JITTER_MS) <= 5 && gain(SIGNED, JITTER_MS) <= 10);
    assert!(gain(fair, LAG_CAP_MS) <= 28 && gain(SIGNED, LAG_CAP_MS) <= 56);
    const { assert!(GRACE_MS >= LAG_CAP_MS, "an answer given in time must find the round open") };
}

/// A limit in milliseconds at which the values of the tables are whole hundredths of a point.
const LIMIT: u32 = 20_000;

/// Mean points of blurting one of `k` equally likely names of which `near` earn credit `c` where
/// they are wrong.
fn blurting(k: u32, near: u32, c: f64, elapsed: u32) -> f64 {
    let points = |c| points(SIGNED, c, elapsed.into(), Some(LIMIT));
    let (right, close, wrong) = (points(1.0), points(c), points(0.0));
    let sum = right.0 + i64::from(near) * close.0 + i64::from(k - 1 - near) * wrong.0;
    Points(sum).as_f64() / f64::from(k)
}

fn record(id: &str) -> Value {
    let files = [
        include_str!("../../../../tests/reference/psychometrics/scoring.json"),
        include_str!("../../../../tests/reference/psychometrics/timing.json"),
    ];
    let of = |file| -> Value { serde_json::from_str(file).expect("JSON") };
    let mut records = files.into_iter().flat_map(|file| {
        let all = of(file);
        all["checks"].as_array().expect("an array").clone()
    });
    records.find(|record| record["id"] == id).expect(id)
}

fn each(values: &Value) -> impl Iterator<Item = &Value> {
    values.as_array().expect("an array").iter()
}

fn number(value: &Value) -> f64 {
    value.as_f64().expect("a number")
}

fn count(value: &Value) -> u32 {
    u32::try_from(value.as_u64().expect("a count")).expect("a small one")
}

/// Seconds as milliseconds.
fn ms(seconds: &Value) -> u64 {
    (number(seconds) * 1000.0).round() as u64
}

fn limit(seconds: &Value) -> u32 {
    u32::try_from(ms(seconds)).expect("a limit")
}

fn close(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1e-9, "{found}, expected {expected}");
}

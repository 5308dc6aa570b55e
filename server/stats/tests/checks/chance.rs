//! Which rate is larger.

use myonym_stats::Beta;
use myonym_stats::chance::{greater, largest};
use proptest::prelude::*;
use serde::Deserialize;

use crate::reference::check;

#[test]
fn the_closed_form_agrees() {
    #[derive(Deserialize)]
    struct Input {
        a1: f64,
        b1: f64,
        a2: f64,
        b2: f64,
    }
    let check = check("select.pgt");
    let found = check.inputs::<Vec<Input>>().into_iter().map(|Input { a1, b1, a2, b2 }| {
        greater(Beta::new(a1, b1).unwrap(), Beta::new(a2, b2).unwrap())
    });
    check.all_near(&found.collect::<Vec<f64>>(), &check.expected::<Vec<f64>>());
}

#[test]
fn fractional_shapes_agree() {
    let check = check("greater.fractional");
    let [a1, b1, a2, b2]: [f64; 4] = check.inputs();
    let found = greater(Beta::new(a1, b1).unwrap(), Beta::new(a2, b2).unwrap());
    check.near(found, check.expected());
}

#[test]
fn small_shapes_agree() {
    let check = check("largest.small_shapes");
    let known: Vec<Beta> = check
        .inputs::<Vec<[f64; 2]>>()
        .into_iter()
        .map(|[a, b]| Beta::new(a, b).unwrap())
        .collect();
    check.all_near(&largest(&known), &check.expected::<Vec<f64>>());
}

#[test]
fn of_nothing_and_of_one() {
    assert!(largest(&[]).is_empty());
    assert!((largest(&[Beta::UNIFORM])[0] - 1.0).abs() < 1e-12);
    // Far apart: certain, and still numbers.
    let (low, high) = (Beta::new(1.0, 15_000.0).unwrap(), Beta::new(15_000.0, 1.0).unwrap());
    assert!((greater(low, high) - 1.0).abs() < 1e-9);
    assert!(greater(high, low) < 1e-9);
    let found = largest(&[low, high, Beta::new(0.01, 0.01).unwrap()]);
    assert!(found.iter().all(|p| (0.0..=1.0).contains(p)), "{found:?}");
}

fn known() -> impl Strategy<Value = Vec<Beta>> {
    let shape = || (-2.0..6.0_f64).prop_map(f64::exp);
    let beta = (shape(), shape()).prop_map(|(a, b)| Beta::new(a, b).unwrap());
    proptest::collection::vec(beta, 2..7)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Two ways to one number: the sum for whole shapes, and the integral.
    #[test]
    fn sum_and_integral_agree(
        a in 1u32..60, first in (0.2..40.0f64, 0.2..40.0f64), b in 0.2..40.0f64,
    ) {
        let (first, second) =
            (Beta::new(first.0, first.1).unwrap(), Beta::new(f64::from(a), b).unwrap());
        prop_assert!((greater(first, second) - largest(&[first, second])[1]).abs() < 1e-8);
    }

    #[test]
    fn chances_are_a_distribution(known in known()) {
        let found = largest(&known);
        prop_assert!((found.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        prop_assert!(found.iter().all(|p| *p >= 0.0));
        let mut turned = known.clone();
        turned.reverse();
        for (a, b) in found.iter().zip(largest(&turned).iter().rev()) {
            prop_assert!((a - b).abs() < 1e-8);
        }
        // One of two is the larger.
        let (there, back) = (greater(known[0], known[1]), greater(known[1], known[0]));
        prop_assert!((there + back - 1.0).abs() < 1e-8);
    }
}

//! Two clocks.

use myonym_stats::clocks::{Offset, now_there};
use proptest::prelude::*;

use crate::reference::check;

#[test]
fn an_exchange_agrees() {
    let check = check("ntp");
    let [sent, received, answered, back] = ["T1", "T2", "T3", "T4"].map(|key| check.input(key));
    let found = Offset::of_exchange(sent, received, answered, back);
    check.finds("theta", found.ahead);
    check.finds("delta", found.delay);
    check.finds("bound", found.bound());
    // The true offset is 0.1: 0.05 up and 0.03 down.
    check.finds("error", found.ahead - 0.1);
}

#[test]
fn the_least_delay_is_best() {
    let check = check("ntp.minfilter");
    let samples: Vec<[f64; 2]> = check.input("samples_theta_delta");
    let offsets: Vec<Offset> =
        samples.into_iter().map(|[ahead, delay]| Offset { ahead, delay }).collect();
    let found = Offset::best(&offsets).unwrap();
    check.finds_all("chosen", &[found.ahead, found.delay]);
    check.finds("bound", found.bound());
    assert_eq!(Offset::best(&[]), None);
}

#[test]
fn a_question_agrees() {
    let check = check("cristian");
    let (delay, least) = (check.input("D"), check.input("min_one_way"));
    check.finds("estimate", now_there(check.input("T_server"), delay));
    check.finds("error", Offset { ahead: 0.0, delay }.bound_if(least));
    assert!(Offset { ahead: 0.0, delay: 0.1 }.bound_if(1.0).abs() < 1e-12, "never below 0");
}

proptest! {
    /// Whatever the true offset and the two delays: the bounds hold.
    #[test]
    fn bounds_hold(
        ahead in -50.0..50.0f64, up in 0.0..2.0f64, down in 0.0..2.0f64, at in 0.0..100.0f64,
        thinking in 0.0..5.0f64,
    ) {
        let received = at + up + ahead;
        let back = at + up + thinking + down;
        let found = Offset::of_exchange(at, received, received + thinking, back);
        let error = (found.ahead - ahead).abs();
        prop_assert!((found.delay - up - down).abs() < 1e-9);
        prop_assert!(error <= found.bound() + 1e-9);
        prop_assert!(error <= found.bound_if(up.min(down)) + 1e-9);
    }
}

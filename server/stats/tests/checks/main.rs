//! Check values and laws. `tests/reference/psychometrics/statistics.md` names the source of each
//! value and data set.

#![expect(clippy::unwrap_used, clippy::panic, reason = "a broken test may break")]

mod chance;
mod clocks;
mod direction;
mod forget;
mod items;
mod other_rasch;
mod proportion;
mod rasch;
mod reference;
mod shrink;
mod similarity;
mod speed_accuracy;
mod thompson;
mod two_parameter;

/// Nothing stands in the reference that no test looks at.
#[test]
fn every_check_value_is_used() {
    let sources = [
        include_str!("chance.rs"),
        include_str!("clocks.rs"),
        include_str!("direction.rs"),
        include_str!("forget.rs"),
        include_str!("items.rs"),
        include_str!("other_rasch.rs"),
        include_str!("proportion.rs"),
        include_str!("rasch.rs"),
        include_str!("shrink.rs"),
        include_str!("similarity.rs"),
        include_str!("speed_accuracy.rs"),
        include_str!("thompson.rs"),
        include_str!("two_parameter.rs"),
    ];
    for id in reference::ids() {
        let quoted = format!("\"{id}\"");
        assert!(sources.iter().any(|source| source.contains(&quoted)), "{id} is not used");
    }
}

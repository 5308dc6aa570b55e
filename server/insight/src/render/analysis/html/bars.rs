//! Shares as bars, one below the other, each with its interval.

use maud::{Markup, html};

use super::figure::{Px, short};
use super::tables::share;
use crate::estimate::Estimate;

/// A bar.
#[derive(Debug)]
pub(super) struct Bar<'a> {
    /// What it is a share of.
    pub(super) label: String,
    /// The share.
    pub(super) rate: &'a Estimate,
}

/// Narrow, so that it fits a phone.
const WIDTH: f64 = 400.0;
const FULL: f64 = 280.0;
const ROW: f64 = 42.0;

/// The drawing of bars, with its size.
pub(super) fn bars(rows: &[Bar<'_>]) -> ((f64, f64), Markup) {
    let at = |place: usize| f64::from(u32::try_from(place).unwrap_or_default()) * ROW;
    let foot = at(rows.len());
    let drawn = html! {
        @for share in [0.0, 0.5, 1.0] {
            path class="grid" d={ "M" (Px(1.0 + share * FULL)) " 0V" (Px(foot + 2.0)) } {}
        }
        @for (place, bar) in rows.iter().enumerate() { (one(bar, at(place))) }
        text x="0" y=(Px(foot + 16.0)) class="soft" { "0" }
        text x=(Px(FULL / 2.0)) y=(Px(foot + 16.0)) class="soft middle" { "50 %" }
        text x=(Px(FULL)) y=(Px(foot + 16.0)) class="soft middle" { "100 %" }
    };
    ((WIDTH, foot + 20.0), drawn)
}

fn one(Bar { label, rate }: &Bar<'_>, y: f64) -> Markup {
    let x = |share: f64| 1.0 + share.clamp(0.0, 1.0) * FULL;
    let middle = y + 27.0;
    let whisker = format!(
        "M{} {middle}H{}M{} {}v8M{} {}v8",
        Px(x(rate.low)),
        Px(x(rate.high)),
        Px(x(rate.low)),
        Px(middle - 4.0),
        Px(x(rate.high)),
        Px(middle - 4.0),
        middle = Px(middle),
    );
    html! {
        // A ground of its own, so that no grid line runs through the words.
        rect x="3" y=(Px(y + 1.0)) width=(Px(WIDTH - 3.0)) height="17" class="paper" {}
        text x="3" y=(Px(y + 14.0)) { (short(label, WIDTH - 4.0)) }
        rect x="1" y=(Px(y + 20.0)) width=(Px(x(rate.value) - 1.0)) height="14" class="bar" {}
        path d=(whisker) class="whisker" {}
        text x=(Px(FULL + 12.0)) y=(Px(y + 32.0)) { (share(rate)) }
    }
}

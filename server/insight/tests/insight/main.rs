//! Invented reviews, counted and laid out. No student in them is a real one.

#![expect(
    clippy::unwrap_used,
    clippy::panic,
    unreachable_pub,
    reason = "helpers of tests stand outside test functions, and nothing here is exported"
)]

mod analyses;
mod class;
mod contrasted;
mod counting;
mod exports;
mod html;
mod observing;
mod pages;
mod planned;
mod planted;
mod replay;
mod samples;
mod simulated;
mod spots;

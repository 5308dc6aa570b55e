//! The rules of a review, tested against the outside world, by scripts and by laws.

#![expect(clippy::panic, reason = "a helper of a test fails by panic")]
#![expect(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    reason = "the numbers of these tests are small and known"
)]

mod acts;
mod check_values;
mod draw;
mod forgetting;
mod golden;
mod groups;
mod laws;
mod marking;
mod movements;
mod planned;
mod room;
mod score_laws;
mod script;
mod scripted;
mod scripted_time;
mod show;

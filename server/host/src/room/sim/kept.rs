//! Seeds that have failed once, each with what it found. They are played every time.

/// A seed and why it is kept.
pub(super) const KEPT: &[(u64, &str)] = &[
    (
        287,
        "counts held while the log could not be read back waited for an event that never came, and \
         all that was told later waited behind them",
    ),
    (670, "who was found gone while the host stopped was away in the room and not in the log"),
];

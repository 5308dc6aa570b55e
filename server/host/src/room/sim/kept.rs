//! Seeds that have failed once, each with what it found. They are played every time.

/// A seed and why it is kept.
pub(super) const KEPT: &[(u64, &str)] = &[];

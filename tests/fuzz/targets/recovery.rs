//! Any lines as the events that a data file holds of a review: it is damaged, in words, or is gone on
//! with.
#![no_main]

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use myonym::fuzzed::Host;

static HOST: LazyLock<Host> = LazyLock::new(|| {
    let folder = tempfile::tempdir().expect("a folder").keep();
    Host::start(&folder)
});

fuzz_target!(|text: &str| {
    let rows: Vec<&str> = text.lines().collect();
    HOST.recover(&rows);
});

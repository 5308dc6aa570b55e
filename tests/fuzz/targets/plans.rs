//! Any text as a plan file.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| myonym::fuzzed::plan(text));

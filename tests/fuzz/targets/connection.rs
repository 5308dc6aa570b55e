//! Any bytes on a connection. The first says whether a seat was taken before, and whether the rest
//! are the bytes themselves or frames: a first byte, a length, and so many bytes, which are masked
//! and sent as RFC 6455 has it.
#![no_main]

use std::sync::LazyLock;

use libfuzzer_sys::fuzz_target;
use myonym::fuzzed::Host;

static HOST: LazyLock<Host> = LazyLock::new(|| {
    let folder = tempfile::tempdir().expect("a folder").keep();
    Host::start(&folder)
});

fn framed(mut rest: &[u8]) -> Vec<u8> {
    let mut sent = Vec::new();
    while let [first, length, after @ ..] = rest {
        let length = usize::from(*length).min(after.len()).min(125);
        sent.extend([*first, 0x80 | length as u8, 0, 0, 0, 0]);
        sent.extend(&after[..length]);
        rest = &after[length..];
    }
    sent
}

fuzz_target!(|input: &[u8]| {
    let [how, rest @ ..] = input else { return };
    let sent = if how & 2 == 0 { framed(rest) } else { rest.to_vec() };
    HOST.hear(&sent, how & 1 == 1);
});

//! Reserved bits, opcodes, and masks.

use anyhow::Result;
use myonym_tests::TestHost;

use crate::case::{
    BINARY, CLOSE, FIN, GO_ON, PING, PONG, TEXT, always_ends, frame, joins, masked, run,
};

#[tokio::test]
async fn reserved_bits_mean_an_extension_that_nobody_agreed_on() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let mut cases = Vec::new();
    for bits in 1..8_u8 {
        for (opcode, kind) in [(TEXT, "text"), (PING, "ping"), (CLOSE, "close")] {
            let name = format!("{kind} with reserved bits {bits:03b}");
            let sent = [frame(FIN | bits << 4 | opcode, b"")];
            cases.extend(always_ends(&name, "5.2", &sent, 1002));
        }
    }
    let later = [frame(TEXT, b"{"), frame(FIN | 0x40 | GO_ON, b"}")];
    cases.extend(always_ends("a later fragment with RSV1", "5.2", &later, 1002));
    println!("{}", run("reserved bits", &host, cases).await?);
    host.is_sound()
}

#[tokio::test]
async fn reserved_opcodes_end_the_connection() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let mut cases = Vec::new();
    for opcode in (0x3..=0x7_u8).chain(0xb..=0xf) {
        for payload in [&b""[..], b"x"] {
            let name = format!("opcode {opcode:#x} with {} bytes", payload.len());
            cases.extend(always_ends(&name, "5.2", &[frame(FIN | opcode, payload)], 1002));
        }
    }
    // Section 7.4.1: data of a type that cannot be accepted.
    cases.extend(always_ends("binary", "7.4.1", &[frame(FIN | BINARY, b"{}")], 1003));
    let halves = [frame(BINARY, b"{"), frame(FIN | GO_ON, b"}")];
    cases.extend(always_ends("binary in fragments", "7.4.1", &halves, 1003));
    println!("{}", run("opcodes", &host, cases).await?);
    host.is_sound()
}

#[tokio::test]
async fn a_client_masks_every_frame() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let hello = crate::case::join(&host, "Guest");
    let mut cases = Vec::new();
    for (first, kind, payload) in [
        (FIN | TEXT, "text", &b"{}"[..]),
        (FIN | TEXT, "empty text", b""),
        (FIN | PING, "ping", b"x"),
        (FIN | PONG, "pong", b""),
        (FIN | CLOSE, "close", b""),
        (FIN | BINARY, "binary", b"x"),
    ] {
        let bare = [&[first, u8::try_from(payload.len())?], payload].concat();
        cases.extend(always_ends(&format!("{kind} without mask"), "5.1", &[bare], 1002));
    }
    for key in [[0; 4], [0xff; 4], [1, 0, 0, 0], [0, 0, 0, 0x80], *b"{\"ty"] {
        let sent = vec![masked(FIN | TEXT, &hello, key)];
        cases.push(joins(format!("masked with {key:x?}"), "5.3", sent, &[]));
    }
    let (one, other) = hello.split_at(hello.len() / 2 + 1);
    let sent = vec![masked(TEXT, one, [1, 2, 3, 4]), masked(FIN | GO_ON, other, [9, 8, 7, 6])];
    cases.push(joins("a mask of its own for each fragment", "5.3", sent, &[]));
    let second = [masked(TEXT, b"{", [1; 4]), vec![FIN | GO_ON, 1, b'}']];
    cases.extend(always_ends("the second fragment without mask", "5.1", &second, 1002));
    println!("{}", run("masks", &host, cases).await?);
    host.is_sound()
}

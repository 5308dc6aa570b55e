//! Lengths, and how they are written (section 5.2).

use anyhow::Result;
use myonym_tests::TestHost;
use myonym_wire::limits::MESSAGE_BYTES;

use crate::case::{
    Case, FIN, GO_ON, TEXT, When, always_ends, ends, frame, join, joins, run, with_head,
};

const KEY: [u8; 4] = [0x37, 0xfa, 0x21, 0x3d];

/// A message that takes a seat, made so long with spaces that JSON passes by.
fn hello(host: &TestHost, length: usize) -> Vec<u8> {
    let mut hello = join(host, "Guest");
    hello.resize(length, b' ');
    hello
}

fn in_two(length: u16) -> Vec<u8> {
    [&[126], &length.to_be_bytes()[..]].concat()
}

fn in_eight(length: u64) -> Vec<u8> {
    [&[127], &length.to_be_bytes()[..]].concat()
}

#[tokio::test]
async fn messages_up_to_the_limit_are_heard() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let mut cases: Vec<Case> = Vec::new();
    for length in [124, 125, 126, 127, 128, 255, 256, 4_095, 4_096, MESSAGE_BYTES] {
        let hello = hello(&host, length);
        let whole = frame(FIN | TEXT, &hello);
        cases.push(joins(format!("{length} bytes"), "5.2", vec![whole.clone()], &[]));
        let (one, other) = hello.split_at(length / 3);
        let sent = vec![frame(TEXT, one), frame(FIN | GO_ON, other)];
        cases.push(joins(format!("{length} bytes in two fragments"), "5.4", sent, &[]));
        let packets = whole.chunks(1_000).map(<[u8]>::to_vec).collect();
        cases.push(joins(format!("{length} bytes in packets"), "5.2", packets, &[]));
    }
    // Whoever sends must use as few bytes as it takes; whoever hears need not mind.
    for (name, length, head) in [
        ("100 in two bytes", 100, in_two(100)),
        ("125 in two bytes", 125, in_two(125)),
        ("125 in eight bytes", 125, in_eight(125)),
        ("126 in eight bytes", 126, in_eight(126)),
        ("16,384 in eight bytes", MESSAGE_BYTES, in_eight(MESSAGE_BYTES as u64)),
    ] {
        let sent = vec![with_head(FIN | TEXT, &head, &hello(&host, length), KEY)];
        cases.push(joins(format!("a length of {name}"), "5.2", sent, &[]));
    }
    println!("{}", run("lengths", &host, cases).await?);
    host.is_sound()
}

#[tokio::test]
async fn messages_over_the_limit_end_the_connection() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let mut cases = Vec::new();
    for length in [MESSAGE_BYTES + 1, 20_000, 65_535, 65_536, 200_000] {
        let sent = [frame(FIN | TEXT, &hello(&host, length))];
        cases.extend(always_ends(&format!("{length} bytes"), "7.4.1", &sent, 1009));
    }
    for (name, length) in
        [("2^16", 1 << 16), ("2^32", 1 << 32), ("2^62", 1 << 62), ("2^63 - 1", (1 << 63) - 1)]
    {
        let sent = [with_head(FIN | TEXT, &in_eight(length), b"x", KEY)];
        cases.extend(always_ends(&format!("{name} bytes that never come"), "10.4", &sent, 1009));
    }
    let half = hello(&host, MESSAGE_BYTES / 2 + 1);
    let sent = [frame(TEXT, &half), frame(FIN | GO_ON, &half)];
    cases.extend(always_ends("too big in two fragments", "10.4", &sent, 1009));
    let sent: Vec<_> = std::iter::once(frame(TEXT, &[b' '; 1_000]))
        .chain((0..20).map(|_| frame(GO_ON, &[b' '; 1_000])))
        .collect();
    cases.extend(always_ends("too big in many fragments", "10.4", &sent, 1009));
    println!("{}", run("lengths beyond the limit", &host, cases).await?);
    host.is_sound()
}

/// Section 5.2: the most significant bit of a length in eight bytes is 0.
#[tokio::test]
async fn a_length_of_2_to_the_63_or_more_is_none() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let mut cases = Vec::new();
    for length in [1 << 63, (1 << 63) + 1, u64::MAX] {
        let sent = vec![with_head(FIN | TEXT, &in_eight(length), b"x", KEY)];
        for when in [When::First, When::Seated] {
            cases.push(ends(format!("{length:#x}, {when:?}"), "5.2", when, sent.clone(), 1009));
        }
    }
    println!("{}", run("lengths that are none", &host, cases).await?);
    host.is_sound()
}

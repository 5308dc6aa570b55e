//! Messages in fragments (section 5.4).

use anyhow::Result;
use myonym_tests::TestHost;

use crate::case::{
    Case, FIN, GO_ON, PING, PONG, TEXT, When, always_ends, closing, ends, frame, goes_on, join,
    joins, pong, run,
};

/// A message in fragments of these parts.
fn fragments(parts: &[&[u8]]) -> Vec<Vec<u8>> {
    let last = parts.len() - 1;
    let first = |at: usize| {
        let opcode = if at == 0 { TEXT } else { GO_ON };
        if at == last { FIN | opcode } else { opcode }
    };
    parts.iter().enumerate().map(|(at, part)| frame(first(at), part)).collect()
}

#[tokio::test]
async fn a_message_is_the_same_however_it_is_cut() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let hello = join(&host, "Zo\u{eb} Oak");
    let mut cases: Vec<Case> = Vec::new();
    for at in 0..=hello.len() {
        let (one, other) = hello.split_at(at);
        cases.push(joins(format!("cut at byte {at}"), "5.4", fragments(&[one, other]), &[]));
    }
    let single: Vec<&[u8]> = hello.chunks(1).collect();
    cases.push(joins("fragments of one byte", "5.4", fragments(&single), &[]));
    for size in [2, 3, 7, 31] {
        let parts: Vec<&[u8]> = hello.chunks(size).collect();
        cases.push(joins(format!("fragments of {size} bytes"), "5.4", fragments(&parts), &[]));
    }
    let (one, other) = hello.split_at(9);
    for (name, parts) in [
        ("an empty first fragment", [b"", one, other]),
        ("an empty middle fragment", [one, b"", other]),
        ("an empty last fragment", [one, other, b""]),
    ] {
        cases.push(joins(name, "5.4", fragments(&parts), &[]));
    }
    let parts: Vec<&[u8]> = hello.chunks(1).flat_map(|byte| [byte, &b""[..]]).collect();
    cases.push(joins("every second one empty", "5.4", fragments(&parts), &[]));
    // TCP knows no frames: what is written byte by byte is read the same.
    let bytes = frame(FIN | TEXT, &hello).chunks(1).map(<[u8]>::to_vec).collect();
    cases.push(joins("a frame byte by byte", "5.2", bytes, &[]));
    let bytes = fragments(&[one, other]).concat().chunks(1).map(<[u8]>::to_vec).collect();
    cases.push(joins("two fragments byte by byte", "5.4", bytes, &[]));
    println!("{}", run("fragments", &host, cases).await?);
    host.is_sound()
}

#[tokio::test]
async fn control_frames_may_come_in_between() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let hello = join(&host, "Guest");
    let (one, other) = hello.split_at(20);
    let [first, last] = [frame(TEXT, one), frame(FIN | GO_ON, other)];
    let mut cases = Vec::new();
    for payload in [&b""[..], b"now", &[b'x'; 125]] {
        let sent = vec![first.clone(), frame(FIN | PING, payload), last.clone()];
        let name = format!("a ping of {} bytes in between", payload.len());
        cases.push(joins(name, "5.4", sent, &[&pong(payload)]));
        let sent = vec![first.clone(), frame(FIN | PONG, payload), last.clone()];
        let name = format!("a pong of {} bytes in between", payload.len());
        cases.push(joins(name, "5.4", sent, &[]));
    }
    let all = [first.clone(), frame(FIN | PING, b"now"), last.clone()].concat();
    cases.push(joins("all in one packet", "5.4", vec![all], &["pong now"]));
    let close = frame(FIN | 0x8, &closing(1000, b"enough"));
    let sent = vec![first.clone(), close, last];
    cases.push(ends("a close in between: the message is lost", "5.5.1", When::First, sent, 1000));
    println!("{}", run("control frames between fragments", &host, cases).await?);
    host.is_sound()
}

#[tokio::test]
async fn fragments_out_of_order_end_the_connection() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let mut cases = Vec::new();
    for (name, sent) in [
        ("nothing to go on with", vec![frame(FIN | GO_ON, b"x")]),
        ("nothing to go on with, empty", vec![frame(FIN | GO_ON, b"")]),
        ("nothing to go on with, not the last", vec![frame(GO_ON, b"x")]),
        ("a message within another", vec![frame(TEXT, b"{"), frame(FIN | TEXT, b"{}")]),
        ("a second beginning", vec![frame(TEXT, b"{"), frame(TEXT, b"}")]),
        ("binary within text", vec![frame(TEXT, b"{"), frame(FIN | 0x2, b"}")]),
    ] {
        cases.extend(always_ends(name, "5.4", &sent, 1002));
    }
    // Three of them would end it: RFC 6455 leaves to the application what is no message of its own.
    let odd = fragments(&[b"{", b"}"]);
    cases.push(goes_on("a whole one that says nothing", "5.4", odd, &["error not_readable"]));
    let after = [frame(FIN | TEXT, b"{}"), frame(FIN | GO_ON, b"x")].to_vec();
    let mut case = ends("going on after the last one", "5.4", When::Seated, after, 1002);
    case.expected.insert(0, "error not_readable".to_owned());
    cases.push(case);
    println!("{}", run("fragments out of order", &host, cases).await?);
    host.is_sound()
}

//! Pings, pongs, and what no control frame may be (section 5.5).

use anyhow::Result;
use myonym_tests::TestHost;

use crate::case::{
    CLOSE, FIN, PING, PONG, TEXT, When, always_ends, ends, frame, goes_on, join, joins, pong, run,
};

#[tokio::test]
async fn a_ping_is_answered_with_its_own_payload() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let hello = frame(FIN | TEXT, &join(&host, "Guest"));
    let every: Vec<u8> = (0..125).collect();
    let mut cases = Vec::new();
    for payload in [&b""[..], b"x", b"\x00\xff\xfe", &every[..124], &every] {
        let answer = pong(payload);
        let name = format!("a ping of {} bytes", payload.len());
        let ping = frame(FIN | PING, payload);
        cases.push(goes_on(format!("{name}, seated"), "5.5.2", vec![ping.clone()], &[&answer]));
        let bytes = ping.chunks(1).map(<[u8]>::to_vec).collect();
        cases.push(goes_on(format!("{name}, byte by byte"), "5.5.2", bytes, &[&answer]));
        cases.push(joins(format!("{name}, first"), "5.5.2", vec![ping, hello.clone()], &[&answer]));
    }
    println!("{}", run("pings", &host, cases).await?);
    host.is_sound()
}

#[tokio::test]
async fn a_pong_that_nobody_asked_for_is_passed_by() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let hello = frame(FIN | TEXT, &join(&host, "Guest"));
    let mut cases = Vec::new();
    // Eight bytes are what the server's own pings bear: a time in the future, and the year dot.
    for payload in [&b""[..], b"x", &[0xff; 8], &[0; 8], &[b'x'; 125]] {
        let name = format!("a pong of {} bytes", payload.len());
        let sent = vec![frame(FIN | PONG, payload)];
        cases.push(goes_on(format!("{name}, seated"), "5.5.3", sent.clone(), &[]));
        let sent = [sent, vec![hello.clone()]].concat();
        cases.push(joins(format!("{name}, first"), "5.5.3", sent, &[]));
    }
    println!("{}", run("pongs", &host, cases).await?);
    host.is_sound()
}

#[tokio::test]
async fn control_frames_are_short_and_whole() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let mut cases = Vec::new();
    for (opcode, kind) in [(PING, "ping"), (PONG, "pong"), (CLOSE, "close")] {
        let check = |name: &str, sent: Vec<u8>| {
            always_ends(&format!("{kind}: {name}"), "5.5", &[sent], 1002)
        };
        cases.extend(check("a fragment", frame(opcode, b"")));
        cases.extend(check("126 bytes", frame(FIN | opcode, &[0x55; 126])));
        cases.extend(check("16,000 bytes", frame(FIN | opcode, &[0x55; 16_000])));
        // Beyond what any frame may have here, its length is all that is read of it.
        let name = format!("{kind}: 65,536 bytes");
        let sent = [frame(FIN | opcode, &vec![0x55; 65_536])];
        cases.extend(always_ends(&name, "5.5", &sent, 1009));
    }
    println!("{}", run("control frames that may not be", &host, cases).await?);
    host.is_sound()
}

/// A student has 20 messages at once and 2 a second; pings and pongs count.
#[tokio::test]
async fn a_flood_of_control_frames_is_cut_off() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let flood = |first: u8| vec![frame(first, b"").repeat(400)];
    let cases = vec![
        ends("400 pings", "5.5.2", When::Seated, flood(FIN | PING), 1008),
        ends("400 pongs", "5.5.3", When::Seated, flood(FIN | PONG), 1008),
    ];
    println!("{}", run("floods of control frames", &host, cases).await?);
    host.is_sound()
}

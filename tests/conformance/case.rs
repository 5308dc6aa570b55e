//! A case: frames in, what is seen out.

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{RawFrame, RawSocket, TestHost};
use serde_json::{Value, json};

/// FIN and the opcodes of RFC 6455 section 5.2.
pub(crate) const FIN: u8 = 0x80;
pub(crate) const GO_ON: u8 = 0x0;
pub(crate) const TEXT: u8 = 0x1;
pub(crate) const BINARY: u8 = 0x2;
pub(crate) const CLOSE: u8 = 0x8;
pub(crate) const PING: u8 = 0x9;
pub(crate) const PONG: u8 = 0xa;

/// When a case's frames are sent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum When {
    /// As the first message.
    First,
    /// Once a seat is taken.
    Seated,
}

/// What is sent, and what has to come back.
#[derive(Debug)]
pub(crate) struct Case {
    /// What it is about.
    pub(crate) name: String,
    /// The section of RFC 6455, unless it says another.
    pub(crate) section: &'static str,
    /// When it is sent.
    pub(crate) when: When,
    /// Written one after the other.
    pub(crate) pieces: Vec<Vec<u8>>,
    /// What is seen from there to the end: `seated`, `error CODE`, `pong BYTES`, `close CODE`.
    pub(crate) expected: Vec<String>,
}

/// A frame whose payload is masked.
pub(crate) fn frame(first: u8, payload: &[u8]) -> Vec<u8> {
    masked(first, payload, [0x37, 0xfa, 0x21, 0x3d])
}

/// A frame masked with this key (section 5.3), its length in as few bytes as it takes.
pub(crate) fn masked(first: u8, payload: &[u8], key: [u8; 4]) -> Vec<u8> {
    let length = payload.len();
    let head = match (u8::try_from(length), u16::try_from(length)) {
        (Ok(short @ ..126), _) => vec![short],
        (_, Ok(length)) => [&[126], &length.to_be_bytes()[..]].concat(),
        _ => [&[127], &(length as u64).to_be_bytes()[..]].concat(),
    };
    with_head(first, &head, payload, key)
}

/// A frame whose length is written as `head` has it.
pub(crate) fn with_head(first: u8, head: &[u8], payload: &[u8], key: [u8; 4]) -> Vec<u8> {
    let mut frame = vec![first, head[0] | 0x80];
    frame.extend(&head[1..]);
    frame.extend(key);
    frame.extend(payload.iter().zip(key.iter().cycle()).map(|(byte, key)| byte ^ key));
    frame
}

/// The payload of a close frame (section 5.5.1).
pub(crate) fn closing(code: u16, reason: &[u8]) -> Vec<u8> {
    [&code.to_be_bytes(), reason].concat()
}

/// A message that takes a seat.
pub(crate) fn join(host: &TestHost, name: &str) -> Vec<u8> {
    json!({ "type": "join", "word": host.word, "name": name }).to_string().into_bytes()
}

/// A message after which the server closes with 1000.
pub(crate) fn leave() -> Vec<u8> {
    frame(FIN | TEXT, br#"{"type":"leave"}"#)
}

/// A case that ends the connection with this close code.
pub(crate) fn ends(
    name: impl Into<String>,
    section: &'static str,
    when: When,
    pieces: Vec<Vec<u8>>,
    code: u16,
) -> Case {
    let expected = vec![format!("close {code}")];
    Case { name: name.into(), section, when, pieces, expected }
}

/// Such a case as the first message and after a seat was taken.
pub(crate) fn always_ends(
    name: &str,
    section: &'static str,
    pieces: &[Vec<u8>],
    code: u16,
) -> [Case; 2] {
    [When::First, When::Seated]
        .map(|when| ends(format!("{name}, {when:?}"), section, when, pieces.to_vec(), code))
}

/// A case that takes a seat with its frames, and leaves.
pub(crate) fn joins(
    name: impl Into<String>,
    section: &'static str,
    mut pieces: Vec<Vec<u8>>,
    before: &[&str],
) -> Case {
    pieces.push(leave());
    let expected = [before, &["seated", "close 1000"]].concat();
    let expected = expected.into_iter().map(str::to_owned).collect();
    Case { name: name.into(), section, when: When::First, pieces, expected }
}

/// A case of a seated student who is answered so, goes on, and leaves.
pub(crate) fn goes_on(
    name: impl Into<String>,
    section: &'static str,
    mut pieces: Vec<Vec<u8>>,
    answers: &[&str],
) -> Case {
    pieces.push(leave());
    let expected = [answers, &["close 1000"]].concat();
    let expected = expected.into_iter().map(str::to_owned).collect();
    Case { name: name.into(), section, when: When::Seated, pieces, expected }
}

/// A pong as it is seen.
pub(crate) fn pong(payload: &[u8]) -> String {
    format!("pong {}", String::from_utf8_lossy(payload))
}

/// Runs all cases against a host, and fails with every one that went another way.
pub(crate) async fn run(group: &str, host: &TestHost, cases: Vec<Case>) -> Result<String> {
    let mut failed = Vec::new();
    for case in &cases {
        let socket = RawSocket::open(host.address).await?;
        failed.extend(judge(case, host, socket).await.err());
    }
    summary(group, cases.len(), &failed)
}

/// The line of a group, or what failed in it.
pub(crate) fn summary(group: &str, cases: usize, failed: &[anyhow::Error]) -> Result<String> {
    let told: Vec<String> = failed.iter().map(|fault| format!("{fault:#}")).collect();
    ensure!(failed.is_empty(), "{group}: {} of {cases}\n{}", failed.len(), told.join("\n"));
    Ok(format!("{group}: {cases} cases, {cases} passed"))
}

/// Runs a case on a connection.
pub(crate) async fn judge(case: &Case, host: &TestHost, mut socket: RawSocket) -> Result<()> {
    let Case { name, section, when, pieces, expected } = case;
    let seen = sight(*when, pieces, host, &mut socket).await;
    let seen = seen.with_context(|| format!("{name} (section {section}): not {expected:?}"))?;
    // A flood is answered as long as it is borne.
    let pongs = expected.iter().any(|told| told.starts_with("pong"));
    let seen: Vec<String> =
        seen.into_iter().filter(|told| pongs || !told.starts_with("pong")).collect();
    ensure!(seen == *expected, "{name} (section {section}): {seen:?}, not {expected:?}");
    Ok(())
}

async fn sight(
    when: When,
    pieces: &[Vec<u8>],
    host: &TestHost,
    socket: &mut RawSocket,
) -> Result<Vec<String>> {
    let mut seen = Vec::new();
    if when == When::Seated {
        socket.bytes(&frame(FIN | TEXT, &join(host, "Guest"))).await?;
        while !seen.contains(&"seated".to_owned()) {
            let heard = socket.hear().await?.context("no seat")?;
            seen.extend(told(&heard)?);
        }
        seen.clear();
    }
    for piece in pieces {
        // The server may have had enough before all is sent: what it said then tells.
        if socket.bytes(piece).await.is_err() {
            break;
        }
    }
    while let Some(heard) = socket.hear().await? {
        // Section 5.5.1: no data after a close, nor a second one; 5.5.2: pings are still answered.
        let is_over = seen.iter().any(|told| told.starts_with("close"));
        ensure!(!is_over || heard.first & 0x0f == PONG, "{heard:?} after a close");
        seen.extend(told(&heard)?);
        if heard.first == FIN | CLOSE {
            // Section 5.5.1: a close is answered, unless it is an answer; who has gone cannot be told.
            let _ = socket.bytes(&frame(FIN | CLOSE, &heard.payload)).await;
        }
    }
    Ok(seen)
}

/// What a frame adds to what is seen: the server's own pings and news add nothing.
fn told(heard: &RawFrame) -> Result<Option<String>> {
    let RawFrame { first, payload } = heard;
    ensure!(first & FIN != 0, "the server sends fragments: {heard:?}");
    Ok(match first & 0x0f {
        TEXT => {
            let message: Value = serde_json::from_slice(payload)?;
            match message["type"].as_str() {
                Some("seated") => Some("seated".to_owned()),
                Some("error") => message["code"].as_str().map(|code| format!("error {code}")),
                _ => None,
            }
        }
        PING => None,
        PONG => Some(pong(payload)),
        CLOSE if payload.is_empty() => Some("close".to_owned()),
        CLOSE => {
            let code = payload.first_chunk().context("a close code of one byte")?;
            std::str::from_utf8(&payload[2..])?;
            Some(format!("close {}", u16::from_be_bytes(*code)))
        }
        other => anyhow::bail!("opcode {other:#x} from the server"),
    })
}

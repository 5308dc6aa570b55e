//! The opening handshake as the server has to read it (section 4.2).

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{TestHost, http_exactly};

use crate::case::summary;

const REQUEST: &str = "GET /live HTTP/1.1";
const UPGRADE: &str = "Upgrade: websocket";
const CONNECTION: &str = "Connection: Upgrade";
const VERSION: &str = "Sec-WebSocket-Version: 13";
const KEY: &str = "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==";
const PROTOCOL: &str = "Sec-WebSocket-Protocol: myonym.v1";

/// A good handshake with some of its lines left out and others put in their place; the status, and
/// what the head of the answer has to hold.
struct Case {
    section: &'static str,
    without: &'static [&'static str],
    with: &'static [&'static str],
    status: u16,
    holds: &'static str,
}

const fn case(
    section: &'static str,
    without: &'static [&'static str],
    with: &'static [&'static str],
    status: u16,
) -> Case {
    Case { section, without, with, status, holds: "" }
}

const fn told(mut case: Case, holds: &'static str) -> Case {
    case.holds = holds;
    case
}

/// `{host}` stands for the address of the host; the line `Host` for that header.
const CASES: [Case; 62] = [
    // The answer to the key of section 1.3, in lower case as heads are kept.
    told(case("4.2.2", &[], &[], 101), "sec-websocket-accept: s3pplmbitxaq9kygzzhzrbk+xoo="),
    told(case("4.2.2", &[], &[], 101), "upgrade: websocket"),
    told(case("4.2.2", &[], &[], 101), "connection: upgrade"),
    told(case("4.2.2", &[], &[], 101), "sec-websocket-protocol: myonym.v1"),
    // The request line.
    case("4.2.1", &[REQUEST], &["GET /live?word=radius-talus HTTP/1.1"], 101),
    case("4.2.1", &[REQUEST], &["GET http://{host}/live HTTP/1.1"], 101),
    case("4.2.1", &[REQUEST], &["GET /live HTTP/1.0"], 400),
    case("4.2.1", &[REQUEST], &["GET /live HTTP/2.0"], 400),
    case("4.2.1", &[REQUEST], &["GET /live"], 400),
    case("4.2.1", &[REQUEST], &["POST /live HTTP/1.1"], 405),
    case("4.2.1", &[REQUEST], &["PUT /live HTTP/1.1"], 405),
    case("4.2.1", &[REQUEST], &["DELETE /live HTTP/1.1"], 405),
    case("4.2.1", &[REQUEST], &["OPTIONS /live HTTP/1.1"], 405),
    case("4.2.1", &[REQUEST], &["HEAD /live HTTP/1.1"], 405),
    case("4.2.1", &[REQUEST], &["DANCE /live HTTP/1.1"], 405),
    case("4.2.2", &[REQUEST], &["GET /elsewhere HTTP/1.1"], 404),
    case("4.2.2", &[REQUEST], &["GET /live/ HTTP/1.1"], 404),
    // Host.
    case("4.2.1", &["Host"], &[], 400),
    case("4.2.1", &[], &["Host: elsewhere.example"], 400),
    case("4.2.1", &["Host"], &["Host: lab.example"], 101),
    // Upgrade and Connection: tokens, in lists, whatever their case.
    case("4.2.1", &[UPGRADE], &[], 426),
    told(case("4.2.1", &[UPGRADE], &[], 426), "upgrade: websocket"),
    case("4.2.1", &[UPGRADE], &["Upgrade: h2c"], 426),
    case("4.2.1", &[UPGRADE], &["Upgrade: websockets"], 426),
    case("4.2.1", &[UPGRADE], &["Upgrade: WebSocket"], 101),
    case("4.2.1", &[UPGRADE], &["Upgrade: h2c, websocket"], 101),
    case("4.2.1", &[CONNECTION], &[], 426),
    case("4.2.1", &[CONNECTION], &["Connection: close"], 426),
    case("4.2.1", &[CONNECTION], &["Connection: keep-alive"], 426),
    case("4.2.1", &[CONNECTION], &["Connection: keep-alive, Upgrade"], 101),
    case("4.2.1", &[CONNECTION], &["Connection: uPGRADE"], 101),
    case("4.2.1", &[UPGRADE, CONNECTION, VERSION, KEY, PROTOCOL], &[], 426),
    // Version.
    case("4.4", &[VERSION], &[], 426),
    told(case("4.4", &[VERSION], &["Sec-WebSocket-Version: 8"], 426), "sec-websocket-version: 13"),
    told(case("4.4", &[VERSION], &["Sec-WebSocket-Version: 14"], 426), "sec-websocket-version: 13"),
    told(case("4.4", &[VERSION], &["Sec-WebSocket-Version: 0"], 426), "sec-websocket-version: 13"),
    case("4.4", &[VERSION], &["Sec-WebSocket-Version:"], 426),
    case("4.4", &[VERSION], &["Sec-WebSocket-Version: 13.0"], 426),
    case("4.4", &[VERSION], &["Sec-WebSocket-Version: 013"], 426),
    // Key: 16 bytes in base64.
    case("4.2.1", &[KEY], &[], 400),
    case("4.2.1", &[KEY], &["Sec-WebSocket-Key:"], 400),
    case("4.2.1", &[KEY], &["Sec-WebSocket-Key: c2hvcnQ="], 400),
    case("4.2.1", &[KEY], &["Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ"], 400),
    case("4.2.1", &[KEY], &["Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZSE="], 400),
    case("4.2.1", &[KEY], &["Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZSBhbmQ="], 400),
    case("4.2.1", &[KEY], &["Sec-WebSocket-Key: dGhl!HNhbXBsZSBub25jZQ=="], 400),
    case("4.2.1", &[KEY], &["Sec-WebSocket-Key:  dGhlIHNhbXBsZSBub25jZQ==  "], 101),
    // Origin (RFC 6454): that of the page that opened it.
    case("10.2", &[], &["Origin: http://{host}"], 101),
    case("10.2", &[], &["Origin: http://elsewhere.example"], 403),
    case("10.2", &[], &["Origin: http://{host}.elsewhere.example"], 403),
    case("10.2", &[], &["Origin: http://{host}0"], 403),
    case("10.2", &[], &["Origin: http://127.0.0.1"], 403),
    case("10.2", &[], &["Origin: null"], 403),
    case("10.2", &[], &["Origin:"], 403),
    case("10.2", &[], &["Origin: file://"], 403),
    case("10.2", &[], &["Origin: http://elsewhere.example", "Origin: http://{host}"], 403),
    // Subprotocol: one that was offered. Ours is a condition of this server.
    case("4.2.2", &[PROTOCOL], &[], 400),
    case("4.2.2", &[PROTOCOL], &["Sec-WebSocket-Protocol: chat"], 400),
    told(
        case("4.2.2", &[PROTOCOL], &["Sec-WebSocket-Protocol: chat, myonym.v1"], 101),
        "sec-websocket-protocol: myonym.v1\r",
    ),
    case("4.2.2", &[PROTOCOL], &["Sec-WebSocket-Protocol: myonym.v10"], 400),
    // Extensions: offered, and not taken up.
    case("9.1", &[], &["Sec-WebSocket-Extensions: permessage-deflate"], 101),
    // What a server does not know it passes by.
    case("4.2.1", &[], &["Cookie: a=b", "X-Odd: yes"], 101),
];

fn request(case: &Case, host: &str) -> String {
    let own = format!("Host: {host}");
    let good = [REQUEST, "Host", UPGRADE, CONNECTION, VERSION, KEY, PROTOCOL];
    let mut lines: Vec<String> = good
        .iter()
        .filter(|line| !case.without.contains(line))
        .map(|line| if *line == "Host" { own.clone() } else { (*line).to_owned() })
        .collect();
    for line in case.with {
        let line = line.replace("{host}", host);
        // What takes the place of the request line stands first.
        if line.contains(": ") || line.ends_with(':') {
            lines.push(line);
        } else {
            lines.insert(0, line);
        }
    }
    lines.join("\r\n") + "\r\n\r\n"
}

async fn judge(case: &Case, host: &TestHost) -> Result<()> {
    let Case { section, without, with, status, holds } = case;
    let name = format!("without {without:?}, with {with:?} (section {section})");
    let request = request(case, &host.address.to_string());
    let answer = http_exactly(host.address, &request).await.with_context(|| name.clone())?;
    ensure!(answer.status == *status, "{name}: {answer:?}, not {status}");
    ensure!(answer.head.contains(holds), "{name}: {answer:?}, not {holds}");
    let extended = answer.head.contains("sec-websocket-extensions");
    ensure!(!extended, "{name}: an extension that is not spoken: {answer:?}");
    Ok(())
}

#[tokio::test]
async fn handshakes_are_taken_or_refused_as_they_should() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let mut failed = Vec::new();
    for case in &CASES {
        failed.extend(judge(case, &host).await.err());
    }
    println!("{}", summary("handshakes", CASES.len(), &failed)?);
    host.is_sound()
}

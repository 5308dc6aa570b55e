//! HTTP: health, and handshakes that RFC 6455 section 4.2 would not have.

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Class, TestHost, http};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::TcpStream;
use tokio::time::timeout;

const UPGRADE: &str = "Upgrade: websocket\r\nConnection: keep-alive, Upgrade";
const VERSION: &str = "Sec-WebSocket-Version: 13";
const KEY: &str = "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==";
const PROTOCOL: &str = "Sec-WebSocket-Protocol: chat, myonym.v1";

#[tokio::test]
async fn handshakes_that_are_not_right_are_refused_with_the_right_status() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let own_origin = format!("Origin: http://{}", host.address);
    let check = async |status: u16, headers: &[&str]| {
        let request = format!("GET /live HTTP/1.1\r\n{}", headers.join("\r\n"));
        let response = http(host.address, &request).await?;
        ensure!(response.status == status, "{headers:?}: {response:?}, not {status}");
        Ok(response)
    };
    let accepted = check(101, &[UPGRADE, VERSION, KEY, PROTOCOL]).await?;
    // The answer to the key of RFC 6455 section 1.3, in lower case as the head is kept.
    ensure!(accepted.head.contains("s3pplmbitxaq9kygzzhzrbk+xoo="), "{}", accepted.head);
    ensure!(accepted.head.contains("sec-websocket-protocol: myonym.v1\r"), "{}", accepted.head);
    check(101, &[UPGRADE, VERSION, KEY, PROTOCOL, &own_origin]).await?;

    let old = check(426, &[UPGRADE, "Sec-WebSocket-Version: 8", KEY, PROTOCOL]).await?;
    ensure!(old.head.contains("sec-websocket-version: 13\r"), "{}", old.head);
    check(426, &[UPGRADE, KEY, PROTOCOL]).await?;
    let plain = check(426, &["Accept: text/html"]).await?;
    ensure!(plain.head.contains("upgrade: websocket\r"), "{}", plain.head);
    check(400, &[UPGRADE, VERSION, KEY]).await?;
    check(400, &[UPGRADE, VERSION, KEY, "Sec-WebSocket-Protocol: chat"]).await?;
    check(400, &[UPGRADE, VERSION, PROTOCOL]).await?;
    check(400, &[UPGRADE, VERSION, "Sec-WebSocket-Key: c2hvcnQ=", PROTOCOL]).await?;
    check(403, &[UPGRADE, VERSION, KEY, PROTOCOL, "Origin: http://elsewhere.example"]).await?;
    check(403, &[UPGRADE, VERSION, KEY, PROTOCOL, "Origin: null"]).await?;
    host.is_sound()
}

/// A handshake cut anywhere, or with the first message in the same bytes, opens the same door: one that
/// is whole is answered another way than one that is not.
#[tokio::test]
async fn a_handshake_may_come_in_any_pieces() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let lines = [UPGRADE, VERSION, KEY, PROTOCOL].join("\r\n");
    let request = format!("GET /live HTTP/1.1\r\nHost: {}\r\n{lines}\r\n\r\n", host.address);
    let hello = format!(r#"{{"type":"join","word":"{}","name":"Iris"}}"#, host.word);
    // A mask of zeros changes nothing and is a mask all the same.
    let frame = [&[0x81, 0x80 | u8::try_from(hello.len())?, 0, 0, 0, 0], hello.as_bytes()].concat();
    let whole = [request.as_bytes(), &frame].concat();
    let end = request.len();
    for cut in [1, 20, end / 2, end - 4, end - 1, end, end + 1, end + 3, whole.len()] {
        let mut stream = TcpStream::connect(host.address).await?;
        stream.set_nodelay(true)?;
        let (first, second) = whole.split_at(cut);
        stream.write_all(first).await?;
        // The host has seen to the first piece once it has answered somebody else.
        http(host.address, "GET /healthz HTTP/1.1").await?;
        stream.write_all(second).await?;
        let mut said = Vec::new();
        while !String::from_utf8_lossy(&said).contains(r#""type":"seated""#) {
            let read = timeout(myonym_tests::DEADLINE, stream.read_buf(&mut said)).await;
            ensure!(read.with_context(|| format!("cut at {cut}"))?? > 0, "cut at {cut}: {said:?}");
        }
        let head = said.windows(4).position(|four| four == b"\r\n\r\n").context("no head")? + 4;
        ensure!(said.starts_with(b"HTTP/1.1 101 "), "cut at {cut}: {said:?}");
        // RFC 6455 sections 5.2 and 5.5.2: final, a ping, not masked, with a stamp of eight bytes.
        ensure!(said[head..].starts_with(&[0x89, 8]), "cut at {cut}: no first ping");
    }
    host.is_sound()
}

#[tokio::test]
async fn health_is_served_and_nothing_else() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let check = async |status: u16, request: &str| {
        let response = http(host.address, request).await?;
        ensure!(response.status == status, "{request}: {response:?}, not {status}");
        Ok(response)
    };
    assert_eq!(check(200, "GET /healthz HTTP/1.1").await?.body, "ok\nreviews 1\n");
    check(404, "GET /../etc/passwd HTTP/1.1").await?;
    check(404, "GET /myonym.sqlite HTTP/1.1").await?;
    check(405, "POST /live HTTP/1.1\r\nContent-Length: 0").await?;
    check(405, "DELETE / HTTP/1.1").await?;
    check(400, "GET").await?;
    check(431, &format!("GET / HTTP/1.1\r\nX: {}", "x".repeat(32 * 1024))).await?;
    host.is_sound()
}

/// A request that never ends is given up by the server, and a class joins in the meantime.
#[tokio::test]
async fn half_a_request_is_given_up_and_delays_nobody() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let mut slow = Vec::new();
    for _ in 0..50 {
        let mut stream = TcpStream::connect(host.address).await?;
        stream.write_all(b"GET /live HTTP/1.1\r\nHost: ").await?;
        slow.push(stream);
    }
    let mut class = Class::gather_at(host, 2).await?;
    class.open_round().await?;
    for stream in &mut slow {
        let mut said = Vec::new();
        let end = timeout(myonym_tests::DEADLINE, stream.read_to_end(&mut said)).await;
        // Whether it is told 408 or not, the connection is over.
        end.context("still open")?.ok();
        ensure!(said.is_empty() || said.starts_with(b"HTTP/1.1 408"), "{said:?}");
    }
    class.close_round().await?;
    class.host.is_sound()
}

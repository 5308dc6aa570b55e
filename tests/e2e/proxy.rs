//! Behind a reverse proxy: whom limits are held against, which pages are our own, and which address
//! is told; only where a proxy is to be believed.

use anyhow::{Result, bail, ensure};
use myonym_tests::{Client, Role, TestHost, http};
use serde_json::{Value, json};

/// Guesses join words for whoever a proxy on this machine says it is, until told to slow down; how
/// many guesses that took.
async fn guess_until_slowed(host: &TestHost, forwarded: &str) -> Result<u32> {
    for guesses in 0..100 {
        if guess(host, forwarded).await? == "slow_down" {
            return Ok(guesses);
        }
    }
    bail!("{forwarded} may guess for ever")
}

async fn guess(host: &TestHost, forwarded: &str) -> Result<Value> {
    let headers = [("X-Forwarded-For", forwarded)];
    let mut client = Client::open_with(host.address, Role::Student, &headers).await?;
    client.hello(json!({ "type": "join", "word": "rib-rib", "name": "A" })).await?;
    let error = client.expect("error").await?;
    client.expect_close(1008).await?;
    Ok(error["code"].clone())
}

#[tokio::test]
async fn limits_are_held_against_the_address_that_the_proxy_names() -> Result<()> {
    let host = TestHost::start(&["--behind-proxy"]).await?;
    assert!(guess_until_slowed(&host, "192.0.2.7").await? >= 10);
    assert!(guess_until_slowed(&host, "192.0.2.8").await? >= 10);
    assert!(guess_until_slowed(&host, "2001:db8::7").await? >= 10);
    // What the proxy was told by others stands before what it added.
    assert_eq!(guess(&host, "192.0.2.7, 192.0.2.9").await?, "no_such_review");
    assert!(guess_until_slowed(&host, "192.0.2.9, 192.0.2.7").await? < 10);
    host.is_sound()
}

#[tokio::test]
async fn without_the_option_nobody_talks_themselves_into_another_address() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    assert!(guess_until_slowed(&host, "192.0.2.7").await? >= 10);
    // The ten of the first are not its own.
    assert!(guess_until_slowed(&host, "192.0.2.8").await? < 10);
    host.is_sound()
}

/// A handshake with these headers besides those that are always needed (RFC 6455 section 4.1).
async fn shake(host: &TestHost, headers: &[&str]) -> Result<u16> {
    let request = format!(
        "GET /live HTTP/1.1\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n\
         Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\
         Sec-WebSocket-Protocol: myonym.v1\r\n{}",
        headers.join("\r\n")
    );
    Ok(http(host.address, &request).await?.status)
}

/// RFC 6454 section 5: an origin is scheme, host and port; RFC 6455 section 10.2: others get 403.
#[tokio::test]
async fn pages_of_the_proxys_own_address_may_connect_and_others_may_not() -> Result<()> {
    let forwarded = ["X-Forwarded-Host: reviews.example", "X-Forwarded-Proto: https"];
    let origin = |origin: &'static str| [forwarded[0], forwarded[1], origin];
    let own = origin("Origin: https://reviews.example");
    let behind = TestHost::start(&["--behind-proxy"]).await?;
    let plain = TestHost::start(&[]).await?;
    assert_eq!(shake(&behind, &own).await?, 101);
    assert_eq!(shake(&plain, &own).await?, 403);
    for foreign in [
        "Origin: https://elsewhere.example",
        "Origin: http://reviews.example",
        "Origin: https://reviews.example:8443",
        "Origin: null",
    ] {
        assert_eq!(shake(&behind, &origin(foreign)).await?, 403, "{foreign}");
    }
    // A proxy that passes on the host alone.
    let direct = format!("Origin: http://{}", behind.address);
    assert_eq!(shake(&behind, &[&direct]).await?, 101);

    let public = TestHost::start(&["--public-link", "https://reviews.example/"]).await?;
    assert_eq!(shake(&public, &["Origin: https://reviews.example"]).await?, 101);
    assert_eq!(shake(&public, &["Origin: https://elsewhere.example"]).await?, 403);
    for host in [behind, plain, public] {
        host.is_sound()?;
    }
    Ok(())
}

/// What an instructor is told of how students reach the server.
async fn told(host: &TestHost, headers: &[(&str, &str)]) -> Result<(Value, Value)> {
    let mut client = Client::open_with(host.address, Role::Instructor, headers).await?;
    client.hello(json!({ "type": "conduct", "word": host.word, "key": host.key })).await?;
    let conducting = client.expect("conducting").await?;
    Ok((conducting["addresses"].clone(), conducting["secure"].clone()))
}

#[tokio::test]
async fn the_address_that_is_told_is_one_that_works() -> Result<()> {
    let forwarded = [("X-Forwarded-Host", "reviews.example"), ("X-Forwarded-Proto", "https")];
    let through_the_proxy = (json!(["reviews.example"]), json!(true));
    let behind = TestHost::start(&["--behind-proxy"]).await?;
    let direct = (json!([behind.address.to_string()]), json!(false));
    assert_eq!(told(&behind, &forwarded).await?, through_the_proxy);
    assert_eq!(told(&behind, &[]).await?, direct);

    let plain = TestHost::start(&[]).await?;
    let direct = (json!([plain.address.to_string()]), json!(false));
    assert_eq!(told(&plain, &forwarded).await?, direct);

    let options = ["--behind-proxy", "--public-link", "https://lab.example:8443"];
    let public = TestHost::start(&options).await?;
    let named = (json!(["lab.example:8443"]), json!(true));
    assert_eq!(told(&public, &forwarded).await?, named);
    assert_eq!(told(&public, &[]).await?, named);
    ensure!(public.link == format!("https://lab.example:8443/?word={}", public.word));
    Ok(())
}

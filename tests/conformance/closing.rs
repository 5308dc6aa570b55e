//! Closing: codes, reasons, and who goes first (sections 5.5.1, 7).

use anyhow::Result;
use myonym_tests::TestHost;

use crate::case::{
    CLOSE, Case, FIN, PING, TEXT, When, always_ends, closing, ends, frame, join, run,
};

/// Section 7.4.1, and the register that section 11.7 opens: 1012 and 1013 were added to it.
const SAID: [u16; 14] =
    [1000, 1001, 1002, 1003, 1007, 1008, 1009, 1010, 1011, 1012, 1013, 3000, 3999, 4000];
/// Never on the wire (1005, 1006, 1015), kept free (1004, 1016 to 2999), or no code at all.
const NEVER_SAID: [u16; 14] =
    [0, 1, 999, 1004, 1005, 1006, 1015, 1016, 1100, 2000, 2999, 5000, 9999, 65_535];

#[tokio::test]
async fn a_close_is_answered_with_its_code_if_that_may_be_said() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let mut cases = Vec::new();
    for (code, answer) in
        SAID.into_iter().chain([4999]).map(|code| (code, code)).chain(NEVER_SAID.map(|c| (c, 1002)))
    {
        let sent = [frame(FIN | CLOSE, &closing(code, b""))];
        cases.extend(always_ends(&format!("close code {code}"), "7.4", &sent, answer));
    }
    println!("{}", run("close codes", &host, cases).await?);
    host.is_sound()
}

#[tokio::test]
async fn reasons_are_text_and_codes_are_whole() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let mut cases = Vec::new();
    let mut check = |name: &str, section: &'static str, payload: &[u8], answer: u16| {
        let sent = [frame(FIN | CLOSE, payload)];
        cases.extend(always_ends(name, section, &sent, answer));
    };
    check("half a code", "5.5.1", &[3], 1002);
    check("a reason", "5.5.1", &closing(1000, b"good night"), 1000);
    check("a reason of 123 bytes", "5.5", &closing(1000, &[b'x'; 123]), 1000);
    check("a reason of 124 bytes", "5.5", &closing(1000, &[b'x'; 124]), 1002);
    check("a reason in Greek", "5.5.1", &closing(1001, "μῦς".as_bytes()), 1001);
    check("a reason that is no UTF-8", "8.1", &closing(1000, &[0xff]), 1007);
    check("a reason that breaks off", "8.1", &closing(1000, &[b'a', 0xce]), 1007);
    check("a reason with half a pair", "8.1", &closing(1000, &[0xed, 0xa0, 0x80]), 1007);
    for when in [When::First, When::Seated] {
        let pieces = vec![frame(FIN | CLOSE, b"")];
        let expected = vec!["close".to_owned()];
        let name = format!("neither code nor reason, {when:?}");
        cases.push(Case { name, section: "5.5.1", when, pieces, expected });
    }
    println!("{}", run("close payloads", &host, cases).await?);
    host.is_sound()
}

/// Whatever comes after a close frame is not looked at, and the server ends TCP all the same.
#[tokio::test]
async fn nothing_is_heard_after_a_close() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let close = frame(FIN | CLOSE, &closing(1000, b""));
    let mut cases = Vec::new();
    for (name, after) in [
        ("a message", frame(FIN | TEXT, &join(&host, "Guest"))),
        ("a ping", frame(FIN | PING, b"x")),
        ("another close", frame(FIN | CLOSE, &closing(1001, b""))),
        ("nonsense", vec![0xff; 300]),
        ("half a frame", vec![0x81]),
        ("more than a message may have", vec![0x55; 40_000]),
    ] {
        for apart in [false, true] {
            let sent = if apart {
                vec![close.clone(), after.clone()]
            } else {
                vec![[close.clone(), after.clone()].concat()]
            };
            for when in [When::First, When::Seated] {
                let name = format!("{name} after a close, {when:?}, apart: {apart}");
                cases.push(ends(name, "5.5.1", when, sent.clone(), 1000));
            }
        }
    }
    println!("{}", run("after a close", &host, cases).await?);
    host.is_sound()
}

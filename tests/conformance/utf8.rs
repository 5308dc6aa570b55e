//! Text is UTF-8 (sections 5.6, 8.1; RFC 3629).

use anyhow::Result;
use myonym_tests::TestHost;

use crate::case::{Case, FIN, GO_ON, TEXT, always_ends, frame, joins, run};

/// The first and last of each row of well-formed byte sequences in the Unicode Standard, table 3-7
/// (the grammar of RFC 3629 section 4), but for the controls that JSON does not take as they are.
const WELL_FORMED: [&[u8]; 18] = [
    b"\x7f",
    b"\xc2\x80",
    b"\xdf\xbf",
    b"\xe0\xa0\x80",
    b"\xe0\xbf\xbf",
    b"\xe1\x80\x80",
    b"\xec\xbf\xbf",
    b"\xed\x80\x80",
    b"\xed\x9f\xbf",
    b"\xee\x80\x80",
    b"\xef\xbf\xbd",
    b"\xef\xbf\xbf",
    b"\xf0\x90\x80\x80",
    b"\xf0\xbf\xbf\xbf",
    b"\xf1\x80\x80\x80",
    b"\xf3\xbf\xbf\xbf",
    b"\xf4\x80\x80\x80",
    b"\xf4\x8f\xbf\xbf",
];

/// What that table leaves out: bytes that go on with nothing, forms that are too long (of `/`, which
/// RFC 3629 section 10 warns of, among them), surrogates, beyond U+10FFFF, and sequences that break
/// off.
const ILL_FORMED: [&[u8]; 32] = [
    b"\x80",
    b"\xbf",
    b"\x80\xbf",
    b"\xc0\x80",
    b"\xc0\xaf",
    b"\xc1\xbf",
    b"\xe0\x80\x80",
    b"\xe0\x80\xaf",
    b"\xe0\x9f\xbf",
    b"\xf0\x80\x80\xaf",
    b"\xf0\x8f\xbf\xbf",
    b"\xed\xa0\x80",
    b"\xed\xad\xbf",
    b"\xed\xae\x80",
    b"\xed\xbf\xbf",
    b"\xed\xa0\xbd\xed\xb8\x80",
    b"\xf4\x90\x80\x80",
    b"\xf5\x80\x80\x80",
    b"\xf7\xbf\xbf\xbf",
    b"\xf8\x88\x80\x80\x80",
    b"\xfb\xbf\xbf\xbf\xbf",
    b"\xfc\x84\x80\x80\x80\x80",
    b"\xfe",
    b"\xff",
    b"\xc2",
    b"\xc2\x41",
    b"\xe1\x80",
    b"\xe1\x41\x80",
    b"\xe1\x80\x41",
    b"\xe2\x28\xa1",
    b"\xf1\x80\x80",
    b"\xf1\x80\x41\x80",
];

/// A message that takes a seat, with these bytes in its name; and where they stand.
fn hello(host: &TestHost, bytes: &[u8]) -> (Vec<u8>, usize) {
    let before = format!("{{\"type\":\"join\",\"word\":\"{}\",\"name\":\"A", host.word);
    ([before.as_bytes(), bytes, b"\"}"].concat(), before.len())
}

fn cut(message: &[u8], at: usize) -> Vec<Vec<u8>> {
    let (one, other) = message.split_at(at);
    vec![frame(TEXT, one), frame(FIN | GO_ON, other)]
}

#[tokio::test]
async fn well_formed_text_is_heard_however_it_is_cut() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let mut cases: Vec<Case> = Vec::new();
    for bytes in WELL_FORMED {
        let (hello, at) = hello(&host, bytes);
        let whole = vec![frame(FIN | TEXT, &hello)];
        cases.push(joins(format!("{bytes:x?}"), "8.1", whole, &[]));
        for inner in 1..bytes.len() {
            let name = format!("{bytes:x?} cut after {inner}");
            cases.push(joins(name, "5.6", cut(&hello, at + inner), &[]));
        }
    }
    println!("{}", run("UTF-8", &host, cases).await?);
    host.is_sound()
}

#[tokio::test]
async fn ill_formed_text_ends_the_connection() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let mut cases = Vec::new();
    for bytes in ILL_FORMED {
        let (hello, at) = hello(&host, bytes);
        let whole = [frame(FIN | TEXT, &hello)];
        cases.extend(always_ends(&format!("{bytes:x?}"), "8.1", &whole, 1007));
        for inner in 1..bytes.len() {
            let name = format!("{bytes:x?} cut after {inner}");
            cases.extend(always_ends(&name, "5.6", &cut(&hello, at + inner), 1007));
        }
        let at_the_end = [frame(FIN | TEXT, &[b"A", bytes].concat())];
        cases.extend(always_ends(&format!("{bytes:x?} at the end"), "8.1", &at_the_end, 1007));
    }
    println!("{}", run("ill-formed UTF-8", &host, cases).await?);
    host.is_sound()
}

//! Messages without end: fragments are no messages, so no count of messages stops them.

use anyhow::Result;
use myonym_tests::TestHost;

use crate::case::{Case, FIN, GO_ON, PING, TEXT, always_ends, frame, run};

#[tokio::test]
async fn a_message_without_end_is_given_up() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let endless = |between: &[u8], times: usize| {
        vec![frame(TEXT, b"{"), [frame(GO_ON, b""), between.to_vec()].concat().repeat(times)]
    };
    let mut cases: Vec<Case> = Vec::new();
    // 6 bytes each, beyond 128 KiB.
    cases.extend(always_ends("empty fragments", "5.4", &endless(b"", 25_000), 1008));
    let spaces = endless(&frame(GO_ON, b" "), 20_000);
    cases.extend(always_ends("empty fragments and spaces", "10.4", &spaces, 1008));
    let single = vec![frame(TEXT, b"{"), frame(GO_ON, b" ").repeat(17_000)];
    cases.extend(always_ends("fragments of one byte", "10.4", &single, 1009));
    let pings = endless(&frame(FIN | PING, b""), 20_000);
    cases.extend(always_ends("empty fragments and pings", "5.4", &pings, 1008));
    println!("{}", run("messages without end", &host, cases).await?);
    host.is_sound()
}

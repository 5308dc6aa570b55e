//! The same through TLS, where the connection is read through another library's buffers.

use anyhow::Result;
use myonym_tests::{RawSocket, TestHost, shake_hands};

use crate::case::{
    CLOSE, FIN, GO_ON, PING, TEXT, When, closing, ends, frame, goes_on, join, joins, judge, summary,
};

#[tokio::test]
async fn frames_are_heard_through_tls_as_they_are_in_the_clear() -> Result<()> {
    let host = TestHost::start(&["--tls"]).await?;
    let trusted = host.data().join("tls/certificate.pem");
    let hello = join(&host, "Guest");
    let (one, other) = hello.split_at(17);
    let fragments = vec![frame(TEXT, one), frame(FIN | PING, b"x"), frame(FIN | GO_ON, other)];
    let bytes = frame(FIN | TEXT, &hello).chunks(1).map(<[u8]>::to_vec).collect();
    let seated =
        |name, section, sent: Vec<u8>, code| ends(name, section, When::Seated, vec![sent], code);
    let cases = [
        joins("a frame", "5.2", vec![frame(FIN | TEXT, &hello)], &[]),
        joins("a frame byte by byte", "5.2", bytes, &[]),
        joins("fragments and a ping", "5.4", fragments, &["pong x"]),
        goes_on("a ping", "5.5.2", vec![frame(FIN | PING, b"xyz")], &["pong xyz"]),
        seated("too big", "7.4.1", frame(FIN | TEXT, &vec![b' '; 65_536]), 1009),
        seated("not UTF-8", "8.1", frame(FIN | TEXT, b"\xff"), 1007),
        seated("binary", "7.4.1", frame(FIN | 0x2, b""), 1003),
        seated("without mask", "5.1", vec![FIN | TEXT, 2, b'{', b'}'], 1002),
        seated("RSV1", "5.2", frame(0xc1, b"{}"), 1002),
        seated("a close", "5.5.1", frame(FIN | CLOSE, &closing(1001, b"bye")), 1001),
        seated("a close code that is none", "7.4", frame(FIN | CLOSE, &closing(1005, b"")), 1002),
    ];
    let mut failed = Vec::new();
    for case in &cases {
        let stream = shake_hands(host.address, &trusted).await?;
        let socket = RawSocket::through(Box::new(stream), host.address).await?;
        failed.extend(judge(case, &host, socket).await.err());
    }
    println!("{}", summary("through TLS", cases.len(), &failed)?);
    host.is_sound()
}

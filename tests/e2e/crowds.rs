//! Connections in numbers, and guesses: what a class notices of them.

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Class, Client, Closed, DEADLINE, Instructor, Role, Student, TestHost, http};
use myonym_wire::limits::close;
use serde_json::{Value, json};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::net::TcpStream;
use tokio::task::JoinSet;
use tokio::time::{Duration, interval, timeout};

/// A class comes in and plays a round to its end.
async fn class_plays(host: TestHost) -> Result<Class> {
    let mut class = Class::gather_at(host, 5).await?;
    let asked = class.open_round().await?;
    for student in &mut class.students {
        student.answer_recorded(asked.round, &asked.muscle.name).await?;
    }
    class.everyone("round_closed").await?;
    class.reveal().await?;
    Ok(class)
}

/// Waits until the server ends a connection; what it said before.
async fn ended(mut stream: TcpStream) -> Result<String> {
    let mut said = Vec::new();
    // A reset is an end as well.
    timeout(DEADLINE, stream.read_to_end(&mut said)).await.context("still open")?.ok();
    Ok(String::from_utf8(said)?)
}

/// A handshake of which a byte comes now and then.
async fn drip(mut stream: TcpStream) -> Result<String> {
    let mut pace = interval(Duration::from_millis(100));
    for byte in b"GET /live HTTP/1.1\r\nHost: 127.0.0.1\r\nX: ".iter().chain([b'x'; 900].iter()) {
        pace.tick().await;
        if stream.write_all(&[*byte]).await.is_err() {
            break;
        }
    }
    ended(stream).await
}

#[tokio::test]
async fn two_hundred_slow_handshakes_keep_no_class_out() -> Result<()> {
    let host = TestHost::start(&["--rounds", "1"]).await?;
    let mut slow = JoinSet::new();
    for _ in 0..200 {
        slow.spawn(drip(TcpStream::connect(host.address).await?));
    }
    let class = class_plays(host).await?;
    while let Some(said) = slow.join_next().await {
        let said = said??;
        ensure!(said.is_empty() || said.starts_with("HTTP/1.1 408"), "{said}");
    }
    class.host.is_sound()
}

#[tokio::test]
async fn two_thousand_who_say_nothing_keep_no_class_out() -> Result<()> {
    let host = TestHost::start(&["--rounds", "1"]).await?;
    let mut silent = Vec::new();
    for _ in 0..2_000 {
        silent.push(TcpStream::connect(host.address).await?);
    }
    let class = class_plays(host).await?;
    for stream in silent {
        let said = ended(stream).await?;
        ensure!(said.is_empty() || said.starts_with("HTTP/1.1 408"), "{said}");
    }
    class.host.is_sound()
}

/// RFC 9110 section 15.6.4: 503, and when to come again.
#[tokio::test]
async fn a_full_server_says_so_and_those_inside_go_on() -> Result<()> {
    let host = TestHost::start(&["--rounds", "1", "--max-connections", "20"]).await?;
    let mut class = Class::gather_at(host, 5).await?;
    let address = class.host.address;
    let mut silent = Vec::new();
    for _ in class.students.len() + 1..20 {
        silent.push(TcpStream::connect(address).await?);
    }
    for _ in 0..30 {
        let answer = http(address, "GET /healthz HTTP/1.1").await?;
        ensure!(answer.status == 503, "{answer:?}");
        ensure!(answer.head.contains("retry-after: "), "{answer:?}");
    }
    let asked = class.open_round().await?;
    for student in &mut class.students {
        student.answer_recorded(asked.round, &asked.muscle.name).await?;
    }
    class.everyone("round_closed").await?;
    // Those who say nothing lose their places, and others take them.
    for stream in silent {
        ended(stream).await?;
    }
    let word = class.host.word.clone();
    let late = async {
        loop {
            if let Ok(student) = Student::join(address, &word, "Late").await {
                return student;
            }
            tokio::task::yield_now().await;
        }
    };
    timeout(DEADLINE, late).await.context("no place again")?;
    class.reveal().await?;
    class.host.is_sound()
}

/// How a first message is refused: all that is heard of it.
async fn refused(host: &TestHost, hello: &Value) -> Result<(Value, Closed)> {
    let mut client = Client::open(host.address, Role::Student).await?;
    client.hello(hello.clone()).await?;
    let error = client.expect("error").await?;
    Ok((error, client.until_closed().await?))
}

#[tokio::test]
async fn one_who_guesses_is_slowed_and_the_class_behind_the_same_address_is_not() -> Result<()> {
    let mut class = Class::gather(&["--rounds", "1"], 3).await?;
    let (address, word) = (class.host.address, class.host.word.clone());
    let wrong = json!({ "type": "join", "word": "rib-rib", "name": "Guess" });
    let mut guesses = 0;
    let slowed = loop {
        let (error, end) = refused(&class.host, &wrong).await?;
        ensure!(end.code == Some(close::POLICY), "{end:?}");
        if error["code"] == "slow_down" {
            break (error, end);
        }
        ensure!(error["code"] == "no_such_review", "{error}");
        guesses += 1;
        ensure!(guesses < 100, "never slowed");
    };
    // Nor does anyone learn by a seat or a key made up that the word beside it is right.
    let made_up = "7".repeat(32);
    let back = json!({ "type": "return", "word": word, "seat": made_up });
    assert_eq!(refused(&class.host, &back).await?, slowed);
    let conduct = json!({ "type": "conduct", "word": word, "key": made_up });
    let mut client = Client::open(address, Role::Instructor).await?;
    client.hello(conduct).await?;
    assert_eq!(client.expect_error("slow_down").await?, slowed.0);
    // Those of the class come in by the word, by their seats, and by the key.
    class.join("Late").await?;
    let seat = class.students.remove(0).vanish();
    class.students.insert(0, seat.take(address).await?);
    class.instructor = Instructor::conduct(address, Some(&word), &class.host.key).await?;
    let asked = class.open_round().await?;
    for student in &mut class.students {
        student.answer_recorded(asked.round, &asked.muscle.name).await?;
    }
    class.everyone("round_closed").await?;
    class.host.is_sound()
}

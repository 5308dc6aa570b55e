//! Counts of a run whose counts are known, and a log of operations that tells of nobody.

use std::collections::BTreeMap;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Class, Client, RawSocket, Role, TestHost, http};
use prometheus_parse::{Scrape, Value};
use serde_json::{Value as Json, json};

/// Every row as name and labels, as a parser of the format that is not ours reads it.
struct Counts(BTreeMap<String, f64>);

impl Counts {
    async fn of(host: &TestHost) -> Result<Self> {
        let response = http(host.address, "GET /metrics HTTP/1.1").await?;
        ensure!(response.status == 200, "{response:?}");
        let head = "content-type: text/plain; version=0.0.4; charset=utf-8";
        ensure!(response.head.contains(head), "{}", response.head);
        let scrape = Scrape::parse(response.body.lines().map(|line| Ok(line.to_owned())))?;
        let mut rows = BTreeMap::new();
        for sample in scrape.samples {
            let mut labels: Vec<_> =
                sample.labels.iter().map(|(key, of)| format!("{key}={of}")).collect();
            labels.sort_unstable();
            let name = format!("{} {}", sample.metric, labels.join(" "));
            let value = match sample.value {
                Value::Counter(value) | Value::Gauge(value) | Value::Untyped(value) => value,
                Value::Histogram(steps) => steps.last().context("no step")?.count,
                Value::Summary(_) => continue,
            };
            rows.insert(name.trim().to_owned(), value);
        }
        Ok(Self(rows))
    }

    /// Fails if a row is not as it should be.
    fn check(&self, wanted: &[(&str, f64)]) -> Result<()> {
        for (name, want) in wanted {
            let found = self.0.get(*name).with_context(|| format!("no {name}: {:?}", self.0))?;
            ensure!((found - want).abs() < 0.5, "{name} is {found}, not {want}");
        }
        Ok(())
    }

    fn get(&self, name: &str) -> f64 {
        self.0.get(name).copied().unwrap_or(f64::NAN)
    }
}

/// Two rounds of three students: each number follows from what was done.
#[tokio::test]
async fn a_review_is_counted_as_it_was() -> Result<()> {
    let mut class = Class::gather(&["--rounds", "2"], 3).await?;
    let asked = class.open_round().await?;
    for student in &mut class.students {
        student.answer_recorded(asked.round, &asked.muscle.name).await?;
    }
    class.everyone("round_closed").await?;
    let log = class.review_log()?;
    let counts = Counts::of(&class.host).await?;
    counts.check(&[
        ("myonym_rooms kind=class phase=closed", 1.0),
        ("myonym_rooms kind=class phase=open", 0.0),
        ("myonym_students_seated", 3.0),
        ("myonym_students_present", 3.0),
        ("myonym_room_connections role=student", 3.0),
        ("myonym_room_connections role=instructor", 1.0),
        ("myonym_room_connections role=board", 0.0),
        // The scrape is one of them.
        ("myonym_connections", 5.0),
        ("myonym_connections_accepted_total", 5.0),
        ("myonym_answers_received_total", 3.0),
        ("myonym_answers_recorded_total", 3.0),
        ("myonym_events_recorded_total", f64::from(u32::try_from(log.rows.len())?)),
        ("myonym_reviews_opened_total", 1.0),
        // Hellos of four, `start`, and three answers.
        ("myonym_messages_total way=in", 8.0),
        ("myonym_commit_failures_total", 0.0),
        ("myonym_posts_waiting", 0.0),
    ])?;
    let commits = counts.get("myonym_commit_seconds");
    ensure!(commits >= 1.0 && commits <= counts.get("myonym_events_recorded_total"), "{commits}");
    class.reveal().await?;
    let asked = class.open_round().await?;
    class.students[0].answer_recorded(asked.round, &asked.muscle.name).await?;
    class.end().await?;
    Counts::of(&class.host).await?.check(&[
        ("myonym_rooms kind=class phase=ended", 1.0),
        ("myonym_answers_recorded_total", 4.0),
        ("myonym_reviews_ended_total why=instructor", 1.0),
        ("myonym_closes_total code=1000", 3.0),
        ("myonym_room_connections role=student", 0.0),
    ])?;
    class.host.is_sound()
}

/// What is refused, by kind.
#[tokio::test]
async fn refusals_and_limits_are_counted_by_kind() -> Result<()> {
    let mut class = Class::gather(&[], 1).await?;
    let address = class.host.address;
    ensure!(http(address, "GET /live HTTP/1.1").await?.status == 426);
    let hello = |word: &str, name: &str| json!({ "type": "join", "word": word, "name": name });
    let word = class.host.word.clone();
    let refused = async |hello: Json, code: &str| -> Result<()> {
        let mut client = Client::open(address, Role::Student).await?;
        client.say_text(hello.to_string()).await?;
        client.expect_error(code).await?;
        client.expect_close(1008).await?;
        Ok(())
    };
    refused(hello("rib-rib", "A"), "no_such_review").await?;
    refused(hello(&word, " "), "bad_name").await?;
    let key = "0".repeat(32);
    refused(json!({ "type": "conduct", "word": word, "key": key }), "not_allowed").await?;
    refused(json!({ "type": "start" }), "hello_first").await?;
    let mut big = RawSocket::open(address).await?;
    big.frame(0x81, &vec![b'x'; 16 * 1024 + 1], true).await?;
    big.until_closed().await?;
    // Three messages of no kind, and the seat taken from elsewhere.
    let mut guest = myonym_tests::Student::join(address, &word, "Guest").await?;
    for _ in 0..3 {
        guest.client.say_text("{}").await?;
    }
    guest.client.until_closed().await?;
    let first = class.students.remove(0);
    let seat = first.seat.clone();
    let mut before = first.client;
    let again = seat.take(address).await?;
    before.expect_close(4001).await?;
    Counts::of(&class.host).await?.check(&[
        ("myonym_handshakes_refused_total status=426", 1.0),
        ("myonym_handshakes_refused_total status=400", 0.0),
        ("myonym_misses_total kind=word", 1.0),
        ("myonym_misses_total kind=key", 1.0),
        ("myonym_refusals_total code=no_such_review", 1.0),
        ("myonym_refusals_total code=bad_name", 1.0),
        ("myonym_refusals_total code=not_allowed", 1.0),
        ("myonym_refusals_total code=hello_first", 1.0),
        ("myonym_limits_reached_total limit=name", 1.0),
        ("myonym_limits_reached_total limit=message", 1.0),
        ("myonym_limits_reached_total limit=faults", 1.0),
        ("myonym_limits_reached_total limit=flood", 0.0),
        ("myonym_faulty_messages_total", 4.0),
        ("myonym_seats_taken_over_total", 1.0),
        ("myonym_closes_total code=1008", 5.0),
        ("myonym_closes_total code=1009", 1.0),
        ("myonym_closes_total code=4001", 1.0),
    ])?;
    drop(again);
    class.host.is_sound()
}

/// A restart, and a disk that does not save, are counted.
#[tokio::test]
async fn a_restart_and_a_full_disk_are_counted() -> Result<()> {
    let host = TestHost::start_to_be_restarted(&[]).await?;
    let mut class = Class::gather_at(host, 1).await?;
    class.host.kill9().await?;
    class.host.restart().await?;
    class.come_back().await?;
    class.open_round().await?;
    let held = class.host.hold_disk()?;
    class.instructor.say("skip").await?;
    assert_eq!(class.everyone("trouble").await?["trouble"], "cannot_save");
    drop(held);
    assert_eq!(class.everyone("trouble").await?["trouble"], "saving_again");
    Counts::of(&class.host).await?.check(&[
        ("myonym_reviews_taken_up_total", 1.0),
        ("myonym_reviews_opened_total", 0.0),
        ("myonym_rooms_fallen_back_total", 1.0),
        ("myonym_rooms_recovered_total", 1.0),
    ])
}

/// The counts are for this machine, unless it is told otherwise.
#[tokio::test]
async fn counts_are_not_for_callers_from_elsewhere() -> Result<()> {
    let status = async |host: &TestHost, headers: &str| -> Result<u16> {
        Ok(http(host.address, &format!("GET /metrics HTTP/1.1{headers}")).await?.status)
    };
    let elsewhere = "\r\nX-Forwarded-For: 192.0.2.7";
    let alone = TestHost::start(&[]).await?;
    assert_eq!((status(&alone, "").await?, status(&alone, elsewhere).await?), (200, 404));
    let behind = TestHost::start(&["--behind-proxy"]).await?;
    assert_eq!((status(&behind, "").await?, status(&behind, elsewhere).await?), (200, 404));
    let open = TestHost::start(&["--behind-proxy", "--metrics"]).await?;
    assert_eq!((status(&open, "").await?, status(&open, elsewhere).await?), (200, 200));
    Ok(())
}

/// A review with names, answers and secrets that are easily found again, and every way in refused
/// once: none of it stands in the log, in either form, at any level.
#[tokio::test]
async fn the_operations_log_tells_of_nobody() -> Result<()> {
    for form in ["text", "json"] {
        let options = ["--log-format", form, "--log-level", "trace", "--spelling", "strict"];
        let host = TestHost::start(&[&options[..], &["--behind-proxy"]].concat()).await?;
        let mut class = Class::gather_at(host, 0).await?;
        let (address, word) = (class.host.address, class.host.word.clone());
        let (token, person) = ("5ea7".repeat(8), "ab1e".repeat(8));
        let forwarded = [("X-Forwarded-For", "203.0.113.77")];
        let mut client = Client::open_with(address, Role::Student, &forwarded).await?;
        let join = json!({
            "type": "join", "word": word, "name": "Zebediah", "seat": token, "person": person,
            "group": "Quagmire",
        });
        client.hello(join).await?;
        class.students.push(myonym_tests::Student::seated(client, &word).await?);
        let asked = class.open_round().await?;
        class.students[0].answer_recorded(asked.round, "xylophone").await?;
        class.everyone("round_closed").await?;
        let wrong_key = "dead".repeat(8);
        let mut wrong = Client::open_with(address, Role::Student, &forwarded).await?;
        wrong.hello(json!({ "type": "conduct", "word": word, "key": wrong_key })).await?;
        wrong.expect_error("not_allowed").await?;
        wrong.expect_close(1008).await?;
        let mut wrong = Client::open_with(address, Role::Student, &forwarded).await?;
        wrong.say_text("{\"type\": \"Gobbledygook\"}").await?;
        wrong.until_closed().await?;
        class.reveal().await?;
        class.end().await?;
        class.host.stop().await?;
        let log = class.host.operations_log()?;
        let secrets = [
            "Zebediah",
            "zebediah",
            "Quagmire",
            "xylophone",
            &token,
            &person,
            &wrong_key,
            &class.host.key,
            "203.0.113.77",
            "Gobbledygook",
            &class.students[0].seat.id,
        ];
        let found = secrets.iter().find(|secret| log.contains(**secret));
        ensure!(found.is_none(), "{found:?} stands in the log:\n{log}");
        // What it is there for.
        for told in ["came in", "refused at the door", "closed", "203.0.113.0/24"] {
            ensure!(log.contains(told), "{told} does not stand in the log:\n{log}");
        }
        if form == "json" {
            for line in log.lines() {
                let line: Json = serde_json::from_str(line).with_context(|| line.to_owned())?;
                ensure!(line["timestamp"].is_string() && line["level"].is_string(), "{line}");
            }
        }
    }
    Ok(())
}

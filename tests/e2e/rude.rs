//! Clients that break every rule: each gets a typed error or a close code, and the class that is
//! in the middle of a round goes on.

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Class, Client, RawSocket, Role, Student, TestHost};
use myonym_wire::limits::{MESSAGE_BYTES, close};
use serde_json::{Value, json};

/// A class in an open round, to be disturbed.
struct Scene {
    class: Class,
    round: u16,
    answer: String,
}

impl Scene {
    async fn open() -> Result<Self> {
        let mut class = Class::gather(&["--rounds", "1"], 3).await?;
        let asked = class.open_round().await?;
        Ok(Self { class, round: asked.round, answer: asked.muscle.name })
    }

    fn host(&self) -> &TestHost {
        &self.class.host
    }

    async fn guest(&self) -> Result<Student> {
        Student::join(self.host().address, &self.host().word, "Guest").await
    }

    /// Two answer (the third keeps the round open), the round is revealed, and nothing but their two
    /// answers is in the log.
    async fn goes_on(mut self) -> Result<()> {
        for student in &mut self.class.students[..2] {
            student.answer_recorded(self.round, &self.answer).await?;
        }
        self.class.close_round().await?;
        let reveal = self.class.reveal().await?;
        assert_eq!(
            (&reveal["spread"][0]["count"], &reveal["spread"][1]),
            (&json!(2), &json!(null))
        );
        assert_eq!(self.class.review_log()?.recorded()?.len(), 2);
        self.class.end().await?;
        self.class.host.is_sound()
    }
}

#[tokio::test]
async fn a_first_message_that_says_nothing_useful_is_refused() -> Result<()> {
    let scene = Scene::open().await?;
    let word = scene.host().word.as_str();
    let join = |name: &str| json!({ "type": "join", "word": word, "name": name }).to_string();
    let attempt = "00000000-0000-4000-8000-000000000001";
    let answer = json!({
        "type": "answer", "round": 1, "attempt": attempt, "text": "deltoid", "elapsed_ms": 1,
    });
    let strange = "0".repeat(32);
    let cases = [
        ("not_readable", String::new()),
        ("not_readable", "{".to_owned()),
        ("not_readable", "[]".to_owned()),
        ("not_readable", "null".to_owned()),
        ("not_readable", "{\"type\":7}".to_owned()),
        ("not_readable", "[".repeat(10_000)),
        ("not_readable", "x".repeat(MESSAGE_BYTES)),
        ("hello_first", "{\"type\":\"dance\"}".to_owned()),
        ("hello_first", "{\"type\":\"start\"}".to_owned()),
        ("hello_first", answer.to_string()),
        ("bad_field", "{\"type\":\"join\"}".to_owned()),
        ("bad_field", json!({ "type": "join", "word": "radius", "name": "A" }).to_string()),
        ("bad_field", json!({ "type": "join", "word": word, "name": 7 }).to_string()),
        ("bad_field", json!({ "type": "join", "word": word, "name": "A", "x": 1 }).to_string()),
        ("bad_field", json!({ "type": "return", "word": word, "seat": "7" }).to_string()),
        ("bad_field", json!({ "type": "conduct", "word": word, "key": "G" }).to_string()),
        ("bad_name", join("")),
        ("bad_name", join(" \t\u{200b}\n")),
        ("bad_name", join(&"x".repeat(25))),
        ("bad_name", join(&"x".repeat(10_000))),
        ("bad_name", join(&"e\u{301}".repeat(2_000))),
        ("no_such_review", json!({ "type": "join", "word": "rib-rib", "name": "A" }).to_string()),
        ("not_allowed", json!({ "type": "return", "word": word, "seat": strange }).to_string()),
        ("not_allowed", json!({ "type": "conduct", "word": word, "key": strange }).to_string()),
        ("not_allowed", json!({ "type": "open", "key": strange, "settings": {} }).to_string()),
    ];
    for (code, text) in cases {
        let shown: String = text.chars().take(60).collect();
        let mut client = Client::open(scene.host().address, Role::Student).await?;
        client.say_text(text).await?;
        client.expect_error(code).await.with_context(|| shown.clone())?;
        client.expect_close(close::POLICY).await.context(shown)?;
        assert_eq!(client.heard().len(), 1);
    }
    scene.goes_on().await
}

#[tokio::test]
async fn three_faulty_messages_end_a_students_connection() -> Result<()> {
    let scene = Scene::open().await?;
    let hello = json!({ "type": "join", "word": scene.host().word, "name": "Again" }).to_string();
    let for_round = |round: Value| answer(&round, "deltoid").to_string();
    let text = ToOwned::to_owned;
    let cases = [
        [
            ("unknown_type", text("{\"type\":\"dance\"}")),
            ("not_readable", text("{")),
            ("bad_field", text("{\"type\":\"leave\",\"x\":1}")),
        ],
        [
            ("unknown_type", hello),
            ("unknown_type", text("{\"type\":\"next\"}")),
            ("unknown_type", text("{\"type\":\"reveal\"}")),
        ],
        [
            ("bad_field", text("{\"type\":\"answer\"}")),
            ("not_readable", text("")),
            ("not_readable", text("[[[]]]")),
        ],
        [
            ("bad_field", for_round(json!(-1))),
            ("bad_field", for_round(json!(0.5))),
            ("bad_field", for_round(json!("1"))),
        ],
        [
            ("bad_field", for_round(json!(65_536))),
            ("bad_field", for_round(json!(null))),
            ("bad_field", for_round(json!({}))),
        ],
    ];
    for faults in cases {
        let mut guest = scene.guest().await?;
        for (code, text) in faults {
            guest.client.say_text(text.as_str()).await?;
            guest.client.expect_error(code).await.context(text)?;
        }
        guest.client.expect_close(close::POLICY).await?;
    }
    scene.goes_on().await
}

fn answer(round: &Value, text: &str) -> Value {
    let attempt = "00000000-0000-4000-8000-000000000002";
    json!({ "type": "answer", "round": round, "attempt": attempt, "text": text, "elapsed_ms": 1 })
}

/// A refused answer is no fault of the protocol: the student goes on.
#[tokio::test]
async fn answers_that_cannot_be_taken_are_refused_one_by_one() -> Result<()> {
    let scene = Scene::open().await?;
    let mut guest = scene.guest().await?;
    let cases = [
        ("round_not_open", 0, "deltoid".to_owned()),
        ("round_not_open", 2, "deltoid".to_owned()),
        ("round_not_open", 65_535, "deltoid".to_owned()),
        ("bad_field", 1, "x".repeat(81)),
        ("bad_field", 1, "\u{1f9b4}".repeat(3_000)),
        ("bad_field", 1, String::new()),
        ("bad_field", 1, " \u{1b}\u{200b} ".to_owned()),
    ];
    for (code, round, text) in cases {
        guest.client.say_text(answer(&json!(round), &text).to_string()).await?;
        guest.client.expect_error(code).await.with_context(|| format!("{round}: {text}"))?;
    }
    // Eighty characters are an answer to look at, if not the name of a muscle.
    guest.answer(1, &"x".repeat(80)).await?;
    guest.client.expect("unknown_name").await?;
    guest.client.say(json!({ "type": "leave" })).await?;
    guest.client.expect_close(close::NORMAL).await?;
    scene.goes_on().await
}

/// First byte (FIN, RSV, opcode), payload, and whether it is masked.
type Frame<'a> = (u8, &'a [u8], bool);

/// RFC 6455 sections 5.1 to 5.5, 7.4.1 and 8.1: before a seat is taken, and after.
#[tokio::test]
async fn frames_that_break_the_protocol_are_closed_with_the_right_code() -> Result<()> {
    let scene = Scene::open().await?;
    let half = vec![b' '; MESSAGE_BYTES / 2 + 1];
    let close_reason = [&1000_u16.to_be_bytes()[..], &[0xff, 0xfe][..]].concat();
    let cases: [(&str, u16, Vec<Frame<'_>>); 13] = [
        ("too big", close::TOO_BIG, vec![(0x81, &[b'x'; MESSAGE_BYTES + 1], true)]),
        ("too big in parts", close::TOO_BIG, vec![(0x01, &half, true), (0x80, &half, true)]),
        ("binary", close::UNSUPPORTED, vec![(0x82, b"x", true)]),
        ("not UTF-8", close::NOT_UTF8, vec![(0x81, &[0xc3, 0x28], true)]),
        ("not UTF-8 in parts", close::NOT_UTF8, vec![(0x01, &[0xc3], true), (0x80, b"x", true)]),
        ("close reason not UTF-8", close::NOT_UTF8, vec![(0x88, &close_reason, true)]),
        ("not masked", close::PROTOCOL, vec![(0x81, b"{}", false)]),
        ("reserved bit", close::PROTOCOL, vec![(0xc1, b"{}", true)]),
        ("unknown opcode", close::PROTOCOL, vec![(0x83, b"", true)]),
        ("ping in parts", close::PROTOCOL, vec![(0x09, b"", true)]),
        ("long ping", close::PROTOCOL, vec![(0x89, &[0; 126], true)]),
        ("nothing to go on with", close::PROTOCOL, vec![(0x80, b"x", true)]),
        ("one inside the other", close::PROTOCOL, vec![(0x01, b"x", true), (0x81, b"x", true)]),
    ];
    let hello = json!({ "type": "join", "word": scene.host().word, "name": "Guest" }).to_string();
    for (what, code, frames) in cases {
        for seated in [false, true] {
            let mut socket = RawSocket::open(scene.host().address).await?;
            if seated {
                socket.frame(0x81, hello.as_bytes(), true).await?;
            }
            for (first, payload, masked) in &frames {
                socket.frame(*first, payload, *masked).await?;
            }
            let end = socket.until_closed().await?;
            ensure!(end.code == Some(code), "{what}, seated: {seated}: {end:?}, not {code}");
        }
    }
    scene.goes_on().await
}

#[tokio::test]
async fn a_flood_is_cut_off() -> Result<()> {
    let scene = Scene::open().await?;
    let mut guest = scene.guest().await?;
    // More than any bucket holds; the server may close before all are sent.
    for _ in 0..200 {
        if guest.client.say_text(answer(&json!(0), "deltoid").to_string()).await.is_err() {
            break;
        }
    }
    guest.client.until_closed().await?;
    let refusals = guest.client.heard_of("error");
    let last = refusals.last().context("no refusal at all")?;
    assert_eq!(last["code"], "too_many");

    let mut socket = RawSocket::open(scene.host().address).await?;
    let hello = json!({ "type": "join", "word": scene.host().word, "name": "Guest" }).to_string();
    socket.frame(0x81, hello.as_bytes(), true).await?;
    let ping = [0x89, 0x80, 0, 0, 0, 0];
    socket.bytes(&ping.repeat(200)).await?;
    let end = socket.until_closed().await?;
    ensure!(end.code == Some(close::POLICY), "pings: {end:?}");
    scene.goes_on().await
}

#[tokio::test]
async fn whoever_says_nothing_is_closed_and_guessing_is_slowed() -> Result<()> {
    let scene = Scene::open().await?;
    let address = scene.host().address;
    let mut silent = Client::open(address, Role::Student).await?;
    let mut guesses = 0;
    let code = loop {
        let mut client = Client::open(address, Role::Student).await?;
        client.hello(json!({ "type": "join", "word": "rib-rib", "name": "A" })).await?;
        let error = client.expect("error").await?;
        client.expect_close(close::POLICY).await?;
        guesses += 1;
        if error["code"] != "no_such_review" || guesses == 100 {
            break error["code"].clone();
        }
    };
    assert_eq!(code, "slow_down", "after {guesses} guesses");
    assert!(guesses > 10, "a few slips cost nothing, but {guesses} were enough");
    silent.expect_close(close::POLICY).await?;
    assert!(silent.heard().is_empty());
    scene.goes_on().await
}

/// Names are shown to others: nothing that steers a terminal or hides itself gets through.
#[tokio::test]
async fn names_are_cleaned_before_anyone_sees_them() -> Result<()> {
    let mut scene = Scene::open().await?;
    let (address, word) = (scene.host().address, scene.host().word.clone());
    let cases = [
        ("\u{1b}[31mred\u{7}\n", "[31mred"),
        ("\u{202e}abc\u{2066}", "abc"),
        ("  Zo\u{eb}   Oak ", "Zo\u{eb} Oak"),
        ("e\u{301}\u{301}\u{301}\u{301}", "e\u{301}\u{301}"),
        ("<b>=1+1", "<b>=1+1"),
    ];
    for (typed, shown) in cases {
        let guest = Student::join(address, &word, typed).await?;
        assert_eq!(guest.seat.name, shown);
        let row = scene.class.instructor.expect_row(&guest.seat, |_| true).await?;
        assert_eq!(row["name"], shown);
    }
    scene.goes_on().await
}

/// A connection that breaks off in the middle of a frame is over, and nothing else is.
#[tokio::test]
async fn half_a_frame_harms_nobody() -> Result<()> {
    let scene = Scene::open().await?;
    for part in [&[0x81][..], &[0x81, 0xfe, 0x10][..], &[0x81, 0x85, 0, 0, 0, 0, b'x'][..]] {
        let mut socket = RawSocket::open(scene.host().address).await?;
        socket.bytes(part).await?;
    }
    scene.goes_on().await
}

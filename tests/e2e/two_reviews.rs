//! Two reviews in one server.

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Class, Client, Instructor, Role, Student, TestHost};
use serde_json::{Value, json};

#[tokio::test]
async fn two_reviews_run_side_by_side_and_tell_each_other_nothing() -> Result<()> {
    let mut first = Class::gather(&["--rounds", "2"], 3).await?;
    let (address, key) = (first.host.address, first.host.key.clone());
    let settings = json!({ "list": "rotator-cuff", "rounds": 1, "spelling": "strict" });
    let mut second = Instructor::open(address, &key, settings).await?;
    let word = second.word()?;
    let mut guest = Student::join(address, &word, "Guest of the second").await?;
    assert_eq!(second.conducting["review"]["spelling"], "strict");

    // Rounds of both, one inside the other.
    let asked = first.open_round().await?;
    second.say("start").await?;
    second.client.expect("round_opened").await?;
    guest.client.expect("round_opened").await?;
    guest.answer_recorded(1, "no muscle that there is").await?;
    for student in &mut first.students {
        student.answer_recorded(asked.round, &asked.muscle.name).await?;
    }
    second.client.expect("round_closed").await?;
    first.everyone("round_closed").await?;
    first.reveal().await?;
    second.say("reveal").await?;
    second.client.expect("standings").await?;
    guest.client.expect("standings").await?;
    second.say("end").await?;
    guest.client.expect_close(1000).await?;
    first.end().await?;

    check_apart(&first, &second, &guest)?;
    let log = first.host.log()?;
    assert_eq!(log.reviews.len(), 2);
    assert_eq!(log.review(&word)?.recorded()?.len(), 1);
    assert_eq!(log.review(&first.host.word)?.recorded()?.len(), 3);
    first.host.is_sound()
}

/// No connection of one review heard the other's word, id, students or seats.
fn check_apart(first: &Class, second: &Instructor, guest: &Student) -> Result<()> {
    let texts = |value: &Value, fields: &[&str]| -> Result<Vec<String>> {
        let text = |field: &&str| value[*field].as_str().map(ToOwned::to_owned).context("no text");
        fields.iter().map(text).collect()
    };
    let mut of_first = texts(&first.instructor.conducting["review"], &["word", "review"])?;
    let seats = first.students.iter().map(|student| &student.seat);
    of_first.extend(seats.flat_map(|seat| [seat.id.clone(), seat.token.clone()]));
    let mut of_second = texts(&second.conducting["review"], &["word", "review"])?;
    of_second.extend([guest.seat.id.clone(), guest.seat.token.clone(), guest.seat.name.clone()]);

    let students = first.students.iter().map(|student| &student.client);
    for client in students.chain([&first.instructor.client]) {
        check_silent_about(client, &of_second)?;
    }
    check_silent_about(&second.client, &of_first)?;
    check_silent_about(&guest.client, &of_first)
}

fn check_silent_about(client: &Client, secrets: &[String]) -> Result<()> {
    ensure!(!client.heard().is_empty(), "this client heard nothing at all");
    for message in client.heard() {
        let text = message.to_string();
        let leak = secrets.iter().find(|secret| text.contains(secret.as_str()));
        ensure!(leak.is_none(), "{leak:?} of the other review in {message}");
    }
    Ok(())
}

#[tokio::test]
async fn an_instructor_must_say_which_of_two_reviews_and_a_seat_is_good_in_its_own() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let (address, key) = (host.address, host.key.as_str());
    // One review: no word is needed.
    let alone = Instructor::conduct(address, None, key).await?;
    assert_eq!(alone.word()?, host.word);
    let second = Instructor::open(address, key, json!({})).await?;
    let own_key = second.conducting["key"].as_str().context("no key of its own")?.to_owned();
    let word = second.word()?;

    let refused = async |hello: Value, code: &str| {
        let mut client = Client::open(address, Role::Instructor).await?;
        client.hello(hello).await?;
        client.expect_error(code).await?;
        client.expect_close(1008).await
    };
    refused(json!({ "type": "conduct", "key": key }), "no_such_review").await?;
    // The key of one review conducts that one and opens nothing.
    let other = json!({ "type": "conduct", "word": host.word, "key": own_key });
    refused(other, "not_allowed").await?;
    refused(json!({ "type": "open", "key": own_key, "settings": {} }), "not_allowed").await?;
    let again = Instructor::conduct(address, Some(&word), &own_key).await?;
    assert_eq!(again.word()?, word);
    // A seat of one review is none in the other.
    let seat = Student::join(address, &host.word, "Mira").await?.vanish();
    refused(json!({ "type": "return", "word": word, "seat": seat.token }), "not_allowed").await?;
    seat.take(address).await?;
    host.is_sound()
}

#[tokio::test]
async fn a_review_with_settings_that_cannot_be_is_refused() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let check = async |settings: Value| {
        let mut client = Client::open(host.address, Role::Instructor).await?;
        let hello = json!({ "type": "open", "key": host.key, "settings": settings });
        client.say_text(hello.to_string()).await?;
        let error = client.expect_error("bad_field").await.with_context(|| settings.to_string())?;
        client.expect_close(1008).await?;
        Ok::<_, anyhow::Error>(error["message"].as_str().unwrap_or_default().to_owned())
    };
    let said = check(json!({ "list": "no-such-list" })).await?;
    assert!(said.contains("shoulder"), "it names the lists that there are: {said}");
    check(json!({ "limit_ms": 999 })).await?;
    check(json!({ "limit_ms": 600_001 })).await?;
    check(json!({ "rounds": 501 })).await?;
    check(json!({ "rounds": -1 })).await?;
    check(json!({ "pace": { "kind": "hasty" } })).await?;
    check(json!({ "colour": "red" })).await?;
    // Who conducts is told once the review is on the disk.
    Instructor::conduct(host.address, None, &host.key).await?;
    assert_eq!(host.log()?.reviews.len(), 1);
    host.is_sound()
}

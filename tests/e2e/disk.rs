//! Kept before told: while the disk hangs, nothing that rests on it is told, and what it did not
//! take was never called recorded.

use anyhow::{Result, ensure};
use myonym_tests::{Class, Client, Heard, Role, TestHost};
use serde_json::{Value, json};

/// What comes next, but for counts of who is here.
async fn next(client: &mut Client) -> Result<Value> {
    loop {
        match client.hear().await? {
            Heard::Message(message) if message["type"] == "class" => {}
            Heard::Message(message) => return Ok(message),
            Heard::Closed(end) => anyhow::bail!("closed: {end:?}"),
        }
    }
}

/// A refusal rests on no event, so it is told at once: what has not come before it is held back.
#[tokio::test]
async fn nothing_is_told_that_is_not_on_the_disk() -> Result<()> {
    let mut class = Class::gather(&["--rounds", "2"], 2).await?;
    let asked = class.open_round().await?;
    let held = class.host.hold_disk()?;
    let [first, second] = &mut class.students[..] else { unreachable!() };
    let attempt = first.answer(asked.round, &asked.muscle.name).await?;
    assert_eq!(next(&mut first.client).await?["type"], "received");
    second.answer(asked.round, "teres").await?;
    for student in [first, second] {
        student.answer(0, "deltoid").await?;
        assert_eq!(next(&mut student.client).await?["code"], "round_not_open");
    }
    class.instructor.say("close_round").await?;
    class.instructor.say("reveal").await?;
    class.instructor.say("start").await?;
    class.instructor.client.expect_error("not_now").await?;
    assert_eq!(class.review_log()?.of("answered").count(), 0);
    for kind in ["round_closed", "revealed", "weak_spots"] {
        ensure!(class.instructor.client.heard_of(kind).is_empty(), "{kind} was told");
    }
    let tallies = class.instructor.client.heard_of("tally");
    ensure!(tallies.iter().all(|tally| tally["answered"] == 0), "counted: {tallies:?}");

    drop(held);
    let [first, second] = &mut class.students[..] else { unreachable!() };
    let recorded = next(&mut first.client).await?;
    assert_eq!((&recorded["type"], &recorded["attempt"]), (&json!("recorded"), &json!(attempt)));
    assert_eq!(next(&mut second.client).await?["type"], "which_one");
    class.everyone("round_closed").await?;
    class.everyone("revealed").await?;
    assert_eq!(class.review_log()?.recorded()?.len(), 1);
    class.host.is_sound()
}

#[tokio::test]
async fn an_answer_lost_to_a_kill_was_never_called_recorded() -> Result<()> {
    let host = TestHost::start_to_be_restarted(&["--rounds", "1"]).await?;
    let mut class = Class::gather_at(host, 1).await?;
    let asked = class.open_round().await?;
    let held = class.host.hold_disk()?;
    let mut student = class.students.remove(0);
    let attempt = student.answer(asked.round, &asked.muscle.name).await?;
    student.client.expect("received").await?;
    class.host.kill9().await?;
    drop(held);
    student.client.until_closed().await?;
    ensure!(student.client.heard_of("recorded").is_empty(), "it was not on the disk");
    class.host.restart().await?;
    assert_eq!(class.review_log()?.recorded()?.len(), 0);
    // Sent again under the same attempt, as a client does that heard no `recorded`.
    let mut student = student.vanish().take(class.host.address).await?;
    assert_eq!(student.seated["moment"]["given"], Value::Null);
    student.answer_as(asked.round, &attempt, &asked.muscle.name).await?;
    student.expect_recorded(&attempt).await?;
    assert_eq!(class.review_log()?.recorded()?.len(), 1);
    class.host.is_sound()
}

/// The host gives a disk five seconds; then it says so, skips the round, and goes on as soon as it
/// can save again.
#[tokio::test]
async fn when_nothing_can_be_saved_everyone_is_told_and_the_round_is_skipped() -> Result<()> {
    let mut class = Class::gather(&["--rounds", "2"], 2).await?;
    let asked = class.open_round().await?;
    let held = class.host.hold_disk()?;
    class.students[0].answer(asked.round, &asked.muscle.name).await?;
    class.students[0].client.expect("received").await?;
    assert_eq!(class.everyone("trouble").await?["trouble"], "cannot_save");
    class.students[1].answer(asked.round, &asked.muscle.name).await?;
    class.students[1].client.expect_error("cannot_save").await?;
    class.instructor.say("close_round").await?;
    class.instructor.client.expect_error("cannot_save").await?;
    let mut late = Client::open(class.host.address, Role::Student).await?;
    late.hello(json!({ "type": "join", "word": class.host.word, "name": "Late" })).await?;
    late.expect_error("cannot_save").await?;
    late.expect_close(1001).await?;

    drop(held);
    assert_eq!(class.everyone("trouble").await?["trouble"], "saving_again");
    for student in &mut class.students {
        let seated = student.client.expect("seated").await?;
        assert_eq!(seated["moment"]["phase"], "skipped");
        ensure!(student.client.heard_of("recorded").is_empty(), "that answer is lost");
    }
    let asked = class.open_round().await?;
    for student in &mut class.students {
        student.answer_recorded(asked.round, &asked.muscle.name).await?;
    }
    class.everyone("round_closed").await?;
    class.reveal().await?;
    class.end().await?;
    let log = class.review_log()?;
    assert_eq!((log.recorded()?.len(), log.of("round_skipped").count()), (2, 1));
    assert!(myonym_engine::Review::replay(&log.replayable()?).is_some());
    Ok(())
}

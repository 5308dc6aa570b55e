//! Names as students type them.

use anyhow::{Context as _, Result};
use myonym_tests::{Asked, Class};
use serde_json::{Value, json};

/// Opens rounds until the muscle with this key is asked.
async fn until_asked(class: &mut Class, key: &str) -> Result<Asked> {
    loop {
        let asked = class.open_round().await?;
        if asked.muscle.key == key {
            return Ok(asked);
        }
        class.instructor.say("skip").await?;
        class.everyone("round_skipped").await?;
    }
}

#[tokio::test]
async fn half_names_are_asked_for_and_slips_are_forgiven() -> Result<()> {
    let mut class = Class::gather(&[], 3).await?;
    let asked = until_asked(&mut class, "teres-minor").await?;
    let [half, slip, other] = &mut class.students[..] else { unreachable!() };
    // Half a name is no answer yet; which one is the student's to say.
    let attempt = half.answer(asked.round, "Teres").await?;
    let which = half.client.expect("which_one").await?;
    assert_eq!(which["attempt"], attempt.as_str());
    let mut among: Vec<_> = which["among"].as_array().context("no names")?.iter().collect();
    among.sort_by_key(ToString::to_string);
    assert_eq!(among, [&json!("teres major"), &json!("teres minor")]);
    // The same try again gets the same question, and is written down once.
    half.answer_as(asked.round, &attempt, "Teres").await?;
    assert_eq!(half.client.expect("which_one").await?, which);
    half.answer_recorded(asked.round, "TERES  Minor").await?;
    // A slip that can only mean one muscle is that muscle.
    slip.answer_recorded(asked.round, "teres minr").await?;
    // No muscle's name is no answer; nor is nothing.
    other.answer(asked.round, "hippocampus").await?;
    let unknown = other.client.expect("unknown_name").await?;
    assert!(unknown["nearest"].as_array().is_some_and(|names| names.len() <= 3));
    other.answer_recorded(asked.round, "M. teres major").await?;

    class.everyone("round_closed").await?;
    let reveal = class.reveal().await?;
    let spread = json!([
        { "name": "teres minor", "count": 2, "verdict": "right" },
        { "name": "teres major", "count": 1, "verdict": "near" },
    ]);
    assert_eq!(reveal["spread"], spread);
    let log = class.review_log()?;
    assert_eq!((log.of("asked_again").count(), log.of("answered").count()), (2, 3));
    class.host.is_sound()
}

#[tokio::test]
async fn in_strict_spelling_a_misspelt_name_is_wrong() -> Result<()> {
    let mut class = Class::gather(&["--spelling", "strict"], 4).await?;
    let asked = until_asked(&mut class, "supraspinatus").await?;
    let [right, slip, nothing, half] = &mut class.students[..] else { unreachable!() };
    right.answer_recorded(asked.round, "Supraspinatus").await?;
    slip.answer_recorded(asked.round, "supraspinatous").await?;
    nothing.answer_recorded(asked.round, "hippocampus").await?;
    // Half a name is asked for in full, with no list that would give the spelling away.
    half.answer(asked.round, "teres").await?;
    assert_eq!(half.client.expect("which_one").await?["among"], json!([]));
    half.answer_recorded(asked.round, "infraspinatus").await?;
    class.everyone("round_closed").await?;
    class.reveal().await?;
    let result = |student: usize| -> Result<Value> {
        let results = class.students[student].client.heard_of("result");
        let result = results.last().context("no result")?;
        Ok(json!([result["verdict"], result["answer"]]))
    };
    assert_eq!(result(0)?, json!(["right", "supraspinatus"]));
    assert_eq!(result(1)?, json!(["wrong", "supraspinatous"]));
    assert_eq!(result(2)?, json!(["wrong", "hippocampus"]));
    assert_eq!(result(3)?, json!(["near", "infraspinatus"]));
    class.host.is_sound()
}

/// An answer that is sent again, or that comes with another try, changes nothing.
#[tokio::test]
async fn an_answer_counts_once_however_often_it_is_sent() -> Result<()> {
    let mut class = Class::gather(&["--rounds", "2"], 2).await?;
    let asked = class.open_round().await?;
    let student = &mut class.students[0];
    let attempt = student.answer_recorded(asked.round, &asked.muscle.name).await?;
    for _ in 0..3 {
        student.answer_as(asked.round, &attempt, &asked.muscle.name).await?;
        student.expect_recorded(&attempt).await?;
    }
    student.answer(asked.round, "deltoid").await?;
    student.client.expect_error("already_answered").await?;
    class.close_round().await?;
    class.students[1].answer(asked.round, &asked.muscle.name).await?;
    class.students[1].client.expect_error("round_not_open").await?;
    class.reveal().await?;
    class.open_round().await?;
    // Late, to a round that is over: known or refused, never counted.
    let student = &mut class.students[0];
    student.answer_as(asked.round, &attempt, &asked.muscle.name).await?;
    student.expect_recorded(&attempt).await?;
    class.students[1].answer(asked.round, &asked.muscle.name).await?;
    class.students[1].client.expect_error("round_not_open").await?;
    assert_eq!(class.review_log()?.recorded()?.len(), 1);
    class.host.is_sound()
}

//! A review of all three kinds of round.

use std::collections::BTreeSet;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Asked, Class, Client, Program, Role, movement_of};
use serde_json::{Value, json};

const TASKS: &str = "name,picture,movement";

#[tokio::test]
async fn names_pictures_and_movements_in_one_review() -> Result<()> {
    let mut class = Class::gather(&["--tasks", TASKS, "--rounds", "6"], 4).await?;
    let review = &class.instructor.conducting["review"];
    assert_eq!(review["tasks"], json!(["name", "picture", "movement"]));
    let mut seen = Vec::new();
    for _ in 0..6 {
        let asked = class.open_round().await?;
        let opened = last(&class, 0, "round_opened")?;
        let task = opened["task"].as_str().context("no task")?.to_owned();
        check_opened(&task, &opened, &asked)?;
        let reveal = play(&mut class, &task, &asked).await?;
        check_reveal(&task, &reveal, &asked)?;
        seen.push(task);
    }
    // In turn: the same three tasks in the same order, twice.
    assert_eq!(seen[..3], seen[3..]);
    assert_eq!(seen.iter().collect::<BTreeSet<_>>().len(), 3);
    class.instructor.say("next").await?;
    class.everyone_to_the_end().await?;
    check_report(&class).await?;
    class.host.is_sound()
}

/// Two are right, one is wrong, one is silent.
async fn play(class: &mut Class, task: &str, asked: &Asked) -> Result<Value> {
    let (right, wrong) = match task {
        "movement" => (movement_of(&asked.muscle.key)?, "dilation of the nostrils".to_owned()),
        _ => (asked.muscle.name.clone(), other_than(&asked.muscle.name).to_owned()),
    };
    class.students[0].answer_recorded(asked.round, &right).await?;
    class.students[1].answer_recorded(asked.round, &right.to_uppercase()).await?;
    class.students[2].answer_recorded(asked.round, &wrong).await?;
    // One who comes back in mid-round is shown the same.
    let before = last(class, 3, "round_opened")?;
    let seat = class.students[3].seat.clone();
    class.students[3] = seat.take(class.host.address).await?;
    let moment = class.students[3].seated["moment"].clone();
    assert_eq!((&moment["task"], &moment["example"]), (&before["task"], &before["example"]));
    assert_eq!(moment["clues"][0], before["clue"]);
    class.close_round().await?;
    let reveal = class.reveal().await?;
    let verdict =
        |student: usize| Ok::<_, anyhow::Error>(last(class, student, "result")?["verdict"].clone());
    assert_eq!((verdict(0)?, verdict(1)?), (json!("right"), json!("right")));
    ensure!(verdict(2)? != "right", "{wrong} is right for {asked:?}");
    assert_eq!(verdict(3)?, "silent");
    Ok(reveal)
}

/// Nothing that is told before the reveal names the muscle (save a landmark called after it, where
/// the name is not asked for), or shows a movement that it makes as an example.
fn check_opened(task: &str, opened: &Value, asked: &Asked) -> Result<()> {
    let clue = &opened["clue"];
    match task {
        "picture" => {
            let picture = &clue["picture"];
            assert_eq!(picture["labels"], json!([]));
            ensure!(picture["strokes"].as_array().is_some_and(|strokes| strokes.len() > 2));
            assert_eq!((&clue["kind"], &opened["clue_count"]), (&json!("picture"), &json!(1)));
        }
        "movement" => {
            let text = clue["text"].as_str().context("no text")?;
            ensure!(
                text.starts_with("It arises from ") && text.contains(". It inserts on "),
                "{text}"
            );
            assert_eq!((&clue["kind"], &opened["clue_count"]), (&json!("attachments"), &json!(1)));
            let example = opened["example"].as_str().context("no example")?;
            ensure!(example != movement_of(&asked.muscle.key)?, "the example is right: {example}");
        }
        _ => assert_eq!((&clue["picture"], &opened["example"]), (&Value::Null, &Value::Null)),
    }
    let told = opened.to_string().to_lowercase();
    let name = if task == "movement" { &asked.muscle.latin } else { &asked.muscle.name };
    ensure!(!told.contains(name.as_str()), "{name} is named in {told}");
    Ok(())
}

fn check_reveal(task: &str, reveal: &Value, asked: &Asked) -> Result<()> {
    assert_eq!((&reveal["task"], &reveal["silent"]), (&json!(task), &json!(1)));
    assert_eq!(reveal["answer"]["name"], asked.muscle.name);
    ensure!(reveal.to_string().len() < 16 * 1024, "{} bytes", reveal.to_string().len());
    let right = match task {
        "movement" => movement_of(&asked.muscle.key)?,
        _ => asked.muscle.name.clone(),
    };
    assert_eq!(reveal["spread"][0], json!({ "name": right, "count": 2, "verdict": "right" }));
    let movements = reveal["movements"].as_array().context("no movements")?;
    assert_eq!(movements.iter().any(|named| *named == right), task == "movement");
    let pictures = reveal["pictures"].as_array().context("no pictures")?;
    let labelled = pictures[0]["labels"].as_array().context("no labels")?;
    ensure!(labelled.iter().any(|label| label["part"] == "origin"), "{labelled:?}");
    assert_eq!(pictures.len() == 2, !reveal["contrast"].is_null());
    ensure!(reveal["explanations"][0].as_str().is_some_and(|why| why.contains("shortening")));
    Ok(())
}

/// A movement is no evidence about names.
async fn check_report(class: &Class) -> Result<()> {
    let data = class.host.data().display().to_string();
    let told = Program::run(&["report", "1", "--json", "--data", &data]).await?;
    let report: Value = serde_json::from_str(&told.out)?;
    let sum = |table: &str, field: &str| {
        let rows = report[table].as_array().cloned().unwrap_or_default();
        rows.iter().filter_map(|row| row[field].as_u64()).sum::<u64>()
    };
    assert_eq!((sum("items", "asked"), sum("items", "right")), (4 * 4, 4 * 2));
    assert_eq!((sum("items", "pictured"), sum("items", "pictured_right")), (2 * 4, 2 * 2));
    assert_eq!((sum("movements", "asked"), sum("movements", "right")), (2 * 4, 2 * 2));
    assert_eq!(report["movements"][0]["instead"][0]["movement"], "dilation of the nostrils");
    let total = |field: &str| report["basis"][field].as_u64();
    assert_eq!(["rounds", "answers", "silent"].map(total), [Some(4), Some(12), Some(4)]);
    let page = Program::run(&["report", "1", "--data", &data]).await?.out;
    for part in ["Named from a picture", "Movements told, hardest first"] {
        ensure!(page.contains(part), "no {part} in {page}");
    }
    Ok(())
}

/// Half a movement is asked about, as half a name is.
#[tokio::test]
async fn half_a_movement_is_asked_for() -> Result<()> {
    let mut class = Class::gather(&["--tasks", "movement", "--rounds", "1"], 1).await?;
    let asked = class.open_round().await?;
    let student = &mut class.students[0];
    student.answer(asked.round, "Rotation of the arm").await?;
    let which = student.client.expect("which_one").await?;
    assert_eq!(
        which["among"],
        json!(["lateral rotation of the arm", "medial rotation of the arm"])
    );
    student.answer(asked.round, "pronation of the arm").await?;
    let unknown = student.client.expect("unknown_name").await?;
    assert_eq!(unknown["nearest"], json!(["pronation"]));
    class.host.is_sound()
}

#[tokio::test]
async fn another_review_may_ask_for_other_things() -> Result<()> {
    let class = Class::gather(&[], 0).await?;
    assert_eq!(class.instructor.conducting["review"]["tasks"], json!(["name"]));
    let open = async |tasks: Value| {
        let mut client = Client::open(class.host.address, Role::Instructor).await?;
        let settings = json!({ "tasks": tasks });
        client
            .say_text(
                json!({ "type": "open", "key": class.host.key, "settings": settings }).to_string(),
            )
            .await?;
        Ok::<_, anyhow::Error>(client)
    };
    let conducting = open(json!(["movement"])).await?.expect("conducting").await?;
    assert_eq!(conducting["review"]["tasks"], json!(["movement"]));
    open(json!([])).await?.expect_error("bad_field").await?;
    open(json!(["dance"])).await?.expect_error("bad_field").await?;
    class.host.is_sound()
}

/// A muscle of the shoulder list with another name.
fn other_than(name: &str) -> &'static str {
    if name == "deltoid" { "teres minor" } else { "deltoid" }
}

/// The last message of a type that a student heard.
fn last(class: &Class, student: usize, kind: &str) -> Result<Value> {
    let heard = class.students[student].client.heard_of(kind);
    heard.last().map(|message| (*message).clone()).with_context(|| format!("no {kind}"))
}

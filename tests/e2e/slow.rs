//! A student who stopped reading. Nothing is measured in time: the class is seen to go on, round
//! after round, until the slow connection is let go.

use anyhow::{Result, bail, ensure};
use myonym_tests::{Class, Client, Instructor, Role, Student};
use serde_json::json;

/// More rounds than any buffer between the two holds.
const MOST_ROUNDS: u16 = 300;
/// An instructor may send 40 commands at once; a fresh connection every ten rounds needs no wait.
const ROUNDS_A_CONNECTION: u16 = 10;

#[tokio::test]
async fn one_who_never_reads_delays_nobody_and_is_let_go() -> Result<()> {
    let mut class = Class::gather(&["--rounds", &MOST_ROUNDS.to_string()], 2).await?;
    let mut client = Client::open_narrow(class.host.address, Role::Student).await?;
    client.hello(json!({ "type": "join", "word": class.host.word, "name": "Slow" })).await?;
    let mut slow = Student::seated(client, &class.host.word).await?;
    let rounds = play_until_gone(&mut class, &slow).await?;

    // What was sent before is there in order, with nothing left out in between.
    slow.client.until_closed().await?;
    let opened: Vec<_> =
        slow.client.heard_of("round_opened").iter().filter_map(|m| m["round"].as_u64()).collect();
    ensure!(!opened.is_empty() && opened.len() < usize::from(rounds), "{opened:?} of {rounds}");
    assert!(opened.iter().copied().eq(1..=u64::try_from(opened.len())?), "{opened:?}");
    let lively = class.students[0].client.heard_of("round_opened");
    assert!(lively.iter().filter_map(|m| m["round"].as_u64()).eq(1..=u64::from(rounds)));

    // The seat is kept, and a snapshot brings it up to date.
    let mut back = slow.seat.take(class.host.address).await?;
    let moment = &back.seated["moment"];
    assert_eq!((&moment["phase"], &moment["round"]), (&json!("revealed"), &json!(rounds)));
    class.instructor = conduct(&class).await?;
    let asked = class.open_round().await?;
    back.client.expect("round_opened").await?;
    back.answer_recorded(asked.round, &asked.muscle.name).await?;
    class.close_round().await?;
    class.reveal().await?;
    class.host.is_sound()
}

/// Round after round, each heard by the class from its opening to its standings, until the
/// instructor is told that the slow student is away. Gives the rounds that it took.
async fn play_until_gone(class: &mut Class, slow: &Student) -> Result<u16> {
    for round in 1..MOST_ROUNDS {
        let asked = class.open_round().await?;
        if round % ROUNDS_A_CONNECTION == 1 {
            class.students[0].answer_recorded(asked.round, &asked.muscle.name).await?;
        }
        class.close_round().await?;
        class.reveal().await?;
        if class.instructor.row(&slow.seat).is_some_and(|row| row["present"] == false) {
            return Ok(round);
        }
        if round % ROUNDS_A_CONNECTION == 0 {
            class.instructor = conduct(class).await?;
        }
    }
    bail!("the slow student still counts as present after {MOST_ROUNDS} rounds")
}

async fn conduct(class: &Class) -> Result<Instructor> {
    Instructor::conduct(class.host.address, Some(&class.host.word), &class.host.key).await
}

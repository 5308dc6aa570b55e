//! Boards: screens for the room, which are told what the class is told and how many have answered.

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Board, Class, Client, Role, Student};
use serde_json::json;

/// A board sees who is here and counts, and before the reveal neither the spread nor the answer.
#[tokio::test]
async fn a_board_sees_counts_and_no_answers_before_the_reveal() -> Result<()> {
    let mut class = Class::gather(&["--rounds", "2"], 2).await?;
    let (address, word) = (class.host.address, class.host.word.clone());
    class.students.push(Student::join_as(address, &word, "Keeps to herself", false).await?);
    let mut board = Board::watch(address, &word).await?;
    let here = json!({ "names": ["Student 1", "Student 2"], "others": 1 });
    assert_eq!(board.watching["here"], here);
    assert_eq!(board.watching["moment"]["phase"], "gathering");
    ensure!(board.watching["addresses"][0] == address.to_string(), "{}", board.watching);

    let asked = class.open_round().await?;
    board.client.expect("round_opened").await?;
    class.students[0].answer_recorded(asked.round, "trapezius").await?;
    while board.client.expect("answers").await?["answered"] != 1 {}
    class.students[1].answer_recorded(asked.round, &asked.muscle.name).await?;
    while board.client.expect("answers").await?["answered"] != 2 {}
    let late = Board::watch(address, &word).await?;
    assert_eq!(late.watching["answered"], 2);
    assert_eq!(late.watching["moment"]["phase"], "open");
    class.close_round().await?;
    board.client.expect("round_closed").await?;
    for message in board.client.heard().iter().chain(late.client.heard()) {
        let text = message.to_string();
        for hidden in [asked.muscle.name.as_str(), "trapezius", "spread", "Keeps"] {
            ensure!(!text.contains(hidden), "{hidden} is told in {message}");
        }
    }
    let reveal = class.reveal().await?;
    assert_eq!(board.client.expect("revealed").await?["reveal"], reveal);
    board.client.expect("standings").await?;
    let gone = class.students.remove(0);
    gone.vanish();
    while board.client.expect("here").await?["names"] != json!(["Student 2"]) {}
    class.end().await?;
    board.client.expect("ended").await?;
    let spots = board.client.expect("weak_spots").await?;
    assert_eq!(spots["hardest"][0]["muscle"], asked.muscle.name.as_str());
    // The end can still be looked at, and no board was told what the class never was.
    let after = Board::watch(address, &word).await?;
    assert_eq!(after.watching["moment"]["phase"], "ended");
    assert_eq!(after.watching["weak_spots"]["hardest"], spots["hardest"]);
    let own = ["roll", "tally", "coming", "gone", "result", "summary"];
    let strange = board.client.heard().iter().find(|told| own.iter().any(|o| told["type"] == *o));
    assert_eq!(strange, None);
    class.host.is_sound()
}

#[tokio::test]
async fn a_board_only_listens() -> Result<()> {
    let class = Class::gather(&["--rounds", "1"], 1).await?;
    let mut board = Board::watch(class.host.address, &class.host.word).await?;
    for message in [json!({ "type": "start" }), json!({ "type": "leave" }), json!({})] {
        board.client.say_text(message.to_string()).await?;
        board.client.expect_error("unknown_type").await?;
    }
    board.client.expect_close(1008).await?;
    let mut lost = Client::open(class.host.address, Role::Board).await?;
    lost.hello(json!({ "type": "watch", "word": "tibia-tibia" })).await?;
    lost.expect_error("no_such_review").await?;
    class.host.is_sound()
}

/// Boards need no key, so there are not any number of them.
#[tokio::test]
async fn a_room_has_twenty_boards_and_no_more() -> Result<()> {
    let class = Class::gather(&["--rounds", "1"], 1).await?;
    let (address, word) = (class.host.address, class.host.word.clone());
    let mut boards = Vec::new();
    for _ in 0..20 {
        boards.push(Board::watch(address, &word).await?);
    }
    let mut late = Client::open(address, Role::Board).await?;
    late.hello(json!({ "type": "watch", "word": word })).await?;
    late.expect_error("room_full").await?;
    late.expect_close(1008).await?;
    // A student still has a seat.
    let _ada = Student::join(address, &word, "Ada").await?;
    let mut first = boards.pop().context("twenty boards")?;
    while first.client.expect("here").await?["names"] != json!(["Student 1", "Ada"]) {}
    class.host.is_sound()
}

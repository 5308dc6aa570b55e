//! Coming late, leaving, coming back; pauses, skips and early ends.

use anyhow::{Context as _, Result};
use myonym_tests::{Class, Client, Role, Seat, Student};
use serde_json::{Value, json};
use uuid::Uuid;

#[tokio::test]
async fn a_latecomer_sees_the_open_round_and_may_answer() -> Result<()> {
    let mut class = Class::gather(&["--rounds", "2", "--limit", "5s"], 1).await?;
    let asked = class.open_round().await?;
    let first = class.students[0].client.heard_of("round_opened")[0]["clue"].clone();
    let second = class.everyone("clue").await?;
    let late = class.join("Late").await?;
    let moment = late.seated["moment"].clone();
    assert_eq!((&moment["phase"], &moment["round"]), (&json!("open"), &json!(1)));
    assert_eq!((&moment["limit_ms"], &moment["given"]), (&json!(5_000), &Value::Null));
    assert_eq!(moment["clues"][0], first);
    assert_eq!(moment["clues"][1], second["clue"]);
    late.answer_recorded(asked.round, &asked.muscle.name).await?;
    class.close_round().await?;
    class.reveal().await?;
    // Who comes after a round had no part in it.
    let later = class.join("Later").await?;
    assert_eq!(later.seated["moment"]["phase"], "revealed");
    assert_eq!(later.seated["moment"]["result"], Value::Null);
    assert_eq!(later.seated["moment"]["reveal"]["answer"]["name"], asked.muscle.name.as_str());
    class.end().await?;
    let summary = class.students[2].client.heard_of("summary");
    assert_eq!(summary.last().context("no summary")?["rounds"], json!([]));
    class.host.is_sound()
}

/// A client that lost its connection before it heard of its seat does not take a second one.
#[tokio::test]
async fn a_join_that_is_sent_again_takes_the_same_seat() -> Result<()> {
    let mut class = Class::gather(&["--rounds", "1"], 0).await?;
    let (address, word) = (class.host.address, class.host.word.clone());
    let token = Uuid::new_v4().simple().to_string();
    let hello = json!({ "type": "join", "word": word, "name": "Mira", "seat": token });
    let mut lost = Client::open(address, Role::Student).await?;
    lost.hello(hello.clone()).await?;
    let first = lost.expect("seated").await?;
    assert_eq!(first["seat"], token.as_str());
    // As if the connection had been lost on the way of that.
    let mut again = Client::open(address, Role::Student).await?;
    again.hello(hello).await?;
    let seated = again.expect("seated").await?;
    lost.expect_close(4001).await?;
    assert_eq!(first["student"], seated["student"]);
    assert_eq!(seated["seat"], token.as_str());
    let id = seated["student"].as_str().context("no number")?.to_owned();
    let seat = Seat { word, id, token, name: "Mira".to_owned() };
    class.students.push(Student { client: again, seat, seated });
    let asked = class.open_round().await?;
    class.students[0].answer_recorded(asked.round, &asked.muscle.name).await?;
    class.everyone("round_closed").await?;
    assert_eq!(class.review_log()?.of("seated").count(), 1);
    class.host.is_sound()
}

#[tokio::test]
async fn nobody_waits_for_one_who_left_but_for_one_who_vanished() -> Result<()> {
    let mut class = Class::gather(&["--rounds", "2"], 3).await?;
    let asked = class.open_round().await?;
    let mut leaves = class.students.remove(2);
    leaves.client.say(json!({ "type": "leave" })).await?;
    leaves.client.expect_close(1000).await?;
    class.instructor.expect_row(&leaves.seat, |row| row["present"] == false).await?;
    let vanished = class.students.remove(1).vanish();
    class.instructor.expect_row(&vanished, |row| row["present"] == false).await?;
    class.students[0].answer_recorded(asked.round, &asked.muscle.name).await?;
    // The round is still open for the one who vanished, and closes with that answer.
    let mut back = vanished.take(class.host.address).await?;
    assert_eq!(back.seated["moment"]["phase"], "open");
    let attempt = back.answer_recorded(asked.round, &asked.muscle.name).await?;
    let closed = class.everyone("round_closed").await?;
    assert_eq!((&closed["why"], &closed["answered"]), (&json!("all_answered"), &json!(2)));
    // Back once more: the answer is there, in the very words.
    let back = back.vanish().take(class.host.address).await?;
    let given = &back.seated["moment"]["given"];
    let want = json!({ "attempt": attempt, "text": asked.muscle.name, "recorded": true });
    assert_eq!(given, &want);
    class.students.push(back);
    class.reveal().await?;
    // Who left by choice takes the same seat again, with the points and no silence counted.
    let returned = leaves.seat.take(class.host.address).await?;
    assert_eq!(returned.seated["total"], 0.0);
    assert_eq!(returned.seated["moment"]["result"], Value::Null);
    class.students.push(returned);
    let asked = class.open_round().await?;
    class.students[2].answer_recorded(asked.round, &asked.muscle.name).await?;
    class.end().await?;
    class.host.is_sound()
}

/// The server tells how many are here a quarter of a second after it last did. The first telling
/// may have been due before the pause; the two after it are longer in coming than the grace that an
/// answer on its way has.
#[tokio::test]
async fn a_pause_stops_the_time_and_refuses_answers_until_it_is_over() -> Result<()> {
    let mut class = Class::gather(&["--rounds", "1"], 1).await?;
    let asked = class.open_round().await?;
    class.instructor.say("pause").await?;
    let paused = class.everyone("paused").await?;
    let mut guests = Vec::new();
    for seated in 2..=4 {
        let guest = Student::join(class.host.address, &class.host.word, "Guest").await?;
        assert_eq!(guest.seated["moment"]["paused"], true);
        assert_eq!(guest.seated["moment"]["elapsed_ms"], paused["elapsed_ms"]);
        guests.push(guest);
        while class.instructor.client.expect("class").await?["seated"] != seated {}
    }
    class.students[0].answer(asked.round, &asked.muscle.name).await?;
    class.students[0].client.expect_error("not_now").await?;
    class.instructor.say("resume").await?;
    let resumed = class.everyone("resumed").await?;
    assert_eq!(resumed["elapsed_ms"], paused["elapsed_ms"], "no time went by");
    class.students[0].answer_recorded(asked.round, &asked.muscle.name).await?;
    class.end().await?;
    class.host.is_sound()
}

#[tokio::test]
async fn a_skipped_round_counts_for_nothing_and_an_early_end_keeps_the_rest() -> Result<()> {
    let mut class = Class::gather(&["--rounds", "4"], 2).await?;
    let asked = class.open_round().await?;
    for student in &mut class.students {
        student.answer_recorded(asked.round, &asked.muscle.name).await?;
    }
    class.everyone("round_closed").await?;
    class.reveal().await?;
    // Skipped while it is open, with an answer in.
    let asked = class.open_round().await?;
    class.students[0].answer_recorded(asked.round, &asked.muscle.name).await?;
    class.instructor.say("skip").await?;
    assert_eq!(class.everyone("round_skipped").await?["round"], 2);
    class.students[1].answer(asked.round, &asked.muscle.name).await?;
    class.students[1].client.expect_error("round_not_open").await?;
    // Skipped when it is closed.
    class.open_round().await?;
    class.close_round().await?;
    class.instructor.say("skip").await?;
    assert_eq!(class.everyone("round_skipped").await?["round"], 3);
    // Ended while it is open: that round does not count either.
    class.open_round().await?;
    let ended = class.end().await?;
    assert_eq!(ended["why"], "instructor");
    for student in &class.students {
        let summary = student.client.heard_of("summary");
        let summary = summary.last().context("no summary")?;
        assert_eq!(summary["rounds"].as_array().map(Vec::len), Some(1));
        assert_eq!(summary["total"], summary["rounds"][0]["points"]);
    }
    let log = class.review_log()?;
    assert_eq!((log.of("round_skipped").count(), log.of("revealed").count()), (3, 1));
    class.host.is_sound()
}

#[tokio::test]
async fn a_round_that_nobody_answers_closes_by_itself_and_costs_nothing() -> Result<()> {
    let mut class = Class::gather(&["--limit", "1s", "--rounds", "1"], 2).await?;
    class.open_round().await?;
    let closed = class.everyone("round_closed").await?;
    assert_eq!((&closed["why"], &closed["answered"]), (&json!("time_up"), &json!(0)));
    let reveal = class.reveal().await?;
    assert_eq!((&reveal["silent"], &reveal["spread"]), (&json!(2), &json!([])));
    assert_eq!(reveal["contrast"], Value::Null);
    for student in &class.students {
        let result = student.client.heard_of("result");
        let result = result.last().context("no result")?;
        assert_eq!((&result["verdict"], &result["points"]), (&json!("silent"), &json!(0.0)));
        assert_eq!((&result["place"], &result["of"]), (&json!(1), &json!(2)));
    }
    class.instructor.say("next").await?;
    assert_eq!(class.everyone_to_the_end().await?["why"], "finished");
    class.host.is_sound()
}

/// A review that runs by itself opens, reveals and ends with no command but the first.
#[tokio::test]
async fn an_automatic_review_runs_to_its_end() -> Result<()> {
    let options = ["--pace", "automatic", "--reveal", "100ms", "--rounds", "3", "--limit", "2s"];
    let mut class = Class::gather(&options, 2).await?;
    class.instructor.say("start").await?;
    for round in 1..=3 {
        assert_eq!(class.everyone("round_opened").await?["round"], round);
        if round < 3 {
            let (_, muscle) = class.review_log()?.asked()?;
            for student in &mut class.students {
                student.answer_recorded(round, &muscle.name).await?;
            }
        }
        let why = class.everyone("round_closed").await?["why"].clone();
        assert_eq!(why, if round < 3 { "all_answered" } else { "time_up" });
        class.everyone("revealed").await?;
    }
    assert_eq!(class.everyone_to_the_end().await?["why"], "finished");
    assert_eq!(class.recount()?.rounds.len(), 3);
    class.host.is_sound()
}

/// A review that is over still tells its students how it went.
#[tokio::test]
async fn a_student_who_comes_back_to_a_review_that_is_over_gets_the_summary() -> Result<()> {
    let mut class = Class::gather(&["--rounds", "1"], 1).await?;
    let asked = class.open_round().await?;
    class.students[0].answer_recorded(asked.round, &asked.muscle.name).await?;
    class.everyone("round_closed").await?;
    class.reveal().await?;
    class.instructor.say("next").await?;
    class.everyone_to_the_end().await?;
    let told = class.students[0].client.heard_of("summary")[0].clone();
    let mut back = class.students[0].seat.take(class.host.address).await?;
    let moment = &back.seated["moment"];
    assert_eq!(moment["phase"], "ended");
    for field in ["rounds", "again", "total", "place", "of"] {
        assert_eq!(moment["summary"][field], told[field]);
    }
    back.client.expect_close(1000).await?;
    let late = Student::join(class.host.address, &class.host.word, "Too late").await;
    let told = format!("{:#}", late.err().context("a seat in a review that is over")?);
    assert!(told.contains("review_over"), "{told}");
    class.host.is_sound()
}

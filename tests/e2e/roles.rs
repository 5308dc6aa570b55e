//! Who may say what, and who is told what.

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Class, Instructor, Named, Student, shoulder};
use serde_json::{Value, json};

/// What only an instructor may send.
const COMMANDS: [&str; 8] =
    ["start", "next", "close_round", "reveal", "skip", "pause", "resume", "end"];

#[tokio::test]
async fn a_student_cannot_conduct() -> Result<()> {
    let mut class = Class::gather(&["--rounds", "1"], 2).await?;
    let asked = class.open_round().await?;
    let before = class.review_log()?.rows.len();
    let id = class.students[0].seat.id.clone();
    let mut messages: Vec<Value> = COMMANDS.map(|kind| json!({ "type": kind })).into();
    messages.push(json!({ "type": "remove", "student": id }));
    messages.push(json!({ "type": "stretch", "student": id, "time": { "kind": "untimed" } }));
    for message in messages {
        // A seat of its own for each, as three faults end a connection.
        let mut guest = Student::join(class.host.address, &class.host.word, "Guest").await?;
        guest.client.say_text(message.to_string()).await?;
        // A study group's members may start theirs.
        let code = if message["type"] == "start" { "not_allowed" } else { "unknown_type" };
        guest.client.expect_error(code).await.with_context(|| message.to_string())?;
        guest.client.say(json!({ "type": "leave" })).await?;
        guest.client.expect_close(1000).await?;
    }
    let log = class.review_log()?;
    let new = &log.rows[before..];
    let strange = new.iter().find(|row| row.kind != "seated" && row.kind != "away");
    assert_eq!(strange, None);
    for student in &mut class.students {
        student.answer_recorded(asked.round, &asked.muscle.name).await?;
    }
    class.everyone("round_closed").await?;
    class.host.is_sound()
}

#[tokio::test]
async fn commands_out_of_season_are_refused_and_change_nothing() -> Result<()> {
    let mut class = Class::gather(&["--rounds", "2"], 1).await?;
    refused(&mut class, &["next", "close_round", "reveal", "skip", "pause", "resume"]).await?;
    class.open_round().await?;
    refused(&mut class, &["start", "next", "reveal", "resume"]).await?;
    class.close_round().await?;
    refused(&mut class, &["start", "next", "close_round", "pause", "resume"]).await?;
    class.reveal().await?;
    refused(&mut class, &["start", "close_round", "reveal", "skip", "resume"]).await?;
    // Nobody by that number.
    let nobody = json!({ "type": "remove", "student": "00000000-0000-4000-8000-000000000001" });
    class.instructor.client.say(nobody).await?;
    class.instructor.client.expect_error("no_such_student").await?;
    let seat = class.students[0].seat.clone();
    let little = json!({ "type": "stretch", "student": seat.id,
        "time": { "kind": "stretched", "percent": 149 } });
    class.instructor.client.say_text(little.to_string()).await?;
    class.instructor.client.expect_error("bad_field").await?;
    class.end().await?;
    refused_with(&mut class, &["start", "next", "end"], "review_over").await?;
    class.host.is_sound()
}

async fn refused(class: &mut Class, commands: &[&str]) -> Result<()> {
    refused_with(class, commands, "not_now").await
}

async fn refused_with(class: &mut Class, commands: &[&str], code: &str) -> Result<()> {
    // Connections that end leave their own events.
    let events = |class: &Class| -> Result<usize> {
        Ok(class.review_log()?.rows.iter().filter(|row| row.kind != "away").count())
    };
    let before = events(class)?;
    for command in commands {
        class.instructor.say(command).await?;
        class.instructor.client.expect_error(code).await.with_context(|| (*command).to_owned())?;
    }
    assert_eq!(events(class)?, before, "{commands:?}");
    Ok(())
}

/// Over the whole muscle list, with clues as they come, someone who joins late and someone who
/// comes back: between a round's opening and its reveal no student hears the muscle's name.
#[tokio::test]
async fn nothing_tells_the_answer_before_the_reveal() -> Result<()> {
    let list = shoulder()?;
    let mut class = Class::gather(&["--limit", "2s"], 3).await?;
    for number in 0..list.len() {
        let asked = class.open_round().await?;
        let other = list.iter().find(|other| other.key != asked.muscle.key).context("no other")?;
        class.students[0].answer_recorded(asked.round, &asked.muscle.name).await?;
        class.students[1].answer_recorded(asked.round, &other.name).await?;
        if number % 6 == 0 {
            // All clues are out when the time is up; then one comes late and one comes back.
            class.everyone("round_closed").await?;
            let late = class.join("Late").await?;
            check_hides(&late.seated, &asked.muscle)?;
            let seat = class.students[1].seat.clone();
            class.students[1] = seat.take(class.host.address).await?;
            check_hides(&class.students[1].seated, &asked.muscle)?;
        } else {
            class.close_round().await?;
        }
        for student in &class.students {
            for message in since_opened(student.client.heard()) {
                check_hides(message, &asked.muscle)?;
            }
        }
        let reveal = class.reveal().await?;
        assert_eq!(reveal["answer"]["name"], asked.muscle.name.as_str());
    }
    class.instructor.say("next").await?;
    class.everyone_to_the_end().await?;
    let clues = class.students[0].client.heard_of("clue").len();
    assert!(clues >= 6, "only {clues} further clues were ever shown");
    class.host.is_sound()
}

fn since_opened(heard: &[Value]) -> &[Value] {
    let opened = heard.iter().rposition(|message| message["type"] == "round_opened");
    &heard[opened.unwrap_or(0)..]
}

fn check_hides(message: &Value, muscle: &Named) -> Result<()> {
    let text = message.to_string().to_lowercase();
    let short = muscle.latin.strip_prefix("musculus ").unwrap_or(&muscle.latin);
    for name in [&muscle.name, &muscle.latin, short, &muscle.key] {
        ensure!(!text.contains(&name.to_lowercase()), "{name} is told in {message}");
    }
    Ok(())
}

#[tokio::test]
async fn a_removed_student_is_out_and_the_seat_is_gone() -> Result<()> {
    let mut class = Class::gather(&["--rounds", "1"], 3).await?;
    let asked = class.open_round().await?;
    class.students[0].answer_recorded(asked.round, &asked.muscle.name).await?;
    let mut removed = class.students.remove(0);
    class.instructor.remove(&removed.seat).await?;
    removed.client.expect("removed").await?;
    removed.client.expect_close(1008).await?;
    let gone = class.instructor.client.expect("gone").await?;
    assert_eq!(gone["student"], removed.seat.id.as_str());
    let back = removed.seat.take(class.host.address).await;
    let told = format!("{:#}", back.err().context("the seat was given back")?);
    assert!(told.contains("not_allowed"), "{told}");
    // The class goes on without; the answer stays in the log.
    class.students[0].answer_recorded(asked.round, &asked.muscle.name).await?;
    class.close_round().await?;
    class.reveal().await?;
    let standings = class.instructor.client.heard_of("standings");
    assert_eq!(standings.last().context("no standings")?["of"], 2);
    assert_eq!(class.review_log()?.recorded()?.len(), 2);
    class.host.is_sound()
}

#[tokio::test]
async fn a_seat_taken_from_elsewhere_closes_the_first_connection() -> Result<()> {
    let mut class = Class::gather(&["--rounds", "1"], 1).await?;
    let asked = class.open_round().await?;
    let mut first = class.students.remove(0);
    let mut second = first.seat.take(class.host.address).await?;
    first.client.expect_close(4001).await?;
    let attempt = second.answer_recorded(asked.round, &asked.muscle.name).await?;
    class.instructor.client.expect("round_closed").await?;
    // The end of the first connection is not the student's: the seat is still present.
    let third = second.seat.take(class.host.address).await?;
    second.client.expect_close(4001).await?;
    assert_eq!(third.seated["present"], 1);
    assert_eq!(third.seated["moment"]["given"]["attempt"], attempt.as_str());
    let log = class.review_log()?;
    assert_eq!((log.of("away").count(), log.of("seated").count()), (0, 1));
    class.host.is_sound()
}

/// More time is a matter between the instructor and one student. Another review's time limit is
/// the clock: when its round is over, so is the time of the class here, which opened before it.
#[tokio::test]
async fn more_time_is_private_and_lasts_longer_than_the_class_has() -> Result<()> {
    let mut class = Class::gather(&["--limit", "1s", "--rounds", "1"], 3).await?;
    let seat = class.students[0].seat.clone();
    let more = json!({ "kind": "stretched", "percent": 1000 });
    class.instructor.stretch(&seat, more.clone()).await?;
    let changed = class.students[0].client.expect("time_changed").await?;
    assert_eq!(changed["time"], more);
    class.instructor.expect_row(&seat, |row| row["time"] == more).await?;

    let asked = class.open_round().await?;
    let settings = json!({ "limit_ms": 1_000, "rounds": 1 });
    let mut clock = Instructor::open(class.host.address, &class.host.key, settings).await?;
    clock.say("start").await?;
    assert_eq!(clock.client.expect("round_closed").await?["why"], "time_up");

    class.students[1].answer(asked.round, &asked.muscle.name).await?;
    class.students[1].client.expect_error("too_late").await?;
    class.students[0].answer_recorded(asked.round, &asked.muscle.name).await?;
    // Nobody is left who could answer.
    class.everyone("round_closed").await?;
    class.reveal().await?;
    let recount = class.recount()?;
    let answer = recount.rounds[0].answers.get(&seat.id).context("no answer")?;
    assert_eq!(answer.limit_ms, Some(10_000.0));
    class.end().await?;
    for other in &class.students[1..] {
        assert_eq!(other.seated["time"], json!({ "kind": "standard" }));
        let about = |told: &&Value| told["type"] == "time_changed" || has_stretch(told);
        let told = other.client.heard().iter().find(about);
        assert_eq!(told, None, "another student's time is no one's business");
    }
    class.host.is_sound()
}

fn has_stretch(told: &Value) -> bool {
    told.to_string().contains("stretched")
}

/// A name is shown to the class only where its student asked for that.
#[tokio::test]
async fn a_name_is_listed_only_on_request() -> Result<()> {
    let mut class = Class::gather(&["--rounds", "1"], 1).await?;
    let (address, word) = (class.host.address, class.host.word.clone());
    class.students.push(Student::join_as(address, &word, "Keeps to herself", false).await?);
    let asked = class.open_round().await?;
    class.students[1].answer_recorded(asked.round, &asked.muscle.name).await?;
    class.close_round().await?;
    class.reveal().await?;
    class.end().await?;
    let standings = class.students[0].client.heard_of("standings");
    let rows = &standings.last().context("no standings")?["rows"];
    assert_eq!((&rows[0]["name"], &rows[1]["name"]), (&json!(null), &json!("Student 1")));
    for message in class.students[0].client.heard() {
        ensure!(!message.to_string().contains("Keeps"), "told to another student: {message}");
    }
    // The instructor has her on the roll.
    let roll = Instructor::conduct(address, Some(&word), &class.host.key).await?;
    ensure!(roll.conducting["roll"].to_string().contains("Keeps to herself"));
    class.host.is_sound()
}

//! Names that an instructor requires, or gives.

use std::fs;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Class, Client, Program, Role, Student, TestHost};
use rusqlite::Connection;
use serde_json::{Value, json};
use tempfile::TempDir;

/// What the data file has of a seat's name, and all that it has beside seats.
fn kept(class: &Class) -> Result<(Vec<String>, String)> {
    let file = Connection::open(class.host.data().join("myonym.sqlite"))?;
    let mut query = file.prepare("SELECT name FROM seat ORDER BY name")?;
    let names = query.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    let mut query = file.prepare("SELECT body FROM event ORDER BY seq")?;
    let bodies: Vec<String> = query.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    Ok((names, bodies.concat()))
}

async fn rename(class: &mut Class, number: usize, name: &str) -> Result<()> {
    let student = class.students[number].seat.id.clone();
    class.instructor.client.say(json!({ "type": "rename", "student": student, "name": name })).await
}

/// The student, the instructor's roll and the standings have the new name; it outlasts a kill; and it
/// stands in the table of seats alone.
#[tokio::test]
async fn a_student_is_renamed_for_good() -> Result<()> {
    let host = TestHost::start_to_be_restarted(&[]).await?;
    let mut class = Class::gather_at(host, 2).await?;
    let asked = class.open_round().await?;
    for student in &mut class.students {
        student.answer_recorded(asked.round, &asked.muscle.name).await?;
    }
    class.everyone("round_closed").await?;
    class.reveal().await?;
    rename(&mut class, 0, "  Zinnia\u{202e}  Quartz ").await?;
    let told = class.students[0].client.expect("renamed").await?;
    assert_eq!(told["name"], "Zinnia Quartz");
    let standings = class.everyone("standings").await?;
    let names: Vec<&Value> =
        standings["rows"].as_array().context("no rows")?.iter().map(|row| &row["name"]).collect();
    ensure!(names.contains(&&json!("Zinnia Quartz")), "{standings}");
    ensure!(!names.contains(&&json!("Student 1")), "{standings}");
    let seat = class.students[0].seat.clone();
    class.instructor.expect_row(&seat, |row| row["name"] == "Zinnia Quartz").await?;

    rename(&mut class, 0, " ").await?;
    class.instructor.client.expect_error("bad_name").await?;
    let nobody = json!({ "type": "rename", "student": uuid::Uuid::nil(), "name": "A" });
    class.instructor.client.say(nobody).await?;
    class.instructor.client.expect_error("no_such_student").await?;

    class.host.kill9().await?;
    class.host.restart().await?;
    class.students[0].seat.name = "Zinnia Quartz".to_owned();
    class.come_back().await?;
    let (names, events) = kept(&class)?;
    assert_eq!(names, ["Student 2", "Zinnia Quartz"]);
    ensure!(!events.contains("Zinnia"), "a name stands in the log: {events}");
    assert_eq!(class.review_log()?.of("renamed").count(), 1);
    class.end().await?;
    class.host.is_sound()
}

async fn refused(host: &TestHost, name: &str) -> Result<String> {
    let mut client = Client::open(host.address, Role::Student).await?;
    client.hello(json!({ "type": "join", "word": host.word, "name": name })).await?;
    let error = client.expect_error("not_allowed").await?;
    client.expect_close(1008).await?;
    Ok(error["message"].as_str().unwrap_or_default().to_owned())
}

#[tokio::test]
async fn only_those_of_the_roster_take_a_seat_each_once() -> Result<()> {
    let place = TempDir::new()?;
    let roster = place.path().join("lab-a.txt");
    fs::write(&roster, "# Lab A\nMira Oak\nNils Elm  # bench 2\nIda Fir\n")?;
    let roster = roster.display().to_string();
    let host = TestHost::start_to_be_restarted(&["--roster", &roster]).await?;
    let mut class = Class::gather_at(host, 0).await?;
    class.join("mira  OAK").await?;
    assert_eq!(class.students[0].seat.name, "Mira Oak", "as it is spelt on the roster");
    ensure!(refused(&class.host, "Eve Yew").await?.contains("ask the instructor"));
    ensure!(refused(&class.host, "Mira Oak").await?.contains("already"));
    class.join("Nils Elm").await?;
    // By the token of the seat, also from a second join.
    let (seat, word) = (class.students[0].seat.clone(), class.host.word.clone());
    let join = json!({ "type": "join", "word": word, "name": "Mira Oak", "seat": seat.token });
    let mut again = Client::open(class.host.address, Role::Student).await?;
    again.hello(join).await?;
    assert_eq!(again.expect("seated").await?["student"], seat.id.as_str());
    class.students[0] = seat.take(class.host.address).await?;

    // After a restart the same names are taken.
    class.host.kill9().await?;
    class.host.restart().await?;
    class.come_back().await?;
    ensure!(refused(&class.host, "nils elm").await?.contains("already"));
    rename(&mut class, 0, "NILS ELM").await?;
    class.instructor.client.expect_error("bad_name").await?;
    // Who is taken out, or is called otherwise, gives the name free.
    let gone = class.students.remove(1);
    class.instructor.remove(&gone.seat).await?;
    class.instructor.client.expect("gone").await?;
    class.join("Nils Elm").await?;
    rename(&mut class, 0, "Ida Fir").await?;
    class.students[0].client.expect("renamed").await?;
    class.join("Mira Oak").await?;
    // Study groups are their members' own.
    let settings = json!({ "pace": { "kind": "group", "reveal_ms": 5_000 } });
    Student::gather(class.host.address, "Eve Yew", settings).await?;
    class.host.is_sound()
}

#[tokio::test]
async fn a_roster_that_cannot_be_read_is_told_of_line_by_line() -> Result<()> {
    let place = TempDir::new()?;
    let roster = place.path().join("roster.txt");
    fs::write(&roster, format!("Mira Oak\nmira oak\n{}\n", "x".repeat(25)))?;
    let (roster, data) = (roster.display().to_string(), place.path().join("data"));
    let data = data.display().to_string();
    let host = ["host", "--headless", "--port", "0", "--data", &data, "--roster", &roster];
    let ran = Program::run(&host).await?;
    ensure!(ran.code == Some(1), "{ran:?}");
    for told in ["line 2: mira oak stands in line 1", "line 3: a name has 1 to 24 characters"] {
        ensure!(ran.err.contains(told), "{told} in {ran:?}");
    }
    Ok(())
}

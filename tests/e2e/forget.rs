//! Records removed: of a student, of reviews, and of what has been kept long enough.

use std::fs;

use anyhow::{Context as _, Result, ensure};
use myonym_engine::Review;
use myonym_tests::{Class, Client, Program, Ran, Role, Seat, TestHost};
use rusqlite::Connection;
use serde_json::{Value, json};
use tempfile::TempDir;
use uuid::Uuid;

use crate::term::{folder_bytes, holds};

async fn forget(data: &str, arguments: &[&str]) -> Result<Ran> {
    Program::run(&[&["forget", "--data", data], arguments].concat()).await
}

fn told(ran: &Ran, part: &str) -> Result<()> {
    ensure!(ran.code == Some(0) && ran.out.contains(part), "{part} in {ran:?}");
    Ok(())
}

/// What of a student lies in the files of a folder: the name, the number, and what was typed.
fn traces(class: &Class, seat: &Seat, typed: &str) -> Result<Vec<&'static str>> {
    let files = folder_bytes(&class.host.data())?;
    let id: Uuid = seat.id.parse()?;
    let looked = [
        ("name", seat.name.as_bytes()),
        ("number as text", seat.id.as_bytes()),
        ("number", &id.as_bytes()[..]),
        ("typed", typed.as_bytes()),
    ];
    Ok(looked.into_iter().filter(|(_, bytes)| holds(&files, bytes)).map(|(what, _)| what).collect())
}

async fn report(data: &str) -> Result<Value> {
    let ran = Program::run(&["report", "all", "--json", "--data", data]).await?;
    ensure!(ran.code == Some(0), "{ran:?}");
    Ok(serde_json::from_str(&ran.out)?)
}

/// In the midst of a review that goes on afterwards.
#[tokio::test]
async fn a_forgotten_student_leaves_no_byte_behind_and_the_review_goes_on() -> Result<()> {
    let host = TestHost::start_to_be_restarted(&["--spelling", "strict"]).await?;
    let mut class = Class::gather_at(host, 3).await?;
    let data = class.host.data().display().to_string();
    let asked = class.open_round().await?;
    let typed = "what nobody else types";
    class.students[0].answer_recorded(asked.round, &asked.muscle.name).await?;
    class.students[1].answer_recorded(asked.round, typed).await?;
    class.students[2].answer_recorded(asked.round, "deltoid").await?;
    class.everyone("round_closed").await?;
    class.reveal().await?;

    // Not while a host runs.
    let running = forget(&data, &["--student", "Student 2", "--yes"]).await?;
    ensure!(running.code == Some(1) && running.err.contains("is in use"), "{running:?}");
    class.host.stop().await?;
    let gone = class.students.remove(1);
    assert_eq!(traces(&class, &gone.seat, typed)?.len(), 4);
    let files = TempDir::new()?;
    let (xapi, html) = (files.path().join("answers.json"), files.path().join("page.html"));
    let (xapi, html) = (xapi.display().to_string(), html.display().to_string());
    let write = ["report", "all", "--xapi", &xapi, "--html", &html, "--data", &data];
    told(&Program::run(&write).await?, "3 answers")?;

    // Not unasked.
    let unasked = forget(&data, &["--student", "student 2"]).await?;
    ensure!(unasked.code == Some(1) && unasked.err.contains("--yes"), "{unasked:?}");
    assert_eq!(traces(&class, &gone.seat, typed)?.len(), 4);

    let ran = forget(&data, &["--student", "student 2", "--yes"]).await?;
    told(&ran, "Removed: Student 2: 1 seat with its name, 1 answer, in 1 review.")?;
    told(&ran, &format!("  {}", fs::canonicalize(&xapi)?.display()))?;
    ensure!(!ran.out.contains("page.html"), "the page holds no student: {ran:?}");
    assert_eq!(traces(&class, &gone.seat, typed)?, [""; 0]);
    told(&forget(&data, &["--student", "Student 2", "--yes"]).await?, "Nothing to forget")?;

    let found = report(&data).await?;
    assert_eq!((&found["basis"]["answers"], &found["basis"]["persons"]), (&json!(2), &json!(2)));
    let review = Review::replay(&class.review_log()?.replayable()?).context("no review")?;
    assert_eq!((review.seats().len(), review.rounds().len()), (2, 1));

    class.host.restart().await?;
    let mut client = Client::open(class.host.address, Role::Student).await?;
    let seat = gone.seat.token;
    client.hello(json!({ "type": "return", "word": class.host.word, "seat": seat })).await?;
    client.expect_error("not_allowed").await?;
    class.come_back().await?;
    let asked = class.open_round().await?;
    for student in &mut class.students {
        student.answer_recorded(asked.round, &asked.muscle.name).await?;
    }
    class.everyone("round_closed").await?;
    class.reveal().await?;
    class.end().await?;
    class.host.is_sound()
}

#[tokio::test]
async fn whole_reviews_are_forgotten_with_the_files_made_of_them() -> Result<()> {
    let mut class = Class::gather(&["--section", "Lab A"], 2).await?;
    let data = class.host.data().display().to_string();
    let asked = class.open_round().await?;
    class.students[0].answer_recorded(asked.round, &asked.muscle.name).await?;
    class.students[1].answer_recorded(asked.round, "deltoid").await?;
    class.everyone("round_closed").await?;
    class.reveal().await?;
    class.end().await?;
    class.host.stop().await?;
    let files = TempDir::new()?;
    let html = files.path().join("page.html").display().to_string();
    told(&Program::run(&["report", "all", "--html", &html, "--data", &data]).await?, "wrote")?;

    let unsaid = forget(&data, &["--yes"]).await?;
    ensure!(unsaid.code == Some(1) && unsaid.err.contains("say what to forget"), "{unsaid:?}");
    told(&forget(&data, &["--before", "2020-01-01", "--yes"]).await?, "Nothing to forget")?;
    let other = forget(&data, &["--section", "Lab B", "--yes"]).await?;
    told(&other, "did you mean Lab A?")?;
    told(&other, "Nothing to forget")?;
    assert_eq!(class.host.log()?.reviews.len(), 1);

    let ran = forget(&data, &["--section", "lab a", "--exports", "--yes"]).await?;
    told(&ran, "Removed: 1 review, 2 seats with their names, 2 answers.")?;
    ensure!(!fs::exists(&html)?, "the page is still there: {ran:?}");
    assert_eq!(class.host.log()?.reviews.len(), 0);
    let seats: Vec<Seat> = class.students.iter().map(|student| student.seat.clone()).collect();
    for seat in &seats {
        assert_eq!(traces(&class, seat, &seat.name)?, [""; 0]);
    }
    told(&forget(&data, &["--all", "--yes"]).await?, "Nothing to forget")?;
    told(&Program::run(&["report", "--data", &data]).await?, "No review has been held yet")
}

/// 401 days are faked in the file: nothing here waits for them.
#[tokio::test]
async fn reviews_are_kept_as_long_as_the_folder_is_told() -> Result<()> {
    let folder = TempDir::new()?;
    let mut class = Class::gather_at(TestHost::start_in(folder, &[]).await?, 1).await?;
    let asked = class.open_round().await?;
    class.students[0].answer_recorded(asked.round, &asked.muscle.name).await?;
    class.everyone("round_closed").await?;
    class.reveal().await?;
    class.end().await?;
    class.host.stop().await?;
    let old = [class.host.word.clone()];
    let data = class.host.data();
    let age = |days: i64| -> Result<()> {
        let file = Connection::open(data.join("myonym.sqlite"))?;
        let sql = "UPDATE review SET opened_s = unixepoch() - ?1, touched_s = unixepoch() - ?1";
        file.execute(sql, [days * 24 * 3_600])?;
        Ok(())
    };
    let counted = "removed what was kept long enough";
    let words = async |options: &[&str], said: bool| -> Result<Vec<String>> {
        // A start that ends at once, for want of such a list, looks after old reviews all the same.
        let data = data.display().to_string();
        let start = ["host", "--headless", "--port", "0", "--list", "no-such", "--data", &data];
        let ran = Program::run(&[&start[..], options].concat()).await?;
        ensure!(ran.err.contains("no muscle list is called no-such"), "{ran:?}");
        ensure!(ran.err.contains(counted) == said, "{ran:?}");
        Ok(class.host.log()?.reviews.into_iter().map(|review| review.word).collect())
    };
    age(401)?;
    assert_eq!(words(&[], false).await?, old, "kept for ever unless told otherwise");
    age(399)?;
    assert_eq!(words(&["--keep", "400d"], false).await?, old);
    age(401)?;
    assert_eq!(words(&["--keep", "forever"], false).await?, old);
    age(399)?;
    assert_eq!(words(&["--keep", "400d"], false).await?, old);
    age(401)?;
    // The folder remembers it.
    assert_eq!(words(&[], true).await?, [""; 0]);
    let seat = class.students[0].seat.clone();
    assert_eq!(traces(&class, &seat, &seat.name)?, [""; 0]);
    let wrong = Program::run(&["host", "--keep", "0d"]).await?;
    ensure!(wrong.code == Some(2) && wrong.err.contains("such as 400d"), "{wrong:?}");
    Ok(())
}

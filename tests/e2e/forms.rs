//! Data files of every form that there was, opened by the program of today; and one of a form to come,
//! which is left as it is. `tests/reference/data-files/README.md` says how they were made.

use std::fs;
use std::path::Path;

use anyhow::{Context as _, Result, ensure};
use myonym_engine::Review;
use myonym_tests::{
    Client, Instructor, Log, OLD_FILES, OldFile, Program, Role, Student, TestHost, put_old_file,
};
use rusqlite::Connection;
use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};
use tempfile::TempDir;

/// Seats and events as they lie in the file, in columns that every form has.
fn content(path: &Path) -> Result<Vec<String>> {
    let file = Connection::open(path)?;
    let mut all = Vec::new();
    for query in [
        "SELECT hex(id) || word || hex(key_hash) || opened_s FROM review ORDER BY id",
        "SELECT hex(review) || hex(student) || hex(token_hash) || name FROM seat ORDER BY student",
        "SELECT hex(review) || seq || ' ' || at_ms || kind || body || hex(chain) FROM event \
         WHERE seq <= 15 ORDER BY seq",
        "SELECT hex(key_hash) FROM host",
    ] {
        let mut query = file.prepare(query)?;
        let rows = query.query_map([], |row| row.get::<_, String>(0))?;
        all.extend(rows.collect::<Result<Vec<_>, _>>()?);
    }
    Ok(all)
}

async fn come_back(host: &TestHost, token: &str) -> Result<Student> {
    let mut client = Client::open(host.address, Role::Student).await?;
    client.hello(json!({ "type": "return", "word": host.word, "seat": token })).await?;
    let seated = client.expect("seated").await?;
    let text = |field: &str| seated[field].as_str().map(ToOwned::to_owned).context("no text");
    let (id, name) = (text("student")?, text("name")?);
    let seat = myonym_tests::Seat { word: host.word.clone(), id, token: token.to_owned(), name };
    Ok(Student { client, seat, seated })
}

#[tokio::test]
async fn a_review_in_a_file_of_any_form_goes_on_and_is_reported() -> Result<()> {
    for OldFile { form, word, key, seats } in &OLD_FILES {
        let folder = TempDir::new()?;
        let path = put_old_file(*form, folder.path())?;
        let before = content(&path)?;
        let mut host = TestHost::start_from(folder, (*key).to_owned(), &[]).await?;
        assert_eq!(host.word, *word, "form {form}");
        assert_eq!(content(&path)?, before, "form {form} reads otherwise now");

        let mut instructor = Instructor::conduct(host.address, Some(word), key).await?;
        let mut students = Vec::new();
        for (token, name) in seats.iter().zip(["Iris", "Nils", "Ida"]) {
            let student = come_back(&host, token).await?;
            assert_eq!(student.seat.name, name, "form {form}");
            students.push(student);
        }
        // Two rounds of four are revealed: Iris has points of both, Nils of none or near-misses.
        let total = |student: &Student| student.seated["total"].as_f64().unwrap_or(f64::NAN);
        ensure!(total(&students[0]) > 100.0 && total(&students[1]) < 50.0, "form {form}");
        for round in 3..=4 {
            instructor.say("next").await?;
            instructor.client.expect("round_opened").await?;
            let log = host.log()?;
            let (_, asked) = log.review(word)?.asked()?;
            for student in &mut students {
                student.client.expect("round_opened").await?;
                student.answer_recorded(round, &asked.name).await?;
            }
            instructor.client.expect("round_closed").await?;
            instructor.say("reveal").await?;
            instructor.client.expect("revealed").await?;
        }
        instructor.say("next").await?;
        assert_eq!(instructor.client.expect("ended").await?["why"], "finished");
        host.is_sound()?;
        host.stop().await?;

        let log = Log::read(&host.data())?;
        Review::replay(&log.review(word)?.replayable()?).context("it does not replay")?;
        let data = host.data().display().to_string();
        let ran = Program::run(&["report", "all", "--json", "--data", &data]).await?;
        ensure!(ran.code == Some(0), "form {form}: {ran:?}");
        let report: Value = serde_json::from_str(&ran.out)?;
        assert_eq!(report["basis"]["answers"], 5 + 6, "form {form}: {report}");
    }
    Ok(())
}

/// A program of today must not write into what it does not know.
#[tokio::test]
async fn a_file_of_a_form_to_come_is_refused_and_left_as_it_is() -> Result<()> {
    let folder = TempDir::new()?;
    let path = put_old_file(3, folder.path())?;
    // Killed as the programs of these forms are: with some of it in the write-ahead log alone.
    let file = Connection::open(&path)?;
    file.execute_batch("PRAGMA journal_mode = WAL; PRAGMA user_version = 4")?;
    let log = path.with_extension("sqlite-wal");
    let (bytes, behind) = (fs::read(&path)?, fs::read(&log)?);
    drop(file);
    fs::write(&path, bytes)?;
    fs::write(&log, behind)?;
    let digest = || {
        let both = [fs::read(&path)?, fs::read(&log)?].concat();
        Ok::<_, anyhow::Error>(Sha256::digest(both).to_vec())
    };
    let before = digest()?;
    let data = folder.path().join("data").display().to_string();
    let backup = folder.path().join("backup").display().to_string();
    for command in [
        &["host", "--headless", "--port", "0"][..],
        &["report"],
        &["plan"],
        &["forget", "--all", "--yes"],
        &["backup", &backup],
    ] {
        let ran = Program::run(&[command, &["--data", &data]].concat()).await?;
        ensure!(ran.code == Some(1), "{command:?}: {ran:?}");
        ensure!(ran.err.contains("was made by a newer myonym (form 4"), "{command:?}: {ran:?}");
        assert_eq!(digest()?, before, "{command:?} changed the file");
    }
    Ok(())
}

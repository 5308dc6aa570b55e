//! A term of several reviews: sections, groups, students who come back, and what reports say of it.

use std::fs;
use std::path::Path;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Class, Client, Instructor, Program, Ran, Role, Student, TestHost};
use serde_json::{Value, json};
use tempfile::TempDir;

const MIRA: &str = "00000000000000000000000000000001";
const NILS: &str = "00000000000000000000000000000002";

/// A student's device that may be known again.
async fn join(host: &TestHost, word: &str, name: &str, more: Value) -> Result<Student> {
    let mut hello = json!({ "type": "join", "word": word, "name": name });
    let fields = more.as_object().context("no fields")?.clone();
    hello.as_object_mut().context("no object")?.extend(fields);
    let mut client = Client::open(host.address, Role::Student).await?;
    client.hello(hello).await?;
    Student::seated(client, word).await
}

/// Plays one round of a review in which each says what stands beside them, and ends it.
async fn play(instructor: &mut Instructor, students: &mut [(Student, &str)]) -> Result<()> {
    instructor.say("start").await?;
    for (student, text) in students.iter_mut() {
        student.client.expect("round_opened").await?;
        student.answer_recorded(1, text).await?;
    }
    instructor.client.expect("round_closed").await?;
    instructor.say("reveal").await?;
    instructor.client.expect("standings").await?;
    instructor.say("end").await?;
    for (student, _) in students.iter_mut() {
        student.client.expect_close(1000).await?;
    }
    Ok(())
}

/// Two reviews of two sections: Mira is in both, Nils and Otto each in one.
struct Term {
    host: TestHost,
    words: [String; 2],
    secrets: Vec<String>,
}

impl Term {
    async fn hold() -> Result<Self> {
        let host = TestHost::start(&["--section", " Lab  A", "--spelling", "strict"]).await?;
        let mut secrets = Vec::new();
        let mut first = Instructor::conduct(host.address, Some(&host.word), &host.key).await?;
        let bench = |person: &str, group: &str| json!({ "person": person, "group": group });
        let mira = join(&host, &host.word, "Mira Oak", bench(MIRA, "Bench 1")).await?;
        let nils = join(&host, &host.word, "Nils Ash", bench(NILS, "Bench 2")).await?;
        let mut class = [(mira, "deltoid"), (nils, "a word of my own")];
        play(&mut first, &mut class).await?;
        secrets.extend(class.into_iter().map(|(student, _)| student));

        let settings = json!({ "section": "Lab B", "spelling": "strict" });
        let mut second = Instructor::open(host.address, &host.key, settings).await?;
        let word = second.word()?;
        let mira = join(&host, &word, "mira oak", bench(MIRA, "Bench 1")).await?;
        // The same computer under another name is somebody else; and one tells nothing of himself.
        let nils = join(&host, &word, "Otto Elm", bench(MIRA, "Bench 1")).await?;
        let shy = join(&host, &word, "Shy", json!({})).await?;
        let mut class = [(mira, "deltoid"), (nils, "teres minor"), (shy, "teres major")];
        play(&mut second, &mut class).await?;
        secrets.extend(class.into_iter().map(|(student, _)| student));
        let told = |student: Student| [student.seat.id, student.seat.token];
        let mut secrets: Vec<String> = secrets.into_iter().flat_map(told).collect();
        secrets.extend(["Mira Oak", "mira oak", "Nils Ash", "Otto Elm", "Shy"].map(String::from));
        secrets.extend([MIRA, NILS, "a word of my own", "Bench 2"].map(String::from));
        let words = [host.word.clone(), word];
        Ok(Self { host, words, secrets })
    }

    async fn report(&self, arguments: &[&str]) -> Result<Ran> {
        let data = self.host.data().display().to_string();
        Program::run(&[&["report", "--data", &data], arguments].concat()).await
    }

    async fn json(&self, arguments: &[&str]) -> Result<Value> {
        let ran = self.report(&[arguments, &["--json"]].concat()).await?;
        ensure!(ran.code == Some(0), "{ran:?}");
        Ok(serde_json::from_str(&ran.out)?)
    }

    async fn refused(&self, code: i32, part: &str, arguments: &[&str]) -> Result<()> {
        let ran = self.report(arguments).await?;
        ensure!(ran.code == Some(code) && ran.err.contains(part), "{part} in {ran:?}");
        Ok(())
    }
}

#[tokio::test]
async fn reviews_are_chosen_by_section_date_list_and_group() -> Result<()> {
    let term = Term::hold().await?;
    let list = term.report(&[]).await?;
    for part in ["Lab A, ", "Lab B, ", &term.words[0], &term.words[1]] {
        ensure!(list.out.contains(part), "{part} is not listed: {}", list.out);
    }
    let chosen = async |arguments: &[&str]| -> Result<Vec<Value>> {
        let found = term.json(arguments).await?;
        Ok(found["basis"]["reviews"].as_array().context("no reviews")?.clone())
    };
    let lab_a = chosen(&["--section", "lab a"]).await?;
    assert_eq!(lab_a.len(), 1);
    assert_eq!((&lab_a[0]["section"], &lab_a[0]["persons"]), (&json!("Lab A"), &json!(2)));
    assert_eq!((&lab_a[0]["word"], &lab_a[0]["asked"]), (&json!(term.words[0]), &json!(2)));
    assert_eq!(chosen(&["--section", "Lab A", "--section", "Lab B"]).await?.len(), 2);
    assert_eq!(chosen(&["--list", "shoulder", "--from", "2020-01-01"]).await?.len(), 2);
    // Oldest first, whatever the list's order.
    let all = chosen(&["all"]).await?;
    assert_eq!(
        all[0]["opened_s"].as_i64().min(all[1]["opened_s"].as_i64()),
        all[0]["opened_s"].as_i64()
    );

    let group = term.json(&["--group", "bench 2"]).await?;
    assert_eq!((&group["basis"]["persons"], &group["basis"]["answers"]), (&json!(1), &json!(1)));
    assert_eq!(group["basis"]["filter"], json!(["group bench 2"]));

    term.refused(1, "did you mean Lab A?", &["--section", "Lap A"]).await?;
    term.refused(1, "there are: Lab A, Lab B", &["--section", "Thursday"]).await?;
    term.refused(1, "did you mean shoulder?", &["--list", "sholder"]).await?;
    term.refused(1, "did you mean Bench 1?", &["--group", "Bensh 1"]).await?;
    term.refused(1, "no review is to 2001-01-01", &["--to", "2001-01-01"]).await?;
    term.refused(2, "yesterday is not a date; write it as 2026-09-01", &["--from", "yesterday"])
        .await?;
    term.host.is_sound()
}

#[tokio::test]
async fn who_comes_back_is_followed_without_an_account() -> Result<()> {
    let term = Term::hold().await?;
    let found = term.json(&["all", "--students"]).await?;
    // Mira in both; Nils, Otto and the one who tells nothing in one each.
    assert_eq!(found["basis"]["persons"], 4);
    let students = found["students"].as_array().context("no students")?;
    let row = |name: &str| -> Result<&Value> {
        let row = students.iter().find(|row| row["name"] == name);
        row.with_context(|| format!("{name} is not in {students:?}"))
    };
    assert_eq!((&row("mira oak")?["reviews"], &row("mira oak")?["asked"]), (&json!(2), &json!(2)));
    assert_eq!((&row("Nils Ash")?["wrong"], &row("Otto Elm")?["asked"]), (&json!(1), &json!(1)));
    assert_eq!(students.len(), 4);
    // A page of one's own names nobody else.
    let page = term.report(&["--student", "Mira Oak"]).await?;
    ensure!(page.code == Some(0) && page.out.contains("Of 2 rounds you had"), "{page:?}");
    for other in ["Nils", "Otto", "Shy"] {
        ensure!(!page.out.contains(other), "{other} stands on it: {}", page.out);
    }
    let pseudonym = row("mira oak")?["pseudonym"].as_str().context("no pseudonym")?;
    assert_eq!(term.report(&["--student", pseudonym]).await?.out, page.out);
    term.refused(1, "nobody in these reviews is called Ida", &["--student", "Ida"]).await?;
    // The secret is in no file of the host.
    let files = folder_bytes(&term.host.data())?;
    ensure!(!holds(&files, MIRA.as_bytes()), "the device's secret was kept");
    term.host.is_sound()
}

/// Two who gave the same name on devices that tell nothing are not taken for one.
#[tokio::test]
async fn a_name_that_two_students_have_is_not_guessed_at() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let mut instructor = Instructor::conduct(host.address, Some(&host.word), &host.key).await?;
    let one = join(&host, &host.word, "Iris", json!({})).await?;
    let other = join(&host, &host.word, "iris", json!({})).await?;
    play(&mut instructor, &mut [(one, "deltoid"), (other, "teres minor")]).await?;
    let data = host.data().display().to_string();
    let ran = Program::run(&["report", "--data", &data, "--student", "Iris"]).await?;
    ensure!(ran.code == Some(1) && ran.err.contains("2 students are called Iris"), "{ran:?}");
    let pseudonym = ran.err.split("student-").nth(1).and_then(|rest| rest.split(' ').next());
    let pseudonym = format!("student-{}", pseudonym.context("no pseudonym is told")?);
    let page = Program::run(&["report", "--data", &data, "--student", &pseudonym]).await?;
    ensure!(page.out.contains("Of 1 round you had"), "{page:?}");
    host.is_sound()
}

/// Nothing that a report or a file holds tells who a student is, unless names are asked for.
#[tokio::test]
async fn no_report_and_no_file_names_a_student() -> Result<()> {
    let term = Term::hold().await?;
    let folder = TempDir::new()?;
    let file = |name: &str| folder.path().join(name).display().to_string();
    let (html, xapi, parquet) = (file("page.html"), file("answers.json"), file("answers.parquet"));
    let written =
        term.report(&["all", "--html", &html, "--xapi", &xapi, "--parquet", &parquet]).await?;
    ensure!(written.code == Some(0) && written.out.contains(": 5 answers"), "{written:?}");
    assert_eq!(fs::read_dir(folder.path())?.count(), 3, "half-written files are left");
    let mut outputs = folder_bytes(folder.path())?;
    for form in [&["all"][..], &["all", "--json"], &["all", "--csv"], &[]] {
        outputs.push((format!("{form:?}"), term.report(form).await?.out.into_bytes()));
    }
    for secret in &term.secrets {
        for (name, bytes) in &outputs {
            let told = holds(&[(String::new(), bytes.clone())], secret.as_bytes());
            ensure!(!told, "{secret} is in {name}");
        }
    }
    // One student has one pseudonym in both reviews.
    let statements: Value = serde_json::from_str(&fs::read_to_string(&xapi)?)?;
    let statements = statements.as_array().context("no statements")?;
    let mut actors: Vec<&str> = statements
        .iter()
        .filter_map(|statement| statement["actor"]["account"]["name"].as_str())
        .collect();
    assert_eq!(actors.len(), 5);
    actors.sort_unstable();
    actors.dedup();
    assert_eq!(actors.len(), 4);
    ensure!(actors.iter().all(|name| name.starts_with("student-")), "{actors:?}");
    // Where names are asked for they are told, and not to the files.
    let named = term.report(&["all", "--students", "--csv"]).await?;
    ensure!(named.out.contains("Nils Ash"), "{named:?}");
    private(&xapi)?;
    term.host.is_sound()
}

#[cfg(unix)]
fn private(path: &str) -> Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    assert_eq!(fs::metadata(path)?.permissions().mode() & 0o777, 0o600);
    Ok(())
}

#[cfg(not(unix))]
fn private(_path: &str) -> Result<()> {
    Ok(())
}

/// A group or a section without a name is refused, and the rest goes on.
#[tokio::test]
async fn a_group_without_a_name_is_refused() -> Result<()> {
    let mut class = Class::gather(&[], 1).await?;
    let mut client = Client::open(class.host.address, Role::Student).await?;
    let hello =
        json!({ "type": "join", "word": class.host.word, "name": "Iris", "group": "\u{200b}" });
    client.hello(hello).await?;
    client.expect_error("bad_field").await?;
    client.expect_close(1008).await?;
    let mut client = Client::open(class.host.address, Role::Instructor).await?;
    let settings = json!({ "section": " \t" });
    client.hello(json!({ "type": "open", "key": class.host.key, "settings": settings })).await?;
    client.expect_error("bad_field").await?;
    class.open_round().await?;
    class.host.is_sound()
}

/// All files of a folder with what they hold.
pub(crate) fn folder_bytes(folder: &Path) -> Result<Vec<(String, Vec<u8>)>> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_file() {
            files.push((path.display().to_string(), fs::read(&path)?));
        }
    }
    Ok(files)
}

/// Whether any of these holds such bytes.
pub(crate) fn holds(files: &[(String, Vec<u8>)], bytes: &[u8]) -> bool {
    files.iter().any(|(_, held)| held.windows(bytes.len()).any(|part| part == bytes))
}

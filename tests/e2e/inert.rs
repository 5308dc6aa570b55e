//! Texts that would do something where they are shown: steer a terminal, run in a browser, be
//! reckoned by a spreadsheet, turn the line about. Wherever they come out, they are letters.

use std::fs;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Class, Client, Program, Role, Student, Terminal};
use serde_json::json;
use tempfile::TempDir;
use uuid::Uuid;

/// As names and as answers, each of another kind. The first character tells a spreadsheet to reckon
/// (OWASP, CSV injection): `=`, `+`, `-`, `@`, a tab or the end of a line.
const HOSTILE: [&str; 10] = [
    "=1+cmd|'/c x'!A0",
    "+1+1",
    "-1+1",
    "@SUM(1)",
    "\t=1+1",
    "<script>x()</script>",
    "\"><img src=x onerror=x>",
    "\u{1b}[2J\u{1b}]0;x\u{7}red",
    "\u{202e}evil\u{2066}\u{200f}",
    "&lt;b&amp;\u{9b}31m\u{85}x",
];

fn is_shown(c: char) -> bool {
    let hidden = matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}'
        | '\u{2066}'..='\u{2069}' | '\u{feff}');
    c == '\n' || !c.is_control() && !hidden
}

fn shown(what: &str, text: &str) -> Result<()> {
    let bad = text.chars().find(|c| !is_shown(*c));
    ensure!(bad.is_none(), "{what} holds {bad:?}: {text:?}");
    Ok(())
}

/// The texts, and one whose letter is lost under what stands on it.
fn texts() -> Vec<String> {
    let piled = format!("e{}", "\u{301}".repeat(79));
    HOSTILE.map(str::to_owned).into_iter().chain([piled]).collect()
}

/// A class of students with these names.
async fn hostile_class() -> Result<Class> {
    let mut class =
        Class::gather(&["--rounds", "1", "--spelling", "strict", "--section", "<script>x()"], 0)
            .await?;
    for text in texts() {
        let name: String = text.chars().take(24).collect();
        let mut client = Client::open(class.host.address, Role::Student).await?;
        // One who is known again from review to review, so that reports may name them.
        let person = Uuid::new_v4().simple().to_string();
        let word = &class.host.word;
        let hello = json!({
            "type": "join", "word": word, "name": name, "listed": true, "person": person,
            "group": name,
        });
        client.hello(hello).await?;
        let student = Student::seated(client, word).await;
        class.students.push(student.with_context(|| format!("{name:?}"))?);
    }
    Ok(class)
}

/// A round in which each answers with such a text, or rightly.
async fn hostile_round(class: &mut Class, rightly: bool) -> Result<()> {
    let asked = class.open_round().await?;
    for (student, text) in class.students.iter_mut().zip(texts()) {
        let text = if rightly { asked.muscle.name.clone() } else { text };
        student.answer_recorded(asked.round, &text).await.with_context(|| format!("{text:?}"))?;
    }
    Ok(())
}

#[tokio::test]
async fn hostile_texts_are_letters_in_every_report() -> Result<()> {
    let mut class = hostile_class().await?;
    hostile_round(&mut class, false).await?;
    class.everyone("round_closed").await?;
    let reveal = class.reveal().await?;
    class.end().await?;
    for text in reveal.to_string().split("\\u").skip(1) {
        ensure!(!text.starts_with("00"), "a control in the reveal: {reveal}");
    }
    class.host.stop().await?;
    let data = class.host.data().display().to_string();
    let page = class.host.data().join("page.html").display().to_string();
    for form in [
        &["--csv"][..],
        &["--csv", "--students"],
        &["--students"],
        &["--json", "--students"],
        &["--html", &page, "--students"],
        &[],
    ] {
        let arguments = [&["report", "1", "--data", &data], form].concat();
        let ran = Program::run(&arguments).await?;
        ensure!(ran.code == Some(0), "{form:?}: {ran:?}");
        let told = ran.out.contains("<script>x()</script>");
        ensure!(told == form.contains(&"--students"), "{form:?}: whose names? {}", ran.out);
        shown(&format!("{form:?}"), &ran.out.replace('\r', ""))?;
        if form.contains(&"--csv") {
            reckons_nothing(&ran.out)?;
        }
    }
    let page = fs::read_to_string(page)?;
    shown("the page", &page)?;
    for tag in ["<script", "<img", "onerror=x>"] {
        ensure!(!page.contains(tag), "the page holds {tag}");
    }
    ensure!(page.contains("&lt;script&gt;"), "the page does not tell the section");
    class.host.is_sound()
}

/// No cell begins as a formula does, but for numbers.
fn reckons_nothing(table: &str) -> Result<()> {
    for line in table.lines() {
        for cell in line.split(',').map(|cell| cell.trim_start_matches('"')) {
            let is_number = cell.trim_end_matches('"').parse::<f64>().is_ok();
            let reckoned = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
            ensure!(is_number || !reckoned, "a formula: {cell:?} in {line:?}");
        }
    }
    Ok(())
}

#[cfg(target_os = "linux")]
#[tokio::test]
async fn hostile_names_are_letters_on_a_students_screen() -> Result<()> {
    let home = TempDir::new()?;
    let mut class = hostile_class().await?;
    let link = format!("http://{}/?word={}", class.host.address, class.host.word);
    let arguments = [link.as_str(), "--name", "Mira", "--listed"];
    let mut screen = Terminal::start(&Program::built()?.student, &arguments, home.path())?;
    while class.instructor.client.expect("class").await?["seated"] != texts().len() + 1 {}
    hostile_round(&mut class, true).await?;
    class.close_round().await?;
    class.reveal().await?;
    screen.until("Tab standings").await?;
    screen.keys("\t").await?;
    let text = screen.until("<script>x()</script>").await?;
    shown("the screen", &text)?;
    class.host.is_sound()
}

//! The programs as people use them: a student's screen and the instructor's console in a terminal.

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Class, Log, Program, Student, Terminal};
use tempfile::TempDir;

#[tokio::test]
async fn a_student_plays_a_round_at_a_terminal() -> Result<()> {
    let home = TempDir::new()?;
    let mut class = Class::gather(&["--rounds", "1"], 1).await?;
    let link = format!("http://{}/?word={}", class.host.address, class.host.word);
    let arguments = [link.as_str(), "--name", "Mira", "--listed"];
    let mut screen = Terminal::start(&Program::built()?.student, &arguments, home.path())?;
    while class.instructor.client.expect("class").await?["seated"] != 2 {}
    let asked = class.open_round().await?;
    let opened = class.instructor.client.heard_of("round_opened");
    let clue = opened.last().context("no round")?["clue"]["text"].as_str().context("no clue")?;
    // The first words of it fit on a line.
    let words: Vec<&str> = clue.split(' ').take(4).collect();
    let shown = screen.until(&words.join(" ")).await?;
    ensure!(shown.contains("Round 1 of 1"), "{shown}");
    screen.keys("teres\r").await?;
    screen.until("teres major").await?;
    let name = asked.muscle.name.as_str();
    assert_eq!(class.review_log()?.of("asked_again").count(), 1);
    screen.keys(&format!("{}{name}\r", "\u{7f}".repeat(5))).await?;
    screen.until("Recorded").await?;
    class.close_round().await?;
    class.reveal().await?;
    screen.until(&asked.muscle.latin).await?;
    class.end().await?;
    let recount = class.recount()?;
    assert_eq!(recount.rounds[0].answers.len(), 1);
    assert!(recount.rounds[0].answers.values().all(|answer| answer.exact));
    class.host.is_sound()
}

#[tokio::test]
async fn the_instructor_conducts_at_the_console_of_the_host() -> Result<()> {
    let home = TempDir::new()?;
    let data = home.path().join("reviews");
    let folder = data.display().to_string();
    let arguments =
        ["host", "--address", "127.0.0.1", "--port", "0", "--data", &folder, "--rounds", "1"];
    let mut console = Terminal::start(&Program::built()?.host, &arguments, home.path())?;
    let shown = console.until("http://127.0.0.1:").await?;
    let place = shown.split("http://").nth(1).and_then(|rest| rest.split('/').next());
    let address = place.context("no address")?.parse()?;
    let word = Log::read(&data)?.reviews[0].word.clone();
    ensure!(shown.contains(&word), "no join word:\n{shown}");
    // The count of the class is told a quarter of a second apart: after four of them the console
    // takes Space for what is meant, and not for a slip.
    let mut first = Student::join(address, &word, "Student 1").await?;
    let mut students = Vec::new();
    for seated in 2..=5 {
        students.push(Student::join(address, &word, &format!("Student {seated}")).await?);
        while first.client.expect("class").await?["seated"] != seated {}
    }
    students.push(first);
    console.until("5 students").await?;
    console.keys(" ").await?;
    for student in &mut students {
        student.client.expect("round_opened").await?;
    }
    console.until("round 1 of 1").await?;
    let (round, muscle) = Log::read(&data)?.reviews[0].asked()?;
    students[0].answer_recorded(round, &muscle.name).await?;
    console.keys("q").await?;
    console.keys("y").await?;
    assert_eq!(console.ended().await?, Some(0));
    for student in &mut students {
        student.client.expect_close(1001).await?;
    }
    assert_eq!(Log::read(&data)?.reviews[0].recorded()?.len(), 1);
    Ok(())
}

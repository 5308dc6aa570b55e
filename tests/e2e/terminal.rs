//! The programs as people use them: a student's screen and the instructor's console in a terminal.

use std::fs;
use std::net::SocketAddr;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Class, Log, Program, Student, Terminal, TestHost};
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

/// A plan is shown before the console takes the screen, why a round is in only where the class does
/// not look, and one key chooses one of two.
#[tokio::test]
async fn a_planned_choice_is_made_with_one_key() -> Result<()> {
    let home = TempDir::new()?;
    let plan = home.path().join("plan.toml");
    let rounds = "[[round]]\nmuscle = \"teres minor\"\nbeside = \"teres major\"\nwhy = \"missed on Monday\"\n";
    fs::write(&plan, format!("list = \"shoulder\"\nseed = 7\n{rounds}"))?;
    let data = home.path().join("reviews");
    let (plan, folder) = (plan.display().to_string(), data.display().to_string());
    let place = ["--address", "127.0.0.1", "--port", "0", "--data", &folder];
    let arguments = [&["host", "--plan", &plan][..], &place].concat();
    let mut console = Terminal::start(&Program::built()?.host, &arguments, home.path())?;
    let shown = console.until("Enter: go on to the console").await?;
    ensure!(shown.contains("teres minor beside teres major  missed on Monday"), "{shown}");
    console.keys("\r").await?;
    let shown = console.until("http://127.0.0.1:").await?;
    let place = shown.split("http://").nth(1).and_then(|rest| rest.split('/').next());
    let address = place.context("no address")?;
    let word = Log::read(&data)?.reviews[0].word.clone();
    let others = gather(address.parse()?, &word, 4).await?;
    let link = format!("http://{address}/?word={word}");
    let arguments = [link.as_str(), "--name", "Mira", "--no-person"];
    let mut student = Terminal::start(&Program::built()?.student, &arguments, home.path())?;
    console.until("5 students").await?;
    console.keys("\t\t").await?;
    let shown = console.until("Students are told").await?;
    ensure!(!shown.contains("Monday"), "{shown}");
    console.keys("v").await?;
    console.until("Missed on Monday.").await?;
    console.keys(" ").await?;
    let shown = student.until("Which of the two is it?").await?;
    let minor = shown.lines().find(|line| line.contains("teres minor")).context("not offered")?;
    student.keys(if minor.contains("1  ") { "1" } else { "2" }).await?;
    student.until("Recorded").await?;
    let log = Log::read(&data)?;
    let answer = log.reviews[0].of("answered").next().context("no answer")?;
    assert_eq!((&answer["exact"], &answer["credit"]), (&true.into(), &1.0.into()));
    drop(others);
    Ok(())
}

/// Students who take their seats one after the other. The count of the class is told a quarter of a
/// second apart: after four of them the console takes Space for what is meant, and not for a slip.
async fn gather(address: SocketAddr, word: &str, count: usize) -> Result<Vec<Student>> {
    let mut students = vec![Student::join(address, word, "Student 1").await?];
    for seated in 2..=count {
        students.push(Student::join(address, word, &format!("Student {seated}")).await?);
        while students[0].client.expect("class").await?["seated"] != seated {}
    }
    Ok(students)
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
    let mut students = gather(address, &word, 5).await?;
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

/// A study group is opened at one terminal and joined at another by the link that it shows; it runs
/// by their keys alone.
#[tokio::test]
async fn two_terminals_hold_a_study_group() -> Result<()> {
    let (home, other) = (TempDir::new()?, TempDir::new()?);
    let host = TestHost::start(&["--study-groups-only"]).await?;
    let address = host.address.to_string();
    let play = &Program::built()?.student;
    let gather = [&address, "--name", "Ada", "--gather", "--rounds", "2", "--limit", "10m"];
    let mut ada = Terminal::start(play, &gather, home.path())?;
    let shown = ada.until("The study group gathers").await?;
    let link = shown.split_whitespace().find(|word| word.starts_with("http://"));
    let link = link.context("no link on the screen")?.to_owned();
    let mut ben = Terminal::start(play, &[&link, "--name", "Ben"], other.path())?;
    ben.until("The study group gathers").await?;
    ada.until("2 students are here").await?;
    ben.keys(" ").await?;
    ada.until("Round 1 of 2").await?;
    ben.until("Round 1 of 2").await?;
    // Control-T, then Control-K.
    ada.keys("\u{14}").await?;
    ben.until("pause 1 of 2").await?;
    ben.keys("\u{14}").await?;
    ada.until("PAUSED").await?;
    ben.until("PAUSED").await?;
    ada.keys("\u{b}").await?;
    ada.until("skip 1 of 2, you too").await?;
    ben.until("skip 1 of 2").await?;
    ben.keys("\u{b}").await?;
    ada.until("Round 2 of 2").await?;
    ben.until("Round 2 of 2").await?;
    // Control-X at both.
    ada.keys("\u{18}").await?;
    ben.until("end 1 of 2").await?;
    ben.keys("\u{18}").await?;
    ada.until("The study group has ended the review.").await?;
    ben.until("The study group has ended the review.").await?;
    host.is_sound()
}

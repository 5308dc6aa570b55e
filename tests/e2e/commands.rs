//! The other commands: rehearsal, report and check; and starts that cannot be.

use std::fs;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Class, Program, Ran, TestHost};
use serde_json::{Value, json};
use tempfile::TempDir;

fn said(ran: &Ran, code: i32, part: &str) -> Result<()> {
    let text = if code == 0 { &ran.out } else { &ran.err };
    ensure!(ran.code == Some(code) && text.contains(part), "{code} and `{part}`, but {ran:?}");
    Ok(())
}

/// A rehearsal off its usual port, where another host may be.
async fn rehearse(data: &str, students: &str, rounds: &str) -> Result<Ran> {
    let options = ["host", "--rehearse", students, "--rounds", rounds, "--limit", "1s"];
    let place = ["--data", data, "--port", "0", "--address", "127.0.0.1"];
    Program::run(&[&options[..], &place].concat()).await
}

#[tokio::test]
async fn a_rehearsal_runs_by_itself_and_ends_with_the_weak_spots() -> Result<()> {
    let folder = TempDir::new()?;
    let data = folder.path().display().to_string();
    let ran = rehearse(&data, "8", "4").await?;
    said(&ran, 0, "Rehearsal with 8 simulated students")?;
    for part in ["round  4 of 4", "share right", "made to confuse"] {
        said(&ran, 0, part)?;
    }
    ensure!(!ran.out.contains('\u{1b}'), "escape sequences in a pipe: {}", ran.out);

    said(&Program::run(&["report", "--rehearsals", "--data", &data]).await?, 0, "rehearsal")?;
    let told = Program::run(&["report", "--rehearsals", "1", "--json", "--data", &data]).await?;
    let report: Value = serde_json::from_str(&told.out)?;
    let review = &report["basis"]["reviews"][0];
    assert_eq!((&review["persons"], &review["rounds"]), (&json!(8), &json!(4)));
    let asked = |field: &str| report["basis"][field].as_u64().context("no total");
    assert_eq!(asked("answers")? + asked("silent")?, 32);
    // A rehearsal is no review of a class.
    said(&Program::run(&["report", "--data", &data]).await?, 1, "nothing was recorded here yet")
}

/// One student is seated before the rehearsal itself is: it begins all the same.
#[tokio::test]
async fn a_rehearsal_of_one_begins() -> Result<()> {
    let folder = TempDir::new()?;
    let data = folder.path().display().to_string();
    said(&rehearse(&data, "1", "1").await?, 0, "round  1 of 1")
}

#[tokio::test]
async fn a_report_says_plainly_that_there_is_nothing() -> Result<()> {
    let folder = TempDir::new()?;
    let data = folder.path().display().to_string();
    let none = Program::run(&["report", "--data", &data]).await?;
    said(&none, 1, "nothing was recorded here yet")?;
    ensure!(none.err.contains(&data), "it does not say where: {}", none.err);
    assert_eq!(fs::read_dir(folder.path())?.count(), 0, "looking leaves nothing behind");
    Ok(())
}

#[tokio::test]
async fn a_report_lists_reviews_and_finds_them_by_number_and_word() -> Result<()> {
    let mut class = Class::gather(&["--rounds", "1"], 2).await?;
    let asked = class.open_round().await?;
    class.students[0].answer_recorded(asked.round, &asked.muscle.name).await?;
    class.students[1].answer_recorded(asked.round, "deltoid").await?;
    class.everyone("round_closed").await?;
    class.reveal().await?;
    let data = class.host.data().display().to_string();
    let report = async |arguments: &[&str]| {
        Program::run(&[&["report", "--data", &data], arguments].concat()).await
    };
    // Beside the host that is still writing.
    said(&report(&[]).await?, 0, &class.host.word)?;
    said(&report(&["1"]).await?, 0, &asked.muscle.name)?;
    said(&report(&[&class.host.word]).await?, 0, &asked.muscle.name)?;
    said(&report(&["all"]).await?, 0, &asked.muscle.name)?;
    said(&report(&["2"]).await?, 1, "no review is 2")?;
    said(&report(&["radius-radius"]).await?, 1, "no review is radius-radius")?;
    // No student is in any form of it.
    for form in [&["1"][..], &["1", "--json"], &["1", "--csv"]] {
        let ran = report(form).await?;
        said(&ran, 0, &asked.muscle.name)?;
        for student in &class.students {
            let about = [&student.seat.name, &student.seat.id, &student.seat.token];
            let leak = about.iter().find(|secret| ran.out.contains(secret.as_str()));
            ensure!(leak.is_none(), "{leak:?} in {form:?}");
        }
    }
    class.host.is_sound()
}

#[tokio::test]
async fn content_is_shown_as_a_class_will_meet_it() -> Result<()> {
    let shown = Program::run(&["content", "show", "Teres", "Minor"]).await?;
    said(&shown, 0, "musculus teres minor")?;
    said(&shown, 0, "Beside teres major")?;
    said(&shown, 0, "teres major: rotates the arm medially")?;
    let settled = shown.out.lines().filter(|line| line.contains(" 1 left ")).count();
    ensure!(settled > 0, "no clue settles the name: {shown:?}");
    said(
        &Program::run(&["content", "show", "soleus", "--list", "shoulder"]).await?,
        1,
        "shoulder",
    )?;
    said(&Program::run(&["content", "show", "teres"]).await?, 1, "teres major, teres minor")?;
    said(&Program::run(&["content", "show", "tares minor"]).await?, 0, "teres minor")?;
    let lists = Program::run(&["content", "lists"]).await?;
    said(&lists, 0, "186 muscles  full course")
}

#[tokio::test]
async fn check_names_file_and_line_of_what_is_wrong() -> Result<()> {
    said(&Program::run(&["check"]).await?, 0, "no problems")?;
    let folder = TempDir::new()?;
    let path = folder.path().join("broken.toml");
    fs::write(
        &path,
        "# a list\n[[list]]\nkey = \"mine\"\nname = \"mine\"\nlevel = \"introductory\"\n\
                      muscles = [\"deltoid\", \"deltiod\"]\n",
    )?;
    let file = path.display().to_string();
    let ran = Program::run(&["check", &file]).await?;
    said(&ran, 1, &format!("{file}:6:"))?;
    said(&ran, 1, "deltiod")?;
    said(&ran, 1, "1 problem found")?;
    fs::write(&path, "not = [toml")?;
    said(&Program::run(&["check", &file]).await?, 1, &format!("{file}:1:"))?;
    let missing = folder.path().join("missing.toml").display().to_string();
    said(&Program::run(&["check", &missing]).await?, 1, &missing)
}

#[tokio::test]
async fn a_second_host_on_the_same_data_or_port_is_refused_plainly() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let data = host.data().display().to_string();
    let second = async |data: &str, port: &str| {
        let options = ["host", "--headless", "--address", "127.0.0.1"];
        Program::run(&[&options[..], &["--port", port, "--data", data]].concat()).await
    };
    let same_data = second(&data, "0").await?;
    said(&same_data, 1, "is in use by another myonym host")?;
    ensure!(same_data.err.contains("--data"), "it does not say what to do: {}", same_data.err);
    let folder = TempDir::new()?;
    let port = host.address.port().to_string();
    let same_port = second(&folder.path().display().to_string(), &port).await?;
    said(&same_port, 1, &format!("cannot listen on 127.0.0.1 port {port}"))?;
    ensure!(same_port.err.contains("--port"), "it does not say what to do: {}", same_port.err);
    // The first is none the worse.
    let mut class = Class::gather_at(host, 1).await?;
    class.open_round().await?;
    class.host.is_sound()
}

#[tokio::test]
async fn calls_that_cannot_work_say_so() -> Result<()> {
    let folder = TempDir::new()?;
    let data = folder.path().display().to_string();
    let check = async |code: i32, part: &str, arguments: &[&str]| {
        let ran = Program::run(arguments).await?;
        said(&ran, code, part).with_context(|| format!("{arguments:?}"))
    };
    check(2, "--limit", &["host", "--limit", "999ms"]).await?;
    check(2, "--rounds", &["host", "--rounds", "0"]).await?;
    check(2, "--rehearse", &["host", "--rehearse", "301"]).await?;
    check(2, "picture", &["host", "--tasks", "name,dance"]).await?;
    check(2, "--address", &["host", "--address", "nowhere"]).await?;
    check(2, "dance", &["dance"]).await?;
    check(0, "Usage", &["--help"]).await?;
    let list = ["host", "--headless", "--list", "no-such", "--port", "0", "--data", &data];
    check(1, "no muscle list is called no-such", &list).await?;
    // A data file that is none.
    fs::create_dir_all(folder.path())?;
    fs::write(folder.path().join("myonym.sqlite"), "this is a letter, not a database")?;
    check(1, "myonym.sqlite", &["host", "--headless", "--port", "0", "--data", &data]).await?;
    check(1, "myonym.sqlite", &["report", "--data", &data]).await?;
    Ok(())
}

/// The key is told at the first start that succeeds, not lost with one that did not.
#[tokio::test]
async fn a_start_that_fails_does_not_use_up_the_key() -> Result<()> {
    let folder = TempDir::new()?;
    let data = folder.path().join("data").display().to_string();
    let list = ["host", "--headless", "--list", "no-such", "--port", "0", "--data", &data];
    said(&Program::run(&list).await?, 1, "no muscle list is called no-such")?;
    let mut class = Class::gather_at(TestHost::start_in(folder, &[]).await?, 1).await?;
    class.open_round().await?;
    class.host.is_sound()
}

/// Student records are private: nobody but the owner may read them.
#[cfg(unix)]
#[tokio::test]
async fn the_data_is_readable_by_its_owner_alone() -> Result<()> {
    use std::os::unix::fs::PermissionsExt as _;
    let mut class = Class::gather(&[], 1).await?;
    class.open_round().await?;
    let mode = |path: &std::path::Path| -> Result<u32> {
        Ok(fs::metadata(path)?.permissions().mode() & 0o777)
    };
    let folder = class.host.data();
    assert_eq!(mode(&folder)?, 0o700);
    for entry in fs::read_dir(&folder)? {
        let path = entry?.path();
        let open_to_others = mode(&path)? & 0o077;
        ensure!(open_to_others == 0 || path.ends_with("myonym.lock"), "{}", path.display());
    }
    class.host.is_sound()
}

#[tokio::test]
async fn moment_arms_are_shown_in_the_posture_asked_for() -> Result<()> {
    let straight = Program::run(&["content", "arms", "piriformis"]).await?;
    said(&straight, 0, "lateral rotation, hip joint: sure")?;
    let bent = Program::run(&["content", "arms", "piriformis", "--bend", "hip-flexion=90"]).await?;
    said(&bent, 0, "medial rotation, hip joint: sure  at hip-flexion 90")?;
    let none = Program::run(&["content", "arms", "masseter"]).await?;
    said(&none, 1, "no line of pull of masseter")?;
    for (wrong, told) in [
        ("hip-flexoin=90", "no freedom is called hip-flexoin"),
        ("hip-flexion", "such as elbow-flexion=90"),
        ("hip-flexion=NaN", "a number of degrees"),
    ] {
        said(&Program::run(&["content", "arms", "piriformis", "--bend", wrong]).await?, 1, told)?;
    }
    Ok(())
}

/// A wrong fact: supraspinatus adducts. Common practice, no source.
#[tokio::test]
async fn a_check_tells_an_action_that_geometry_opposes() -> Result<()> {
    let folder = TempDir::new()?;
    let copy = folder.path().join("content/muscles/shoulder.toml");
    let bundled = myonym_content::catalogue::bundled_files();
    let shoulder = bundled.iter().find(|file| file.path.ends_with("muscles/shoulder.toml"));
    let text = &shoulder.context("no such file")?.text;
    let at = text.find("key = \"supraspinatus\"").context("no supraspinatus")?;
    let (before, after) = text.split_at(at);
    let wrong = after.replacen("movement = \"abduction\"", "movement = \"adduction\"", 1);
    fs::create_dir_all(copy.parent().context("no folder")?)?;
    fs::write(&copy, format!("{before}{wrong}"))?;
    let ran = Program::run(&["check", &copy.display().to_string()]).await?;
    said(&ran, 1, "supraspinatus adducts the arm: from where it is attached it abducts the arm")?;
    ensure!(ran.err.contains("error: ") && ran.err.contains("shoulder.toml:"), "{ran:?}");
    Ok(())
}

#[tokio::test]
async fn a_picture_is_written_and_told_in_words() -> Result<()> {
    let folder = TempDir::new()?;
    let file = folder.path().join("muscle.svg").display().to_string();
    let written = Program::run(&["content", "picture", "teres minor", "--file", &file]).await?;
    said(&written, 0, "Teres minor, from behind")?;
    ensure!(fs::read_to_string(&file)?.contains("Teres minor"), "its name is missing");
    let pair = ["content", "picture", "teres minor", "--beside", "teres major", "--file", &file];
    said(&Program::run(&pair).await?, 0, "Teres major")?;
    let hidden = ["content", "picture", "teres minor", "--unlabelled", "--file", &file];
    said(&Program::run(&hidden).await?, 0, "muscle.svg")?;
    ensure!(
        !fs::read_to_string(&file)?.to_lowercase().contains("teres m"),
        "a picture for a practical names it"
    );
    let none = Program::run(&["content", "picture", "masseter", "--file", &file]).await?;
    said(&none, 1, "no line of pull of masseter")?;
    let nowhere = ["content", "picture", "soleus", "--file", "/nowhere/at/all.svg"];
    said(&Program::run(&nowhere).await?, 1, "cannot be written")
}

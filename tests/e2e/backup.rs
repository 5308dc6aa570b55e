//! Backups of a running host, and folders restored from them.

use std::fs;
use std::path::Path;

use anyhow::{Context as _, Result, ensure};
use myonym_engine::Review;
use myonym_tests::{Class, Log, Program, Ran, TestHost};
use rusqlite::Connection;
use sha2::{Digest as _, Sha256};
use tempfile::TempDir;

async fn myonym(command: &str, arguments: &[&str]) -> Result<Ran> {
    Program::run(&[&[command], arguments].concat()).await
}

fn done(ran: &Ran, part: &str) -> Result<()> {
    ensure!(ran.code == Some(0) && ran.out.contains(part), "{part} in {ran:?}");
    Ok(())
}

fn refused(ran: &Ran, part: &str) -> Result<()> {
    ensure!(ran.code == Some(1) && ran.err.contains(part), "{part} in {ran:?}");
    Ok(())
}

fn text(path: &Path) -> String {
    path.display().to_string()
}

fn digest(path: &Path) -> Result<Vec<u8>> {
    Ok(Sha256::digest(fs::read(path)?).to_vec())
}

/// Names of the files of a folder.
fn names(folder: &Path) -> Result<Vec<String>> {
    let mut names = Vec::new();
    for entry in fs::read_dir(folder)? {
        names.push(entry?.file_name().to_string_lossy().into_owned());
    }
    names.sort_unstable();
    Ok(names)
}

/// Backups one after the other while a class answers: each is the log of some moment, whole, and the
/// review goes on from it.
#[tokio::test]
async fn a_backup_under_load_is_a_prefix_of_the_log_and_goes_on() -> Result<()> {
    const ROUNDS: u16 = 4;
    let place = TempDir::new()?;
    let files: Vec<_> = (1..=ROUNDS).map(|n| place.path().join(format!("{n}.backup"))).collect();
    let mut class = Class::gather(&["--rounds", "9"], 6).await?;
    let data = text(&class.host.data());
    for file in &files {
        let asked = class.open_round().await?;
        let file = text(file);
        let answers = async {
            for student in &mut class.students {
                student.answer_recorded(asked.round, &asked.muscle.name).await?;
            }
            Ok::<_, anyhow::Error>(())
        };
        let arguments = [file.as_str(), "--data", &data];
        let (ran, answered) = tokio::join!(myonym("backup", &arguments), answers);
        answered?;
        done(&ran?, "wrote")?;
        class.everyone("round_closed").await?;
        class.reveal().await?;
    }
    let whole = class.review_log()?;
    class.host.is_sound()?;
    class.host.stop().await?;
    let folder = TempDir::new()?;
    let restored = folder.path().join("data");
    for file in &files {
        let arguments = [&text(file), "--data", &text(&restored), "--replace"];
        done(&myonym("restore", &arguments.map(|part| part as &str)).await?, "1 review")?;
        let log = Log::read(&restored)?;
        let rows = &log.review(&class.host.word)?.rows;
        ensure!(!rows.is_empty() && whole.rows.starts_with(rows), "no prefix: {rows:?}");
        let events = log.review(&class.host.word)?.replayable()?;
        Review::replay(&events).context("it does not replay")?;
    }
    // Each set the one before it aside.
    let kept = names(&restored)?;
    let kept = kept.iter().filter(|name| name.starts_with("myonym-replaced-")).count();
    assert_eq!(kept, files.len() - 1);
    let backup = digest(&files[3])?;
    let host = TestHost::start_from(folder, class.host.key.clone(), &["--rounds", "9"]).await?;
    assert_eq!(host.word, class.host.word);
    class.host = host;
    class.come_back().await?;
    class.host.is_sound()?;
    assert_eq!(digest(&files[3])?, backup, "the backup itself was changed");
    Ok(())
}

#[tokio::test]
async fn backups_are_private_whole_and_never_written_over() -> Result<()> {
    let mut class = Class::gather(&[], 2).await?;
    let asked = class.open_round().await?;
    class.students[0].answer_recorded(asked.round, "deltoid").await?;
    let data = text(&class.host.data());
    let place = TempDir::new()?;
    let file = place.path().join("myonym.backup");
    let backup = [&text(&file), "--data", &data];
    let backup = backup.map(|part| part as &str);
    let ran = myonym("backup", &backup).await?;
    done(&ran, "1 review, 1 answer, ")?;
    done(&ran, "Certificates and private keys")?;
    assert_eq!(names(place.path())?, ["myonym.backup"]);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        assert_eq!(file.metadata()?.permissions().mode() & 0o777, 0o600);
    }
    let before = digest(&file)?;
    refused(&myonym("backup", &backup).await?, "is there already")?;
    assert_eq!(digest(&file)?, before);
    let none = TempDir::new()?;
    let nothing = text(&none.path().join("x"));
    refused(&myonym("backup", &[&nothing, "--data", &text(none.path())]).await?, "no data file")?;
    // SQLite's own word for it, read without any code of ours.
    let whole: String =
        Connection::open(&file)?.query_row("PRAGMA integrity_check", [], |row| row.get(0))?;
    assert_eq!(whole, "ok");
    Ok(())
}

#[tokio::test]
async fn nothing_is_restored_that_would_lose_or_spoil_records() -> Result<()> {
    let mut class = Class::gather(&[], 1).await?;
    let asked = class.open_round().await?;
    class.students[0].answer_recorded(asked.round, "deltoid").await?;
    let data = text(&class.host.data());
    let place = TempDir::new()?;
    let file = place.path().join("good");
    done(&myonym("backup", &[&text(&file), "--data", &data]).await?, "wrote")?;
    let restore = async |file: &Path, more: &[&str]| {
        myonym("restore", &[&[&text(file) as &str, "--data", &data], more].concat()).await
    };
    refused(&restore(&file, &["--replace"]).await?, "is in use")?;
    class.host.stop().await?;
    let here = class.host.data().join("myonym.sqlite");
    let (kept, before) = (names(&class.host.data())?, digest(&here)?);
    refused(&restore(&file, &[]).await?, "--replace")?;

    let spoilt = |name: &str, sql: &str| -> Result<std::path::PathBuf> {
        let path = place.path().join(name);
        fs::copy(&file, &path)?;
        Connection::open(&path)?.execute_batch(sql)?;
        Ok(path)
    };
    let newer = spoilt("newer", "PRAGMA user_version = 99")?;
    refused(&restore(&newer, &["--replace"]).await?, "newer myonym (form 99")?;
    let changed =
        "UPDATE event SET body = replace(body, 'deltoid', 'soleus') WHERE kind = 'answered'";
    let changed = spoilt("changed", changed)?;
    refused(&restore(&changed, &["--replace"]).await?, "its text was changed")?;
    let missing = spoilt("missing", "DELETE FROM event WHERE seq = 2")?;
    refused(&restore(&missing, &["--replace"]).await?, "it is missing")?;
    let foreign = spoilt("foreign", "PRAGMA user_version = 0")?;
    refused(&restore(&foreign, &["--replace"]).await?, "no data file of myonym")?;
    let cut = place.path().join("cut");
    let bytes = fs::read(&file)?;
    fs::write(&cut, &bytes[..bytes.len() / 2])?;
    refused(&restore(&cut, &["--replace"]).await?, "")?;
    let no_file = place.path().join("prose");
    fs::write(
        &no_file,
        "This is no data file, but a text that is long enough to be one. ".repeat(99),
    )?;
    refused(&restore(&no_file, &["--replace"]).await?, "not a database")?;
    refused(&restore(&place.path().join("none"), &["--replace"]).await?, "no data file at")?;
    assert_eq!(
        (names(&class.host.data())?, digest(&here)?),
        (kept, before),
        "something was changed"
    );
    Ok(())
}

/// Whoever forgets a student is told of the backups that hold it.
#[tokio::test]
async fn backups_are_known_to_who_forgets() -> Result<()> {
    let mut class = Class::gather(&[], 2).await?;
    let asked = class.open_round().await?;
    class.students[0].answer_recorded(asked.round, "deltoid").await?;
    let data = text(&class.host.data());
    let place = TempDir::new()?;
    let file = fs::canonicalize(place.path())?.join("myonym.backup");
    done(&myonym("backup", &[&text(&file), "--data", &data]).await?, "wrote")?;
    class.host.stop().await?;
    done(&myonym("restore", &[&text(&file), "--data", &data, "--replace"]).await?, "kept as")?;
    let aside = names(&class.host.data())?;
    let aside = aside.iter().find(|name| name.starts_with("myonym-replaced-")).context("none")?;
    let forget = ["--student", "Student 1", "--exports", "--yes", "--data", &data];
    let ran = myonym("forget", &forget).await?;
    done(&ran, &format!("{}  (a backup, of all reviews of that time)", text(&file)))?;
    done(&ran, aside)?;
    ensure!(!file.exists() && !class.host.data().join(aside).exists(), "still there: {ran:?}");
    Ok(())
}

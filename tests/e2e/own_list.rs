//! An instructor's own muscle list, from its text file to the reveal and over a kill.

use std::collections::BTreeSet;
use std::fs;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Class, Program, TestHost};
use tempfile::TempDir;

const LIST: &str = "\
name: Three of the shoulder

teres minor
M. deltoideus
lats
    also: broadest of the back
";

#[tokio::test]
async fn a_review_of_ones_own_list_asks_its_muscles_and_takes_its_names() -> Result<()> {
    let folder = TempDir::new()?;
    let path = folder.path().join("three.txt");
    fs::write(&path, LIST)?;
    let list = path.display().to_string();
    let host = TestHost::start_to_be_restarted(&["--list", &list]).await?;
    // What was read is kept with the review.
    fs::remove_file(&path)?;
    let mut class = Class::gather_at(host, 1).await?;
    let review = &class.students[0].seated["review"];
    assert_eq!((&review["list"], &review["rounds"]), (&"Three of the shoulder".into(), &3.into()));
    let mut asked_of = BTreeSet::new();
    for _ in 0..3 {
        let asked = class.open_round().await?;
        // A power cut in every round: the review goes on with the list that it was opened with.
        class.host.kill9().await?;
        class.host.restart().await?;
        class.come_back().await?;
        let own = asked.muscle.key == "latissimus-dorsi";
        let typed = if own { "broadest of the back" } else { asked.muscle.name.as_str() };
        class.students[0].answer_recorded(asked.round, typed).await?;
        class.everyone("round_closed").await?;
        let reveal = class.reveal().await?;
        assert_eq!(reveal["spread"][0]["verdict"], "right", "{typed}");
        asked_of.insert(asked.muscle.key);
    }
    let wanted = ["deltoid", "latissimus-dorsi", "teres-minor"].map(ToOwned::to_owned);
    assert_eq!(asked_of, BTreeSet::from(wanted));
    class.host.is_sound()
}

#[tokio::test]
async fn a_list_that_cannot_be_read_is_refused_with_its_line() -> Result<()> {
    let folder = TempDir::new()?;
    let path = folder.path().join("practical.txt");
    let list = path.display().to_string();
    fs::write(&path, LIST)?;
    let good = Program::run(&["check", &list]).await?;
    ensure!(good.code == Some(0), "{good:?}");
    fs::write(&path, "teres minor\nhippocampus\n")?;
    let data = folder.path().join("data").display().to_string();
    let host = ["host", "--headless", "--port", "0", "--data", &data, "--list", &list];
    for arguments in [&["check", &list][..], &host] {
        let ran = Program::run(arguments).await?;
        let told = ran.err.contains("practical.txt:2") && ran.err.contains("hippocampus");
        ensure!(ran.code == Some(1) && told, "{arguments:?}: {ran:?}");
    }
    let missing = folder.path().join("missing.txt").display().to_string();
    let ran = Program::run(&["check", &missing]).await?;
    ran.err.find("missing.txt").context("it does not name the file")?;
    Ok(())
}

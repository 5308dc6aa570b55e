//! A fault that is played inside a network of its own: this program runs itself again in the namespace of
//! the class, which tells by one line what came of it.

use std::env;
use std::process::Stdio;

use anyhow::{Context as _, Result, ensure};
use tokio::process::Command;

use super::lan::Lan;
use crate::options::Given;
use crate::table::{Outcome, Row};

/// Lays a network and plays the fault in it, part by part at the same time, each in a network of its own.
/// `note` is said of all of it, and `part` is what the program is told of a part with `--inside`.
pub(crate) async fn outside(given: &Given, parts: &[&str], note: &str) -> Result<Outcome> {
    let mut playing = Vec::new();
    for part in parts {
        let lan = match Lan::lay().await {
            Ok(lan) => lan,
            Err(why) => return Ok(Outcome::NotHere(format!("{why:#}"))),
        };
        playing.push(play(given, part, lan));
    }
    let mut sum = Row::default();
    note.clone_into(&mut sum.note);
    for row in futures_util::future::join_all(playing).await {
        sum.add(row?);
    }
    Ok(Outcome::Tried(sum))
}

async fn play(given: &Given, part: &str, lan: Lan) -> Result<Row> {
    let size = format!("{:?}", given.size).to_lowercase();
    let inside = [part, &lan.of_host, &lan.of_class].join(",");
    let output = Command::new("ip")
        .args(["netns", "exec", &lan.of_class])
        .arg(env::current_exe()?)
        .args(["--only", given.fault(), "--seed", &given.seed.to_string(), "--size", &size])
        .args(["--inside", &inside])
        .stdin(Stdio::null())
        .stderr(Stdio::inherit())
        .kill_on_drop(true)
        .output()
        .await?;
    let said = String::from_utf8(output.stdout)?;
    ensure!(output.status.success(), "{part}: {said}");
    let row = said.lines().last().context("nothing was said")?;
    serde_json::from_str(row).with_context(|| format!("{part}: {row}"))
}

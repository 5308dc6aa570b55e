//! The instructor of a review that moves itself on: starts it, and ends it when told to.

use std::time::Duration;

use anyhow::{Context as _, Result, bail};
use serde_json::json;
use tokio::select;
use tokio::sync::watch;
use tokio::task::JoinHandle;
use tokio::time::{sleep, timeout};

use super::diary::Way;
use super::link::{Heard, Link, Told};
use super::student::SILENCE;

/// What the instructor is to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Wish {
    Wait,
    Start,
    End,
}

/// An instructor's desk. Dropping it leaves the review as it stands.
#[derive(Debug)]
pub(crate) struct Desk {
    wish: watch::Sender<Wish>,
    task: JoinHandle<Result<()>>,
}

impl Desk {
    /// Takes the review in hand with the host's key.
    pub(crate) fn take(way: Way, key: &str) -> Self {
        let (wish, wished) = watch::channel(Wish::Wait);
        let task = tokio::spawn(conduct(way, key.to_owned(), wished));
        Self { wish, task }
    }

    /// Opens the first round.
    pub(crate) fn start(&self) {
        self.wish.send_replace(Wish::Start);
    }

    /// Ends the review and waits until it is over.
    pub(crate) async fn end(&mut self, patience: Duration) -> Result<()> {
        self.wish.send_replace(Wish::End);
        timeout(patience, &mut self.task).await.context("the review does not end")??
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        self.task.abort();
    }
}

async fn conduct(way: Way, key: String, mut wish: watch::Receiver<Wish>) -> Result<()> {
    loop {
        let hello = json!({ "type": "conduct", "word": way.word, "key": key });
        if let Ok(Ok(mut link)) = timeout(SILENCE, Link::open(way.to, way.from, &hello)).await
            && one_connection(&mut link, &mut wish).await?
        {
            return Ok(());
        }
        sleep(Duration::from_millis(250)).await;
    }
}

/// Where an instructor's connection has come to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    /// Not let in yet.
    Outside,
    /// In hand, and no round was opened yet.
    Gathering,
    /// Under way.
    Going,
    /// Over.
    Ended,
}

/// Whether the review is over at the end of it.
async fn one_connection(link: &mut Link, wish: &mut watch::Receiver<Wish>) -> Result<bool> {
    let mut stage = Stage::Outside;
    while stage != Stage::Ended {
        let wished = *wish.borrow_and_update();
        let command = match (wished, stage) {
            (Wish::Start, Stage::Gathering) => Some("start"),
            (Wish::End, Stage::Gathering | Stage::Going) => Some("end"),
            _ => None,
        };
        if let Some(command) = command {
            stage = Stage::Going;
            if link.say(&json!({ "type": command })).await.is_err() {
                return Ok(false);
            }
        }
        let before = stage;
        while stage == before {
            let heard = select! {
                heard = timeout(SILENCE, link.hear()) => heard,
                _ = wish.changed() => break,
            };
            match heard {
                Ok(heard) => match heard? {
                    Heard::Told(told) => stage = after(&told, stage)?,
                    Heard::Stir => {}
                    Heard::End(_) => return Ok(false),
                },
                Err(_silence) => return Ok(false),
            }
        }
    }
    Ok(true)
}

/// Where a message leaves the connection.
fn after(told: &Told, stage: Stage) -> Result<Stage> {
    Ok(match told.kind.as_str() {
        "conducting" => match told.moment.as_ref().context("no moment")?.phase.as_str() {
            "ended" => Stage::Ended,
            "gathering" => Stage::Gathering,
            _ => Stage::Going,
        },
        "ended" => Stage::Ended,
        "error" if told.code.as_deref() != Some("not_now") => {
            bail!("the instructor is refused: {told:?}")
        }
        _ => stage,
    })
}

//! The instructor of a review that moves itself on: starts it, and ends it when told to.

use std::time::Duration;

use anyhow::{Context as _, Result, bail};
use serde_json::json;
use tokio::select;
use tokio::sync::watch;
use tokio::task::JoinHandle;
use tokio::time::{sleep, timeout};

use super::link::{Heard, Link};
use super::student::{SILENCE, Way};

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

/// Whether the review is over at the end of it.
async fn one_connection(link: &mut Link, wish: &mut watch::Receiver<Wish>) -> Result<bool> {
    let mut in_hand = false;
    let mut gathering = true;
    loop {
        let wished = *wish.borrow_and_update();
        let command = match wished {
            Wish::Start if in_hand && gathering => Some("start"),
            Wish::End if in_hand => Some("end"),
            Wish::Wait | Wish::Start | Wish::End => None,
        };
        if let Some(command) = command {
            gathering = false;
            if link.say(&json!({ "type": command })).await.is_err() {
                return Ok(false);
            }
        }
        loop {
            let heard = select! {
                heard = timeout(SILENCE, link.hear()) => heard,
                _ = wish.changed() => break,
            };
            let Ok(heard) = heard else { return Ok(false) };
            match heard? {
                Heard::Told(told) => match told.kind.as_str() {
                    "conducting" => {
                        let phase = told.moment.context("no moment")?.phase;
                        if phase == "ended" {
                            return Ok(true);
                        }
                        (in_hand, gathering) = (true, phase == "gathering");
                        break;
                    }
                    "ended" => return Ok(true),
                    "error" if told.code.as_deref() != Some("not_now") => {
                        bail!("the instructor is refused: {told:?}")
                    }
                    _ => {}
                },
                Heard::Stir => {}
                Heard::End(_) => return Ok(false),
            }
        }
    }
}

//! The instructor of the class, who comes back by key and moves the review on.

use std::sync::Arc;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Client, Heard, Role};
use rand::SeedableRng as _;
use rand::rngs::ChaCha8Rng;
use serde_json::{Value, json};
use tokio::time::sleep;

use super::Shared;

/// An instructor's part in a review, to its end.
pub(super) async fn conduct(shared: Arc<Shared>) -> Result<()> {
    let mut random = ChaCha8Rng::seed_from_u64(0);
    while !visit(&shared).await? {
        shared.wait_a_little(&mut random).await;
    }
    Ok(())
}

/// One connection; whether the review is over.
async fn visit(shared: &Shared) -> Result<bool> {
    let place = &shared.place;
    let Ok(mut client) = Client::open(place.address, Role::Instructor).await else {
        return Ok(false);
    };
    let hello = json!({ "type": "conduct", "word": place.word, "key": place.key });
    let _ = client.hello(hello).await;
    let mut ending = shared.ending.subscribe();
    loop {
        let heard = tokio::select! {
            heard = client.hear_whenever() => Some(heard?),
            _ = ending.changed() => None,
        };
        match heard {
            None => drop(client.say(json!({ "type": "end" })).await),
            Some(Heard::Message(told)) if is_over(&told) => return Ok(true),
            Some(Heard::Message(told)) => answer(shared, &mut client, &told).await?,
            Some(Heard::Closed(end)) => {
                let refused = end.code.is_some_and(|code| ![1001, 1013].contains(&code));
                ensure!(!refused, "the instructor was sent away: {end:?}");
                return Ok(false);
            }
        }
    }
}

fn is_over(told: &Value) -> bool {
    told["type"] == "ended" || told["moment"]["phase"] == "ended"
}

/// Moves the review on from where it stands, or ends it.
async fn answer(shared: &Shared, client: &mut Client, told: &Value) -> Result<()> {
    let kind = told["type"].as_str().context("no type")?;
    let stands = match kind {
        "conducting" => told["moment"]["phase"].as_str().context("no phase")?,
        "round_closed" => "closed",
        "revealed" => "revealed",
        "round_skipped" => "skipped",
        "trouble" if told["trouble"] == "cannot_save" => {
            shared.note(|ledger| ledger.instructor_troubles += 1);
            return Ok(());
        }
        "error" => {
            let usual = ["not_now", "cannot_save", "review_over"];
            ensure!(usual.iter().any(|code| told["code"] == *code), "refused: {told}");
            return Ok(());
        }
        _ => return Ok(()),
    };
    let command = match stands {
        _ if *shared.ending.borrow() => "end",
        "gathering" => "start",
        "closed" => "reveal",
        "revealed" | "skipped" => {
            sleep(shared.tempo.reveal).await;
            "next"
        }
        _ => return Ok(()),
    };
    let _ = client.say(json!({ "type": command })).await;
    Ok(())
}

//! Whether what was told agrees with the log.

use std::collections::BTreeMap;

use anyhow::{Context as _, Result, ensure};
use myonym_engine::Review;
use myonym_tests::{Recount, ReviewLog, hundredths};
use serde_json::Value;

use crate::class::{Fate, Play, Someone};

/// Everything that holds whatever happened. Gives the number of answers recorded.
pub(crate) fn check(play: &Play) -> Result<usize> {
    let log = play.review_log()?;
    let recount = Recount::of(&log)?;
    check_replay(&log, &recount)?;
    let recorded = log.recorded()?;
    let kept: BTreeMap<&str, &str> =
        recorded.iter().map(|(who, _, attempt)| (attempt.as_str(), who.as_str())).collect();
    for someone in &play.class {
        if let Some(id) = &someone.id {
            check_tries(someone, id, &kept)?;
            check_told(someone, id, &recount).with_context(|| format!("of student {id}"))?;
        }
    }
    play.is_sound()?;
    Ok(recorded.len())
}

/// The rules read the log back to the points that the recount comes to.
fn check_replay(log: &ReviewLog, recount: &Recount) -> Result<()> {
    let events = log.replayable()?;
    let review = Review::replay(&events).context("the log does not replay")?;
    ensure!(review.rounds().len() == recount.rounds.len(), "rounds differ");
    ensure!(review.seats().len() == recount.seats.len(), "seats differ");
    for (student, seat) in review.seats() {
        let total = recount.total_after(recount.rounds.len(), &student.to_string())?;
        ensure!(seat.total.0 == total, "{student}: {:?} replayed, {total} counted", seat.total);
    }
    Ok(())
}

/// Recorded answers are in the log, refused ones are not, and none is another student's.
fn check_tries(someone: &Someone, id: &str, kept: &BTreeMap<&str, &str>) -> Result<()> {
    for (attempt, tried) in &someone.tries {
        let by = kept.get(attempt.as_str()).copied();
        let agrees = match tried.fate {
            Fate::Recorded => by == Some(id),
            Fate::AskedAgain | Fate::Refused => by.is_none(),
            Fate::Unknown => by.is_none() || by == Some(id),
        };
        ensure!(agrees, "{attempt} {tried:?}, but in the log it is {by:?}'s");
    }
    // Told once or often, on whichever connection: what was called recorded is.
    for told in someone.heard.iter().filter(|told| told["type"] == "recorded") {
        let attempt = told["attempt"].as_str().context("no attempt")?;
        ensure!(kept.get(attempt) == Some(&id), "{attempt} was called recorded and is not");
    }
    Ok(())
}

/// Results and the summary say what the recount says.
fn check_told(someone: &Someone, id: &str, recount: &Recount) -> Result<()> {
    let of = |kind: &'static str| someone.heard.iter().filter(move |told| told["type"] == kind);
    for result in of("result") {
        let round = recount.rounds.iter().position(|round| result["round"] == round.round);
        let at = round.with_context(|| format!("a result of no round: {result}"))?;
        let points = recount.points(&recount.rounds[at], id)?;
        ensure!(points == told(result, "points"), "{points:?} counted, told {result}");
        let total = recount.total_after(at + 1, id)?;
        ensure!(Some(total) == told(result, "total"), "{total} counted, told {result}");
    }
    for summary in of("summary") {
        let total = recount.total_after(recount.rounds.len(), id)?;
        ensure!(Some(total) == told(summary, "total"), "{total} counted, told {summary}");
        let rows = summary["rounds"].as_array().context("no rounds")?;
        let mut there = 0;
        for round in &recount.rounds {
            there += usize::from(recount.points(round, id)?.is_some());
        }
        ensure!(rows.len() == there, "seated in {there} rounds, told {summary}");
    }
    Ok(())
}

fn told(message: &Value, field: &str) -> Option<i64> {
    message[field].as_f64().map(hundredths)
}

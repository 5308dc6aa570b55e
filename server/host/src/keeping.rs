//! For how long reviews are kept: those that ended longer ago are removed whole.

use std::collections::BTreeSet;
use std::sync::Arc;
use std::time::Duration;

use myonym_wire::ReviewId;
use tokio::time::{self, MissedTickBehavior};
use tracing::{info, warn};

use crate::clock;
use crate::store::{Gone, SqliteLog, StoreError};

/// How often old reviews are looked for.
const DAY: Duration = Duration::from_hours(24);

/// Removes the reviews that ended longer ago than the folder keeps them, but for those whose room
/// is open. One that was broken off ended when it was last touched.
pub(crate) fn apply(
    log: &SqliteLog,
    open: &BTreeSet<ReviewId>,
    now: i64,
) -> Result<Gone, StoreError> {
    let mut gone = Gone::default();
    let Some(keep) = log.keep()? else { return Ok(gone) };
    let mut removed = BTreeSet::new();
    for header in log.reviews()? {
        if now.saturating_sub(header.touched) > keep && !open.contains(&header.review) {
            gone += log.remove_review(header.review)?;
            removed.insert(header.review);
        }
    }
    if !removed.is_empty() {
        let Gone { reviews, seats, answers } = gone;
        info!(reviews, seats, answers, days = keep / DAY_S, "removed what was kept long enough");
        tell_copies(log, &removed)?;
    }
    Ok(gone)
}

/// Tells of files made of what was removed: whether they may stay is not for the program to say.
fn tell_copies(log: &SqliteLog, removed: &BTreeSet<ReviewId>) -> Result<(), StoreError> {
    for export in log.exports()? {
        let concerned = export.reviews.iter().any(|review| removed.contains(review));
        if concerned && export.path.exists() {
            let path = export.path.display();
            warn!(%path, "a file made of what was removed is still there");
        }
    }
    Ok(())
}

/// The same at the start of a host, before anyone is here: the file is built anew as well.
pub(crate) fn apply_at_start(log: &SqliteLog) -> Result<(), StoreError> {
    let gone = apply(log, &BTreeSet::new(), clock::wall_seconds())?;
    if gone != Gone::default() {
        log.build_anew()?;
    }
    Ok(())
}

/// The same once a day while the host runs. To build the file anew would stop the class; what is
/// removed is overwritten all the same. `open` says whose room is open, `wall` what the wall clock
/// shows, in seconds since 1970.
pub(crate) async fn daily(
    log: Arc<SqliteLog>,
    open: impl Fn() -> BTreeSet<ReviewId>,
    wall: impl Fn() -> i64,
) {
    let mut days = time::interval(DAY);
    days.set_missed_tick_behavior(MissedTickBehavior::Delay);
    // The first tick comes at once, and the start has looked already.
    days.tick().await;
    loop {
        days.tick().await;
        let (log, open, now) = (log.clone(), open(), wall());
        let look = move || {
            let gone = apply(&log, &open, now)?;
            if gone != Gone::default() {
                log.empty_write_ahead()?;
            }
            Ok::<_, StoreError>(())
        };
        match tokio::task::spawn_blocking(look).await {
            Ok(Ok(())) => {}
            Ok(Err(fault)) => warn!(%fault, "old reviews were not removed"),
            Err(fault) => warn!(%fault, "old reviews were not looked for"),
        }
    }
}

/// Seconds of a day.
pub(crate) const DAY_S: i64 = 24 * 3_600;

//! Random plans against a real host: a class of twelve that joins, answers, repeats itself, loses
//! its connections, and a host that is killed now and then. What everyone was told must agree with
//! the log, and the log with itself.
//!
//! `SEED=7 cargo test -p myonym-tests --test plans` plays one plan again.

mod class;
mod verdict;

use std::env;

use anyhow::{Context as _, Result, ensure};
use class::Play;

/// Plans played where none is asked for.
const SEEDS: std::ops::RangeInclusive<u64> = 1..=8;
/// What happens in one plan.
const STEPS: usize = 800;

#[tokio::test]
async fn what_was_told_agrees_with_the_log() -> Result<()> {
    let seeds: Vec<u64> = match env::var("SEED") {
        Ok(seed) => vec![seed.parse().context("SEED is a number")?],
        Err(_) => SEEDS.collect(),
    };
    let (mut plans, mut recorded) = (0, 0);
    for seed in seeds {
        let replay = || format!("SEED={seed} plays this plan again");
        let mut play = Play::begin(seed).await.with_context(replay)?;
        for step in 0..STEPS {
            if play.is_over() {
                break;
            }
            let done = play.step().await;
            let where_ = || format!("step {step}, {:?}", play.last_act());
            done.with_context(where_).with_context(replay)?;
        }
        play.end().await.with_context(replay)?;
        recorded += verdict::check(&play).with_context(replay)?;
        plans += 1;
    }
    // A plan in which little happens proves little.
    ensure!(plans == 1 || recorded >= 20 * plans, "only {recorded} answers in {plans} plans");
    Ok(())
}

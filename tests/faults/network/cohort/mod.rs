//! A cohort: students in numbers, each of whom goes on by itself by the rules that the protocol gives
//! to clients, and costs so little that thousands fit beside the host.

mod desk;
mod diary;
mod link;
mod student;

use std::sync::Arc;
use std::time::Duration;

use anyhow::{Context as _, Result};
use myonym_tests::shoulder;
use tokio::sync::{Semaphore, watch};
use tokio::task::JoinSet;
use tokio::time::timeout;

pub(crate) use desk::Desk;
pub(crate) use diary::{Diary, Habits, Seen, Way};
use student::Student;

/// How many come in at the same time: a school's network is no more generous.
const AT_THE_DOOR: usize = 64;

/// Students in one review.
#[derive(Debug)]
pub(crate) struct Cohort {
    tasks: JoinSet<Result<Diary>>,
    door: Arc<Semaphore>,
    names: Arc<[String]>,
    seed: u64,
    called: watch::Sender<Seen>,
    seen: watch::Receiver<Seen>,
}

impl Cohort {
    /// Nobody yet. The seed decides what they answer and how long they think.
    pub(crate) fn new(seed: u64) -> Result<Self> {
        let names = shoulder()?.into_iter().map(|named| named.name).collect();
        let (called, watched) = watch::channel(Seen::default());
        let door = Arc::new(Semaphore::new(AT_THE_DOOR));
        Ok(Self { tasks: JoinSet::new(), door, names, seed, called, seen: watched })
    }

    /// More students set out, who answer with names of the shoulder.
    pub(crate) fn call(&mut self, students: usize, way: &Way, habits: &Habits) {
        for _ in 0..students {
            let shared = (Arc::clone(&self.names), Arc::clone(&self.door), self.called.clone());
            let number = self.tasks.len() + 1;
            let student = Student::new(way.clone(), number, self.seed, habits.clone(), shared);
            self.tasks.spawn(student.attend());
        }
    }

    /// What they have seen so far.
    pub(crate) fn seen(&self) -> Seen {
        *self.seen.borrow()
    }

    /// Waits until they have seen this.
    pub(crate) async fn until(
        &mut self,
        what: &str,
        patience: Duration,
        wanted: impl Fn(Seen) -> bool,
    ) -> Result<Seen> {
        let seen = timeout(patience, self.seen.wait_for(|seen| wanted(*seen))).await;
        let now = *self.called.borrow();
        Ok(*seen.with_context(|| format!("not {what} within {patience:?}, but {now:?}"))??)
    }

    /// Waits until everyone was told that the review is over.
    ///
    /// # Errors
    /// Somebody was told what must not be told, or is still not told within `patience`.
    pub(crate) async fn end(mut self, patience: Duration) -> Result<Vec<Diary>> {
        let all = async {
            let mut diaries = Vec::new();
            while let Some(ended) = self.tasks.join_next().await {
                diaries.push(ended??);
            }
            Ok(diaries)
        };
        let now = self.called.clone();
        timeout(patience, all)
            .await
            .with_context(|| format!("not over within {patience:?}: {:?}", *now.borrow()))?
    }
}

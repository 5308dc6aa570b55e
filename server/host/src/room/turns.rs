//! Rooms of one server take turns at telling their classes.
//!
//! Where hundreds of rooms come to something at the same instant, all students of all of them would
//! be told it before anyone is heard again: with 300 rooms of 30 for some 50 ms. So one room tells
//! its class, then whoever spoke meanwhile is heard, then the next room tells its own.

use std::sync::Arc;

use tokio::sync::{Semaphore, SemaphorePermit};

/// Connections from which on a room is a class: fewer are told without a turn.
const CLASS: usize = 16;

/// The turns of a server's rooms: one has it at a time, in the order in which they came.
#[derive(Debug, Clone)]
pub(crate) struct Turns {
    turn: Arc<Semaphore>,
    class: usize,
}

impl Default for Turns {
    fn default() -> Self {
        Self::from(CLASS)
    }
}

impl Turns {
    /// Turns for rooms of so many connections or more.
    pub(super) fn from(class: usize) -> Self {
        Self { turn: Arc::new(Semaphore::new(1)), class }
    }

    /// Whether a room of so many connections takes a turn.
    pub(super) fn are_for(&self, connections: usize) -> bool {
        connections >= self.class
    }

    /// Waits for a turn, which lasts until what is given is dropped. Its place among those who wait
    /// is taken when it is first polled, and given up when it is dropped.
    pub(super) async fn mine(&self) -> Option<SemaphorePermit<'_>> {
        // There is always one, as it is never closed.
        self.turn.acquire().await.ok()
    }
}

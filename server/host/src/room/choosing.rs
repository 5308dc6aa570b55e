//! Rounds that are chosen as the review goes. The choice is made elsewhere, and a room never waits
//! for it: where it is not there when the round opens, the round that was drawn is held.

use std::future::pending;
use std::sync::{Arc, Mutex, PoisonError};

use myonym_content::MuscleKey;
use myonym_engine::{Event, Input, Planned};
use myonym_insight::plan::Proposed;
use myonym_wire::{RoundNo, Seq, Task};
use tokio::sync::oneshot;
use tokio::sync::oneshot::error::RecvError;
use tracing::error;

use super::picture::is_pictured;
use super::task::Room;
use crate::chooser::Chooser;
use crate::outside::{Outside, aside};

/// How an adaptive review comes to its next round.
#[derive(Debug, Default)]
pub(super) struct Choosing {
    /// None where the review is as it was drawn.
    chooser: Option<Arc<Mutex<Box<dyn Chooser>>>>,
    /// The choice under way, and for which round.
    under_way: Option<(RoundNo, oneshot::Receiver<Option<Proposed>>)>,
    /// The round that was last chosen for.
    done: Option<RoundNo>,
    /// The event on which the next choice rests, between rounds: it must be on disk first.
    rests_on: Option<Seq>,
}

impl Choosing {
    /// With this chooser, if the review is adaptive.
    pub(super) fn new(chooser: Option<Box<dyn Chooser>>) -> Self {
        let chooser = chooser.map(|chooser| Arc::new(Mutex::new(chooser)));
        Self { chooser, ..Self::default() }
    }

    /// Takes note of an event.
    pub(super) fn follow(&mut self, seq: Seq, event: &Event) {
        match event {
            Event::Opened { .. } | Event::Revealed { .. } | Event::RoundSkipped { .. } => {
                self.rests_on = Some(seq);
            }
            Event::RoundOpened { .. } | Event::Ended { .. } => self.rests_on = None,
            Event::Seated { .. }
            | Event::Back { .. }
            | Event::Away { .. }
            | Event::Removed { .. }
            | Event::Stretched { .. }
            | Event::Voted { .. }
            | Event::Replanned { .. }
            | Event::ClueShown { .. }
            | Event::Answered(_)
            | Event::AskedAgain { .. }
            | Event::Paused {}
            | Event::Resumed {}
            | Event::RoundClosed { .. }
            | Event::Restarted {}
            | Event::Forgotten {} => {}
        }
    }

    /// Begins to choose a round once all that it rests on is on disk.
    fn begin(&mut self, round: RoundNo, durable: Seq, outside: &dyn Outside) {
        let ready = self.rests_on.is_some_and(|seq| seq <= durable);
        let Some(chooser) = self.chooser.clone().filter(|_| ready && self.done != Some(round))
        else {
            return;
        };
        if self.under_way.as_ref().is_some_and(|(under_way, _)| *under_way == round) {
            return;
        }
        // A choice for a round that has opened meanwhile is of no use to anyone.
        let choice =
            aside(outside, move || chooser.lock().unwrap_or_else(PoisonError::into_inner).choose());
        self.under_way = Some((round, choice));
    }

    /// The choice under way, once it is made; waits for ever if there is none.
    pub(super) async fn chosen(&mut self) -> (RoundNo, Result<Option<Proposed>, RecvError>) {
        let Some((round, choice)) = &mut self.under_way else { return pending().await };
        let (round, chosen) = (*round, choice.await);
        self.under_way = None;
        self.done = Some(round);
        (round, chosen)
    }
}

impl Room {
    /// Lets the next round be chosen, where that is wanted and was not done.
    pub(super) fn choose_next(&mut self) {
        let coming = self.review.coming().map(|(round, _)| round);
        if let Some(round) = coming.filter(|round| !self.review.is_replanned(*round)) {
            self.choosing.begin(round, self.durable, &*self.outside);
        }
    }

    pub(super) fn on_chosen(
        &mut self,
        round: RoundNo,
        chosen: Result<Option<Proposed>, RecvError>,
    ) {
        let chosen = chosen.unwrap_or_else(|fault| {
            error!(word = %self.handle.word, %fault, "choosing broke; the round stays as drawn");
            None
        });
        let coming = self.review.coming().filter(|(coming, _)| *coming == round);
        if let (Some(Proposed { muscle, beside, why, .. }), Some((_, drawn))) = (chosen, coming)
            && self.retry.is_none()
        {
            let task = self.task_of(&muscle, beside.is_some(), drawn.task);
            let planned = Planned { muscle, task, beside };
            let now = self.review_time(self.clock.now());
            self.decide(now, Input::Replan { planned, why }, None);
        }
    }

    /// What a chosen round asks for: the drawn turn of the tasks stands, unless two are offered or
    /// there is no picture.
    fn task_of(&self, muscle: &MuscleKey, of_two: bool, drawn: Task) -> Task {
        match drawn {
            _ if of_two => Task::Contrast,
            Task::Contrast => Task::Name,
            Task::Picture if !is_pictured(&self.course, muscle) => Task::Name,
            Task::Name | Task::Picture | Task::Movement => drawn,
        }
    }
}

//! Boards: screens for the whole room. They are told what the class is told, who is here as far as
//! names may be shown, and how many have answered; never whose answers, or what.

use myonym_engine::Phase;
use myonym_wire::{Here, Millis, StudentId, ToBoard};

use crate::reach::Reach;

use super::ConnId;
use super::audience::{To, Told};
use super::task::Room;
use super::translate::{self, View};

/// Boards of one room.
pub(super) const BOARDS: usize = 20;
/// Names that a board is told at most.
const NAMES: usize = 400;

impl View<'_> {
    /// Who is connected: the names of those who asked to be listed, in the order of their coming,
    /// and how many more.
    fn here(&self) -> Here {
        let seats = self.review.seats();
        let mut listed: Vec<(StudentId, _)> = seats
            .iter()
            .filter(|(_, seat)| seat.present && seat.listed)
            .map(|(student, seat)| (*student, seat.came))
            .collect();
        listed.sort_by_key(|(_, came)| *came);
        let names: Vec<String> =
            listed.into_iter().take(NAMES).map(|(student, _)| self.name(student)).collect();
        let others = translate::count(self.review.present() - names.len());
        Here { names, others }
    }

    /// The answers recorded in the open round, and who could give one.
    fn answers(&self) -> Option<ToBoard> {
        let Phase::Open(open) = self.review.phase() else { return None };
        let answered = translate::count(open.answers.len());
        Some(ToBoard::Answers { round: open.round, answered, here: translate::count(open.here()) })
    }
}

impl Room {
    pub(super) fn tell_watching(&mut self, conn: ConnId, now: Millis) {
        let view = self.view();
        let (over, answered) = match self.review.phase() {
            Phase::Ended(_) => (true, 0),
            Phase::Open(open) => (false, translate::count(open.answers.len())),
            Phase::Gathering | Phase::Closed(_) | Phase::Revealed | Phase::Skipped { .. } => {
                (false, 0)
            }
        };
        let Reach { addresses, secure } = self.audience.reach(conn).unwrap_or(&self.reach).clone();
        let message = ToBoard::Watching {
            seq: self.review.seq(),
            review: view.info(&self.handle.word),
            addresses,
            secure,
            moment: Box::new(view.moment(now, None)),
            here: view.here(),
            answered,
            weak_spots: over.then(|| view.weak_spots()),
        };
        self.hold(Told::text(To::Conn(conn), &message));
    }

    /// Tells the boards what changed of who is here and how many have answered.
    pub(super) fn tell_boards(&mut self) {
        if !self.audience.has_board() {
            // The next one to come is told in its snapshot.
            self.boards_told = (None, None);
            return;
        }
        let (here, answers) = (Some(self.view().here()), self.view().answers());
        if self.boards_told.0 != here {
            let told = here.clone().unwrap_or_default();
            self.hold(Told::text(To::Boards, &ToBoard::Here(told)));
        }
        if self.boards_told.1 != answers
            && let Some(told) = &answers
        {
            self.hold(Told::text(To::Boards, told));
        }
        self.boards_told = (here, answers);
    }
}

//! What the members of a study group ask for, and how their votes stand.

use myonym_engine::{Input, Phase, Wish};
use myonym_wire::{FromStudent, Seq, StudentId, ToStudent, VoteRow};

use super::ConnId;
use super::audience::{Held, To, Told};
use super::task::Room;
use super::translate::{self, View};

/// What a student wishes as a member of a study group, if it is such a message.
pub(super) fn wish(student: StudentId, from: &FromStudent) -> Option<Input> {
    let wish = match from {
        FromStudent::Start {} => Wish::Start,
        FromStudent::Vote { motion, yes } => Wish::Vote { motion: *motion, yes: *yes },
        FromStudent::OwnTime { time } => Wish::OwnTime(*time),
        FromStudent::Answer { .. } | FromStudent::Leave {} => return None,
    };
    Some(Input::Member { student, wish })
}

impl View<'_> {
    /// How the votes stand.
    pub(super) fn votes(&self) -> Vec<VoteRow> {
        let row = |vote: myonym_engine::Vote| VoteRow {
            motion: vote.motion,
            yes: translate::count(vote.yes),
            needed: translate::count(vote.needed),
        };
        self.review.votes().into_iter().map(row).collect()
    }
}

impl Room {
    /// Tells everyone how the votes stand, if the event with this number changed it.
    pub(super) fn tell_votes(&mut self, seq: Seq) {
        let rows = self.view().votes();
        if rows != self.votes_told {
            self.votes_told.clone_from(&rows);
            let told = Told::text(To::All, &ToStudent::Votes { rows });
            self.held.push_back(Held { needs: seq, of_event: true, told });
        }
    }

    /// Tells a connection, after its snapshot, what no snapshot holds: that the time stands still
    /// between two rounds, and how the votes stand.
    pub(super) fn tell_beside(&mut self, conn: ConnId) {
        let between = matches!(self.review.phase(), Phase::Revealed | Phase::Skipped { .. });
        if between && self.review.is_paused() {
            let paused = ToStudent::Paused { seq: self.review.seq(), elapsed_ms: 0 };
            self.hold(Told::text(To::Conn(conn), &paused));
        }
        let rows = self.view().votes();
        if !rows.is_empty() {
            self.hold(Told::text(To::Conn(conn), &ToStudent::Votes { rows }));
        }
    }
}

//! What can go wrong, and how often it did.

use std::collections::BTreeMap;
use std::fmt;

macro_rules! faults {
    ($($(#[$doc:meta])* $name:ident $text:literal,)+) => {
        /// Something that was done to a review.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        pub(super) enum Fault { $($(#[$doc])* $name,)+ }

        impl Fault {
            pub(super) const ALL: &[Self] = &[$(Self::$name),+];
        }

        impl fmt::Display for Fault {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(match self { $(Self::$name => $text,)+ })
            }
        }
    };
}

faults! {
    CommitLate "disk: commit takes over 100 ms",
    CommitFails "disk: commit fails, nothing kept",
    CommitUntold "disk: commit kept, answered as failed",
    ReadFails "disk: log cannot be read back",
    KillLost "host: killed, unsynced events lost",
    KillUntold "host: killed between commit and word of it",
    KillIdle "host: killed with nothing under way",
    KillInTrouble "host: killed while the disk is full",
    Stop "host: stopped in order and upgraded",
    StopInRound "host: stopped in order with a round open",
    Cut "network: connection cut",
    LostOnTheWay "network: messages lost with a connection",
    HalfOpen "network: half-open, host learns of it late",
    SlowReader "network: reader so slow that it is closed",
    Reordered "network: post overtaken by a later one",
    PongLate "network: answer over a connection of unknown round trip",
    ClassDrop "network: the whole class dropped at once",
    SeatTaken "student: seat taken from elsewhere",
    Resent "student: answer sent again",
    ResentElsewhere "student: answer sent again on a new connection",
    JoinedAgain "student: join sent again",
    LateAnswer "student: answer to a round that is over",
    SecondAnswer "student: another answer to the same round",
    ClockBack "student: claims far less time than passed",
    ClockAhead "student: claims far more time than passed",
    Ambiguous "student: half a name, asked again",
    Unreadable "student: answer empty or too long",
    Left "student: left by choice",
    Removed "instructor: student removed",
    RemovedReturns "student: removed, tries to return",
    Stretched "instructor: time stretched",
    Untimed "instructor: student untimed",
    Paused "instructor: paused",
    Resumed "instructor: resumed",
    Skipped "instructor: round skipped",
    ClosedEarly "instructor: round closed before its time",
    InstructorGone "instructor: connection lost",
    BoardCame "board: came",
    BoardGone "board: gone",
    Automatic "review: automatic pace",
    Group "review: study group",
    Voted "review: vote in a study group",
    Movement "review: round of a movement",
    Picture "review: round of a picture",
    Contrast "review: round of two offered",
    Replanned "review: round chosen while it ran",
    Strict "review: strict spelling",
    Signed "review: signed residual time",
}

/// How often each was done.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Faults(BTreeMap<Fault, u64>);

impl Faults {
    pub(super) fn count(&mut self, fault: Fault) {
        *self.0.entry(fault).or_insert(0) += 1;
    }

    pub(super) fn add(&mut self, other: &Self) {
        for (fault, times) in &other.0 {
            *self.0.entry(*fault).or_insert(0) += times;
        }
    }

    /// Those that were never done.
    pub(super) fn missing(&self) -> Vec<String> {
        let missing = Fault::ALL.iter().filter(|fault| !self.0.contains_key(fault));
        missing.map(ToString::to_string).collect()
    }
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for fault in Fault::ALL {
            writeln!(f, "  {fault:<58} {:>9}", self.0.get(fault).copied().unwrap_or(0))?;
        }
        Ok(())
    }
}

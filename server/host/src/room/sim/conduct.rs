//! A simulated instructor: moves the review on, and does all else now and then.

use std::collections::BTreeMap;

use myonym_wire::{FromInstructor, Pace, StudentId};
use rand::RngExt as _;
use rand::rngs::ChaCha8Rng;
use rand::seq::IteratorRandom as _;
use serde_json::Value;

use super::student::other_time;

/// Where the review stands on the instructor's screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Stand {
    #[default]
    Gathering,
    Open,
    Closed,
    Revealed,
    Skipped,
    Ended,
}

#[derive(Debug, Default)]
pub(super) struct Instructor {
    pub(super) conn: Option<u64>,
    pub(super) stand: Stand,
    pub(super) paused: bool,
    /// Each student's line as it was told last.
    pub(super) roll: BTreeMap<StudentId, Value>,
}

impl Stand {
    fn named(phase: &str) -> Self {
        match phase {
            "open" => Self::Open,
            "closed" => Self::Closed,
            "revealed" => Self::Revealed,
            "skipped" => Self::Skipped,
            "ended" => Self::Ended,
            _ => Self::Gathering,
        }
    }
}

impl Instructor {
    pub(super) fn hear(&mut self, message: &Value) {
        match message["type"].as_str().unwrap_or_default() {
            "conducting" => {
                let moment = &message["moment"];
                self.stand = Stand::named(moment["phase"].as_str().unwrap_or_default());
                self.paused = moment["paused"] == true;
                self.roll.clear();
                self.enter(&message["roll"]);
            }
            "roll" => self.enter(&message["rows"]),
            "gone" => {
                let gone = student(&message["student"]);
                self.roll.retain(|student, _| Some(*student) != gone);
            }
            "round_opened" => self.stand = Stand::Open,
            "round_closed" => self.stand = Stand::Closed,
            "revealed" => self.stand = Stand::Revealed,
            "round_skipped" => self.stand = Stand::Skipped,
            "ended" => self.stand = Stand::Ended,
            "paused" => self.paused = true,
            "resumed" => self.paused = false,
            _ => {}
        }
        if self.stand == Stand::Closed || self.stand == Stand::Ended {
            self.paused = false;
        }
    }

    fn enter(&mut self, rows: &Value) {
        let rows = rows.as_array().map_or(&[][..], Vec::as_slice);
        self.roll
            .extend(rows.iter().filter_map(|row| Some((student(&row["student"])?, row.clone()))));
    }

    /// The next thing that it says.
    pub(super) fn says(&self, pace: Pace, random: &mut ChaCha8Rng) -> Option<FromInstructor> {
        let sensible = match self.stand {
            _ if self.paused => FromInstructor::Resume {},
            Stand::Gathering => FromInstructor::Start {},
            Stand::Open if random.random_bool(0.15) => FromInstructor::CloseRound {},
            Stand::Open | Stand::Ended => return self.odd(random),
            Stand::Closed => FromInstructor::Reveal {},
            Stand::Revealed | Stand::Skipped => FromInstructor::Next {},
        };
        // A review that runs by itself, or by votes, is mostly let run.
        let waits = match pace {
            Pace::Instructor => 0.0,
            Pace::Automatic { .. } => 0.4,
            Pace::Group { .. } => 0.8,
        };
        let started = self.stand != Stand::Gathering;
        match random.random_range(0..10) {
            0 => self.odd(random),
            _ if started && random.random_bool(waits) => None,
            _ => Some(sensible),
        }
    }

    fn odd(&self, random: &mut ChaCha8Rng) -> Option<FromInstructor> {
        let student = self.roll.keys().choose(random).copied();
        Some(match random.random_range(0..60) {
            0..6 => FromInstructor::Pause {},
            6..9 => FromInstructor::Resume {},
            9..11 => FromInstructor::Skip {},
            11..17 => FromInstructor::Stretch { student: student?, time: other_time(random) },
            17 => FromInstructor::Remove { student: student? },
            18 => FromInstructor::Next {},
            19 => FromInstructor::Reveal {},
            _ => return None,
        })
    }
}

fn student(value: &Value) -> Option<StudentId> {
    value.as_str()?.parse().ok().map(StudentId)
}

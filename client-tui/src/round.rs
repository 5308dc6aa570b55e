//! An open round as a terminal follows it: its clues, and its time since the first clue was seen.

use myonym_wire::{ClueShown, Millis, Picture, RoundNo, Task};

/// A round that takes answers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct OpenRound {
    /// The round.
    pub(crate) round: RoundNo,
    /// Number of rounds.
    pub(crate) of: u16,
    /// What it asks for.
    pub(crate) task: Task,
    /// A movement in the form wanted, where one is asked for; not a right one.
    pub(crate) example: Option<String>,
    /// The two muscles to choose between, where one of two is asked for; else none.
    pub(crate) offered: Vec<String>,
    /// Time limit for the class, in milliseconds.
    pub(crate) limit_ms: u32,
    /// Number of clues that the round has.
    pub(crate) clue_count: u8,
    /// Clues shown so far.
    pub(crate) clues: Vec<ClueShown>,
    /// The time.
    pub(crate) watch: Stopwatch,
}

impl OpenRound {
    /// How many clues are still to come.
    pub(crate) fn to_come(&self) -> usize {
        usize::from(self.clue_count).saturating_sub(self.clues.len())
    }

    /// Takes in the next clue; one that is there already, or of another round, changes nothing.
    pub(crate) fn add_clue(&mut self, round: RoundNo, number: u8, clue: ClueShown) {
        if round == self.round && usize::from(number) > self.clues.len() {
            self.clues.push(clue);
        }
    }
}

/// The picture that a round asks about, if it is a round of that kind.
pub(crate) fn picture_of(clues: &[ClueShown]) -> Option<&Picture> {
    clues.iter().find_map(|clue| clue.picture.as_deref())
}

/// Measures a round's time: from the moment its first clue is on the screen, less pauses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stopwatch {
    /// Not on the screen yet; the time had run this long before.
    Unseen(Millis),
    /// Running since `since`, with `before` run earlier.
    Running {
        /// When it began to run.
        since: Millis,
        /// What had run by then.
        before: Millis,
    },
    /// Standing still, with this much run.
    Halted(Millis),
}

impl Stopwatch {
    /// The time of a round that has run before it comes on the screen.
    pub(crate) fn resumed(elapsed_ms: u64, paused: bool) -> Self {
        let run = Millis(elapsed_ms);
        if paused { Self::Halted(run) } else { Self::Unseen(run) }
    }

    /// Says that the round is on the screen.
    pub(crate) fn seen(&mut self, now: Millis) {
        if let Self::Unseen(before) = *self {
            *self = Self::Running { since: now, before };
        }
    }

    /// Stops the time.
    pub(crate) fn halt(&mut self, now: Millis) {
        *self = Self::Halted(self.elapsed(now));
    }

    /// Lets the time run again.
    pub(crate) fn go_on(&mut self, now: Millis) {
        if let Self::Halted(before) = *self {
            *self = Self::Running { since: now, before };
        }
    }

    /// Whether the time was stopped.
    pub(crate) fn is_halted(self) -> bool {
        matches!(self, Self::Halted(_))
    }

    /// Time run so far.
    pub(crate) fn elapsed(self, now: Millis) -> Millis {
        match self {
            Self::Unseen(run) | Self::Halted(run) => run,
            Self::Running { since, before } => before.plus(now.minus(since)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn time_runs_from_the_first_sight_and_not_in_pauses() {
        let mut watch = Stopwatch::Unseen(Millis(0));
        assert_eq!(watch.elapsed(Millis(900)), Millis(0));
        watch.seen(Millis(1_000));
        watch.seen(Millis(5_000));
        assert_eq!(watch.elapsed(Millis(3_000)), Millis(2_000));
        watch.halt(Millis(3_000));
        watch.seen(Millis(4_000));
        assert_eq!(watch.elapsed(Millis(8_000)), Millis(2_000));
        watch.go_on(Millis(10_000));
        watch.go_on(Millis(12_000));
        assert_eq!(watch.elapsed(Millis(10_500)), Millis(2_500));
    }

    #[test]
    fn a_resumed_round_goes_on_from_the_snapshot() {
        let mut watch = Stopwatch::Unseen(Millis(7_000));
        watch.seen(Millis(100));
        assert_eq!(watch.elapsed(Millis(600)), Millis(7_500));
    }

    #[test]
    fn a_clue_is_taken_once_and_only_in_its_round() {
        let clue = |text: &str| ClueShown {
            kind: "action".to_owned(),
            text: text.to_owned(),
            picture: None,
        };
        let mut round = OpenRound {
            round: RoundNo(2),
            of: 9,
            task: Task::Name,
            example: None,
            offered: Vec::new(),
            limit_ms: 1_000,
            clue_count: 3,
            clues: vec![clue("a")],
            watch: Stopwatch::Unseen(Millis(0)),
        };
        round.add_clue(RoundNo(2), 1, clue("again"));
        round.add_clue(RoundNo(1), 2, clue("other"));
        round.add_clue(RoundNo(2), 2, clue("b"));
        assert_eq!(round.clues, [clue("a"), clue("b")]);
    }
}

//! A whole review, dealt in shares.

use myonym_content::{Catalogue, Course, MuscleKey};
use rand::SeedableRng as _;
use rand::rngs::ChaCha8Rng;
use rand::seq::SliceRandom as _;

use super::evidence::Evidence;
use super::{Proposed, Reason};
use crate::observe::Observations;

/// A muscle is asked at most so often in one review.
pub(super) const MOST_OFTEN: usize = 2;

/// How a review is shared out, in rounds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shares {
    /// Confused pairs.
    pub weak: usize,
    /// Muscles of which too little is known.
    pub uncertain: usize,
    /// Muscles that the class knows.
    pub known: usize,
}

impl Shares {
    /// Three of five rounds for what is weak, one each for what is uncertain and what is known:
    /// asking for the worst alone would serve only the hopeless, and tell nothing new. While there
    /// are muscles that were never asked they take all but one in ten for each of the others: what was
    /// never asked cannot be found weak.
    pub fn of(rounds: usize, unseen: usize) -> Self {
        let known = if unseen > rounds / 5 { rounds / 10 } else { rounds / 5 };
        let others = known + rounds.div_ceil(10);
        let uncertain = unseen.clamp(rounds / 5, rounds.saturating_sub(others).max(rounds / 5));
        Self { weak: rounds - uncertain - known, uncertain, known }
    }
}

/// Whose turn it is in a review that is chosen round by round: the shares of [`Shares::of`], mixed.
pub(super) fn turn(number: u64) -> Reason {
    match number % 5 {
        1 => Reason::Uncertain,
        3 => Reason::Known,
        _ => Reason::Weak,
    }
}

/// Proposes a review of so many rounds. The same table and seed propose the same.
///
/// Pairs come by Thompson draws: a pair that is surely confused as a contrast round, with its second
/// muscle asked in a round of its own; of one that may be, the muscle is asked by name. Where there are fewer weak pairs than their share, muscles of which little is
/// known take their place, then all others. No muscle comes twice in a row.
pub fn propose(
    catalogue: &Catalogue,
    course: &Course,
    table: &Observations,
    rounds: usize,
    seed: u64,
) -> Vec<Proposed> {
    let evidence = Evidence::gather(catalogue, course, table);
    let shares = Shares::of(rounds, evidence.unseen());
    let mut deck = Deck { rounds: Vec::new(), limit: rounds };
    deck.weak(&evidence, shares.weak, seed);
    let weak = deck.rounds.len();
    deck.fill(evidence.ranked(Reason::Known, seed), shares.known);
    let lacking = shares.weak - weak + shares.known - (deck.rounds.len() - weak);
    deck.fill(evidence.ranked(Reason::Uncertain, seed), shares.uncertain + lacking);
    // A review may be longer than its list.
    while deck.rounds.len() < rounds && !course.items().is_empty() {
        deck.again(&evidence.ranked(Reason::Uncertain, seed));
    }
    apart(deck.rounds, seed)
}

struct Deck {
    rounds: Vec<Proposed>,
    limit: usize,
}

impl Deck {
    fn holds(&self, muscle: &MuscleKey) -> usize {
        self.rounds.iter().filter(|round| round.muscle == *muscle).count()
    }

    /// Deals weak pairs as they were drawn. Those that are sure are for teaching and those that may
    /// be are for finding out: so that the sure ones do not take every round, they have half.
    fn weak(&mut self, evidence: &Evidence, share: usize, seed: u64) {
        let (mut sure, most_sure) = (0, share.div_ceil(2));
        for choice in evidence.ranked(Reason::Weak, seed) {
            if self.rounds.len() >= share || self.holds(&choice.muscle) > 0 {
                continue;
            }
            let Some(second) = choice.beside.clone() else {
                self.rounds.push(choice);
                continue;
            };
            if sure < most_sure {
                let alone = Proposed { muscle: second, beside: None, ..choice.clone() };
                self.rounds.push(choice);
                sure += 1;
                if sure < most_sure && self.holds(&alone.muscle) == 0 {
                    self.rounds.push(alone);
                    sure += 1;
                }
            }
        }
    }

    fn fill(&mut self, choices: Vec<Proposed>, share: usize) {
        let end = (self.rounds.len() + share).min(self.limit);
        for choice in choices {
            if self.rounds.len() < end && self.holds(&choice.muscle) == 0 {
                self.rounds.push(choice);
            }
        }
    }

    fn again(&mut self, choices: &[Proposed]) {
        for choice in choices {
            if self.rounds.len() < self.limit {
                self.rounds.push(choice.clone());
            }
        }
    }
}

/// A drawn order in which no muscle comes twice in a row, as far as there are others.
fn apart(mut rounds: Vec<Proposed>, seed: u64) -> Vec<Proposed> {
    rounds.shuffle(&mut ChaCha8Rng::seed_from_u64(seed));
    for at in 1..rounds.len() {
        let before = rounds[at - 1].clone();
        let touches = |round: &Proposed| {
            round.muscle == before.muscle
                || Some(&round.muscle) == before.beside.as_ref()
                || round.beside.as_ref() == Some(&before.muscle)
        };
        if touches(&rounds[at])
            && let Some(other) = (at + 1..rounds.len()).find(|other| !touches(&rounds[*other]))
        {
            rounds.swap(at, other);
        }
    }
    rounds
}

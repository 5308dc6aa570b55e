//! Which muscle is answered for which: how often, how surely, which way round, and why.

use std::collections::BTreeMap;

use myonym_stats::direction::{against, unequal_exposure};
use myonym_stats::false_discovery::benjamini_hochberg;
use myonym_stats::{Beta, Level, Tally, shrink};

use super::counts::Counts;
use super::found::{Direction, Named, Pair};
use super::likeness::Likenesses;
use crate::estimate::wilson;
use crate::observe::{MuscleId, Observations};

/// Least confusions of a pair, both ways together, with which a test of direction can speak: of
/// fewer than six even an entirely one-sided split is no rarer than 1 in 16 by chance.
const LEAST_FOR_DIRECTION: u32 = 6;
/// False discovery rate at which a direction, or a pair as such, is said to stand out.
pub(super) const FALSE_DISCOVERY: f64 = 0.05;

/// What is known of two muscles beside the answers.
pub(super) trait Facts {
    /// Whether two muscles are neighbours: near enough for near-miss credit.
    fn neighbours(&self, a: MuscleId, b: MuscleId) -> bool;
    /// Key and name.
    fn named(&self, muscle: MuscleId) -> Named;
    /// What separates them, as a course teaches it: the most telling difference, and that of their
    /// lines of pull.
    fn apart(&mut self, asked: MuscleId, said: MuscleId) -> Apart;
}

/// What separates two muscles.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Apart {
    pub(super) most_telling: Option<myonym_content::Difference>,
    pub(super) line_of_pull: Option<myonym_content::Difference>,
}

/// All confused pairs, the largest shrunken share first.
pub(super) fn pairs(table: &Observations, counts: &Counts, facts: &mut impl Facts) -> Vec<Pair> {
    let priors = Priors::fit(table, counts, facts);
    let directions = directions(counts);
    let standing = standing_out(counts);
    let likenesses = Likenesses::fit(counts);
    let mut pairs: Vec<Pair> = Vec::new();
    for (asked, said, count) in counts.confused() {
        let neighbours = facts.neighbours(asked, said);
        let (Some(seen), Some(rate)) =
            (counts.tally(asked, said), wilson(count, counts.given(asked)))
        else {
            continue;
        };
        let Some(known) = priors.of(neighbours).after(seen) else { continue };
        let expected = known.interval(Level::P95);
        let apart = facts.apart(asked, said);
        let back = (counts.count(said, asked), counts.given(said));
        pairs.push(Pair {
            asked: facts.named(asked),
            said: facts.named(said),
            count,
            of: seen.of(),
            rate,
            shrunken: known.mean(),
            shrunken_low: expected.low,
            shrunken_high: expected.high,
            back,
            either: wilson(count + back.0, seen.of() + back.1),
            direction: directions.get(&(asked, said)).copied().unwrap_or(Direction::TooFew),
            stands_out: standing.get(&(asked, said)).copied().unwrap_or_default(),
            similarity: likenesses.similarity(asked, said),
            favourite: likenesses.favourite(said),
            neighbours,
            apart: apart.most_telling,
            line_of_pull: apart.line_of_pull,
        });
    }
    pairs.sort_by(|a, b| {
        (b.shrunken.total_cmp(&a.shrunken))
            .then_with(|| (&a.asked.name, &a.said.name).cmp(&(&b.asked.name, &b.said.name)))
    });
    pairs
}

/// What is to be expected of a pair before any answer: for neighbours, and for others.
struct Priors {
    neighbours: Beta,
    others: Beta,
}

impl Priors {
    /// Fits each to all pairs of its kind of which the first was asked, those never confused among
    /// them, so that a lone confusion is drawn towards nothing.
    fn fit(table: &Observations, counts: &Counts, facts: &impl Facts) -> Self {
        let (mut near, mut far) = (Vec::new(), Vec::new());
        for &asked in counts.given.keys() {
            for said in table.muscles().filter(|said| *said != asked) {
                let kind = if facts.neighbours(asked, said) { &mut near } else { &mut far };
                kind.extend(counts.tally(asked, said));
            }
        }
        let fit = |tallies: &[Tally], otherwise: Option<Beta>| {
            shrink::fit(tallies).map(|prior| prior.beta).or(otherwise)
        };
        // Before anything is known one answer in ten of a neighbour is wrong (METHODS: Beta(1, 9)).
        let usual = Beta::new(1.0, 9.0).unwrap_or(Beta::UNIFORM);
        let others = fit(&far, None).unwrap_or(usual);
        Self { neighbours: fit(&near, None).unwrap_or(others), others }
    }

    fn of(&self, neighbours: bool) -> Beta {
        if neighbours { self.neighbours } else { self.others }
    }
}

/// Tests which way round pairs are confused, given how often each muscle was asked, and controls
/// the false discovery rate over all pairs that can be tested. The filter looks at both directions
/// together, which says nothing of the direction.
fn directions(counts: &Counts) -> BTreeMap<(MuscleId, MuscleId), Direction> {
    let mut tested: Vec<(MuscleId, MuscleId, f64, f64)> = Vec::new();
    for (asked, said, _) in counts.confused() {
        let done = asked > said && counts.count(said, asked) > 0;
        let (Some(there), Some(back)) = (counts.tally(asked, said), counts.tally(said, asked))
        else {
            continue;
        };
        if done || there.hits() + back.hits() < LEAST_FOR_DIRECTION {
            continue;
        }
        let (Some(surprise), Some(first), Some(second)) =
            (unequal_exposure(there, back), there.rate(), back.rate())
        else {
            continue;
        };
        tested.push((asked, said, surprise.exact, first - second));
    }
    let p: Vec<f64> = tested.iter().map(|one| one.2).collect();
    let q = benjamini_hochberg(&p).unwrap_or_default();
    let mut directions = BTreeMap::new();
    for ((asked, said, p, lead), q) in tested.into_iter().zip(q) {
        let (there, back) = if q >= FALSE_DISCOVERY {
            (Direction::NotShown { p, q }, Direction::NotShown { p, q })
        } else if lead > 0.0 {
            (Direction::ThisWay { p, q }, Direction::OtherWay { p, q })
        } else {
            (Direction::OtherWay { p, q }, Direction::ThisWay { p, q })
        };
        directions.insert((asked, said), there);
        directions.insert((said, asked), back);
    }
    directions
}

/// Which pairs are confused more than favourite guesses explain.
///
/// If a class that does not know a muscle guessed as it guesses elsewhere, the share of a muscle
/// among the wrong answers would be the same whatever was asked. Each pair's count among the wrong
/// answers to its muscle is tested against the share among the wrong answers to all others (with
/// one guess spread over all muscles, so that it is never 0), and the false discovery rate is
/// controlled over all pairs.
fn standing_out(counts: &Counts) -> BTreeMap<(MuscleId, MuscleId), bool> {
    let all: u32 = counts.wrong.values().sum();
    let muscles: std::collections::BTreeSet<MuscleId> =
        counts.given.keys().chain(counts.guessed.keys()).copied().collect();
    let Ok(kinds) = u32::try_from(muscles.len()) else { return BTreeMap::new() };
    let mut tested = Vec::new();
    for (asked, said, count) in counts.confused() {
        let wrong = counts.wrong.get(&asked).copied().unwrap_or_default();
        let guessed = counts.guessed.get(&said).copied().unwrap_or_default();
        let elsewhere = f64::from(guessed - count) + 1.0 / f64::from(kinds.max(1));
        let share = elsewhere / (f64::from(all - wrong) + 1.0);
        // With nothing answered wrongly elsewhere, all other muscles are as likely.
        let share = if all == wrong { 1.0 / f64::from(kinds.max(2) - 1) } else { share };
        let Some(seen) = Tally::new(count, wrong) else { continue };
        let surprise = against(seen, share.clamp(1e-6, 1.0 - 1e-6));
        let above = seen.rate().is_some_and(|rate| rate > share);
        tested.extend(surprise.map(|found| (asked, said, if above { found.exact } else { 1.0 })));
    }
    let p: Vec<f64> = tested.iter().map(|one| one.2).collect();
    let q = benjamini_hochberg(&p).unwrap_or_default();
    let found = tested.into_iter().zip(q);
    found.map(|((asked, said, _), q)| ((asked, said), q < FALSE_DISCOVERY)).collect()
}

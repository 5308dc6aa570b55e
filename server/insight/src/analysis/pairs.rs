//! Which muscle is answered for which: how often, how surely, which way round, and why.

use std::collections::{BTreeMap, BTreeSet};

use myonym_stats::direction::unequal_exposure;
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
    fn apart(&self, asked: MuscleId, said: MuscleId) -> Apart;
}

/// What separates two muscles.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Apart {
    pub(super) most_telling: Option<myonym_content::Difference>,
    pub(super) line_of_pull: Option<myonym_content::Difference>,
}

/// All confused pairs, the largest shrunken share first.
pub(super) fn pairs(table: &Observations, counts: &Counts, facts: &impl Facts) -> Vec<Pair> {
    let priors = Priors::fit(table, counts, facts);
    let directions = directions(counts);
    let standing = standing_out(counts, facts);
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
            stands_out: standing.get(&(asked, said)).copied().unwrap_or_default()
                || plain(count, expected.low, lift(counts, asked, said)),
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
        // Before anything is known one answer in ten of a neighbour is wrong (Beta(1, 9); common practice, no source).
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

/// Whether a confusion is plain even where too little else was answered wrongly to test it against:
/// three or more answers, more than one in ten for certain, and twice the share that the muscle has
/// among the wrong answers to others. In classes that only guess this adds no alarm (see
/// `tests/insight/planted.rs`).
fn plain(count: u32, low: f64, lift: f64) -> bool {
    count >= 3 && low >= 0.1 && lift >= 2.0
}

/// A muscle's share among the wrong answers to the muscle asked, times its share among those to all
/// others, with one guess added there.
fn lift(counts: &Counts, asked: MuscleId, said: MuscleId) -> f64 {
    let wrong = |muscle: MuscleId| counts.wrong.get(&muscle).copied().unwrap_or_default();
    let all: u32 = counts.wrong.values().sum();
    let count = counts.count(asked, said);
    let guessed = counts.guessed.get(&said).copied().unwrap_or_default();
    let here = f64::from(count) / f64::from(wrong(asked).max(1));
    let elsewhere =
        f64::from(guessed - count + 1) / f64::from(all - wrong(asked) - wrong(said) + 1);
    here / elsewhere.min(1.0)
}

/// Which pairs are confused more than favourite guesses explain.
///
/// If a class that does not know a muscle guessed as it guesses elsewhere, a muscle's share among
/// the wrong answers would be the same whatever was asked. So its count among the wrong answers to
/// the muscle asked is held against its count among the wrong answers to all others (but to itself,
/// where it is no wrong answer), given how many wrong answers there were: the conditional test of
/// [`unequal_exposure`]. One guess at each other muscle is added to those elsewhere, so that a class
/// that knows all the rest can show a confusion too. The false discovery rate is controlled over all pairs that could be
/// confused: to look only at those that were would be to look only where something was found. Neighbours, of
/// which a confusion is to be expected, and other pairs are two families, with half the rate each.
fn standing_out(counts: &Counts, facts: &impl Facts) -> BTreeMap<(MuscleId, MuscleId), bool> {
    let wrong = |asked: MuscleId| counts.wrong.get(&asked).copied().unwrap_or_default();
    let all: u32 = counts.wrong.values().sum();
    let muscles: BTreeSet<MuscleId> =
        counts.given.keys().chain(counts.guessed.keys()).copied().collect();
    let kinds = u32::try_from(muscles.len()).unwrap_or(u32::MAX);
    let mut tested = Vec::new();
    for (asked, said, count) in counts.confused() {
        let guessed = counts.guessed.get(&said).copied().unwrap_or_default();
        let here = Tally::new(count, wrong(asked));
        let others = all - wrong(asked) - wrong(said) + kinds.saturating_sub(1);
        let elsewhere = Tally::new(guessed - count + 1, others);
        let (Some(here), Some(elsewhere)) = (here, elsewhere) else { continue };
        let share = |tally: Tally| tally.rate().unwrap_or_default();
        let above = share(here) > share(elsewhere);
        let chance = unequal_exposure(here, elsewhere).filter(|_| above).map(|found| found.exact);
        tested.push((asked, said, chance.unwrap_or(1.0)));
    }
    let mut found = BTreeMap::new();
    for near in [true, false] {
        let family = |asked: MuscleId, said: MuscleId| facts.neighbours(asked, said) == near;
        let possible = counts.given.keys().map(|asked| {
            muscles.iter().filter(|said| *said != asked && family(*asked, **said)).count()
        });
        let possible: usize = possible.sum();
        let of_family = tested.iter().filter(|one| family(one.0, one.1));
        let mut p: Vec<f64> = of_family.clone().map(|one| one.2).collect();
        p.resize(possible.max(p.len()), 1.0);
        let q = benjamini_hochberg(&p).unwrap_or_default();
        let stands = of_family.zip(q).map(|(one, q)| ((one.0, one.1), q < FALSE_DISCOVERY / 2.0));
        found.extend(stands);
    }
    found
}

//! What is known of each muscle and each pair, with old evidence faded.

use std::collections::{BTreeMap, BTreeSet};

use myonym_content::near::nearness;
use myonym_content::{Catalogue, Course, MuscleKey};
use myonym_engine::score;
use myonym_stats::forget::{Fading, Round};
use myonym_stats::information::expected_gain;
use myonym_stats::{Beta, Level, Tally, thompson};

use super::occasions::{Choices, Occasion, WEEK_S, ages, choices, occasions};
use super::{Proposed, Reason};
use crate::observe::Observations;

/// What evidence keeps of its weight each time that its muscle is asked again, and each week. Set by
/// the simulation in `tests/insight/planned.rs`: from 0.8 to 0.95 planned reviews find planted pairs
/// about as soon; below, they forget what they found.
const DISCOUNT: f64 = 0.9;
/// Correlation of the answers of one round, as all had the same clues (0.05: our choice).
const SHARING: f64 = 0.05;
/// What a prior is worth, in answers.
const PRIOR_ANSWERS: f64 = 10.0;
/// A pair is surely confused if its share lies above this with 95 % certainty.
const CONFUSED: f64 = 0.1;
/// A muscle counts as known from this share right on.
const KNOWN: f64 = 0.75;
/// What an answer weighs where two were offered. A coin flipped between them is right half the time,
/// so half of what is chosen there may be luck. Wrong choices speak for a confusion and right ones
/// against it. Were wrong ones alone counted, a pair could only rise: by the simulation in
/// `tests/insight/planned.rs` planned reviews would find planted pairs later (0.70 of the rounds that
/// it takes at random, for 0.67).
const OF_TWO: f64 = 0.5;

/// One directed pair: how often the second was said for the first.
struct PairEvidence {
    asked: MuscleKey,
    said: MuscleKey,
    known: Beta,
    /// Confusions of answers in all, unfaded.
    seen: Tally,
    /// The same the last time that it was asked.
    last: Tally,
    /// Wrong choices of all, where the two were offered.
    chosen: Tally,
}

/// One muscle: how often it was named.
struct MuscleEvidence {
    muscle: MuscleKey,
    known: Beta,
    seen: Tally,
    weeks: Option<i64>,
    /// How near its nearest neighbour of the list is, from 0 to 1.
    nearest: f64,
}

/// All that a choice rests on.
pub(super) struct Evidence {
    pairs: Vec<PairEvidence>,
    muscles: Vec<MuscleEvidence>,
    names: BTreeMap<MuscleKey, String>,
}

/// When and how one muscle was asked by name.
struct Asked<'o> {
    own: &'o [Occasion],
    ages: Vec<f64>,
    now: i64,
}

impl Asked<'_> {
    /// What is known after all that was seen, faded: names, and choices between two.
    fn fade(&self, prior: Beta, hits: &dyn Fn(&Occasion) -> u32, of_two: &[Choices]) -> Beta {
        let round = |(one, age): (&Occasion, &f64)| {
            let seen = Tally::new(hits(one), one.answers)?;
            Some(Round { age: *age, seen, weight: 1.0 })
        };
        let mut rounds: Vec<Round> = self.own.iter().zip(&self.ages).filter_map(round).collect();
        rounds.extend(of_two.iter().map(|choices| Round {
            age: choices.age(self.own, self.now),
            seen: choices.seen,
            weight: OF_TWO,
        }));
        let posterior = Fading::new(DISCOUNT, SHARING).map(|one| one.posterior(prior, &rounds));
        posterior.flatten().unwrap_or(prior)
    }

    fn total(&self, hits: &dyn Fn(&Occasion) -> u32) -> Tally {
        let answers = self.own.iter().map(|one| one.answers).sum();
        Tally::new(self.own.iter().map(hits).sum(), answers).unwrap_or_default()
    }

    /// A directed pair; `None` if it was hardly ever confused.
    fn pair(
        &self,
        (asked, said): (&MuscleKey, &MuscleKey),
        of_two: &[Choices],
        near: bool,
        prior: Beta,
    ) -> Option<PairEvidence> {
        let hits = |one: &Occasion| one.said.get(said).copied().unwrap_or_default();
        let seen = self.total(&hits);
        let chosen = of_two.iter().try_fold(Tally::default(), |sum, one| sum.together(one.seen));
        let chosen = chosen.unwrap_or_default();
        // One stray answer is no weak spot: there are many, and they would take the rounds.
        let counted = f64::from(seen.hits()) + OF_TWO * f64::from(chosen.hits());
        if counted < if near { 1.0 } else { 2.0 } {
            return None;
        }
        let last = self.own.last().and_then(|one| Tally::new(hits(one), one.answers));
        Some(PairEvidence {
            asked: asked.clone(),
            said: said.clone(),
            known: self.fade(prior, &hits, of_two),
            seen,
            last: last.unwrap_or_default(),
            chosen,
        })
    }
}

impl Evidence {
    /// Of the muscles of a course, from all that a table holds. Weeks count from the last review.
    pub(super) fn gather(catalogue: &Catalogue, course: &Course, table: &Observations) -> Self {
        let occasions = occasions(table);
        let now = table.reviews().iter().map(|review| review.opened_s).max().unwrap_or_default();
        let listed: BTreeSet<&MuscleKey> = course.items().iter().map(|item| &item.muscle).collect();
        let mut names: BTreeMap<MuscleKey, String> =
            course.items().iter().map(|item| (item.muscle.clone(), item.name.clone())).collect();
        for id in table.muscles() {
            if let Some(key) = table.key(id) {
                names.entry(key.clone()).or_insert_with(|| table.name(id).to_owned());
            }
        }
        let priors = Priors::of(catalogue, &occasions, &listed);
        let mut choices = choices(table);
        let (mut pairs, mut muscles) = (Vec::new(), Vec::new());
        for &asked in &listed {
            let own = occasions.get(asked).map(Vec::as_slice).unwrap_or_default();
            let asked_for = Asked { own, ages: ages(own, now), now };
            let right = |one: &Occasion| one.right;
            muscles.push(MuscleEvidence {
                muscle: asked.clone(),
                known: asked_for.fade(Beta::UNIFORM, &right, &[]),
                seen: asked_for.total(&right),
                weeks: own.last().map(|last| (now - last.opened_s) / WEEK_S),
                nearest: (listed.iter().filter(|other| **other != asked))
                    .map(|other| near(catalogue, asked, other))
                    .fold(0.0, f64::max),
            });
            let chosen = choices.remove(asked).unwrap_or_default();
            let said = own.iter().flat_map(|one| one.said.keys());
            let confused: BTreeSet<&MuscleKey> = said.chain(chosen.keys()).collect();
            for &said in listed.iter().filter(|said| confused.contains(**said)) {
                let of_two = chosen.get(said).map(Vec::as_slice).unwrap_or_default();
                let near = neighbours(catalogue, asked, said);
                pairs.extend(asked_for.pair((asked, said), of_two, near, priors.of_pair(near)));
            }
        }
        Self { pairs, muscles, names }
    }

    /// Muscles that were never asked.
    pub(super) fn unseen(&self) -> usize {
        self.muscles.iter().filter(|one| one.weeks.is_none()).count()
    }

    /// The best choice for a reason; `None` if nothing is left for it.
    pub(super) fn best(
        &self,
        reason: Reason,
        closed: &BTreeSet<MuscleKey>,
        seed: u64,
    ) -> Option<Proposed> {
        self.ranked(reason, seed).into_iter().find(|one| !closed.contains(&one.muscle))
    }

    /// All choices for a reason, the best first.
    ///
    /// Weak pairs come by a Thompson draw of their confusion rate, so that what is uncertain comes
    /// up as often as it may be the worst; uncertain muscles by what one more answer would tell of
    /// them, and of those that tell as much (all that were never asked) those with a near neighbour
    /// first; known ones by what they were answered last longest ago.
    pub(super) fn ranked(&self, reason: Reason, seed: u64) -> Vec<Proposed> {
        match reason {
            Reason::Weak => {
                let known: Vec<Beta> = self.pairs.iter().map(|pair| pair.known).collect();
                let order = thompson::order(&known, seed);
                order.into_iter().filter_map(|at| Some(self.weak(self.pairs.get(at)?))).collect()
            }
            Reason::Uncertain => {
                let mut order: Vec<&MuscleEvidence> = self.muscles.iter().collect();
                let ties: Vec<Beta> = order.iter().map(|_| Beta::UNIFORM).collect();
                let tie = thompson::draws(&ties, seed);
                let tie: BTreeMap<&MuscleKey, f64> =
                    order.iter().map(|one| &one.muscle).zip(tie).collect();
                order.sort_by(|a, b| {
                    (expected_gain(b.known).total_cmp(&expected_gain(a.known)))
                        .then_with(|| b.nearest.total_cmp(&a.nearest))
                        .then_with(|| tie[&b.muscle].total_cmp(&tie[&a.muscle]))
                });
                order.into_iter().map(|one| self.uncertain(one)).collect()
            }
            Reason::Known => {
                let known = |one: &&MuscleEvidence| {
                    one.known.quantile(Level::P95) >= KNOWN
                        && one.seen.rate().is_some_and(|rate| rate >= KNOWN)
                };
                let mut order: Vec<&MuscleEvidence> = self.muscles.iter().filter(known).collect();
                order.sort_by_key(|one| std::cmp::Reverse(one.weeks));
                order.into_iter().map(|one| self.known(one)).collect()
            }
        }
    }

    fn name<'n>(&'n self, muscle: &'n MuscleKey) -> &'n str {
        self.names.get(muscle).map_or_else(|| muscle.as_str(), String::as_str)
    }

    /// A pair that is surely confused comes as a contrast round; of one that may be, the muscle is
    /// asked by name, which tells more.
    fn weak(&self, pair: &PairEvidence) -> Proposed {
        let (asked, said) = (self.name(&pair.asked), self.name(&pair.said));
        let muscle = pair.asked.clone();
        let sure = pair.known.interval(Level::P90).low >= CONFUSED;
        let named = (pair.seen.of() > 0).then(|| {
            format!(
                "{} of {} answers named {said} when {asked} was asked; the last time {} of {}.",
                pair.seen.hits(),
                pair.seen.of(),
                pair.last.hits(),
                pair.last.of()
            )
        });
        let chosen = (pair.chosen.hits() > 0).then(|| {
            let (wrong, of) = (pair.chosen.hits(), pair.chosen.of());
            format!("{wrong} of {of} chose {said} where both were offered.")
        });
        let why = named.into_iter().chain(chosen).collect::<Vec<_>>().join(" ");
        let beside = sure.then(|| pair.said.clone());
        Proposed { muscle, beside, reason: Reason::Weak, why }
    }

    fn uncertain(&self, one: &MuscleEvidence) -> Proposed {
        let name = self.name(&one.muscle);
        let why = match one.weeks {
            None => format!("{name} was never asked."),
            Some(weeks) if weeks > 0 => format!(
                "{} answers so far to {name}, the last {weeks} week{} ago.",
                one.seen.of(),
                if weeks == 1 { "" } else { "s" }
            ),
            Some(_) => format!("Only {} answers so far to {name}.", one.seen.of()),
        };
        Proposed { muscle: one.muscle.clone(), beside: None, reason: Reason::Uncertain, why }
    }

    fn known(&self, one: &MuscleEvidence) -> Proposed {
        let name = self.name(&one.muscle);
        let why = format!(
            "{} of {} had {name} right: something to succeed at, and a look whether it is kept.",
            one.seen.hits(),
            one.seen.of()
        );
        Proposed { muscle: one.muscle.clone(), beside: None, reason: Reason::Known, why }
    }
}

/// What to expect of a pair before it is looked at: the share of all such pairs, those never
/// confused among them, worth as much as [`PRIOR_ANSWERS`] answers.
struct Priors {
    neighbours: Beta,
    others: Beta,
}

impl Priors {
    fn of(
        catalogue: &Catalogue,
        occasions: &BTreeMap<MuscleKey, Vec<Occasion>>,
        listed: &BTreeSet<&MuscleKey>,
    ) -> Self {
        let (mut near, mut far) = ((0, 0), (0, 0));
        for (asked, own) in occasions {
            let answers: u32 = own.iter().map(|one| one.answers).sum();
            for said in listed.iter().filter(|said| **said != asked) {
                let is_near = neighbours(catalogue, asked, said);
                let (hits, of) = if is_near { &mut near } else { &mut far };
                *hits += own.iter().filter_map(|one| one.said.get(*said)).sum::<u32>();
                *of += answers;
            }
        }
        // Before anything is known, one answer in ten goes to a neighbour (common practice, no
        // source), half a one to another.
        let prior = |(hits, of): (u32, u32), before: f64| {
            let share = (f64::from(hits) + before) / (f64::from(of) + PRIOR_ANSWERS);
            let weight = PRIOR_ANSWERS;
            Beta::with_mean(share.clamp(0.001, 0.5), weight).unwrap_or(Beta::UNIFORM)
        };
        Self { neighbours: prior(near, 1.0), others: prior(far, 0.5) }
    }

    fn of_pair(&self, neighbours: bool) -> Beta {
        if neighbours { self.neighbours } else { self.others }
    }
}

/// Whether two muscles are near enough for near-miss credit.
fn neighbours(catalogue: &Catalogue, a: &MuscleKey, b: &MuscleKey) -> bool {
    score::credit(false, near(catalogue, a, b)) > 0.0
}

fn near(catalogue: &Catalogue, a: &MuscleKey, b: &MuscleKey) -> f64 {
    let muscles = catalogue.muscle(a).zip(catalogue.muscle(b));
    muscles.map_or(0.0, |(a, b)| nearness(&catalogue.vocabulary, a, b).value())
}

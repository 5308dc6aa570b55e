//! The fold from logged events to counts.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

use myonym_content::MuscleKey;
use myonym_content::name::fold;
use myonym_engine::{Answer, AskedAgainWhy, Event, Logged, score};
use myonym_wire::{RoundNo, Spelling, StudentId, Task, Verdict};

use crate::estimate::wilson;
use crate::predicted::{Movements, Predicted};
use crate::rows::{ConfusedPair, Hard, Totals, Unclear};

/// A typed name is told once this many students have typed it.
const SAID_BY: u32 = 2;

/// What classes answered: a fold over the events of one or many reviews.
///
/// Feed it whole logs in order, review after review, or one log as it grows; either way gives the
/// same counts. Only rounds that were revealed count: answers of an open or closed round wait, and
/// a round that is skipped, or cut off by the next review, changes nothing.
///
/// Rounds that ask for a movement are counted apart ([`Tally::movements`]); of all else here they are
/// part of the totals alone. So are rounds that offer two muscles
/// ([`Observations::contrasted`](crate::observe::Observations::contrasted) counts them).
///
/// A student is *asked* in a round by answering it or by being listed as silent at its close. Who
/// was absent is not asked, and no share is taken of them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tally {
    muscles: BTreeMap<MuscleKey, Counts>,
    /// Wrong answers by muscle asked and muscle said.
    pairs: BTreeMap<(MuscleKey, MuscleKey), u32>,
    /// Typed names that were no muscle's, by muscle asked and name.
    unclear: BTreeMap<(MuscleKey, String), (AskedAgainWhy, u32)>,
    movements: Movements,
    names: BTreeMap<MuscleKey, String>,
    totals: Totals,
    /// How the review being read marks spelling; `None` before any.
    spelling: Option<Spelling>,
    /// The round that is not revealed yet.
    round: Option<Round>,
}

impl Tally {
    /// Counts one event. An event that does not fit what came before changes nothing.
    pub fn add(&mut self, logged: &Logged) {
        match &logged.event {
            Event::Opened { settings, .. } => {
                self.round = None;
                self.spelling = Some(settings.spelling);
            }
            Event::RoundOpened { round, task, muscle, name, .. } => {
                self.round = Some(Round::new(*round, *task, muscle, name));
            }
            Event::Answered(answer) => {
                if let Some(open) = self.open_round(answer.round) {
                    open.answers.entry(answer.student).or_insert_with(|| answer.clone());
                }
            }
            Event::AskedAgain { round, student, typed, why, .. } => {
                if let Some(open) = self.open_round(*round) {
                    open.unclear.insert((*student, fold(typed)), *why);
                }
            }
            Event::RoundClosed { round, silent, .. } => {
                if let Some(open) = self.open_round(*round) {
                    open.silent = Some(silent.iter().copied().collect());
                }
            }
            Event::RoundSkipped { round } => {
                self.round.take_if(|pending| pending.number == *round);
            }
            Event::Revealed { round, .. } => {
                if let Some(shown) = self.round.take_if(|pending| pending.number == *round) {
                    self.count(shown);
                }
            }
            Event::Ended { .. } => self.round = None,
            Event::Seated { .. }
            | Event::Back { .. }
            | Event::Away { .. }
            | Event::Removed { .. }
            | Event::Stretched { .. }
            | Event::Renamed { .. }
            | Event::ClueShown { .. }
            | Event::Voted { .. }
            | Event::Paused {}
            | Event::Resumed {}
            | Event::Replanned { .. }
            | Event::Restarted {}
            | Event::Forgotten {} => {}
        }
    }

    /// Adds what another has counted of later reviews: the same as if this one had read them.
    pub fn absorb(&mut self, later: Self) {
        for (muscle, counts) in later.muscles {
            self.muscles.entry(muscle).or_default().absorb(&counts);
        }
        for (pair, count) in later.pairs {
            *self.pairs.entry(pair).or_default() += count;
        }
        for (form, (why, count)) in later.unclear {
            let known = self.unclear.entry(form).or_insert((why, 0));
            *known = (why, known.1 + count);
        }
        self.movements.absorb(later.movements);
        self.names.extend(later.names);
        self.totals.rounds += later.totals.rounds;
        self.totals.answers += later.totals.answers;
        self.totals.silent += later.totals.silent;
        if later.spelling.is_some() {
            (self.spelling, self.round) = (later.spelling, later.round);
        }
    }

    /// Whether nobody was asked anything yet.
    pub fn is_empty(&self) -> bool {
        self.totals.answers == 0 && self.totals.silent == 0
    }

    /// How much was counted.
    pub fn totals(&self) -> Totals {
        self.totals
    }

    /// The muscles that were asked, hardest first: by the upper end of the interval of the share
    /// right, so that what is surely hard comes before what only one or two students missed (0 of
    /// 1 may be as high as 79 %, 9 of 24 at most 57 %). Equals come by name.
    pub fn hardest(&self) -> Vec<Hard> {
        let mut muscles: Vec<Hard> =
            self.muscles.iter().filter_map(|(key, counts)| self.hard(key, counts)).collect();
        muscles.sort_by(|a, b| {
            (a.rate_right.high.total_cmp(&b.rate_right.high)).then_with(|| a.name.cmp(&b.name))
        });
        muscles
    }

    /// The confused pairs, clearest first: those that two or more students (or rounds) bear out,
    /// then by the lower end of the interval of their share (9 of 24 is at least 21 %, 1 of 2 at
    /// least 9 %). Equals come by the names of the muscle asked and the muscle said.
    pub fn pairs(&self) -> Vec<ConfusedPair> {
        let mut pairs: Vec<ConfusedPair> =
            self.pairs.iter().filter_map(|(key, count)| self.pair(key, *count)).collect();
        pairs.sort_by(|a, b| {
            ((b.count > 1).cmp(&(a.count > 1)))
                .then_with(|| b.rate.low.total_cmp(&a.rate.low))
                .then_with(|| a.asked_name.cmp(&b.asked_name))
                .then_with(|| a.said_name.cmp(&b.said_name))
        });
        pairs
    }

    /// The typed names that fit several muscles or none, commonest first, then by name.
    pub fn unclear(&self) -> Vec<Unclear> {
        let form =
            |((asked, typed), (why, count)): (&(MuscleKey, String), &(AskedAgainWhy, u32))| {
                Unclear {
                    asked: asked.clone(),
                    asked_name: self.name(asked),
                    typed: typed.clone(),
                    why: *why,
                    count: *count,
                }
            };
        let mut forms: Vec<Unclear> = self.unclear.iter().map(form).collect();
        forms.sort_by(|a, b| {
            commonest((a.count, &a.asked_name, &a.typed), (b.count, &b.asked_name, &b.typed))
        });
        forms
    }

    /// Those of [`Tally::unclear`] that at least two students typed: what one person types may be
    /// anything, even a person's name.
    pub fn unclear_of_several(&self) -> Vec<Unclear> {
        let mut unclear = self.unclear();
        unclear.retain(|form| form.count >= SAID_BY);
        unclear
    }

    /// How the movements of muscles were answered, hardest first.
    pub fn movements(&self) -> Vec<Predicted> {
        self.movements.rows(|muscle| self.name(muscle))
    }

    /// The round with this number, if it takes answers.
    fn open_round(&mut self, number: RoundNo) -> Option<&mut Round> {
        self.round.as_mut().filter(|round| round.number == number && round.silent.is_none())
    }

    fn hard(&self, muscle: &MuscleKey, counts: &Counts) -> Option<Hard> {
        Some(Hard {
            muscle: muscle.clone(),
            name: self.name(muscle),
            right: counts.right,
            near: counts.near,
            silent: counts.silent,
            asked: counts.asked,
            rate_right: wilson(counts.right, counts.asked)?,
        })
    }

    fn pair(&self, (asked, said): &(MuscleKey, MuscleKey), count: u32) -> Option<ConfusedPair> {
        let of = self.asked(asked);
        Some(ConfusedPair {
            asked: asked.clone(),
            asked_name: self.name(asked),
            said: said.clone(),
            said_name: self.name(said),
            count,
            of,
            rate: wilson(count, of)?,
        })
    }

    fn asked(&self, muscle: &MuscleKey) -> u32 {
        self.muscles.get(muscle).map_or(0, |counts| counts.asked)
    }

    fn name(&self, muscle: &MuscleKey) -> String {
        self.names.get(muscle).map_or_else(|| muscle.to_string(), Clone::clone)
    }

    /// Counts a round that is revealed. One that was never closed does not say who was silent, so
    /// it cannot be counted.
    fn count(&mut self, mut round: Round) {
        let Some(mut silent) = round.silent.take() else { return };
        silent.retain(|student| !round.answers.contains_key(student));
        let silences = u32::try_from(silent.len()).unwrap_or(u32::MAX);
        self.totals.rounds += 1;
        self.totals.silent += silences;
        self.totals.answers += u32::try_from(round.answers.len()).unwrap_or(u32::MAX);
        self.names.insert(round.muscle.clone(), round.name.clone());
        match round.task {
            Task::Name | Task::Picture => self.count_names(round, silences),
            Task::Movement => self.count_movements(&round, silences),
            // With two names on the screen an answer says little of either.
            Task::Contrast => {}
        }
    }

    fn count_movements(&mut self, round: &Round, silences: u32) {
        let strict = self.spelling == Some(Spelling::Strict);
        self.movements.count_silent(&round.muscle, silences);
        for answer in round.answers.values() {
            self.movements.count_answer(&round.muscle, answer, strict);
        }
    }

    fn count_names(&mut self, round: Round, silences: u32) {
        let counts = self.muscles.entry(round.muscle.clone()).or_default();
        counts.silent += silences;
        counts.asked += silences;
        for answer in round.answers.values() {
            self.count_answer(&round.muscle, answer);
        }
        for ((_, typed), why) in round.unclear {
            self.count_unclear(&round.muscle, typed, why);
        }
    }

    fn count_answer(&mut self, asked: &MuscleKey, answer: &Answer) {
        let counts = self.muscles.entry(asked.clone()).or_default();
        counts.asked += 1;
        match score::verdict(answer.exact, answer.credit) {
            Verdict::Right => counts.right += 1,
            Verdict::Near => counts.near += 1,
            Verdict::Wrong | Verdict::Silent => {}
        }
        let Some(said) = &answer.said else {
            self.count_unclear(asked, fold(&answer.typed), AskedAgainWhy::UnknownName);
            return;
        };
        if let Some(name) = &answer.said_name {
            self.names.insert(said.clone(), name.clone());
        }
        if said != asked {
            *self.pairs.entry((asked.clone(), said.clone())).or_default() += 1;
        }
    }

    fn count_unclear(&mut self, asked: &MuscleKey, typed: String, why: AskedAgainWhy) {
        if !typed.is_empty() {
            let form = self.unclear.entry((asked.clone(), typed)).or_insert((why, 0));
            *form = (why, form.1 + 1);
        }
    }
}

/// How one muscle was answered in the rounds that were revealed.
#[derive(Debug, Clone, PartialEq, Default)]
struct Counts {
    asked: u32,
    right: u32,
    near: u32,
    silent: u32,
}

impl Counts {
    fn absorb(&mut self, later: &Self) {
        self.asked += later.asked;
        self.right += later.right;
        self.near += later.near;
        self.silent += later.silent;
    }
}

/// A round that is not revealed yet.
#[derive(Debug, Clone, PartialEq)]
struct Round {
    number: RoundNo,
    task: Task,
    muscle: MuscleKey,
    name: String,
    /// The first answer of each student.
    answers: BTreeMap<StudentId, Answer>,
    /// A student who types the same thing again says nothing new.
    unclear: BTreeMap<(StudentId, String), AskedAgainWhy>,
    /// Who gave no answer; `None` while the round takes answers.
    silent: Option<BTreeSet<StudentId>>,
}

impl Round {
    fn new(number: RoundNo, task: Task, muscle: &MuscleKey, name: &str) -> Self {
        Self {
            number,
            task,
            muscle: muscle.clone(),
            name: name.to_owned(),
            answers: BTreeMap::new(),
            unclear: BTreeMap::new(),
            silent: None,
        }
    }
}

/// Higher counts first, then by muscle and by what was typed.
fn commonest(a: (u32, &str, &str), b: (u32, &str, &str)) -> Ordering {
    (b.0.cmp(&a.0)).then_with(|| (a.1, a.2).cmp(&(b.1, b.2)))
}

//! A round while it is open, and what is kept of it.

use std::collections::{BTreeMap, BTreeSet};

use myonym_content::{Clue, MuscleKey};
use myonym_wire::{
    AttemptId, CloseWhy, Millis, RoundNo, ScoreRule, Seq, StudentId, Task, TimeAllowance, Verdict,
};

use crate::event::{Answer, AskedAgainWhy, Offered, RevealContrast};
use crate::score::{self, Points};
use crate::waiting::Waiting;

/// A round that takes answers.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenRound {
    /// Which.
    pub round: RoundNo,
    /// What it asks for.
    pub task: Task,
    /// The muscle described.
    pub muscle: MuscleKey,
    /// Its English name.
    pub name: String,
    /// Its Latin name.
    pub latin: String,
    /// The two muscles to choose between, in the order shown; else none.
    pub offered: Vec<Offered>,
    /// All clues, vague to telling.
    pub clues: Vec<Clue>,
    /// How many of them are shown.
    pub shown: u8,
    /// Time limit for the class, in milliseconds.
    pub limit_ms: u32,
    /// Answers taken, by student: one each.
    pub answers: BTreeMap<StudentId, Answer>,
    /// Times that a student was asked again.
    pub asked_again: u32,
    /// Everyone who was here at some time of this round, with the time that each had at its start.
    pub(crate) here: BTreeMap<StudentId, TimeAllowance>,
    /// Who still may answer.
    pub(crate) waiting: Waiting,
    /// The last try of each student that was no answer, to repeat the question if it is sent again.
    pub(crate) asked: BTreeMap<StudentId, (AttemptId, AskedAgainWhy, Vec<String>)>,
    pub(crate) opened_at: Millis,
    pub(crate) opened_seq: Seq,
    pub(crate) paused_for: Millis,
}

impl OpenRound {
    /// The limit of one student in milliseconds; `None` is untimed.
    pub fn limit_of(&self, student: StudentId) -> Option<u32> {
        self.here.get(&student).copied().unwrap_or_default().limit_ms(self.limit_ms)
    }

    /// How many were here at some time of this round.
    pub fn here(&self) -> usize {
        self.here.len()
    }

    /// When it opened, in time since the review opened.
    pub fn opened_at(&self) -> Millis {
        self.opened_at
    }

    /// The number of the event that opened it.
    pub fn opened_seq(&self) -> Seq {
        self.opened_seq
    }

    /// Time run at `now`, less the pauses that are over.
    pub(crate) fn elapsed(&self, now: Millis) -> Millis {
        now.minus(self.opened_at).minus(self.paused_for)
    }

    /// The time of the review at which this much of the round has run.
    pub(crate) fn when(&self, elapsed: Millis) -> Millis {
        self.opened_at.plus(self.paused_for).plus(elapsed)
    }

    /// When the next clue is due, in time run: clues stand at equal steps, the last with a step
    /// to spare on either side of the limit.
    pub(crate) fn next_clue(&self) -> Option<(u8, Millis)> {
        let count = u64::try_from(self.clues.len()).unwrap_or(u64::MAX);
        let shown = u64::from(self.shown);
        (shown < count).then(|| {
            let due = u64::from(self.limit_ms) * shown / (count + 1);
            (self.shown + 1, Millis(due))
        })
    }

    pub(crate) fn close(
        self,
        why: CloseWhy,
        at: Millis,
        silent: BTreeSet<StudentId>,
    ) -> RoundRecord {
        RoundRecord {
            round: self.round,
            task: self.task,
            muscle: self.muscle,
            name: self.name,
            latin: self.latin,
            offered: self.offered,
            clues: self.clues,
            shown: self.shown,
            answers: self.answers,
            silent,
            why,
            contrast: None,
            at,
        }
    }
}

/// A round that is over.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundRecord {
    /// Which.
    pub round: RoundNo,
    /// What it asks for.
    pub task: Task,
    /// The muscle described.
    pub muscle: MuscleKey,
    /// Its English name.
    pub name: String,
    /// Its Latin name.
    pub latin: String,
    /// The two muscles to choose between, in the order shown; else none.
    pub offered: Vec<Offered>,
    /// All clues.
    pub clues: Vec<Clue>,
    /// How many of them were shown.
    pub shown: u8,
    /// Answers, by student.
    pub answers: BTreeMap<StudentId, Answer>,
    /// Who was here and gave none.
    pub silent: BTreeSet<StudentId>,
    /// Why it closed.
    pub why: CloseWhy,
    /// The contrast shown at its reveal.
    pub contrast: Option<RevealContrast>,
    /// When it closed, and later when it was revealed.
    pub(crate) at: Millis,
}

impl RoundRecord {
    /// Verdict and points of one student; `None` for one who was not here.
    pub fn result(&self, student: StudentId, rule: ScoreRule) -> Option<(Verdict, Points)> {
        if let Some(answer) = self.answers.get(&student) {
            let points = score::points(rule, answer.credit, answer.elapsed_ms, answer.limit_ms);
            return Some((score::verdict(answer.exact, answer.credit), points));
        }
        self.silent.contains(&student).then(|| (Verdict::Silent, Points::default()))
    }
}

/// What was answered in a round, commonest first, then by name: the name shown, the muscle (none
/// for a movement, or a name that no muscle has), how many, and how it was marked. In strict
/// spelling one muscle or movement may stand in two rows, spelt well and misspelt.
pub fn spread(
    task: Task,
    answers: &BTreeMap<StudentId, Answer>,
) -> Vec<(String, Option<MuscleKey>, u32, Verdict)> {
    let none = match task {
        Task::Name | Task::Picture | Task::Contrast => "(no such name)",
        Task::Movement => "(no such movement)",
    };
    let mut counts: BTreeMap<_, (String, u32, Verdict)> = BTreeMap::new();
    for answer in answers.values() {
        let name = answer.said_name.clone().unwrap_or_else(|| none.to_owned());
        let verdict = score::verdict(answer.exact, answer.credit);
        let said = (answer.said.as_ref(), answer.movement.as_ref());
        let row = (said, answer.exact, answer.credit > 0.0);
        counts.entry(row).or_insert((name, 0, verdict)).1 += 1;
    }
    let mut rows: Vec<_> = counts
        .into_iter()
        .map(|(((said, _), ..), (name, count, verdict))| (name, said.cloned(), count, verdict))
        .collect();
    rows.sort_by(|a, b| b.2.cmp(&a.2).then_with(|| a.0.cmp(&b.0)));
    rows
}

#[cfg(test)]
mod tests {
    use myonym_content::ClueKind;
    use uuid::Uuid;

    use super::*;
    use crate::event::SpellingFound;

    #[test]
    fn clues_stand_at_equal_steps() {
        let check = |count: usize, limit_ms, expected: &[u64]| {
            let clue = Clue { kind: ClueKind::Region, text: "It is somewhere.".to_owned() };
            let mut round = OpenRound { clues: vec![clue; count], limit_ms, ..open() };
            let mut found = Vec::new();
            while let Some((number, Millis(due))) = round.next_clue() {
                assert_eq!(number, round.shown + 1);
                round.shown = number;
                found.push(due);
            }
            assert_eq!(found, expected, "{count} clues in {limit_ms} ms");
        };
        check(0, 20_000, &[]);
        check(1, 20_000, &[]);
        check(3, 20_000, &[5_000, 10_000]);
        check(4, 20_000, &[4_000, 8_000, 12_000]);
        check(5, 45_000, &[7_500, 15_000, 22_500, 30_000]);
    }

    #[test]
    fn pauses_are_left_out_of_the_time_run() {
        let round = OpenRound { opened_at: Millis(1_000), paused_for: Millis(500), ..open() };
        assert_eq!(round.elapsed(Millis(4_000)), Millis(2_500));
        assert_eq!(round.when(Millis(2_500)), Millis(4_000));
        assert_eq!(round.elapsed(Millis(1_200)), Millis(0));
        assert_eq!(round.elapsed(Millis(900)), Millis(0));
    }

    #[test]
    fn the_spread_counts_what_was_said_and_how_it_was_marked() {
        let check = |answers: &[(Option<&str>, bool, f64)], expected: &[(&str, u32, Verdict)]| {
            let answers = (1..).zip(answers).map(|(student, (said, exact, credit))| {
                let answer = answer(student, *said, *exact, *credit);
                (answer.student, answer)
            });
            let rows = spread(Task::Name, &answers.collect());
            let row = |(name, _, count, verdict): &'_ (String, _, u32, Verdict)| {
                (name.clone(), *count, *verdict)
            };
            let expected =
                expected.iter().map(|(name, n, verdict)| ((*name).to_owned(), *n, *verdict));
            assert_eq!(rows.iter().map(row).collect::<Vec<_>>(), expected.collect::<Vec<_>>());
        };
        let (right, near, wrong) = (Verdict::Right, Verdict::Near, Verdict::Wrong);
        check(&[], &[]);
        check(
            &[
                (Some("deltoid"), false, 0.0),
                (Some("teres-minor"), true, 1.0),
                (Some("teres-major"), false, 0.1),
                (Some("teres-minor"), true, 1.0),
            ],
            &[("teres-minor", 2, right), ("deltoid", 1, wrong), ("teres-major", 1, near)],
        );
        // In strict spelling: misspelt, like no muscle, and a neighbour misspelt first.
        check(
            &[
                (Some("teres-minor"), false, 0.0),
                (Some("teres-minor"), true, 1.0),
                (None, false, 0.0),
                (Some("teres-major"), false, 0.0),
                (Some("teres-major"), false, 0.1),
                (Some("teres-major"), false, 0.1),
            ],
            &[
                ("teres-major", 2, near),
                ("(no such name)", 1, wrong),
                ("teres-major", 1, wrong),
                ("teres-minor", 1, wrong),
                ("teres-minor", 1, right),
            ],
        );
    }

    fn open() -> OpenRound {
        OpenRound {
            round: RoundNo(1),
            task: Task::Name,
            muscle: MuscleKey::new("teres-minor"),
            name: "teres minor".to_owned(),
            latin: "musculus teres minor".to_owned(),
            offered: Vec::new(),
            clues: Vec::new(),
            shown: 1,
            limit_ms: 20_000,
            answers: BTreeMap::new(),
            asked_again: 0,
            here: BTreeMap::new(),
            waiting: Waiting::default(),
            asked: BTreeMap::new(),
            opened_at: Millis(0),
            opened_seq: Seq(1),
            paused_for: Millis(0),
        }
    }

    fn answer(student: u128, said: Option<&str>, exact: bool, credit: f64) -> Answer {
        Answer {
            round: RoundNo(1),
            student: StudentId(Uuid::from_u128(student)),
            attempt: AttemptId(Uuid::from_u128(student)),
            typed: "as typed".to_owned(),
            said: said.map(MuscleKey::new),
            movement: None,
            said_name: said.map(ToOwned::to_owned),
            spelling: SpellingFound::Exact,
            exact,
            credit,
            elapsed_ms: 5_000,
            limit_ms: Some(20_000),
            clues: 1,
            hasty: false,
        }
    }
}

//! Laws of a review, over random plans of inputs.

use std::collections::{BTreeMap, BTreeSet};

use myonym_engine::score::points;
use myonym_engine::{Answer, Command, Event, Logged, Phase, Planned, Review, Settings, standings};
use myonym_wire::{
    AttemptId, Millis, Pace, RoundNo, ScoreRule, Seq, StudentId, Task, TimeAllowance,
};
use proptest::prelude::*;
use proptest::sample::select;

use crate::acts::{Plan, Run, plans, run};
use crate::room::{FOUR, Room, answering, attempt, plan, say, seat, settings, student};

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    /// Time makes things happen in few steps and the review is never woken for nothing: the driver
    /// of every plan looks after that.
    #[test]
    fn every_plan_keeps_the_laws(plan in plans()) {
        let run = run(&plan);
        run.room.check_replay();
        check_order(&run.room.log, run.room.review.plan());
        check_answers(&run);
        check_points(&run.room.log, &run.room.review);
        check_standings(&run.room.review);
    }

    #[test]
    fn the_same_inputs_write_the_same_log(plan in plans()) {
        prop_assert_eq!(run(&plan).room.lines(), run(&plan).room.lines());
    }

    /// Raw credit, time and limit are logged: what the other rule gives can be told from the log.
    #[test]
    fn the_log_tells_the_points_of_the_other_rule(plan in plans()) {
        let other = match plan.settings.rule {
            ScoreRule::SpeedWeighted => ScoreRule::SignedResidualTime,
            ScoreRule::SignedResidualTime => ScoreRule::SpeedWeighted,
        };
        let found = recount(&run(&plan).room.log, |answer| {
            points(other, answer.credit, answer.elapsed_ms, answer.limit_ms).0
        });
        let settings = Settings { rule: other, ..plan.settings.clone() };
        let review = run(&Plan { settings, ..plan }).room.review;
        for (student, seat) in review.seats() {
            prop_assert_eq!(found.get(student).copied().unwrap_or_default(), seat.total.0);
        }
    }

    /// The wrong one of two is worth nothing, and whatever was chosen is one of the two.
    #[test]
    fn a_choice_between_two_is_all_or_nothing(plan in plans()) {
        let run = run(&plan);
        let mut offered = BTreeMap::new();
        for logged in &run.room.log {
            if let Event::RoundOpened { round, offered: two, muscle, .. } = &logged.event {
                offered.insert(*round, (two.clone(), muscle.clone()));
            }
        }
        for answer in answers(&run.room.log) {
            let (two, asked) = &offered[&answer.round];
            if two.is_empty() {
                continue;
            }
            let said = answer.said.as_ref().expect("one of the two");
            prop_assert!(two.iter().any(|one| one.muscle == *said));
            let right = said == asked;
            let credit = if right { 1.0_f64 } else { 0.0 };
            prop_assert_eq!((answer.exact, answer.credit.to_bits()), (right, credit.to_bits()));
        }
    }

    /// Answers that arrive at the same time may be taken in any order.
    #[test]
    fn the_order_of_equal_stamps_changes_nothing((case, other) in rounds_in_two_orders()) {
        let (a, b) = (answered_round(&case), answered_round(&other));
        prop_assert_eq!(a.seats(), b.seats());
        prop_assert_eq!(standings(&a), standings(&b));
    }
}

/// Numbers without a gap; one round at a time, as planned; nothing happens in a round that is not
/// open, while the time stands, or after the end.
fn check_order(log: &[Logged], plan: &[Planned]) {
    let (mut open, mut closed, mut paused, mut ended) = (None, None, false, false);
    let (mut opened, mut clue, mut clues) = (0, 0, 0);
    for (number, logged) in (1..).zip(log) {
        assert_eq!(logged.seq, Seq(number));
        let after = matches!(logged.event, Event::Away { .. } | Event::Back { .. });
        assert!(!ended || after, "after the end: {logged:?}");
        match &logged.event {
            Event::Opened { .. } => assert_eq!(number, 1, "opens twice"),
            Event::Replanned { round, .. } => {
                assert_eq!((open, closed, round.0), (None, None, opened + 1), "planned in a round");
            }
            Event::RoundOpened { round, muscle, clues: of_round, offered, task, .. } => {
                assert_eq!((open, closed), (None, None), "{round} opens over another");
                opened += 1;
                let planned = &plan[usize::from(opened) - 1];
                assert_eq!((round.0, muscle), (opened, &planned.muscle));
                assert_eq!(*task, planned.task, "{round}");
                let beside: Vec<_> = offered.iter().map(|one| &one.muscle).collect();
                assert_eq!(beside.len(), if *task == Task::Contrast { 2 } else { 0 });
                let beside = beside.into_iter().find(|other| *other != muscle);
                assert_eq!(beside, planned.beside.as_ref(), "{round}");
                (open, paused, clue, clues) = (Some(*round), false, 1, of_round.len());
            }
            Event::ClueShown { round, number } => {
                clue += 1;
                assert_eq!((open, paused, *number), (Some(*round), false, clue));
                assert!(usize::from(clue) <= clues, "more clues than there are");
            }
            Event::Answered(Answer { round, .. }) | Event::AskedAgain { round, .. } => {
                assert_eq!(open, Some(*round), "{logged:?}");
            }
            Event::RoundClosed { round, .. } => {
                assert_eq!(open.take(), Some(*round));
                (closed, paused) = (Some(*round), false);
            }
            Event::RoundSkipped { round } => {
                assert_eq!(open.take().or_else(|| closed.take()), Some(*round));
                paused = false;
            }
            Event::Revealed { round, .. } => assert_eq!(closed.take(), Some(*round)),
            Event::Paused {} => {
                assert!(!paused && opened > 0 && closed.is_none(), "paused at {number}");
                paused = true;
            }
            Event::Resumed {} => assert!(std::mem::take(&mut paused), "resumed without a pause"),
            Event::Ended { .. } => {
                assert_eq!((open, closed), (None, None), "ends over a round");
                ended = true;
            }
            Event::Seated { .. }
            | Event::Back { .. }
            | Event::Away { .. }
            | Event::Removed { .. }
            | Event::Stretched { .. }
            | Event::Renamed { .. }
            | Event::Voted { .. }
            | Event::Restarted {}
            | Event::Forgotten {} => {}
        }
    }
}

/// One answer of each student in each round, and every one that was received is kept, unless its
/// round was skipped.
fn check_answers(Run { room, received, .. }: &Run) {
    let mut kept: BTreeMap<(StudentId, RoundNo), AttemptId> = BTreeMap::new();
    for record in room.review.rounds() {
        kept.extend(attempts(record.round, &record.answers));
    }
    match room.review.phase() {
        Phase::Open(round) => kept.extend(attempts(round.round, &round.answers)),
        Phase::Closed(record) => kept.extend(attempts(record.round, &record.answers)),
        Phase::Gathering | Phase::Revealed | Phase::Skipped { .. } | Phase::Ended(_) => {}
    }
    let mut logged = BTreeMap::new();
    for answer in answers(&room.log) {
        let before = logged.insert((answer.student, answer.round), answer.attempt);
        assert_eq!(before, None, "answered twice: {answer:?}");
    }
    assert_eq!(logged.len(), received.len(), "received and logged");
    let skipped = skipped(&room.log);
    for (student, round, attempt) in received {
        let place = (*student, *round);
        assert_eq!(logged.get(&place), Some(attempt), "logged");
        let expected = (!skipped.contains(round)).then_some(attempt);
        assert_eq!(kept.get(&place), expected, "kept of round {round}");
    }
    let counted = logged.keys().filter(|(_, round)| !skipped.contains(round)).count();
    assert_eq!(kept.len(), counted, "kept and logged");
}

fn attempts(
    round: RoundNo,
    answers: &BTreeMap<StudentId, Answer>,
) -> impl Iterator<Item = ((StudentId, RoundNo), AttemptId)> {
    answers.values().map(move |answer| ((answer.student, round), answer.attempt))
}

/// Every seat's points are the sum over the revealed rounds of what the log says of its answers.
fn check_points(log: &[Logged], review: &Review) {
    let expected = recount(log, |answer| by_definition(review.settings().rule, answer));
    for (student, seat) in review.seats() {
        assert_eq!(seat.total.0, expected.get(student).copied().unwrap_or_default());
        let fair = review.settings().rule == ScoreRule::SpeedWeighted;
        assert!(!fair || seat.total.0 >= 0, "a negative total");
    }
}

fn recount(log: &[Logged], of: impl Fn(&Answer) -> i64) -> BTreeMap<StudentId, i64> {
    let revealed: BTreeSet<RoundNo> = log.iter().filter_map(revealed).collect();
    let mut sums = BTreeMap::new();
    for answer in answers(log).filter(|answer| revealed.contains(&answer.round)) {
        *sums.entry(answer.student).or_default() += of(answer);
    }
    sums
}

/// Hundredths of a point, written down once more from the definition.
fn by_definition(rule: ScoreRule, answer: &Answer) -> i64 {
    let c = answer.credit;
    let share = answer.limit_ms.map_or(0.0, |limit| answer.elapsed_ms as f64 / f64::from(limit));
    let share = share.min(1.0);
    let points = match rule {
        ScoreRule::SpeedWeighted => 100.0 * c * (1.0 - share / 2.0),
        ScoreRule::SignedResidualTime => 100.0 * (2.0 * c - 1.0) * (1.0 - share),
    };
    (points * 100.0).round() as i64
}

/// Everyone with a seat has a place: one more than there are students with more points. Those here
/// are counted as they come and go.
fn check_standings(review: &Review) {
    let rows = standings(review);
    assert_eq!(rows.len(), review.seats().len());
    assert_eq!(review.present(), review.seats().values().filter(|seat| seat.present).count());
    for row in &rows {
        let above = rows.iter().filter(|other| other.points > row.points).count();
        assert_eq!(row.place as usize, above + 1);
        assert_eq!(row.points, review.seats()[&row.student].total);
    }
    assert!(rows.is_sorted_by_key(|row| (row.place, row.student)));
}

fn answers(log: &[Logged]) -> impl Iterator<Item = &Answer> {
    log.iter().filter_map(|logged| {
        let Event::Answered(answer) = &logged.event else { return None };
        Some(answer)
    })
}

fn revealed(logged: &Logged) -> Option<RoundNo> {
    let Event::Revealed { round, .. } = &logged.event else { return None };
    Some(*round)
}

fn skipped(log: &[Logged]) -> BTreeSet<RoundNo> {
    let skipped = |logged: &Logged| {
        let Event::RoundSkipped { round } = &logged.event else { return None };
        Some(*round)
    };
    log.iter().filter_map(skipped).collect()
}

/// A round with the answers that arrive in it, in order.
#[derive(Debug, Clone)]
struct Arrivals {
    settings: Settings,
    times: Vec<TimeAllowance>,
    /// When, who and what.
    answers: Vec<(u64, usize, &'static str)>,
}

/// The same arrivals in two orders. Times stay in order, and so do the tries of one student, who
/// has one connection.
fn rounds_in_two_orders() -> impl Strategy<Value = (Arrivals, Arrivals)> {
    let pace = select(vec![Pace::Instructor, Pace::Automatic { reveal_ms: 2_500 }]);
    let rule = select(vec![ScoreRule::SpeedWeighted, ScoreRule::SignedResidualTime]);
    let stretched = TimeAllowance::Stretched { percent: 150 };
    let allowance = prop_oneof![
        6 => Just(TimeAllowance::Standard), 1 => Just(stretched), 1 => Just(TimeAllowance::Untimed),
    ];
    let when = select(vec![3_000_u64, 5_000, 8_000, 20_030, 20_200, 20_290, 30_100, 200_290]);
    let what = select(vec!["teres minor", "teres major", "deltoid", "teres", "teres minir"]);
    let answer = (when, 0..5_usize, what);
    let answers = prop::collection::vec(answer, 1..10);
    let order = Just((0..5_usize).collect::<Vec<_>>()).prop_shuffle();
    (pace, rule, prop::collection::vec(allowance, 5), answers, order).prop_map(
        |(pace, rule, times, mut answers, order)| {
            let settings = Settings { pace, rule, ..settings() };
            answers.sort_by_key(|(at, who, _)| (*at, *who));
            let one = Arrivals { settings: settings.clone(), times, answers };
            let mut other = one.clone();
            other.answers.sort_by_key(|(at, who, _)| (*at, order[*who]));
            (one, other)
        },
    )
}

fn answered_round(case: &Arrivals) -> Review {
    let mut room = Room::open(&FOUR, case.settings.clone(), plan(&["teres-minor"]));
    let who = |index: usize| student(char::from(b'a' + index as u8));
    for (index, time) in case.times.iter().enumerate() {
        room.tell(0, seat(who(index)));
        room.tell(0, say(Command::Stretch(who(index), *time)));
    }
    room.tell(0, say(Command::Start));
    let mut tries = BTreeMap::new();
    for (at, index, text) in &case.answers {
        let count: &mut usize = tries.entry(*index).or_default();
        *count += 1;
        let attempt = attempt(100 * index + *count);
        room.tell(*at, answering(who(*index), RoundNo(1), attempt, Millis(*at), text));
    }
    room.tell(300_000, say(Command::CloseRound));
    room.tell(300_000, say(Command::Reveal));
    assert_eq!(room.review.rounds().len(), 1);
    room.review
}

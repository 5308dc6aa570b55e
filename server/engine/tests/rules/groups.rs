//! Study groups: played from scripts, and laws over random plans of what members do.

#![expect(clippy::wildcard_enum_match_arm, reason = "a law names only the events that it is about")]

use std::collections::{BTreeMap, BTreeSet};

use myonym_engine::{Command, DESERTED_MS, Event, Input, Logged, Phase, Review, Settings, Wish};
use myonym_wire::{EndWhy, Millis, Motion, Pace, Seq, StudentId};
use proptest::prelude::*;
use proptest::sample::select;

use crate::room::{FOUR, Room, answering, attempt, plan, seat, settings, student};
use crate::script::check;
use crate::show::last_round;

#[test]
fn a_study_group() {
    check(
        "a_study_group",
        "plan teres-minor deltoid infraspinatus teres-major
         pace group 3000
         0 seat a
         0 a starts
         100 seat b
         200 seat c
         1000 a votes skip
         1100 b votes next
         1200 b votes skip
         2000 a answers deltoid
         2500 c votes pause
         2600 b votes pause
         2700 c votes pause
         2800 a votes pause
         5000 b votes resume
         5100 c votes resume
         6000 b answers deltoid
         6500 c answers deltoid
         7000 a votes next
         7100 a unvotes next
         7200 a votes next
         7300 c votes next
         8000 b takes 200
         9000 a votes end
         9100 b votes end",
    );
}

/// Votes of those who are not there do not count, and fewer may decide once others are gone.
#[test]
fn a_vote_is_carried_when_others_go() {
    check(
        "a_vote_is_carried_when_others_go",
        "pace group 3000
         0 seat a
         0 seat b
         0 seat c
         0 seat d
         0 b starts
         1000 a votes skip
         1000 b votes skip
         2000 b drops
         3000 c drops
         4000 b returns
         5000 a votes end
         6000 a leaves
         7000 c returns
         8000 remove b
         9000 c votes end",
    );
}

#[test]
fn a_study_group_that_is_deserted_ends_even_after_a_stop() {
    check(
        "a_study_group_that_is_deserted_ends_even_after_a_stop",
        "pace group 3000
         0 seat a
         0 seat b
         0 a starts
         1000 a votes end
         2000 restart
         3000 b returns
         4000 b votes pause
         5000 b drops
         604999 wait
         605000 wait",
    );
}

/// Elsewhere the instructor decides.
#[test]
fn a_class_does_not_vote() {
    check(
        "a_class_does_not_vote",
        "0 seat a
         0 a starts
         0 a votes end
         0 a takes 150
         0 start
         900000 wait",
    );
}

/// What a member does.
#[derive(Debug, Clone)]
enum Act {
    Seat,
    Drop,
    Leave,
    Back,
    Vote(Motion, bool),
    Start,
    Answer,
    Restart,
}

/// Each step: how long after the one before, which member, and what.
type Steps = Vec<(u64, usize, Act)>;

const MOTIONS: [Motion; 5] =
    [Motion::Skip, Motion::Pause, Motion::Resume, Motion::Next, Motion::End];

fn steps() -> impl Strategy<Value = Steps> {
    let after = prop_oneof![
        10 => Just(0_u64),
        20 => 1..2_000_u64,
        2 => 2_000..30_000_u64,
        1 => 100_000..900_000_u64,
    ];
    let act = prop_oneof![
        4 => Just(Act::Seat),
        6 => Just(Act::Drop),
        3 => Just(Act::Leave),
        8 => Just(Act::Back),
        // Most reviews have to get further than to their end.
        40 => (select(MOTIONS[..4].to_vec()), prop::bool::weighted(0.9))
            .prop_map(|(motion, yes)| Act::Vote(motion, yes)),
        4 => prop::bool::weighted(0.8).prop_map(|yes| Act::Vote(Motion::End, yes)),
        4 => Just(Act::Start),
        10 => Just(Act::Answer),
        2 => Just(Act::Restart),
    ];
    let first = vec![(0, 0, Act::Seat), (0, 0, Act::Seat), (0, 0, Act::Seat), (0, 0, Act::Start)];
    let steps = prop::collection::vec((after, 0..4_usize, act), 0..80);
    steps.prop_map(move |steps| first.clone().into_iter().chain(steps).collect())
}

/// A study group to which nobody but its members says anything.
fn run(steps: &Steps) -> Room {
    let settings = Settings { pace: Pace::Group { reveal_ms: 2_500 }, ..settings() };
    let muscles = ["teres-minor", "deltoid", "infraspinatus", "teres-major", "deltoid"];
    let mut room = Room::open(&FOUR, settings, plan(&muscles));
    let mut seated = Vec::new();
    for (number, (after, who, act)) in steps.iter().enumerate() {
        let at = room.now.plus(Millis(*after)).0;
        let member = seated.get(who % seated.len().max(1)).copied();
        let input = match (act, member) {
            (Act::Seat, _) => {
                let new = student(('a'..='z').cycle().nth(seated.len()).expect("a letter"));
                seated.push(new);
                seat(new)
            }
            (_, None) => continue,
            (Act::Restart, _) => {
                room.wait(at);
                room.restart();
                continue;
            }
            (Act::Drop, Some(student)) => Input::Away { student, left: false },
            (Act::Leave, Some(student)) => Input::Away { student, left: true },
            (Act::Back, Some(student)) => Input::Back(student),
            (Act::Vote(motion, yes), Some(student)) => {
                Input::Member { student, wish: Wish::Vote { motion: *motion, yes: *yes } }
            }
            (Act::Start, Some(student)) => Input::Member { student, wish: Wish::Start },
            (Act::Answer, Some(student)) => {
                let round = last_round(&room.log);
                let elapsed = room.review.elapsed(Millis(at));
                answering(student, round, attempt(number), elapsed, "teres minor")
            }
        };
        room.tell(at, input);
    }
    room
}

/// Who is there and who is for what, counted from the log by what the protocol says of votes.
#[derive(Debug, Default)]
struct Count {
    here: BTreeSet<StudentId>,
    votes: BTreeMap<Motion, BTreeSet<StudentId>>,
    empty_since: Millis,
}

impl Count {
    fn is_carried(&self, motion: Motion) -> bool {
        let votes = self.votes.get(&motion);
        let yes = votes.map_or(0, |voters| voters.intersection(&self.here).count());
        2 * yes > self.here.len()
    }

    fn add(&mut self, logged: &Logged) {
        let was_empty = self.here.is_empty();
        match &logged.event {
            Event::Seated { student, .. } | Event::Back { student } => {
                self.here.insert(*student);
            }
            Event::Away { student, left } => {
                self.here.remove(student);
                if *left {
                    self.votes.values_mut().for_each(|voters| _ = voters.remove(student));
                }
            }
            Event::Restarted {} => *self = Self { empty_since: logged.at, ..Self::default() },
            Event::Voted { student, motion, yes: true } => {
                self.votes.entry(*motion).or_default().insert(*student);
            }
            Event::Voted { student, motion, yes: false } => {
                self.votes.entry(*motion).or_default().remove(student);
            }
            Event::RoundOpened { .. }
            | Event::RoundClosed { .. }
            | Event::RoundSkipped { .. }
            | Event::Revealed { .. } => self.votes.retain(|motion, _| *motion == Motion::End),
            Event::Paused {} => _ = self.votes.remove(&Motion::Pause),
            Event::Resumed {} => _ = self.votes.remove(&Motion::Resume),
            _ => {}
        }
        if self.here.is_empty() && !was_empty {
            self.empty_since = logged.at;
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(192))]

    /// Nothing that is put to the vote happens unless more than half of those there are for it, and
    /// it ends by itself only when nobody has been there for ten minutes.
    #[test]
    fn a_minority_never_carries(steps in steps()) {
        let room = run(&steps);
        room.check_replay();
        let mut count = Count::default();
        let mut revealed = None;
        for logged in &room.log {
            let needs = match &logged.event {
                Event::RoundSkipped { .. } => Some(Motion::Skip),
                Event::Paused {} => Some(Motion::Pause),
                Event::Resumed {} => Some(Motion::Resume),
                Event::Ended { why: EndWhy::Instructor } => Some(Motion::End),
                // Before its time is over, a reveal gives way to a vote alone.
                Event::RoundOpened { .. } | Event::Ended { why: EndWhy::Finished } => {
                    let early = revealed.is_some_and(|since: Millis| logged.at.minus(since).0 < 2_500);
                    early.then_some(Motion::Next)
                }
                _ => None,
            };
            match logged.event {
                Event::Revealed { .. } | Event::Resumed {} if revealed.is_some() => {
                    revealed = Some(logged.at);
                }
                Event::Revealed { .. } => revealed = Some(logged.at),
                Event::RoundOpened { .. } => revealed = None,
                _ => {}
            }
            // Ending in an open round leaves it out.
            let ends = count.is_carried(Motion::End);
            let deserted = logged.at.minus(count.empty_since).0 >= DESERTED_MS && count.here.is_empty();
            if let Some(motion) = needs {
                let skipped_by_end = motion == Motion::Skip && (ends || deserted);
                prop_assert!(count.is_carried(motion) || skipped_by_end, "{:?}: {:?}", logged, count);
            }
            if let Event::Ended { why: EndWhy::Abandoned } = logged.event {
                prop_assert!(deserted, "{:?}: {:?}", logged, count);
            }
            count.add(logged);
        }
        // What a majority is for has happened.
        if !matches!(room.review.phase(), Phase::Ended(_)) {
            for motion in MOTIONS {
                prop_assert!(!count.is_carried(motion) || count.here.is_empty(), "{motion:?} stands");
            }
        }
    }

    /// A motion that is carried does what the instructor's command would have done.
    #[test]
    fn what_is_carried_is_what_the_command_does(steps in steps()) {
        let log = run(&steps).log;
        for (at, logged) in log.iter().enumerate() {
            let Event::Voted { motion, .. } = logged.event else { continue };
            let review = Review::replay(&log[..=at]).expect("a whole log");
            if !review.votes().iter().any(|vote| vote.motion == motion && vote.yes >= vote.needed) {
                continue;
            }
            let command = match motion {
                Motion::Skip => Command::Skip,
                Motion::Pause => Command::Pause,
                Motion::Resume => Command::Resume,
                Motion::Next => Command::Next,
                Motion::End => Command::End,
            };
            let commanded = review.decide(&FOUR, logged.at, Input::Command(command));
            prop_assert_eq!(commanded.reply, None);
            let follows: Vec<&Event> = log[at + 1..].iter().map(|logged| &logged.event).collect();
            for (follows, commanded) in follows.iter().zip(&commanded.events) {
                prop_assert_eq!(*follows, commanded);
            }
            prop_assert!(follows.len() >= commanded.events.len());
        }
    }

    /// Without its votes a log tells the same rounds and points.
    #[test]
    fn votes_never_change_points(steps in steps()) {
        let room = run(&steps);
        let kept = room.log.iter().filter(|logged| !matches!(logged.event, Event::Voted { .. }));
        let bare: Vec<Logged> = (1..)
            .zip(kept)
            .map(|(number, logged)| Logged { seq: Seq(number), ..logged.clone() })
            .collect();
        let review = Review::replay(&bare).expect("a whole log");
        prop_assert_eq!(review.rounds(), room.review.rounds());
        for (student, seat) in room.review.seats() {
            prop_assert_eq!(review.seats()[student].total, seat.total);
        }
    }
}

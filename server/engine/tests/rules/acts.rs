//! Random plans of inputs, as a host may hand them in: what each step does depends on where the
//! review stands, so that a plan can be shortened when it finds a fault.

use std::collections::BTreeMap;

use myonym_content::MuscleKey;
use myonym_engine::timing::Sight;
use myonym_engine::{Answering, Command, Input, Phase, Planned, Reply, Settings, Wish};
use myonym_wire::{
    AttemptId, Millis, Motion, Pace, RoundNo, ScoreRule, Spelling, StudentId, Task, TimeAllowance,
};
use proptest::prelude::*;
use proptest::sample::select;

use crate::room::{FOUR, Room, attempt, seat, settings, student};
use crate::show::last_round;

/// A review and what is done in it.
#[derive(Debug, Clone)]
pub(crate) struct Plan {
    pub(crate) settings: Settings,
    pub(crate) rounds: Vec<Planned>,
    pub(crate) steps: Vec<Step>,
}

/// One input.
#[derive(Debug, Clone)]
pub(crate) struct Step {
    /// Time since the step before, in milliseconds.
    after: u64,
    /// Whether the host is slow: what fell due in between has not happened yet.
    late: bool,
    act: Act,
}

#[derive(Debug, Clone)]
enum Act {
    Seat,
    Drop(usize),
    Leave(usize),
    Back(usize),
    Answer(usize, Try),
    /// The try before, once more.
    Repeat(usize),
    /// The command that moves the review on.
    MoveOn,
    Command(Command),
    Remove(usize),
    Stretch(usize, TimeAllowance),
    /// As a member of a study group.
    Wish(usize, Wish),
    /// What a host has chosen for the next round.
    Replan(Planned),
    Tick,
    Restart,
    Abandon,
}

#[derive(Debug, Clone)]
struct Try {
    /// `None` is the right name.
    typed: Option<&'static str>,
    /// How many rounds before the one opened last.
    rounds_ago: u16,
    /// How long the network took, how much of that the client adds to a lie, and what is known.
    network: u64,
    lie: u64,
    round_trip: Option<u64>,
    held: u64,
}

/// A review, driven by a plan, and who was told that an answer was received.
#[derive(Debug)]
pub(crate) struct Run {
    pub(crate) room: Room,
    pub(crate) received: Vec<(StudentId, RoundNo, AttemptId)>,
    /// Everyone who ever had a seat.
    seated: Vec<StudentId>,
    tries: BTreeMap<StudentId, Answering>,
    count: usize,
}

/// Does all that is planned.
pub(crate) fn run(plan_of: &Plan) -> Run {
    let (settings, rounds) = (plan_of.settings.clone(), plan_of.rounds.clone());
    let room = Room::open_with(&FOUR, settings, rounds);
    let (received, seated, tries) = (Vec::new(), Vec::new(), BTreeMap::new());
    let mut run = Run { room, received, seated, tries, count: 0 };
    plan_of.steps.iter().for_each(|step| run.step(step));
    run
}

impl Run {
    fn step(&mut self, step: &Step) {
        let at = self.room.now.plus(Millis(step.after)).0;
        if !step.late {
            self.room.wait(at);
        }
        if let Act::Restart = step.act {
            self.room.restart();
            return;
        }
        let Some(input) = self.input(&step.act, Millis(at)) else { return };
        let sender =
            if let Input::Answer(answering) = &input { Some(answering.student) } else { None };
        let reply = self.room.tell_late(at, input);
        if let (Some(Reply::Received { round, attempt }), Some(sender)) = (reply, sender) {
            self.received.push((sender, round, attempt));
        }
    }

    fn input(&mut self, act: &Act, now: Millis) -> Option<Input> {
        let who = |index: &usize| self.seated.get(index % self.seated.len().max(1)).copied();
        Some(match act {
            Act::Seat => {
                let letter = ('a'..='z').nth(self.seated.len())?;
                self.seated.push(student(letter));
                seat(student(letter))
            }
            Act::Drop(index) => Input::Away { student: who(index)?, left: false },
            Act::Leave(index) => Input::Away { student: who(index)?, left: true },
            Act::Back(index) => Input::Back(who(index)?),
            Act::Answer(index, how) => {
                let student = who(index)?;
                let answering = self.answering(student, how, now);
                self.tries.insert(student, answering.clone());
                Input::Answer(answering)
            }
            Act::Repeat(index) => Input::Answer(self.tries.get(&who(index)?)?.clone()),
            Act::MoveOn if self.room.review.is_paused() => Input::Command(Command::Resume),
            Act::MoveOn => Input::Command(match self.room.review.phase() {
                Phase::Gathering => Command::Start,
                Phase::Open(_) => Command::CloseRound,
                Phase::Closed(_) => Command::Reveal,
                Phase::Revealed | Phase::Skipped { .. } | Phase::Ended(_) => Command::Next,
            }),
            Act::Command(command) => Input::Command(*command),
            Act::Remove(index) => Input::Command(Command::Remove(who(index)?)),
            Act::Stretch(index, time) => Input::Command(Command::Stretch(who(index)?, *time)),
            Act::Wish(index, wish) => Input::Member { student: who(index)?, wish: *wish },
            Act::Replan(planned) => {
                Input::Replan { planned: planned.clone(), why: "chosen".to_owned() }
            }
            Act::Tick | Act::Restart => Input::Tick,
            Act::Abandon => Input::Abandon,
        })
    }

    fn answering(&mut self, student: StudentId, how: &Try, now: Millis) -> Answering {
        self.count += 1;
        let right = match self.room.review.phase() {
            Phase::Open(round) => round.name.clone(),
            Phase::Gathering
            | Phase::Closed(_)
            | Phase::Revealed
            | Phase::Skipped { .. }
            | Phase::Ended(_) => "deltoid".to_owned(),
        };
        let RoundNo(last) = last_round(&self.room.log);
        Answering {
            student,
            round: RoundNo(last.saturating_sub(how.rounds_ago)),
            attempt: attempt(self.count),
            text: how.typed.map_or(right, ToOwned::to_owned),
            claimed: self.room.review.elapsed(now).minus(Millis(how.network + how.lie)),
            sight: Sight { held: Millis(how.held), round_trip: how.round_trip.map(Millis) },
        }
    }
}

/// Plans of up to 60 steps with any settings.
pub(crate) fn plans() -> impl Strategy<Value = Plan> {
    let rule = select(vec![ScoreRule::SpeedWeighted, ScoreRule::SignedResidualTime]);
    let spelling = select(vec![Spelling::Tolerant, Spelling::Strict]);
    let automatic = |reveal_ms| Pace::Automatic { reveal_ms };
    let group = Pace::Group { reveal_ms: 2_500 };
    let pace =
        select(vec![Pace::Instructor, Pace::Instructor, automatic(0), automatic(2_500), group]);
    let limit = prop_oneof![Just(20_000), 1_000..30_000_u32];
    let settings = (rule, spelling, pace, limit, prop::bool::ANY).prop_map(
        |(rule, spelling, pace, ms, adaptive)| Settings {
            rule,
            spelling,
            pace,
            limit_ms: ms,
            adaptive,
            ..settings()
        },
    );
    let rounds = prop::collection::vec(rounds(), 1..7);
    (settings, rounds, prop::collection::vec(steps(), 0..60)).prop_map(|parts| {
        let (settings, rounds, steps) = parts;
        // A review without students and without a start is soon told.
        let first = [Act::Seat, Act::Seat, Act::Seat, Act::MoveOn];
        let first = first.map(|act| Step { after: 0, late: false, act });
        Plan { settings, rounds, steps: first.into_iter().chain(steps).collect() }
    })
}

/// Rounds of every kind that can be asked.
fn rounds() -> impl Strategy<Value = Planned> {
    let keys = ["deltoid", "infraspinatus", "teres-major", "teres-minor"];
    let tasks = select(vec![Task::Name, Task::Name, Task::Picture, Task::Movement, Task::Contrast]);
    (0..4_usize, 1..4_usize, tasks).prop_map(move |(at, further, task)| {
        let key = |at: usize| MuscleKey::new(keys[at % 4]);
        let beside = (task == Task::Contrast).then(|| key(at + further));
        Planned { muscle: key(at), task, beside }
    })
}

fn steps() -> impl Strategy<Value = Step> {
    let after = prop_oneof![
        20 => Just(0_u64),
        30 => 1..3_000_u64,
        4 => 3_000..30_000_u64,
        1 => 30_000..400_000_u64,
    ];
    (after, prop::bool::weighted(0.2), acts()).prop_map(|(after, late, act)| Step {
        after,
        late,
        act,
    })
}

fn acts() -> impl Strategy<Value = Act> {
    let who = || 0..5_usize;
    let stretched = |percent| TimeAllowance::Stretched { percent };
    let times = select(vec![
        TimeAllowance::Standard,
        TimeAllowance::Untimed,
        stretched(150),
        stretched(400),
        stretched(90),
    ]);
    let commands = select(vec![
        Command::Start,
        Command::Next,
        Command::CloseRound,
        Command::Reveal,
        Command::Skip,
        Command::Pause,
        Command::Pause,
        Command::Resume,
        Command::Resume,
    ]);
    prop_oneof![
        6 => Just(Act::Seat),
        12 => who().prop_map(Act::Drop),
        6 => who().prop_map(Act::Leave),
        20 => who().prop_map(Act::Back),
        160 => (who(), tries()).prop_map(|(who, how)| Act::Answer(who, how)),
        20 => who().prop_map(Act::Repeat),
        40 => Just(Act::MoveOn),
        30 => commands.prop_map(Act::Command),
        4 => who().prop_map(Act::Remove),
        8 => (who(), times).prop_map(|(who, time)| Act::Stretch(who, time)),
        30 => (who(), wishes()).prop_map(|(who, wish)| Act::Wish(who, wish)),
        12 => rounds().prop_map(Act::Replan),
        8 => Just(Act::Tick),
        6 => Just(Act::Restart),
        2 => prop_oneof![Just(Act::Command(Command::End)), Just(Act::Abandon)],
    ]
}

fn wishes() -> impl Strategy<Value = Wish> {
    let motions = vec![Motion::Skip, Motion::Pause, Motion::Resume, Motion::Next, Motion::End];
    let vote = (select(motions), prop::bool::weighted(0.9));
    prop_oneof![
        8 => vote.prop_map(|(motion, yes)| Wish::Vote { motion, yes }),
        1 => Just(Wish::Start),
        1 => Just(Wish::OwnTime(TimeAllowance::Untimed)),
    ]
}

fn tries() -> impl Strategy<Value = Try> {
    let typed = prop_oneof![
        3 => Just(None),
        4 => select(vec![
            "teres minor", "teres major", "deltoid", "gluteus maximus", "teres minir", "teres",
            "vastus", " ",
        ])
        .prop_map(Some),
    ];
    let ago = prop_oneof![9 => Just(0_u16), 1 => 1..3_u16];
    let lie = prop_oneof![4 => Just(0_u64), 1 => 0..30_000_u64];
    let round_trip = prop::option::of(0..400_u64);
    let held = prop_oneof![3 => Just(0_u64), 1 => 0..300_u64];
    (typed, ago, 0..300_u64, lie, round_trip, held).prop_map(
        |(typed, rounds_ago, network, lie, round_trip, held)| Try {
            typed,
            rounds_ago,
            network,
            lie,
            round_trip,
            held,
        },
    )
}

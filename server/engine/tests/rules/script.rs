//! Scripts: a review as a text of inputs, and what comes of it as another text.
//!
//! Before the first input may stand `plan teres-minor deltoid`, `limit 20000`, `rule signed`,
//! `spelling strict`, `pace automatic 3000`, `pace group 3000`, `adaptive`, `course one`, `tasks movement name`, the task
//! of each round, and `beside teres-major -`, the other muscle of each (or none). An input is a time in milliseconds
//! since the review opened and one of
//!
//! - `seat a`, `seat a unlisted`; `a drops` (the connection), `a leaves` (by choice), `a returns`;
//! - `a answers teres minor`: to the round opened last, honestly, over a network without delay;
//!   `a claims 10 teres minor` says that only 10 ms passed; `a answers round 1: deltoid`;
//!   `a repeats` sends the try before again;
//! - `start`, `next`, `close`, `reveal`, `skip`, `pause`, `resume`, `end`, `remove a`,
//!   `stretch a 150`, `untimed a`, `standard a`;
//! - `replan teres-minor`, `replan teres-minor contrast teres-major`: what the host has chosen;
//! - `a starts`, `a votes skip`, `a unvotes skip`, `a takes 200` (percent of the time), in a study
//!   group;
//! - `restart` (its time is not used: the review's time stood still), `abandon`, `wait`.

use std::collections::BTreeMap;

use myonym_content::{Course, MuscleKey};
use myonym_engine::{Answering, Command, Input, Planned, Settings, Wish};
use myonym_wire::{
    Millis, Motion, Pace, RoundNo, ScoreRule, Spelling, StudentId, Task, TimeAllowance,
};

use crate::room::{FOUR, ONE, Room, answering, attempt, plan, seat, settings, student};
use crate::show;

/// Runs a script and compares what happens with the snapshot of this name.
pub(crate) fn check(name: &str, script: &str) {
    let (room, text) = run(script);
    room.check_replay();
    compare(name, &text);
}

/// Compares a text with the snapshot of this name.
pub(crate) fn compare(name: &str, text: &str) {
    insta::with_settings!({ omit_expression => true, prepend_module_to_snapshot => false }, {
        insta::assert_snapshot!(name, text);
    });
}

/// Runs a script: the review, and what happened.
pub(crate) fn run(script: &str) -> (Room, String) {
    let lines: Vec<&str> = script.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
    let first = lines.iter().position(|line| line.starts_with(|c: char| c.is_ascii_digit()));
    let (head, inputs) = lines.split_at(first.expect("an input"));
    let mut script = Script { room: open(head), tries: BTreeMap::new(), count: 0 };
    let mut parts: Vec<String> = head.iter().map(|line| format!("{line}\n")).collect();
    parts.extend(inputs.iter().map(|line| format!("\n> {line}\n{}", script.step(line))));
    parts.push(format!("\n{}", show::results(&script.room.review)));
    (script.room, parts.concat())
}

struct Script {
    room: Room,
    /// The last try of each student.
    tries: BTreeMap<StudentId, Answering>,
    count: usize,
}

impl Script {
    fn step(&mut self, line: &str) -> String {
        let (at, words) = line.split_once(' ').expect("a time and an input");
        let at = at.parse().expect("a time");
        let before = self.room.log.len();
        let reply = if words == "restart" {
            self.room.restart();
            None
        } else {
            self.room.wait(at);
            let input = self.input(words);
            self.room.tell(at, input)
        };
        let events = self.room.log[before..].iter().map(show::event);
        let reply = reply.map(|reply| format!("    reply: {}\n", show::reply(&reply)));
        events.chain(reply).chain([show::phase(&self.room.review)]).collect()
    }

    fn input(&mut self, line: &str) -> Input {
        let words: Vec<&str> = line.split(' ').collect();
        let command = match words.as_slice() {
            ["seat", who] => return seat(letter(who)),
            ["seat", who, "unlisted"] => {
                return Input::Seat { student: letter(who), listed: false };
            }
            ["replan", muscle, rest @ ..] => {
                let planned = Planned {
                    muscle: MuscleKey::new(*muscle),
                    task: rest.first().map(|name| task(name)).unwrap_or_default(),
                    beside: rest.get(1).map(|other| MuscleKey::new(*other)),
                };
                return Input::Replan { planned, why: "missed before".to_owned() };
            }
            ["wait"] => return Input::Tick,
            ["abandon"] => return Input::Abandon,
            [who, "drops"] => return Input::Away { student: letter(who), left: false },
            [who, "leaves"] => return Input::Away { student: letter(who), left: true },
            [who, "returns"] => return Input::Back(letter(who)),
            [who, "starts"] => return member(who, Wish::Start),
            [who, "votes", on] => {
                return member(who, Wish::Vote { motion: motion(on), yes: true });
            }
            [who, "unvotes", on] => {
                return member(who, Wish::Vote { motion: motion(on), yes: false });
            }
            [who, "takes", percent] => {
                let percent = percent.parse().expect("a percentage");
                return member(who, Wish::OwnTime(TimeAllowance::Stretched { percent }));
            }
            [who, "repeats"] => return Input::Answer(self.tries[&letter(who)].clone()),
            [who, "answers" | "claims", ..] => {
                let rest = line.split_once(' ').map(|(_, rest)| rest).expect("words");
                return self.answer(letter(who), rest);
            }
            ["start"] => Command::Start,
            ["next"] => Command::Next,
            ["close"] => Command::CloseRound,
            ["reveal"] => Command::Reveal,
            ["skip"] => Command::Skip,
            ["pause"] => Command::Pause,
            ["resume"] => Command::Resume,
            ["end"] => Command::End,
            ["remove", who] => Command::Remove(letter(who)),
            ["untimed", who] => Command::Stretch(letter(who), TimeAllowance::Untimed),
            ["standard", who] => Command::Stretch(letter(who), TimeAllowance::Standard),
            ["stretch", who, percent] => {
                let percent = percent.parse().expect("a percentage");
                Command::Stretch(letter(who), TimeAllowance::Stretched { percent })
            }
            _ => panic!("not an input: {line}"),
        };
        Input::Command(command)
    }

    fn answer(&mut self, student: StudentId, words: &str) -> Input {
        let (how, rest) = words.split_once(' ').unwrap_or((words, ""));
        let mut elapsed = self.room.review.elapsed(self.room.now);
        let (mut round, mut text) = (show::last_round(&self.room.log), rest);
        if how == "claims" {
            let (claim, rest) = rest.split_once(' ').expect("a claim and a name");
            (elapsed, text) = (Millis(claim.parse().expect("a claim")), rest);
        } else if let Some((number, rest)) =
            rest.strip_prefix("round ").and_then(|rest| rest.split_once(": "))
        {
            (round, text) = (RoundNo(number.parse().expect("a round")), rest);
        }
        self.count += 1;
        let input = answering(student, round, attempt(self.count), elapsed, text);
        if let Input::Answer(answering) = &input {
            self.tries.insert(student, answering.clone());
        }
        input
    }
}

fn member(who: &str, wish: Wish) -> Input {
    Input::Member { student: letter(who), wish }
}

fn motion(name: &str) -> Motion {
    match name {
        "skip" => Motion::Skip,
        "pause" => Motion::Pause,
        "resume" => Motion::Resume,
        "next" => Motion::Next,
        "end" => Motion::End,
        _ => panic!("not a motion: {name}"),
    }
}

fn letter(who: &str) -> StudentId {
    student(who.chars().next().expect("a letter"))
}

fn open(head: &[&str]) -> Room {
    let mut course: &'static Course = &FOUR;
    let mut muscles = plan(&["teres-minor", "deltoid"]);
    let mut settings: Settings = settings();
    let mut tasks: Vec<Task> = Vec::new();
    let mut beside: Vec<Option<MuscleKey>> = Vec::new();
    for line in head {
        match line.split(' ').collect::<Vec<_>>().as_slice() {
            ["plan", keys @ ..] => muscles = plan(keys),
            ["course", "one"] => course = &ONE,
            ["tasks", named @ ..] => tasks = named.iter().map(|name| task(name)).collect(),
            ["beside", others @ ..] => {
                let key = |other: &&str| (*other != "-").then(|| MuscleKey::new(*other));
                beside = others.iter().map(key).collect();
            }
            ["adaptive"] => settings.adaptive = true,
            ["limit", ms] => settings.limit_ms = ms.parse().expect("a limit"),
            ["rule", "signed"] => settings.rule = ScoreRule::SignedResidualTime,
            ["spelling", "strict"] => settings.spelling = Spelling::Strict,
            ["pace", "automatic", ms] => {
                settings.pace = Pace::Automatic { reveal_ms: ms.parse().expect("a time") };
            }
            ["pace", "group", ms] => {
                settings.pace = Pace::Group { reveal_ms: ms.parse().expect("a time") };
            }
            _ => panic!("not a setting: {line}"),
        }
    }
    let planned = |(at, muscle)| Planned {
        muscle,
        task: tasks.get(at).copied().unwrap_or_default(),
        beside: beside.get(at).cloned().flatten(),
    };
    let plan = muscles.into_iter().enumerate().map(planned).collect();
    Room::open_with(course, settings, plan)
}

fn task(name: &str) -> Task {
    match name {
        "name" => Task::Name,
        "picture" => Task::Picture,
        "movement" => Task::Movement,
        "contrast" => Task::Contrast,
        _ => panic!("not a task: {name}"),
    }
}

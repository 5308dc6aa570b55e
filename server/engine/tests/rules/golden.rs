//! The form of the log is stable: one written in the past is still read, and tells the same review.
//!
//! The logs in `tests/golden/` were written by the scripts below when the form had the number that
//! stands beside them. They are never written anew, whatever becomes of content and rules.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use myonym_engine::score::credit;
use myonym_engine::{Answer, Event, Logged, Review, SCHEMA};
use myonym_wire::{RoundNo, Seq, Task};
use proptest::prelude::*;
use serde_json::Value;

use crate::room::{FOUR, Room, parse, plan, settings};
use crate::{script, show};

const LOG: &str = include_str!("../golden/log.jsonl");
const STRICT_LOG: &str = include_str!("../golden/strict.jsonl");
const TASKS_LOG: &str = include_str!("../golden/tasks.jsonl");
const PLANNED_LOG: &str = include_str!("../golden/planned.jsonl");
const GROUP_LOG: &str = include_str!("../golden/group.jsonl");
const LOGS: [&str; 5] = [LOG, STRICT_LOG, TASKS_LOG, PLANNED_LOG, GROUP_LOG];

const SCRIPT: &str = "
    plan teres-minor deltoid infraspinatus teres-major
    0 seat a
    10 seat b
    20 seat c unlisted
    30 seat d
    40 stretch b 150
    50 untimed c
    1000 start
    3000 a answers vastus
    4000 a answers teres
    5000 a answers teres minir
    6500 b answers teres major
    7000 pause
    17000 resume
    19000 c answers infraspinatus
    20000 d drops
    45000 d returns
    46000 reveal
    50000 next
    51000 remove d
    52000 a answers deltoid
    52500 skip
    53000 next
    54000 a answers infraspinatus
    54500 b answers teres minor
    55000 c answers teres minor
    56000 reveal
    57000 next
    58000 c leaves
    59000 b answers gluteus maximus
    59999 restart
    60000 a returns
    61000 close
    62000 end";

const STRICT_SCRIPT: &str = "
    plan teres-minor deltoid
    spelling strict
    rule signed
    pace automatic 2000
    0 seat a
    0 seat b
    0 stretch a 200
    0 standard a
    1000 start
    2000 a answers vastus
    3000 b answers teres minir
    9000 a answers deltoid
    10000 b drops
    50000 abandon";

const TASKS_SCRIPT: &str = "
    plan teres-minor deltoid infraspinatus
    tasks movement picture name
    0 seat a
    10 seat b
    20 seat c
    1000 start
    2000 a answers rotation of the arm
    3000 a answers external rotation of the arm
    4000 b answers flexion
    5000 c answers aduction
    5500 c answers adducton
    6000 reveal
    7000 next
    8000 a answers deltoid
    9000 b answers teres major
    10000 close
    11000 reveal
    12000 next
    13000 a answers infraspinatus
    14000 end";

const PLANNED_SCRIPT: &str = "
    plan teres-minor deltoid infraspinatus
    tasks contrast
    beside teres-major - -
    adaptive
    0 seat a
    10 seat b
    1000 start
    2000 a answers vastus
    3000 a answers teres major
    4000 b answers teres minor
    5000 reveal
    5500 replan infraspinatus contrast teres-minor
    6000 next
    7000 a answers infraspinatus
    8000 close
    9000 reveal
    9500 replan teres-major
    10000 next
    11000 b answers teres major
    12000 end";

const GROUP_SCRIPT: &str = "
    plan teres-minor deltoid infraspinatus
    pace group 3000
    0 seat a
    10 seat b
    1000 a starts
    2000 a votes skip
    2500 a unvotes skip
    2600 a votes skip
    3000 b votes skip
    4000 b votes pause
    4100 a votes pause
    9000 a votes resume
    9100 b votes resume
    10000 a answers deltoid
    11000 b answers teres minor
    12000 b votes next
    12100 b leaves
    13000 a takes 200
    14000 a drops";

/// Name of the file, form in which it was written, and script.
const WRITTEN: [(&str, u16, &str); 5] = [
    ("log", 1, SCRIPT),
    ("strict", 1, STRICT_SCRIPT),
    ("tasks", 2, TASKS_SCRIPT),
    ("planned", 3, PLANNED_SCRIPT),
    ("group", 3, GROUP_SCRIPT),
];

#[test]
fn an_old_log_tells_the_same_review() {
    let check = |name, log: &str| {
        let log = read(log);
        let review = Review::replay(&log).expect("a whole log");
        script::compare(name, &summary(&review, &log));
    };
    check("an_old_log", LOG);
    check("an_old_log_in_strict_spelling", STRICT_LOG);
    check("an_old_log_of_all_tasks", TASKS_LOG);
    check("an_old_log_of_an_adaptive_review", PLANNED_LOG);
    check("an_old_log_of_a_study_group", GROUP_LOG);
}

/// A field may be added with a default; none may go, change its name or its value.
#[test]
fn an_old_log_keeps_its_fields() {
    for line in LOGS.iter().flat_map(|log| log.lines()) {
        let logged = parse(line);
        let old: Value = serde_json::from_str(line).expect("JSON");
        let new = serde_json::to_value(&logged).expect("JSON");
        assert!(keeps(&old, &new), "was {old}\nis  {new}");
    }
}

#[test]
fn the_old_log_holds_every_kind_of_event() {
    let kinds: BTreeSet<String> = LOG
        .lines()
        .map(|line| serde_json::from_str::<Value>(line).expect("JSON")["event"]["kind"].clone())
        .map(|kind| kind.as_str().expect("a kind").to_owned())
        .collect();
    let expected = [
        "answered",
        "asked_again",
        "away",
        "back",
        "clue_shown",
        "ended",
        "opened",
        "paused",
        "removed",
        "restarted",
        "resumed",
        "revealed",
        "round_closed",
        "round_opened",
        "round_skipped",
        "seated",
        "stretched",
    ];
    assert_eq!(kinds.iter().map(String::as_str).collect::<Vec<_>>(), expected);
}

#[test]
fn a_log_says_in_which_form_it_is_and_a_later_one_is_refused() {
    for ((name, form, _), log) in WRITTEN.iter().zip(LOGS) {
        let mut first = read(log).remove(0);
        let Event::Opened { schema, .. } = &mut first.event else { panic!("{name}") };
        assert_eq!(schema, form, "{name}");
        *schema = SCHEMA + 1;
        assert_eq!(Review::first(&first), None, "{name}");
    }
}

/// A log of before there were tasks asks for names.
#[test]
fn a_log_of_the_first_form_asks_for_names() {
    let review = Review::replay(&read(LOG)).expect("a whole log");
    assert_eq!(review.tasks().into_iter().collect::<Vec<_>>(), [Task::Name]);
    assert!(review.rounds().iter().all(|record| record.task == Task::Name));
}

/// A log of before rounds could be planned asks for what was drawn, and is not adaptive.
#[test]
fn a_log_of_the_second_form_was_drawn() {
    let review = Review::replay(&read(TASKS_LOG)).expect("a whole log");
    assert!(!review.settings().adaptive);
    assert!(review.plan().iter().all(|planned| planned.beside.is_none()));
    assert!(review.rounds().iter().all(|record| record.offered.is_empty()));
    assert!((1..=3).all(|round| review.why(RoundNo(round)).is_none()));
}

#[test]
fn a_log_with_a_gap_or_without_its_start_is_refused() {
    let log = read(LOG);
    let check = |log: &[Logged]| assert_eq!(Review::replay(log), None);
    check(&[]);
    check(&log[1..]);
    check(&[log[0].clone(), log[2].clone()]);
    check(&[log[0].clone(), log[0].clone()]);
    check(&[Logged { seq: Seq(2), ..log[0].clone() }]);
    assert!(Review::replay(&log[..3]).is_some());
}

proptest! {
    /// Credit is read from the log to the last bit, or points could differ after a restart.
    #[test]
    fn credit_is_read_as_it_was_written(nearness in 0.0..1.0) {
        let old = read(LOG).into_iter().find_map(|logged| {
            let Event::Answered(answer) = logged.event else { return None };
            Some(answer)
        });
        let answer = Answer { credit: credit(false, nearness), ..old.expect("an answer") };
        let text = serde_json::to_string(&answer).expect("JSON");
        prop_assert_eq!(serde_json::from_str::<Answer>(&text).expect("an answer"), answer);
    }

    /// `apply` takes events in any order without a fault.
    #[test]
    fn no_order_of_events_is_a_fault(order in Just(read(LOG)).prop_shuffle()) {
        let mut room = Room::open(&FOUR, settings(), plan(&["deltoid"])).review;
        for (seq, mut logged) in (2..).zip(order) {
            logged.seq = Seq(seq);
            room.apply(&logged);
            prop_assert_eq!(room.seq(), logged.seq);
            let _ = room.next_wakeup();
        }
    }
}

/// Run once per form of the log: `cargo test -p myonym-engine -- --ignored golden`.
#[test]
#[ignore = "writes the golden logs of the form at hand"]
fn write_the_golden_logs() {
    for (name, _, script) in WRITTEN.into_iter().filter(|(_, form, _)| *form == SCHEMA) {
        let (room, _) = script::run(script);
        let path = format!("{}/tests/golden/{name}.jsonl", env!("CARGO_MANIFEST_DIR"));
        std::fs::write(path, room.lines().join("\n") + "\n").expect("a file");
    }
}

fn read(log: &str) -> Vec<Logged> {
    log.lines().map(parse).collect()
}

fn summary(review: &Review, log: &[Logged]) -> String {
    let mut text = format!("{:?}\n{:?}\n", review.id(), review.settings());
    for (student, seat) in review.seats() {
        let _ = writeln!(text, "{} {seat:?}", show::name(*student));
    }
    for record in review.rounds() {
        let contrast = record.contrast.as_ref().map(|shown| &shown.contrast);
        let asks = if record.task == Task::Name { "" } else { "not for a name in words, " };
        let _ = writeln!(text, "round {}: {asks}{} {contrast:#?}", record.round, record.latin);
    }
    text += &show::phase(review);
    text += &show::results(review);
    text.extend(log.iter().map(show::event));
    text
}

/// Whether everything of the old value is in the new one.
fn keeps(old: &Value, new: &Value) -> bool {
    match (old, new) {
        (Value::Object(old), Value::Object(new)) => {
            old.iter().all(|(name, old)| new.get(name).is_some_and(|new| keeps(old, new)))
        }
        (Value::Array(old), Value::Array(new)) => {
            old.len() == new.len() && old.iter().zip(new).all(|(old, new)| keeps(old, new))
        }
        _ => old == new,
    }
}

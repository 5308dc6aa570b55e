//! Choosing one of two: what keys send, and what does not choose.

#![expect(clippy::wildcard_enum_match_arm, reason = "a test names only what it is about")]

use myonym_wire::*;
use uuid::Uuid;

use super::model::{Model, Own, Stage};
use super::*;
use crate::app::Msg;
use crate::keys::{Edit, Key};
use crate::samples::{self, Bench};

fn attempt(number: u128) -> AttemptId {
    AttemptId(Uuid::from_u128(number))
}

/// A round that offers teres major and teres minor, 5 s old.
fn of_two() -> Bench<Model> {
    opened(samples::contrast_opened(3))
}

fn opened(message: ToStudent) -> Bench<Model> {
    let options = PlayOptions {
        link: Some(samples::LINK.parse().unwrap()),
        name: Some("Ana".to_owned()),
        ..PlayOptions::default()
    };
    let mut bench = Bench::new(Model::start(options, Theme::with_colour(true), 0, None));
    bench.msg(Msg::Seat(None)).hear([samples::seated(None, Moment::Gathering {}), message]);
    bench.draw((80, 24));
    bench.wait(5_000).wanted();
    bench
}

fn sent(bench: &mut Bench<Model>) -> Vec<String> {
    let said = bench.wanted().into_iter().map(|cmd| match cmd {
        Cmd::Say(FromStudent::Answer { round: RoundNo(3), text, elapsed_ms: 5_000, .. }) => text,
        other => panic!("not an answer: {other:?}"),
    });
    said.collect()
}

#[test]
fn a_digit_a_mark_or_the_name_chooses() {
    let check = |keys: &str, text: &str| {
        let mut bench = of_two();
        bench.keys(keys);
        assert_eq!(sent(&mut bench), [text], "{keys}");
        // One answer a round.
        bench.keys("12\n↓\n");
        assert_eq!(sent(&mut bench), Vec::<String>::new(), "{keys}");
    };
    check("1", "teres major");
    check("2", "teres minor");
    check("↓\n", "teres major");
    check("↓↓↓\n", "teres minor");
    check("↓↓↑\n", "teres major");
    check("teres minor\n", "teres minor");
    // What is typed goes before what was marked, and a digit before either.
    check("↓Teres Minor\n", "Teres Minor");
    check("teres↓2", "teres minor");
}

#[test]
fn nothing_else_chooses() {
    let mut bench = of_two();
    bench.keys("03");
    bench.msg(Msg::Key(Key::Edit(Edit::Clear))).keys("\n↓↑\n");
    assert_eq!(sent(&mut bench), Vec::<String>::new());
    // Digits are text where there is nothing to choose.
    let mut bench = opened(samples::opened(3));
    bench.keys("2\n");
    assert_eq!(sent(&mut bench), ["2"]);
}

#[test]
fn another_name_is_asked_about_and_the_choice_stays() {
    let mut bench = of_two();
    bench.keys("vastus\n");
    assert_eq!(sent(&mut bench), ["vastus"]);
    let among = samples::two();
    bench.hear([ToStudent::WhichOne { round: RoundNo(3), attempt: attempt(1), among }]);
    assert!(bench.screen((60, 20)).contains("\"vastus\" is not clearly one of the two."));
    bench.keys("2");
    assert_eq!(sent(&mut bench), ["teres minor"]);
}

#[test]
fn a_pause_keeps_what_was_chosen_to_be_sent_with_enter() {
    let mut bench = of_two();
    bench.hear([ToStudent::Paused { seq: Seq(12), elapsed_ms: 5_000 }]).keys("2");
    assert_eq!(sent(&mut bench), Vec::<String>::new());
    assert!(bench.screen((80, 24)).contains("› 2  teres minor"));
    bench.hear([ToStudent::Resumed { seq: Seq(13), elapsed_ms: 5_000 }]).keys("\n");
    assert_eq!(sent(&mut bench), ["teres minor"]);
}

/// Who comes back in mid-round, or behind its close, sees the two names again.
#[test]
fn a_return_shows_the_two_names() {
    let mut open = samples::open_moment(3, None);
    if let Moment::Open { task, offered, .. } = &mut open {
        (*task, *offered) = (Task::Contrast, samples::two());
    }
    let mut bench = opened(samples::seated(None, open));
    assert!(bench.screen((60, 20)).contains("1  teres major"));
    bench.keys("1");
    let Some(Stage::Round(screen)) = bench.app.sitting().map(|sitting| &sitting.stage) else {
        panic!("no round")
    };
    assert!(matches!(&screen.own, Own::Sent(attempt) if attempt.text == "teres major"));
    let closed = Moment::Closed {
        round: RoundNo(3),
        of: 12,
        task: Task::Contrast,
        offered: samples::two(),
        why: CloseWhy::TimeUp,
        clues: samples::clues(),
        given: None,
    };
    let mut bench = opened(samples::seated(None, closed));
    assert!(bench.screen((60, 20)).contains("Offered: teres major or teres minor."));
}

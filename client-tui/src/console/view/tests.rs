//! Every screen of the console as text, to be read by eye when it changes.

use myonym_wire::*;
use ratatui::style::Color;

use crate::Trust;
use crate::app::Msg;
use crate::console::model::Model;
use crate::console::{ConsoleOptions, ConsoleTask};
use crate::keys::Key;
use crate::net::{Closed, News};
use crate::samples::{self, Bench};
use crate::theme::Theme;

/// A code of the size that a link gives (29 dots and a margin of two), with made-up dots.
fn scan(link: &str) -> Vec<String> {
    assert!(link.starts_with("http://192.0.2.7:7645/?word="));
    vec!["█▀▄ ".repeat(8) + "█"; 17]
}

fn start(qr: Option<fn(&str) -> Vec<String>>) -> Bench<Model> {
    let options = ConsoleOptions {
        server: "127.0.0.1:7645".parse().unwrap(),
        task: ConsoleTask::Conduct { word: None, key: HostKey::from_bits(5) },
        qr,
        trust: Trust::default(),
        join_note: None,
        greeting: None,
        quit_note: "The review goes on in the server.".to_owned(),
        report_note: "myonym report gives the full report of this review.".to_owned(),
    };
    Bench::new(Model::start(options, Theme::with_colour(true)))
}

fn at(moment: Moment) -> Bench<Model> {
    let mut bench = start(Some(scan));
    bench.hear([samples::conducting(moment)]);
    bench
}

fn in_round() -> Bench<Model> {
    let mut bench = at(Moment::Gathering {});
    let clue = samples::clues().remove(0);
    let (seq, round) = (Seq(10), RoundNo(3));
    bench.hear([ToInstructor::RoundOpened {
        seq,
        round,
        of: 12,
        task: Task::Name,
        example: None,
        offered: Vec::new(),
        limit_ms: 45_000,
        clue_count: 4,
        clue,
    }]);
    bench.draw((80, 24));
    let clue = samples::clues().remove(1);
    bench.wait(9_000).hear([
        ToInstructor::Clue { seq, round, number: 2, clue },
        ToInstructor::Roll { rows: vec![RollRow { answered: true, ..samples::roll().remove(0) }] },
        ToInstructor::Tally {
            round,
            answered: 2,
            here: 3,
            spread: samples::spread(),
            asked_again: 1,
        },
    ]);
    bench.wait(9_500);
    bench
}

fn closed() -> Bench<Model> {
    let mut bench = in_round();
    bench.hear([ToInstructor::RoundClosed {
        seq: Seq(20),
        round: RoundNo(3),
        why: CloseWhy::AllAnswered,
        answered: 3,
        seated: 4,
    }]);
    bench
}

fn revealed() -> Bench<Model> {
    let mut bench = closed();
    let (seq, round) = (Seq(21), RoundNo(3));
    bench.hear([
        ToInstructor::Revealed { seq, round, reveal: Box::new(samples::reveal()) },
        ToInstructor::Standings { seq, rows: samples::standings(), of: 4 },
        ToInstructor::WeakSpots(samples::weak_spots()),
    ]);
    bench
}

/// What the class hears of a round that asks for something else, as the instructor hears it.
fn as_instructor(told: &ToStudent) -> ToInstructor {
    serde_json::from_value(serde_json::to_value(told).unwrap()).unwrap()
}

fn asked(opened: &ToStudent) -> Bench<Model> {
    let mut bench = at(Moment::Gathering {});
    bench.hear([as_instructor(opened)]).draw((80, 24));
    bench.wait(9_000);
    bench
}

fn reveal_of(reveal: Reveal) -> Bench<Model> {
    let mut bench = closed();
    let (seq, round) = (Seq(21), RoundNo(3));
    bench.hear([ToInstructor::Revealed { seq, round, reveal: Box::new(reveal) }]);
    bench
}

/// The same with what is planned of a round.
fn planned(round: u16, mut bench: Bench<Model>) -> Bench<Model> {
    bench.hear([ToInstructor::Coming(samples::coming(round))]);
    bench
}

fn task_screens() -> Vec<(&'static str, Bench<Model>)> {
    let mut in_words = asked(&samples::picture_opened(3));
    in_words.msg(Msg::Key(Key::Picture));
    vec![
        ("picture", asked(&samples::picture_opened(3))),
        ("picture-in-words", in_words),
        ("movement", asked(&samples::movement_opened(3))),
        ("movement-reveal", reveal_of(samples::movement_reveal())),
        ("contrast", asked(&samples::contrast_opened(3))),
        ("contrast-reveal", reveal_of(samples::contrast_reveal(7))),
        ("contrast-reveal-of-nobody", reveal_of(samples::contrast_reveal(0))),
        ("planned-gathering", planned(1, at(Moment::Gathering {})).keys("\t\t").clone()),
        ("planned-gathering-shown", planned(1, at(Moment::Gathering {})).keys("\t\tv").clone()),
        ("planned-round-shown", planned(3, in_round()).keys("v").wait(11_000).clone()),
        ("planned-reveal", planned(4, revealed())),
        ("planned-reveal-shown", planned(4, revealed()).keys("v").wait(11_000).clone()),
        ("pictured-reveal", reveal_of(samples::pictured_reveal())),
    ]
}

fn ended() -> Bench<Model> {
    let mut bench = revealed();
    bench.hear([
        ToInstructor::Ended { seq: Seq(30), why: EndWhy::Instructor },
        ToInstructor::WeakSpots(samples::weak_spots()),
    ]);
    bench
}

/// Every screen, with a name for its file.
fn screens() -> Vec<(&'static str, Bench<Model>)> {
    let gathering = || samples::conducting(Moment::Gathering {});
    let refusal = Closed::Refused {
        code: ErrorCode::NotAllowed,
        message: "This key is not known here.".to_owned(),
    };
    let trouble = ToInstructor::Trouble { trouble: Trouble::CannotSave };
    let paused = ToInstructor::Paused { seq: Seq(12), elapsed_ms: 18_500 };
    let skipped = ToInstructor::RoundSkipped { seq: Seq(14), round: RoundNo(3) };
    // From the round, the roll is the pane before.
    let roll = || in_round().msg(Msg::Key(Key::Before)).clone();
    let mut all = task_screens();
    all.extend([
        ("connecting", start(None)),
        ("refused", start(None).msg(Msg::News(News::Closed(refusal))).clone()),
        ("join", at(Moment::Gathering {})),
        ("join-no-code", start(None).hear([gathering()]).clone()),
        ("gathering-round", at(Moment::Gathering {}).keys("\t\t").clone()),
        ("round", in_round()),
        ("round-paused", in_round().hear([paused]).clone()),
        ("round-private", in_round().keys("v").wait(11_000).clone()),
        ("round-reconnecting", in_round().lose().clone()),
        ("round-cannot-save", in_round().hear([trouble]).clone()),
        ("roll", roll().keys("↓↓").clone()),
        ("roll-remove", roll().keys("↓r").clone()),
        ("weak-empty", in_round().keys("\t").clone()),
        ("closed", closed()),
        ("reveal", revealed()),
        ("weak", revealed().keys("\t").clone()),
        ("skipped", in_round().hear([skipped]).clone()),
        ("quit", in_round().keys("q").clone()),
        ("help", in_round().keys("?").clone()),
        ("ended", ended()),
    ]);
    all
}

#[test]
fn every_screen_is_as_it_was_looked_at() {
    for (name, mut bench) in screens() {
        insta::assert_snapshot!(format!("{name}-80x24"), bench.screen((80, 24)));
        insta::assert_snapshot!(format!("{name}-60x20"), bench.screen((60, 20)));
    }
}

#[test]
fn a_large_window_shows_several_panes() {
    for (name, mut bench) in [
        ("join", at(Moment::Gathering {})),
        ("round", in_round()),
        ("reveal", revealed()),
        ("ended", ended()),
    ]
    .into_iter()
    .chain(task_screens())
    {
        insta::assert_snapshot!(format!("{name}-120x40"), bench.screen((120, 40)));
    }
}

#[test]
fn no_screen_uses_a_colour_where_none_is_wanted() {
    for (name, mut bench) in screens() {
        bench.app.theme = Theme::with_colour(false);
        let screen = bench.draw((120, 40));
        let plain = |colour: Color| colour == Color::Reset;
        let is_plain = screen.content.iter().all(|cell| plain(cell.fg) && plain(cell.bg));
        assert!(is_plain, "{name}");
    }
}

#[test]
fn no_size_of_window_breaks_a_screen() {
    for (_, mut bench) in screens() {
        for size in [(1, 1), (60, 20), (61, 200), (300, 20), (108, 30), (20, 90)] {
            bench.draw(size);
        }
    }
}

#[test]
fn a_roll_of_hundreds_is_moved_through() {
    let mut bench = at(Moment::Gathering {});
    let rows = (0..300_u128).map(|number| RollRow {
        student: StudentId(uuid::Uuid::from_u128(1_000 + number)),
        name: format!("Student {number:03}"),
        present: true,
        answered: false,
        time: TimeAllowance::Standard,
    });
    bench.hear([ToInstructor::Roll { rows: rows.collect() }]).keys("\t");
    bench.keys(&"↓".repeat(250));
    let screen = bench.screen((80, 24));
    // Four more students, whose names come before and after, are on the roll.
    assert!(screen.contains("Student 246"), "{screen}");
    assert!(screen.contains("303 here, 1 away"), "{screen}");
}

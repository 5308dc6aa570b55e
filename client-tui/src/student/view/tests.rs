//! Every screen of a student as text, at both sizes, to be read by eye when it changes.

use myonym_wire::*;
use ratatui::style::Color;
use uuid::Uuid;

use crate::app::Msg;
use crate::keys::{Ballot, Key};
use crate::net::{Closed, News};
use crate::samples::{self, Bench};
use crate::seat_file::KeptSeat;
use crate::student::PlayOptions;
use crate::student::model::Model;
use crate::theme::Theme;

fn started(colour: bool) -> Bench<Model> {
    let options = PlayOptions {
        link: samples::LINK.parse().ok(),
        name: Some("Ana".to_owned()),
        ..PlayOptions::default()
    };
    Bench::new(Model::start(options, Theme::with_colour(colour), 0, None))
}

fn seated_at(moment: Moment) -> Bench<Model> {
    let mut bench = started(true);
    bench.msg(Msg::Seat(None)).hear([samples::seated(None, moment)]);
    bench
}

fn in_round() -> Bench<Model> {
    let mut bench = seated_at(Moment::Gathering {});
    bench.hear([samples::opened(3)]).draw((80, 24));
    bench.wait(9_000).hear([samples::clue_shown(3, 2)]).wait(9_500);
    bench
}

fn asked(opened: ToStudent) -> Bench<Model> {
    let mut bench = seated_at(Moment::Gathering {});
    bench.hear([opened]).draw((80, 24));
    bench.wait(9_000);
    bench
}

fn revealed() -> Bench<Model> {
    reveal_of(samples::reveal())
}

fn reveal_of(reveal: Reveal) -> Bench<Model> {
    let mut bench = in_round();
    let reveal = Box::new(reveal);
    bench.hear([
        closed(CloseWhy::Instructor),
        ToStudent::Revealed { seq: Seq(21), round: RoundNo(3), reveal },
        ToStudent::Result(samples::own_result()),
        ToStudent::Standings { seq: Seq(21), rows: samples::standings(), of: 24 },
    ]);
    bench
}

fn ended() -> Bench<Model> {
    let mut bench = revealed();
    bench.hear([
        ToStudent::Ended { seq: Seq(30), why: EndWhy::Finished },
        ToStudent::Summary(samples::summary()),
    ]);
    bench
}

/// The id of the `number`th attempt of a bench.
fn attempt(number: u128) -> AttemptId {
    AttemptId(Uuid::from_u128(number))
}

fn received(number: u128) -> ToStudent {
    ToStudent::Received { round: RoundNo(3), attempt: attempt(number) }
}

type Screens = Vec<(&'static str, Bench<Model>)>;

/// Every screen, with a name for its file.
fn screens() -> Screens {
    let mut all = still_screens();
    all.extend(round_screens());
    all.extend(task_screens());
    all.extend(contrast_screens());
    all.extend(group_screens());
    all
}

/// Study groups.
fn group_screens() -> Screens {
    let in_group = |moment| {
        let mut bench = started(true);
        bench.msg(Msg::Seat(None)).hear([samples::seated_in_group(None, moment)]);
        bench
    };
    let round = || {
        let mut bench = in_group(Moment::Gathering {});
        bench.hear([samples::opened(3)]).draw((80, 24));
        bench
    };
    let row = |motion, yes| VoteRow { motion, yes, needed: 2 };
    let votes = |rows: Vec<VoteRow>| ToStudent::Votes { rows };
    let skip = Msg::Key(Key::Ballot(Ballot::Skip));
    let options = PlayOptions { gather: Some(ReviewSettings::default()), ..PlayOptions::default() };
    let form = Bench::new(Model::start(options, Theme::with_colour(true), 0, None));
    let mut voting = round();
    voting.msg(skip).hear([votes(vec![row(Motion::Skip, 1), row(Motion::End, 1)])]);
    let paused = ToStudent::Paused { seq: Seq(12), elapsed_ms: 18_500 };
    let skipped = ToStudent::RoundSkipped { seq: Seq(14), round: RoundNo(3) };
    let mut revealed = round();
    let reveal = Box::new(samples::reveal());
    revealed.hear([
        closed(CloseWhy::AllAnswered),
        ToStudent::Revealed { seq: Seq(21), round: RoundNo(3), reveal },
        votes(vec![row(Motion::Next, 1)]),
    ]);
    let mut over = round();
    over.hear([
        ToStudent::Ended { seq: Seq(30), why: EndWhy::Instructor },
        ToStudent::Summary(samples::summary()),
    ]);
    vec![
        ("group-form", form),
        ("group-gathering", in_group(Moment::Gathering {})),
        ("group-round", round()),
        ("group-voting", voting),
        ("group-paused", round().hear([paused]).wait(60_000).clone()),
        ("group-skipped", round().hear([skipped]).clone()),
        ("group-reveal", revealed),
        ("group-ended", over),
        ("group-help", round().keys("?").clone()),
    ]
}

/// Rounds that offer two muscles.
fn contrast_screens() -> Screens {
    let again =
        ToStudent::WhichOne { round: RoundNo(3), attempt: attempt(1), among: samples::two() };
    let recorded = ToStudent::Recorded { round: RoundNo(3), attempt: attempt(1) };
    let of_two = || asked(samples::contrast_opened(3));
    let time_up = || closed(CloseWhy::TimeUp);
    let mut chosen = of_two();
    chosen.keys("2").hear([received(1), recorded]);
    vec![
        ("contrast", of_two()),
        ("contrast-marked", of_two().keys("↓↓").clone()),
        ("contrast-neither", of_two().keys("vastus\n").hear([again]).clone()),
        ("contrast-closed", chosen.clone().hear([time_up()]).clone()),
        ("contrast-chosen", chosen),
        ("contrast-reveal", reveal_of(samples::contrast_reveal(7))),
        ("contrast-reveal-of-nobody", reveal_of(samples::contrast_reveal(0))),
    ]
}

/// Rounds that ask for something else than a name from clues.
fn task_screens() -> Screens {
    let (picture, movement) = (samples::picture_opened(3), samples::movement_opened(3));
    let which = ToStudent::WhichOne {
        round: RoundNo(3),
        attempt: attempt(1),
        among: vec!["lateral rotation of the arm".into(), "medial rotation of the arm".into()],
    };
    let mut in_words = asked(picture.clone());
    in_words.msg(Msg::Key(Key::Picture));
    let mut told_in_words = reveal_of(samples::pictured_reveal());
    told_in_words.msg(Msg::Key(Key::Picture));
    let mut below = reveal_of(samples::pictured_reveal());
    below.draw((60, 20));
    let half = asked(movement.clone()).keys("rotation of the arm\n").hear([which]).clone();
    let closed_picture = asked(picture.clone()).hear([closed(CloseWhy::TimeUp)]).clone();
    vec![
        ("picture", asked(picture)),
        ("picture-in-words", in_words),
        ("picture-closed", closed_picture),
        ("movement", asked(movement)),
        ("movement-which-one", half),
        ("movement-reveal", reveal_of(samples::movement_reveal())),
        ("pictured-reveal", reveal_of(samples::pictured_reveal())),
        ("pictured-reveal-in-words", told_in_words),
        ("pictured-reveal-below", below.keys(&"↓".repeat(14)).clone()),
    ]
}

fn closed(why: CloseWhy) -> ToStudent {
    ToStudent::RoundClosed { seq: Seq(20), round: RoundNo(3), why, answered: 21, seated: 24 }
}

fn still_screens() -> Screens {
    let empty =
        || Bench::new(Model::start(PlayOptions::default(), Theme::with_colour(true), 0, None));
    let refusal =
        Closed::Refused { code: ErrorCode::RoomFull, message: "The room is full.".to_owned() };
    let closed = |closed| Msg::News(News::Closed(closed));
    let skipped = ToStudent::RoundSkipped { seq: Seq(14), round: RoundNo(3) };
    let kept = KeptSeat { name: "Ana".to_owned(), seat: SeatToken::from_bits(9) };
    let mut back = started(true);
    back.msg(Msg::Seat(Some(kept))).hear([samples::seated(None, Moment::Gathering {})]);
    let mut below = revealed();
    below.draw((80, 24));
    vec![
        ("form", empty()),
        ("form-fault", empty().keys("two words\n").clone()),
        ("connecting", started(true)),
        ("refused", started(true).msg(Msg::Seat(None)).msg(closed(refusal)).clone()),
        ("waiting", seated_at(Moment::Gathering {})),
        ("waiting-back", back),
        ("reveal", revealed()),
        ("standings", revealed().keys("\t").clone()),
        ("reveal-below", below.keys("↓↓↓↓↓").clone()),
        ("ended", ended()),
        ("skipped", in_round().hear([skipped]).clone()),
        ("removed", in_round().hear([ToStudent::Removed {}]).clone()),
        ("seat-taken", in_round().msg(closed(Closed::SeatTaken)).clone()),
    ]
}

fn round_screens() -> Screens {
    let (no, id) = (RoundNo(3), attempt(1));
    let names = |names: [&str; 2]| names.map(str::to_owned).to_vec();
    let which = ToStudent::WhichOne {
        round: no,
        attempt: id,
        among: names(["teres major", "teres minor"]),
    };
    let unknown = ToStudent::UnknownName {
        round: no,
        attempt: id,
        nearest: names(["supraspinatus", "infraspinatus"]),
    };
    let recorded = ToStudent::Recorded { round: no, attempt: id };
    let heard = |typed: &str, heard: &[ToStudent], then: &str| {
        in_round().keys(typed).hear(heard.to_vec()).keys(then).clone()
    };
    let timed = |time| {
        let mut bench = seated_at(Moment::Gathering {});
        bench.hear([ToStudent::TimeChanged { time }, samples::opened(3)]);
        bench.draw((80, 24));
        bench.wait(30_000).clone()
    };
    let paused = ToStudent::Paused { seq: Seq(12), elapsed_ms: 18_500 };
    let trouble = ToStudent::Trouble { trouble: Trouble::CannotSave };
    let right = "teres minor\n";
    vec![
        ("round", in_round()),
        ("round-which-one", heard("teres\n", &[which], "↓↓")),
        ("round-unknown-name", heard("spinatus\n", &[unknown], "")),
        ("round-received", heard(right, &[received(1)], "")),
        ("round-recorded", heard(right, &[received(1), recorded], "")),
        ("closed", heard(right, &[received(1), closed(CloseWhy::TimeUp)], "")),
        ("round-paused", in_round().hear([paused]).wait(60_000).clone()),
        ("round-cannot-save", heard("", &[trouble], "")),
        ("round-reconnecting", in_round().lose().keys(right).clone()),
        ("round-untimed", timed(TimeAllowance::Untimed)),
        ("round-stretched", timed(TimeAllowance::Stretched { percent: 150 })),
        ("help", heard("?", &[], "")),
        ("leaving", heard("\u{1b}", &[], "")),
    ]
}

#[test]
fn every_screen_is_as_it_was_looked_at() {
    for (name, mut bench) in screens() {
        insta::assert_snapshot!(format!("{name}-80x24"), bench.screen((80, 24)));
        insta::assert_snapshot!(format!("{name}-60x20"), bench.screen((60, 20)));
    }
    for (name, mut bench) in task_screens().into_iter().chain(contrast_screens()) {
        insta::assert_snapshot!(format!("{name}-120x40"), bench.screen((120, 40)));
    }
}

#[test]
fn a_large_window_has_the_standings_beside_the_answer() {
    insta::assert_snapshot!("reveal-120x40", revealed().screen((120, 40)));
    insta::assert_snapshot!("ended-120x40", ended().screen((120, 40)));
}

#[test]
fn a_window_that_is_too_small_says_so() {
    insta::assert_snapshot!("too-small-50x10", in_round().screen((50, 10)));
}

#[test]
fn every_screen_tells_of_a_lost_connection_and_keeps_the_rest() {
    let seated = ["waiting", "round", "closed", "reveal", "skipped", "standings", "help"];
    for (name, mut bench) in screens().into_iter().filter(|(name, _)| seated.contains(name)) {
        let before = bench.screen((80, 24));
        let lost = bench.lose().screen((80, 24));
        assert!(lost.contains("No connection"), "{name}:\n{lost}");
        // Everything but the rows that the notice takes is still there.
        let gone = before.lines().filter(|row| !lost.contains(*row)).count();
        assert!(gone <= 3, "{name}: {gone} rows gone\n{lost}");
    }
}

#[test]
fn no_screen_uses_a_colour_where_none_is_wanted() {
    for (name, mut bench) in screens() {
        bench.app.theme = Theme::with_colour(false);
        let screen = bench.draw((80, 24));
        let plain = |colour: Color| colour == Color::Reset;
        let is_plain = screen.content.iter().all(|cell| plain(cell.fg) && plain(cell.bg));
        assert!(is_plain, "{name}");
    }
}

#[test]
fn colour_never_says_what_words_do_not() {
    for (name, mut bench) in screens() {
        let with = bench.screen((80, 24));
        bench.app.theme = Theme::with_colour(false);
        assert_eq!(bench.screen((80, 24)), with, "{name}");
    }
}

#[test]
fn no_size_of_window_breaks_a_screen() {
    for (_, mut bench) in screens() {
        for size in [(1, 1), (60, 20), (61, 200), (300, 20), (110, 30), (20, 90)] {
            bench.draw(size);
        }
    }
}

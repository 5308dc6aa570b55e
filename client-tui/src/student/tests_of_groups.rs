//! Study groups: opening one, starting it, voting. No socket, no terminal, no clock.

use myonym_wire::*;

use super::model::{Model, Screen, Stop};
use super::*;
use crate::app::Msg;
use crate::keys::{Ballot, Key};
use crate::net::{Call, Closed, News};
use crate::samples::{self, Bench};
use crate::seat_file::{KeptSeat, SeatPlace};

fn settings() -> ReviewSettings {
    ReviewSettings { pace: Pace::Group { reveal_ms: 20_000 }, ..ReviewSettings::default() }
}

fn gathering(link: &str, name: Option<&str>) -> Bench<Model> {
    let options = PlayOptions {
        link: link.parse().ok(),
        name: name.map(str::to_owned),
        gather: Some(settings()),
        ..PlayOptions::default()
    };
    Bench::new(Model::start(options, Theme::with_colour(true), 0, None))
}

fn gather() -> Hello {
    let (settings, name) = (settings(), "Ana".to_owned());
    Hello::Gather { settings, name, listed: false, seat: None, person: None }
}

fn called(hello: Hello) -> Cmd<FromStudent> {
    let link = JoinLink { word: None, ..samples::LINK.parse().unwrap() };
    Cmd::Connect(Call { link, hello })
}

fn in_group(moment: Moment) -> Bench<Model> {
    let mut bench = gathering("192.0.2.7:7645", Some("Ana"));
    bench.hear([samples::seated_in_group(Some(SeatToken::from_bits(9)), moment)]);
    bench.wanted();
    bench
}

fn ballot(bench: &mut Bench<Model>, ballot: Ballot) -> Vec<Cmd<FromStudent>> {
    bench.msg(Msg::Key(Key::Ballot(ballot)));
    bench.wanted()
}

fn vote(motion: Motion, yes: bool) -> Vec<Cmd<FromStudent>> {
    vec![Cmd::Say(FromStudent::Vote { motion, yes })]
}

#[test]
fn a_group_is_opened_and_its_seat_is_kept_under_its_word() {
    let mut bench = gathering("192.0.2.7:7645", Some("Ana"));
    assert_eq!(bench.wanted(), [called(gather())]);
    let seat = SeatToken::from_bits(9);
    bench.hear([samples::seated_in_group(Some(seat.clone()), Moment::Gathering {})]);
    let place = SeatPlace {
        address: "192.0.2.7:7645".to_owned(),
        secure: false,
        word: samples::review().word,
        name: Some("Ana".to_owned()),
    };
    let kept = KeptSeat { name: "Ana".to_owned(), seat };
    assert_eq!(bench.wanted(), [Cmd::KeepSeat(place, kept)]);
    // From the form one comes back to it, and opens no other.
    assert!(!bench.app.form.gathers);
    assert_eq!(bench.app.form.word.text(), "radius-talus");
}

#[test]
fn what_is_missing_is_asked_for_without_a_word() {
    let mut bench = gathering("192.0.2.7:7645", None);
    assert_eq!(bench.wanted(), []);
    bench.keys("Ana\n\n");
    assert_eq!(bench.wanted(), [called(gather())]);
    // A link of another review does not make one join that.
    let mut bench = gathering(samples::LINK, None);
    bench.keys("Ana\n\n");
    assert_eq!(bench.wanted(), [called(gather())]);
}

#[test]
fn a_refusal_says_what_to_do() {
    let refused = |code, what: &str| {
        let mut bench = gathering("192.0.2.7:7645", Some("Ana"));
        let message = "not so".to_owned();
        bench.msg(Msg::News(News::Closed(Closed::Refused { code, message })));
        let Screen::Stopped(Stop::Refused { todo, .. }) = &bench.app.screen else {
            panic!("{:?}", bench.app.screen)
        };
        assert!(todo.contains(what), "{todo}");
    };
    refused(ErrorCode::BadField, "other options");
    refused(ErrorCode::SlowDown, "Wait a minute");
}

#[test]
fn a_key_starts_it_and_another_changes_ones_own_time() {
    let mut bench = in_group(Moment::Gathering {});
    bench.keys(" ");
    assert_eq!(bench.wanted(), [Cmd::Say(FromStudent::Start {})]);
    for (time, next) in [
        (TimeAllowance::Standard, TimeAllowance::Stretched { percent: 150 }),
        (TimeAllowance::Stretched { percent: 150 }, TimeAllowance::Stretched { percent: 200 }),
        (TimeAllowance::Stretched { percent: 200 }, TimeAllowance::Untimed),
        (TimeAllowance::Untimed, TimeAllowance::Standard),
    ] {
        bench.hear([ToStudent::TimeChanged { time }]).keys("t");
        assert_eq!(bench.wanted(), [Cmd::Say(FromStudent::OwnTime { time: next })]);
    }
}

#[test]
fn a_vote_is_given_and_taken_back_with_the_same_key() {
    let mut bench = in_group(Moment::Gathering {});
    bench.hear([samples::opened(3)]);
    assert_eq!(ballot(&mut bench, Ballot::Skip), vote(Motion::Skip, true));
    assert_eq!(ballot(&mut bench, Ballot::Skip), vote(Motion::Skip, false));
    assert_eq!(ballot(&mut bench, Ballot::Next), []);
    assert_eq!(ballot(&mut bench, Ballot::Time), vote(Motion::Pause, true));
    bench.hear([ToStudent::Paused { seq: Seq(11), elapsed_ms: 100 }]);
    assert_eq!(ballot(&mut bench, Ballot::Time), vote(Motion::Resume, true));
    bench.hear([ToStudent::Resumed { seq: Seq(12), elapsed_ms: 100 }]);
    assert_eq!(ballot(&mut bench, Ballot::Time), vote(Motion::Pause, true));
    assert_eq!(ballot(&mut bench, Ballot::End), vote(Motion::End, true));
    // Only the vote for the end outlasts the round.
    bench.hear([ToStudent::RoundSkipped { seq: Seq(13), round: RoundNo(3) }]);
    assert_eq!(ballot(&mut bench, Ballot::Skip), []);
    assert_eq!(ballot(&mut bench, Ballot::Time), vote(Motion::Pause, true));
    assert_eq!(ballot(&mut bench, Ballot::Next), vote(Motion::Next, true));
    assert_eq!(ballot(&mut bench, Ballot::End), vote(Motion::End, false));
}

/// A refusal does not say of what it is; beside an answer it would be taken for the answer's.
#[test]
fn no_vote_goes_out_beside_an_answer_or_without_a_connection() {
    let mut bench = in_group(Moment::Gathering {});
    bench.hear([samples::opened(3)]).draw((80, 24));
    bench.wait(3_000).keys("teres minor\n");
    bench.wanted();
    assert_eq!(ballot(&mut bench, Ballot::Skip), []);
    let mut bench = in_group(Moment::Gathering {});
    bench.lose();
    assert_eq!(ballot(&mut bench, Ballot::End), []);
    bench.hear([samples::seated_in_group(None, Moment::Gathering {})]);
    assert_eq!(ballot(&mut bench, Ballot::End), vote(Motion::End, true));
}

#[test]
fn in_a_class_these_keys_do_nothing() {
    let options = PlayOptions {
        link: samples::LINK.parse().ok(),
        name: Some("Ana".to_owned()),
        ..PlayOptions::default()
    };
    let mut bench = Bench::new(Model::start(options, Theme::with_colour(true), 0, None));
    bench.msg(Msg::Seat(None)).hear([samples::seated(None, Moment::Gathering {})]);
    bench.wanted();
    bench.keys(" t");
    assert_eq!(bench.wanted(), []);
    for key in [Ballot::Skip, Ballot::Time, Ballot::Next, Ballot::End] {
        assert_eq!(ballot(&mut bench, key), []);
    }
    assert!(!bench.screen((80, 24)).contains("Vote"));
}

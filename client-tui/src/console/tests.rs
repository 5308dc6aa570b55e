//! What keys and messages do at the desk, and which commands follow.

#![expect(clippy::wildcard_enum_match_arm, reason = "a test names only what it is about")]

use myonym_wire::*;
use proptest::prelude::*;
use uuid::Uuid;

use super::model::{Confirm, Model, Pane, Screen, Stage};
use super::*;
use crate::app::Msg;
use crate::keys::Key;
use crate::net::{Call, Closed, News};
use crate::samples::{self, Bench};

fn start() -> Bench<Model> {
    let options = ConsoleOptions {
        server: "127.0.0.1:7645".parse().unwrap(),
        task: ConsoleTask::Conduct { word: None, key: HostKey::from_bits(5) },
        qr: None,
        trust: Trust::default(),
        join_note: None,
        greeting: None,
        quit_note: "The server stops.".to_owned(),
        report_note: "myonym report gives the full report.".to_owned(),
    };
    Bench::new(Model::start(options, Theme::with_colour(true)))
}

fn at(moment: Moment, pace: Pace) -> Bench<Model> {
    let mut message = samples::conducting(moment);
    if let ToInstructor::Conducting { review, .. } = &mut message {
        review.pace = pace;
    }
    let mut bench = start();
    bench.hear([message]).wanted();
    // Space is not taken at once, see below.
    bench.wait(1_000);
    bench
}

fn gathering() -> Bench<Model> {
    at(Moment::Gathering {}, Pace::Instructor)
}

fn opened(round: u16) -> ToInstructor {
    ToInstructor::RoundOpened {
        seq: Seq(10),
        round: RoundNo(round),
        of: 12,
        task: Task::Name,
        example: None,
        offered: Vec::new(),
        limit_ms: 45_000,
        clue_count: 4,
        clue: samples::clues().remove(0),
    }
}

fn closed(round: u16) -> ToInstructor {
    ToInstructor::RoundClosed {
        seq: Seq(11),
        round: RoundNo(round),
        why: CloseWhy::TimeUp,
        answered: 3,
        seated: 4,
    }
}

fn revealed(round: u16) -> ToInstructor {
    let reveal = Box::new(samples::reveal());
    ToInstructor::Revealed { seq: Seq(12), round: RoundNo(round), reveal }
}

fn tally(round: u16, answered: u32) -> ToInstructor {
    ToInstructor::Tally {
        round: RoundNo(round),
        answered,
        here: 3,
        spread: samples::spread(),
        asked_again: 0,
    }
}

fn stage(bench: &Bench<Model>) -> &Stage {
    &bench.app.desk().expect("conducting").stage
}

/// What is planned stays off a screen that the class may see, and belongs to its round alone.
#[test]
fn what_is_planned_is_shown_where_the_class_does_not_look() {
    let why = "7 of 24 took it";
    let mut bench = gathering();
    bench.hear([ToInstructor::Coming(samples::coming(1))]).keys("\t\t");
    assert!(!bench.screen((80, 40)).contains(why));
    bench.keys("v");
    assert!(bench.screen((80, 40)).contains(why));
    bench.hear([opened(1)]);
    assert!(bench.screen((80, 40)).contains("Why this round"));
    bench.hear([closed(1), revealed(1)]);
    assert!(!bench.screen((80, 40)).contains(why));
    bench.hear([ToInstructor::Coming(samples::coming(2))]);
    assert!(bench.screen((80, 40)).contains("Next round"));
    // Another choice for the same round takes its place.
    let other = Coming { why: "never asked yet".to_owned(), ..samples::coming(2) };
    bench.hear([ToInstructor::Coming(other)]);
    let screen = bench.screen((80, 40));
    assert!(screen.contains("Never asked yet.") && !screen.contains(why), "{screen}");
    // A console that comes back is told again.
    let mut told = samples::conducting(samples::open_moment(3, None));
    if let ToInstructor::Conducting { coming, .. } = &mut told {
        *coming = Some(Box::new(samples::coming(3)));
    }
    bench.hear([told]);
    assert!(bench.screen((80, 40)).contains("Why this round"));
}

#[test]
fn a_start_conducts_or_opens() {
    let key = HostKey::from_bits(5);
    let check = |task: ConsoleTask, hello: Hello| {
        let server: JoinLink = "127.0.0.1:7645".parse().unwrap();
        let options = ConsoleOptions {
            server: server.clone(),
            task,
            qr: None,
            trust: Trust::default(),
            join_note: None,
            greeting: None,
            quit_note: String::new(),
            report_note: String::new(),
        };
        let (_, first) = Model::start(options, Theme::with_colour(true));
        assert_eq!(first, [Cmd::Connect(Call { link: server, hello })]);
    };
    let word: JoinWord = "radius-talus".parse().unwrap();
    check(
        ConsoleTask::Conduct { word: Some(word.clone()), key: key.clone() },
        Hello::Conduct { word: Some(word), key: key.clone() },
    );
    let settings = ReviewSettings::default();
    check(
        ConsoleTask::Open { key: key.clone(), settings: settings.clone() },
        Hello::Open { key, settings, plan: None, own_list: None },
    );
}

#[test]
fn space_is_the_next_step_and_the_line_says_it() {
    let check = |bench: &mut Bench<Model>, says: &str, want: Option<FromInstructor>| {
        let screen = bench.screen((80, 24));
        let line = screen.lines().find(|line| line.starts_with(" Next")).unwrap();
        assert!(line.contains(says), "{line:?} does not say {says:?}");
        bench.keys(" ");
        let want: Vec<_> = want.into_iter().map(Cmd::Say).collect();
        assert_eq!(bench.wanted(), want, "{says}");
    };
    for pace in [Pace::Instructor, Pace::Automatic { reveal_ms: 9_000 }] {
        let mut bench = at(Moment::Gathering {}, pace);
        check(&mut bench, "start with 3 students", Some(FromInstructor::Start {}));
        bench.hear([opened(1)]).wait(1_000);
        check(&mut bench, "0 of 3 answers", Some(FromInstructor::CloseRound {}));
        bench.hear([closed(1)]).wait(1_000);
        check(&mut bench, "show", Some(FromInstructor::Reveal {}));
        bench.hear([revealed(1)]).wait(1_000);
        check(&mut bench, "open round 2 of 12", Some(FromInstructor::Next {}));
        bench.hear([opened(12), closed(12), revealed(12)]).wait(1_000);
        check(&mut bench, "end the review", Some(FromInstructor::Next {}));
        bench.hear([ToInstructor::Ended { seq: Seq(9), why: EndWhy::Finished }]).wait(1_000);
        check(&mut bench, "q: leave", None);
    }
}

#[test]
fn nothing_begins_while_nobody_is_here() {
    let mut bench = gathering();
    let gone = samples::roll().into_iter().map(|row| RollRow { present: false, ..row });
    bench.hear([ToInstructor::Roll { rows: gone.collect() }]).keys(" ");
    assert_eq!(bench.wanted(), []);
    assert!(bench.screen((80, 24)).contains("nobody is here yet"));
}

#[test]
fn a_class_that_sees_the_console_learns_nothing_early_and_nothing_of_others() {
    let mut bench = gathering();
    let mut check = |heard: &[ToInstructor]| {
        bench.hear(heard.to_vec());
        for size in [(60, 20), (80, 24), (120, 40)] {
            let screen = bench.screen(size);
            // An answer with its verdict, names of the roll, and who has how much time.
            for secret in ["[x]", "[+]", "Ben", "Ana", "1.5x", "own time"] {
                assert!(!screen.contains(secret), "{secret}:\n{screen}");
            }
        }
    };
    check(&[]);
    check(&[opened(3), tally(3, 2)]);
    check(&[closed(3)]);
    let mut bench = gathering();
    bench.keys("v").hear([opened(3), tally(3, 2)]);
    let screen = bench.screen((120, 40));
    for told in ["[+] teres minor", "Ben", "1.5x", "2 students with own time"] {
        assert!(screen.contains(told), "{told}:\n{screen}");
    }
}

#[test]
fn a_console_that_comes_back_still_shows_what_was_answered() {
    let mut bench = gathering();
    bench.keys("v").hear([opened(3), tally(3, 2)]).lose();
    bench.hear([samples::conducting(samples::open_moment(3, None))]);
    let screen = bench.screen((80, 24));
    assert!(screen.contains("[x] teres major"), "{screen}");
    bench.hear([samples::conducting(samples::open_moment(4, None))]);
    let screen = bench.screen((80, 24));
    assert!(!screen.contains("[x] teres major"), "{screen}");
}

#[test]
fn answers_told_after_the_close_still_count() {
    let mut bench = gathering();
    bench.keys("v").hear([opened(3), tally(3, 1), closed(3), tally(3, 2), tally(4, 7)]);
    let Stage::Closed { tally, .. } = stage(&bench) else { panic!("not closed") };
    assert_eq!(tally.answered, 2);
}

#[test]
fn the_line_tells_when_everyone_has_answered() {
    let mut bench = gathering();
    bench.hear([opened(1), tally(1, 3)]);
    assert!(bench.screen((80, 24)).contains("everyone here has answered"));
}

#[test]
fn a_slip_of_the_finger_does_not_take_two_steps() {
    let mut bench = gathering();
    bench.keys("  ");
    assert_eq!(bench.wanted(), [Cmd::Say(FromInstructor::Start {})]);
    bench.hear([opened(1)]).keys("  ");
    assert_eq!(bench.wanted(), []);
    bench.wait(700).keys("  ");
    assert_eq!(bench.wanted(), [Cmd::Say(FromInstructor::CloseRound {})]);
    // A refusal lets the next press through.
    let error = ToInstructor::Error { code: ErrorCode::NotNow, message: "No.".to_owned() };
    bench.hear([error]).keys(" ");
    assert_eq!(bench.wanted(), [Cmd::Say(FromInstructor::CloseRound {})]);
}

#[test]
fn keys_do_what_the_help_says() {
    let check = |heard: &[ToInstructor], keys: &str, want: &[FromInstructor]| {
        let mut bench = gathering();
        bench.hear(heard.to_vec()).keys(keys);
        let want: Vec<_> = want.iter().cloned().map(Cmd::Say).collect();
        assert_eq!(bench.wanted(), want, "{keys:?}");
    };
    let paused = ToInstructor::Paused { seq: Seq(3), elapsed_ms: 1 };
    check(&[], "p", &[]);
    check(&[opened(1)], "p", &[FromInstructor::Pause {}]);
    check(&[opened(1), paused], "p", &[FromInstructor::Resume {}]);
    check(&[opened(1)], "k", &[]);
    check(&[opened(1)], "kk", &[FromInstructor::Skip {}]);
    check(&[opened(1)], "ky", &[FromInstructor::Skip {}]);
    check(&[opened(1)], "kn", &[]);
    check(&[opened(1), closed(1)], "ky", &[FromInstructor::Skip {}]);
    // Once revealed, a round counts.
    check(&[opened(1), closed(1), revealed(1)], "ky", &[]);
    check(&[opened(1)], "ey", &[FromInstructor::End {}]);
    check(&[opened(1)], "e\n", &[]);
    // Ana is the first of the roll by name.
    let student = StudentId(Uuid::from_u128(2));
    check(&[], "\t↓ry", &[FromInstructor::Remove { student }]);
    check(&[], "\t↓rx", &[]);
    check(&[], "\try", &[]);
}

#[test]
fn the_roll_is_found_before_it_is_acted_upon() {
    let mut bench = gathering();
    bench.keys("r");
    assert_eq!((bench.app.pane, &bench.app.confirm), (Pane::Roll, &None));
    bench.keys("↓r");
    assert!(matches!(bench.app.confirm, Some(Confirm::Remove { .. })));
}

#[test]
fn time_goes_through_all_allowances() {
    let mut bench = gathering();
    bench.keys("\t↓↓").keys("ttttttt");
    let times: Vec<_> = bench
        .wanted()
        .into_iter()
        .map(|cmd| match cmd {
            Cmd::Say(FromInstructor::Stretch { student, time }) => {
                assert_eq!(student, StudentId(Uuid::from_u128(1)));
                time
            }
            other => panic!("{other:?}"),
        })
        .collect();
    let stretched = |percent| TimeAllowance::Stretched { percent };
    let want = [
        stretched(150),
        stretched(200),
        stretched(300),
        stretched(500),
        stretched(1000),
        TimeAllowance::Untimed,
        TimeAllowance::Standard,
    ];
    assert_eq!(times, want);
    assert!(times.iter().all(|time| time.is_valid()));
}

#[test]
fn without_a_connection_nothing_is_sent() {
    let mut bench = gathering();
    bench.keys("\t↓").lose().keys(" pkeyrt");
    assert_eq!(bench.wanted(), []);
    // Asked before the loss, answered after it.
    let mut bench = gathering();
    bench.keys("e").lose().keys("y");
    assert_eq!(bench.wanted(), []);
    bench.hear([samples::conducting(Moment::Gathering {})]).wait(1_000).keys(" ");
    assert_eq!(bench.wanted(), [Cmd::Say(FromInstructor::Start {})]);
}

#[test]
fn leaving_tells_what_becomes_of_the_review() {
    let mut bench = gathering();
    bench.keys("q");
    assert!(bench.screen((80, 24)).contains("The server stops."));
    bench.keys("n");
    assert_eq!(bench.wanted(), []);
    bench.keys("qq");
    assert_eq!(bench.wanted(), [Cmd::Quit(Outcome::Left)]);
    bench.msg(Msg::Key(Key::Interrupt)).msg(Msg::Key(Key::Interrupt));
    assert_eq!(bench.wanted(), [Cmd::Quit(Outcome::Left)]);
    bench.hear([ToInstructor::Ended { seq: Seq(9), why: EndWhy::Finished }]).keys("q");
    assert_eq!(bench.wanted(), [Cmd::Quit(Outcome::Ended)]);
}

#[test]
fn the_end_shows_the_weak_spots_and_names_the_report() {
    let mut bench = gathering();
    bench.hear([
        opened(1),
        ToInstructor::Ended { seq: Seq(9), why: EndWhy::Instructor },
        ToInstructor::WeakSpots(samples::weak_spots()),
    ]);
    bench.msg(Msg::News(News::Closed(Closed::Over)));
    let screen = bench.screen((80, 24));
    assert!(screen.contains("teres minor → teres major"), "{screen}");
    assert!(screen.contains("myonym report"), "{screen}");
}

#[test]
fn a_refusal_is_shown_and_told_on_leaving() {
    let mut bench = start();
    bench.wanted();
    let message = "Wrong key.".to_owned();
    let closed = Closed::Refused { code: ErrorCode::NotAllowed, message: message.clone() };
    bench.msg(Msg::News(News::Closed(closed)));
    assert_eq!(bench.app.screen, Screen::Stopped(message.clone()));
    bench.keys("q");
    assert_eq!(bench.wanted(), [Cmd::Quit(Outcome::Refused(message))]);
}

#[test]
fn the_roll_follows_the_students() {
    let mut bench = gathering();
    let row = |answered| RollRow { answered, ..samples::roll().remove(0) };
    let answered = |bench: &Bench<Model>| bench.app.desk().unwrap().roll.answered();
    bench.hear([opened(1)]);
    assert_eq!(answered(&bench), 0);
    bench.hear([ToInstructor::Roll { rows: vec![row(true)] }]);
    assert_eq!(answered(&bench), 1);
    bench.hear([ToInstructor::Gone { student: row(true).student }]);
    assert_eq!(answered(&bench), 0);
    assert_eq!(bench.app.desk().unwrap().roll.rows().len(), 3);
}

#[test]
fn what_belongs_to_another_round_changes_nothing() {
    let mut bench = gathering();
    bench.hear([opened(2)]);
    let before = stage(&bench).clone();
    bench.hear([tally(1, 3), closed(1)]);
    assert_eq!(*stage(&bench), before);
}

/// Any message about a few rounds, so that they often meet.
fn any_heard() -> impl Strategy<Value = ToInstructor> {
    (1u16..4, 0u128..6, 0usize..17).prop_map(|(n, number, kind)| {
        let (seq, round) = (Seq(1), RoundNo(n));
        let student = StudentId(Uuid::from_u128(number));
        match kind {
            0 => samples::conducting(Moment::Gathering {}),
            1 => samples::conducting(samples::open_moment(n, None)),
            2 => samples::conducting(Moment::Skipped { round, of: 3 }),
            3 => opened(n),
            4 => {
                let clue = samples::clues().remove(1);
                ToInstructor::Clue { seq, round, number: 2, clue }
            }
            5 => ToInstructor::Paused { seq, elapsed_ms: 5 },
            6 => ToInstructor::Resumed { seq, elapsed_ms: 5 },
            7 => closed(n),
            8 => ToInstructor::RoundSkipped { seq, round },
            9 => revealed(n),
            10 => ToInstructor::Standings { seq, rows: samples::standings(), of: 3 },
            11 => ToInstructor::Ended { seq, why: EndWhy::Abandoned },
            12 => {
                ToInstructor::Roll { rows: vec![RollRow { student, ..samples::roll().remove(0) }] }
            }
            13 => ToInstructor::Gone { student },
            14 => tally(n, 2),
            15 => ToInstructor::WeakSpots(samples::weak_spots()),
            _ => ToInstructor::Error { code: ErrorCode::NotNow, message: "No.".to_owned() },
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn no_order_of_messages_and_keys_breaks_the_console(
        plan in prop::collection::vec(
            (any_heard(), "[ pkrtejvqyn?\t↓↑⇞\u{1b}]{0,3}", 0u64..2_000, 1u16..130, 1u16..45),
            0..30,
        ),
        lost_at in 0usize..40,
    ) {
        let mut bench = gathering();
        for (at, (message, keys, ms, width, height)) in plan.into_iter().enumerate() {
            bench.hear([message]).keys(&keys).wait(ms);
            if at == lost_at {
                bench.lose();
            }
            bench.draw((width, height));
        }
    }
}

//! What keys and messages do to a student's model, and which commands follow. No socket, no
//! terminal, no clock.

#![expect(clippy::wildcard_enum_match_arm, reason = "a test names only what it is about")]

use myonym_wire::*;
use proptest::prelude::*;
use uuid::Uuid;

use super::form::Field;
use super::model::{Model, Own, Screen, Stage, Stop};
use super::*;
use crate::app::Msg;
use crate::keys::Key;
use crate::net::{Call, Closed, News};
use crate::samples::{self, Bench};
use crate::seat_file::{KeptSeat, SeatPlace};

fn options(link: Option<&str>, name: Option<&str>) -> PlayOptions {
    PlayOptions {
        link: link.map(|link| link.parse().unwrap()),
        name: name.map(str::to_owned),
        ..PlayOptions::default()
    }
}

fn bench(options: PlayOptions) -> Bench<Model> {
    Bench::new(Model::start(options, Theme::with_colour(true), 0, None))
}

fn place() -> SeatPlace {
    let (address, word) = ("192.0.2.7:7645".to_owned(), "radius-talus".parse().unwrap());
    SeatPlace { address, secure: false, word, name: Some("Ana".to_owned()) }
}

fn token() -> SeatToken {
    SeatToken::from_bits(9)
}

fn kept(name: &str) -> KeptSeat {
    KeptSeat { name: name.to_owned(), seat: token() }
}

fn call(hello: Hello) -> Cmd<FromStudent> {
    let link = JoinLink { word: None, ..samples::LINK.parse().unwrap() };
    Cmd::Connect(Call { link, hello })
}

fn join(name: &str, listed: bool) -> Hello {
    samples::join(name, listed)
}

fn come_back() -> Hello {
    Hello::Return { word: place().word, seat: token() }
}

fn seated_at(moment: Moment) -> Bench<Model> {
    let mut bench = bench(options(Some(samples::LINK), Some("Ana")));
    bench.msg(Msg::Seat(None)).hear([samples::seated(None, moment)]);
    bench.wanted();
    bench
}

/// A round whose first clue came on the screen at 1,000 ms; it is 6,000 ms now.
fn in_round() -> Bench<Model> {
    let mut bench = seated_at(Moment::Gathering {});
    bench.wait(400).hear([samples::opened(3)]).wait(600).draw((80, 24));
    bench.wait(5_000);
    bench
}

fn attempt(number: u128) -> AttemptId {
    AttemptId(Uuid::from_u128(number))
}

fn answer(number: u128, text: &str, elapsed_ms: u64) -> Cmd<FromStudent> {
    let (round, attempt, text) = (RoundNo(3), attempt(number), text.to_owned());
    Cmd::Say(FromStudent::Answer { round, attempt, text, elapsed_ms })
}

fn received(number: u128) -> ToStudent {
    ToStudent::Received { round: RoundNo(3), attempt: attempt(number) }
}

fn recorded(number: u128) -> ToStudent {
    ToStudent::Recorded { round: RoundNo(3), attempt: attempt(number) }
}

fn stage(bench: &Bench<Model>) -> &Stage {
    &bench.app.sitting().expect("seated").stage
}

fn own(bench: &Bench<Model>) -> &Own {
    match stage(bench) {
        Stage::Round(screen) => &screen.own,
        Stage::Closed(screen) => &screen.own,
        other => panic!("no round: {other:?}"),
    }
}

#[test]
fn a_start_looks_for_a_kept_seat_and_takes_it_or_a_new_one() {
    let check = |options: PlayOptions, found: Option<KeptSeat>, want: &[Cmd<FromStudent>]| {
        let mut bench = bench(options.clone());
        let whose = SeatPlace { name: options.name.clone(), ..place() };
        assert_eq!(bench.wanted(), [Cmd::LookForSeat(whose)]);
        bench.msg(Msg::Seat(found.clone()));
        assert_eq!(bench.wanted(), want, "{options:?} {found:?}");
    };
    let named = options(Some(samples::LINK), Some("Ana"));
    let nameless = options(Some(samples::LINK), None);
    check(named.clone(), None, &[call(join("Ana", false))]);
    check(named.clone(), Some(kept("Ana")), &[call(come_back())]);
    check(nameless.clone(), Some(kept("Ben")), &[call(come_back())]);
    check(nameless.clone(), None, &[Cmd::HangUp]);
    let listed = PlayOptions { listed: true, ..named.clone() };
    check(listed, None, &[call(join("Ana", true))]);
}

#[test]
fn a_device_is_known_again_and_a_group_is_told_if_the_student_wants() {
    let told = |no_person: bool| {
        let options = PlayOptions {
            group: Some("Bench 3".to_owned()),
            no_person,
            new_seat: true,
            ..options(Some(samples::LINK), Some("Ana"))
        };
        let secret = PersonToken::from_bits(5);
        let (model, first) = Model::start(options, Theme::with_colour(true), 0, Some(secret));
        Bench::new((model, first)).wanted()
    };
    let hello = |person| Hello::Join {
        word: place().word,
        name: "Ana".to_owned(),
        listed: false,
        seat: None,
        person,
        group: Some("Bench 3".to_owned()),
    };
    assert_eq!(told(false), [call(hello(Some(PersonToken::from_bits(5))))]);
    assert_eq!(told(true), [call(hello(None))]);
}

#[test]
fn a_new_seat_passes_the_kept_one_over_once() {
    let options = PlayOptions { new_seat: true, ..options(Some(samples::LINK), Some("Ana")) };
    let mut bench = bench(options);
    assert_eq!(bench.wanted(), [call(join("Ana", false))]);
    bench.keys("\u{1b}\n");
    assert_eq!(bench.wanted(), [Cmd::HangUp, Cmd::LookForSeat(place())]);
}

#[test]
fn the_form_begins_at_what_is_missing() {
    let check = |link: Option<&str>, name: Option<&str>, want: Field| {
        assert_eq!(bench(options(link, name)).app.form.focus, want, "{link:?} {name:?}");
    };
    check(None, None, Field::Address);
    check(None, Some("Ana"), Field::Address);
    check(Some("192.0.2.7:7645"), Some("Ana"), Field::Word);
    check(Some(samples::LINK), None, Field::Name);
    check(Some(samples::LINK), Some("Ana"), Field::Join);
}

#[test]
fn the_form_is_filled_by_keys_alone() {
    let mut bench = bench(options(None, None));
    bench.keys("192.0.2.7:7645\nradius talus\nAna\n \n");
    assert_eq!(bench.wanted(), [Cmd::LookForSeat(place())]);
    bench.msg(Msg::Seat(None));
    assert_eq!(bench.wanted(), [call(join("Ana", true))]);
}

#[test]
fn enter_goes_to_what_is_missing_and_asks_about_the_standings() {
    let check = |keys: &str, want: Field| {
        let mut bench = bench(options(None, None));
        bench.keys(keys);
        assert_eq!(bench.app.form.focus, want, "{keys:?}");
        assert_eq!(bench.wanted(), [], "{keys:?}");
    };
    check("192.0.2.7:7645\n", Field::Word);
    check(&format!("{}\n", samples::LINK), Field::Name);
    check(&format!("{}\nAna\n", samples::LINK), Field::Listed);
    check("\tradius talus\n", Field::Address);
    check("\t\t\t\n", Field::Address);
    let mut back = bench(options(Some(samples::LINK), Some("Ana")));
    back.keys("\u{1b}");
    assert_eq!(back.app.form.focus, Field::Address);
}

#[test]
fn a_pasted_link_leaves_only_the_name_to_type() {
    let mut bench = bench(options(None, None));
    bench.msg(Msg::Paste(format!("{}\n", samples::LINK))).keys("Ana\n\n");
    assert_eq!(bench.wanted(), [Cmd::LookForSeat(place())]);
}

#[test]
fn a_fresh_token_is_kept_on_disk() {
    let mut bench = bench(options(Some(samples::LINK), Some("Ana")));
    bench.msg(Msg::Seat(None)).wanted();
    bench.hear([samples::seated(Some(token()), Moment::Gathering {})]);
    assert_eq!(bench.wanted(), [Cmd::KeepSeat(place(), kept("Ana"))]);
}

#[test]
fn refusals_lead_to_where_they_can_be_put_right() {
    let check = |found: Option<KeptSeat>, code: ErrorCode, forgets: bool, focus: Option<Field>| {
        let mut bench = bench(options(Some(samples::LINK), Some("Ana")));
        bench.msg(Msg::Seat(found)).wanted();
        let message = "No.".to_owned();
        bench.msg(Msg::News(News::Closed(Closed::Refused { code, message })));
        let forgot = bench.wanted().contains(&Cmd::ForgetSeat(place()));
        let at = (bench.app.screen == Screen::Form).then_some(bench.app.form.focus);
        assert_eq!((forgot, at), (forgets, focus), "{code:?}");
    };
    check(None, ErrorCode::NoSuchReview, false, Some(Field::Word));
    check(None, ErrorCode::BadName, false, Some(Field::Name));
    check(None, ErrorCode::RoomFull, false, None);
    check(None, ErrorCode::NotAllowed, false, None);
    check(Some(kept("Ana")), ErrorCode::NotAllowed, true, Some(Field::Join));
    check(Some(kept("Ana")), ErrorCode::ReviewOver, false, None);
}

#[test]
fn an_answer_carries_the_time_since_its_clue_was_seen() {
    let mut bench = in_round();
    bench.keys("teres minor\n");
    assert_eq!(bench.wanted(), [answer(1, "teres minor", 5_000)]);
}

#[test]
fn pauses_do_not_count_and_hold_answers_back() {
    let mut bench = in_round();
    bench.hear([ToStudent::Paused { seq: Seq(12), elapsed_ms: 5_000 }]);
    bench.wait(60_000).keys("teres minor\n");
    assert_eq!(bench.wanted(), []);
    bench.hear([ToStudent::Resumed { seq: Seq(13), elapsed_ms: 5_000 }]);
    bench.wait(1_500).keys("\n");
    assert_eq!(bench.wanted(), [answer(1, "teres minor", 6_500)]);
}

#[test]
fn a_resumed_round_goes_on_from_the_snapshot_s_time() {
    let mut bench = seated_at(samples::open_moment(3, None));
    bench.wait(300).draw((80, 24));
    bench.wait(700).keys("deltoid\n");
    assert_eq!(bench.wanted(), [answer(1, "deltoid", 12_700)]);
}

#[test]
fn an_answer_is_sent_received_and_recorded() {
    let mut bench = in_round();
    bench.keys("teres minor\n");
    assert!(matches!(own(&bench), Own::Sent(_)));
    // A second Enter, or more typing, changes nothing.
    bench.keys("\nx\n");
    assert_eq!(bench.wanted().len(), 1);
    bench.hear([received(1)]);
    assert!(matches!(own(&bench), Own::Taken { recorded: false, .. }));
    bench.hear([recorded(1), received(1)]);
    assert!(matches!(own(&bench), Own::Taken { recorded: true, .. }));
}

#[test]
fn word_of_another_attempt_or_round_changes_nothing() {
    let mut bench = in_round();
    bench.keys("teres minor\n");
    let other = ToStudent::Recorded { round: RoundNo(2), attempt: attempt(1) };
    bench.hear([recorded(7), received(7), other]);
    assert!(matches!(own(&bench), Own::Sent(_)));
}

#[test]
fn a_record_may_come_after_the_close() {
    let mut bench = in_round();
    bench.keys("teres minor\n");
    bench.hear([received(1), closed(3), recorded(1)]);
    assert!(matches!(own(&bench), Own::Taken { recorded: true, .. }));
}

fn closed(round: u16) -> ToStudent {
    ToStudent::RoundClosed {
        seq: Seq(20),
        round: RoundNo(round),
        why: CloseWhy::TimeUp,
        answered: 21,
        seated: 24,
    }
}

#[test]
fn which_one_is_chosen_by_arrows_or_typed_anew() {
    let check = |keys: &str, want: &str| {
        let mut bench = in_round();
        bench.keys("teres\n").wanted();
        let among = ["teres major", "teres minor"].map(str::to_owned).to_vec();
        let which = ToStudent::WhichOne { round: RoundNo(3), attempt: attempt(1), among };
        bench.hear([which]).keys(keys);
        // Every try has a fresh id.
        assert_eq!(bench.wanted(), [answer(2, want, 5_000)], "{keys:?}");
    };
    check("↓\n", "teres major");
    check("↓↓\n", "teres minor");
    check("↓↓↓↓\n", "teres minor");
    check(" minor\n", "teres minor");
    // Up from the first name, or typing, goes back to the line.
    check("↓↑\n", "teres");
    check("↓ major\n", "teres major");
}

#[test]
fn an_unknown_name_can_be_put_right() {
    let mut bench = in_round();
    bench.keys("spinatus\n").wanted();
    let nearest = vec!["supraspinatus".to_owned()];
    let unknown = ToStudent::UnknownName { round: RoundNo(3), attempt: attempt(1), nearest };
    bench.hear([unknown]).keys("↓\n");
    assert_eq!(bench.wanted(), [answer(2, "supraspinatus", 5_000)]);
}

#[test]
fn refused_answers_are_barred_or_given_back() {
    let check = |code: ErrorCode, barred: bool| {
        let mut bench = in_round();
        let error = ToStudent::Error { code, message: "No.".to_owned() };
        bench.keys("teres minor\n").hear([error]).wanted();
        assert_eq!(matches!(own(&bench), Own::Barred(_)), barred, "{code:?}");
        bench.keys("\n");
        let again = bench.wanted();
        let want = if barred { vec![] } else { vec![answer(2, "teres minor", 5_000)] };
        assert_eq!(again, want, "{code:?}");
    };
    check(ErrorCode::TooLate, true);
    check(ErrorCode::RoundNotOpen, true);
    check(ErrorCode::AlreadyAnswered, true);
    check(ErrorCode::CannotSave, false);
    check(ErrorCode::TooMany, false);
    check(ErrorCode::NotNow, false);
}

#[test]
fn after_a_loss_an_answer_goes_out_again_if_it_did_not_arrive() {
    let given = |number, recorded| Given {
        attempt: attempt(number),
        text: "teres minor".to_owned(),
        recorded,
    };
    let again = [answer(1, "teres minor", 5_000)];
    let check = |before: &[ToStudent], moment: Moment, want: &[Cmd<FromStudent>]| {
        let mut bench = in_round();
        bench.keys("teres minor\n").hear(before.to_vec()).wanted();
        bench.lose().wait(2_000).hear([samples::seated(None, moment.clone())]);
        assert_eq!(bench.wanted(), want, "{before:?} {moment:?}");
    };
    // Not received: once more, with the same id and the time at which it was given.
    check(&[], samples::open_moment(3, None), &again);
    // Received, and lost by the server before it was on disk.
    check(&[received(1)], samples::open_moment(3, None), &again);
    // It arrived.
    check(&[], samples::open_moment(3, Some(given(1, false))), &[]);
    check(&[received(1)], samples::open_moment(3, Some(given(1, true))), &[]);
    // Another round is open, or none.
    check(&[], samples::open_moment(4, None), &[]);
    check(&[], Moment::Gathering {}, &[]);
    // Asked again: there is nothing to send.
    let among = vec!["teres major".to_owned()];
    let which = ToStudent::WhichOne { round: RoundNo(3), attempt: attempt(1), among };
    check(&[which], samples::open_moment(3, None), &[]);
}

#[test]
fn an_answer_given_while_offline_is_kept_and_sent_once() {
    let mut bench = in_round();
    bench.lose().keys("teres minor\n");
    assert_eq!(bench.wanted(), []);
    bench.wait(3_000).hear([samples::seated(None, samples::open_moment(3, None))]);
    assert_eq!(bench.wanted(), [answer(1, "teres minor", 5_000)]);
    bench.hear([received(1), recorded(1)]);
    assert!(matches!(own(&bench), Own::Taken { recorded: true, .. }));
}

#[test]
fn what_was_typed_stays_through_a_loss() {
    let mut bench = in_round();
    bench.keys("teres mi").lose();
    bench.hear([samples::seated(None, samples::open_moment(3, None))]).keys("nor\n");
    // 12,000 ms of the snapshot; the screen was not drawn since.
    assert_eq!(bench.wanted(), [answer(1, "teres minor", 12_000)]);
}

#[test]
fn leaving_asks_once_and_says_goodbye() {
    let check = |mut bench: Bench<Model>, keys: &str, want: &[Cmd<FromStudent>]| {
        bench.wanted();
        bench.keys(keys);
        assert_eq!(bench.wanted(), want, "{keys:?}");
    };
    let goodbye = [Cmd::Say(FromStudent::Leave {}), Cmd::Quit(Outcome::Left)];
    check(in_round(), "\u{1b}", &[]);
    check(in_round(), "\u{1b}\u{1b}", &goodbye);
    // Any other key stays, and is not taken for typing.
    check(in_round(), "\u{1b}\ndeltoid\n", &[answer(1, "deltoid", 5_000)]);
    check(bench(options(None, None)), "\u{1b}\u{1b}", &[Cmd::Quit(Outcome::Left)]);
    let mut twice = in_round();
    twice.msg(Msg::Key(Key::Interrupt)).msg(Msg::Key(Key::Interrupt));
    assert_eq!(twice.wanted(), goodbye);
}

#[test]
fn a_question_mark_is_help_only_in_an_empty_line() {
    let mut bench = in_round();
    bench.keys("?");
    assert!(bench.app.help);
    bench.keys("xa?");
    assert!(!bench.app.help);
    let Stage::Round(screen) = stage(&bench) else { panic!("no round") };
    // The key that closed the help is not typed.
    assert_eq!(screen.line.text(), "a?");
    bench.msg(Msg::Key(Key::Help));
    assert!(bench.app.help);
}

#[test]
fn the_time_shown_stands_still_from_the_answer_on() {
    let mut bench = in_round();
    bench.keys("teres minor\n").hear([received(1)]).wait(20_000);
    assert!(bench.screen((80, 24)).contains("Time left   40 s"));
}

#[test]
fn own_time_counts_from_the_next_round_on() {
    let limit = |bench: &Bench<Model>| match stage(bench) {
        Stage::Round(screen) => screen.limit_ms,
        other => panic!("no round: {other:?}"),
    };
    let mut bench = in_round();
    bench.hear([ToStudent::TimeChanged { time: TimeAllowance::Stretched { percent: 200 } }]);
    assert_eq!(limit(&bench), Some(45_000));
    bench.hear([samples::opened(4)]);
    assert_eq!(limit(&bench), Some(90_000));
    bench.hear([ToStudent::TimeChanged { time: TimeAllowance::Untimed }, samples::opened(5)]);
    assert_eq!(limit(&bench), None);
}

#[test]
fn the_last_word_of_the_server_stays_on_the_screen() {
    let check = |heard: &[ToStudent], closed: Closed, want: Outcome| {
        let mut bench = in_round();
        bench.hear(heard.to_vec()).msg(Msg::News(News::Closed(closed))).wanted();
        bench.keys("\u{1b}");
        assert_eq!(bench.wanted().last(), Some(&Cmd::Quit(want)), "{heard:?}");
    };
    let end = ToStudent::Ended { seq: Seq(30), why: EndWhy::Finished };
    check(&[end, ToStudent::Summary(samples::summary())], Closed::Over, Outcome::Ended);
    check(&[ToStudent::Removed {}], Closed::Over, Outcome::Removed);
    check(&[], Closed::SeatTaken, Outcome::SeatTaken);
    let gone = "The server has closed the review.".to_owned();
    check(&[], Closed::Over, Outcome::Refused(gone));
}

#[test]
fn being_removed_forgets_the_seat() {
    let mut bench = in_round();
    bench.hear([ToStudent::Removed {}]);
    assert_eq!(bench.wanted(), [Cmd::ForgetSeat(place())]);
    assert_eq!(bench.app.screen, Screen::Stopped(Stop::Removed));
}

#[test]
fn trouble_stands_until_saving_works_again() {
    let mut bench = in_round();
    let trouble = |trouble| ToStudent::Trouble { trouble };
    bench.hear([trouble(Trouble::CannotSave)]).wait(60_000);
    assert!(bench.screen((80, 24)).contains("cannot save"));
    bench.hear([trouble(Trouble::SavingAgain)]);
    assert!(!bench.screen((80, 24)).contains("cannot save"));
}

#[test]
fn hostile_text_is_drawn_inert() {
    // As the socket's task does it: cleaned before it becomes a message.
    let evil = "\u{1b}[2J\u{202e}reversed\u{7}\u{9b}31m";
    let mut opened = samples::contrast_opened(3);
    if let ToStudent::RoundOpened { clue, offered, .. } = &mut opened {
        (*clue, offered[0]) = (samples::clue(evil, evil), evil.to_owned());
    }
    let mut json = serde_json::to_value(opened).unwrap();
    crate::text::clean_json(&mut json);
    let mut bench = seated_at(Moment::Gathering {});
    bench.hear([serde_json::from_value::<ToStudent>(json).unwrap()]);
    let screen = bench.screen((80, 24));
    assert!(screen.contains("[2Jreversed"), "{screen}");
    let harmful = |c: char| c != '\n' && c.is_control() || ('\u{202a}'..='\u{202e}').contains(&c);
    assert!(!screen.contains(harmful), "{screen:?}");
}

/// Any message about a few rounds and attempts, so that they often meet.
fn any_heard() -> impl Strategy<Value = ToStudent> {
    let round = (1u16..4).prop_map(RoundNo);
    (round, 0u128..4, 0u8..5, 0usize..22).prop_map(|(round, number, n, kind)| {
        let (seq, attempt) = (Seq(1), attempt(number));
        let given = Given { attempt, text: "teres".to_owned(), recorded: n > 2 };
        let names = vec!["teres major".to_owned(); usize::from(n)];
        let why = CloseWhy::TimeUp;
        match kind {
            0 => samples::seated(None, Moment::Gathering {}),
            1 => samples::seated(None, samples::open_moment(round.0, None)),
            2 => samples::seated(None, samples::open_moment(round.0, Some(given))),
            3 => samples::seated(Some(token()), Moment::Skipped { round, of: 3 }),
            4 => samples::opened(round.0),
            5 => samples::clue_shown(round.0, n.clamp(1, 4)),
            6 => ToStudent::Paused { seq, elapsed_ms: 5 },
            7 => ToStudent::Resumed { seq, elapsed_ms: 5 },
            8 => ToStudent::RoundClosed { seq, round, why, answered: 1, seated: 2 },
            9 => ToStudent::RoundSkipped { seq, round },
            10 => ToStudent::Revealed { seq, round, reveal: Box::new(samples::reveal()) },
            11 => ToStudent::Standings { seq, rows: samples::standings(), of: 3 },
            12 => ToStudent::Ended { seq, why: EndWhy::Abandoned },
            13 => ToStudent::Received { round, attempt },
            14 => ToStudent::Recorded { round, attempt },
            15 => ToStudent::WhichOne { round, attempt, among: names },
            16 => ToStudent::UnknownName { round, attempt, nearest: names },
            17 => ToStudent::Result(samples::own_result()),
            18 => ToStudent::Summary(samples::summary()),
            19 => ToStudent::TimeChanged { time: TimeAllowance::Untimed },
            20 => ToStudent::Error { code: ErrorCode::TooLate, message: "No.".to_owned() },
            _ => ToStudent::Removed {},
        }
    })
}

#[derive(Debug, Clone)]
enum Happening {
    Heard(ToStudent),
    Keys(String),
    Lost,
    Closed,
    Wait(u64),
    Draw(u16, u16),
}

fn any_happening() -> impl Strategy<Value = Happening> {
    prop_oneof![
        8 => any_heard().prop_map(Happening::Heard),
        6 => "[a-z?\n\t↓↑⇞\u{1b} é]{1,4}".prop_map(Happening::Keys),
        1 => Just(Happening::Lost),
        1 => Just(Happening::Closed),
        1 => (0u64..100_000).prop_map(Happening::Wait),
        1 => (1u16..130, 1u16..45).prop_map(|(w, h)| Happening::Draw(w, h)),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn no_order_of_messages_and_keys_breaks_the_client(
        plan in prop::collection::vec(any_happening(), 0..60),
    ) {
        let mut bench = seated_at(Moment::Gathering {});
        for happening in plan {
            match happening {
                Happening::Heard(message) => bench.hear([message]),
                Happening::Keys(keys) => bench.keys(&keys),
                Happening::Lost => bench.lose(),
                Happening::Closed => bench.msg(Msg::News(News::Closed(Closed::Over))),
                Happening::Wait(ms) => bench.wait(ms),
                Happening::Draw(width, height) => {
                    bench.draw((width, height));
                    &mut bench
                }
            };
        }
        bench.draw((80, 24));
    }

    #[test]
    fn a_recorded_answer_is_never_sent_again(
        plan in prop::collection::vec(any_heard(), 0..30),
    ) {
        let mut bench = in_round();
        bench.keys("teres minor\n").hear([received(1), recorded(1)]).wanted();
        let same_round = |message: &ToStudent| !matches!(
            message,
            ToStudent::Seated { .. } | ToStudent::RoundOpened { .. }
        );
        bench.hear(plan.into_iter().filter(same_round)).keys("x\n\n");
        let said = |cmd: &Cmd<FromStudent>| matches!(cmd, Cmd::Say(FromStudent::Answer { .. }));
        prop_assert!(!bench.wanted().iter().any(said));
    }
}

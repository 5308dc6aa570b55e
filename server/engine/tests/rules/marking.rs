//! Marking with the course that comes with the program.
//!
//! Which neighbours are worth something is common practice, no source: students take them for each
//! other because they lie side by side, do alike, or are called alike.

use myonym_content::MuscleKey;
use myonym_engine::score::{credit, verdict};
use myonym_engine::timing::Sight;
use myonym_engine::{
    Answer, Answering, AskedAgainWhy, Command, Event, Input, Phase, Settings, SpellingFound,
};
use myonym_wire::{Millis, RoundNo, Spelling, Verdict};

use crate::room::{Room, SHOULDER, answering, attempt, plan, say, seat, settings, student};

#[test]
fn a_neighbour_earns_some_credit_and_a_stranger_none() {
    let earned = |said| taken(&marked(Spelling::Tolerant, "teres-minor", said)).credit;
    let (major, deltoid) = (earned("teres major"), earned("deltoid"));
    assert!(major > 0.0, "teres major for teres minor");
    assert!(deltoid < major / 2.0, "deltoid {deltoid} for teres minor, teres major {major}");
    assert!(earned("gluteus maximus") <= 0.0);
    assert!(earned("teres minor") >= 1.0);
}

#[test]
fn neighbours_that_students_mix_up_earn_and_others_do_not() {
    let check = |a: &str, b: &str, expected: Verdict| {
        for (asked, said) in [(a, b), (b, a)] {
            let nearness = SHOULDER.nearness(&MuscleKey::new(asked), &MuscleKey::new(said));
            let found = verdict(false, credit(false, nearness));
            assert_eq!(found, expected, "{said} for {asked}, nearness {nearness:.3}");
        }
    };
    for (a, b) in [
        ("rhomboid-major", "rhomboid-minor"),
        ("supraspinatus", "infraspinatus"),
        ("teres-major", "teres-minor"),
        ("infraspinatus", "teres-minor"),
        ("latissimus-dorsi", "teres-major"),
        ("levator-scapulae", "rhomboid-minor"),
        ("pectoralis-major", "pectoralis-minor"),
    ] {
        check(a, b, Verdict::Near);
    }
    for (a, b) in [
        ("deltoid", "teres-minor"),
        ("deltoid", "infraspinatus"),
        ("biceps-brachii", "triceps-brachii"),
        ("infraspinatus", "subscapularis"),
        ("trapezius", "deltoid"),
        ("serratus-anterior", "latissimus-dorsi"),
        ("subclavius", "subscapularis"),
        ("teres-minor", "gluteus-maximus"),
    ] {
        check(a, b, Verdict::Wrong);
    }
}

#[test]
fn whole_names_misspelt_ones_and_parts() {
    use SpellingFound::{Exact, Misspelt};
    let check = |asked, typed, said: &str, spelling, right| {
        let answer = taken(&marked(Spelling::Tolerant, asked, typed));
        let found = (answer.said.as_ref().map(MuscleKey::as_str), answer.spelling, answer.exact);
        assert_eq!(found, (Some(said), spelling, right), "{typed} for {asked}");
        assert_eq!(answer.credit >= 1.0, right, "{typed} for {asked}");
        assert_eq!(answer.typed, typed);
    };
    check("teres-minor", "Teres Minor", "teres-minor", Exact, true);
    check("teres-minor", "m. teres minor", "teres-minor", Exact, true);
    check("teres-minor", "teres minir", "teres-minor", Misspelt, true);
    check("latissimus-dorsi", "lats", "latissimus-dorsi", Exact, true);
    // The part of a muscle stands for the muscle.
    check("deltoid", "posterior deltoid", "deltoid", Exact, true);
    check("triceps-brachii", "long head of triceps", "triceps-brachii", Exact, true);
    check(
        "pectoralis-major",
        "clavicular head of pectoralis major",
        "pectoralis-major",
        Exact,
        true,
    );
    // Spelling says which muscle was meant, and that one is wrong.
    check("teres-minor", "teres mayor", "teres-major", Misspelt, false);
    check("infraspinatus", "supraspinatus", "supraspinatus", Exact, false);
    check("teres-minor", "sartorius", "sartorius", Exact, false);
}

#[test]
fn strict_spelling() {
    use SpellingFound::{Exact, Misspelt, NoSuchName};
    let check = |typed, said: Option<&str>, spelling, expected| {
        let answer = taken(&marked(Spelling::Strict, "teres-minor", typed));
        let found = (answer.said.as_ref().map(MuscleKey::as_str), answer.spelling);
        assert_eq!(found, (said, spelling), "{typed}");
        assert_eq!(verdict(answer.exact, answer.credit), expected, "{typed}");
    };
    check("teres minor", Some("teres-minor"), Exact, Verdict::Right);
    check("teres minir", Some("teres-minor"), Misspelt, Verdict::Wrong);
    check("teres major", Some("teres-major"), Exact, Verdict::Near);
    check("teres mayor", Some("teres-major"), Misspelt, Verdict::Wrong);
    check("thingamajig", None, NoSuchName, Verdict::Wrong);
}

#[test]
fn half_names_are_asked_again() {
    let check = |spelling, typed, expected: AskedAgainWhy, names: &[&str]| {
        let Event::AskedAgain { why, among, .. } = marked(spelling, "teres-minor", typed) else {
            panic!("`{typed}` was taken");
        };
        assert_eq!(why, expected, "{typed}");
        assert_eq!(among, names, "{typed}");
    };
    let both: &[&str] = &["teres major", "teres minor"];
    check(Spelling::Tolerant, "teres", AskedAgainWhy::WhichOne, both);
    check(Spelling::Tolerant, "teres manor", AskedAgainWhy::WhichOne, both);
    check(Spelling::Tolerant, "thingamajig", AskedAgainWhy::UnknownName, &[]);
    // The names would give the spelling away.
    check(Spelling::Strict, "teres", AskedAgainWhy::WhichOne, &[]);
}

/// The time of the name that was taken counts, 5 s of 20 s, and nothing else.
#[test]
fn being_asked_again_costs_nothing() {
    let mut room = opened(Spelling::Tolerant, "teres-minor");
    for (number, typed) in ["teres", "tere", "thingamajig", " ", "teres minor"].iter().enumerate() {
        let at = 1_000 * (number as u64 + 1);
        room.tell(at, answer(number, at, typed));
    }
    room.tell(6_000, say(Command::Reveal));
    assert_eq!(room.review.seats()[&student('a')].total.0, 8_750);
}

/// The first clue reaches the class when it is on disk; what that took is not the students' time.
#[test]
fn what_the_disk_takes_is_not_counted() {
    let check = |held, claimed, expected| {
        let mut room = opened(Spelling::Tolerant, "teres-minor");
        let Input::Answer(answering) = answer(1, claimed, "teres minor") else { panic!() };
        let sight = Sight { held: Millis(held), round_trip: Some(Millis(80)) };
        room.tell(5_000, Input::Answer(Answering { sight, ..answering }));
        let Phase::Closed(record) = room.review.phase() else { panic!("not closed") };
        assert_eq!(record.answers[&student('a')].elapsed_ms, expected, "{held} {claimed}");
    };
    check(0, 4_900, 4_900);
    check(300, 4_600, 4_600);
    check(300, 4_900, 4_700);
    check(300, 0, 4_580);
}

/// What becomes of a name typed where `asked` is described.
fn marked(spelling: Spelling, asked: &str, typed: &str) -> Event {
    let mut room = opened(spelling, asked);
    room.tell(1_000, answer(1, 1_000, typed));
    let mut events = room.log.into_iter().map(|logged| logged.event);
    let of_answer = |event: &Event| matches!(event, Event::Answered(_) | Event::AskedAgain { .. });
    events.find(of_answer).expect("what became of the answer")
}

fn taken(event: &Event) -> Answer {
    let Event::Answered(answer) = event else { panic!("not taken: {event:?}") };
    answer.clone()
}

fn opened(spelling: Spelling, asked: &str) -> Room {
    let settings = Settings { spelling, ..settings() };
    let mut room = Room::open(&SHOULDER, settings, plan(&[asked]));
    room.tell(0, seat(student('a')));
    room.tell(0, say(Command::Start));
    assert!(matches!(room.review.phase(), Phase::Open(_)), "{asked} is not in the list");
    room
}

fn answer(number: usize, at: u64, typed: &str) -> Input {
    answering(student('a'), RoundNo(1), attempt(number), Millis(at), typed)
}

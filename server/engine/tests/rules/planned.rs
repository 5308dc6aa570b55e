//! Reviews that are planned, choices between two muscles, and rounds that are chosen as it goes.

use std::collections::BTreeSet;

use myonym_content::cue::Cues;
use myonym_content::{Catalogue, Course, MuscleKey};
use myonym_engine::score::{credit, credit_of_two, points};
use myonym_engine::{
    Command, Event, Input, OpenError, Planned, Refusal, Reply, Review, open, open_planned,
};
use myonym_wire::{Millis, ReviewId, ReviewSettings, RoundNo, ScoreRule, Spelling, Task};
use proptest::prelude::*;
use uuid::Uuid;

use crate::room::{
    FOUR, ONE, Room, SHOULDER, answering, attempt, plan, say, seat, settings, student,
};
use crate::script::check;

#[test]
fn one_of_two_is_chosen() {
    check(
        "one_of_two_is_chosen",
        "plan teres-minor
        tasks contrast
        beside teres-major
        0 seat a
        0 seat b
        0 seat c
        0 seat d
        1000 start
        2000 a answers Teres Minor
        3000 b answers major teres
        3500 c answers teres
        4000 c answers infraspinatus
        4500 c answers vastus
        5000 c answers teres minir
        30000 reveal",
    );
}

/// The names are on the screen: spelling is not what is asked for.
#[test]
fn one_of_two_in_strict_spelling() {
    check(
        "one_of_two_in_strict_spelling",
        "plan teres-minor
        spelling strict
        rule signed
        tasks contrast
        beside infraspinatus
        0 seat a
        0 seat b
        1000 start
        2000 a answers vastus
        3000 a answers teres
        4000 b answers infraspinatis
        5000 reveal",
    );
}

#[test]
fn a_round_is_chosen_by_what_was_answered() {
    check(
        "a_round_is_chosen_by_what_was_answered",
        "plan deltoid infraspinatus
        adaptive
        0 seat a
        500 replan teres-minor
        600 replan teres-major
        1000 start
        1500 replan deltoid
        2000 a answers teres minor
        3000 reveal
        3100 replan teres-minor contrast teres-major
        3200 replan gluteus-maximus
        3300 restart
        3300 a returns
        4000 next
        5000 a answers teres minor
        6000 reveal
        6100 replan deltoid
        7000 next
        7100 replan deltoid",
    );
}

#[test]
fn a_review_that_is_not_adaptive_stays_as_it_was_drawn() {
    let mut room = Room::open(&FOUR, settings(), plan(&["deltoid"]));
    let planned = Planned::name(MuscleKey::new("teres-minor"));
    let refused = room.tell(0, Input::Replan { planned, why: String::new() });
    assert_eq!(refused, Some(Reply::Refused(Refusal::NotNow)));
    assert_eq!(room.log.len(), 1);
}

#[test]
fn what_is_planned_is_held() {
    let rounds = vec![
        Planned::name(MuscleKey::new("teres-minor")),
        contrast("teres-minor", Some("soleus")),
        Planned { muscle: MuscleKey::new("deltoid"), task: Task::Picture, beside: None },
    ];
    let settings = ReviewSettings { rounds: 9, tasks: Vec::new(), ..ReviewSettings::default() };
    let event = planned(&SHOULDER, &settings, rounds.clone()).unwrap();
    let Event::Opened { plan, tasks, beside, seed, .. } = event.clone() else { panic!() };
    assert_eq!(
        plan.iter().map(MuscleKey::as_str).collect::<Vec<_>>(),
        ["teres-minor", "teres-minor", "deltoid"]
    );
    // There is a picture of every muscle but the deltoid: it is asked for by name.
    assert_eq!((tasks, seed), (vec![Task::Name, Task::Contrast, Task::Name], SEED));
    assert_eq!(beside, [None, Some(MuscleKey::new("soleus")), None]);
    let reasons = vec![String::new(), "missed last week".to_owned()];
    let log = [logged(event.because(reasons))];
    let review = Review::replay(&log).unwrap();
    assert_eq!(review.plan()[1], rounds[1]);
    let why = |round| review.why(RoundNo(round));
    assert_eq!((why(1), why(2), why(3), why(0)), (None, Some("missed last week"), None, None));
    assert_eq!(review.coming(), Some((RoundNo(1), &rounds[0])));
}

#[test]
fn a_plan_that_cannot_be_held_names_what_is_wrong() {
    let check =
        |settings: &ReviewSettings, rounds: Vec<Planned>, expected: OpenError, said: &str| {
            let found = planned(&SHOULDER, settings, rounds).unwrap_err();
            assert_eq!((found.to_string(), found), (said.to_owned(), expected));
        };
    let any = &ReviewSettings::default();
    let key = MuscleKey::new;
    check(any, Vec::new(), OpenError::NoRounds, "a plan needs at least one round");
    let too_many = vec![Planned::name(key("deltoid")); 501];
    check(any, too_many, OpenError::Rounds(501), "501 rounds are more than 500");
    check(
        any,
        vec![Planned::name(key("deltoid")), Planned::name(key("soleus"))],
        OpenError::NotListed { muscle: key("soleus"), list: SHOULDER.list().key.clone() },
        "muscle `soleus` is planned, but is not on the list `shoulder`",
    );
    check(
        any,
        vec![contrast("deltoid", Some("no-such"))],
        OpenError::NoFacts(key("no-such")),
        "nothing is known of muscle `no-such`",
    );
    let short = &ReviewSettings { limit_ms: 10, ..ReviewSettings::default() };
    let said = "a time limit of 10 ms is not from 1000 to 600000";
    check(short, vec![Planned::name(key("deltoid"))], OpenError::Limit(10), said);
}

/// A contrast without another muscle is given the nearest; where there is none, or no clue tells
/// the two apart, the name is asked for.
#[test]
fn a_contrast_that_cannot_be_asked_gives_way_to_the_name() {
    let asked = |course: &Course, rounds: Vec<Planned>| {
        let event = planned(course, &ReviewSettings::default(), rounds).unwrap();
        Review::replay(&[logged(event)]).unwrap().plan().to_vec()
    };
    let minor = contrast("teres-minor", None);
    assert_eq!(
        asked(&SHOULDER, vec![minor.clone()]),
        [contrast("teres-minor", Some("teres-major"))]
    );
    let itself = contrast("deltoid", Some("deltoid"));
    assert_eq!(asked(&SHOULDER, vec![itself]), [Planned::name(MuscleKey::new("deltoid"))]);
    let alone = contrast("deltoid", None);
    assert_eq!(asked(&ONE, vec![alone]), [Planned::name(MuscleKey::new("deltoid"))]);
    // Drawn reviews deal contrasts too.
    let tasks = vec![Task::Contrast];
    let of_contrasts = ReviewSettings { tasks, ..ReviewSettings::default() };
    let event = open(REVIEW, &SHOULDER, &of_contrasts, SEED, |_| true).unwrap();
    let review = Review::replay(&[logged(event)]).unwrap();
    assert!(review.plan().iter().all(|round| round.beside.is_some()), "{:?}", review.plan());
    // A list that was changed since: what cannot be asked any more is asked for by name.
    let mut room = Room::open_with(&ONE, settings(), vec![contrast("deltoid", None)]);
    room.tell(0, say(Command::Start));
    let Some(Event::RoundOpened { task, offered, .. }) = room.log.last().map(|l| &l.event) else {
        panic!("{:?}", room.log)
    };
    assert_eq!((*task, offered.len()), (Task::Name, 0));
}

/// A coin that is flipped at once is worth nothing under signed residual time: the expected score
/// of a guess among k names of which the others earn c each is `(1 + (k - 1)(2c - 1)) / k` of the
/// time left (worked out from the rule of Maris & van der Maas 2012, Psychometrika 77(4):615-633).
#[test]
fn the_flip_of_a_coin_does_not_pay() {
    let by_definition = |k: f64, c: f64| (1.0 + (k - 1.0) * (2.0 * c - 1.0)) / k;
    let flip = |wrong: f64, elapsed_ms| {
        let worth = |c| points(ScoreRule::SignedResidualTime, c, elapsed_ms, Some(20_000)).as_f64();
        f64::midpoint(worth(credit_of_two(true)), worth(wrong))
    };
    for elapsed_ms in [0, 1, 700, 10_000, 19_999, 20_000] {
        assert!(flip(credit_of_two(false), elapsed_ms).abs() < 1e-9, "{elapsed_ms}");
    }
    assert!(by_definition(2.0, credit_of_two(false)).abs() < 1e-12);
    // The credit of a near-miss would make it worth a quarter of all points at once.
    let near = credit(false, 1.0);
    assert!((flip(near, 0) - 100.0 * by_definition(2.0, near)).abs() < 1e-9);
    assert!((flip(near, 0) - 25.0).abs() < 1e-9);
    // Where nothing is taken away, a guess is still worth no more than half of knowing.
    let fair = |c| points(ScoreRule::SpeedWeighted, c, 0, Some(20_000)).as_f64();
    assert!((f64::midpoint(fair(1.0), fair(credit_of_two(false))) - 50.0).abs() < 1e-9);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Two names, the right one among them, and from the first clue on what tells them apart.
    #[test]
    fn a_contrast_can_be_answered_from_its_first_clue(seed: u64, at: usize, further: usize) {
        let keys: Vec<&MuscleKey> = SHOULDER.items().iter().map(|item| &item.muscle).collect();
        let (at, further) = (at % keys.len(), 1 + further % (keys.len() - 1));
        let (asked, other) = (keys[at], keys[(at + further) % keys.len()]);
        let round = contrast(asked.as_str(), Some(other.as_str()));
        let (event, again) = (opened_round(&round, seed), opened_round(&round, seed));
        prop_assert_eq!(&event, &again);
        let Event::RoundOpened { task, offered, clues, .. } = event else { panic!() };
        prop_assert_eq!(task, Task::Contrast);
        let two: BTreeSet<&MuscleKey> = offered.iter().map(|one| &one.muscle).collect();
        prop_assert_eq!(two, BTreeSet::from([asked, other]));
        for one in &offered {
            prop_assert_eq!(SHOULDER.name_of(&one.muscle), Some(one.name.clone()));
        }
        let mut cues = Cues::new(Catalogue::bundled());
        let first = cues.cue(asked, &clues[0]).expect("a clue of the data");
        prop_assert!(first.rules_out(other) && !first.rules_out(asked), "{:?}", clues);
        for clue in &clues {
            prop_assert!(!cues.cue(asked, clue).expect("a clue of the data").rules_out(asked));
        }
    }

    /// Either name is an answer in any spelling that means it; no other name is one.
    #[test]
    fn only_the_two_are_answers(strict: bool, which in 0..8_usize) {
        let names = ["teres minor", "Musculus teres major", "teres manor", "infraspinatus", "xyz",
            "teres", "teres mino", "major teres"];
        let spelling = if strict { Spelling::Strict } else { Spelling::Tolerant };
        let settings = myonym_engine::Settings { spelling, ..settings() };
        let mut room =
            Room::open_with(&FOUR, settings, vec![contrast("teres-minor", Some("teres-major"))]);
        room.tell(0, seat(student('a')));
        room.tell(0, say(Command::Start));
        let said = answering(student('a'), RoundNo(1), attempt(1), Millis(5_000), names[which]);
        let reply = room.tell(5_000, said);
        let is_answer = [0, 1, 6, 7].contains(&which);
        prop_assert_eq!(matches!(reply, Some(Reply::Received { .. })), is_answer, "{}", names[which]);
        if !is_answer {
            let asked = room.log.iter().find_map(|logged| {
                let Event::AskedAgain { among, .. } = &logged.event else { return None };
                Some(among.clone())
            });
            let mut among = asked.expect("it is asked about");
            among.sort_unstable();
            prop_assert_eq!(among, ["teres major", "teres minor"]);
        }
    }
}

/// A name that is chosen with one key takes no time to type: 0.17 s of the 0.2 s that the server saw
/// are credited, where typing it would take more.
#[test]
fn a_quick_choice_is_not_hasty() {
    let credited = |round: Planned| {
        let mut room = Room::open_with(&FOUR, settings(), vec![round]);
        room.tell(0, seat(student('a')));
        room.tell(0, say(Command::Start));
        let said = answering(student('a'), RoundNo(1), attempt(1), Millis(170), "teres minor");
        room.tell(200, said);
        let answer = room.log.iter().find_map(|logged| {
            let Event::Answered(answer) = &logged.event else { return None };
            Some((answer.hasty, answer.elapsed_ms))
        });
        answer.expect("an answer")
    };
    assert_eq!(credited(Planned::name(MuscleKey::new("teres-minor"))), (true, 200));
    assert_eq!(credited(contrast("teres-minor", Some("teres-major"))), (false, 170));
}

/// The right name stands first as often as second: 200 draws, four standard errors of a fair coin
/// (28 of 200) either way.
#[test]
fn the_right_one_is_not_always_first() {
    let round = contrast("teres-minor", Some("teres-major"));
    let first = (0..200).filter(|seed| {
        let Event::RoundOpened { offered, muscle, .. } = opened_round(&round, *seed) else {
            panic!()
        };
        offered[0].muscle == muscle
    });
    let first = first.count();
    assert!((72..=128).contains(&first), "{first} of 200");
}

/// The first round of a review with this plan and seed, as it opens.
fn opened_round(round: &Planned, seed: u64) -> Event {
    let settings = ReviewSettings::default();
    let event = open_planned(REVIEW, &SHOULDER, &settings, vec![round.clone()], seed, |_| true);
    let review = Review::replay(&[logged(event.expect("a plan"))]).expect("an opening");
    let mut events = review.decide(&SHOULDER, Millis(0), say(Command::Start)).events;
    events.pop().expect("a round")
}

fn planned(
    course: &Course,
    settings: &ReviewSettings,
    rounds: Vec<Planned>,
) -> Result<Event, OpenError> {
    open_planned(REVIEW, course, settings, rounds, SEED, |muscle| muscle.as_str() != "deltoid")
}

fn contrast(muscle: &str, beside: Option<&str>) -> Planned {
    let beside = beside.map(MuscleKey::new);
    Planned { muscle: MuscleKey::new(muscle), task: Task::Contrast, beside }
}

fn logged(event: Event) -> myonym_engine::Logged {
    myonym_engine::Logged { seq: myonym_wire::Seq(1), at: Millis(0), event }
}

const REVIEW: ReviewId = ReviewId(Uuid::from_u128(9));
const SEED: u64 = 7;

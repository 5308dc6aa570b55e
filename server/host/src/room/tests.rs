//! A room without sockets: posts go in, lines come out, and the disk does as it is told.

#![expect(clippy::wildcard_enum_match_arm, reason = "a test looks for one message among many")]

use std::sync::Arc;
use std::time::Duration;

use myonym_content::{Catalogue, Course, ListKey, MuscleKey};
use myonym_engine::{Event, Logged};
use myonym_insight::plan::{Proposed, Reason};
use myonym_wire::{
    AttemptId, Coming, EndWhy, FromInstructor, FromStudent, HostKey, Millis, Pace, ReviewId,
    ReviewSettings, RoundNo, Seq, Task, ToBoard, ToInstructor, ToStudent, Trouble,
};
use serde::de::DeserializeOwned;
use tokio::sync::{mpsc, watch};
use tokio::time::timeout;
use uuid::Uuid;

use super::{ConnId, Entrant, Line, LineEnd, Out, Post, Room, RoomHandle, Said, Start, Turns};
use crate::chooser::Chooser;
use crate::clock::Clock;
use crate::outside::System;
use crate::reach::Reach;
use crate::secrets::TokenHash;
use crate::store::memory::MemoryLog;
use crate::store::{Log as _, NewReview};

mod turns;

const REVIEW: ReviewId = ReviewId(Uuid::from_u128(1));

struct House {
    log: Arc<MemoryLog>,
    clock: Clock,
    handle: RoomHandle,
    stop: watch::Sender<bool>,
}

/// One end of a line, read as messages.
struct Ear {
    conn: ConnId,
    line: LineEnd,
}

impl House {
    fn open() -> Self {
        Self::open_with(None)
    }

    /// A review that is adaptive if it has a chooser.
    fn open_with(chooser: Option<Box<dyn Chooser>>) -> Self {
        let adaptive = chooser.is_some();
        Self::open_as(&ReviewSettings { adaptive, ..ReviewSettings::default() }, chooser)
    }

    fn open_as(settings: &ReviewSettings, chooser: Option<Box<dyn Chooser>>) -> Self {
        Self::open_in(settings, chooser, Turns::default())
    }

    fn open_in(settings: &ReviewSettings, chooser: Option<Box<dyn Chooser>>, turns: Turns) -> Self {
        let course = shoulder();
        let event = myonym_engine::open(REVIEW, &course, settings, 7, |_| false).unwrap();
        let events = vec![Logged { seq: Seq(1), at: Millis(0), event }];
        Self::start(Arc::new(MemoryLog::default()), events, true, chooser, turns)
    }

    /// A review of a server with others.
    fn open_beside(turns: &Turns) -> Self {
        Self::open_in(&ReviewSettings::default(), None, turns.clone())
    }

    /// The same review after a stop.
    fn come_back(self, chooser: Option<Box<dyn Chooser>>) -> Self {
        let events = self.log.read(REVIEW, Seq(0)).unwrap();
        Self::start(self.log.clone(), events, false, chooser, Turns::default())
    }

    fn start(
        log: Arc<MemoryLog>,
        events: Vec<Logged>,
        opens: bool,
        chooser: Option<Box<dyn Chooser>>,
        turns: Turns,
    ) -> Self {
        let course = shoulder();
        let word: myonym_wire::JoinWord = "radius-talus".parse().unwrap();
        let key = TokenHash::of(HostKey::from_bits(1).reveal());
        let (handle, posts): (_, mpsc::Receiver<Post>) =
            RoomHandle::new(REVIEW, word.clone(), key, course.clone(), false);
        let clock = Clock::start();
        let room = Room::new(Start {
            handle: handle.clone(),
            log: log.clone(),
            clock,
            outside: Arc::new(System),
            events,
            seats: Vec::new(),
            opens: opens.then_some(NewReview { word, key, opened: 0, own_list: None }),
            reach: Reach::default(),
            roster: None,
            chooser,
            gallery: Arc::default(),
            turns,
        })
        .unwrap();
        let stop = watch::Sender::new(false);
        tokio::spawn(room.run(posts, stop.subscribe()));
        Self { log, clock, handle, stop }
    }

    async fn enter(&self, conn: u64, entrant: Entrant) -> Ear {
        let (line, end) = Line::queued();
        let conn = ConnId(conn);
        assert!(
            self.handle
                .post(Post::Enter { conn, line, entrant: Box::new(entrant), at: self.clock.now() })
                .await
        );
        Ear { conn, line: end }
    }

    /// An instructor who is in, and so is told of whatever happens from here on.
    async fn conduct(&self) -> Ear {
        let mut ear = self.enter(0, Entrant::Conduct { key: None }).await;
        let conducting = |m| matches!(m, ToInstructor::Conducting { .. }).then_some(());
        ear.until(conducting).await;
        ear
    }

    async fn join(&self, conn: u64) -> Ear {
        let name = format!("Iris {conn}");
        self.enter(
            conn,
            Entrant::Join { name, listed: true, seat: None, person: None, group: None },
        )
        .await
    }

    async fn say(&self, ear: &Ear, said: Said) {
        let at = self.clock.now();
        assert!(self.handle.post(Post::Said { conn: ear.conn, said, at, round_trip: None }).await);
    }

    async fn answer(&self, ear: &Ear, attempt: u128, text: &str) {
        let (round, attempt) = (RoundNo(1), AttemptId(Uuid::from_u128(attempt)));
        let text = text.to_owned();
        let answer = FromStudent::Answer { round, attempt, text, elapsed_ms: 0 };
        self.say(ear, Said::Student(answer)).await;
    }

    fn answers_on_disk(&self) -> usize {
        let events = self.log.read(REVIEW, Seq(0)).unwrap();
        let answered = |logged: &&Logged| matches!(logged.event, Event::Answered(_));
        events.iter().filter(answered).count()
    }
}

fn shoulder() -> Arc<Course> {
    let catalogue = Catalogue::bundled();
    let list = catalogue.list(&ListKey::new("shoulder")).unwrap();
    Arc::new(Course::new(catalogue, list).unwrap())
}

/// A chooser that waits for what it is told to choose.
#[derive(Debug)]
struct Told(std::sync::mpsc::Receiver<Option<Proposed>>);

impl Chooser for Told {
    fn choose(&mut self) -> Option<Proposed> {
        self.0.recv().expect("the test goes on")
    }
}

fn told() -> (std::sync::mpsc::Sender<Option<Proposed>>, Option<Box<dyn Chooser>>) {
    let (tell, told) = std::sync::mpsc::channel();
    (tell, Some(Box::new(Told(told))))
}

fn proposed(muscle: &str, beside: Option<&str>) -> Proposed {
    let (muscle, beside) = (MuscleKey::new(muscle), beside.map(MuscleKey::new));
    Proposed { muscle, beside, reason: Reason::Weak, why: "missed before".to_owned() }
}

impl Ear {
    async fn coming(&mut self) -> Coming {
        let coming = |message| match message {
            ToInstructor::Coming(coming) => Some(coming),
            _ => None,
        };
        self.until(coming).await
    }

    /// Hears on until a message is the one looked for. The deadline only stops a broken test.
    async fn until<T: DeserializeOwned, U>(&mut self, mut pick: impl FnMut(T) -> Option<U>) -> U {
        let listen = async {
            loop {
                match self.line.queue.recv().await.expect("the line holds") {
                    Out::Text(text) => {
                        if let Some(found) = pick(myonym_wire::decode(text.text()).unwrap()) {
                            return found;
                        }
                    }
                    Out::Close(code, why) => panic!("closed {code} {why}"),
                }
            }
        };
        timeout(Duration::from_secs(20), listen).await.expect("nothing more was told")
    }

    async fn until_student(&mut self, mut is: impl FnMut(&ToStudent) -> bool) -> ToStudent {
        self.until(|message: ToStudent| is(&message).then_some(message)).await
    }

    fn hears_nothing_like(&mut self, is: impl Fn(&ToStudent) -> bool) {
        while let Ok(Out::Text(text)) = self.line.queue.try_recv() {
            assert!(!is(&myonym_wire::decode(text.text()).unwrap()), "{}", text.text());
        }
    }

    /// A class of so many who are in, and have heard all of what was told until now.
    async fn class(house: &House, students: u64) -> Vec<Self> {
        let mut class = Vec::new();
        for conn in 1..=students {
            let mut student = house.join(conn).await;
            student.until_student(|m| matches!(m, ToStudent::Seated { .. })).await;
            class.push(student);
        }
        tokio::time::sleep(Duration::from_secs(2)).await;
        for student in &mut class {
            student.hears_nothing_like(|_| false);
        }
        class
    }
}

fn is_opened(message: &ToStudent) -> bool {
    matches!(message, ToStudent::RoundOpened { .. })
}

fn is_recorded(message: &ToStudent) -> bool {
    matches!(message, ToStudent::Recorded { .. })
}

#[tokio::test]
async fn an_answer_is_received_at_once_and_recorded_when_it_is_on_disk() {
    let house = House::open();
    let teacher = house.enter(0, Entrant::Conduct { key: None }).await;
    let mut student = house.join(1).await;
    let _other = house.join(2).await;
    house.say(&teacher, Said::Instructor(FromInstructor::Start {})).await;
    student.until_student(|m| matches!(m, ToStudent::RoundOpened { .. })).await;
    house.log.set_slow(true);
    house.answer(&student, 1, "deltoid").await;
    student.until_student(|m| matches!(m, ToStudent::Received { .. })).await;
    // The room has taken the answer and the disk has not: nothing may rest on it yet.
    house.answer(&student, 1, "deltoid").await;
    student.until_student(|m| matches!(m, ToStudent::Received { .. })).await;
    student.hears_nothing_like(is_recorded);
    house.log.set_slow(false);
    student.until_student(is_recorded).await;
    assert_eq!(house.answers_on_disk(), 1);
}

/// A terminal takes messages of 4 MiB, and a hall may come in between two tellings.
#[tokio::test(start_paused = true)]
async fn the_roll_of_a_hall_is_told_in_parts() {
    const HALL: usize = 2_500;
    let house = House::open();
    let mut teacher = house.conduct().await;
    let mut hall = Vec::new();
    for conn in 1..=HALL as u64 {
        hall.push(house.join(conn).await);
    }
    let mut parts = Vec::new();
    while parts.iter().sum::<usize>() < HALL {
        let rows = |message| match message {
            ToInstructor::Roll { rows } => Some(rows.len()),
            _ => None,
        };
        parts.push(teacher.until(rows).await);
    }
    assert!(parts.iter().all(|rows| *rows <= 1_000) && parts.contains(&1_000), "{parts:?}");
    assert_eq!(parts.iter().sum::<usize>(), HALL);
}

/// The more come in, the later all are told how many they are: 1,000 half a second after the first.
#[tokio::test(start_paused = true)]
async fn a_class_that_fills_is_told_of_its_size_when_most_are_in() {
    let house = House::open();
    let mut first = house.join(1).await;
    let mut others = Vec::new();
    for conn in 2..=1_000 {
        others.push(house.join(conn).await);
    }
    let is_size = |m: &ToStudent| matches!(m, ToStudent::Class { .. });
    tokio::time::sleep(Duration::from_millis(400)).await;
    first.hears_nothing_like(is_size);
    let told = first.until_student(is_size).await;
    assert!(matches!(told, ToStudent::Class { present: 1_000, seated: 1_000 }), "{told:?}");
}

#[tokio::test]
async fn a_full_disk_is_told_skips_the_round_and_is_overcome() {
    let house = House::open();
    let mut teacher = house.enter(0, Entrant::Conduct { key: None }).await;
    let mut student = house.join(1).await;
    let mut other = house.join(2).await;
    let mut board = house.enter(3, Entrant::Watch).await;
    house.say(&teacher, Said::Instructor(FromInstructor::Start {})).await;
    student.until_student(|m| matches!(m, ToStudent::RoundOpened { .. })).await;
    house.answer(&other, 2, "deltoid").await;
    other.until_student(is_recorded).await;
    house.log.set_full(true);
    house.answer(&student, 1, "deltoid").await;
    let trouble = |wanted| move |m: &ToStudent| matches!(m, ToStudent::Trouble { trouble } if *trouble == wanted);
    student.until_student(trouble(Trouble::CannotSave)).await;
    student.hears_nothing_like(is_recorded);
    house.answer(&student, 1, "deltoid").await;
    student
        .until_student(|m| {
            matches!(m, ToStudent::Error { code: myonym_wire::ErrorCode::CannotSave, .. })
        })
        .await;
    house.log.set_full(false);
    student.until_student(trouble(Trouble::SavingAgain)).await;
    let moment = student
        .until(|m: ToStudent| match m {
            ToStudent::Seated { moment, .. } => Some(moment),
            _ => None,
        })
        .await;
    assert!(
        matches!(*moment, myonym_wire::Moment::Skipped { round: RoundNo(1), .. }),
        "{moment:?}"
    );
    let skipped = |m: ToBoard| match m {
        ToBoard::Watching { moment, .. } => {
            matches!(*moment, myonym_wire::Moment::Skipped { .. }).then_some(())
        }
        _ => None,
    };
    board.until(skipped).await;
    assert_eq!(house.answers_on_disk(), 1, "what was recorded stays in the log");
    house.say(&teacher, Said::Instructor(FromInstructor::Next {})).await;
    teacher
        .until(|m: ToInstructor| matches!(m, ToInstructor::RoundOpened { .. }).then_some(()))
        .await;
}

/// What is told of counts meanwhile must not stand before all that is told once saving works again.
#[tokio::test(start_paused = true)]
async fn a_log_that_cannot_be_read_back_either_is_overcome() {
    let house = House::open();
    let mut teacher = house.enter(0, Entrant::Conduct { key: None }).await;
    let mut student = house.join(1).await;
    let other = house.join(2).await;
    let class = |wanted| {
        move |m: ToInstructor| match m {
            ToInstructor::Class { present, seated } if (present, seated) == wanted => Some(()),
            _ => None,
        }
    };
    teacher.until(class((2, 2))).await;
    house.log.set_full(true);
    house.log.set_unreadable(true);
    let later = house.join(3).await;
    student.until_student(|m| matches!(m, ToStudent::Trouble { .. })).await;
    for gone in [&other, &later] {
        let at = house.clock.now();
        assert!(house.handle.post(Post::Gone { conn: gone.conn, at }).await);
    }
    tokio::time::sleep(Duration::from_millis(2_500)).await;
    house.log.set_full(false);
    house.log.set_unreadable(false);
    let again = |m: &ToStudent| matches!(m, ToStudent::Trouble { trouble: Trouble::SavingAgain });
    student.until_student(again).await;
    teacher.until(class((1, 2))).await;
}

/// What a room does in its last moments is in the log as well.
#[tokio::test(start_paused = true)]
async fn who_is_found_gone_while_the_host_stops_is_away_in_the_log() {
    let house = House::open();
    let teacher = house.enter(0, Entrant::Conduct { key: None }).await;
    let mut student = house.join(1).await;
    student.until_student(|m| matches!(m, ToStudent::Seated { .. })).await;
    house.log.set_slow(true);
    house.say(&teacher, Said::Instructor(FromInstructor::Start {})).await;
    // The room takes it in.
    tokio::time::sleep(Duration::from_millis(1)).await;
    drop(student);
    house.stop.send_replace(true);
    tokio::time::sleep(Duration::from_millis(1)).await;
    house.log.set_slow(false);
    house.handle.inbox.closed().await;
    tokio::time::sleep(Duration::from_millis(1)).await;
    let log = house.log.read(REVIEW, Seq(0)).unwrap();
    let away = log.iter().any(|logged| matches!(logged.event, Event::Away { .. }));
    assert!(away, "{:?}", log.last());
}

/// The stamp of a message stands for the time that has passed.
#[tokio::test]
async fn a_study_group_that_is_deserted_ends_by_itself() {
    let pace = Pace::Group { reveal_ms: 0 };
    let house = House::open_as(&ReviewSettings { pace, ..ReviewSettings::default() }, None);
    let mut board = house.enter(0, Entrant::Watch).await;
    let host = house.enter(1, Entrant::Conduct { key: None }).await;
    let member = house.join(2).await;
    let (gone, later) = (house.clock.now(), myonym_engine::DESERTED_MS + 1);
    assert!(house.handle.post(Post::Gone { conn: member.conn, at: gone }).await);
    // Refused, as the time does not stand still; but it shows what time it is.
    let (said, at) = (Said::Instructor(FromInstructor::Resume {}), gone.plus(Millis(later)));
    assert!(house.handle.post(Post::Said { conn: host.conn, said, at, round_trip: None }).await);
    let why = |m: ToBoard| if let ToBoard::Ended { why, .. } = m { Some(why) } else { None };
    assert_eq!(board.until(why).await, EndWhy::Abandoned);
}

#[tokio::test]
async fn a_line_that_is_never_read_is_let_go_and_its_seat_kept() {
    let house = House::open();
    let mut teacher = house.enter(0, Entrant::Conduct { key: None }).await;
    let slow = house.join(1).await;
    let mut student = house.join(2).await;
    house.say(&teacher, Said::Instructor(FromInstructor::Start {})).await;
    student.until_student(|m| matches!(m, ToStudent::RoundOpened { .. })).await;
    for _ in 0..60 {
        house.say(&teacher, Said::Instructor(FromInstructor::Pause {})).await;
        house.say(&teacher, Said::Instructor(FromInstructor::Resume {})).await;
        student.until_student(|m| matches!(m, ToStudent::Resumed { .. })).await;
        teacher
            .until(|m: ToInstructor| matches!(m, ToInstructor::Resumed { .. }).then_some(()))
            .await;
    }
    assert!(slow.line.too_slow());
    teacher
        .until(|m: ToInstructor| match m {
            ToInstructor::Class { present: 1, seated: 2 } => Some(()),
            _ => None,
        })
        .await;
}

#[tokio::test]
async fn a_join_that_is_sent_again_takes_the_same_seat() {
    let house = House::open();
    let join = || Entrant::Join {
        name: "Iris".to_owned(),
        listed: false,
        seat: Some(myonym_wire::SeatToken::from_bits(7)),
        person: None,
        group: None,
    };
    // The answer to the first is never read, as where the connection was lost.
    let _lost = house.enter(1, join()).await;
    let mut found = house.enter(2, join()).await;
    found.until_student(|m| matches!(m, ToStudent::Seated { .. })).await;
    let mut teacher = house.enter(3, Entrant::Conduct { key: None }).await;
    let roll = teacher
        .until(|m: ToInstructor| match m {
            ToInstructor::Conducting { roll, .. } => Some(roll),
            _ => None,
        })
        .await;
    assert_eq!(roll.len(), 1);
}

#[tokio::test]
async fn a_round_is_chosen_before_it_opens() {
    let (tell, chooser) = told();
    let house = House::open_with(chooser);
    let mut teacher = house.conduct().await;
    let mut student = house.join(1).await;
    tell.send(Some(proposed("teres-minor", Some("teres-major")))).unwrap();
    let Coming { round, task, muscle, beside, why } = teacher.coming().await;
    assert_eq!((round, task, muscle.as_str()), (RoundNo(1), Task::Contrast, "teres minor"));
    assert_eq!((beside.as_deref(), why.as_str()), (Some("teres major"), "missed before"));
    house.say(&teacher, Said::Instructor(FromInstructor::Start {})).await;
    let opened = student.until_student(|m| matches!(m, ToStudent::RoundOpened { .. })).await;
    let ToStudent::RoundOpened { task: Task::Contrast, mut offered, .. } = opened else {
        panic!("{opened:?}")
    };
    offered.sort_unstable();
    assert_eq!(offered, ["teres major", "teres minor"]);
    // Who comes in later is told why the round at hand was chosen, and students never are.
    let mut late = house.enter(2, Entrant::Conduct { key: None }).await;
    let conducting = |message| match message {
        ToInstructor::Conducting { coming, review, .. } => Some((coming, review.adaptive)),
        _ => None,
    };
    let (coming, adaptive) = late.until(conducting).await;
    assert_eq!((coming.unwrap().why.as_str(), adaptive), ("missed before", true));
    let log = house.log.read(REVIEW, Seq(0)).unwrap();
    let place = |is: fn(&Event) -> bool| log.iter().position(|logged| is(&logged.event)).unwrap();
    let chosen = place(|event| matches!(event, Event::Replanned { .. }));
    assert!(chosen < place(|event| matches!(event, Event::RoundOpened { .. })));
    drop(tell);
}

/// The room waits for nobody: a choice that comes late changes nothing, and the next is made anew.
#[tokio::test]
async fn where_no_choice_is_there_in_time_the_drawn_round_stands() {
    let (tell, chooser) = told();
    let house = House::open_with(chooser);
    let mut teacher = house.conduct().await;
    let mut student = house.join(1).await;
    let opened = |log: &MemoryLog| -> Vec<Event> {
        let events = log.read(REVIEW, Seq(0)).unwrap().into_iter().map(|logged| logged.event);
        events.filter(|event| matches!(event, Event::RoundOpened { .. })).collect()
    };
    house.say(&teacher, Said::Instructor(FromInstructor::Start {})).await;
    student.until_student(|m| matches!(m, ToStudent::RoundOpened { .. })).await;
    let log = house.log.read(REVIEW, Seq(0)).unwrap();
    let Event::Opened { plan, .. } = &log[0].event else { panic!() };
    let (drawn, other) = (plan[0].clone(), plan[5].as_str().to_owned());
    let Event::RoundOpened { muscle, .. } = &opened(&house.log)[0] else { panic!() };
    assert_eq!(*muscle, drawn);
    // For the first round, which has opened.
    tell.send(Some(proposed(&other, None))).unwrap();
    for step in [FromInstructor::CloseRound {}, FromInstructor::Reveal {}] {
        house.say(&teacher, Said::Instructor(step)).await;
    }
    tell.send(Some(proposed("deltoid", None))).unwrap();
    let coming = teacher.coming().await;
    assert_eq!((coming.round, coming.muscle.as_str()), (RoundNo(2), "deltoid"));
    house.say(&teacher, Said::Instructor(FromInstructor::Next {})).await;
    student.until_student(|m| matches!(m, ToStudent::RoundOpened { round: RoundNo(2), .. })).await;
    let Event::RoundOpened { muscle, .. } = &opened(&house.log)[1] else { panic!() };
    assert_eq!(muscle.as_str(), "deltoid");
    drop(tell);
}

#[tokio::test]
async fn a_chosen_round_is_not_chosen_again_after_a_stop() {
    let (tell, chooser) = told();
    let house = House::open_with(chooser);
    let mut teacher = house.conduct().await;
    tell.send(Some(proposed("deltoid", None))).unwrap();
    teacher.coming().await;
    drop(tell);
    // This one would break the room's choice if it were asked.
    let (nobody, chooser) = told();
    drop(nobody);
    let house = house.come_back(chooser);
    let mut teacher = house.enter(0, Entrant::Conduct { key: None }).await;
    let mut student = house.join(1).await;
    let conducting = |message| match message {
        ToInstructor::Conducting { coming, .. } => Some(coming),
        _ => None,
    };
    assert_eq!(teacher.until(conducting).await.unwrap().muscle, "deltoid");
    house.say(&teacher, Said::Instructor(FromInstructor::Start {})).await;
    student.until_student(|m| matches!(m, ToStudent::RoundOpened { .. })).await;
    let log = house.log.read(REVIEW, Seq(0)).unwrap();
    let last = log.iter().rev().find_map(|logged| match &logged.event {
        Event::RoundOpened { muscle, .. } => Some(muscle.as_str().to_owned()),
        _ => None,
    });
    assert_eq!(last.as_deref(), Some("deltoid"));
}

#[tokio::test]
async fn a_chooser_that_breaks_leaves_the_review_as_it_was_drawn() {
    let (tell, chooser) = told();
    drop(tell);
    let house = House::open_with(chooser);
    let mut teacher = house.conduct().await;
    let mut student = house.join(1).await;
    for _ in 0..2 {
        for step in [FromInstructor::Start {}, FromInstructor::Next {}] {
            house.say(&teacher, Said::Instructor(step)).await;
        }
        student.until_student(|m| matches!(m, ToStudent::RoundOpened { .. })).await;
        for step in [FromInstructor::CloseRound {}, FromInstructor::Reveal {}] {
            house.say(&teacher, Said::Instructor(step)).await;
        }
        teacher
            .until(|m: ToInstructor| matches!(m, ToInstructor::Revealed { .. }).then_some(()))
            .await;
    }
}

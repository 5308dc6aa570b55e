//! A small made-up review for tests: two students' worth of messages about the rotator cuff.

use myonym_wire::*;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::buffer::Buffer;
use uuid::Uuid;

use crate::app::{App, Cmd, Heard, Msg, Said, Shown};
use crate::keys::{Key, Move};
use crate::net::News;

pub(crate) const LINK: &str = "http://192.0.2.7:7645/?word=radius-talus";

/// A first message of a student who tells no more than is needed.
pub(crate) fn join(name: &str, listed: bool) -> Hello {
    let (word, name) = (review().word, name.to_owned());
    Hello::Join { word, name, listed, seat: None, person: None, group: None }
}

pub(crate) fn review() -> ReviewInfo {
    ReviewInfo {
        review: ReviewId(Uuid::from_u128(1)),
        word: "radius-talus".parse().unwrap(),
        list: "Shoulder and arm".to_owned(),
        rounds: 12,
        limit_ms: 45_000,
        tasks: vec![Task::Name],
        rule: ScoreRule::SpeedWeighted,
        spelling: Spelling::Tolerant,
        pace: Pace::Instructor,
        adaptive: false,
    }
}

/// The welcome to a study group.
pub(crate) fn seated_in_group(seat: Option<SeatToken>, moment: Moment) -> ToStudent {
    let mut seated = seated(seat, moment);
    if let ToStudent::Seated { review, present, .. } = &mut seated {
        review.pace = Pace::Group { reveal_ms: 20_000 };
        *present = 3;
    }
    seated
}

pub(crate) fn clue(kind: &str, text: &str) -> ClueShown {
    ClueShown { kind: kind.to_owned(), text: text.to_owned(), picture: None }
}

pub(crate) fn clues() -> Vec<ClueShown> {
    vec![
        clue("action", "It rotates the arm laterally at the shoulder joint."),
        clue("origin", "It arises from the upper part of the lateral border of the scapula."),
        clue("insertion", "It inserts on the lowest facet of the greater tubercle of the humerus."),
        clue("innervation", "It is supplied by the axillary nerve."),
    ]
}

pub(crate) fn opened(round: u16) -> ToStudent {
    ToStudent::RoundOpened {
        seq: Seq(10),
        round: RoundNo(round),
        of: 12,
        task: Task::Name,
        example: None,
        offered: Vec::new(),
        limit_ms: 45_000,
        clue_count: 4,
        clue: clues().remove(0),
    }
}

/// A round that offers two muscles.
pub(crate) fn contrast_opened(round: u16) -> ToStudent {
    let mut opened = opened(round);
    if let ToStudent::RoundOpened { task, offered, .. } = &mut opened {
        *task = Task::Contrast;
        *offered = two();
    }
    opened
}

pub(crate) fn two() -> Vec<String> {
    vec!["teres major".to_owned(), "teres minor".to_owned()]
}

/// A reveal of a round that offered two muscles.
pub(crate) fn contrast_reveal(count: u32) -> Reveal {
    let mut pictured = pictured_reveal();
    pictured.task = Task::Contrast;
    pictured.spread = vec![row("teres minor", 14, Verdict::Right)];
    if count > 0 {
        pictured.spread.push(row("teres major", count, Verdict::Wrong));
    }
    if let Some(contrast) = &mut pictured.contrast {
        contrast.count = count;
    }
    pictured
}

/// What is planned of a round.
pub(crate) fn coming(round: u16) -> Coming {
    Coming {
        round: RoundNo(round),
        task: Task::Contrast,
        muscle: "teres minor".to_owned(),
        beside: Some("teres major".to_owned()),
        why: "7 of 24 took it for teres major last week".to_owned(),
    }
}

/// A round that asks about a picture.
pub(crate) fn picture_opened(round: u16) -> ToStudent {
    let picture = serde_json::from_str(include_str!("samples/asked.json")).unwrap();
    let clue = ClueShown {
        picture: Some(Box::new(picture)),
        ..clue("picture", "It is the muscle in the picture.")
    };
    asking(round, Task::Picture, None, clue)
}

/// A round that asks for a movement.
pub(crate) fn movement_opened(round: u16) -> ToStudent {
    let text = "It arises from the upper part of the lateral border of the scapula. It inserts on \
                the lowest facet of the greater tubercle of the humerus.";
    let example = Some("flexion of the forearm".to_owned());
    asking(round, Task::Movement, example, clue("attachments", text))
}

fn asking(round: u16, task: Task, example: Option<String>, clue: ClueShown) -> ToStudent {
    let round = RoundNo(round);
    let seq = Seq(10);
    ToStudent::RoundOpened {
        seq,
        round,
        of: 12,
        task,
        example,
        offered: Vec::new(),
        limit_ms: 45_000,
        clue_count: 1,
        clue,
    }
}

pub(crate) fn clue_shown(round: u16, number: u8) -> ToStudent {
    let clue = clues()[usize::from(number) - 1].clone();
    ToStudent::Clue { seq: Seq(11), round: RoundNo(round), number, clue }
}

pub(crate) fn open_moment(round: u16, given: Option<Given>) -> Moment {
    Moment::Open {
        round: RoundNo(round),
        of: 12,
        task: Task::Name,
        example: None,
        offered: Vec::new(),
        limit_ms: 45_000,
        elapsed_ms: 12_000,
        paused: false,
        clues: clues()[..2].to_vec(),
        clue_count: 4,
        given,
    }
}

pub(crate) fn seated(seat: Option<SeatToken>, moment: Moment) -> ToStudent {
    ToStudent::Seated {
        seq: Seq(5),
        student: StudentId(Uuid::from_u128(7)),
        seat,
        name: "Ana".to_owned(),
        review: review(),
        time: TimeAllowance::Standard,
        total: 143.5,
        present: 24,
        moment: Box::new(moment),
    }
}

fn row(name: &str, count: u32, verdict: Verdict) -> SpreadRow {
    SpreadRow { name: name.to_owned(), count, verdict }
}

pub(crate) fn spread() -> Vec<SpreadRow> {
    vec![
        row("teres minor", 11, Verdict::Right),
        row("teres major", 7, Verdict::Wrong),
        row("infraspinatus", 3, Verdict::Near),
    ]
}

pub(crate) fn apart(aspect: &str, asked: &str, said: &str) -> DifferenceShown {
    let (aspect, asked, said) = (aspect.to_owned(), asked.to_owned(), said.to_owned());
    DifferenceShown { aspect, asked, said }
}

fn by_insertion() -> DifferenceShown {
    apart(
        "insertion",
        "lowest facet of the greater tubercle of the humerus",
        "crest of the lesser tubercle of the humerus",
    )
}

pub(crate) fn reveal() -> Reveal {
    let name = |name: &str, latin: &str| NamePair { name: name.into(), latin: latin.into() };
    Reveal {
        task: Task::Name,
        answer: name("teres minor", "musculus teres minor"),
        movements: Vec::new(),
        explanations: Vec::new(),
        pictures: Vec::new(),
        clues: clues(),
        spread: spread(),
        silent: 3,
        contrast: Some(ContrastShown {
            asked: "teres minor".to_owned(),
            said: "teres major".to_owned(),
            count: 7,
            shared: vec!["It arises from the lateral border of the scapula.".to_owned()],
            apart: vec![
                by_insertion(),
                apart("action", "rotates the arm laterally", "rotates the arm medially"),
                apart("innervation", "axillary nerve", "lower subscapular nerve"),
            ],
        }),
    }
}

/// A reveal with two pictures, as the server draws them, and why.
pub(crate) fn pictured_reveal() -> Reveal {
    Reveal {
        explanations: vec![
            "It passes behind the long axis of the humerus to the greater tubercle, so shortening \
             rotates the arm laterally."
                .to_owned(),
        ],
        pictures: serde_json::from_str(include_str!("samples/pair.json")).unwrap(),
        ..reveal()
    }
}

/// A reveal of a round that asked for a movement.
pub(crate) fn movement_reveal() -> Reveal {
    let mut pictured = pictured_reveal();
    pictured.pictures.truncate(1);
    Reveal {
        task: Task::Movement,
        movements: vec![
            "lateral rotation of the arm".to_owned(),
            "extension of the arm".to_owned(),
        ],
        clues: vec![clue("attachments", "It arises from the lateral border of the scapula.")],
        spread: vec![
            row("lateral rotation of the arm", 11, Verdict::Right),
            row("lateral rotation", 2, Verdict::Right),
            row("flexion of the arm", 7, Verdict::Wrong),
        ],
        contrast: None,
        ..pictured
    }
}

pub(crate) fn standings() -> Vec<StandingRow> {
    let row = |place, name: Option<&str>, points| StandingRow {
        place,
        name: name.map(str::to_owned),
        points,
    };
    vec![row(1, Some("Ben"), 251.25), row(2, None, 230.0), row(3, Some("Zoë 山田"), 198.75)]
}

pub(crate) fn own_result() -> OwnResult {
    OwnResult {
        round: RoundNo(3),
        verdict: Verdict::Near,
        answer: Some("infraspinatus".to_owned()),
        points: 43.2,
        total: 186.7,
        place: 4,
        of: 24,
    }
}

pub(crate) fn summary() -> Summary {
    let row = |round, asked: &str, verdict, answer: Option<&str>, points| SummaryRow {
        round: RoundNo(round),
        task: Task::Name,
        asked: asked.to_owned(),
        verdict,
        answer: answer.map(str::to_owned),
        points,
    };
    Summary {
        rounds: vec![
            row(1, "deltoid", Verdict::Right, Some("deltoid"), 91.25),
            row(2, "teres minor", Verdict::Wrong, Some("teres major"), 0.0),
            row(3, "subscapularis", Verdict::Silent, None, 0.0),
            row(4, "supraspinatus", Verdict::Wrong, Some("supraspinatis"), 0.0),
        ],
        again: vec![
            Again {
                task: Task::Name,
                muscle: "teres minor".to_owned(),
                said: Some("teres major".to_owned()),
                apart: Some(by_insertion()),
            },
            Again {
                task: Task::Name,
                muscle: "supraspinatus".to_owned(),
                said: Some("supraspinatus".to_owned()),
                apart: None,
            },
            Again { task: Task::Name, muscle: "subscapularis".to_owned(), said: None, apart: None },
        ],
        total: 91.25,
        place: 9,
        of: 24,
    }
}

pub(crate) fn roll() -> Vec<RollRow> {
    let row = |number, name: &str, present, answered, time| RollRow {
        student: StudentId(Uuid::from_u128(number)),
        name: name.to_owned(),
        present,
        answered,
        time,
    };
    vec![
        row(1, "Ben", true, true, TimeAllowance::Standard),
        row(2, "Ana", true, false, TimeAllowance::Stretched { percent: 150 }),
        row(3, "Zoë 山田", true, true, TimeAllowance::Standard),
        row(4, "Maximiliane von Hohenfels", false, false, TimeAllowance::Untimed),
    ]
}

pub(crate) fn weak_spots() -> WeakSpots {
    let hard = |muscle: &str, right, asked, low, high| HardRow {
        muscle: muscle.to_owned(),
        right,
        asked,
        low,
        high,
    };
    WeakSpots {
        // Wilson's 95 % intervals of 11 of 24 and 18 of 24, worked out by hand for show only.
        hardest: vec![
            hard("teres minor", 11, 24, 0.279, 0.650),
            hard("deltoid", 18, 24, 0.551, 0.880),
        ],
        pairs: vec![PairRow {
            asked: "teres minor".to_owned(),
            said: "teres major".to_owned(),
            count: 7,
            of: 24,
            apart: Some(by_insertion()),
        }],
        map: Vec::new(),
    }
}

pub(crate) fn conducting(moment: Moment) -> ToInstructor {
    ToInstructor::Conducting {
        seq: Seq(5),
        key: None,
        review: review(),
        addresses: vec!["192.0.2.7:7645".to_owned(), "[2001:db8::7]:7645".to_owned()],
        secure: false,
        moment: Box::new(moment),
        roll: roll(),
        weak_spots: WeakSpots::default(),
        coming: None,
    }
}

/// An app on a bench: driven as the loop drives it, with a clock that the test moves.
#[derive(Clone)]
pub(crate) struct Bench<A: App> {
    pub(crate) app: A,
    now: Millis,
    cmds: Vec<Cmd<Said<A>>>,
}

impl<A: App> Bench<A> {
    pub(crate) fn new((app, first): (A, Vec<Cmd<Said<A>>>)) -> Self {
        Self { app, now: Millis(0), cmds: first }
    }

    /// Does one message, after a tick as the loop has it.
    pub(crate) fn msg(&mut self, msg: Msg<Heard<A>>) -> &mut Self {
        self.app.update(Msg::Tick(self.now));
        self.cmds.extend(self.app.update(msg));
        self
    }

    pub(crate) fn hear(&mut self, heard: impl IntoIterator<Item = Heard<A>>) -> &mut Self {
        for message in heard {
            self.msg(Msg::News(News::Heard(message)));
        }
        self
    }

    pub(crate) fn lose(&mut self) -> &mut Self {
        let why = "the server closed the connection".to_owned();
        self.msg(Msg::News(News::Lost { why, retry_ms: 3_000 }))
    }

    /// Types: `\n` is Enter, `\t` is Tab, `\u{1b}` is Escape, arrows are themselves, and `⇞` is
    /// Page Up.
    pub(crate) fn keys(&mut self, keys: &str) -> &mut Self {
        for c in keys.chars() {
            self.msg(Msg::Key(match c {
                '\n' => Key::Enter,
                '\t' => Key::Next,
                '\u{1b}' => Key::Esc,
                '↓' => Key::Move(Move::Down),
                '↑' => Key::Move(Move::Up),
                '⇞' => Key::Move(Move::PageUp),
                c => Key::Char(c),
            }));
        }
        self
    }

    /// Moves the clock on.
    pub(crate) fn wait(&mut self, ms: u64) -> &mut Self {
        self.now = self.now.plus(Millis(ms));
        self.app.update(Msg::Tick(self.now));
        self
    }

    /// What the app wanted since this was last asked.
    pub(crate) fn wanted(&mut self) -> Vec<Cmd<Said<A>>> {
        std::mem::take(&mut self.cmds)
    }

    /// Draws as the loop does.
    pub(crate) fn draw(&mut self, (width, height): (u16, u16)) -> Buffer {
        let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
        let mut shown = Shown::default();
        terminal.draw(|frame| shown = self.app.view(frame)).unwrap();
        self.app.update(Msg::Drawn { now: self.now, shown });
        terminal.backend().buffer().clone()
    }

    /// The screen as text, without the spaces at the ends of its rows.
    pub(crate) fn screen(&mut self, size: (u16, u16)) -> String {
        let buffer = self.draw(size);
        let rows = buffer.content.chunks(usize::from(size.0)).map(|cells| {
            let (mut row, mut covered) = (String::new(), 0);
            for cell in cells {
                if covered == 0 {
                    row.push_str(cell.symbol());
                    covered = crate::text::width(cell.symbol()).max(1);
                }
                covered -= 1;
            }
            row.trim_end().to_owned()
        });
        rows.collect::<Vec<_>>().join("\n")
    }
}

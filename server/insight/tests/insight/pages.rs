//! Reviews counted, analysed and laid out, and lists of reviews: looked at by eye, then kept.

use myonym_content::Catalogue;
use myonym_content::problem::SourceFile;
use myonym_insight::analysis::analyse;
use myonym_insight::render::analysis::{csv, html, json, terminal};
use myonym_insight::{ReviewInfo, render};
use myonym_wire::Task;

use crate::class::{Log, Turn, class_of_24, info, observed, reported, turns};

fn check_widths(name: &str, page: impl Fn(u16) -> String) {
    for width in [80, 60] {
        let page = page(width);
        for line in page.lines() {
            assert!(line.chars().count() <= usize::from(width), "{width}: {line}");
        }
        insta::assert_snapshot!(format!("{name}_{width}"), page);
    }
}

/// Names from clues and pictures, movements from attachments, and choices between two.
fn class_of_all_tasks() -> Log {
    let picture =
        [(5, Turn::Right(5_000)), (2, Turn::Said("teres major", 0.125)), (1, Turn::Silent)];
    let movement = [
        (3, Turn::Moves("lateral rotation of the arm", 1.0)),
        (1, Turn::Moves("lateral rotation", 1.0)),
        (2, Turn::Moves("medial rotation of the arm", 0.0)),
        (1, Turn::Moves("extension", 0.25)),
        (1, Turn::Silent),
    ];
    let choice = [(6, Turn::Right(3_000)), (2, Turn::Said("teres major", 0.0))];
    Log::open(1)
        .round("teres minor", &turns(&[(6, Turn::Right(4_000)), (2, Turn::Silent)]))
        .asking(Task::Picture)
        .round("teres minor", &turns(&picture))
        .asking(Task::Movement)
        .round("teres minor", &turns(&movement))
        .round("deltoid", &turns(&[(8, Turn::Moves("abduction", 1.0))]))
        .offering("teres major")
        .round("teres minor", &turns(&choice))
        .ended()
}

#[test]
fn a_class_with_all_tasks() {
    let found = reported(&[class_of_all_tasks()]);
    check_widths("all_tasks", |width| terminal(&found, width));
    insta::assert_snapshot!("all_tasks_csv", csv(&found).unwrap());
}

/// Names from pictures are told apart from names from clues, on every page.
#[test]
fn pictures_and_clues_are_told_apart() {
    let found = reported(&[class_of_all_tasks()]);
    let item = &found.items[0];
    assert_eq!((item.right, item.asked, item.near), (11, 16, 2));
    assert_eq!((item.pictured_right, item.pictured, item.from_clues()), (5, 8, (6, 8)));
    let page = html(&found);
    let table = page.split("Muscles shown in pictures").nth(2).unwrap();
    let table = table.split("</table>").next().unwrap();
    let cells = ["teres minor", "5 of 8", "6 of 8"].map(|cell| table.find(cell).unwrap());
    assert!(cells.is_sorted(), "{table}");
    let none = html(&reported(&[class_of_24()]));
    assert!(!none.contains("Named from a picture"));
}

/// Near-misses are shown and enter no other number: the same class without their credit differs in
/// nothing else.
#[test]
fn near_misses_are_shown_and_rate_nobody() {
    let class = |credit| {
        let minor = [(9, Turn::Right(4_000)), (7, Turn::Said("teres major", credit))];
        let names = Log::open(1).round("teres minor", &turns(&minor));
        reported(&[names.round("deltoid", &turns(&[(16, Turn::Right(2_000))]))])
    };
    let (mut with, without) = (class(0.125), class(0.0));
    let near = |found: &myonym_insight::analysis::Analysis| {
        let item = found.items.iter().find(|item| item.muscle.name == "teres minor");
        item.unwrap().near
    };
    assert_eq!((near(&with), near(&without)), (7, 0));
    assert!(csv(&with).unwrap().contains(",near,7,16,"));
    with.items.iter_mut().for_each(|item| item.near = 0);
    assert_eq!(json(&with), json(&without));
}

#[test]
fn movements_alone_make_a_report() {
    let check = |turns: &[Turn], want: &str| {
        let log = Log::open(1).asking(Task::Movement).round("teres minor", turns);
        let found = reported(&[log]);
        let page = terminal(&found, 120);
        assert_eq!(page.lines().next(), Some(want));
        assert!(page.contains("Movements told, hardest first"), "{page}");
        assert!(html(&found).contains("Movements told from attachments"));
        page
    };
    let right = Turn::Moves("lateral rotation", 1.0);
    check(&[right], "Nothing to teach again: every answer was right.");
    let page =
        check(&[right, Turn::Moves("flexion", 0.0)], "Teach again first: what teres minor does.");
    let basis = "Rests on 2 answers where a movement was asked for in 1 review.";
    assert!(page.contains(basis), "{page}");
}

/// Names must be broken between words, whatever the width.
#[test]
fn long_names() {
    let name = "extensor carpi radialis longus";
    let said = "extensor carpi radialis brevis";
    let log = Log::open(1)
        .round(name, &turns(&[(120, Turn::Said(said, 0.2)), (3, Turn::Right(61_000))]))
        .round("sternocleidomastoid", &turns(&[(24, Turn::Right(1_000))]));
    let found = reported(&[log]);
    check_widths("long", |width| terminal(&found, width));
}

#[test]
fn what_one_student_typed_is_not_reported() {
    let found = reported(&[class_of_24()]);
    let typed: Vec<&str> = found.unclear.iter().map(|form| form.typed.as_str()).collect();
    assert_eq!(typed, ["rotator cuff", "teres"]);
}

#[test]
fn misspelt_names_belong_to_the_muscle_meant() {
    let found = reported(&[class_of_24()]);
    let item = |name: &str| found.items.iter().find(|item| item.muscle.name == name).unwrap();
    let forms = |name: &str| -> Vec<(&str, u32)> {
        item(name).forms.iter().map(|(form, count)| (form.as_str(), *count)).collect()
    };
    assert_eq!(forms("infraspinatus"), [("infraspinutus", 5), ("infraspinatous", 2)]);
    assert_eq!(forms("teres minor"), [("teres miner", 1)]);
    assert_eq!(item("teres minor").median_ms, Some(8_200));
}

/// Where the muscle list has gone since, its muscles are still set apart.
#[test]
fn a_list_that_has_gone() {
    let without = include_str!("shoulder.toml").split("[[list]]").next().unwrap().to_owned();
    let file = SourceFile { path: "a.toml".to_owned(), text: without };
    let catalogue = Catalogue::load(&[file]).unwrap();
    let table = observed(&[class_of_24()]);
    let found = analyse(&catalogue, &table, &[], Vec::new(), Vec::new());
    let apart = found.pairs[0].apart.as_ref().unwrap();
    assert_eq!(
        (apart.aspect.as_str(), apart.first.as_str()),
        ("action", "rotates the arm laterally")
    );
}

#[test]
fn a_list_does_not_steer_a_terminal() {
    let mut review = info(1, 25, 4);
    review.list = "\u{1b}[2Jshoulder\u{7}".to_owned();
    assert!(render::list(&[review], 80).chars().all(|c| c == '\n' || !c.is_control()));
}

#[test]
fn reviews_as_a_list() {
    let mut second = info(2, 3, 11);
    second.word = "clavicle-humerus".to_owned();
    second.ended = false;
    let third = ReviewInfo { rehearsal: true, list: "rotator cuff".to_owned(), ..info(3, 0, 0) };
    let reviews = [info(1, 124, 18), second, third];
    check_widths("list", |width| render::list(&reviews, width));
    insta::assert_snapshot!("list_of_none", render::list(&[], 80));
}

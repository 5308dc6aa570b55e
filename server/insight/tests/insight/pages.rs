//! Reports laid out: looked at by eye, then kept.

use myonym_engine::Event;
use myonym_insight::{Report, ReviewInfo, Tally, render};
use myonym_wire::Task;

use crate::class::{Log, Turn, catalogue, class_of_24, info, tally, turns};

fn report_of_24() -> Report {
    Report::new(&catalogue(), vec![info(1, 25, 4)], &tally(&[class_of_24()]))
}

fn check_widths(name: &str, page: impl Fn(u16) -> String) {
    for width in [80, 60] {
        let page = page(width);
        for line in page.lines() {
            assert!(line.chars().count() <= usize::from(width), "{width}: {line}");
        }
        insta::assert_snapshot!(format!("{name}_{width}"), page);
    }
}

#[test]
fn a_class_in_a_terminal() {
    check_widths("class", |width| render::terminal(&report_of_24(), width));
}

#[test]
fn a_class_as_csv() {
    insta::assert_snapshot!(render::csv(&report_of_24()).unwrap());
}

#[test]
fn a_class_as_json() {
    let text = render::json(&report_of_24());
    insta::assert_snapshot!(text);
    let back: Report = serde_json::from_str(&text).unwrap();
    assert_eq!((back.reviews, back.totals), (report_of_24().reviews, report_of_24().totals));
}

#[test]
fn few_students_of_several_reviews() {
    let one = Log::open(1).round("teres minor", &[Turn::Silent, Turn::Silent, Turn::Right(2_000)]);
    let two = Log::open(2).round("deltoid", &turns(&[(2, Turn::Right(3_000))]));
    let rehearsal = ReviewInfo { rehearsal: true, ended: false, ..info(2, 2, 1) };
    let reviews = vec![info(1, 3, 1), rehearsal];
    let report = Report::new(&catalogue(), reviews, &tally(&[one, two]));
    check_widths("few", |width| render::terminal(&report, width));
}

/// Names from clues and pictures, and movements from attachments.
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
    Log::open(1)
        .round("teres minor", &turns(&[(6, Turn::Right(4_000)), (2, Turn::Silent)]))
        .asking(Task::Picture)
        .round("teres minor", &turns(&picture))
        .asking(Task::Movement)
        .round("teres minor", &turns(&movement))
        .round("deltoid", &turns(&[(8, Turn::Moves("abduction", 1.0))]))
        .ended()
}

#[test]
fn a_class_with_all_tasks() {
    let tally = tally(&[class_of_all_tasks()]);
    let report = Report::new(&catalogue(), vec![info(1, 8, 4)], &tally);
    check_widths("all_tasks", |width| render::terminal(&report, width));
    insta::assert_snapshot!("all_tasks_csv", render::csv(&report).unwrap());
    let back: Report = serde_json::from_str(&render::json(&report)).unwrap();
    assert_eq!(back, report);
}

#[test]
fn movements_alone_have_a_headline() {
    let check = |turns: &[Turn], want: &str| {
        let log = Log::open(1).asking(Task::Movement).round("teres minor", turns);
        let report = Report::new(&catalogue(), vec![info(1, 9, 1)], &tally(&[log]));
        let page = render::terminal(&report, 120);
        assert_eq!(page.lines().next(), Some(want));
    };
    let right = Turn::Moves("lateral rotation", 1.0);
    check(&[right], "Nothing to re-teach: every answer was right.");
    check(
        &[right, Turn::Moves("flexion", 0.0)],
        "Re-teach first: what teres minor does. 1 of 2 had it right.",
    );
}

/// Names must be broken between words, whatever the width.
#[test]
fn long_names() {
    let name = "extensor carpi radialis longus";
    let said = "extensor carpi radialis brevis";
    let log = Log::open(1)
        .round(name, &turns(&[(120, Turn::Said(said, 0.2)), (3, Turn::Right(61_000))]))
        .round("sternocleidomastoid", &turns(&[(24, Turn::Right(1_000))]));
    let report = Report::new(&catalogue(), vec![info(1, 123, 1)], &tally(&[log]));
    check_widths("long", |width| render::terminal(&report, width));
}

#[test]
fn nothing_yet() {
    let page =
        |reviews| render::terminal(&Report::new(&catalogue(), reviews, &Tally::default()), 80);
    let pages =
        [page(Vec::new()), page(vec![info(1, 4, 0)]), page(vec![info(1, 4, 0), info(2, 0, 0)])];
    insta::assert_snapshot!(pages.join("\n"));
    let empty = Report::new(&catalogue(), Vec::new(), &Tally::default());
    insta::assert_snapshot!("nothing_csv", render::csv(&empty).unwrap());
    insta::assert_snapshot!("nothing_json", render::json(&empty));
}

#[test]
fn headlines() {
    let check = |groups: &[(usize, Turn)], want: &str| {
        let tally = tally(&[Log::open(1).round("teres minor", &turns(groups))]);
        let report = Report::new(&catalogue(), vec![info(1, 9, 1)], &tally);
        let page = render::terminal(&report, 120);
        assert_eq!(page.split_once("\n\n").unwrap().0.replace('\n', " "), want);
    };
    check(&[(9, Turn::Right(1))], "Nothing to re-teach: every answer was right.");
    check(
        &[(4, Turn::Right(1)), (5, Turn::Said("teres major", 0.1))],
        "Re-teach first: teres minor. 5 of 9 said teres major: teres minor rotates the arm \
         laterally, but teres major rotates the arm medially.",
    );
    check(
        &[(1, Turn::Said("teres major", 0.1)), (8, Turn::Silent)],
        "Re-teach first: teres minor. 8 of 9 gave no answer, 1 said teres major: teres minor \
         rotates the arm laterally, but teres major rotates the arm medially.",
    );
    check(&[(9, Turn::Silent)], "Re-teach first: teres minor. 9 of 9 gave no answer.");
    check(
        &[(5, Turn::Right(1)), (4, Turn::NoSuch("x"))],
        "Re-teach first: teres minor. 5 of 9 named it.",
    );
    check(
        &[(5, Turn::Right(1)), (4, Turn::Said("plantaris", 0.0))],
        "Re-teach first: teres minor. 4 of 9 said plantaris.",
    );
}

/// Only ids stand in the log, and not even those in a report.
#[test]
fn no_student_is_in_a_report() {
    let report = report_of_24();
    let pages =
        render::terminal(&report, 80) + &render::json(&report) + &render::csv(&report).unwrap();
    let mut ids = Vec::new();
    for logged in &class_of_24().events {
        if let Event::Answered(answer) = &logged.event {
            ids.push(answer.student.to_string());
        }
    }
    assert_eq!(ids.len(), 87);
    assert!(ids.iter().all(|id| !pages.contains(id)));
}

#[test]
fn what_one_student_typed_is_not_reported() {
    let report = report_of_24();
    let typed: Vec<&str> = report.unclear.iter().map(|form| form.typed.as_str()).collect();
    assert_eq!(typed, ["rotator cuff", "teres"]);
}

/// Where the muscle list has gone since, its muscles are still set apart.
#[test]
fn a_list_that_has_gone() {
    let without = include_str!("shoulder.toml").split("[[list]]").next().unwrap().to_owned();
    let file = myonym_content::problem::SourceFile { path: "a.toml".to_owned(), text: without };
    let catalogue = myonym_content::Catalogue::load(&[file]).unwrap();
    let report = Report::new(&catalogue, Vec::new(), &tally(&[class_of_24()]));
    let apart = report.pairs[0].apart.as_ref().unwrap();
    assert_eq!(
        (apart.aspect.as_str(), apart.first.as_str()),
        ("action", "rotates the arm laterally")
    );
}

#[test]
fn a_terminal_is_not_steered_by_text_from_outside() {
    let mut review = info(1, 25, 4);
    review.list = "\u{1b}[2Jshoulder\u{7}".to_owned();
    let report = Report::new(&catalogue(), vec![review.clone()], &tally(&[class_of_24()]));
    let pages = render::terminal(&report, 80) + &render::list(&[review], 80);
    assert!(pages.chars().all(|c| c == '\n' || !c.is_control()));
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

//! Analyses laid out for terminal, spreadsheet and program: looked at by eye, then kept.

use std::collections::BTreeSet;

use myonym_content::ListKey;
use myonym_engine::Event;
use myonym_insight::analysis::{Analysis, ReviewWords, analyse};
use myonym_insight::observe::{Observer, ReviewTag, Sitting};
use myonym_insight::render::analysis::{csv, html, json, terminal};
use myonym_wire::{ReviewId, StudentId};

use crate::class::{Log, catalogue, class_of_24};
use crate::samples::{ODD, all, all_right, course, empty, odd_names, three_students};

fn check_widths(name: &str, found: &Analysis) {
    for width in [60, 80, 120] {
        let page = terminal(found, width);
        check_lines(&page, width);
        insta::assert_snapshot!(format!("{name}_{width}"), page);
    }
}

fn check_lines(page: &str, width: u16) {
    for line in page.lines() {
        assert!(line.chars().count() <= usize::from(width), "{width}: {line}");
    }
}

#[test]
fn a_course_in_a_terminal() {
    check_widths("analysis_course", &course());
}

#[test]
fn three_students_in_a_terminal() {
    check_widths("analysis_three", &three_students());
}

#[test]
fn nothing_and_no_mistakes_in_a_terminal() {
    insta::assert_snapshot!("analysis_empty", terminal(&empty(), 80));
    insta::assert_snapshot!("analysis_all_right", terminal(&all_right(), 80));
}

#[test]
fn every_sample_fits_every_width() {
    for (_, found) in all() {
        for width in [0, 40, 60, 80, 120, u16::MAX] {
            check_lines(&terminal(&found, width), width.clamp(40, 120));
        }
    }
}

/// What stands first is what to teach.
#[test]
fn the_first_lines_say_what_to_teach() {
    let page = terminal(&course(), 80);
    let mut lines = page.lines();
    assert_eq!(lines.next(), Some("Teach again first: teres minor, taken for teres major."));
    assert_eq!(
        lines.next(),
        Some("Then infraspinatus, taken for supraspinatus. Then subclavius, often left")
    );
}

#[test]
fn bars_say_nothing_that_the_numbers_do_not() {
    let page = terminal(&course(), 80);
    let line = page.lines().find(|line| line.starts_with("axillary nerve")).unwrap();
    assert!(line.contains("19 of 71") && line.contains("27 % (18-38)") && line.contains('█'));
}

#[test]
fn a_terminal_is_not_steered() {
    for width in [60, 80, 120] {
        let page = terminal(&odd_names(), width);
        assert!(page.chars().all(|c| c == '\n' || !c.is_control()));
        assert!(!page.contains('\u{202e}'));
    }
}

#[test]
fn a_course_as_csv() {
    insta::assert_snapshot!("analysis_course_csv", csv(&course()).unwrap());
    insta::assert_snapshot!("analysis_empty_csv", csv(&empty()).unwrap());
}

/// RFC 4180: every record has the fields of the header, whatever stands in them.
#[test]
fn odd_text_stays_in_its_cell() {
    let text = csv(&odd_names()).unwrap();
    let mut reader = ::csv::Reader::from_reader(text.as_bytes());
    let width = reader.headers().unwrap().len();
    let mut seen = 0;
    for record in reader.records() {
        let record = record.unwrap();
        assert_eq!(record.len(), width);
        for field in &record {
            // OWASP, "CSV Injection".
            let number = field.parse::<f64>().is_ok();
            assert!(number || !field.starts_with(['=', '+', '-', '@', '\t', '\r']), "{field}");
            seen += usize::from(field.trim_start_matches('\'') == ODD[6]);
        }
    }
    assert!(seen > 5, "{seen}");
}

#[test]
fn json_reads_back() {
    for (name, found) in all() {
        let back: Analysis = serde_json::from_str(&json(&found)).unwrap();
        // Numbers may lose their last bit in text; text does not.
        assert_eq!(json(&back), json(&found), "{name}");
    }
    insta::assert_snapshot!("analysis_empty_json", json(&empty()));
}

/// A log read, analysed and laid out, as the host does it.
#[test]
fn a_log_becomes_a_report_that_names_nobody() {
    let log = class_of_24();
    let students = students(&log);
    assert_eq!(students.len(), 25);
    let mut observer = Observer::default();
    let tag = ReviewTag {
        review: ReviewId(uuid::Uuid::from_u128(1)),
        section: Some("Monday section".to_owned()),
        opened_s: 1_772_442_900,
        list: ListKey::new("shoulder"),
        adaptive: false,
    };
    let sitting = |student: &StudentId| Sitting { student: *student, person: None, group: None };
    observer.begin(tag, students.iter().map(sitting));
    log.events.iter().for_each(|logged| observer.event(&logged.event));
    let words = ReviewWords {
        word: "radius-talus".to_owned(),
        opened: "2026-03-02 09:15".to_owned(),
        list: "shoulder, introductory course".to_owned(),
    };
    let table = observer.finish();
    let found = analyse(&catalogue(), &table, &[words], Vec::new(), Vec::new());
    let page = terminal(&found, 80);
    check_lines(&page, 80);
    assert!(page.starts_with("Teach again first: teres minor, which few know."), "{page}");
    let pages = [page, html(&found), json(&found), csv(&found).unwrap()].concat();
    assert!(students.iter().all(|student| !pages.contains(&student.to_string())));
}

fn students(log: &Log) -> BTreeSet<StudentId> {
    let mut students = BTreeSet::new();
    for logged in &log.events {
        if let Event::Answered(answer) = &logged.event {
            students.insert(answer.student);
        }
    }
    students
}

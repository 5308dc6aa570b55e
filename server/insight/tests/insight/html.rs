//! The page: well-formed, self-contained, and as readable without its pictures as with them.

use std::collections::BTreeSet;

use myonym_insight::analysis::Analysis;
use myonym_insight::render::analysis::html;
use scraper::{ElementRef, Html, Selector};

use crate::samples::{ODD, all, all_right, course, empty, huge, odd_names, three_students};

fn parse(found: &Analysis) -> Html {
    let page = Html::parse_document(&html(found));
    assert_eq!(page.errors, Vec::<std::borrow::Cow<'_, str>>::new());
    page
}

fn select<'a>(page: &'a Html, css: &str) -> Vec<ElementRef<'a>> {
    page.select(&Selector::parse(css).unwrap()).collect()
}

fn within<'a>(element: ElementRef<'a>, css: &str) -> Vec<ElementRef<'a>> {
    element.select(&Selector::parse(css).unwrap()).collect()
}

fn text(element: ElementRef<'_>) -> String {
    element.text().collect::<Vec<_>>().concat()
}

/// The parser does complain where there is something to complain of.
#[test]
fn a_faulty_page_has_errors() {
    let faulty = |body: &str| {
        let page = format!("<!DOCTYPE html><html><head><title>x</title></head><body>{body}</html>");
        !Html::parse_document(&page).errors.is_empty()
    };
    assert!(!faulty("<div><p>x</p></div></body>"));
    assert!(faulty("<div><p>x</div></section></body>"));
    assert!(faulty("<table><p>x</p></table></body>"));
    assert!(faulty("<svg><g></svg></body>"));
    assert!(faulty("<a href='x' href='y'>x</a></body>"));
}

/// Parsed as the HTML standard says, with none of its parse errors.
#[test]
fn every_page_is_well_formed() {
    for (name, found) in all() {
        let page = parse(&found);
        assert_eq!(select(&page, "html[lang=en]").len(), 1, "{name}");
        assert_eq!(select(&page, "title").len(), select(&page, "svg").len() + 1, "{name}");
        let ids: Vec<_> = select(&page, "[id]").iter().filter_map(|e| e.attr("id")).collect();
        assert_eq!(ids.iter().collect::<BTreeSet<_>>().len(), ids.len(), "{name}: ids repeat");
    }
}

#[test]
fn nothing_comes_from_elsewhere_and_nothing_runs() {
    for (name, found) in all() {
        let page = parse(&found);
        for css in ["script", "link", "img", "iframe", "object", "embed", "base", "form", "use"] {
            assert_eq!(select(&page, css).len(), 0, "{name}: {css}");
        }
        for element in select(&page, "*") {
            for (attribute, value) in element.value().attrs() {
                assert!(!attribute.starts_with("on"), "{name}: {attribute}");
                if ["href", "src", "xlink:href", "action"].contains(&attribute) {
                    assert!(value.starts_with('#'), "{name}: {attribute}={value}");
                    assert_eq!(select(&page, value).len(), 1, "{name}: {value} leads nowhere");
                }
            }
        }
        let style = select(&page, "style").into_iter().map(text).collect::<String>();
        assert!(!style.contains("url(") && !style.contains("@import"), "{name}");
    }
}

/// WCAG 2.2, 1.3.1 and 2.4.6: landmarks, and headings that leave out no level.
#[test]
fn landmarks_and_headings_are_in_order() {
    for (name, found) in all() {
        let page = parse(&found);
        for landmark in ["body > header", "body > main", "body > footer"] {
            assert_eq!(select(&page, landmark).len(), 1, "{name}: {landmark}");
        }
        let levels: Vec<u32> = select(&page, "h1, h2, h3, h4, h5, h6")
            .iter()
            .map(|heading| heading.value().name()[1..].parse().unwrap())
            .collect();
        assert_eq!(levels.iter().filter(|level| **level == 1).count(), 1, "{name}");
        assert_eq!(levels[0], 1, "{name}");
        for pair in levels.windows(2) {
            assert!(pair[1] <= pair[0] + 1, "{name}: {levels:?}");
        }
        for section in select(&page, "main > section") {
            let label = section.attr("aria-labelledby").unwrap();
            assert_eq!(select(&page, &format!("h2#{label}")).len(), 1, "{name}: {label}");
        }
    }
}

/// WCAG 2.2, 1.1.1: a picture has a name, a description, and its numbers in a table.
#[test]
fn every_picture_has_words_and_a_table() {
    for (name, found) in all() {
        let page = parse(&found);
        for picture in select(&page, "svg") {
            assert_eq!(picture.attr("role"), Some("img"), "{name}");
            for attribute in ["aria-labelledby", "aria-describedby"] {
                let id = picture.attr(attribute).unwrap();
                let label = select(&page, &format!("svg > [id='{id}']"));
                assert!(!text(label[0]).trim().is_empty(), "{name}: {id}");
            }
        }
        let figures = select(&page, "figure");
        assert_eq!(figures.len(), select(&page, "svg").len(), "{name}");
        for figure in figures {
            assert_eq!(within(figure, "svg").len(), 1, "{name}");
            assert_eq!(within(figure, "figcaption").len(), 1, "{name}");
            assert_eq!(within(figure, "details > summary").len(), 1, "{name}");
            assert!(!within(figure, "details table tbody tr").is_empty(), "{name}");
        }
    }
    assert_eq!(select(&parse(&course()), "svg").len(), 7);
}

#[test]
fn every_table_has_a_caption_and_headers() {
    for (name, found) in all() {
        let page = parse(&found);
        for table in select(&page, "table") {
            let caption = within(table, "caption");
            assert_eq!(caption.len(), 1, "{name}");
            assert!(!within(table, "tbody td").is_empty(), "{name}: {}", text(caption[0]));
            let columns = within(table, "thead th[scope=col]").len();
            assert!(columns >= 2, "{name}: {}", text(caption[0]));
            if table.attr("class") != Some("contrast") {
                for row in within(table, "tbody tr") {
                    assert_eq!(within(row, "th[scope=row]").len(), 1, "{name}");
                    assert_eq!(within(row, "th, td").len(), columns, "{name}");
                }
            }
        }
    }
}

/// What the analysis holds stands in the text of the page, not only in pictures.
#[test]
fn the_numbers_stand_in_tables() {
    let page = parse(&course());
    let tables: String = select(&page, "table").into_iter().map(text).collect();
    for pair in &course().pairs {
        assert!(tables.contains(&format!("{} → {}", pair.asked.name, pair.said.name)));
        assert!(tables.contains(&format!("{} of {}", pair.count, pair.of)));
    }
    for cue in &course().cues {
        assert!(tables.contains(&cue.about), "{}", cue.about);
    }
    let rows = |css: &str| select(&page, css).len();
    assert_eq!(rows("#progress tbody tr"), course().progress.len());
    assert_eq!(rows("#areas tbody tr"), course().areas.len());
    assert_eq!(rows("#confusions figure tbody tr"), course().map.cells.len());
}

#[test]
fn the_page_begins_with_what_to_teach() {
    let check = |found: &Analysis, want: &str| {
        let page = parse(found);
        assert_eq!(text(select(&page, "body > header > h1")[0]), want);
    };
    check(&course(), "Teach again first: teres minor, taken for teres major");
    check(&empty(), "Nothing to report yet");
    check(&all_right(), "Nothing to teach again: every answer was right");
    let page = parse(&course());
    let first = select(&page, "main > section")[0];
    assert_eq!(first.attr("id"), Some("teach"));
    let titles: Vec<String> = within(first, ".cards > li > h3").into_iter().map(text).collect();
    assert_eq!(
        titles,
        [
            "1. teres minor, taken for teres major",
            "2. infraspinatus, taken for supraspinatus",
            "3. subclavius, often left unanswered"
        ]
    );
    let sides: Vec<String> =
        within(first, ".cards > li:first-child td").into_iter().map(text).collect();
    assert_eq!(sides[..2], ["rotates the arm laterally", "rotates the arm medially"]);
}

#[test]
fn a_small_class_is_warned_of_in_words() {
    let page = parse(&three_students());
    let note = text(select(&page, "body > header > .note")[0]);
    assert!(note.starts_with("Beware: 3 students are too few"), "{note}");
    assert_eq!(select(&parse(&course()), ".note").len(), 0);
}

/// Text from outside is text: none of it becomes an element or an attribute.
#[test]
fn odd_text_stays_text() {
    let (odd, plain) = (odd_names(), course());
    let (page, other) = (parse(&odd), parse(&plain));
    let attributes = |page: &Html| {
        let of = |element: &ElementRef<'_>| {
            element.value().attrs().map(|(name, _)| name.to_owned()).collect::<Vec<_>>()
        };
        select(page, "*").iter().flat_map(of).collect::<BTreeSet<_>>()
    };
    assert_eq!(attributes(&page), attributes(&other));
    let elements = |page: &Html| {
        let names = select(page, "*").iter().map(|e| e.value().name().to_owned()).collect();
        let names: BTreeSet<String> = names;
        names
    };
    assert_eq!(elements(&page), elements(&other));
    let body = text(select(&page, "body")[0]);
    for piece in [ODD[0], ODD[1], ODD[2], ODD[3], ODD[7]] {
        assert!(body.contains(piece), "{piece}");
    }
    let markup = html(&odd);
    assert!(markup.chars().all(|c| c == '\n' || !c.is_control()));
    assert!(!markup.contains('\u{202e}'));
}

/// A page of the largest course is still a page to send: its size is bounded by its rows.
#[test]
fn a_large_course_draws_what_can_be_read() {
    let page = parse(&huge());
    assert_eq!(select(&page, "#confusions svg .end").len(), 28);
    assert_eq!(select(&page, "#items figure tbody tr").len(), 186);
    assert!(text(select(&page, "#confusions figcaption")[0]).contains("28 muscles"));
    assert_eq!(select(&page, "#progress svg .others").len(), 6 * 5);
}

//! The analysis as one page for a browser and a printer: it needs no script, no other file and no
//! network, and says in its tables all that its pictures show.

mod appendix;
mod bars;
mod confusions;
mod figure;
mod heat_map;
mod item_plot;
mod items;
mod labels;
mod marks;
mod others;
mod palette;
mod progress;
mod shares;
mod style;
mod tables;
mod teach;

use maud::{DOCTYPE, Markup, PreEscaped, html as markup};

use super::super::text::plain;
use super::words;
use crate::analysis::Analysis;

/// The analysis as a self-contained page: HTML with its style and its pictures in it.
///
/// Text from outside cannot become markup: it is escaped where it is put in, the page forbids
/// scripts and anything from elsewhere, and no control character or mark that turns the direction
/// of writing is left in it.
pub fn html(found: &Analysis) -> String {
    let headline = words::headline(found);
    let page = markup! {
        (DOCTYPE)
        html lang="en" {
            (head(&headline))
            body {
                header { (top(found, &headline)) }
                main { (sections(found)) }
                footer {
                    p { "Made by Myonym from the log of answers. It names no student." }
                }
            }
        }
    };
    // Line feeds are the page's own; whatever else is left of them came from outside.
    let lines: Vec<String> = page.into_string().split('\n').map(plain).collect();
    lines.join("\n")
}

/// A page that says one thing, in the style of a report: why there is none.
pub fn note(text: &str) -> String {
    let page = markup! {
        (DOCTYPE)
        html lang="en" {
            (head("No report"))
            body {
                header { h1 { "This could not be made" } p { (text) } }
            }
        }
    };
    page.into_string().split('\n').map(plain).collect::<Vec<_>>().join("\n")
}

fn head(title: &str) -> Markup {
    markup! {
        head {
            meta charset="utf-8";
            meta http-equiv="Content-Security-Policy"
                content="default-src 'none'; style-src 'unsafe-inline'";
            meta name="viewport" content="width=device-width, initial-scale=1";
            meta name="color-scheme" content="light dark";
            title { (title) " - Myonym" }
            style { (PreEscaped(style::sheet())) }
        }
    }
}

fn top(found: &Analysis, headline: &str) -> Markup {
    markup! {
        h1 { (headline) }
        @if let Some(next) = words::afterwards(found) {
            p.next { (next) }
        }
        @if words::is_empty(found) {
            p { (words::NOTHING_YET) }
        } @else {
            p.basis { (words::basis(found)) }
        }
        @for note in words::notes(found) {
            p.note { strong { "Beware: " } (note) }
        }
    }
}

fn sections(found: &Analysis) -> Markup {
    let sections = [
        ("teach", "What to teach again", teach::section(found)),
        ("confusions", "Which muscles are taken for which", confusions::section(found)),
        ("contrasts", "Two muscles told apart", others::contrasts(found)),
        ("items", "Hardest muscles", items::section(found)),
        ("cues", "What the class overlooks in clues", shares::cues(found)),
        ("areas", "Strong and weak areas", shares::areas(found)),
        ("progress", "How the sections come on", progress::section(found)),
        ("movements", "Movements told from attachments", others::movements(found)),
        ("spelling", "Misspelt names", others::forms(found)),
        ("unclear", "Names typed that were no answer", others::unclear(found)),
        ("reliability", "How far the marks can be trusted", others::reliability(found)),
        ("how", "How to read this", others::how_to_read(found)),
        ("appendix", "All numbers", appendix::section(found)),
    ];
    let shown: Vec<_> = sections
        .into_iter()
        .filter_map(|(id, title, body)| body.map(|body| (id, title, body)))
        .collect();
    markup! {
        @for (place, (id, title, body)) in shown.iter().enumerate() {
            section id=(id) aria-labelledby={ (id) "-title" } {
                h2 id={ (id) "-title" } { (title) }
                (body)
            }
            @if place == 0 { (contents(&shown)) }
        }
    }
}

fn contents(shown: &[(&str, &str, Markup)]) -> Markup {
    markup! {
        nav aria-label="On this page" {
            ul {
                @for (id, title, _) in shown.iter().skip(1) {
                    li { a href={ "#" (id) } { (title) } }
                }
            }
        }
    }
}

//! How each section came on from review to review.

use maud::{Markup, html};

use super::super::super::text::{count, number_of};
use super::super::words;
use super::figure::{Picture, Px, TEXT, figure, short, text_width};
use super::labels::spread;
use super::marks::{SHAPES, mark};
use super::tables::{Holds, number, percent, signed, table, text};
use crate::analysis::{Analysis, Progress};

/// One drawing for all sections, with their names beside their lines.
const ALONE: Frame = Frame { left: 46.0, right: 470.0, top: 26.0, bottom: 292.0 };
const ALONE_SIZE: (f64, f64) = (640.0, 320.0);
/// More lines in one drawing than this run into each other: each section then has its own.
const TOGETHER: usize = 2;
/// Size of a section's own drawing, two in a row.
const PANEL: (f64, f64) = (320.0, 190.0);
/// Room for the name of a section, and for a date.
const NAME: f64 = 145.0;
/// There are no more shapes than this.
const MOST: usize = SHAPES.len();

/// The figure; `None` if nothing is known of any section.
pub(super) fn section(found: &Analysis) -> Option<Markup> {
    if found.progress.is_empty() {
        return None;
    }
    let sections = words::by_section(&found.progress);
    let shown = &sections[..sections.len().min(MOST)];
    let scale = Scale::over(shown);
    let (size, drawn) = if shown.len() <= TOGETHER {
        (ALONE_SIZE, together(&scale, shown))
    } else {
        apart(&scale, shown)
    };
    let picture = Picture {
        id: "course",
        title: "Progress of the sections",
        description: &description(shown),
        size,
        drawn,
    };
    let caption = html! {
        "The share that a section would name of the mean muscle, all muscles and reviews on one \
         scale, so that a hard review does not look like a step back. Bars: 95 % interval. Who \
         was absent is not counted."
        @if shown.len() > TOGETHER { " Thin lines: the other sections." }
        @if shown.len() < sections.len() {
            " Shown are the first " (shown.len()) " of " (sections.len()) " sections."
        }
    };
    Some(figure(&picture, &caption, &numbers(&sections)))
}

fn description(sections: &[Section<'_>]) -> String {
    let came_on = sections.iter().filter_map(|(name, points)| {
        let (first, last) = (points.first()?, points.last()?);
        Some(format!(
            "{name}: from {} to {} in {}.",
            percent(first.as_share),
            percent(last.as_share),
            number_of(count(points.len()), "review"),
        ))
    });
    came_on.collect::<Vec<_>>().join(" ")
}

fn numbers(sections: &[Section<'_>]) -> Markup {
    let columns = [
        ("Section", Holds::Text),
        ("Opened", Holds::Text),
        ("Students", Holds::Number),
        ("Share of the mean muscle", Holds::Number),
        ("Logits, 95 % interval", Holds::Number),
    ];
    let rows = sections.iter().flat_map(|(name, points)| {
        points.iter().map(|point| {
            let Progress { ability, low, high, .. } = point;
            vec![
                text(name),
                text(&point.opened),
                number(point.persons),
                text(&percent(point.as_share)),
                html! { (signed(*ability)) " (" (signed(*low)) " to " (signed(*high)) ")" },
            ]
        })
    });
    table("Progress in numbers", &columns, rows)
}

/// A section by name, with its reviews in order of time.
type Section<'a> = (&'a str, Vec<&'a Progress>);

/// The room between the axes.
#[derive(Debug, Clone, Copy)]
struct Frame {
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
}

/// What the axes reach over.
#[derive(Debug, Clone, Copy)]
struct Scale {
    first: i64,
    last: i64,
    low: f64,
    high: f64,
}

impl Scale {
    fn over(sections: &[Section<'_>]) -> Self {
        let points = || sections.iter().flat_map(|(_, points)| points);
        let low = points().map(|point| point.low).fold(-0.9, f64::min);
        let high = points().map(|point| point.high).fold(0.9, f64::max);
        Self {
            first: points().map(|point| point.opened_s).min().unwrap_or_default(),
            last: points().map(|point| point.opened_s).max().unwrap_or_default(),
            low: low - 0.1,
            high: high + 0.1,
        }
    }

    #[expect(clippy::cast_precision_loss, reason = "seconds of a course are few")]
    fn x(&self, frame: Frame, opened_s: i64) -> f64 {
        let inset = 16.0;
        let whole = self.last.saturating_sub(self.first);
        if whole == 0 {
            return f64::midpoint(frame.left, frame.right);
        }
        let part = opened_s.saturating_sub(self.first) as f64 / whole as f64;
        frame.left + inset + part * (frame.right - frame.left - 2.0 * inset)
    }

    fn y(&self, frame: Frame, ability: f64) -> f64 {
        frame.bottom - (ability - self.low) / (self.high - self.low) * (frame.bottom - frame.top)
    }
}

/// All sections in one drawing, named at the ends of their lines.
fn together(scale: &Scale, sections: &[Section<'_>]) -> Markup {
    let end = |points: &[&Progress]| {
        points.last().map_or(ALONE.bottom, |last| scale.y(ALONE, last.ability)) + 4.5
    };
    let ends: Vec<f64> = sections.iter().map(|(_, points)| end(points)).collect();
    let ends = spread(&ends, 16.0, ALONE.top + 4.0, ALONE.bottom);
    html! {
        (axes(scale, ALONE))
        (dates(scale, ALONE, sections))
        text x="0" y="13" class="soft" { (UPWARDS) }
        @for (place, (name, points)) in sections.iter().enumerate() {
            (line(scale, ALONE, points, place))
            (mark(SHAPES[place], ALONE.right + 10.0, ends[place] - 4.5, &class(place)))
            text x=(Px(ALONE.right + 21.0)) y=(Px(ends[place])) { (short(name, NAME)) }
        }
    }
}

/// A drawing for each section, with the lines of the others thin behind its own.
fn apart(scale: &Scale, sections: &[Section<'_>]) -> ((f64, f64), Markup) {
    let (width, height) = PANEL;
    let frame = |place: usize| {
        let (row, column) = (count(place / 2), count(place % 2));
        let (left, top) = (f64::from(column) * width, 20.0 + f64::from(row) * height);
        Frame {
            left: left + 46.0,
            right: left + width - 6.0,
            top: top + 22.0,
            bottom: top + height - 30.0,
        }
    };
    let rows = f64::from(count(sections.len().div_ceil(2)));
    let drawn = html! {
        text x="0" y="13" class="soft" { (UPWARDS) }
        @for (place, own) in sections.iter().enumerate() {
            @let frame = frame(place);
            (axes(scale, frame))
            (dates(scale, frame, sections))
            @for (_, points) in sections.iter().filter(|other| other.0 != own.0) {
                path d=(path(scale, frame, points)) class="others" {}
            }
            (line(scale, frame, &own.1, place))
            (mark(SHAPES[place], frame.left + 8.0, frame.top - 8.0, &class(place)))
            text x=(Px(frame.left + 20.0)) y=(Px(frame.top - 3.5)) class="named" {
                (short(own.0, NAME))
            }
        }
    };
    ((2.0 * width, 20.0 + rows * height), drawn)
}

const UPWARDS: &str = "share right on the mean muscle ↑";

fn class(place: usize) -> String {
    format!("line-{} dash-{}", place % 4 + 1, place / 4)
}

fn path(scale: &Scale, frame: Frame, points: &[&Progress]) -> String {
    let at = |point: &&Progress| {
        let (x, y) = (scale.x(frame, point.opened_s), scale.y(frame, point.ability));
        format!("{} {}", Px(x), Px(y))
    };
    format!("M{}", points.iter().map(at).collect::<Vec<_>>().join("L"))
}

fn line(scale: &Scale, frame: Frame, points: &[&Progress], place: usize) -> Markup {
    let class = class(place);
    html! {
        path d=(path(scale, frame, points)) class={ "line " (class) } {}
        @for point in points {
            @let x = scale.x(frame, point.opened_s);
            path d={ "M" (Px(x)) " " (Px(scale.y(frame, point.low)))
                "V" (Px(scale.y(frame, point.high))) } class={ "interval " (class) } {}
            (mark(SHAPES[place], x, scale.y(frame, point.ability), &class))
        }
    }
}

/// Lines at even shares, which lie unevenly on the scale of logits.
fn axes(scale: &Scale, frame: Frame) -> Markup {
    // The roundest first: a line that would crowd them is left out.
    let shares: [f64; 13] = [0.5, 0.2, 0.8, 0.4, 0.6, 0.3, 0.7, 0.1, 0.9, 0.05, 0.95, 0.02, 0.98];
    let mut lines: Vec<(f64, f64)> = Vec::new();
    for share in shares {
        let logit = (share / (1.0 - share)).ln();
        let y = scale.y(frame, logit);
        let free = lines.iter().all(|(_, other)| (y - other).abs() >= TEXT * 1.4);
        if free && (scale.low..=scale.high).contains(&logit) {
            lines.push((share, y));
        }
    }
    html! {
        @for (share, y) in lines {
            path class={ @if (share - 0.5).abs() < 1e-9 { "axis" } @else { "grid" } }
                d={ "M" (Px(frame.left)) " " (Px(y)) "H" (Px(frame.right)) } {}
            text x=(Px(frame.left - 6.0)) y=(Px(y + 4.5)) class="soft end" { (percent(share)) }
        }
    }
}

/// Dates below, as many as have room.
fn dates(scale: &Scale, frame: Frame, sections: &[Section<'_>]) -> Markup {
    let mut dates: Vec<(f64, String)> = sections
        .iter()
        .flat_map(|(_, points)| points)
        .map(|point| {
            let date = point.opened.split_whitespace().next().unwrap_or_default();
            (scale.x(frame, point.opened_s), short(date, NAME))
        })
        .collect();
    dates.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.cmp(&b.1)));
    let mut free = f64::MIN;
    dates.retain(|(x, date)| {
        let half = text_width(date) / 2.0;
        let room = x - half >= free && x + half <= frame.right + 12.0;
        if room {
            free = x + half + 8.0;
        }
        room
    });
    html! {
        path class="axis"
            d={ "M" (Px(frame.left)) " " (Px(frame.bottom)) "H" (Px(frame.right)) } {}
        @for (x, date) in &dates {
            path class="axis" d={ "M" (Px(*x)) " " (Px(frame.bottom)) "v5" } {}
            text x=(Px(*x)) y=(Px(frame.bottom + 20.0)) class="soft middle" { (date) }
        }
    }
}

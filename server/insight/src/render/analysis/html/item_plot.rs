//! Every muscle by how hard it is and how far it goes with knowing the rest.

use maud::{Markup, html};

use super::super::super::text::count;
use super::super::words;
use super::figure::{Picture, Px, TEXT, figure, short};
use super::labels::{Area, Wanted, place};
use super::marks::{Shape, mark};
use super::tables::{Holds, number, or_dash, percent, signed, table, text};
use crate::analysis::{FlagKind, Item};

const SIZE: (f64, f64) = (600.0, 400.0);
const LEFT: f64 = 46.0;
const RIGHT: f64 = 568.0;
const TOP: f64 = 26.0;
const BOTTOM: f64 = 356.0;
/// Room for a name.
const NAME: f64 = 190.0;
/// More named points than this make a thicket; the rest are dots.
const MOST_NAMED: usize = 24;
/// Height of a row of the key.
const KEY_ROW: f64 = 20.0;

/// A muscle that can be drawn.
struct Point<'a> {
    rank: String,
    name: String,
    item: &'a Item,
    shape: Shape,
    at: (f64, f64),
}

/// The figure; `None` if no muscle has a correlation.
pub(super) fn item_plot(items: &[Item]) -> Option<Markup> {
    let lowest = items.iter().filter_map(|item| item.rest_correlation).reduce(f64::min)?;
    let (low, high) = ((lowest * 4.0).floor() / 4.0, 1.0);
    let low = low.clamp(-1.0, -0.25);
    let y = |value: f64| BOTTOM - (value - low) / (high - low) * (BOTTOM - TOP);
    let points: Vec<Point<'_>> = items
        .iter()
        .enumerate()
        .filter_map(|(place, item)| {
            let rest = item.rest_correlation?;
            let flag = item.flags.first().map(|flag| flag.kind);
            Some(Point {
                rank: (place + 1).to_string(),
                name: short(&item.muscle.name, NAME),
                item,
                shape: shape(flag),
                at: (LEFT + item.difficulty.value * (RIGHT - LEFT), y(rest)),
            })
        })
        .collect();
    let (drawn, named) = draw(&points, low, y);
    let flagged = points.iter().filter(|point| !point.item.flags.is_empty()).count();
    let description = format!(
        "Each mark is a muscle. From left to right it gets easier, upwards it goes more with \
         knowing the rest. {} muscles, {flagged} with a flag. The hardest is {}.",
        points.len(),
        items.first().map_or("", |item| &item.muscle.name),
    );
    let title = "Muscles by difficulty and by how they go with the rest";
    let rows = f64::from(count(kinds(&points).len().div_ceil(2)));
    let size = (SIZE.0, SIZE.1 + rows * KEY_ROW);
    let picture = Picture { id: "plot", title, description: &description, size, drawn };
    let caption = html! {
        "Upper left: hard, and known by those who know the rest: teach these again. Low, whether \
         left or right: being right has little to do with knowing the rest, so look at the \
         question first. The shape of a mark is its flag; numbers are places among the hardest."
        @if named < points.len() {
            " " (points.len() - named) " without a name here stand in the numbers."
        }
        @if points.len() < items.len() {
            " " (items.len() - points.len()) " have no correlation and are not drawn."
        }
    };
    Some(figure(&picture, &caption, &numbers(items)))
}

fn numbers(items: &[Item]) -> Markup {
    let columns = [
        ("Muscle", Holds::Text),
        ("Place", Holds::Number),
        ("Share right", Holds::Number),
        ("Goes with the rest", Holds::Number),
        ("Flags", Holds::Text),
    ];
    let rows = items.iter().enumerate().map(|(place, item)| {
        vec![
            text(&item.muscle.name),
            number(place + 1),
            text(&percent(item.difficulty.value)),
            or_dash(item.rest_correlation.map(signed)),
            text(&words::flags(item)),
        ]
    });
    table("Muscles by difficulty, in numbers", &columns, rows)
}

/// The drawing, and how many points have a name in it.
fn draw(points: &[Point<'_>], low: f64, y: impl Fn(f64) -> f64) -> (Markup, usize) {
    // Flagged muscles come first, then the hardest. In a crowd the others have no label.
    let mut order: Vec<&Point<'_>> = points.iter().collect();
    order.sort_by_key(|point| point.item.flags.is_empty());
    let wanted: Vec<Wanted<'_>> = order
        .iter()
        .enumerate()
        .map(|(place, point)| {
            let (name, rank) = (point.name.as_str(), point.rank.as_str());
            let texts = if place < MOST_NAMED { vec![name, rank] } else { Vec::new() };
            Wanted { at: point.at, texts }
        })
        .collect();
    let room =
        Area { left: LEFT, top: TOP - 8.0, width: SIZE.0 - LEFT, height: BOTTOM - TOP + 8.0 };
    let labels = place(&wanted, &room);
    let is_name = |label: &super::labels::Label<'_>| label.text.parse::<usize>().is_err();
    let named = labels.iter().flatten().filter(|label| is_name(label)).count();
    let drawn = html! {
        (axes(low, y))
        @for (point, wanted) in order.iter().zip(&wanted) {
            @if wanted.texts.is_empty() {
                circle cx=(Px(point.at.0)) cy=(Px(point.at.1)) r="2.5" class="dot" {}
            }
        }
        @for (point, wanted) in order.iter().zip(&wanted) {
            @if !wanted.texts.is_empty() {
                (mark(point.shape, point.at.0, point.at.1, class(point.shape)))
            }
        }
        @for label in labels.iter().flatten() {
            text x=(Px(label.x)) y=(Px(label.y)) class="named" { (label.text) }
        }
        (key(&kinds(points)))
    };
    (drawn, named)
}

fn axes(low: f64, y: impl Fn(f64) -> f64) -> Markup {
    let quarters = [-1.0, -0.75, -0.5, -0.25, 0.0, 0.25, 0.5, 0.75, 1.0];
    html! {
        @for value in quarters.into_iter().filter(|value| *value >= low) {
            path class={ @if value == 0.0 { "axis" } @else { "grid" } }
                d={ "M" (Px(LEFT)) " " (Px(y(value))) "H" (Px(RIGHT)) } {}
            text x=(Px(LEFT - 6.0)) y=(Px(y(value) + 4.5)) class="soft end" { (signed(value)) }
        }
        @for share in [0.0, 0.25, 0.5, 0.75, 1.0] {
            @let x = LEFT + share * (RIGHT - LEFT);
            path class="grid" d={ "M" (Px(x)) " " (Px(TOP)) "V" (Px(BOTTOM)) } {}
            text x=(Px(x)) y=(Px(BOTTOM + 17.0)) class="soft middle" { (percent(share)) }
        }
        text x="0" y="13" class="soft" { "goes with the rest (correlation) ↑" }
        text x=(Px(RIGHT)) y=(Px(BOTTOM + 34.0)) class="soft end" { "share right, easier →" }
    }
}

/// The flags that occur, none first, each once.
fn kinds(points: &[Point<'_>]) -> Vec<Option<FlagKind>> {
    let mut kinds: Vec<Option<FlagKind>> =
        points.iter().map(|point| point.item.flags.first().map(|flag| flag.kind)).collect();
    kinds.sort_unstable();
    kinds.dedup();
    kinds
}

/// What the shapes mean, in two columns below.
fn key(kinds: &[Option<FlagKind>]) -> Markup {
    let top = BOTTOM + 34.0 + TEXT;
    html! {
        @for (place, kind) in kinds.iter().enumerate() {
            @let row = f64::from(count(place / 2));
            @let x = if place % 2 == 0 { LEFT } else { LEFT + 250.0 };
            @let y = top + 8.0 + row * KEY_ROW;
            (mark(shape(*kind), x + 6.0, y, class(shape(*kind))))
            text x=(Px(x + 20.0)) y=(Px(y + 4.5)) { (kind.map_or("no flag", words::flag)) }
        }
    }
}

fn shape(kind: Option<FlagKind>) -> Shape {
    match kind {
        None => Shape::Circle,
        Some(FlagKind::KeyedWrong) => Shape::Triangle,
        Some(FlagKind::Ambiguous) => Shape::Diamond,
        Some(FlagKind::NotDiscriminating) => Shape::Square,
        Some(FlagKind::TooEasy) => Shape::Plus,
        Some(FlagKind::TooHard) => Shape::Cross,
        Some(FlagKind::RunsOut) => Shape::Wedge,
        Some(FlagKind::Spelling) => Shape::Star,
    }
}

fn class(shape: Shape) -> &'static str {
    if shape == Shape::Circle { "plain" } else { "flagged" }
}

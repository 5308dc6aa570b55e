//! Who is taken for whom, as a map: rows are the muscle asked, columns the muscle answered.

use std::collections::{BTreeMap, BTreeSet};

use maud::{Markup, html};

use super::figure::{Picture, Px, figure, short, text_width};
use super::tables::{Holds, of, table, text};
use crate::analysis::{Cell, ConfusionMap, Named};

/// With more muscles the numbers in the cells could not be read on paper.
const MOST: usize = 28;
const CELL: f64 = 28.0;
/// Room for a name.
const NAME: f64 = 170.0;
/// From these shares on a cell is of the next step.
const STEPS: [f64; 3] = [0.1, 0.25, 0.4];

/// The figure; `None` if nobody was taken for anybody.
pub(super) fn heat_map(map: &ConfusionMap) -> Option<Markup> {
    let mut wrong: Vec<&Cell> =
        map.cells.iter().filter(|cell| cell.asked != cell.said && cell.count > 0).collect();
    wrong.sort_by_key(|cell| (u32::MAX - cell.count, cell.asked, cell.said));
    let worst = wrong.first()?;
    let shown = most_confused(map, &wrong);
    let name = |place: u16| map.muscles.get(usize::from(place)).map_or("", |named| &named.name);
    let description = format!(
        "A table in colours. The row is the muscle asked, the column the muscle answered. \
         Most often {} was answered for {}: {} of {}.",
        name(worst.said),
        name(worst.asked),
        worst.count,
        worst.of
    );
    let (size, drawn) = draw(map, &shown);
    let picture =
        Picture { id: "map", title: "Confusion map", description: &description, size, drawn };
    let caption = html! {
        "How often the muscle of the column was answered when that of the row was asked (in \
         brackets, how many answers there were). Striped: right. The darker or stronger a cell, the \
         larger the share. Neighbours stand together: a block of numbers is a group to teach \
         side by side."
        @if shown.len() < map.muscles.len() {
            " Shown are the " (shown.len()) " muscles confused most of " (map.muscles.len()) "."
        }
    };
    let columns = [("Asked", Holds::Text), ("Answered", Holds::Text), ("Answers", Holds::Number)];
    let drawn = |cell: &&Cell| shown.contains(&cell.asked) && shown.contains(&cell.said);
    let mut cells: Vec<&Cell> =
        map.cells.iter().filter(|cell| cell.count > 0).filter(drawn).collect();
    cells.sort_by_key(|cell| (cell.asked, u32::MAX - cell.count, cell.said));
    let rows = cells.into_iter().map(|cell| {
        let right = if cell.asked == cell.said { " (right)" } else { "" };
        let said = html! { (name(cell.said)) (right) };
        vec![text(name(cell.asked)), said, of(cell.count, cell.of)]
    });
    Some(figure(&picture, &caption, &table("Confusion map in numbers", &columns, rows)))
}

/// The places of the muscles to show, in the order of the map: those of the commonest confusions.
fn most_confused(map: &ConfusionMap, wrong: &[&Cell]) -> Vec<u16> {
    let all = map.muscles.len();
    if all <= MOST {
        return (0u16..).take(all).collect();
    }
    let mut shown = BTreeSet::new();
    for cell in wrong {
        let more = [cell.asked, cell.said].iter().filter(|place| !shown.contains(*place)).count();
        if shown.len() + more <= MOST {
            shown.extend([cell.asked, cell.said]);
        }
    }
    shown.into_iter().collect()
}

fn draw(map: &ConfusionMap, shown: &[u16]) -> ((f64, f64), Markup) {
    let asked: BTreeMap<u16, u32> = map.cells.iter().map(|cell| (cell.asked, cell.of)).collect();
    let name = |place: &u16| {
        let name = map.muscles.get(usize::from(*place)).map_or("", |Named { name, .. }| name);
        short(name, NAME)
    };
    let row = |place: &u16| match asked.get(place) {
        Some(of) => format!("{} ({of})", name(place)),
        None => format!("{} (0)", name(place)),
    };
    let widest = |texts: Vec<String>| texts.iter().map(|t| text_width(t)).fold(0.0, f64::max);
    let left = widest(shown.iter().map(row).collect()) + 10.0;
    // Names of columns rise at 50 degrees to the right.
    let slanted = widest(shown.iter().map(name).collect());
    let top = slanted * 0.77 + 16.0;
    let at = |place: usize| f64::from(u32::try_from(place).unwrap_or_default()) * CELL;
    let side = at(shown.len());
    let columns: BTreeMap<u16, f64> =
        shown.iter().enumerate().map(|(place, muscle)| (*muscle, at(place))).collect();
    let cells = map.cells.iter().filter(|cell| cell.count > 0);
    let drawn = html! {
        defs {
            pattern id="right" width="5" height="5" patternUnits="userSpaceOnUse"
                patternTransform="rotate(45)" {
                rect width="2" height="5" class="stripe" {}
            }
        }
        @for (place, muscle) in shown.iter().enumerate() {
            @let middle = at(place) + CELL / 2.0;
            text x=(Px(left - 8.0)) y=(Px(top + middle + 4.5)) class="end" { (row(muscle)) }
            text transform={ "translate(" (Px(left + middle)) " " (Px(top - 6.0)) ") rotate(-50)" } {
                (name(muscle))
            }
        }
        @for place in 0..=shown.len() {
            path class="grid" d={ "M" (Px(left)) " " (Px(top + at(place))) "h" (Px(side))
                "M" (Px(left + at(place))) " " (Px(top)) "v" (Px(side)) } {}
        }
        @for cell in cells {
            @if let (Some(y), Some(x)) = (columns.get(&cell.asked), columns.get(&cell.said)) {
                (one(cell, left + x, top + y))
            }
        }
        (key(left, top + side + 26.0))
    };
    ((left + (side + slanted * 0.66).max(KEY), top + side + 40.0), drawn)
}

fn one(cell: &Cell, x: f64, y: f64) -> Markup {
    let (middle, base) = (Px(x + CELL / 2.0), Px(y + CELL / 2.0 + 4.5));
    if cell.asked == cell.said {
        return html! {
            (right(x, y))
            text x=(middle) y=(base) class="middle" { (cell.count) }
        };
    }
    let share = f64::from(cell.count) / f64::from(cell.of.max(1));
    let step = 1 + STEPS.iter().filter(|from| share >= **from).count();
    html! {
        rect x=(Px(x + 1.0)) y=(Px(y + 1.0)) width=(Px(CELL - 2.0)) height=(Px(CELL - 2.0))
            class={ "heat heat-" (step) } {}
        text x=(middle) y=(base) class={ "middle on-heat-" (step) } { (cell.count) }
    }
}

/// A striped frame round plain paper, so that a number on it can be read.
fn right(x: f64, y: f64) -> Markup {
    html! {
        rect x=(Px(x)) y=(Px(y)) width=(Px(CELL)) height=(Px(CELL)) fill="url(#right)" {}
        rect x=(Px(x + 3.0)) y=(Px(y + 4.0)) width=(Px(CELL - 6.0)) height=(Px(CELL - 8.0))
            class="paper" {}
    }
}

/// What the cells mean, in a row below.
fn key(left: f64, y: f64) -> Markup {
    let steps = ["below 10 %", "10 %", "25 %", "40 % and more"];
    html! {
        @for (place, words) in (0u8..).zip(steps) {
            @let x = left + [0.0, 100.0, 164.0, 228.0][usize::from(place)];
            rect x=(Px(x)) y=(Px(y - 12.0)) width="14" height="14"
                class={ "heat heat-" (place + 1) } {}
            text x=(Px(x + 19.0)) y=(Px(y)) { (words) }
        }
        rect x=(Px(left + 362.0)) y=(Px(y - 12.0)) width="14" height="14" fill="url(#right)" {}
        text x=(Px(left + 381.0)) y=(Px(y)) { "right" }
    }
}

/// Width of the key.
const KEY: f64 = 420.0;

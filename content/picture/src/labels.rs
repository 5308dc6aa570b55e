//! Where words stand, so that they hide neither each other nor what they name.

use myonym_wire::{Label, Part};

use crate::flat::{Flat, Window, apart, between, off_piece, plus, times};
use crate::layout::ABOVE;
use crate::outline::{Ring, inside};

/// Words that look for a place.
#[derive(Debug, Clone)]
pub(crate) struct Wanted {
    pub(crate) part: Part,
    /// What they name.
    pub(crate) at: Flat,
    pub(crate) words: String,
}

/// What labels keep away from.
#[derive(Debug, Clone, Default)]
pub(crate) struct Drawn {
    /// Marks, with their radius.
    pub(crate) marks: Vec<(Flat, f64)>,
    /// Lines of pull and arrows.
    pub(crate) lines: Vec<Vec<Flat>>,
    /// Outlines of bones, which may be written over if need be.
    pub(crate) bones: Vec<Ring>,
}

/// Width that is kept for a letter: enough for wide fonts.
const LETTER: f64 = 0.6 * Label::LETTERS as f64;
/// Letters in a line, as tried.
const WIDTHS: [usize; 3] = [24, 17, 12];
/// Room round words.
const ROOM: f64 = 5.0;
/// From a mark to its words, as tried.
const DISTANCES: [f64; 8] = [34.0, 50.0, 70.0, 100.0, 140.0, 190.0, 250.0, 320.0];
/// Directions in which a place is looked for.
const DIRECTIONS: u8 = 24;

/// Words with a place: a box, and how far its text is from what it names.
#[derive(Debug, Clone)]
struct Placed {
    label: Label,
    frame: Window,
    /// Where the line to what it names ends.
    end: Flat,
}

/// Places words, those first in the list first. The picture grows downwards if there is no room.
pub(crate) fn place(wanted: &[Wanted], drawn: &Drawn, size: &mut [f64; 2]) -> Vec<Label> {
    let mut placed: Vec<Placed> = Vec::new();
    for one in wanted {
        let tried = WIDTHS.iter().flat_map(|width| candidates(one, *width));
        let page = Window { min: [0.0, ABOVE - 12.0], max: *size }.grown(-ROOM);
        let fitting = tried.filter(|candidate| {
            let Window { min, max } = candidate.frame;
            page.holds(min)
                && page.holds(max)
                && placed.iter().all(|other| {
                    other.frame.grown(ROOM).common(candidate.frame).is_none()
                        && !crosses(other.frame, one.at, candidate.end)
                })
        });
        let cost = |candidate: &Placed| cost(candidate, one, drawn, &placed);
        let best = fitting.min_by(|a, b| cost(a).total_cmp(&cost(b)));
        placed.push(best.unwrap_or_else(|| at_the_foot(one, size)));
    }
    placed.into_iter().map(|one| one.label).collect()
}

/// Places round what is named, for lines of up to `width` letters.
fn candidates(one: &Wanted, width: usize) -> impl Iterator<Item = Placed> {
    let lines = wrapped(&one.words, width);
    DISTANCES.into_iter().flat_map(move |distance| {
        let lines = lines.clone();
        (0..DIRECTIONS).map(move |step| {
            let angle = f64::from(step) * std::f64::consts::TAU / f64::from(DIRECTIONS);
            let near = plus(one.at, times([angle.cos(), angle.sin()], distance));
            beside(one, lines.clone(), near)
        })
    })
}

/// Words whose box begins or ends at `near`, on the far side from what they name.
fn beside(one: &Wanted, lines: Vec<String>, near: Flat) -> Placed {
    let right = near[0] >= one.at[0];
    let [width, height] = extent(&lines);
    let west = if right { near[0] } else { near[0] - width };
    // Above or below what it names a box need not be beside it: its edge is as far as its middle.
    let lift = (near[1] - one.at[1]) / apart(near, one.at) * height / 2.0;
    let top = near[1] + lift - height / 2.0;
    let frame = Window { min: [west, top], max: [west + width, top + height] };
    let end = [near[0], near[1] + lift];
    Placed { label: label(one, lines, frame, right), frame, end }
}

/// A row below everything else.
fn at_the_foot(one: &Wanted, size: &mut [f64; 2]) -> Placed {
    let lines = wrapped(&one.words, letters(size[0] - 2.0 * ROOM));
    let [width, height] = extent(&lines);
    let min = [ROOM, size[1] + ROOM];
    let frame = Window { min, max: plus(min, [width, height]) };
    size[1] += height + 2.0 * ROOM;
    let end = [min[0] + width / 2.0, min[1]];
    Placed { label: label(one, lines, frame, true), frame, end }
}

/// How many letters a line of this width has.
pub(crate) fn letters(width: f64) -> usize {
    (1..1000_u32).take_while(|count| f64::from(*count) * LETTER <= width).count().max(1)
}

fn label(one: &Wanted, lines: Vec<String>, frame: Window, right: bool) -> Label {
    let x = if right { frame.min[0] } else { frame.max[0] };
    let y = frame.min[1] + f64::from(Label::LETTERS);
    Label { part: one.part, at: crate::units(one.at), text_at: crate::units([x, y]), right, lines }
}

fn extent(lines: &[String]) -> Flat {
    let longest = lines.iter().map(|line| line.chars().count()).max().unwrap_or_default();
    let count = |count: usize| f64::from(u32::try_from(count).unwrap_or(u32::MAX));
    [count(longest) * LETTER, count(lines.len()) * f64::from(Label::LINE) + 2.0]
}

/// Less is better.
fn cost(candidate: &Placed, one: &Wanted, drawn: &Drawn, placed: &[Placed]) -> f64 {
    let frame = candidate.frame.grown(ROOM);
    let covered = |line: &Vec<Flat>| -> f64 {
        let pieces = line.windows(2).flat_map(|pair| {
            (0..=8).map(move |step| between(pair[0], pair[1], f64::from(step) / 8.0))
        });
        40.0 * f64::from(u8::from(pieces.clone().any(|at| frame.holds(at))))
            + 4.0 * pieces.filter(|at| frame.holds(*at)).map(|_| 1.0).sum::<f64>()
    };
    let lines: f64 = drawn.lines.iter().map(covered).sum();
    let grid = (0..15_u8).map(|step| {
        let [across, down] = [step % 5, step / 5].map(f64::from);
        let size = frame.size();
        plus(frame.min, [size[0] * across / 4.0, size[1] * down / 2.0])
    });
    let on_bone = grid.filter(|at| drawn.bones.iter().any(|bone| inside(bone, *at))).count();
    let marks = drawn.marks.iter().filter(|(at, radius)| frame.grown(*radius).holds(*at));
    let passed = drawn.marks.iter().filter(|(at, radius)| {
        apart(*at, one.at) > 1.0 && off_piece(one.at, candidate.end, *at) < *radius
    });
    let leaders = placed.iter().filter(|other| {
        let [from, to] = [other.label.at.map(f64::from), other.end];
        crosses(frame, from, to) || meet((from, to), (one.at, candidate.end))
    });
    let count = |count: usize| f64::from(u32::try_from(count).unwrap_or(u32::MAX));
    apart(candidate.end, one.at)
        + lines
        + 300.0 * count(marks.count())
        + 150.0 * count(passed.count())
        + 200.0 * count(leaders.count())
        + 12.0 * count(candidate.label.lines.len())
        + 8.0 * count(on_bone)
}

/// Whether a straight piece runs through a box.
fn crosses(frame: Window, from: Flat, to: Flat) -> bool {
    (0..=24).any(|step| frame.holds(between(from, to, f64::from(step) / 24.0)))
}

/// Whether two straight pieces cross.
fn meet((a, b): (Flat, Flat), (c, d): (Flat, Flat)) -> bool {
    let side = |p: Flat, q: Flat, r: Flat| {
        crate::flat::cross(crate::flat::minus(q, p), crate::flat::minus(r, p))
    };
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

/// Words in lines of up to so many letters; a longer word has a line of its own.
pub(crate) fn wrapped(words: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

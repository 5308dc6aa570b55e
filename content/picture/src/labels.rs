//! Where words stand, so that they hide neither each other nor what they name.

use myonym_wire::{Label, Part};

use crate::flat::{Flat, Window, apart, between, cross, minus, off_piece, plus, times};
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
    /// Outlines of bones and what they take up; they may be written over if need be.
    pub(crate) bones: Vec<(Window, Ring)>,
}

/// Width that is kept for a letter: enough for wide fonts.
const LETTER: f64 = 0.6 * Label::LETTERS as f64;
/// Letters in a line, as tried.
const WIDTHS: [usize; 3] = [24, 17, 12];
/// Room round words.
const ROOM: f64 = 5.0;
/// From a mark to its words, as tried.
const DISTANCES: [f64; 7] = [34.0, 50.0, 72.0, 104.0, 150.0, 215.0, 310.0];
/// Directions in which a place is looked for.
const DIRECTIONS: u8 = 16;

/// Words with a place: a box, and how far its text is from what it names.
#[derive(Debug, Clone)]
struct Placed {
    label: Label,
    frame: Window,
    /// Where the line to what it names ends.
    end: Flat,
}

/// Places words. The picture grows downwards if there is no room.
///
/// Each takes the best place that is left. Since that depends on who comes first, some orders are
/// tried and the best kept.
pub(crate) fn place(wanted: &[Wanted], drawn: &Drawn, size: &mut [f64; 2]) -> Vec<Label> {
    let page = Window { min: [0.0, ABOVE - 12.0], max: *size }.grown(-ROOM);
    let offers: Vec<Vec<Offer>> = wanted.iter().map(|one| offers(one, drawn, page)).collect();
    let forwards: Vec<usize> = (0..wanted.len()).collect();
    let backwards: Vec<usize> = forwards.iter().rev().copied().collect();
    let mut last_first = forwards.clone();
    last_first.rotate_right(1.min(wanted.len()));
    let tried = [forwards, last_first, backwards].map(|order| {
        let mut grown = *size;
        let (placed, cost) = in_turn(wanted, &offers, &order, &mut grown);
        (placed, cost, grown)
    });
    let best = tried.into_iter().min_by(|a, b| a.1.total_cmp(&b.1));
    let (placed, _, grown) = best.unwrap_or_else(|| (Vec::new(), 0.0, *size));
    *size = grown;
    placed.into_iter().map(|one| one.label).collect()
}

/// What a place at the foot of the picture costs.
const FOOT: f64 = 1000.0;

/// A place for words, and what it costs whatever else is written.
#[derive(Debug, Clone)]
struct Offer {
    placed: Placed,
    cost: f64,
}

/// All places for words on a page, the cheapest first.
fn offers(one: &Wanted, drawn: &Drawn, page: Window) -> Vec<Offer> {
    let tried = WIDTHS.iter().flat_map(|width| candidates(one, *width));
    let on_page = tried.filter(|placed| {
        let Window { min, max } = placed.frame;
        page.holds(min) && page.holds(max)
    });
    let priced = on_page.map(|placed| Offer { cost: cost(&placed, one, drawn), placed });
    let mut offers: Vec<Offer> = priced.collect();
    offers.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    offers
}

/// Places words in an order; in the order of `wanted` again, with what it costs.
fn in_turn(
    wanted: &[Wanted],
    offers: &[Vec<Offer>],
    order: &[usize],
    size: &mut [f64; 2],
) -> (Vec<Placed>, f64) {
    let mut placed: Vec<(usize, Placed)> = Vec::new();
    let mut whole = 0.0;
    for &index in order {
        let mut best: Option<(&Placed, f64)> = None;
        for Offer { placed: offer, cost } in &offers[index] {
            if best.is_some_and(|(_, least)| *cost >= least) {
                break;
            }
            let others = placed.iter().map(|(_, other)| other);
            let Some(more) = beside_others(offer, others) else { continue };
            if best.is_none_or(|(_, least)| cost + more < least) {
                best = Some((offer, cost + more));
            }
        }
        let (one, cost) = match best {
            Some((placed, cost)) => (placed.clone(), cost),
            None => (at_the_foot(&wanted[index], size), FOOT),
        };
        placed.push((index, one));
        whole += cost;
    }
    placed.sort_by_key(|(index, _)| *index);
    (placed.into_iter().map(|(_, one)| one).collect(), whole)
}

/// What a place costs more for what is written already; `None` if it is taken.
fn beside_others<'a>(offer: &Placed, mut others: impl Iterator<Item = &'a Placed>) -> Option<f64> {
    let from = offer.label.at.map(f64::from);
    others.try_fold(0.0, |cost, other| {
        let there = other.label.at.map(f64::from);
        let taken = other.frame.grown(ROOM).common(offer.frame).is_some()
            || crosses(other.frame, from, offer.end);
        let tangled =
            crosses(offer.frame, there, other.end) || meet((there, other.end), (from, offer.end));
        (!taken).then_some(if tangled { cost + 200.0 } else { cost })
    })
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
    [number(longest) * LETTER, number(lines.len()) * f64::from(Label::LINE) + 2.0]
}

/// What a place costs: far from what it names, over what is drawn, or in many lines.
fn cost(candidate: &Placed, one: &Wanted, drawn: &Drawn) -> f64 {
    let frame = candidate.frame.grown(ROOM);
    let leader = (one.at, candidate.end);
    let covered = |line: &Vec<Flat>| -> f64 {
        let pieces = line.windows(2).flat_map(|pair| {
            (0..=8).map(move |step| between(pair[0], pair[1], f64::from(step) / 8.0))
        });
        let over = pieces.filter(|at| frame.holds(*at)).count();
        let passed = line.windows(2).filter(|pair| meet((pair[0], pair[1]), leader)).count();
        if over > 0 { 40.0 + 4.0 * number(over) } else { 40.0 * number(passed) }
    };
    let lines: f64 = drawn.lines.iter().map(covered).sum();
    let marks = drawn.marks.iter().filter(|(at, radius)| frame.grown(*radius).holds(*at));
    let passed = drawn.marks.iter().filter(|(at, radius)| {
        apart(*at, one.at) > 1.0 && off_piece(one.at, candidate.end, *at) < *radius
    });
    apart(candidate.end, one.at)
        + lines
        + 300.0 * number(marks.count())
        + 150.0 * number(passed.count())
        + 8.0 * number(on_bone(frame, drawn))
        + 12.0 * number(candidate.label.lines.len())
}

/// How many of some places of a box lie on bones.
fn on_bone(frame: Window, drawn: &Drawn) -> usize {
    let near: Vec<&(Window, Ring)> =
        drawn.bones.iter().filter(|(extent, _)| extent.common(frame).is_some()).collect();
    let grid = (0..15_u8).map(|step| {
        let [across, down] = [step % 5, step / 5].map(f64::from);
        let [width, height] = frame.size();
        plus(frame.min, [width * across / 4.0, height * down / 2.0])
    });
    let covers = |at: &Flat| near.iter().any(|(extent, rim)| extent.holds(*at) && inside(rim, *at));
    grid.filter(covers).count()
}

fn number(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap_or(u32::MAX))
}

/// Whether a straight piece runs through a box.
fn crosses(frame: Window, from: Flat, to: Flat) -> bool {
    (0..=24).any(|step| frame.holds(between(from, to, f64::from(step) / 24.0)))
}

/// Whether two straight pieces cross.
fn meet((a, b): (Flat, Flat), (c, d): (Flat, Flat)) -> bool {
    let side = |p: Flat, q: Flat, r: Flat| cross(minus(q, p), minus(r, p));
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

#[cfg(test)]
mod tests {
    use proptest::collection::vec;
    use proptest::prelude::*;

    use super::*;

    /// What a label takes up.
    fn frame(label: &Label) -> Window {
        let [width, height] = extent(&label.lines);
        let [x, y] = label.text_at.map(f64::from);
        let top = y - f64::from(Label::LETTERS);
        let west = if label.right { x } else { x - width };
        Window { min: [west, top], max: [west + width, top + height] }
    }

    fn wanted() -> impl Strategy<Value = Wanted> {
        let words = vec("[a-z]{2,14}", 1..8).prop_map(|words| words.join(" "));
        ([20.0..700.0, 100.0..480.0], words).prop_map(|(at, words)| Wanted {
            part: Part::Origin,
            at,
            words,
        })
    }

    proptest! {
        #[test]
        fn labels_cover_no_other_and_stay_on_the_page(wanted in vec(wanted(), 0..8)) {
            let mut size = [720.0, 500.0];
            let labels = place(&wanted, &Drawn::default(), &mut size);
            prop_assert_eq!(labels.len(), wanted.len());
            let page = Window { min: [0.0, 0.0], max: size };
            for (index, label) in labels.iter().enumerate() {
                let here = frame(label);
                prop_assert!(page.holds(here.min) && page.holds(here.max));
                for other in &labels[..index] {
                    prop_assert!(frame(other).common(here).is_none());
                }
                prop_assert_eq!(label.words(), wanted[index].words.clone());
            }
        }

        #[test]
        fn lines_keep_to_their_width(words in vec("[a-z]{1,9}", 0..12), width in 10_usize..30) {
            let words = words.join(" ");
            let lines = wrapped(&words, width);
            prop_assert!(lines.iter().all(|line| line.chars().count() <= width));
            prop_assert_eq!(lines.join(" "), words);
        }
    }

    #[test]
    fn a_label_keeps_clear_of_marks_and_lines() {
        let at = [360.0, 250.0];
        let one = Wanted { part: Part::Origin, at, words: "knob".to_owned() };
        let drawn = Drawn {
            marks: vec![(at, 17.0), ([420.0, 250.0], 17.0)],
            lines: vec![vec![at, [360.0, 480.0]]],
            bones: Vec::new(),
        };
        let mut size = [720.0, 500.0];
        let labels = place(&[one], &drawn, &mut size);
        let frame = frame(&labels[0]);
        for (mark, _) in &drawn.marks {
            assert!(!frame.grown(10.0).holds(*mark), "{frame:?}");
        }
        assert!(frame.max[1] < 250.0 || frame.max[0] < 360.0 || frame.min[0] > 360.0);
    }
}

//! Pictures of muscles in Braille signs: bones as outlines, lines of pull, an arrow, and letters for
//! what is a mark. What a letter means stands below, so that nothing is crowded out.

use myonym_wire::{Label, Part, Picture, Stroke, View};
use ratatui::text::{Line, Span};

use super::paragraph;
use super::raster::{Dot, Raster};
use crate::text;
use crate::theme::Theme;

/// How pictures are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Telling {
    /// Drawn, where there is room.
    #[default]
    Drawn,
    /// In words.
    InWords,
}

impl Telling {
    /// The other way.
    pub(crate) fn turned(self) -> Self {
        match self {
            Self::Drawn => Self::InWords,
            Self::InWords => Self::Drawn,
        }
    }

    /// What the key that turns it does next.
    pub(crate) fn next(self) -> &'static str {
        match self {
            Self::Drawn => "in words",
            Self::InWords => "picture",
        }
    }
}

/// Columns and rows that a picture needs; with less it is told in words.
const LEAST: (usize, usize) = (40, 10);
/// Rows that a picture needs with the line below it.
pub(crate) const LEAST_ROWS: usize = LEAST.1 + 1;
/// Columns that each of two pictures side by side needs.
const LEAST_OF_TWO: usize = 36;
const GAP: usize = 3;
/// Dots over which the direction of an arrow is measured.
const FAR: i32 = 4;

/// A picture with nothing named, as it is asked about, in at most this much room; in words if there
/// is too little room for it, or if that is wished for.
pub(crate) fn asked(
    theme: Theme,
    picture: &Picture,
    (width, height): (usize, usize),
    telling: Telling,
) -> Vec<Line<'static>> {
    let key = key(theme, picture);
    let room = (width, height.saturating_sub(1));
    if telling == Telling::InWords || room.0 < LEAST.0 || room.1 < LEAST.1 {
        return paragraph(&picture.text, width);
    }
    let mut lines = raster(picture, room, Frame::of(&[picture], room)).lines(theme);
    lines.push(Line::from(key));
    lines
}

/// The labelled picture of a reveal, or two for comparison at the same scale: side by side where
/// there is room, else one below the other; in words if there is room for neither, or if wished for.
pub(crate) fn labelled(
    theme: Theme,
    pictures: &[Picture],
    (width, height): (usize, usize),
    telling: Telling,
) -> Vec<Line<'static>> {
    if telling == Telling::InWords || width < LEAST.0 || height < LEAST.1 {
        let told = pictures.iter().map(|picture| paragraph(&picture.text, width));
        return told.collect::<Vec<_>>().join(&Line::default());
    }
    let beside = width.saturating_sub(GAP) / 2;
    match pictures {
        [one, two] if beside >= LEAST_OF_TWO => {
            let frame = Frame::of(&[one, two], (beside, height));
            let sides = [one, two].map(|one| plate(theme, one, (beside, height), frame));
            side_by_side(&sides, beside)
        }
        all => {
            let frame = Frame::of(&all.iter().collect::<Vec<_>>(), (width, height));
            let plates = all.iter().map(|one| plate(theme, one, (width, height), frame));
            plates.collect::<Vec<_>>().join(&Line::default())
        }
    }
}

/// A picture with its title and what its letters mean.
fn plate(
    theme: Theme,
    picture: &Picture,
    room: (usize, usize),
    frame: Frame,
) -> Vec<Line<'static>> {
    let title = picture.labels.iter().find(|label| label.part == Part::Muscle);
    let title = title.map(Label::words).unwrap_or_default();
    let title = text::fit(&format!("{title}, {}", view(picture.view)), room.0);
    let mut lines = vec![Line::styled(title, Theme::STRONG)];
    lines.extend(raster(picture, room, frame).lines(theme));
    for (mark, label) in marked(picture) {
        let (part, indent) = (label.part, text::width(&mark).max(2) + 1);
        let words = text::wrap(&label.words(), room.0.saturating_sub(indent));
        for (row, words) in words.into_iter().enumerate() {
            let mark = if row == 0 { mark.as_str() } else { "" };
            let gap = " ".repeat(indent - text::width(mark));
            let style = if row == 0 { theme.mark(part) } else { ratatui::style::Style::new() };
            let mark = Span::styled(mark.to_owned(), style);
            lines.push(Line::from(vec![mark, Span::raw(gap), Span::raw(words)]));
        }
    }
    lines
}

fn side_by_side(sides: &[Vec<Line<'static>>; 2], width: usize) -> Vec<Line<'static>> {
    let rows = sides[0].len().max(sides[1].len());
    let row = |row: usize| {
        let [left, right] = [0, 1].map(|side| sides[side].get(row).cloned().unwrap_or_default());
        let gap = (width + GAP).saturating_sub(left.width());
        Line::from([left.spans, vec![Span::raw(" ".repeat(gap))], right.spans].concat())
    };
    (0..rows).map(row).collect()
}

/// What is shown of pictures that are drawn in one frame, in their units: all that is drawn in any,
/// without the room that labels would take; and how many dots a unit has.
#[derive(Debug, Clone, Copy)]
struct Frame {
    left: i16,
    top: i16,
    bottom: i16,
    dots: f64,
}

impl Frame {
    /// The frame that fits into a room, as large as it goes. Pictures for comparison have the same
    /// scale, and so the same units.
    fn of(pictures: &[&Picture], (width, height): (usize, usize)) -> Self {
        let strokes = pictures.iter().flat_map(|picture| &picture.strokes);
        let points: Vec<[i16; 2]> = strokes.flat_map(|stroke| stroke.points.clone()).collect();
        let least = |axis: usize| points.iter().map(|point| point[axis]).min().unwrap_or(0);
        let most = |axis: usize| points.iter().map(|point| point[axis]).max().unwrap_or(0);
        let (left, top, bottom) = (least(0), least(1), most(1));
        let across = f64::from(most(0)) - f64::from(left);
        let down = f64::from(bottom) - f64::from(top);
        let fit = |dots: usize, units: f64| dots_of(dots.saturating_sub(1)) / units.max(1.0);
        Self { left, top, bottom, dots: fit(2 * width, across).min(fit(4 * height, down)) }
    }

    fn dot(self, [x, y]: [i16; 2]) -> Dot {
        let scaled =
            |units: i16, from: i16| scaled((f64::from(units) - f64::from(from)) * self.dots);
        (scaled(x, self.left), scaled(y, self.top))
    }

    fn rows(self) -> usize {
        usize::try_from(self.dot([self.left, self.bottom]).1 / 4 + 1).unwrap_or(1)
    }
}

fn raster(picture: &Picture, (width, height): (usize, usize), frame: Frame) -> Raster {
    let dot = |point: [i16; 2]| frame.dot(point);
    let mut raster = Raster::new(width, frame.rows().min(height));
    for stroke in &picture.strokes {
        draw(&mut raster, stroke, dot);
    }
    // Signs come last, so that no line runs over them.
    let marks = marked(picture);
    for stroke in &picture.strokes {
        let named = |point: &[i16; 2]| marks.iter().find(|(_, label)| label.at == *point);
        match (stroke.part, stroke.points.as_slice()) {
            (Part::Origin | Part::Insertion | Part::Joint, [point, ..]) => {
                let mark = named(point).filter(|(_, label)| label.part == stroke.part);
                let mark = mark.map_or_else(|| letter(stroke.part), |(mark, _)| mark.as_str());
                for (right, sign) in (0..).zip(mark.chars()) {
                    raster.sign(dot(*point), right, sign, stroke.part);
                }
            }
            (Part::Motion, [points @ .., end]) => {
                let end = dot(*end);
                // A point next to the end would tell little of where the line comes from.
                let far = |from: &Dot| (from.0 - end.0).abs().max((from.1 - end.1).abs()) >= FAR;
                let mut before = points.iter().rev().map(|point| dot(*point));
                let before = before.find(far).or_else(|| points.first().map(|point| dot(*point)));
                raster.sign(end, 0, arrow(before.unwrap_or(end), end), Part::Motion);
            }
            _ => {}
        }
    }
    raster
}

fn draw(raster: &mut Raster, stroke: &Stroke, dot: impl Fn([i16; 2]) -> Dot) {
    let dots = |points: &[[i16; 2]]| points.iter().map(|point| dot(*point)).collect::<Vec<_>>();
    let points = dots(&stroke.points);
    if stroke.closed {
        let holes = stroke.holes.iter().map(|hole| dots(hole));
        raster.clear(&[points.clone()].into_iter().chain(holes).collect::<Vec<_>>());
    }
    let gap = match stroke.part {
        Part::Motion => Some(3),
        // Fainter than the bones concerned.
        Part::Neighbour => Some(2),
        Part::Bone | Part::Muscle | Part::Origin | Part::Insertion | Part::Joint => {
            stroke.behind.then_some(2)
        }
    };
    let thick = stroke.part == Part::Muscle && !stroke.behind;
    let close = if stroke.closed { points.first().copied() } else { None };
    let ends = points.iter().copied().skip(1).chain(close);
    for (from, to) in points.iter().copied().zip(ends) {
        raster.line(from, to, stroke.part, gap, thick);
    }
}

/// The labels of a picture with the letters that mark them: `O`, or `O1` and `O2`.
fn marked(picture: &Picture) -> Vec<(String, &Label)> {
    let is_named = |label: &&Label| label.part != Part::Muscle;
    let labels: Vec<&Label> = picture.labels.iter().filter(is_named).collect();
    let mark = |(at, label): (usize, &&Label)| {
        let same = |other: &&&Label| other.part == label.part;
        let letter = letter(label.part);
        let is_one = labels.iter().filter(same).count() == 1 || label.part == Part::Motion;
        let number = labels[..=at].iter().filter(same).count();
        if is_one { letter.to_owned() } else { format!("{letter}{number}") }
    };
    labels.iter().enumerate().map(|(at, label)| (mark((at, label)), *label)).collect()
}

/// What the letters of a picture mean in which nothing is named.
fn key(theme: Theme, picture: &Picture) -> Vec<Span<'static>> {
    let mut spans = Vec::new();
    for (part, means) in MEANINGS {
        if picture.strokes.iter().any(|stroke| stroke.part == part) {
            spans.push(Span::styled(letter(part), theme.mark(part)));
            spans.push(Span::raw(format!(" {means}   ")));
        }
    }
    spans.push(Span::raw(view(picture.view)));
    spans
}

fn letter(part: Part) -> &'static str {
    match part {
        Part::Origin => "O",
        Part::Insertion => "I",
        Part::Joint => "+",
        Part::Motion => "→",
        Part::Bone | Part::Neighbour | Part::Muscle => "",
    }
}

/// An arrow head that points from one dot to another.
fn arrow(from: Dot, to: Dot) -> char {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    match (dx.abs() > 2 * dy.abs(), dy.abs() > 2 * dx.abs(), dx >= 0, dy >= 0) {
        (true, _, true, _) => '→',
        (true, _, false, _) => '←',
        (_, true, _, true) => '↓',
        (_, true, _, false) => '↑',
        (_, _, true, true) => '↘',
        (_, _, true, false) => '↗',
        (_, _, false, true) => '↙',
        (_, _, false, false) => '↖',
    }
}

fn view(view: View) -> &'static str {
    match view {
        View::Front => "from the front",
        View::Back => "from behind",
        View::Side => "from the right side",
        View::Above => "from above",
    }
}

#[expect(clippy::cast_precision_loss, reason = "a terminal has fewer columns than 2^52")]
fn dots_of(cells: usize) -> f64 {
    cells as f64
}

#[expect(clippy::cast_possible_truncation, reason = "a cast of a float saturates")]
fn scaled(dots: f64) -> i32 {
    dots.round() as i32
}

const MEANINGS: [(Part, &str); 4] = [
    (Part::Origin, "origin"),
    (Part::Insertion, "insertion"),
    (Part::Joint, "joint"),
    (Part::Motion, "shortening moves it"),
];

//! Pictures of muscles in Braille signs: bones as outlines, lines of pull, an arrow, and letters for
//! what is a mark. What a letter means stands below, so that nothing is crowded out.

use myonym_wire::{Label, Part, Picture, Stroke, View};
use ratatui::style::Style;
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
/// Columns that a legend beside a picture needs.
const LEAST_BESIDE: usize = 24;
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
    let room = (width, height.saturating_sub(1));
    if telling == Telling::InWords || room.0 < LEAST.0 || room.1 < LEAST.1 {
        return paragraph(&picture.text, width);
    }
    let mut lines = raster(picture, room, Frame::of(&[picture], room)).lines(theme);
    lines.push(Line::from(key(theme, picture, width)));
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

/// A picture with its title and what its letters mean: beside it where there is room, else below.
fn plate(
    theme: Theme,
    picture: &Picture,
    room: (usize, usize),
    frame: Frame,
) -> Vec<Line<'static>> {
    let title = picture.labels.iter().find(|label| label.part == Part::Muscle);
    let title = title.map(Label::words).unwrap_or_default();
    let title = text::fit(&format!("{title}, {}", view(picture.view)), room.0);
    let title = vec![Line::styled(title, Theme::STRONG)];
    let drawn = raster(picture, room, frame).lines(theme);
    let beside = room.0.saturating_sub(frame.columns() + GAP);
    if beside >= LEAST_BESIDE {
        let legend = [vec![Line::default()], legend(theme, picture, beside)].concat();
        let drawn = raster(picture, (frame.columns(), room.1), frame).lines(theme);
        return [title, side_by_side(&[drawn, legend], frame.columns())].concat();
    }
    [title, drawn, legend(theme, picture, room.0)].concat()
}

/// What the letters of a labelled picture mean.
fn legend(theme: Theme, picture: &Picture, width: usize) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    for (mark, label) in marked(picture) {
        let indent = text::width(&mark).max(2) + 1;
        let words = text::wrap(&label.words(), width.saturating_sub(indent));
        for (row, words) in words.into_iter().enumerate() {
            let mark = if row == 0 { mark.as_str() } else { "" };
            let gap = " ".repeat(indent - text::width(mark));
            let style = if row == 0 { theme.mark(label.part) } else { Style::new() };
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
    right: i16,
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
        let (left, top, right, bottom) = (least(0), least(1), most(0), most(1));
        let across = f64::from(right) - f64::from(left);
        let down = f64::from(bottom) - f64::from(top);
        let fit = |dots: usize, units: f64| dots_of(dots.saturating_sub(1)) / units.max(1.0);
        Self { left, top, right, bottom, dots: fit(2 * width, across).min(fit(4 * height, down)) }
    }

    fn dot(self, [x, y]: [i16; 2]) -> Dot {
        let scaled =
            |units: i16, from: i16| scaled((f64::from(units) - f64::from(from)) * self.dots);
        (scaled(x, self.left), scaled(y, self.top))
    }

    /// With a column more, for a mark of two letters at the edge.
    fn columns(self) -> usize {
        usize::try_from(self.dot([self.right, self.top]).0 / 2 + 2).unwrap_or(1)
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

/// From where a picture is seen in which nothing is named, and what its letters mean, as far as
/// there is room.
fn key(theme: Theme, picture: &Picture, width: usize) -> Vec<Span<'static>> {
    let mut spans = vec![Span::raw(text::fit(view(picture.view), width))];
    let mut used = text::width(view(picture.view));
    for (part, means) in MEANINGS {
        let (letter, means) = (letter(part), format!(" {means}"));
        let more = 2 + text::width(letter) + text::width(&means);
        let is_drawn = picture.strokes.iter().any(|stroke| stroke.part == part);
        if is_drawn && used + more <= width {
            let letter = Span::styled(letter, theme.mark(part));
            spans.extend([Span::raw("  "), letter, Span::raw(means)]);
            used += more;
        }
    }
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
    (Part::Motion, "movement"),
    (Part::Joint, "joint"),
];

#[cfg(test)]
mod tests {
    use myonym_wire::ToStudent;

    use super::*;
    use crate::round::picture_of;
    use crate::samples;

    fn asked_picture() -> Picture {
        let ToStudent::RoundOpened { clue, .. } = samples::picture_opened(1) else { panic!() };
        picture_of(&[clue]).unwrap().clone()
    }

    fn text(lines: &[Line<'static>]) -> Vec<String> {
        lines.iter().map(|line| line.to_string().trim_end().to_owned()).collect()
    }

    fn is_drawn(lines: &[Line<'static>]) -> bool {
        let braille = |c: char| ('\u{2801}'..='\u{28ff}').contains(&c);
        text(lines).iter().any(|line| line.contains(braille))
    }

    #[test]
    fn where_there_is_too_little_room_a_picture_is_told_in_words() {
        let theme = Theme::with_colour(true);
        let check = |room: (usize, usize), telling, expected: bool| {
            let lines = asked(theme, &asked_picture(), room, telling);
            assert_eq!(is_drawn(&lines), expected, "{room:?} {telling:?}");
            let (width, height) = (lines.iter().map(Line::width).max().unwrap(), lines.len());
            assert!(width <= room.0.max(2), "{width} columns in {room:?}");
            assert!(!expected || height <= room.1, "{height} rows in {room:?}");
            // In words nothing is missing.
            let words = text(&lines).join(" ");
            assert!(expected || words.contains("scapula") || room.0 < 8, "{words}");
        };
        check((78, 16), Telling::Drawn, true);
        check((40, 11), Telling::Drawn, true);
        check((39, 30), Telling::Drawn, false);
        check((80, 10), Telling::Drawn, false);
        check((200, 60), Telling::Drawn, true);
        check((200, 60), Telling::InWords, false);
        check((1, 0), Telling::Drawn, false);
    }

    #[test]
    fn two_pictures_have_one_scale() {
        let pair = samples::pictured_reveal().pictures;
        let theme = Theme::with_colour(false);
        // The same bones: side by side the first row of either is the same.
        let beside = text(&labelled(theme, &pair, (78, 16), Telling::Drawn));
        let (left, right) = beside[1].split_at(beside[1].len() / 2);
        assert_eq!(left.trim(), right.trim(), "{beside:#?}");
        // One below the other: so are the first rows below each title.
        let stacked = text(&labelled(theme, &pair, (58, 12), Telling::Drawn));
        let title = |named: &str| stacked.iter().position(|line| line.starts_with(named)).unwrap();
        let (first, second) = (title("teres minor"), title("teres major"));
        assert!(second > first + 10, "{stacked:#?}");
        assert_eq!(stacked[first + 1], stacked[second + 1], "{stacked:#?}");
    }

    #[test]
    fn what_is_labelled_has_a_letter_in_the_picture_and_beside_its_words() {
        let reveal = samples::movement_reveal();
        let lines =
            text(&labelled(Theme::with_colour(false), &reveal.pictures, (78, 16), Telling::Drawn));
        for letter in ["O", "I", "+"] {
            assert!(lines[1..].iter().any(|line| line.contains(letter)), "{letter} in {lines:#?}");
        }
        for label in reveal.pictures[0].labels.iter().filter(|label| label.part != Part::Muscle) {
            let mark = format!("{}  {}", letter(label.part), label.lines[0]);
            assert!(lines.iter().any(|line| line.contains(&mark)), "{mark} in {lines:#?}");
        }
    }

    #[test]
    fn arrow_heads_point_where_the_line_goes() {
        let check = |to: Dot, expected: char| assert_eq!(arrow((0, 0), to), expected, "{to:?}");
        check((5, 0), '→');
        check((-5, 1), '←');
        check((0, 5), '↓');
        check((1, -5), '↑');
        check((4, 4), '↘');
        check((4, -3), '↗');
        check((-4, 4), '↙');
        check((-3, -4), '↖');
    }
}

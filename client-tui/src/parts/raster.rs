//! A field of Braille signs to draw lines on: two dots across and four down in each cell, so that
//! dots stand as far apart in both directions.

use myonym_wire::Part;
use ratatui::text::{Line, Span};

use crate::theme::Theme;

/// A place in dots.
pub(super) type Dot = (i32, i32);

/// What is drawn, cell by cell.
#[derive(Debug, Clone)]
pub(super) struct Raster {
    columns: usize,
    cells: Vec<Cell>,
}

#[derive(Debug, Clone, Copy, Default)]
struct Cell {
    dots: u8,
    part: Option<Part>,
    /// A sign in the place of dots.
    sign: Option<char>,
}

impl Raster {
    /// An empty field.
    pub(super) fn new(columns: usize, rows: usize) -> Self {
        Self { columns, cells: vec![Cell::default(); columns * rows] }
    }

    fn cell(&mut self, (x, y): Dot) -> Option<(&mut Cell, u8)> {
        let (x, y) = (usize::try_from(x).ok()?, usize::try_from(y).ok()?);
        let (column, row) = (x / 2, y / 4);
        let cell = self.cells.get_mut(row * self.columns + column)?;
        (column < self.columns).then_some((cell, DOTS[y % 4][x % 2]))
    }

    fn set(&mut self, at: Dot, part: Part) {
        if let Some((cell, dot)) = self.cell(at) {
            cell.dots |= dot;
            cell.part = Some(part);
        }
    }

    /// Draws a line; `gap` leaves out every so many dots, and `thick` draws it double.
    pub(super) fn line(&mut self, from: Dot, to: Dot, part: Part, gap: Option<i32>, thick: bool) {
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let steps = dx.abs().max(dy.abs()).max(1);
        for step in 0..=steps {
            if gap.is_some_and(|gap| step % gap == gap - 1) {
                continue;
            }
            let at = (from.0 + rounded(dx * step, steps), from.1 + rounded(dy * step, steps));
            self.set(at, part);
            if thick {
                let beside = if dx.abs() > dy.abs() { (at.0, at.1 + 1) } else { (at.0 + 1, at.1) };
                self.set(beside, part);
            }
        }
    }

    /// Takes away what lies within an outline and not within its holes.
    pub(super) fn clear(&mut self, outlines: &[Vec<Dot>]) {
        let ys = outlines.iter().flatten().map(|(_, y)| *y);
        let (Some(top), Some(bottom)) = (ys.clone().min(), ys.max()) else { return };
        for y in top..=bottom {
            let edges = outlines.iter().flat_map(|outline| sides(outline));
            let mut crossings: Vec<i32> = edges.filter_map(|side| crossing(side, y)).collect();
            crossings.sort_unstable();
            for pair in crossings.chunks_exact(2) {
                for x in pair[0]..=pair[1] {
                    if let Some((cell, dot)) = self.cell((x, y)) {
                        cell.dots &= !dot;
                    }
                }
            }
        }
    }

    /// Puts a sign in the place of a dot's cell, `right` cells further on.
    pub(super) fn sign(&mut self, (x, y): Dot, right: i32, sign: char, part: Part) {
        if let Some((cell, _)) = self.cell((x + 2 * right, y)) {
            cell.sign = Some(sign);
            cell.part = Some(part);
        }
    }

    /// The field as lines of text.
    pub(super) fn lines(&self, theme: Theme) -> Vec<Line<'static>> {
        let span = |cell: &Cell| {
            let braille = char::from_u32(BRAILLE + u32::from(cell.dots)).filter(|_| cell.dots > 0);
            let shown = cell.sign.or(braille).unwrap_or(' ');
            let style = cell.part.filter(|_| shown != ' ').map(|part| theme.part(part));
            let style = match (cell.sign, cell.part) {
                (Some(_), Some(part)) => theme.mark(part),
                _ => style.unwrap_or_default(),
            };
            Span::styled(shown.to_string(), style)
        };
        let rows = self.cells.chunks(self.columns.max(1));
        rows.map(|row| Line::from(row.iter().map(span).collect::<Vec<_>>())).collect()
    }
}

/// The sides of a closed outline.
fn sides(outline: &[Dot]) -> impl Iterator<Item = (Dot, Dot)> + '_ {
    outline.iter().copied().zip(outline.iter().copied().cycle().skip(1))
}

/// Where a side crosses a row, counted so that a corner is crossed once.
fn crossing(((x0, y0), (x1, y1)): (Dot, Dot), y: i32) -> Option<i32> {
    let crosses = (y0 <= y) != (y1 <= y);
    crosses.then(|| x0 + rounded((x1 - x0) * (y - y0), y1 - y0))
}

/// A quotient of whole numbers, rounded.
fn rounded(part: i32, of: i32) -> i32 {
    let (part, of) = if of < 0 { (-part, -of) } else { (part, of.max(1)) };
    (2 * part + of).div_euclid(2 * of)
}

/// The empty Braille sign (U+2800), to which the dots are added.
const BRAILLE: u32 = 0x2800;
/// Bits of the dots by row and column: Unicode, block "Braille Patterns".
const DOTS: [[u8; 2]; 4] = [[0x01, 0x08], [0x02, 0x10], [0x04, 0x20], [0x40, 0x80]];

#[cfg(test)]
mod tests {
    use super::*;

    fn drawn(raster: &Raster) -> Vec<String> {
        raster.lines(Theme::with_colour(false)).iter().map(ToString::to_string).collect()
    }

    #[test]
    fn dots_stand_where_unicode_has_them() {
        let mut raster = Raster::new(2, 1);
        raster.line((0, 0), (0, 0), Part::Bone, None, false);
        raster.line((3, 3), (3, 3), Part::Bone, None, false);
        // Dots 1 and 8.
        assert_eq!(drawn(&raster), ["\u{2801}\u{2880}"]);
        let mut raster = Raster::new(2, 1);
        raster.line((0, 0), (3, 3), Part::Bone, None, false);
        assert_eq!(drawn(&raster), ["\u{2811}\u{2884}"]);
    }

    #[test]
    fn what_is_behind_a_bone_is_taken_away() {
        let mut raster = Raster::new(4, 2);
        raster.line((0, 4), (7, 4), Part::Muscle, None, false);
        raster.clear(&[vec![(2, 0), (5, 0), (5, 7), (2, 7)]]);
        assert_eq!(drawn(&raster), ["    ", "\u{2809}  \u{2809}"]);
    }

    #[test]
    fn nothing_is_drawn_outside() {
        let mut raster = Raster::new(2, 2);
        raster.line((-9, -9), (99, 99), Part::Bone, Some(3), true);
        raster.clear(&[vec![(-5, -5), (50, -5), (50, 50)]]);
        raster.sign((99, 0), 3, 'O', Part::Origin);
        assert_eq!(drawn(&raster).len(), 2);
    }
}

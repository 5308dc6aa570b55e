//! Pictures as SVG that stands alone: on a page, in a report, or printed.

use std::fmt::Write as _;

use myonym_wire::{Label, Part, Picture, Stroke, View};

use crate::flat::{Flat, Window, apart, between, minus, plus, times};
use crate::labels::{letters, wrapped};
use crate::sketch::MARK;
use crate::text::from_where;

/// One picture.
pub fn svg(picture: &Picture) -> String {
    let (title, text) = picture.text.split_once(". ").unwrap_or((&picture.text, ""));
    let note = covered(picture);
    let height = f64::from(picture.height);
    let whole = if note { height + ROW } else { height };
    let mut page = Page::new(f64::from(picture.width), whole, title, text);
    page.drawing(picture, Fit { zoom: 1.0, shift: [0.0, 0.0] });
    page.note(from_where(picture.view), [10.0, 64.0]);
    page.labels(&picture.labels);
    if note {
        page.note(COVERED, [10.0, height + 16.0]);
    }
    page.done()
}

/// Two pictures of [`draw_pair`](crate::draw_pair) side by side, each with its name above and a key
/// to its marks below.
pub fn svg_pair(first: &Picture, second: &Picture, names: (&str, &str)) -> String {
    let title = format!("{} and {}", names.0, names.1);
    let text = format!("{} {}", first.text, second.text);
    let half = f64::from(first.width) / 2.0;
    let columns = [(first, names.0), (second, names.1)];
    let drawn = columns.iter().filter_map(|(picture, _)| extent(picture)).reduce(Window::with);
    let drawn = drawn.unwrap_or_default().grown(MARK + 2.0);
    let zoom = ((half - 12.0) / drawn.size()[0].max(1.0)).min(1.0);
    let top = 20.0 + columns.iter().map(|(_, name)| rows(name, half)).fold(0.0, f64::max);
    let foot = top + ROW + drawn.size()[1] * zoom;
    let keys = columns.map(|(picture, _)| key(picture, half));
    let below = keys.iter().map(|key| key.height).fold(0.0, f64::max) + foot + 8.0;
    let note = columns.iter().any(|(picture, _)| covered(picture));
    let height = if note { below + ROW } else { below };
    let mut page = Page::new(2.0 * half, height, &title, &text);
    for ((index, (picture, name)), key) in (0_u8..).zip(columns).zip(&keys) {
        let left = f64::from(index) * half;
        page.heading(name, picture.view, [left, 0.0], half, top);
        let middle = left + half / 2.0 - drawn.middle()[0] * zoom;
        page.drawing(picture, Fit { zoom, shift: [middle, top + ROW - drawn.min[1] * zoom] });
        page.key(key, [left, foot]);
    }
    let _ = write!(page.body, r#"<path class="lead" d="M{half} 8V{:.0}"/>"#, below - 8.0);
    if note {
        page.note(COVERED, [10.0, below + 16.0]);
    }
    page.done()
}

/// What broken lines and hollow marks mean.
const COVERED: &str = "hollow and dotted: behind a bone";

/// Whether anything is hidden.
fn covered(picture: &Picture) -> bool {
    picture.strokes.iter().any(|stroke| stroke.behind)
}

/// How coordinates of a picture become those of the page. Marks and lines keep their size.
#[derive(Debug, Clone, Copy)]
struct Fit {
    zoom: f64,
    shift: Flat,
}

impl Fit {
    fn at(self, at: [i16; 2]) -> Flat {
        plus(times(at.map(f64::from), self.zoom), self.shift)
    }

    fn line(self, points: &[[i16; 2]]) -> Vec<Flat> {
        points.iter().map(|at| self.at(*at)).collect()
    }
}

/// From one base line to the next.
const ROW: f64 = Label::LINE as f64;

/// What the strokes of a picture take up.
fn extent(picture: &Picture) -> Option<Window> {
    let points = picture.strokes.iter().flat_map(|stroke| &stroke.points);
    Window::around(points.map(|at| at.map(f64::from)))
}

/// A name in lines that fit a column; its letters are wider than others.
fn heading_lines(name: &str, width: f64) -> Vec<String> {
    wrapped(name, letters(width * 0.85))
}

/// Height of a name in a column.
fn rows(words: &str, width: f64) -> f64 {
    heading_lines(words, width).iter().map(|_| ROW).sum()
}

/// What the marks and the arrow of a picture stand for.
struct Key {
    rows: Vec<(Option<Part>, String)>,
    height: f64,
}

fn key(picture: &Picture, width: f64) -> Key {
    let mut rows = Vec::new();
    for label in &picture.labels {
        if label.part == Part::Muscle {
            continue;
        }
        for (index, line) in wrapped(&label.words(), letters(width - 60.0)).into_iter().enumerate()
        {
            rows.push(((index == 0).then_some(label.part), line));
        }
    }
    let height = rows.iter().map(|_| ROW + 3.0).sum::<f64>() + 16.0;
    Key { rows, height }
}

struct Page {
    body: String,
}

const STYLE: &str = "\
.myo{width:100%;height:auto;max-width:640px}\
.myo{--page:#fff;--ink:#1c2126;--bone:#eadcbc;--beside:#f8f4ea;--rim:#7d7460;--pull:#8c2f39;--o:#c4161c;--i:#0b57c2;--go:#14733a}\
@media (prefers-color-scheme:dark){.myo{--page:#14171a;--ink:#eceff1;--bone:#5a5341;--beside:#2b2a26;--rim:#b5ab93;--pull:#e39aa0;--o:#ff8a80;--i:#8ab4ff;--go:#7fdc9c}}\
@media print{.myo{--page:#fff;--ink:#000;--bone:#ddd;--beside:#f6f6f6;--rim:#555;--pull:#333;--o:#c4161c;--i:#0b57c2;--go:#14733a}}\
.myo .page{fill:var(--page)}\
.myo .bone{fill:var(--bone);stroke:var(--rim);stroke-width:2.5;stroke-linejoin:round;fill-rule:evenodd}\
.myo .beside{fill:var(--beside);stroke:var(--rim);stroke-width:1.5}\
.myo .pull{fill:none;stroke:var(--pull);stroke-width:9;stroke-linejoin:round;stroke-linecap:round}\
.myo .edge{fill:none;stroke:var(--page);stroke-width:15;stroke-linejoin:round;stroke-linecap:round}\
.myo .behind{stroke-dasharray:4 14;stroke-width:7}\
.myo .o{fill:var(--o);stroke:var(--page);stroke-width:3}\
.myo .i{fill:var(--i);stroke:var(--page);stroke-width:3}\
.myo .o.far{fill:var(--page);stroke:var(--o);stroke-width:5}\
.myo .i.far{fill:var(--page);stroke:var(--i);stroke-width:5}\
.myo .joint{fill:var(--page);stroke:var(--ink);stroke-width:3}\
.myo .go{fill:none;stroke:var(--go);stroke-width:7}\
.myo .head{fill:var(--go)}\
.myo .lead{fill:none;stroke:var(--ink);stroke-width:2}\
.myo text{font:26px system-ui,sans-serif;fill:var(--ink)}\
.myo .halo{stroke:var(--page);stroke-width:7;stroke-linejoin:round;paint-order:stroke}\
.myo text.name{font-weight:700;font-size:28px}\
.myo text.note{fill:var(--rim)}\
.myo text.letter{font-weight:700;fill:var(--page);text-anchor:middle}\
.myo text.on-o{fill:var(--o)}\
.myo text.on-i{fill:var(--i)}";

impl Page {
    fn new(width: f64, height: f64, title: &str, text: &str) -> Self {
        let mut body = format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" class="myo" role="img" viewBox="0 0 {width} {height}">"#
        );
        let (title, text) = (escaped(title), escaped(text));
        let _ = write!(body, "<title>{title}</title><desc>{text}</desc><style>{STYLE}</style>");
        let _ = write!(body, r#"<rect class="page" width="{width}" height="{height}"/>"#);
        Self { body }
    }

    fn done(mut self) -> String {
        self.body.push_str("</svg>\n");
        self.body
    }

    /// All strokes.
    fn drawing(&mut self, picture: &Picture, fit: Fit) {
        for stroke in &picture.strokes {
            let places = fit.line(&stroke.points);
            match stroke.part {
                Part::Bone => self.bone("bone", stroke, fit),
                Part::Neighbour => self.bone("bone beside", stroke, fit),
                Part::Muscle => self.pull(stroke, &places),
                Part::Motion => self.arrow(&places),
                Part::Joint => self.joint(&places),
                Part::Origin | Part::Insertion => {}
            }
        }
        self.marks(picture, Part::Origin, fit);
        self.marks(picture, Part::Insertion, fit);
    }

    fn bone(&mut self, class: &str, stroke: &Stroke, fit: Fit) {
        let rings = std::iter::once(&stroke.points).chain(&stroke.holes);
        let path: String = rings.map(|ring| path(&fit.line(ring), true)).collect();
        let _ = write!(self.body, r#"<path class="{class}" d="{path}"/>"#);
    }

    /// A column's name, and from where it is seen.
    fn heading(&mut self, name: &str, view: View, at: Flat, width: f64, foot: f64) {
        let mut y = at[1] + 32.0;
        for line in heading_lines(name, width) {
            let x = at[0] + 10.0;
            let _ = write!(
                self.body,
                r#"<text class="name" x="{x}" y="{y}">{}</text>"#,
                escaped(&line)
            );
            y += ROW;
        }
        self.note(from_where(view), [at[0] + 10.0, at[1] + foot + 8.0]);
    }

    fn key(&mut self, key: &Key, at: Flat) {
        let mut y = at[1] + 34.0;
        for (part, line) in &key.rows {
            let middle = [at[0] + 28.0, y - 9.0];
            match part {
                Some(part @ (Part::Origin | Part::Insertion)) => {
                    self.lettered(*part, false, middle);
                }
                Some(Part::Motion) => {
                    self.arrow(&[plus(middle, [-18.0, 0.0]), middle, plus(middle, [18.0, 0.0])]);
                }
                Some(Part::Bone | Part::Neighbour | Part::Muscle | Part::Joint) | None => {}
            }
            let x = at[0] + 54.0;
            let _ = write!(self.body, r#"<text x="{x}" y="{y}">{}</text>"#, escaped(line));
            y += ROW + 3.0;
        }
    }

    fn pull(&mut self, stroke: &Stroke, places: &[Flat]) {
        let path = path(places, false);
        if stroke.behind {
            let _ = write!(self.body, r#"<path class="pull behind" d="{path}"/>"#);
        } else {
            let _ = write!(
                self.body,
                r#"<path class="edge" d="{path}"/><path class="pull" d="{path}"/>"#
            );
        }
    }

    fn arrow(&mut self, places: &[Flat]) {
        let [.., before, tip] = places else { return };
        let back = minus(*before, *tip);
        let back = times(back, 1.0 / apart(*before, *tip).max(1e-6));
        let across = [-back[1], back[0]];
        let neck = plus(*tip, times(back, 14.0));
        let [left, right] =
            [13.0, -13.0].map(|side| plus(plus(*tip, times(back, 26.0)), times(across, side)));
        // The shaft ends in the head.
        let before = places.iter().copied().filter(|at| apart(*at, *tip) > 16.0);
        let shaft: Vec<Flat> = before.chain([neck]).collect();
        let head = path(&[*tip, left, neck, right], true);
        let shaft = path(&shaft, false);
        let _ = write!(
            self.body,
            r#"<path class="edge" d="{shaft}"/><path class="go" d="{shaft}"/><path class="head" d="{head}"/>"#
        );
    }

    fn joint(&mut self, places: &[Flat]) {
        for [x, y] in places {
            let _ = write!(
                self.body,
                r#"<circle class="joint" cx="{x}" cy="{y}" r="9"/><path class="lead" d="M{} {y}h18M{x} {}v18"/>"#,
                x - 9.0,
                y - 9.0
            );
        }
    }

    /// The marks of origins or insertions: a disc with O, a square with I; hollow behind a bone.
    /// Where one would cover another of its kind only the first has its letter.
    fn marks(&mut self, picture: &Picture, part: Part, fit: Fit) {
        let strokes = picture.strokes.iter().filter(|stroke| stroke.part == part);
        let all = strokes.flat_map(|stroke| stroke.points.iter().map(|at| (stroke.behind, *at)));
        let mut lettered: Vec<(bool, Flat)> = Vec::new();
        let mut small: Vec<(bool, Flat)> = Vec::new();
        for (behind, at) in all {
            let at = fit.at(at);
            let covers = lettered.iter().any(|(_, other)| apart(*other, at) < 2.0 * MARK);
            if covers { small.push((behind, at)) } else { lettered.push((behind, at)) }
        }
        for (behind, at) in small {
            self.mark(part, behind, at, MARK * 0.6);
        }
        for (behind, at) in lettered {
            self.lettered(part, behind, at);
        }
    }

    fn lettered(&mut self, part: Part, behind: bool, at: Flat) {
        self.mark(part, behind, at, MARK);
        let letter = if part == Part::Origin { 'O' } else { 'I' };
        let class = match (part, behind) {
            (Part::Origin, true) => "letter on-o",
            (_, true) => "letter on-i",
            (_, false) => "letter",
        };
        let [x, y] = plus(at, [0.0, 9.0]);
        let _ = write!(self.body, r#"<text class="{class}" x="{x:.1}" y="{y:.1}">{letter}</text>"#);
    }

    fn mark(&mut self, part: Part, behind: bool, [x, y]: Flat, radius: f64) {
        let class = mark_class(part, behind);
        let _ = if part == Part::Origin {
            write!(
                self.body,
                r#"<circle class="{class}" cx="{x:.1}" cy="{y:.1}" r="{radius:.1}"/>"#
            )
        } else {
            let [left, top, side] = [x - radius, y - radius, 2.0 * radius];
            write!(
                self.body,
                r#"<rect class="{class}" x="{left:.1}" y="{top:.1}" width="{side:.1}" height="{side:.1}"/>"#
            )
        };
    }

    /// Words that belong to the picture as a whole.
    fn note(&mut self, words: &str, [x, y]: Flat) {
        let _ = write!(self.body, r#"<text class="note" x="{x}" y="{y}">{words}</text>"#);
    }

    fn labels(&mut self, labels: &[Label]) {
        for label in labels {
            self.leader(label);
        }
        for label in labels {
            let [x, y] = label.text_at;
            let anchor = if label.right { "start" } else { "end" };
            let class = if label.part == Part::Muscle { "halo name" } else { "halo" };
            let _ = write!(self.body, r#"<text class="{class}" text-anchor="{anchor}">"#);
            for (row, line) in (0_i16..).zip(&label.lines) {
                let down = f64::from(y) + f64::from(row) * f64::from(Label::LINE);
                let _ = write!(self.body, r#"<tspan x="{x}" y="{down}">{}</tspan>"#, escaped(line));
            }
            self.body.push_str("</text>");
        }
    }

    /// The line from what is named to the middle of the nearer end of its words.
    fn leader(&mut self, label: &Label) {
        let at = label.at.map(f64::from);
        let [x, y] = label.text_at.map(f64::from);
        let rows = (0_u16..).zip(&label.lines).last().map_or(0, |(row, _)| row);
        let middle = y - 9.0 + f64::from(rows) * f64::from(Label::LINE) / 2.0;
        let end = [if label.right { x - 4.0 } else { x + 4.0 }, middle];
        let gap = match label.part {
            Part::Origin | Part::Insertion => MARK,
            Part::Bone | Part::Neighbour | Part::Muscle | Part::Motion | Part::Joint => 6.0,
        };
        let far = apart(at, end);
        if far > gap + 8.0 {
            let start = between(at, end, gap / far);
            let line = path(&[start, end], false);
            let _ = write!(self.body, r#"<path class="lead" d="{line}"/>"#);
        }
    }
}

fn mark_class(part: Part, behind: bool) -> &'static str {
    match (part == Part::Origin, behind) {
        (true, false) => "o",
        (true, true) => "o far",
        (false, false) => "i",
        (false, true) => "i far",
    }
}

fn path(places: &[Flat], closed: bool) -> String {
    let mut path = String::new();
    for (index, [x, y]) in places.iter().enumerate() {
        let step = if index == 0 { 'M' } else { 'L' };
        let _ = write!(path, "{step}{x:.1} {y:.1}");
    }
    if closed {
        path.push('Z');
    }
    path
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::small::{BEFORE, BEHIND, atlas, muscle, vocabulary};
    use crate::{Labels, draw, draw_pair};

    fn bender(labels: Labels) -> Picture {
        draw(&atlas(&[BEFORE]), &vocabulary(), &muscle("bender", "flexion"), labels).unwrap()
    }

    #[test]
    fn a_picture_as_svg() {
        // A line for each element.
        insta::assert_snapshot!(svg(&bender(Labels::Shown)).replace("><", ">\n<"));
    }

    #[test]
    fn two_pictures_as_svg() {
        let both = atlas(&[BEFORE, BEHIND]);
        let (first, second) = (muscle("bender", "flexion"), muscle("stretcher", "extension"));
        let (a, b) = draw_pair(&both, &vocabulary(), &first, &second).unwrap();
        let svg = svg_pair(&a, &b, (&first.name, &second.name));
        let page = roxmltree::Document::parse(&svg).unwrap();
        let root = page.root_element();
        assert_eq!(root.attribute("role"), Some("img"));
        let text = |name: &str| {
            root.children().find(|child| child.has_tag_name(name)).and_then(|child| child.text())
        };
        assert_eq!(text("title"), Some("bender and stretcher"));
        let told = text("desc").unwrap();
        assert!(told.contains(&a.text) && told.contains(&b.text));
    }

    #[test]
    fn words_are_escaped() {
        let mut picture = bender(Labels::Shown);
        picture.labels[0].lines = vec!["<&\">".to_owned()];
        picture.text = "A & B < C. D > E.".to_owned();
        let svg = svg(&picture);
        let page = roxmltree::Document::parse(&svg).unwrap();
        let texts: Vec<&str> = page.descendants().filter_map(|node| node.text()).collect();
        assert!(texts.contains(&"<&\">") && texts.contains(&"A & B < C"));
    }

    #[test]
    fn a_mark_is_known_by_its_shape_and_letter() {
        let svg = svg(&bender(Labels::Hidden));
        let page = roxmltree::Document::parse(&svg).unwrap();
        let count = |name: &str, class: &str| {
            let of_class = |node: &roxmltree::Node<'_, '_>| {
                node.has_tag_name(name)
                    && node.attribute("class").is_some_and(|c| c.starts_with(class))
            };
            page.descendants().filter(of_class).count()
        };
        assert_eq!((count("circle", "o"), count("rect", "i")), (1, 1));
        let letters = page.descendants().filter(|node| {
            node.attribute("class").is_some_and(|class| class.starts_with("letter"))
        });
        let letters: Vec<_> = letters.filter_map(|node| node.text()).collect();
        assert_eq!(letters, ["O", "I"]);
    }
}

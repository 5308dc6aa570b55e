//! The cost of a message against the size of its room, as an SVG file.
//!
//! Both axes are logarithmic, so that a ratio is the same distance everywhere. Curves are told apart
//! by dash and marker as well as colour, and each has its name beside its end.

use std::fmt::Write as _;

const WIDTH: f64 = 720.0;
const HEIGHT: f64 = 440.0;
const LEFT: f64 = 70.0;
const RIGHT: f64 = 90.0;
const TOP: f64 = 50.0;
const BOTTOM: f64 = 60.0;
/// Least distance between two names.
const LINE: f64 = 16.0;
/// Colour, dash and marker of each curve. The colours are told apart without red and green.
const STYLES: [(&str, &str, Marker); 4] = [
    ("#0b3d91", "", Marker::Dot),
    ("#8a4b00", "7 4", Marker::Square),
    ("#5b5b5b", "2 4", Marker::Triangle),
    ("#a0307a", "9 3 2 3", Marker::Diamond),
];

/// One line of the plot.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Curve {
    /// What stands beside its end.
    pub(super) name: &'static str,
    /// Students, and microseconds; both above 0.
    pub(super) points: Vec<(f64, f64)>,
}

#[derive(Debug, Clone, Copy)]
enum Marker {
    Dot,
    Square,
    Triangle,
    Diamond,
}

/// Where values lie on an axis.
#[derive(Debug, Clone, Copy)]
struct Axis {
    least: f64,
    greatest: f64,
    from: f64,
    to: f64,
}

impl Axis {
    fn new(values: impl Iterator<Item = f64> + Clone, from: f64, to: f64) -> Self {
        let least = values.clone().fold(f64::INFINITY, f64::min) / 1.25;
        let greatest = values.fold(0.0, f64::max) * 1.25;
        if least < greatest {
            Self { least, greatest, from, to }
        } else {
            Self { least: 1.0, greatest: 10.0, from, to }
        }
    }

    fn at(self, value: f64) -> f64 {
        let part = (value / self.least).ln() / (self.greatest / self.least).ln();
        self.from + part * (self.to - self.from)
    }

    /// 1, 2 and 5 of each power of ten that lie on it.
    fn ticks(self) -> Vec<f64> {
        let powers = (-3..7).map(|power| 10_f64.powi(power));
        powers
            .flat_map(|power| [power, 2.0 * power, 5.0 * power])
            .filter(|tick| (self.least..=self.greatest).contains(tick))
            .collect()
    }
}

/// Draws the curves; those after the fourth have the style of the fourth.
pub(super) fn draw(curves: &[Curve]) -> String {
    let points = curves.iter().flat_map(|curve| curve.points.iter());
    let x = Axis::new(points.clone().map(|point| point.0), LEFT, WIDTH - RIGHT);
    let y = Axis::new(points.map(|point| point.1), HEIGHT - BOTTOM, TOP);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" \
         font-family=\"sans-serif\" font-size=\"12\" role=\"img\" aria-labelledby=\"t\">\n\
         <title id=\"t\">Server CPU for each copy of a clue, against the size of the room</title>\n\
         <rect width=\"{WIDTH}\" height=\"{HEIGHT}\" fill=\"#fff\"/>\n\
         <text x=\"{LEFT}\" y=\"24\" font-size=\"15\">\
         Server CPU for each copy of a clue, against the size of the room</text>\n"
    );
    frame(&mut svg, curves, x, y);
    for (curve, style) in curves.iter().zip(STYLES.iter().chain(std::iter::repeat(&STYLES[3]))) {
        line(&mut svg, curve, *style, x, y);
    }
    names(&mut svg, curves, x, y);
    svg.push_str("</svg>\n");
    svg
}

/// Both axes, with their units.
fn frame(svg: &mut String, curves: &[Curve], x: Axis, y: Axis) {
    let (bottom, right) = (HEIGHT - BOTTOM, WIDTH - RIGHT);
    let mut put = |text: std::fmt::Arguments<'_>| {
        // A string takes everything.
        let _ = writeln!(svg, "{text}");
    };
    for tick in y.ticks() {
        let at = y.at(tick);
        put(format_args!(
            "<path d=\"M{LEFT} {at:.1}H{right}\" stroke=\"#ddd\"/>\
             <text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\">{tick}</text>",
            LEFT - 8.0,
            at + 4.0
        ));
    }
    let mut sizes: Vec<f64> = curves.iter().flat_map(|c| c.points.iter().map(|p| p.0)).collect();
    sizes.sort_by(f64::total_cmp);
    sizes.dedup_by(|a, b| a.total_cmp(b).is_eq());
    for size in sizes {
        let at = x.at(size);
        put(format_args!(
            "<path d=\"M{at:.1} {bottom}v5\" stroke=\"#333\"/>\
             <text x=\"{at:.1}\" y=\"{}\" text-anchor=\"middle\">{size}</text>",
            bottom + 20.0
        ));
    }
    put(format_args!("<path d=\"M{LEFT} {TOP}V{bottom}H{right}\" fill=\"none\" stroke=\"#333\"/>"));
    let middle = f64::midpoint(LEFT, right);
    put(format_args!(
        "<text x=\"{middle}\" y=\"{}\" text-anchor=\"middle\">students in the room</text>",
        HEIGHT - 16.0
    ));
    let middle = f64::midpoint(TOP, bottom);
    put(format_args!(
        "<text transform=\"translate(20 {middle}) rotate(-90)\" text-anchor=\"middle\">\
         server CPU, each copy (us)</text>"
    ));
}

fn line(svg: &mut String, curve: &Curve, style: (&str, &str, Marker), x: Axis, y: Axis) {
    let (colour, dash, marker) = style;
    let at: Vec<(f64, f64)> = curve.points.iter().map(|p| (x.at(p.0), y.at(p.1))).collect();
    let points: Vec<String> = at.iter().map(|(x, y)| format!("{x:.1},{y:.1}")).collect();
    let _ = writeln!(
        svg,
        "<polyline points=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"2\" \
         stroke-dasharray=\"{dash}\"/>",
        points.join(" ")
    );
    for (x, y) in at {
        let _ = match marker {
            Marker::Dot => {
                writeln!(svg, "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4\" fill=\"{colour}\"/>")
            }
            Marker::Square => {
                let (x, y) = (x - 4.0, y - 4.0);
                writeln!(
                    svg,
                    "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"8\" height=\"8\" fill=\"{colour}\"/>"
                )
            }
            Marker::Triangle => {
                writeln!(svg, "<path d=\"M{x:.1} {:.1}l5 9h-10z\" fill=\"{colour}\"/>", y - 5.0)
            }
            Marker::Diamond => {
                let top = y - 6.0;
                writeln!(svg, "<path d=\"M{x:.1} {top:.1}l5 6l-5 6l-5 -6z\" fill=\"{colour}\"/>")
            }
        };
    }
}

/// The names beside the curves' ends, moved apart where they would lie on each other.
fn names(svg: &mut String, curves: &[Curve], x: Axis, y: Axis) {
    let end = |curve: &Curve| curve.points.last().map(|p| (y.at(p.1), x.at(p.0), curve.name));
    let mut ends: Vec<(f64, f64, &str)> = curves.iter().filter_map(end).collect();
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut least = f64::NEG_INFINITY;
    for (at, x, name) in ends {
        let at = at.max(least);
        least = at + LINE;
        let _ = writeln!(svg, "<text x=\"{:.1}\" y=\"{:.1}\">{name}</text>", x + 10.0, at + 4.0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve(name: &'static str, cost: f64) -> Curve {
        Curve { name, points: vec![(30.0, cost), (1_000.0, cost / 2.0)] }
    }

    #[test]
    fn equal_ratios_are_equal_distances() {
        let axis = Axis::new([30.0, 10_000.0].into_iter(), 0.0, 100.0);
        let (a, b) = (axis.at(300.0) - axis.at(30.0), axis.at(3_000.0) - axis.at(300.0));
        assert!((a - b).abs() < 1e-9 && a > 0.0);
        assert_eq!(axis.ticks(), [50.0, 100.0, 200.0, 500.0, 1e3, 2e3, 5e3, 1e4]);
    }

    #[test]
    fn every_curve_has_its_name_and_its_own_dash_and_marker() {
        let costs = [("server", 9.0), ("floor", 8.9), ("frames", 20.0), ("keeper", 12.0)];
        let svg = draw(&costs.map(|(name, cost)| curve(name, cost)));
        let own = ["<circle", "<rect x", "l5 9h-10z", "l5 6l-5 6", "7 4", "2 4", "9 3 2 3"];
        for part in [">server<", ">floor<", ">frames<", ">keeper<"].into_iter().chain(own) {
            assert!(svg.contains(part), "{part}: {svg}");
        }
        assert!(svg.contains("(us)") && svg.contains("students in the room"));
    }

    #[test]
    fn nothing_measured_is_an_empty_plot() {
        let svg = draw(&[Curve { name: "server", points: Vec::new() }]);
        assert!(svg.ends_with("</svg>\n") && !svg.contains("NaN") && !svg.contains("inf"));
    }
}

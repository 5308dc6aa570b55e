//! The look: a printed plate of anatomy. Thin rules, few weights, and colour in two places only:
//! where attachments and verdicts are named, always beside the word itself.
//!
//! A label is light writing on a dark field of its own, so that it reads the same on a light and
//! on a dark terminal.

use myonym_wire::{Part, Verdict};
use ratatui::style::{Color, Modifier, Style};

/// Whether colours may be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Theme {
    colour: bool,
}

impl Theme {
    /// Thin rules and empty parts of bars.
    pub(crate) const RULE: Style = Style::new().add_modifier(Modifier::DIM);
    /// Headings, names of keys, and what is new.
    pub(crate) const STRONG: Style = Style::new().add_modifier(Modifier::BOLD);
    /// The line that the keys act upon.
    pub(crate) const PICKED: Style = Style::new().add_modifier(Modifier::REVERSED);
    /// A notice that must not be missed.
    pub(crate) const ALERT: Style =
        Style::new().add_modifier(Modifier::REVERSED.union(Modifier::BOLD));

    /// With colours, unless the environment asks for none (`NO_COLOR`, see no-color.org).
    pub(crate) fn of_environment() -> Self {
        Self { colour: std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty()) }
    }

    /// With colours or without.
    #[cfg(test)]
    pub(crate) fn with_colour(colour: bool) -> Self {
        Self { colour }
    }

    /// The label of what a clue or a difference speaks of: origin red, insertion blue, as charts
    /// of the muscles have it.
    pub(crate) fn aspect(self, kind: &str) -> Style {
        match kind {
            "origin" => self.label(ORIGIN),
            "insertion" => self.label(INSERTION),
            _ => Self::STRONG,
        }
    }

    /// A line of a picture. Bones stay in the background; origins and insertions have their letter
    /// too ([`Theme::mark`]).
    pub(crate) fn part(self, part: Part) -> Style {
        match part {
            Part::Bone | Part::Neighbour => Self::RULE,
            Part::Muscle | Part::Motion | Part::Joint => Self::STRONG,
            Part::Origin => self.line(ORIGIN_LINE),
            Part::Insertion => self.line(INSERTION_LINE),
        }
    }

    /// A letter in a picture, and the same letter beside what it means.
    pub(crate) fn mark(self, part: Part) -> Style {
        match part {
            Part::Origin => self.label(ORIGIN),
            Part::Insertion => self.label(INSERTION),
            Part::Bone | Part::Neighbour | Part::Muscle | Part::Motion | Part::Joint => {
                Self::STRONG
            }
        }
    }

    /// The label of a verdict.
    pub(crate) fn verdict(self, verdict: Verdict) -> Style {
        match verdict {
            Verdict::Right => self.label(RIGHT),
            Verdict::Near => self.label(NEAR),
            Verdict::Wrong | Verdict::Silent => Self::STRONG,
        }
    }

    /// A code to be scanned: dark on light, whatever the terminal's own colours.
    pub(crate) fn scan(self) -> Style {
        if self.colour { Style::new().fg(Color::Indexed(16)).bg(PAPER) } else { Self::PICKED }
    }

    fn line(self, colour: Color) -> Style {
        if self.colour { Self::STRONG.fg(colour) } else { Self::STRONG }
    }

    fn label(self, field: Color) -> Style {
        if self.colour { Self::STRONG.fg(PAPER).bg(field) } else { Self::STRONG }
    }
}

/// White of the 256 colours.
const PAPER: Color = Color::Indexed(231);
/// Red, #af0000.
const ORIGIN: Color = Color::Indexed(124);
/// Blue, #005faf.
const INSERTION: Color = Color::Indexed(25);
/// Brighter red and blue, #ff0000 and #005fff, which stand out on light and on dark.
const ORIGIN_LINE: Color = Color::Indexed(196);
const INSERTION_LINE: Color = Color::Indexed(27);
/// Green, #005f00.
const RIGHT: Color = Color::Indexed(22);
/// Ochre, #875f00.
const NEAR: Color = Color::Indexed(94);

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance of a colour of the 6 x 6 x 6 cube: WCAG 2.2, "relative luminance", with
    /// the cube's levels 0, 95, 135, 175, 215, 255 (xterm's 256 colours).
    fn luminance(colour: Color) -> f64 {
        let Color::Indexed(number) = colour else { panic!("not of the cube: {colour:?}") };
        let cube = u32::from(number) - 16;
        [(36, 0.2126), (6, 0.7152), (1, 0.0722)]
            .into_iter()
            .map(|(place, weight)| {
                let level = [0, 95, 135, 175, 215, 255][(cube / place % 6) as usize];
                let share = f64::from(level) / 255.0;
                weight
                    * if share <= 0.04045 {
                        share / 12.92
                    } else {
                        ((share + 0.055) / 1.055).powf(2.4)
                    }
            })
            .sum()
    }

    #[test]
    fn every_label_has_the_contrast_that_small_text_needs() {
        // WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1.
        let theme = Theme::with_colour(true);
        let check = |style: Style, what: &str| {
            let (fg, bg) = (luminance(style.fg.unwrap()), luminance(style.bg.unwrap()));
            let contrast = (fg.max(bg) + 0.05) / (fg.min(bg) + 0.05);
            assert!(contrast >= 4.5, "{what}: {contrast:.2}");
        };
        check(theme.aspect("origin"), "origin");
        check(theme.aspect("insertion"), "insertion");
        check(theme.verdict(Verdict::Right), "right");
        check(theme.verdict(Verdict::Near), "near");
        check(theme.scan(), "scan");
    }

    #[test]
    fn every_line_stands_out_on_white_and_on_black() {
        // WCAG 2.2, success criterion 1.4.11: at least 3 to 1.
        let theme = Theme::with_colour(true);
        for part in [Part::Origin, Part::Insertion] {
            let line = luminance(theme.part(part).fg.unwrap());
            let (white, black) = (1.05 / (line + 0.05), (line + 0.05) / 0.05);
            assert!(white >= 3.0 && black >= 3.0, "{part:?}: {white:.2} {black:.2}");
        }
    }

    #[test]
    fn without_colour_no_style_has_one() {
        let theme = Theme::with_colour(false);
        let styles = [
            Theme::RULE,
            Theme::STRONG,
            Theme::PICKED,
            Theme::ALERT,
            theme.aspect("origin"),
            theme.aspect("insertion"),
            theme.verdict(Verdict::Right),
            theme.verdict(Verdict::Near),
            theme.scan(),
            theme.part(Part::Origin),
            theme.part(Part::Insertion),
            theme.mark(Part::Origin),
            theme.mark(Part::Insertion),
        ];
        assert!(styles.iter().all(|style| style.fg.is_none() && style.bg.is_none()));
    }
}

//! The look: a printed plate of anatomy. Thin rules, few weights, and colour in two places only:
//! where attachments and verdicts are named, always beside the word itself.
//!
//! A label is light writing on a dark field of its own, so that it reads the same on a light and
//! on a dark terminal.

use myonym_wire::Verdict;
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
        ];
        assert!(styles.iter().all(|style| style.fg.is_none() && style.bg.is_none()));
    }
}

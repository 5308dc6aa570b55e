//! Colours, for light and dark surroundings. Tests compute the contrasts.

/// A colour by the name that the style sheet knows it by, light and dark.
#[derive(Debug, Clone, Copy)]
pub(super) struct Colour {
    /// Custom property without its dashes.
    pub(super) name: &'static str,
    /// `#rrggbb` on light paper.
    pub(super) light: &'static str,
    /// `#rrggbb` on dark.
    pub(super) dark: &'static str,
}

const fn colour(name: &'static str, light: &'static str, dark: &'static str) -> Colour {
    Colour { name, light, dark }
}

/// All colours of a page. The lines of sections and the steps of the heat map differ in lightness
/// as well as in hue.
pub(super) const PALETTE: [Colour; 18] = [
    colour("paper", "#ffffff", "#15181c"),
    colour("card", "#f2f5f8", "#20262c"),
    colour("ink", "#1a1f24", "#e9ecef"),
    colour("soft", "#4d5964", "#b4bec7"),
    colour("rule", "#7f8b96", "#76828d"),
    colour("accent", "#0a5a9c", "#72b7f2"),
    colour("bar", "#cfe2f3", "#24425f"),
    colour("alarm", "#96360a", "#ffb384"),
    colour("line-1", "#0a5a9c", "#72b7f2"),
    colour("line-2", "#96360a", "#ffb384"),
    colour("line-3", "#1c6a3b", "#86d3a0"),
    colour("line-4", "#643a9a", "#cbacf2"),
    colour("heat-1", "#fdeadb", "#33281f"),
    colour("heat-2", "#f8c69c", "#59381f"),
    colour("heat-3", "#e98e4e", "#d07a3a"),
    colour("heat-4", "#a8400b", "#ffb786"),
    // The middle of the scale is light in neither scheme: its numbers are always dark.
    colour("heat-3-ink", "#15181c", "#15181c"),
    colour("heat-edge", "#96560f", "#c98a55"),
];

/// The custom properties of one scheme.
pub(super) fn properties(dark: bool) -> String {
    let value = |colour: &Colour| if dark { colour.dark } else { colour.light };
    let declare = |colour: &Colour| format!("--{}:{};", colour.name, value(colour));
    PALETTE.iter().map(declare).collect::<Vec<_>>().concat()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What stands on what: text needs 4.5, marks and lines 3. WCAG 2.2, success criteria 1.4.3
    /// and 1.4.11.
    const TEXT_ON: [(&str, &str); 16] = [
        ("ink", "paper"),
        ("ink", "card"),
        ("soft", "paper"),
        ("soft", "card"),
        ("accent", "paper"),
        ("accent", "card"),
        ("alarm", "paper"),
        ("alarm", "card"),
        ("line-1", "paper"),
        ("line-2", "paper"),
        ("line-3", "paper"),
        ("line-4", "paper"),
        ("ink", "heat-1"),
        ("ink", "heat-2"),
        ("heat-3-ink", "heat-3"),
        ("paper", "heat-4"),
    ];
    const MARK_ON: [(&str, &str); 5] = [
        ("rule", "paper"),
        ("rule", "card"),
        ("heat-edge", "paper"),
        ("accent", "paper"),
        ("ink", "bar"),
    ];

    #[test]
    fn text_and_marks_can_be_seen_in_both_schemes() {
        for dark in [false, true] {
            for (front, back) in TEXT_ON {
                let found = contrast(named(front, dark), named(back, dark));
                assert!(found >= 4.5, "{front} on {back}, dark {dark}: {found:.2}");
            }
            for (front, back) in MARK_ON {
                let found = contrast(named(front, dark), named(back, dark));
                assert!(found >= 3.0, "{front} on {back}, dark {dark}: {found:.2}");
            }
        }
    }

    /// WCAG 2.2, definitions of contrast ratio and relative luminance: black on white is 21, and
    /// `#777777` on white, its widely printed example just below 4.5, is 4.48.
    #[test]
    fn contrasts_agree_with_known_ones() {
        assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9);
        assert!((contrast("#777777", "#ffffff") - 4.48).abs() < 0.005);
    }

    fn named(name: &str, dark: bool) -> &'static str {
        let found = PALETTE.iter().find(|colour| colour.name == name).unwrap();
        if dark { found.dark } else { found.light }
    }

    fn contrast(a: &str, b: &str) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    fn luminance(colour: &str) -> f64 {
        let channel = |from: usize| {
            let part = f64::from(u8::from_str_radix(&colour[from..from + 2], 16).unwrap()) / 255.0;
            if part <= 0.04045 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * channel(1) + 0.7152 * channel(3) + 0.0722 * channel(5)
    }
}

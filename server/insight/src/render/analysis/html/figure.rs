//! A picture with its words and its numbers.

use std::fmt;

use maud::{Markup, html};

/// A drawing in units of its own: text in it is 13 high.
#[derive(Debug)]
pub(super) struct Picture<'a> {
    /// Unique on the page.
    pub(super) id: &'a str,
    /// What it is.
    pub(super) title: &'a str,
    /// What is to be seen in it, for those who do not see it.
    pub(super) description: &'a str,
    /// Width and height.
    pub(super) size: (f64, f64),
    /// The drawing.
    pub(super) drawn: Markup,
}

/// A figure: the picture, a caption, and the same in numbers to open.
pub(super) fn figure(picture: &Picture<'_>, caption: &Markup, numbers: &Markup) -> Markup {
    let Picture { id, title, description, size: (width, height), drawn } = picture;
    html! {
        figure {
            div.wide role="group" tabindex="0" aria-label=(title) {
                svg role="img" aria-labelledby={ (id) "-t" } aria-describedby={ (id) "-d" }
                    viewBox={ "0 0 " (Px(*width)) " " (Px(*height)) }
                    style={ "--w:" (Px(*width)) "px" } {
                    title id={ (id) "-t" } { (title) }
                    desc id={ (id) "-d" } { (description) }
                    (drawn)
                }
            }
            figcaption { (caption) }
            details {
                summary { "In numbers: " (title) }
                (numbers)
            }
        }
    }
}

/// Height of text in a picture. The style sheet draws a picture at 0.8 to 1.25 of its size, so that
/// its text is 10 to 16 pixels high.
pub(super) const TEXT: f64 = 13.0;

/// The room that text takes, at most: a page does not know the reader's face, so this goes by the
/// widest of the common ones without serifs.
pub(super) fn text_width(text: &str) -> f64 {
    text.chars().map(advance).sum::<f64>() * TEXT
}

/// The width of a sign in heights of text. Measured on one wide face and rounded up; our estimate.
fn advance(sign: char) -> f64 {
    match sign {
        'i' | 'j' | 'l' | '\'' | '.' | ',' | ':' | ';' | '|' | ' ' => 0.34,
        'f' | 'r' | 't' | '(' | ')' | '[' | ']' | '-' | '/' | '!' => 0.42,
        'm' | 'w' | 'M' | 'W' | '%' | '@' | '…' => 1.0,
        '<' | '>' | '=' | '+' | '&' | 'A'..='Z' => 0.84,
        '\u{1100}'.. => 1.1,
        _ => 0.64,
    }
}

/// Text cut to so much room.
pub(super) fn short(text: &str, room: f64) -> String {
    if text_width(text) <= room {
        return text.to_owned();
    }
    let mut left = room - text_width("…");
    let fits = |sign: &char| {
        left -= advance(*sign) * TEXT;
        left >= 0.0
    };
    let kept: String = text.chars().take_while(fits).collect();
    format!("{}…", kept.trim_end())
}

/// A length, to one decimal: enough for an eye, and short.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Px(pub(super) f64);

impl fmt::Display for Px {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = format!("{:.1}", self.0);
        let text = text.strip_suffix(".0").unwrap_or(&text);
        f.write_str(if text == "-0" { "0" } else { text })
    }
}

impl maud::Render for Px {
    fn render_to(&self, buffer: &mut String) {
        buffer.push_str(&self.to_string());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_short() {
        let check = |length: f64, want: &str| assert_eq!(Px(length).to_string(), want);
        check(12.0, "12");
        check(0.25, "0.2");
        check(-0.01, "0");
        check(100.06, "100.1");
    }

    #[test]
    fn long_text_is_cut() {
        assert_eq!(short("teres minor", 200.0), "teres minor");
        assert_eq!(short("teres minor", 60.0), "teres…");
        for room in [20.0, 50.0, 100.0] {
            assert!(text_width(&short("wwwwwwwwwwwwwwwwwwwwww", room)) <= room);
        }
    }
}

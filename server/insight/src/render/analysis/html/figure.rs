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
                svg role="img" aria-labelledby={ (id) "-t " (id) "-d" }
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

/// The room that text takes: common faces without serifs average half their height a letter, and
/// this is somewhat more.
pub(super) fn text_width(text: &str) -> f64 {
    let letters = u32::try_from(text.chars().count()).unwrap_or(u32::MAX);
    f64::from(letters) * TEXT * 0.56
}

/// Text cut to so many letters.
pub(super) fn short(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_owned();
    }
    let kept: String = text.chars().take(most.saturating_sub(1)).collect();
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
        assert_eq!(short("teres minor", 11), "teres minor");
        assert_eq!(short("teres minor", 7), "teres…");
    }
}

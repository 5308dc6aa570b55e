//! The style sheet: the colours of both schemes, then `page.css`.

use super::palette::properties;

/// The whole sheet. Paper is always light.
pub(super) fn sheet() -> String {
    let (light, dark) = (properties(false), properties(true));
    format!(
        ":root{{{light}}}\n@media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}\n{}",
        include_str!("page.css")
    )
}

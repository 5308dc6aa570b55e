//! `myonym content picture`.

use std::fs;
use std::process::ExitCode;

use anyhow::Context as _;
use myonym_content::{Catalogue, Muscle};
use myonym_picture::{Labels, draw, draw_pair, svg, svg_pair};

use super::content::find;
use super::say;
use crate::cli::PictureArgs;

/// Writes the picture of one muscle, or of two side by side, as SVG.
pub(super) fn write(args: &PictureArgs) -> anyhow::Result<ExitCode> {
    let catalogue = Catalogue::bundled();
    let muscle = find(catalogue, &args.muscle.join(" "))?;
    let none = |muscle: &Muscle| format!("the atlas has no line of pull of {}", muscle.name);
    let (text, told) = if let Some(other) = &args.beside {
        let other = find(catalogue, other)?;
        let (left, right) = draw_pair(&catalogue.atlas, &catalogue.vocabulary, muscle, other)
            .with_context(|| format!("{}, or {}", none(muscle), none(other)))?;
        let names = (muscle.name.as_str(), other.name.as_str());
        (svg_pair(&left, &right, names), format!("{}\n{}", left.text, right.text))
    } else {
        let labels = if args.unlabelled { Labels::Hidden } else { Labels::Shown };
        let picture = draw(&catalogue.atlas, &catalogue.vocabulary, muscle, labels)
            .with_context(|| none(muscle))?;
        (svg(&picture), picture.text)
    };
    fs::write(&args.file, text)
        .with_context(|| format!("{} cannot be written", args.file.display()))?;
    say(&format!("{}\n{told}", args.file.display()));
    Ok(ExitCode::SUCCESS)
}

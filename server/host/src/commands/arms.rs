//! `myonym content arms`.

use std::fmt::Write as _;
use std::fs;
use std::process::ExitCode;

use anyhow::{Context as _, bail};
use myonym_content::atlas::{JointFreedom, Line};
use myonym_content::model::FreedomKey;
use myonym_content::problem::SourceFile;
use myonym_content::{Atlas, Catalogue, Muscle};
use myonym_mechanics::{Certainty, Estimate, Posture};

use super::content::find;
use super::say;
use crate::cli::ArmsArgs;

/// Shows the moment arms of one muscle about every freedom that its lines of pull cross.
pub(super) fn show(args: &ArmsArgs) -> anyhow::Result<ExitCode> {
    let own = catalogue(args)?;
    let catalogue = own.as_ref().unwrap_or_else(|| Catalogue::bundled());
    let muscle = find(catalogue, &args.muscle.join(" "))?;
    let atlas = &catalogue.atlas;
    if atlas.lines(&muscle.key).is_empty() {
        bail!(
            "the atlas has no line of pull of {}: it moves no rigid bone, or none yet",
            muscle.name
        );
    }
    let posture = posture(atlas, &args.bend)?;
    say(table(catalogue, muscle, &posture, !args.bend.is_empty()).trim_end());
    Ok(ExitCode::SUCCESS)
}

/// The bundled content with the files given; `None` where there are none.
fn catalogue(args: &ArmsArgs) -> anyhow::Result<Option<Catalogue>> {
    if args.files.is_empty() {
        return Ok(None);
    }
    let read = |path: &std::path::PathBuf| -> anyhow::Result<SourceFile> {
        let text = fs::read_to_string(path)
            .with_context(|| format!("{} cannot be read", path.display()))?;
        Ok(SourceFile { path: path.display().to_string(), text })
    };
    let files = args.files.iter().map(read).collect::<anyhow::Result<Vec<_>>>()?;
    match Catalogue::with_bundled(&files) {
        Ok(catalogue) => Ok(Some(catalogue)),
        Err(problems) => {
            let lines: Vec<String> = problems.iter().map(ToString::to_string).collect();
            bail!("the files have problems:\n{}", lines.join("\n"))
        }
    }
}

/// Angles such as `elbow-flexion=90`.
fn posture(atlas: &Atlas, bends: &[String]) -> anyhow::Result<Posture> {
    let one = |bend: &String| {
        let (key, degrees) = bend.split_once('=').with_context(|| {
            format!("{bend}: write a freedom and an angle, such as elbow-flexion=90")
        })?;
        let freedom = atlas.freedom_by_key(&FreedomKey::new(key)).with_context(|| {
            let keys: Vec<&str> =
                atlas.freedoms.iter().map(|freedom| freedom.key.as_str()).collect();
            format!("no freedom is called {key}; there are {}", keys.join(", "))
        })?;
        let degrees: f64 =
            degrees.parse().ok().filter(|degrees: &f64| degrees.abs() <= 360.0).with_context(
                || format!("{bend}: an angle is a number of degrees from -360 to 360"),
            )?;
        Ok((freedom.id, degrees.to_radians()))
    };
    bends.iter().map(one).collect()
}

fn table(catalogue: &Catalogue, muscle: &Muscle, bent: &Posture, is_bent: bool) -> String {
    let atlas = &catalogue.atlas;
    let mut page = format!("{}\n", muscle.name);
    line(&mut page, "Moment arms in mm, with standard deviation; lengths follow from the atlas");
    for pull in atlas.lines(&muscle.key) {
        line(&mut page, &format!("\n{}", called(muscle, pull)));
        let crossed = atlas.freedoms.iter().filter_map(|freedom| {
            let straight = Posture::new();
            let judged = freedom.judged_at.first().unwrap_or(&straight);
            let posture = if is_bent { bent } else { judged };
            let arm = atlas.mean_arm(freedom, posture, &[pull])?;
            Some(row(catalogue, freedom, posture, arm))
        });
        crossed.for_each(|row| line(&mut page, &row));
    }
    page
}

fn row(catalogue: &Catalogue, freedom: &JointFreedom, at: &Posture, arm: Estimate) -> String {
    let v = &catalogue.vocabulary;
    let joint = v.joints.get(&freedom.joint).map_or(freedom.joint.as_str(), |joint| &joint.name);
    let movement = freedom.movement(arm.arm_mm).and_then(|movement| v.movements.get(movement));
    let movement = movement.map_or("to the other side", |movement| &movement.name);
    let certainty = match arm.certainty() {
        Certainty::Sure => "sure",
        Certainty::Likely => "likely",
        Certainty::CannotSay => "cannot say",
    };
    let size = arm.arm_mm.abs();
    let bent: Vec<String> = at
        .iter()
        .filter_map(|(id, angle)| {
            let bent = catalogue.atlas.freedoms.iter().find(|freedom| freedom.id == *id)?;
            Some(format!("{} {:.0}", bent.key, angle.to_degrees()))
        })
        .collect();
    let bent = if bent.is_empty() { String::new() } else { format!("  at {}", bent.join(", ")) };
    format!("  {size:>6.1} ± {:<4.1} {movement}, {joint}: {certainty}{bent}", arm.sd_mm)
}

/// What a line of pull is called: its part, its name, or both.
fn called(muscle: &Muscle, line: &Line) -> String {
    let part = line.part.as_ref().and_then(|part| muscle.part(part)).map(|part| part.name.as_str());
    match (part, line.name.as_deref()) {
        (Some(part), Some(name)) => format!("{part}, {name}"),
        (Some(one), None) | (None, Some(one)) => one.to_owned(),
        (None, None) => "the whole muscle".to_owned(),
    }
}

fn line(page: &mut String, text: &str) {
    // Writing to a string cannot fail.
    let _ = writeln!(page, "{text}");
}

//! Writes pictures of many muscles on one page, to look at.
//!
//! ```text
//! cargo run -p myonym-picture --example sheet -- FILE.html WIDTH [REGION | MUSCLE | MUSCLE+MUSCLE]...
//! ```
//!
//! `WIDTH` is that of one picture in pixels, such as 360. A region stands for all its muscles, two
//! muscles with a plus for a comparison; without any, every muscle is drawn. A name that begins
//! with a minus sign is drawn without names.

use std::fmt::Write as _;
use std::process::ExitCode;

use myonym_content::Catalogue;
use myonym_content::model::{Muscle, MuscleKey};
use myonym_picture::{Labels, draw, draw_pair, svg, svg_pair};

fn main() -> ExitCode {
    let mut arguments = std::env::args().skip(1);
    let (Some(file), Some(width)) = (arguments.next(), arguments.next()) else {
        return ExitCode::from(2);
    };
    let mut wanted: Vec<String> = arguments.collect();
    if wanted.is_empty() {
        wanted.push(String::new());
    }
    let pictures: Vec<String> = wanted.iter().flat_map(|name| pictures(name)).collect();
    let mut page = String::from(HEAD);
    for picture in pictures {
        let _ = write!(page, r#"<div style="width:{width}px">{picture}</div>"#);
    }
    match std::fs::write(file, page) {
        Ok(()) => ExitCode::SUCCESS,
        Err(_) => ExitCode::FAILURE,
    }
}

const HEAD: &str = "<!doctype html><meta charset=\"utf-8\"><meta name=\"color-scheme\" \
content=\"light dark\"><title>Pictures</title><style>body{display:flex;flex-wrap:wrap;gap:8px;\
margin:8px}div{outline:1px solid gray}svg{display:block}</style>";

fn pictures(name: &str) -> Vec<String> {
    let catalogue = Catalogue::bundled();
    let (atlas, v) = (&catalogue.atlas, &catalogue.vocabulary);
    let find = |name: &str| catalogue.muscle(&MuscleKey::new(name));
    if let Some((a, b)) = name.split_once('+') {
        let pair = find(a).zip(find(b));
        let drawn = pair.and_then(|(a, b)| Some((a, b, draw_pair(atlas, v, a, b)?)));
        let svg = |(a, b, (first, second)): (&Muscle, &Muscle, _)| {
            svg_pair(&first, &second, (&a.name, &b.name))
        };
        return drawn.map(svg).into_iter().collect();
    }
    let (name, labels) = match name.strip_prefix('-') {
        Some(name) => (name, Labels::Hidden),
        None => (name, Labels::Shown),
    };
    let concerned = |muscle: &&Muscle| {
        name.is_empty() || muscle.key.as_str() == name || muscle.region.as_str() == name
    };
    let muscles = catalogue.muscles().filter(concerned);
    muscles.filter_map(|muscle| Some(svg(&draw(atlas, v, muscle, labels)?))).collect()
}

//! Arms of ours beside published ones.

use std::collections::BTreeSet;

use myonym_mechanics::Point;

use crate::models::{ArmsRow, Line, Model};

/// From this size the sign of a published arm has to be ours, in millimetres.
const SIGN_FROM_MM: f64 = 5.0;
/// How far the size may be off: the larger of millimetres and a share.
const OFF_MM: f64 = 3.0;
const OFF_SHARE: f64 = 0.2;

/// One published arm and ours.
pub(crate) struct Compared {
    /// Line, freedom and posture in words.
    pub(crate) name: String,
    pub(crate) element: String,
    pub(crate) wraps: bool,
    pub(crate) published_mm: f64,
    pub(crate) ours_mm: f64,
}

impl Compared {
    pub(crate) fn off_mm(&self) -> f64 {
        (self.ours_mm - self.published_mm).abs()
    }

    pub(crate) fn sign_counts(&self) -> bool {
        self.published_mm.abs() >= SIGN_FROM_MM
    }

    pub(crate) fn sign_is_wrong(&self) -> bool {
        self.sign_counts() && self.ours_mm * self.published_mm <= 0.0
    }

    pub(crate) fn size_is_wrong(&self) -> bool {
        self.off_mm() > (OFF_SHARE * self.published_mm.abs()).max(OFF_MM)
    }
}

/// The arms of a row that the model's file lets us compute.
pub(crate) fn compare(
    model: &Model,
    row: &ArmsRow,
    points: fn(&Line) -> &[Point],
) -> Vec<Compared> {
    let Some(freedom) = model.freedom(&row.freedom) else { return Vec::new() };
    let posture = model.posture(row);
    let pose = model.linkage.pose(&posture);
    let compared = |(element, &published_mm): (&String, &f64)| {
        let line = model.line(element);
        let ours_mm = pose.arm_mm(freedom, points(line))?;
        let name = format!("{}: {element}, {}{}", row.model, row.freedom, row.posture_in_words());
        Some(Compared {
            name,
            element: element.clone(),
            wraps: line.wraps(),
            published_mm,
            ours_mm,
        })
    };
    row.arms_mm.iter().filter_map(compared).collect()
}

/// Those that are off are exactly those that are listed: a new miss fails, and so does a listed one
/// that is no miss any more.
pub(crate) fn assert_listed<'c>(off: impl Iterator<Item = &'c Compared>, listed: &[&str]) {
    let off: Vec<&Compared> = off.collect();
    let found: BTreeSet<&str> = off.iter().map(|row| row.name.as_str()).collect();
    let listed: BTreeSet<&str> = listed.iter().copied().collect();
    let new: Vec<String> = off
        .iter()
        .filter(|row| !listed.contains(row.name.as_str()))
        .map(|row| format!("{} published {} ours {:.2}", row.name, row.published_mm, row.ours_mm))
        .collect();
    let mended: Vec<&&str> = listed.difference(&found).collect();
    assert!(new.is_empty() && mended.is_empty(), "new: {new:#?}\nno longer off: {mended:#?}");
}

/// The row that is off most.
pub(crate) fn worst(rows: &[Compared]) -> String {
    let worst = rows.iter().max_by(|a, b| a.off_mm().total_cmp(&b.off_mm())).expect("some row");
    format!("{} (published {}, ours {:.2} mm)", worst.name, worst.published_mm, worst.ours_mm)
}

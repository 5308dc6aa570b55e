//! Two builds side by side, from the JSON that the scenarios of each left.

use std::path::Path;

use anyhow::{Context, ensure};
use serde::Deserialize;

use super::FORM;
use super::sheet::{RowJson, SheetJson, Spread};
use crate::table::table;

#[derive(Debug, Deserialize)]
struct Results {
    form: u32,
    scenarios: Vec<SheetJson>,
}

/// The figures of both, how they changed, and whether that lies beyond the runs' spread.
pub(crate) fn text(before: &Path, after: &Path) -> anyhow::Result<String> {
    Ok(changes(&read(before)?, &read(after)?))
}

fn read(path: &Path) -> anyhow::Result<Results> {
    let context = || format!("{} is no JSON of `scenarios`", path.display());
    let text =
        std::fs::read_to_string(path).with_context(|| format!("cannot read {}", path.display()))?;
    let results: Results = serde_json::from_str(&text).with_context(context)?;
    ensure!(results.form == FORM, "{} has form {}, not {FORM}", path.display(), results.form);
    Ok(results)
}

fn changes(before: &Results, after: &Results) -> String {
    let head = ["scenario", "figure", "as", "before", "after", "change", ""];
    let mut table = table(head, 3..6);
    for old in &before.scenarios {
        let Some(new) = after.scenarios.iter().find(|new| new.scenario == old.scenario) else {
            continue;
        };
        // Other sizes are another load.
        if new.title != old.title {
            continue;
        }
        for (old_row, new_row) in pairs(old, new) {
            let Some((measure, before, after)) = comparable(old_row, new_row) else { continue };
            let change = (after.median / before.median - 1.0) * 100.0;
            table.add_row([
                old.scenario.clone(),
                old_row.label.clone(),
                measure.to_owned(),
                before.words(),
                after.words(),
                format!("{change:+.0} %"),
                verdict(before, after).to_owned(),
            ]);
        }
    }
    table.trim_fmt()
}

fn pairs<'a>(
    old: &'a SheetJson,
    new: &'a SheetJson,
) -> impl Iterator<Item = (&'a RowJson, &'a RowJson)> {
    let find = |row: &RowJson| new.figures.iter().find(|other| other.key == row.key);
    old.figures.iter().filter_map(move |row| Some((row, find(row)?)))
}

/// What of a figure can be compared: its ratio to the floor, else that to the frames, else itself.
fn comparable(old: &RowJson, new: &RowJson) -> Option<(&'static str, Spread, Spread)> {
    let with = |name, old: Option<Spread>, new: Option<Spread>| Some((name, old?, new?));
    with("x floor", old.server_over_floor, new.server_over_floor)
        .or_else(|| with("x frames", old.server_over_frames, new.server_over_frames))
        .or_else(|| with("itself", Spread::of(&old.server), Spread::of(&new.server)))
}

/// Whether the runs of one build lie all on one side of all runs of the other.
fn verdict(before: Spread, after: Spread) -> &'static str {
    if after.greatest < before.least {
        "lower, beyond the spread"
    } else if after.least > before.greatest {
        "higher, beyond the spread"
    } else {
        "within the spread"
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spread(least: f64, median: f64, greatest: f64) -> Spread {
        Spread { median, least, greatest }
    }

    #[test]
    fn a_change_counts_only_where_the_runs_do_not_overlap() {
        let check = |before, after, want| assert_eq!(verdict(before, after), want);
        let before = spread(1.0, 1.1, 1.3);
        check(before, spread(1.2, 1.4, 1.6), "within the spread");
        check(before, spread(1.31, 1.4, 1.6), "higher, beyond the spread");
        check(before, spread(0.8, 0.9, 0.99), "lower, beyond the spread");
        check(before, before, "within the spread");
    }

    fn row(over_floor: Option<Spread>, server: &[f64]) -> RowJson {
        RowJson {
            key: "cost".to_owned(),
            label: "cost (us)".to_owned(),
            server: server.to_vec(),
            floor: Vec::new(),
            frames: Vec::new(),
            keeper: Vec::new(),
            server_over_floor: over_floor,
            server_over_frames: None,
            server_over_keeper: None,
            target: None,
            met: None,
        }
    }

    fn results(row: RowJson) -> Results {
        let (scenario, title) = ("hall".to_owned(), "a hall".to_owned());
        let sheet = SheetJson { scenario, title, runs: 3, figures: vec![row], faults: Vec::new() };
        Results { form: FORM, scenarios: vec![sheet] }
    }

    #[test]
    fn ratios_are_compared_where_there_are_any_and_else_the_figures() {
        let ratio = |median| Some(spread(median, median, median));
        let text = changes(&results(row(ratio(2.0), &[5.0])), &results(row(ratio(1.0), &[5.0])));
        assert!(text.contains("x floor") && text.contains("-50 %"), "{text}");
        let text = changes(&results(row(None, &[4.0])), &results(row(None, &[5.0])));
        assert!(text.contains("itself") && text.contains("+25 %"), "{text}");
        assert!(text.contains("higher, beyond the spread"), "{text}");
    }
}

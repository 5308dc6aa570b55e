//! Opening a review as a first message asks for it: drawn, or by a plan or a list that came as text.

use std::sync::Arc;

use myonym_content::Catalogue;
use myonym_content::problem::{Problem, SourceFile};
use myonym_wire::{ErrorCode, HostKey, ReviewSettings};

use crate::plan_file::{self, PlanFile};
use crate::reviews::Reviews;
use crate::room::RoomHandle;
use crate::secrets;

/// Problems of a text that are told at most.
const MOST_PROBLEMS: usize = 20;

/// Opens a review and gives its own key. Texts are read as files are by the command line, save that
/// no file of the server is opened for them.
pub(crate) fn open(
    reviews: &Arc<Reviews>,
    settings: &ReviewSettings,
    plan: Option<String>,
    own_list: Option<String>,
) -> Result<(RoomHandle, HostKey), (ErrorCode, String)> {
    let own_list = own_list.map(|text| SourceFile { path: "own_list".to_owned(), text });
    let opened = match plan {
        None => reviews.open(settings, own_list),
        Some(text) => {
            let plan = read(text, own_list)?;
            let settings = ReviewSettings {
                list: plan.list,
                limit_ms: plan.limit_ms.unwrap_or(settings.limit_ms),
                adaptive: false,
                ..settings.clone()
            };
            let seed = plan.seed.unwrap_or_else(secrets::seed);
            reviews.open_planned(&settings, plan.own_list, &plan.rounds, seed)
        }
    };
    opened.map_err(|fault| (fault.code(), fault.to_string()))
}

fn read(text: String, own_list: Option<SourceFile>) -> Result<PlanFile, (ErrorCode, String)> {
    let file = SourceFile { path: "plan".to_owned(), text };
    let read = plan_file::read(&file, Catalogue::bundled(), |_| Ok(own_list));
    read.map_err(|problems| (ErrorCode::BadField, told(&problems)))
}

/// Problems, one a line.
fn told(problems: &[Problem]) -> String {
    let mut lines: Vec<String> =
        problems.iter().take(MOST_PROBLEMS).map(ToString::to_string).collect();
    if let Some(more) = problems.len().checked_sub(MOST_PROBLEMS).filter(|more| *more > 0) {
        lines.push(format!("and {more} more"));
    }
    lines.join("\n")
}

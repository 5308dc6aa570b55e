//! What happened, as lines for people.

use std::fmt::Write as _;

use myonym_content::MuscleKey;
use myonym_engine::{
    Answer, AskedAgainWhy, Event, Logged, Phase, Planned, Reply, Review, score, standings,
};
use myonym_wire::{RoundNo, StudentId, Task, TimeAllowance};

/// One event.
pub(crate) fn event(logged: &Logged) -> String {
    let what = match &logged.event {
        Event::Opened { plan, .. } => format!("review opens with {} rounds", plan.len()),
        Event::Seated { student, listed: true } => format!("{} seated", name(*student)),
        Event::Seated { student, listed: false } => format!("{} seated, unlisted", name(*student)),
        Event::Back { student } => format!("{} back", name(*student)),
        Event::Away { student, left: true } => format!("{} left", name(*student)),
        Event::Away { student, left: false } => format!("{} away", name(*student)),
        Event::Removed { student } => format!("{} removed", name(*student)),
        Event::Stretched { student, time } => {
            format!("{} has {}", name(*student), allowance(*time))
        }
        Event::Renamed { student } => format!("{} renamed", name(*student)),
        Event::Replanned { round, planned, why } => {
            let Planned { muscle, task, beside } = planned;
            let beside = beside.as_ref().map(|other| format!(" beside {other}"));
            let beside = beside.unwrap_or_default();
            format!("round {round} is now {task:?} of {muscle}{beside}: {why}")
        }
        Event::RoundOpened { round, task: Task::Contrast, name, clues, offered, .. } => {
            let clues: Vec<&str> = clues.iter().map(|clue| clue.text.as_str()).collect();
            let offered: Vec<&str> = offered.iter().map(|one| one.name.as_str()).collect();
            let offered = offered.join(" or ");
            format!("round {round} opens: {offered}? ({name}): {}", clues.join(" "))
        }
        Event::RoundOpened { round, task: Task::Name, name, clues, .. } => {
            format!("round {round} opens: {name}, {} clues", clues.len())
        }
        Event::RoundOpened { round, task, name, clues, .. } => {
            let clues: Vec<&str> = clues.iter().map(|clue| clue.text.as_str()).collect();
            format!("round {round} opens: {task:?} of {name}: {}", clues.join(" "))
        }
        Event::ClueShown { round, number } => format!("round {round} clue {number}"),
        Event::Answered(answer) => answered(answer),
        Event::AskedAgain { round, student, typed, why, among, .. } => {
            let why = asked_again(*why, among);
            format!("round {round} {} `{typed}` is no answer: {why}", name(*student))
        }
        Event::Voted { student, motion, yes: true } => {
            format!("{} is for {motion:?}", name(*student))
        }
        Event::Voted { student, motion, yes: false } => {
            format!("{} is no more for {motion:?}", name(*student))
        }
        Event::Paused {} => "time stands".to_owned(),
        Event::Resumed {} => "time runs".to_owned(),
        Event::RoundClosed { round, why, silent } => {
            format!("round {round} closed: {why:?}; silent: {}", names(silent))
        }
        Event::RoundSkipped { round } => format!("round {round} skipped"),
        Event::Revealed { round, contrast } => {
            let contrast = contrast.as_ref().map(|c| format!("; {} x{}", c.said_name, c.count));
            format!("round {round} revealed{}", contrast.unwrap_or_default())
        }
        Event::Restarted {} => "server restarted".to_owned(),
        Event::Forgotten {} => "forgotten".to_owned(),
        Event::Ended { why } => format!("review over: {why:?}"),
    };
    format!("{:8} {what}\n", logged.at.0)
}

/// A reply.
pub(crate) fn reply(reply: &Reply) -> String {
    match reply {
        Reply::Refused(why) => format!("refused, {why:?}"),
        Reply::Received { round, .. } => format!("received for round {round}"),
        Reply::Taken { round, .. } => format!("taken before for round {round}"),
        Reply::AskedBefore { round, why, among, .. } => {
            format!("asked before in round {round}: {}", asked_again(*why, among))
        }
    }
}

/// Where the review stands.
pub(crate) fn phase(review: &Review) -> String {
    let mut text = match review.phase() {
        Phase::Gathering => "gathering".to_owned(),
        Phase::Open(round) => {
            let (shown, of, answers) = (round.shown, round.clues.len(), round.answers.len());
            format!("round {} open, clue {shown} of {of}, {answers} answered", round.round)
        }
        Phase::Closed(record) => format!("round {} closed", record.round),
        Phase::Revealed => "revealed".to_owned(),
        Phase::Skipped { round, .. } => format!("round {round} skipped"),
        Phase::Ended(why) => format!("over: {why:?}"),
    };
    let _ = write!(text, ", {} here", review.present());
    if review.is_paused() {
        text += ", time stands";
    }
    for vote in review.votes() {
        let _ = write!(text, ", {:?} {} of {}", vote.motion, vote.yes, vote.needed);
    }
    if let Some(due) = review.next_wakeup() {
        let _ = write!(text, ", wakes at {}", due.0);
    }
    format!("    = {text}\n")
}

/// Standings and rounds.
pub(crate) fn results(review: &Review) -> String {
    let mut text = "standings\n".to_owned();
    for row in standings(review) {
        let (place, points) = (row.place, row.points.as_f64());
        let _ = writeln!(text, "  {place}. {} {points:.2}", name(row.student));
    }
    for record in review.rounds() {
        let _ = writeln!(text, "round {}: {}", record.round, record.name);
        for student in record.answers.keys().chain(&record.silent) {
            let result = record.result(*student, review.settings().rule);
            let (verdict, points) = result.expect("a result of whoever was here");
            let _ = writeln!(text, "  {} {verdict:?} {:.2}", name(*student), points.as_f64());
        }
    }
    text
}

/// The round opened last.
pub(crate) fn last_round(log: &[Logged]) -> RoundNo {
    let opened = log.iter().rev().find_map(|logged| {
        let Event::RoundOpened { round, .. } = &logged.event else { return None };
        Some(*round)
    });
    opened.unwrap_or(RoundNo(1))
}

/// A student's letter.
pub(crate) fn name(student: StudentId) -> char {
    u32::try_from(student.0.as_u128()).ok().and_then(char::from_u32).expect("a letter")
}

fn names(students: &[StudentId]) -> String {
    if students.is_empty() {
        "nobody".to_owned()
    } else {
        students.iter().map(|s| name(*s)).collect()
    }
}

fn answered(answer: &Answer) -> String {
    let Answer { round, student, typed, spelling, elapsed_ms, clues, .. } = answer;
    let verdict = score::verdict(answer.exact, answer.credit);
    let limit =
        answer.limit_ms.map_or_else(|| "no limit".to_owned(), |limit| format!("of {limit} ms"));
    let movement = answer.movement.as_ref().and(answer.said_name.as_deref());
    let said = answer.said.as_ref().map(MuscleKey::as_str).or(movement).unwrap_or("nothing");
    let hasty = if answer.hasty { ", hasty" } else { "" };
    format!(
        "round {round} {} answers `{typed}`: {said}, {spelling:?}, {verdict:?}, \
         {elapsed_ms} {limit}, clue {clues}{hasty}",
        name(*student)
    )
}

fn asked_again(why: AskedAgainWhy, among: &[String]) -> String {
    format!("{why:?} of {among:?}")
}

fn allowance(time: TimeAllowance) -> String {
    match time {
        TimeAllowance::Standard => "the class's time".to_owned(),
        TimeAllowance::Stretched { percent } => format!("{percent} % of the class's time"),
        TimeAllowance::Untimed => "no limit".to_owned(),
    }
}

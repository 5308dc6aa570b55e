//! `myonym join`.

use std::process::ExitCode;

use anyhow::{Context as _, bail};
use myonym_play::{ConsoleOptions, ConsoleTask, Outcome, PlayOptions, Trust};
use myonym_wire::{HostKey, JoinLink};

use super::{announce, say};
use crate::cli::{FOR_A_CLASS, FOR_A_GROUP, JoinArgs};

/// Joins as a student, or with a key as the instructor.
pub(super) async fn run(args: JoinArgs) -> anyhow::Result<ExitCode> {
    let link = match &args.link {
        Some(link) => Some(link.parse().with_context(|| format!("cannot read the link {link}"))?),
        None => None,
    };
    let trust = Trust::new(args.certificate.as_deref(), args.fingerprint)?;
    let goodbye = goodbye(&args);
    let left = match args.key.clone() {
        Some(key) => conduct(link, trust, key, &args).await?,
        None => play(link, trust, args).await?,
    };
    match left {
        Outcome::Ended => {}
        Outcome::Left => say(goodbye),
        Outcome::Removed => say("The instructor took you out of the review."),
        Outcome::SeatTaken => say("Your seat was taken from another terminal."),
        Outcome::Refused(why) => bail!("{why}"),
    }
    Ok(ExitCode::SUCCESS)
}

/// What is said to one who leaves before the end.
fn goodbye(args: &JoinArgs) -> &'static str {
    match (&args.key, args.open) {
        (None, _) => "You have left. The same link and name bring you back to your seat.",
        (Some(_), false) => "The review goes on in the server; the same command comes back to it.",
        (Some(_), true) => {
            "The review goes on in the server; come back with --word WORD in place of --open."
        }
    }
}

async fn play(link: Option<JoinLink>, trust: Trust, args: JoinArgs) -> anyhow::Result<Outcome> {
    let gather = args.gather.then(|| args.review.settings(FOR_A_GROUP));
    let JoinArgs { word, name, listed, group, no_person, new_seat, .. } = args;
    let options =
        PlayOptions { link, trust, word, name, listed, group, no_person, new_seat, gather };
    Ok(myonym_play::play(options).await?)
}

async fn conduct(
    link: Option<JoinLink>,
    trust: Trust,
    key: HostKey,
    args: &JoinArgs,
) -> anyhow::Result<Outcome> {
    let Some(server) = link else {
        bail!("say which server: myonym join ADDRESS --key KEY");
    };
    let word = args.word.clone().or_else(|| server.word.clone());
    let task = if args.open {
        ConsoleTask::Open { key, settings: args.review.settings(FOR_A_CLASS) }
    } else {
        ConsoleTask::Conduct { word, key }
    };
    let quit_note = "The review goes on in the server.".to_owned();
    let report_note = "On the server, `myonym report` gives the full report.".to_owned();
    let options = ConsoleOptions {
        server,
        trust,
        task,
        qr: Some(announce::qr),
        join_note: None,
        greeting: None,
        quit_note,
        report_note,
    };
    Ok(myonym_play::console(options).await?)
}

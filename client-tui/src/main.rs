//! `myonym-play`: a student's terminal.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Parser;
use myonym_play::{Error, Fingerprint, Outcome, PlayOptions, Trust, play};
use myonym_wire::{JoinLink, JoinWord};

/// Joins a live review of the skeletal muscles.
#[derive(Debug, Parser)]
#[command(name = "myonym-play", version)]
struct Flags {
    /// The link that the instructor shows, in quotes, or the server's address.
    link: Option<JoinLink>,
    /// The server's certificate, or that of who signed it (PEM), for a link that begins with https.
    #[arg(long, value_name = "FILE", conflicts_with = "fingerprint")]
    certificate: Option<PathBuf>,
    /// The SHA-256 fingerprint of the server's certificate, as the instructor shows it.
    #[arg(long, value_name = "HEX")]
    fingerprint: Option<Fingerprint>,
    /// The join word, if the link holds none.
    #[arg(long)]
    word: Option<JoinWord>,
    /// What you want to be called: 1 to 24 characters.
    #[arg(long, value_parser = myonym_play::checked_name)]
    name: Option<String>,
    /// Lets your name be shown to the class in the standings.
    #[arg(long)]
    listed: bool,
    /// Your group, such as your bench of the lab: 1 to 24 characters.
    #[arg(long, value_parser = myonym_play::checked_group)]
    group: Option<String>,
    /// Keeps you from being known again in other reviews.
    #[arg(long)]
    no_person: bool,
    /// Takes a new seat even if this computer has kept one for the same review.
    #[arg(long)]
    new_seat: bool,
}

#[tokio::main(flavor = "current_thread")]
async fn main() -> ExitCode {
    let Flags { link, certificate, fingerprint, word, name, listed, group, no_person, new_seat } =
        Flags::parse();
    let trust = match Trust::new(certificate.as_deref(), fingerprint) {
        Ok(trust) => trust,
        Err(error) => {
            say(&format!("myonym-play: {error}"));
            return ExitCode::from(2);
        }
    };
    let options = PlayOptions { link, trust, word, name, listed, group, no_person, new_seat };
    match play(options).await {
        Ok(Outcome::Ended) => ExitCode::SUCCESS,
        Ok(Outcome::Left) => {
            say("You have left. The same link and name bring you back to your seat.");
            ExitCode::SUCCESS
        }
        Ok(Outcome::Removed) => {
            say("The instructor has taken you out of the review.");
            ExitCode::FAILURE
        }
        Ok(Outcome::SeatTaken) => {
            say("Your seat was taken from another terminal.");
            ExitCode::FAILURE
        }
        Ok(Outcome::Refused(why)) => {
            say(&format!("myonym-play: {why}"));
            ExitCode::FAILURE
        }
        Err(error @ Error::NoTerminal) => {
            say(&format!("myonym-play: {error}; start it in a terminal window"));
            ExitCode::from(2)
        }
        Err(error @ Error::Terminal(_)) => {
            say(&format!("myonym-play: {error}"));
            ExitCode::FAILURE
        }
    }
}

#[expect(clippy::print_stderr, reason = "the screens are closed by now")]
fn say(text: &str) {
    eprintln!("{text}");
}

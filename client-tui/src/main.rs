//! `myonym-play`: a student's terminal.

use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Duration;

use clap::Parser;
use myonym_play::{
    BadCertificate, Error, Fingerprint, Outcome, PlayOptions, Trust, parse_limit, play,
};
use myonym_wire::{JoinLink, JoinWord, Pace, ReviewSettings};

/// Joins a live review of the skeletal muscles.
#[expect(clippy::struct_excessive_bools, reason = "each is an option of its own")]
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
    /// Opens a study group, without an instructor, and shows how the others join.
    #[arg(long, conflicts_with_all = ["word", "group", "new_seat"])]
    gather: bool,
    /// With --gather: the key of a muscle list of the server.
    #[arg(long, requires = "gather", value_name = "LIST", default_value = "shoulder")]
    list: String,
    /// With --gather: number of rounds; each muscle of the list once, if left out.
    #[arg(long, requires = "gather", value_name = "N", value_parser = clap::value_parser!(u16).range(1..=500))]
    rounds: Option<u16>,
    /// With --gather: time limit of a round, such as 30s or 2m.
    #[arg(long, requires = "gather", value_name = "TIME", default_value = "45s", value_parser = parse_limit)]
    limit: Duration,
}

impl Flags {
    fn options(self) -> Result<PlayOptions, BadCertificate> {
        let trust = Trust::new(self.certificate.as_deref(), self.fingerprint)?;
        let gather = self.gather.then(|| ReviewSettings {
            list: self.list,
            rounds: self.rounds.unwrap_or_default(),
            limit_ms: u32::try_from(self.limit.as_millis()).unwrap_or(u32::MAX),
            pace: Pace::Group { reveal_ms: REVEAL_MS },
            ..ReviewSettings::default()
        });
        let Self { link, word, name, listed, group, no_person, new_seat, .. } = self;
        Ok(PlayOptions { link, trust, word, name, listed, group, no_person, new_seat, gather })
    }
}

/// How long a study group sees a reveal, unless it votes for the next round.
const REVEAL_MS: u32 = 20_000;

#[tokio::main(flavor = "current_thread")]
async fn main() -> ExitCode {
    let options = match Flags::parse().options() {
        Ok(options) => options,
        Err(error) => {
            say(&format!("myonym-play: {error}"));
            return ExitCode::from(2);
        }
    };
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

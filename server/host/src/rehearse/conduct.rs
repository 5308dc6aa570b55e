//! Starting a rehearsal and watching it go by.

use anyhow::bail;
use myonym_wire::{FromInstructor, Hello, Moment, Pace, Reveal, RoundNo, ToInstructor};

use super::Plan;
use super::socket::Socket;

/// What a rehearsal comes to, told as it happens.
#[derive(Debug)]
pub(crate) enum Progress {
    /// Everyone is here, and the first round opens.
    Started {
        /// Number of rounds.
        rounds: u16,
    },
    /// A round was revealed.
    Revealed {
        /// Which.
        round: RoundNo,
        /// Number of rounds.
        of: u16,
        /// Its reveal.
        reveal: Box<Reveal>,
    },
    /// The review is over.
    Ended,
}

/// Starts the review once all students are seated and follows it to its end. With a pace of the
/// instructor's it only waits for the end: the console conducts.
#[expect(clippy::wildcard_enum_match_arm, reason = "it passes by what it has no use for")]
pub(crate) async fn conduct(plan: &Plan, mut told: impl FnMut(Progress)) -> anyhow::Result<()> {
    let hello = Hello::Conduct { word: Some(plan.word.clone()), key: plan.key.clone() };
    let mut socket = Socket::connect(plan.server, &hello).await?;
    let mut of = 0;
    let mut waiting = false;
    let mut seated = 0;
    while let Some(message) = socket.next::<ToInstructor>().await? {
        match message {
            ToInstructor::Conducting { review, moment, roll, .. } => {
                of = review.rounds;
                waiting = *moment == Moment::Gathering {} && review.pace != Pace::Instructor;
                // All may be here before us; then no count is told that we do not have.
                seated = roll.len();
            }
            ToInstructor::Class { seated: now, .. } => {
                seated = usize::try_from(now).unwrap_or(usize::MAX);
            }
            ToInstructor::Revealed { round, reveal, .. } => {
                told(Progress::Revealed { round, of, reveal });
            }
            ToInstructor::Ended { .. } => {
                told(Progress::Ended);
                return Ok(());
            }
            _ => {}
        }
        if waiting && seated >= usize::from(plan.students) {
            waiting = false;
            socket.send(&FromInstructor::Start {}).await?;
            told(Progress::Started { rounds: of });
        }
    }
    bail!("the rehearsal was broken off")
}

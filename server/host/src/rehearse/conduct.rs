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
pub(crate) async fn conduct(plan: &Plan, mut told: impl FnMut(Progress)) -> anyhow::Result<()> {
    let hello = Hello::Conduct { word: Some(plan.word.clone()), key: plan.key.clone() };
    let mut socket = Socket::connect(plan.server, &hello).await?;
    let mut of = 0;
    let mut waiting = false;
    while let Some(message) = socket.next::<ToInstructor>().await? {
        match message {
            ToInstructor::Conducting { review, moment, .. } => {
                of = review.rounds;
                waiting = *moment == Moment::Gathering {} && review.pace != Pace::Instructor;
            }
            ToInstructor::Class { seated, .. } if waiting && seated >= u32::from(plan.students) => {
                waiting = false;
                socket.send(&FromInstructor::Start {}).await?;
                told(Progress::Started { rounds: of });
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
    }
    bail!("the rehearsal was broken off")
}

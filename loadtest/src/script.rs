//! What a baseline tells its students: the very bytes that the server told them, so that both
//! move the same weight.

use std::path::Path;

use anyhow::Context;
use myonym_wire::{
    CloseWhy, ClueShown, JoinWord, Moment, NamePair, OwnResult, Pace, Reveal, ReviewId, ReviewInfo,
    RoundNo, ScoreRule, SeatToken, Seq, Spelling, SpreadRow, StandingRow, StudentId, Task,
    TimeAllowance, ToStudent, Verdict, encode,
};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::heard::Heard;

/// One message of each kind, as JSON text.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Script {
    /// Answer to a student's first message.
    pub(crate) seated: String,
    /// Opens a round.
    opened: String,
    /// Leaves it out.
    skipped: String,
    /// Closes it.
    closed: String,
    /// The reveal, in three messages.
    revealed: String,
    result: String,
    standings: String,
}

impl Script {
    /// Messages of the usual size, from which the server's own take over as they are heard.
    pub(crate) fn sample(students: usize) -> Self {
        let count = u32::try_from(students).unwrap_or(u32::MAX);
        let (seq, round) = (Seq(1_000), RoundNo(1));
        Self {
            seated: encode(&sample_seated(count)),
            opened: encode(&ToStudent::RoundOpened {
                seq,
                round,
                of: 18,
                task: Task::Name,
                example: None,
                offered: Vec::new(),
                limit_ms: 20_000,
                clue_count: 4,
                clue: sample_clue(),
            }),
            skipped: encode(&ToStudent::RoundSkipped { seq, round }),
            closed: encode(&ToStudent::RoundClosed {
                seq,
                round,
                why: CloseWhy::AllAnswered,
                answered: count,
                seated: count,
            }),
            revealed: encode(&ToStudent::Revealed {
                seq,
                round,
                reveal: Box::new(sample_reveal()),
            }),
            result: encode(&ToStudent::Result(OwnResult {
                round,
                verdict: Verdict::Right,
                answer: Some("teres minor".to_owned()),
                points: 97.25,
                total: 214.5,
                place: 17,
                of: count,
            })),
            standings: encode(&ToStudent::Standings { seq, rows: sample_rows(), of: count }),
        }
    }

    /// Takes a message that the server told, if it is one that a baseline tells too.
    pub(crate) fn learn(&mut self, heard: &Heard, text: &str) {
        let place = match heard {
            Heard::Seated => &mut self.seated,
            Heard::RoundOpened(_) => &mut self.opened,
            Heard::RoundSkipped => &mut self.skipped,
            Heard::RoundClosed => &mut self.closed,
            Heard::Revealed => &mut self.revealed,
            Heard::Result => &mut self.result,
            Heard::Standings => &mut self.standings,
            Heard::Clue(..)
            | Heard::Received(_)
            | Heard::Recorded(_)
            | Heard::AskedAgain(_)
            | Heard::Ended
            | Heard::Refused(_)
            | Heard::Other => return,
        };
        text.clone_into(place);
    }

    /// The messages of one round: opened, skipped, closed, revealed, result, standings.
    pub(crate) fn at(&self, round: RoundNo) -> [String; 6] {
        [&self.opened, &self.skipped, &self.closed, &self.revealed, &self.result, &self.standings]
            .map(|text| renumber(text, round))
    }

    /// Reads a script that [`Script::write`] wrote.
    pub(crate) fn read(path: &Path) -> anyhow::Result<Self> {
        let context = || format!("cannot read the script {}", path.display());
        let text = std::fs::read_to_string(path).with_context(context)?;
        serde_json::from_str(&text).with_context(context)
    }

    /// Writes the script for a baseline's process.
    pub(crate) fn write(&self, path: &Path) -> anyhow::Result<()> {
        std::fs::write(path, serde_json::to_string(self)?)
            .with_context(|| format!("cannot write the script {}", path.display()))
    }
}

/// The message with another round number, where it has one.
fn renumber(text: &str, round: RoundNo) -> String {
    let Ok(mut value) = serde_json::from_str::<serde_json::Value>(text) else {
        return text.to_owned();
    };
    if let Some(place) = value.get_mut("round") {
        *place = round.0.into();
    }
    value.to_string()
}

/// How a review of a baseline is described.
pub(crate) fn sample_review(word: JoinWord) -> ReviewInfo {
    ReviewInfo {
        review: ReviewId(Uuid::from_u128(1)),
        word,
        list: "shoulder, introductory course".to_owned(),
        rounds: u16::MAX,
        limit_ms: 20_000,
        tasks: vec![Task::Name],
        rule: ScoreRule::default(),
        spelling: Spelling::default(),
        pace: Pace::default(),
        adaptive: false,
    }
}

fn sample_seated(present: u32) -> ToStudent {
    ToStudent::Seated {
        seq: Seq(1),
        student: StudentId(Uuid::from_u128(2)),
        seat: Some(SeatToken::from_bits(3)),
        name: "student 017".to_owned(),
        review: sample_review("radius-talus".parse().expect("two bones")),
        time: TimeAllowance::Standard,
        total: 0.0,
        present,
        moment: Box::new(Moment::Gathering {}),
    }
}

fn sample_clue() -> ClueShown {
    ClueShown {
        kind: "action".to_owned(),
        text: "It rotates the arm laterally at the shoulder joint and holds the head of the \
               humerus in the glenoid cavity."
            .to_owned(),
        picture: None,
    }
}

fn sample_reveal() -> Reveal {
    let row = |name: &str, count, verdict| SpreadRow { name: name.to_owned(), count, verdict };
    Reveal {
        task: Task::Name,
        movements: Vec::new(),
        explanations: Vec::new(),
        pictures: Vec::new(),
        answer: NamePair {
            name: "teres minor".to_owned(),
            latin: "musculus teres minor".to_owned(),
        },
        clues: vec![sample_clue(); 4],
        spread: vec![
            row("teres minor", 75, Verdict::Right),
            row("infraspinatus", 75, Verdict::Near),
            row("supraspinatus", 75, Verdict::Wrong),
            row("subscapularis", 75, Verdict::Wrong),
        ],
        silent: 0,
        contrast: None,
    }
}

fn sample_rows() -> Vec<StandingRow> {
    (1..=10)
        .map(|place| StandingRow {
            place,
            name: Some(format!("student {place:03}")),
            points: 300.25 - f64::from(place),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_round_has_its_own_number_and_otherwise_the_bytes_that_were_learnt() {
        let mut script = Script::sample(30);
        let heard =
            "{\"round\":1,\"seq\":5,\"type\":\"round_opened\",\"x\":\"as the server said\"}";
        script.learn(&Heard::RoundOpened(RoundNo(1)), heard);
        assert_eq!(script.at(RoundNo(7))[0], heard.replace(":1,", ":7,"));
    }

    #[test]
    fn what_a_baseline_does_not_tell_is_not_learnt() {
        let mut script = Script::sample(30);
        script.learn(&Heard::Other, "{\"type\":\"class\"}");
        assert_eq!(script, Script::sample(30));
    }

    #[test]
    fn a_script_goes_through_a_file() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("script.json");
        let script = Script::sample(30);
        script.write(&path).unwrap();
        assert_eq!(Script::read(&path).unwrap(), script);
        std::fs::write(&path, "{}").unwrap();
        assert!(Script::read(&path).is_err());
    }
}

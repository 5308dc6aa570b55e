//! Classes at work: a hall, a school, a burst of answers.

use std::time::Duration;

use super::sheet::{Goal, Row};
use super::{Measured, Scenario};
use crate::args::{Load, ServerChoice};
use crate::class::Target;
use crate::conduct;
use crate::figures::Figure;
use crate::plan::Arrivals;
use crate::report;

/// Rooms in which every student answers every round.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lesson {
    pub(super) rooms: usize,
    pub(super) students: usize,
    /// Rounds measured, after one that is not.
    pub(super) rounds: u16,
    /// Time in which the answers fall due.
    pub(super) window_ms: u64,
}

impl Lesson {
    pub(super) fn measure(&self, target: &Target) -> anyhow::Result<Measured> {
        let load = Load {
            rooms: self.rooms,
            students: self.students,
            rounds: self.rounds,
            runs: 1,
            window: Duration::from_millis(self.window_ms),
            arrivals: Arrivals::Spread,
            seed: 1,
            most: Duration::MAX,
            server: ServerChoice::Built,
            json: None,
        };
        let outcome = conduct::run(target, &load, || ())?;
        let value = |figure: Figure| Some((figure.key(), outcome.figures.get(figure)?));
        Ok(Measured {
            values: Figure::ALL.into_iter().filter_map(value).collect(),
            faults: report::fault(&outcome).into_iter().collect(),
            script: outcome.script,
        })
    }
}

/// The figures that matter in each, the scenario's own first.
pub(super) fn rows(scenario: Scenario) -> Vec<Row> {
    let row = |figure: Figure| Row::new(figure.key(), figure.label());
    let clue = row(Figure::CpuPerClueUs).with(Goal::TimesFloor(1.15));
    let skew = row(Figure::SkewMedianUs).with(Goal::TimesFloor(1.2));
    let answer = row(Figure::CpuPerAnswerUs).with(Goal::TimesFloor(1.5));
    let received = row(Figure::ReceivedP99Us).with(Goal::TimesFloor(1.5));
    let kept = row(Figure::KeptInCommits).with(Goal::Most(2.0));
    let mut rows = match scenario {
        Scenario::Burst => vec![answer, received, kept],
        Scenario::Hall
        | Scenario::School
        | Scenario::Idle
        | Scenario::Return
        | Scenario::Join
        | Scenario::Growth => vec![clue, skew, answer, received],
    };
    let others = [
        Figure::ReceivedP50Us,
        Figure::RecordedP50Us,
        Figure::RecordedP99Us,
        Figure::KeptP99Us,
        Figure::CommitMeanUs,
        Figure::CommitWritingUs,
        Figure::AnswersPerCommit,
        Figure::SkewMaxUs,
        Figure::CpuPerMessageUs,
        Figure::MemoryPerStudentKib,
        Figure::SendLagP99Us,
        Figure::ClientCpuPerMessageUs,
    ];
    rows.extend(others.map(row));
    rows
}

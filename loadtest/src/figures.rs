//! The figures of a run, their medians over runs, and their ratios.

use std::collections::BTreeMap;
use std::time::Duration;

use hdrhistogram::Histogram;
use serde::Serialize;

use crate::args::Load;
use crate::commits::Commits;
use crate::measure::{Tally, micros};

/// One figure. The order is that of the table; the name in snake case is the key in the JSON.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Figure {
    /// From the first connection to the last seat.
    JoinAllMs,
    /// From one student's connection to its seat, median.
    JoinP50Us,
    /// The same, 99th percentile.
    JoinP99Us,
    /// From the planned instant of an answer to `received`, median.
    ReceivedP50Us,
    /// The same, 99th percentile.
    ReceivedP99Us,
    /// The same, 99.9th percentile.
    ReceivedP999Us,
    /// From the planned instant of an answer to `recorded`, median.
    RecordedP50Us,
    /// The same, 99th percentile.
    RecordedP99Us,
    /// The same, 99.9th percentile.
    RecordedP999Us,
    /// From `received` to `recorded` of the same answer, 99th percentile: waiting for the disk.
    KeptP99Us,
    /// Mean time of one commit of the server's while the answers came: gathering and writing.
    CommitMeanUs,
    /// Of that, writing.
    CommitWritingUs,
    /// The wait for the disk in such commits.
    KeptInCommits,
    /// Answers recorded for each commit.
    AnswersPerCommit,
    /// From the first to the last student of a room to hear a clue, median over clues.
    SkewMedianUs,
    /// The same, largest.
    SkewMaxUs,
    /// Server CPU for one copy of a round's opening.
    CpuPerClueUs,
    /// Server CPU of the answering for one answer.
    CpuPerAnswerUs,
    /// Server CPU of whole rounds for one message that a student heard.
    CpuPerMessageUs,
    /// Growth of resident memory for one student.
    MemoryPerStudentKib,
    /// Open descriptors with all students seated.
    Descriptors,
    /// From the planned instant of an answer to its sending, 99th percentile: the client's fault.
    SendLagP99Us,
    /// CPU of this program in whole rounds for one message that a student heard.
    ClientCpuPerMessageUs,
}

impl Figure {
    /// All of them, in the order of the table.
    pub(crate) const ALL: [Self; 23] = [
        Self::JoinAllMs,
        Self::JoinP50Us,
        Self::JoinP99Us,
        Self::ReceivedP50Us,
        Self::ReceivedP99Us,
        Self::ReceivedP999Us,
        Self::RecordedP50Us,
        Self::RecordedP99Us,
        Self::RecordedP999Us,
        Self::KeptP99Us,
        Self::CommitMeanUs,
        Self::CommitWritingUs,
        Self::KeptInCommits,
        Self::AnswersPerCommit,
        Self::SkewMedianUs,
        Self::SkewMaxUs,
        Self::CpuPerClueUs,
        Self::CpuPerAnswerUs,
        Self::CpuPerMessageUs,
        Self::MemoryPerStudentKib,
        Self::Descriptors,
        Self::SendLagP99Us,
        Self::ClientCpuPerMessageUs,
    ];

    /// Its key in the JSON.
    pub(crate) fn key(self) -> String {
        let value = serde_json::to_value(self).ok();
        value.as_ref().and_then(|value| value.as_str()).unwrap_or_default().to_owned()
    }

    /// What stands in the table.
    pub(crate) fn label(self) -> &'static str {
        match self {
            Self::JoinAllMs => "join, all students (ms)",
            Self::JoinP50Us => "join, one student, p50 (us)",
            Self::JoinP99Us => "join, one student, p99 (us)",
            Self::ReceivedP50Us => "answer to received, p50 (us)",
            Self::ReceivedP99Us => "answer to received, p99 (us)",
            Self::ReceivedP999Us => "answer to received, p99.9 (us)",
            Self::RecordedP50Us => "answer to recorded, p50 (us)",
            Self::RecordedP99Us => "answer to recorded, p99 (us)",
            Self::RecordedP999Us => "answer to recorded, p99.9 (us)",
            Self::KeptP99Us => "received to recorded, p99 (us)",
            Self::CommitMeanUs => "a group commit, mean (us)",
            Self::CommitWritingUs => "of it, writing to the disk (us)",
            Self::KeptInCommits => "received to recorded, p99 (group commits)",
            Self::AnswersPerCommit => "answers in a group commit",
            Self::SkewMedianUs => "skew of a clue, median (us)",
            Self::SkewMaxUs => "skew of a clue, largest (us)",
            Self::CpuPerClueUs => "server CPU, a copy of a clue (us)",
            Self::CpuPerAnswerUs => "server CPU, an answer (us)",
            Self::CpuPerMessageUs => "server CPU, a message told (us)",
            Self::MemoryPerStudentKib => "memory, a student (KiB)",
            Self::Descriptors => "open descriptors",
            Self::SendLagP99Us => "client: late sending, p99 (us)",
            Self::ClientCpuPerMessageUs => "client: CPU, a message heard (us)",
        }
    }
}

/// The figures of a run; one that could not be measured is absent.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
#[serde(transparent)]
pub(crate) struct Figures(BTreeMap<Figure, f64>);

/// What the meters told in a run.
#[derive(Debug, Default)]
pub(crate) struct Readings {
    /// From the first connection to the last seat.
    pub(crate) join_all: Duration,
    /// The server's resident bytes before and after the students came.
    pub(crate) memory: Option<(u64, u64)>,
    /// The server's open descriptors.
    pub(crate) descriptors: Option<usize>,
    /// The server's commits in the measured rounds.
    pub(crate) commits: Option<Commits>,
    /// CPU of server and client in all rounds: opening, answering, reveal.
    phases: [[Spent; 2]; 3],
}

/// CPU time of one process in one phase; `None` where one reading failed.
#[derive(Debug, Clone, Copy)]
struct Spent(Option<Duration>);

impl Default for Spent {
    fn default() -> Self {
        Self(Some(Duration::ZERO))
    }
}

impl Spent {
    fn add(&mut self, from: Option<Duration>, to: Option<Duration>) {
        let spent = from.zip(to).map(|(from, to)| to.saturating_sub(from));
        self.0 = self.0.zip(spent).map(|(sum, spent)| sum + spent);
    }
}

impl Readings {
    /// Adds a round's readings of server and client: before it, opened, answered, revealed.
    pub(crate) fn add_round(&mut self, marks: [[Option<Duration>; 2]; 4]) {
        for (phase, pair) in self.phases.iter_mut().zip(marks.windows(2)) {
            for (process, spent) in phase.iter_mut().enumerate() {
                spent.add(pair[0][process], pair[1][process]);
            }
        }
    }

    /// Forgets the rounds so far: they were to warm up.
    pub(crate) fn forget_rounds(&mut self) {
        self.phases = [[Spent::default(); 2]; 3];
    }

    /// CPU of the server (0) or the client (1) in all phases.
    fn whole(&self, process: usize) -> Option<Duration> {
        self.phases.iter().map(|phase| phase[process].0).sum()
    }
}

impl Figures {
    /// The figures of the measured rounds.
    pub(crate) fn of(tally: &Tally, readings: &Readings, load: &Load) -> Self {
        let mut figures = Self::default();
        let students = load.students_in_all() as u64;
        figures.set(Figure::JoinAllMs, Some(real(micros(readings.join_all)) / 1_000.0));
        figures.set_latencies(tally);
        figures.set_commits(tally, readings.commits);
        let skews = tally.skews(load.students);
        let skew = |at: usize| skews.get(at).map(|skew| real(micros(*skew)));
        figures.set(Figure::SkewMedianUs, skew(skews.len() / 2));
        figures.set(Figure::SkewMaxUs, skew(skews.len().saturating_sub(1)));

        let [opening, answering, _] = readings.phases;
        let clues = students * u64::from(load.rounds);
        figures.set(Figure::CpuPerClueUs, share(opening[0].0, clues));
        figures.set(Figure::CpuPerAnswerUs, share(answering[0].0, tally.counts.received));
        let messages = tally.counts.messages;
        figures.set(Figure::CpuPerMessageUs, share(readings.whole(0), messages));
        figures.set(Figure::ClientCpuPerMessageUs, share(readings.whole(1), messages));
        let grown = readings.memory.map(|(before, after)| after.saturating_sub(before));
        let memory = grown.map(|bytes| real(bytes) / 1_024.0 / real(students));
        figures.set(Figure::MemoryPerStudentKib, memory);
        figures.set(Figure::Descriptors, readings.descriptors.map(|count| real(count as u64)));
        figures
    }

    fn set_latencies(&mut self, tally: &Tally) {
        let mut set = |histogram: &Histogram<u64>, quantile: f64, figure| {
            let value = (!histogram.is_empty()).then(|| histogram.value_at_quantile(quantile));
            self.set(figure, value.map(real));
        };
        set(&tally.joins, 0.5, Figure::JoinP50Us);
        set(&tally.joins, 0.99, Figure::JoinP99Us);
        set(&tally.received, 0.5, Figure::ReceivedP50Us);
        set(&tally.received, 0.99, Figure::ReceivedP99Us);
        set(&tally.received, 0.999, Figure::ReceivedP999Us);
        set(&tally.recorded, 0.5, Figure::RecordedP50Us);
        set(&tally.recorded, 0.99, Figure::RecordedP99Us);
        set(&tally.recorded, 0.999, Figure::RecordedP999Us);
        set(&tally.lag, 0.99, Figure::SendLagP99Us);
    }

    /// What the disk takes; nothing of who has none.
    fn set_commits(&mut self, tally: &Tally, commits: Option<Commits>) {
        let Some(Commits { count, writing, gathering }) = commits else { return };
        let mean = (gathering + writing) * 1e6 / count;
        self.set(Figure::CommitMeanUs, Some(mean));
        self.set(Figure::CommitWritingUs, Some(writing * 1e6 / count));
        if !tally.kept.is_empty() {
            let kept = real(tally.kept.value_at_quantile(0.99));
            self.set(Figure::KeptP99Us, Some(kept));
            self.set(Figure::KeptInCommits, Some(kept / mean));
        }
        self.set(Figure::AnswersPerCommit, Some(real(tally.counts.recorded) / count));
    }

    fn set(&mut self, figure: Figure, value: Option<f64>) {
        if let Some(value) = value {
            self.0.insert(figure, value);
        }
    }

    /// One figure, if it was measured.
    pub(crate) fn get(&self, figure: Figure) -> Option<f64> {
        self.0.get(&figure).copied()
    }

    /// The median of each figure over runs, of those runs in which it was measured.
    pub(crate) fn median(runs: &[&Self]) -> Self {
        let mut medians = Self::default();
        for figure in Figure::ALL {
            let values = runs.iter().filter_map(|run| run.get(figure)).collect();
            medians.set(figure, median(values));
        }
        medians
    }

    /// Each figure over the same of another.
    pub(crate) fn over(&self, base: &Self) -> Self {
        let mut ratios = Self::default();
        for figure in Figure::ALL {
            let pair = self.get(figure).zip(base.get(figure));
            let ratio = pair.filter(|(_, base)| *base > 0.0).map(|(own, base)| own / base);
            ratios.set(figure, ratio);
        }
        ratios
    }
}

/// A count as a real number: exact below 2^53, and no count here comes near.
#[expect(clippy::cast_precision_loss, reason = "counts and microseconds stay below 2^53")]
pub(crate) fn real(count: u64) -> f64 {
    count as f64
}

/// Microseconds for each of `count`.
pub(crate) fn share(time: Option<Duration>, count: u64) -> Option<f64> {
    time.filter(|_| count > 0).map(|time| time.as_secs_f64() * 1e6 / real(count))
}

/// The middle value; of an even number of values the mean of the two in the middle.
pub(crate) fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_unstable_by(f64::total_cmp);
    let middle = values.len() / 2;
    let upper = *values.get(middle)?;
    Some(if values.len() % 2 == 1 { upper } else { f64::midpoint(values[middle - 1], upper) })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn figures(values: &[(Figure, f64)]) -> Figures {
        Figures(values.iter().copied().collect())
    }

    fn near(got: Option<f64>, want: Option<f64>) -> bool {
        got.zip(want).map_or(got == want, |(got, want)| (got - want).abs() < 1e-9)
    }

    #[test]
    fn the_table_holds_every_figure_in_order() {
        assert!(Figure::ALL.is_sorted_by(|a, b| a < b));
        let keys = Figure::ALL.map(|figure| serde_json::to_string(&figure).unwrap());
        assert_eq!(keys[5], "\"received_p999_us\"");
    }

    #[test]
    fn medians_are_the_middle_of_what_was_measured() {
        let check = |values: &[f64], want: Option<f64>| {
            assert!(near(median(values.to_vec()), want), "{values:?}");
        };
        check(&[], None);
        check(&[4.0], Some(4.0));
        check(&[9.0, 1.0], Some(5.0));
        check(&[9.0, 1.0, 2.0], Some(2.0));
        let (run, other) = (figures(&[(Figure::SkewMaxUs, 8.0)]), figures(&[]));
        let medians = Figures::median(&[&run, &other]);
        assert!(near(medians.get(Figure::SkewMaxUs), Some(8.0)));
        assert!(near(medians.get(Figure::SkewMedianUs), None));
    }

    #[test]
    fn a_ratio_needs_both_figures_and_no_zero() {
        let check = |own: &[(Figure, f64)], base: &[(Figure, f64)], want: Option<f64>| {
            let ratio = figures(own).over(&figures(base)).get(Figure::CpuPerAnswerUs);
            assert!(near(ratio, want), "{own:?} {base:?}");
        };
        let figure = Figure::CpuPerAnswerUs;
        check(&[(figure, 30.0)], &[(figure, 12.0)], Some(2.5));
        check(&[(figure, 30.0)], &[(figure, 0.0)], None);
        check(&[(figure, 30.0)], &[], None);
    }

    #[test]
    fn cpu_is_summed_by_phase_and_a_failed_reading_spoils_its_sum() {
        let ms = |n| Some(Duration::from_millis(n));
        let mut readings = Readings::default();
        readings.add_round([[ms(0), ms(0)], [ms(1), ms(9)], [ms(5), ms(9)], [ms(7), ms(9)]]);
        readings.add_round([[ms(7), None], [ms(9), ms(9)], [ms(9), ms(9)], [ms(9), ms(9)]]);
        let server: Vec<_> = readings.phases.iter().map(|phase| phase[0].0).collect();
        assert_eq!(server, [ms(3), ms(4), ms(2)]);
        assert_eq!((readings.whole(0), readings.whole(1)), (ms(9), None));
        readings.forget_rounds();
        assert_eq!(readings.whole(0), ms(0));
    }
}

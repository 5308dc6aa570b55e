//! The table for people and the JSON for programs.

use serde::Serialize;

use crate::args::{Load, ServerChoice};
use crate::conduct::Outcome;
use crate::figures::{Figure, Figures};
use crate::machine::{CpuClock, cpu_clock};
use crate::measure::{Counts, micros};
use crate::plan::Arrivals;
use crate::runs::{Run, Subject};
use crate::scenarios::LATE;
use crate::table::{compared, table};

/// What stands where nothing could be measured.
const UNKNOWN: &str = "not measured here";

/// Number of the JSON's form; it grows when a key changes its meaning or goes away.
const FORM: u32 = 2;

/// Title, tables and notes.
pub(crate) fn text(load: &Load, runs: &[Run]) -> String {
    let parts = [title(load), figure_table(runs), count_table(runs), notes(load, runs).join("\n")];
    parts.join("\n\n")
}

/// What the server or a baseline did wrong, a sentence each.
pub(crate) fn faults(runs: &[Run]) -> Vec<String> {
    let mut faults = Vec::new();
    for (number, run) in runs.iter().enumerate() {
        for (subject, outcome) in Subject::ALL.iter().zip(&run.outcomes) {
            if let Some(fault) = fault(outcome) {
                faults.push(format!("FAULT in run {}, {}: {fault}", number + 1, subject.name()));
            }
        }
    }
    faults
}

/// The whole result as JSON, as README.md describes it.
pub(crate) fn json(load: &Load, runs: &[Run]) -> anyhow::Result<String> {
    let result = Json {
        form: FORM,
        machine: Machine::here(),
        load: LoadJson {
            rooms: load.rooms,
            students: load.students,
            rounds: load.rounds,
            runs: runs.len(),
            window_us: micros(load.window),
            arrivals: load.arrivals,
            seed: load.seed,
        },
        subjects: Subject::ALL
            .map(|subject| SubjectJson {
                subject,
                median: median_of(runs, subject),
                runs: outcomes(runs, subject)
                    .map(|outcome| RunJson { figures: &outcome.figures, counts: outcome.counts })
                    .collect(),
            })
            .into(),
        server_over_floor: median_ratio(runs, Subject::Floor),
        server_over_frames: median_ratio(runs, Subject::Frames),
        server_over_keeper: median_ratio(runs, Subject::Keeper),
        faults: faults(runs),
    };
    Ok(serde_json::to_string_pretty(&result)?)
}

#[derive(Serialize)]
struct Json<'a> {
    form: u32,
    machine: Machine,
    load: LoadJson,
    subjects: Vec<SubjectJson<'a>>,
    server_over_floor: Figures,
    server_over_frames: Figures,
    server_over_keeper: Figures,
    faults: Vec<String>,
}

/// Where it was measured.
#[derive(Debug, Serialize)]
pub(crate) struct Machine {
    cores: usize,
    system: &'static str,
    cpu_clock: CpuClock,
    optimised: bool,
}

impl Machine {
    /// This one.
    pub(crate) fn here() -> Self {
        Self {
            cores: cores(),
            system: std::env::consts::OS,
            cpu_clock: cpu_clock(),
            optimised: !cfg!(debug_assertions),
        }
    }
}

#[derive(Serialize)]
struct LoadJson {
    rooms: usize,
    students: usize,
    rounds: u16,
    runs: usize,
    window_us: u64,
    arrivals: Arrivals,
    seed: u64,
}

#[derive(Serialize)]
struct SubjectJson<'a> {
    subject: Subject,
    median: Figures,
    runs: Vec<RunJson<'a>>,
}

#[derive(Serialize)]
struct RunJson<'a> {
    figures: &'a Figures,
    counts: Counts,
}

fn outcomes(runs: &[Run], subject: Subject) -> impl Iterator<Item = &Outcome> + Clone {
    runs.iter().map(move |run| &run.outcomes[subject as usize])
}

fn median_of(runs: &[Run], subject: Subject) -> Figures {
    let figures: Vec<&Figures> = outcomes(runs, subject).map(|outcome| &outcome.figures).collect();
    Figures::median(&figures)
}

/// The server's figures over a baseline's, run by run.
fn ratios(runs: &[Run], base: Subject) -> Vec<Figures> {
    outcomes(runs, Subject::Server)
        .zip(outcomes(runs, base))
        .map(|(server, base)| server.figures.over(&base.figures))
        .collect()
}

fn median_ratio(runs: &[Run], base: Subject) -> Figures {
    let ratios = ratios(runs, base);
    Figures::median(&ratios.iter().collect::<Vec<_>>())
}

fn title(load: &Load) -> String {
    let arrivals = match load.arrivals {
        Arrivals::Spread => "spread over",
        Arrivals::Burst => "in the first tenth of",
    };
    format!(
        "{} room(s) of {} students, {} rounds after one to warm up, answers {arrivals} {} ms; \
         client and server share {} cores",
        load.rooms,
        load.students,
        load.rounds,
        load.window.as_millis(),
        cores()
    )
}

fn figure_table(runs: &[Run]) -> String {
    let head = compared();
    let numbers = 1..head.len();
    let mut table = table(head, numbers);
    let medians = Subject::ALL.map(|subject| median_of(runs, subject));
    let ratios = Subject::BASES.map(|base| ratios(runs, base));
    for figure in Figure::ALL {
        let mut row = vec![figure.label().to_owned()];
        row.extend(
            medians
                .iter()
                .map(|figures| figures.get(figure).map_or_else(|| UNKNOWN.to_owned(), significant)),
        );
        row.extend(ratios.iter().map(|ratios| ratio_cell(ratios, figure)));
        table.add_row(row);
    }
    table.trim_fmt()
}

fn count_table(runs: &[Run]) -> String {
    let head = [
        "all runs", "planned", "sent", "received", "recorded", "refused", "surplus", "dropped",
        "messages", "KiB",
    ];
    let mut table = table(head, 1..head.len());
    for subject in Subject::ALL {
        let sum = |count: fn(&Counts) -> u64| {
            outcomes(runs, subject).map(|outcome| count(&outcome.counts)).sum::<u64>().to_string()
        };
        table.add_row(vec![
            subject.name().to_owned(),
            sum(|c| c.planned),
            sum(|c| c.sent),
            sum(|c| c.received),
            sum(|c| c.recorded),
            sum(|c| c.refused),
            sum(|c| c.surplus),
            sum(|c| c.dropped),
            sum(|c| c.messages),
            sum(|c| c.bytes / 1_024),
        ]);
    }
    table.trim_fmt()
}

/// Median and, of several runs, the least and the greatest ratio.
fn ratio_cell(ratios: &[Figures], figure: Figure) -> String {
    let values: Vec<f64> = ratios.iter().filter_map(|ratios| ratios.get(figure)).collect();
    let Some(median) = Figures::median(&ratios.iter().collect::<Vec<_>>()).get(figure) else {
        return "-".to_owned();
    };
    if values.len() == 1 {
        return format!("{median:.2}");
    }
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    let greatest = values.iter().copied().fold(0.0, f64::max);
    format!("{median:.2} ({least:.2} to {greatest:.2})")
}

/// Three digits or so.
pub(crate) fn significant(value: f64) -> String {
    if value < 10.0 {
        format!("{value:.2}")
    } else if value < 100.0 {
        format!("{value:.1}")
    } else {
        format!("{value:.0}")
    }
}

/// What an outcome shows to be wrong, in a sentence.
pub(crate) fn fault(outcome: &Outcome) -> Option<String> {
    let Counts { planned, sent, received, recorded, refused, surplus, dropped, .. } =
        outcome.counts;
    let sound = [sent, received, recorded].iter().all(|count| *count == planned);
    if sound && refused == 0 && surplus == 0 && dropped == 0 {
        return None;
    }
    let words = outcome.first_refusal.as_deref();
    Some(format!(
        "of {planned} answers {sent} were sent, {received} received, {recorded} recorded and \
         {refused} refused; {surplus} acknowledgements too many; {dropped} connections lost{}",
        words.map(|words| format!("; the first: {words}")).unwrap_or_default()
    ))
}

fn notes(load: &Load, runs: &[Run]) -> Vec<String> {
    let mut notes = vec![
        "Times are those of this machine, with the clients on it: compare the ratios. Ratios are \
         medians of the runs' own ratios, with the least and the greatest."
            .to_owned(),
    ];
    match cpu_clock() {
        CpuClock::Nanoseconds => {}
        CpuClock::Ticks => notes.push(
            "CPU time is told in ticks of 10 ms here: a phase's sum may be off by a tick a round."
                .to_owned(),
        ),
        CpuClock::None => notes.push("This system does not tell CPU time.".to_owned()),
    }
    if matches!(load.server, ServerChoice::Running { .. }) {
        notes.push("The server was not started here: its CPU and memory are not read.".to_owned());
    }
    if cfg!(debug_assertions) {
        notes.push(
            "Built without optimisation: start by `cargo run --release -p myonym-loadtest`."
                .to_owned(),
        );
    }
    if sent_late(runs) {
        notes.push(LATE.to_owned());
    }
    if runs.len() < usize::from(load.runs) {
        notes.push(format!(
            "Only {} of {} runs were done within --most {} s.",
            runs.len(),
            load.runs,
            load.most.as_secs()
        ));
    }
    notes.extend(faults(runs));
    notes
}

/// Whether the clients' own lateness makes up more than half of the tail of what they measured.
fn sent_late(runs: &[Run]) -> bool {
    Subject::ALL.iter().any(|subject| {
        let median = median_of(runs, *subject);
        let pair = median.get(Figure::SendLagP99Us).zip(median.get(Figure::ReceivedP99Us));
        pair.is_some_and(|(lag, received)| lag > received / 2.0)
    })
}

fn cores() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::Script;

    fn outcome(counts: Counts) -> Outcome {
        Outcome {
            figures: Figures::default(),
            counts,
            first_refusal: None,
            script: Script::sample(10),
        }
    }

    #[test]
    fn only_a_run_in_which_each_answer_was_acknowledged_once_is_sound() {
        let sound =
            Counts { planned: 20, sent: 20, received: 20, recorded: 20, ..Counts::default() };
        let check = |counts: Counts, want: bool| {
            assert_eq!(fault(&outcome(counts)).is_none(), want, "{counts:?}");
        };
        check(sound, true);
        check(Counts { sent: 19, ..sound }, false);
        check(Counts { received: 19, ..sound }, false);
        check(Counts { recorded: 19, ..sound }, false);
        check(Counts { refused: 1, ..sound }, false);
        check(Counts { surplus: 1, ..sound }, false);
        check(Counts { dropped: 1, ..sound }, false);
    }

    #[test]
    fn what_was_not_measured_is_said_so() {
        let counts = Counts::default();
        let run = Run { outcomes: Subject::ALL.map(|_| outcome(counts)) };
        let table = figure_table(&[run]);
        assert_eq!(table.matches(UNKNOWN).count(), Subject::ALL.len() * Figure::ALL.len());
    }
}

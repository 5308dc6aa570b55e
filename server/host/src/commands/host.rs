//! `myonym host`.

use std::io::{self, IsTerminal as _};
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;

use anyhow::Context as _;
use myonym_content::Catalogue;
use myonym_insight::render;
use myonym_play::{ConsoleOptions, ConsoleTask, Outcome, Trust};
use myonym_wire::{HostKey, ReviewSettings, Task};
use tokio::sync::{oneshot, watch};
use tokio::task::JoinHandle;
use tracing::{info, warn};

use super::doors::{self, Signs};
use super::report::{self, width};
use super::{announce, complain, data_folder, own_list, planned, say};
use crate::cli::{FOR_A_CLASS, FOR_A_REHEARSAL, HostArgs};
use crate::clock::{self, Clock};
use crate::gate::Gate;
use crate::http;
use crate::keeping;
use crate::plan_file::{PlanFile, PlannedRound};
use crate::reading;
use crate::rehearse::{self, Plan, Progress};
use crate::reviews::Reviews;
use crate::room::RoomHandle;
use crate::roster::Roster;
use crate::secrets::{self, TokenHash};
use crate::store::SqliteLog;

const NO_STOP: &str = "cannot listen for the signal to stop";
const GOING_ON: &str =
    "Going on with the review that was broken off, as it was set up; --new opens another.";

/// Hosts until the review is over (a rehearsal), the console is left, or the program is stopped.
pub(super) async fn run(args: HostArgs) -> anyhow::Result<ExitCode> {
    let folder = data_folder(args.data.clone(), args.rehearse.is_some())?;
    read_content_meanwhile();
    let host = Host::start(&args, &folder)?;
    let screen = io::stdout().is_terminal() && io::stdin().is_terminal();
    let result = match args.rehearse {
        Some(students) => host.rehearse(students, screen && !args.headless).await,
        None if args.headless || !screen => host.serve(args.headless).await,
        None => host.conduct().await,
    };
    host.stop().await;
    result
}

/// A server that runs, and the review that was opened with it.
struct Host {
    log: Arc<SqliteLog>,
    reviews: Arc<Reviews>,
    /// The review that was opened with it; none where there are study groups alone.
    room: Option<RoomHandle>,
    /// Conducts any review of this server while it runs.
    key: HostKey,
    /// Set where the key was made to last and has to be told.
    lasting: Option<HostKey>,
    /// What is told of the ways in.
    signs: Signs,
    taken_up: bool,
    /// Whether the review that was asked for shows pictures.
    pictured: bool,
    /// The rounds of the plan that it holds, for the instructor to read; empty without one.
    plan: Vec<PlannedRound>,
    stop: watch::Sender<bool>,
    http: Vec<JoinHandle<http::Connections>>,
    /// Removes old reviews once a day.
    keeping: JoinHandle<()>,
}

impl Host {
    fn start(args: &HostArgs, folder: &Path) -> anyhow::Result<Self> {
        let log = Arc::new(SqliteLog::open(folder)?);
        if let Some(keep) = args.keep {
            log.set_keep(keep.seconds())?;
        }
        keeping::apply_at_start(&log)?;
        let clock = Clock::start();
        let doors = doors::open(args, folder, clock)?;
        let key = secrets::host_key();
        let mut keys = vec![TokenHash::of(key.reveal())];
        let lasting = lasting_key(args, &log, &mut keys)?;
        let takes_groups = !args.no_study_groups && args.rehearse.is_none();
        let reach = doors.signs.reach.clone();
        let reviews = Reviews::new(log.clone(), clock, reach, keys, takes_groups)?;
        if let Some(path) = &args.roster {
            let roster = roster(path)?;
            info!(names = roster.len(), "only those of a roster may take a seat");
            reviews.require(roster);
        }
        // Rehearsals that were broken off are over: their students are gone.
        let taken_up = reviews.take_up(args.rehearse.is_none())?;
        let own = taken_up.into_iter().find(|room| !room.is_group);
        let broken_off = own.filter(|_| !(args.new || args.study_groups_only));
        let taken_up = broken_off.is_some();
        // A review that goes on is as it was set up, whatever became of its plan's file.
        let plan = args.plan.as_deref().filter(|_| !taken_up).map(planned::open).transpose()?;
        let settings = settings(args, plan.as_ref());
        let room = match broken_off {
            Some(room) => Some(room),
            None if args.study_groups_only => None,
            None => Some(open(&reviews, &settings, plan.as_ref())?),
        };
        let plan = plan.map(|plan| plan.rounds).unwrap_or_default();
        // Not before: a key of a start that failed would never be told.
        if let Some(key) = &lasting {
            log.keep_host_key(&TokenHash::of(key.reveal()))?;
        }
        let stop = watch::Sender::new(false);
        let gate = Gate::new(reviews.clone()).showing_counts(args.doors.metrics);
        let (signs, http) = doors.let_in(&Arc::new(gate), &stop);
        let open_reviews = {
            let reviews = reviews.clone();
            move || reviews.open_reviews()
        };
        let daily = keeping::daily(log.clone(), open_reviews, clock::wall_seconds);
        let keeping = tokio::spawn(daily);
        let pictured = settings.tasks.contains(&Task::Picture)
            || plan.iter().any(|round| round.planned.task == Task::Picture);
        Ok(Self {
            log,
            reviews,
            room,
            key,
            lasting,
            signs,
            taken_up,
            pictured,
            plan,
            stop,
            http,
            keeping,
        })
    }

    /// Runs as a service until the program is told to stop.
    async fn serve(&self, headless: bool) -> anyhow::Result<ExitCode> {
        // Before anything is told: whoever reads it may stop the program at once.
        let stopped = listen_for_stop().context(NO_STOP)?;
        if headless {
            self.signs.reload_on_hangup().context("cannot listen for the signal to reload")?;
        }
        self.print_how_to_join();
        if !headless {
            note("no terminal here, so it runs as with --headless; stop it with Ctrl-C");
        }
        for known in self.signs.notes() {
            note(&known);
        }
        stopped.await.context(NO_STOP)?;
        Ok(ExitCode::SUCCESS)
    }

    /// One labelled value a line, so that scripts can read them.
    fn print_how_to_join(&self) {
        if self.taken_up {
            note(GOING_ON);
        }
        say(&format!("address  {}", self.signs.address));
        if let Some(room) = &self.room {
            say(&format!("link     {}", self.signs.reach.link(&room.word)));
            say(&format!("word     {}", room.word));
            say(&format!("board    {}", self.signs.reach.board(&room.word)));
        }
        say(&format!("desk     {}", self.signs.reach.desk()));
        if let Some(print) = self.signs.fingerprint() {
            say(&format!("fingerprint {print}"));
        }
        match &self.lasting {
            Some(key) => say(&format!("key      {}", key.reveal())),
            None => say("key      (as printed when it was made; --new-key makes another)"),
        }
        for (number, round) in (1..).zip(&self.plan) {
            let why =
                if round.why.is_empty() { String::new() } else { format!("  ({})", round.why) };
            say(&format!("round    {number:>3}  {}{why}", round.asks()));
        }
    }

    /// Shows what is to be known before the console takes the screen: the plan, a new key, and how
    /// students get in where that is not plain. False if the program was told to stop meanwhile.
    async fn show_first(&self) -> anyhow::Result<bool> {
        let notes = self.signs.notes();
        if self.plan.is_empty() && notes.is_empty() && self.lasting.is_none() {
            return Ok(true);
        }
        if !self.plan.is_empty() {
            let rounds = self.plan.iter().map(|round| (round.asks(), round.why.as_str()));
            say(&planned::page(rounds, width()));
        }
        for note in notes {
            say(&format!("\n{}", planned::wrapped(&note, width().into()).join("\n")));
        }
        if let Some(print) = self.signs.fingerprint() {
            say(&format!("\nfingerprint {print}"));
        }
        if let Some(key) = &self.lasting {
            let desk = self.signs.reach.desk();
            let why = format!(
                "The host's key, which is not shown again; with it anyone conducts from {desk}"
            );
            say(&format!("\n{}", planned::wrapped(&why, width().into()).join("\n")));
            say(&format!("key {}", key.reveal()));
        }
        say("\nEnter: go on to the console, where the review is started.  Control-C: stop.");
        let (read, line) = oneshot::channel();
        // On a thread that nobody waits for when the program stops.
        std::thread::spawn(move || read.send(io::stdin().read_line(&mut String::new())));
        tokio::select! {
            _ = line => Ok(true),
            signal = stop_signal() => {
                signal.context(NO_STOP)?;
                Ok(false)
            }
        }
    }

    /// Conducts from this terminal until the instructor leaves.
    async fn conduct(&self) -> anyhow::Result<ExitCode> {
        if !self.show_first().await? {
            return Ok(ExitCode::SUCCESS);
        }
        let left = self
            .console(
                "This stops the server; `myonym host` goes on from here.",
                "`myonym report` gives the full report of this review.",
            )
            .await?;
        if left == Outcome::Left {
            let word = &self.room()?.word;
            say(&format!("{word} is not over: `myonym host` goes on with it."));
        }
        Ok(ExitCode::SUCCESS)
    }

    /// The console on this terminal; how it was left.
    async fn console(&self, quit_note: &str, report_note: &str) -> anyhow::Result<Outcome> {
        let options = ConsoleOptions {
            server: self.signs.own_link(),
            task: ConsoleTask::Conduct {
                word: Some(self.room()?.word.clone()),
                key: self.key.clone(),
            },
            qr: Some(announce::qr),
            join_note: self.signs.join_note(),
            trust: Trust::default(),
            greeting: self.taken_up.then(|| GOING_ON.to_owned()),
            quit_note: quit_note.to_owned(),
            report_note: report_note.to_owned(),
        };
        let left = tokio::select! {
            left = myonym_play::console(options) => left?,
            // The screen is put back when the console is dropped.
            signal = stop_signal() => {
                signal.context(NO_STOP)?;
                Outcome::Left
            }
        };
        if let Outcome::Refused(why) = left {
            anyhow::bail!("the console was refused: {why}");
        }
        Ok(left)
    }

    async fn rehearse(&self, students: u16, screen: bool) -> anyhow::Result<ExitCode> {
        let plan = self.plan(students)?;
        let seated = rehearse::students(&plan);
        if screen {
            let conducted = plan.clone();
            let conductor =
                tokio::spawn(async move { rehearse::conduct(&conducted, |_| ()).await });
            let left = self
                .console("This ends the rehearsal.", "Leave, and the full report is printed.")
                .await;
            conductor.abort();
            left?;
        } else {
            say(&format!("Rehearsal with {students} simulated students on {}.", plan.word));
            tokio::select! {
                conducted = rehearse::conduct(&plan, |progress| narrate(&progress)) => conducted?,
                signal = stop_signal() => signal?,
            }
        }
        drop(seated);
        self.print_weak_spots(&plan)
    }

    fn room(&self) -> anyhow::Result<&RoomHandle> {
        self.room.as_ref().context("this server has no review of its own")
    }

    fn plan(&self, students: u16) -> anyhow::Result<Plan> {
        let room = self.room()?;
        Ok(Plan {
            server: self.signs.own,
            word: room.word.clone(),
            key: self.key.clone(),
            students,
            course: room.course.clone(),
            pictured: self.pictured,
            seed: secrets::seed(),
        })
    }

    /// What the rehearsal found, beside what was put into it.
    fn print_weak_spots(&self, plan: &Plan) -> anyhow::Result<ExitCode> {
        // What was told is on disk, so the report may read it.
        let mut held = reading::held(&self.log)?;
        let review = self.room()?.review;
        held.retain(|held| held.header.review == review);
        let found = report::analysis(&self.log, &held, None, Vec::new())?;
        say(&render::analysis::terminal(&found, width()));
        say("The simulated students were made to confuse:");
        for (asked, said) in plan.confused() {
            say(&format!("  {asked} -> {said}"));
        }
        Ok(ExitCode::SUCCESS)
    }

    async fn stop(self) {
        self.keeping.abort();
        self.stop.send_replace(true);
        let mut connections = Vec::new();
        for door in self.http {
            connections.extend(door.await);
        }
        self.reviews.close().await;
        for door in connections {
            door.ended().await;
        }
    }
}

/// Reads the content on a thread of its own while the data file is opened: the start needs both, and
/// whoever asks for content before it is there waits for it.
fn read_content_meanwhile() {
    // Without the thread it is read when it is first asked for.
    let _ = std::thread::Builder::new().name("content".to_owned()).spawn(Catalogue::bundled);
}

/// Reads who may take part.
fn roster(path: &Path) -> anyhow::Result<Roster> {
    let text = std::fs::read_to_string(path)
        .with_context(|| format!("cannot read the roster {}", path.display()))?;
    Roster::read(&text)
        .map_err(|wrong| anyhow::anyhow!("the roster {}:\n{}", path.display(), wrong.join("\n")))
}

/// Tells whoever runs the service something: in the operations log where there is one, so that all
/// of standard error is of one form.
fn note(text: &str) {
    if tracing::enabled!(tracing::Level::WARN) {
        warn!("{text}");
    } else {
        complain(&format!("myonym: {text}"));
    }
}

/// How the review runs that the options ask for; the limit of a plan holds where they name none.
fn settings(args: &HostArgs, plan: Option<&PlanFile>) -> ReviewSettings {
    let mut settings = args.review.settings(match args.rehearse {
        Some(_) => FOR_A_REHEARSAL,
        None => FOR_A_CLASS,
    });
    if let Some(plan) = plan {
        settings.list.clone_from(&plan.list);
        let limit_ms = plan.limit_ms.filter(|_| args.review.limit.is_none());
        settings.limit_ms = limit_ms.unwrap_or(settings.limit_ms);
    }
    settings
}

/// Opens the review: as planned, or drawn.
fn open(
    reviews: &Arc<Reviews>,
    settings: &ReviewSettings,
    plan: Option<&PlanFile>,
) -> anyhow::Result<RoomHandle> {
    let (room, _) = match plan {
        Some(PlanFile { own_list, rounds, seed, .. }) => {
            let seed = seed.unwrap_or_else(secrets::seed);
            reviews.open_planned(settings, own_list.clone(), rounds, seed)?
        }
        None => reviews.open(settings, own_list(&settings.list)?)?,
    };
    Ok(room)
}

/// The key of a service: made once and kept as a hash, so that it is told once and goes on working.
/// Gives the key if it has to be made; it is kept when the host has started.
fn lasting_key(
    args: &HostArgs,
    log: &SqliteLog,
    keys: &mut Vec<TokenHash>,
) -> anyhow::Result<Option<HostKey>> {
    let kept = log.host_key()?;
    if !(args.new_key || args.headless && kept.is_none()) {
        keys.extend(kept);
        return Ok(None);
    }
    let key = secrets::host_key();
    keys.push(TokenHash::of(key.reveal()));
    Ok(Some(key))
}

fn narrate(progress: &Progress) {
    match progress {
        Progress::Started { rounds } => say(&format!("Everyone is here; {rounds} rounds begin.")),
        Progress::Revealed { round, of, reveal } => {
            let rows = &reveal.spread;
            let right: u32 = rows
                .iter()
                .filter(|row| row.verdict == myonym_wire::Verdict::Right)
                .map(|row| row.count)
                .sum();
            let all: u32 = rows.iter().map(|row| row.count).sum::<u32>() + reveal.silent;
            let confused = reveal.contrast.as_ref().map_or(String::new(), |contrast| {
                format!("; {} said {}", contrast.count, contrast.said)
            });
            let asked = match reveal.task {
                Task::Name => reveal.answer.name.clone(),
                Task::Picture => format!("{}, picture", reveal.answer.name),
                Task::Movement => format!("{}, movement", reveal.answer.name),
                Task::Contrast => format!("{}, one of two", reveal.answer.name),
            };
            say(&format!(
                "round {round:>2} of {of}  {asked:<32} {right:>3} of {all} right{confused}"
            ));
        }
        Progress::Ended => say(""),
    }
}

/// Waits for Ctrl-C, or for the signal that ends a service.
async fn stop_signal() -> io::Result<()> {
    listen_for_stop()?.await
}

/// Listens from now on; what it gives waits.
#[cfg(unix)]
fn listen_for_stop() -> io::Result<impl Future<Output = io::Result<()>>> {
    use tokio::signal::unix::{SignalKind, signal};
    let (mut end, mut interrupt) =
        (signal(SignalKind::terminate())?, signal(SignalKind::interrupt())?);
    Ok(async move {
        tokio::select! {
            _ = interrupt.recv() => Ok(()),
            _ = end.recv() => Ok(()),
        }
    })
}

#[cfg(not(unix))]
fn listen_for_stop() -> io::Result<impl Future<Output = io::Result<()>>> {
    Ok(tokio::signal::ctrl_c())
}
